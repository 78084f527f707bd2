"""A trial as it is drawn; nothing here changes a trial."""

from __future__ import annotations

import math
from dataclasses import dataclass

from screen_tui.engine.safety import PAIN_LIMIT
from screen_tui.timing import Phase, Snapshot
from screen_tui.timing.key_filter import KeyFilter
from screen_tui.trial.actions import MOST_PAIN
from screen_tui.trial.ending import STRIKE_REASONS, reason_label
from screen_tui.trial.keymap import Action
from screen_tui.trial.numbers import read_number
from screen_tui.trial.record import ended_of, round_half_up
from screen_tui.trial.set_up import in_short, recorded
from screen_tui.trial.state import TrialState
from screen_tui.trial.watch import disturbance, doubt

FLASH_S = 1.0

_WHOSE = {"left": "LEFT leg", "right": "RIGHT leg", None: "both legs"}
_WAY = {"up": "going UP", "down": "going DOWN"}

Keys = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class SignRow:
    """A sign to watch for: its digit and key, its label, how often it was seen, its leg."""

    digit: int
    key: str
    label: str
    count: int
    leg: str = ""

    @property
    def on(self) -> bool:
        """Whether it was seen."""
        return self.count > 0


@dataclass(frozen=True, slots=True)
class FieldRow:
    """A number that is typed: its label, what is typed so far, and whether it has the keys."""

    label: str
    typed: str
    hint: str
    current: bool
    error: str


@dataclass(frozen=True, slots=True)
class ChoiceRow:
    """Something to choose by one key at this moment."""

    key: str
    label: str


@dataclass(frozen=True, slots=True)
class TrialView:
    """A trial as it is drawn. All texts are plain ASCII apart from those of the protocol.

    Attributes:
        state: READY, COUNT-IN, RUNNING, TARGET REACHED, ASKING, ENDED, KEPT, ENTER NUMBERS,
            SIGNS, THEN KEEP or WATCH.
        title: The name of the test.
        whose: ``LEFT leg``, ``RIGHT leg`` or ``both legs``; for stairs ``going UP`` or
            ``going DOWN``.
        big: The main number, always of the same width during a trial; "" where there is none.
        unit: The unit of the main number.
        caption: Lines below the number, such as ``Trial 2 of 3 - best 8.4 s``.
        progress: How far it is, such as ``3 of 5``; "" before the start, or where `big` says it.
        target: What the trial runs to, such as ``up to 45 s``; "" where there is nothing.
        safety: What keeps the person safe, as the protocol says.
        say: What to say to the person, as the protocol says.
        ends_when: What ends it, as the protocol says.
        signs: The signs to watch for.
        signs_current: The digits go to the signs at this moment.
        watched: ``watched throughout``, or "".
        pain: ``pain 3 of 10``, or "".
        ended: ``ended: foot down``, or "".
        set_up: What is noted on the set-up, such as ``seat 50 cm, stick``; "" when nothing is.
        hint: A short remark, such as ``held key ignored``; "" otherwise.
        question: A question that waits for y/n or for a second Enter; "" otherwise.
        error: Why something was refused; "" otherwise.
        fields: The numbers that are typed.
        choices: What one more key chooses now (a reason, a pain score); empty otherwise.
        keys: (key, what it does now), in the order of importance.
        bell: The target or the end was reached by the very last key or tick: ring once.
        flash: It was reached within the last second: draw the number marked.
    """

    state: str
    title: str
    whose: str
    big: str
    unit: str
    caption: tuple[str, ...]
    progress: str
    target: str
    safety: str
    say: str
    ends_when: tuple[str, ...]
    signs: tuple[SignRow, ...]
    signs_current: bool
    watched: str
    pain: str
    ended: str
    set_up: str
    hint: str
    question: str
    error: str
    fields: tuple[FieldRow, ...]
    choices: tuple[ChoiceRow, ...]
    keys: tuple[tuple[str, str], ...]
    bell: bool
    flash: bool


def view_of(state: TrialState, now: float, keys: KeyFilter | None = None) -> TrialView:
    """Give what there is to draw of a trial at `now`.

    Args:
        state: The trial.
        now: Monotonic seconds.
        keys: The filter of the keys, to tell of a key that is held or waits.
    """
    filtered = keys or KeyFilter()
    given = state.input
    shot = given.timer.snapshot(now)
    hint = _hint(state, shot, held=filtered.holding(now))
    timer = state.spec.timer
    legs = dict(given.sign_legs)
    return TrialView(
        state=state_word(state, shot),
        title=state.spec.name,
        whose=_WAY[given.direction] if given.direction else _WHOSE[state.side],
        big=_big(state, shot, now),
        unit=_unit(state),
        caption=_caption(state),
        progress="" if shot.phase is Phase.READY else timer.progress(shot, given.steps),
        target=timer.target(given.steps),
        safety=state.spec.instructions.safety,
        say=state.spec.instructions.say,
        ends_when=state.spec.instructions.ends_when,
        signs=tuple(
            SignRow(
                sign.digit,
                state.keymap.keys(Action.SIGN, (sign.digit - 1,)),
                sign.label,
                given.sign_counts.get(sign.id, int(sign.id in given.marks)),
                legs.get(sign.id, ""),
            )
            for sign in state.signs
        ),
        signs_current=not state.prompt and not state.entry.on_field and state.record is None,
        watched="watched throughout" if given.watched else "",
        pain="" if given.pain is None else f"pain {given.pain} of 10",
        set_up=in_short(recorded(state.set_up, given.signs)),
        ended=f"ended: {reason_label(ended_of(given))}" if ended_of(given) else "",
        hint="; ".join(part for part in (hint, disturbance(state)) if part),
        question=doubt(state) or (timer.question if given.timer.asking else state.question),
        error=state.error,
        fields=_fields(state),
        choices=_choices(state),
        keys=key_line(state, waits=filtered.time_waits),
        bell=state.bell,
        flash=state.rang_at is not None and 0 <= now - state.rang_at < FLASH_S,
    )


def state_word(state: TrialState, shot: Snapshot) -> str:
    """Say in one word how far the trial is."""
    if state.record is not None:
        return "KEPT"
    if state.input.counting_in:
        return "COUNT-IN"
    if state.in_doubt:
        return "ASKING"
    if state.entry.fields and not state.entry.on_field:
        return "SIGNS, THEN KEEP"
    return state.spec.timer.state(shot)


def _big(state: TrialState, shot: Snapshot, now: float) -> str:
    if state.entry.fields:
        # A hyphen holds the place, so that nothing moves with the first digit.
        return (state.entry.text.replace(",", ".") or "-") if state.entry.on_field else ""
    timer = state.spec.timer
    number = timer.main_number(_seconds(state, shot), _corrected(state, shot.count))
    return _at_go(state, now, timer.width()) or number


def _at_go(state: TrialState, now: float, width: int) -> str:
    """The seconds left of a count-in, as wide as the number that follows; "" when there is none."""
    given = state.input
    if not given.counting_in or given.go_at is None:
        return ""
    return str(max(math.ceil(given.go_at - now), 1)).rjust(width)


def _seconds(state: TrialState, shot: Snapshot) -> float:
    if state.input.manual_value is not None:
        return _corrected(state, shot.elapsed)
    # A running time is cut, so that the target never shows before it is reached; an ended one is
    # shown as it is recorded.
    if state.input.running and not shot.resting:
        return math.floor(shot.elapsed * 10 + 1e-6) / 10
    return round_half_up(shot.elapsed, 1)


def _corrected(state: TrialState, timed: float) -> float:
    """The value typed by hand, where there is one."""
    typed = None if state.input.manual_value is None else read_number(state.input.manual_value[0])
    return timed if typed is None else typed


def _unit(state: TrialState) -> str:
    return state.spec.timer.unit(state.series.measure.unit if state.series.measure else "")


def _caption(state: TrialState) -> tuple[str, ...]:
    lines = [_trial_line(state)]
    if state.series.cue:
        said = next((cue.say for cue in state.spec.cues if cue.id == state.series.cue), "")
        lines.append(f"With the cue: {said or state.series.cue}")
    if state.input.manual_value is not None:
        timed = state.input.timer.value
        was = "" if timed is None else f", {round_half_up(timed, 1):g} was timed"
        lines.append(f"Corrected by hand ({state.input.manual_value[1]}{was})")
    if state.input.note:
        lines.append(f"Note: {state.input.note}")
    return tuple(line for line in lines if line)


def _trial_line(state: TrialState) -> str:
    series = state.series
    number = len(series.counting) + 1
    if state.spec.timer.directions:
        line = ""
    elif number <= series.wanted and series.wanted > 1:
        line = f"Trial {number} of {series.wanted}"
    else:
        line = f"Trial {number}" if number > 1 else ""
    return " - ".join(part for part in (line, series.so_far) if part)


def _hint(state: TrialState, shot: Snapshot, *, held: bool) -> str:
    if held:
        return "held key ignored"
    if state.hint:
        return state.hint
    if state.input.pain is not None and state.input.pain > PAIN_LIMIT and state.record is None:
        return f"pain above {PAIN_LIMIT} of 10: end the test"
    if state.stopped_without_reason:
        why = state.keymap.key(Action.WHY_ENDED)
        return f"stopped early: {why} says why, then Enter keeps"
    return "" if shot.asking else shot.note


def _fields(state: TrialState) -> tuple[FieldRow, ...]:
    entry = state.entry
    return tuple(
        FieldRow(
            label=field.label,
            typed=entry.texts[place],
            hint=field.hint,
            current=place == entry.at,
            # What is still being typed is not judged; the present field is judged by Enter.
            error="" if place == entry.at else entry.problem(place),
        )
        for place, field in enumerate(entry.fields)
    )


def _choices(state: TrialState) -> tuple[ChoiceRow, ...]:
    if not state.prompt:
        return ()
    if state.prompt == "pain":
        action, labels = Action.PAIN_SCORE, tuple(map(str, range(MOST_PAIN + 1)))
    else:
        action, labels = Action.STRIKE_REASON, STRIKE_REASONS
    keys = state.keymap.binding(action).keys
    return tuple(ChoiceRow(key, label) for key, label in zip(keys, labels, strict=False))


def key_line(state: TrialState, *, waits: bool) -> Keys:
    """Give (key, what it does now), the most needed first; every key named does something."""
    if state.record is not None:
        return ()
    key, keys = state.keymap.key, state.keymap.keys
    back = (key(Action.TAKE_BACK), "take back")
    if state.prompt == "pain":
        ten = state.keymap.binding(Action.PAIN_SCORE).keys[MOST_PAIN]
        return (
            (keys(Action.PAIN_SCORE, range(MOST_PAIN)), "pain"),
            (ten, "ten"),
            (back[0], "no pain score"),
        )
    if state.prompt == "strike":
        reasons = keys(Action.STRIKE_REASON, range(len(STRIKE_REASONS)))
        return ((reasons, "reason"), (back[0], "do not strike out"))
    signs = (keys(Action.SIGN, [sign.digit - 1 for sign in state.signs]), "signs")
    clean = (key(Action.WATCHED), "not watched" if state.input.watched else "clean")
    strike = (key(Action.STRIKE), "strike out")
    of_trial = _Line(
        back=(back,) if state.undoable or waits else (),
        signs=(signs,) if state.signs else (),
        leg=((key(Action.SIGN_LEG), "leg"),) if state.sign_of_a_leg else (),
        clean=(clean,) if state.signs else (),
        pain=((key(Action.PAIN), "pain"),),
        strike=(strike,) if state.unsaved else (),
        why=((key(Action.WHY_ENDED), "next reason" if state.input.ended else "why ended"),),
    )
    if state.entry.fields:
        return _typing(state, of_trial)
    return _timed(state, of_trial) if state.spec.timer.clocked else _untimed(state, of_trial)


@dataclass(frozen=True, slots=True)
class _Line:
    """The parts of the line of keys that are the same in every phase.

    Attributes:
        leg: On which leg the sign marked last was, in a test of both.
        clean: It was watched throughout: what is not marked was not there.
    """

    back: Keys
    signs: Keys
    leg: Keys
    clean: Keys
    pain: Keys
    strike: Keys
    why: Keys


def _untimed(state: TrialState, line: _Line) -> Keys:
    key, timer = state.keymap.key, state.input.timer
    count: Keys = ((key(Action.TIME), "count"),) if timer.press(0.0) != timer else ()
    keep = (key(Action.ENTER), "keep")
    return (
        *count,
        *line.signs,
        keep,
        *line.back,
        *line.leg,
        *line.pain,
        *line.clean,
        *line.strike,
        *line.why,
    )


def _timed(state: TrialState, line: _Line) -> Keys:
    given, key, timer = state.input, state.keymap.key, state.spec.timer
    yes, no = key(Action.YES), key(Action.NO)
    if given.counting_in:
        return (*line.back, *line.signs)
    if state.in_doubt:
        return ((yes, "it is right"), (no, "strike out"), *line.back, *line.signs, *line.pain)
    if given.timer.asking:
        return ((yes, "yes"), (no, "no"), *line.back, *line.signs, *line.strike)
    if given.phase is Phase.READY:
        steps = f"{key(Action.MORE_STEPS)}/{key(Action.FEWER_STEPS)}"
        stairs: Keys = ((steps, "steps"), (key(Action.DIRECTION), "up or down"))
        start = "one more trial" if state.series_complete else "start"
        # Pain, why it ended and that it was clean work too, but are rare before the start: the ways
        # need the room.
        flight = stairs if timer.directions else ()
        return ((key(Action.TIME), start), *flight, *line.signs, *line.back)
    if given.phase is Phase.RUNNING:
        time, enter = key(Action.TIME), key(Action.ENTER)
        stop: Keys = ((f"{time} {enter}", "stop"),)
        if timer.stops_early:
            stop = ((time, timer.space_does(given.timer.snapshot(0.0))), (enter, "stop early"))
        first = (*stop, *line.signs, *line.back, *line.leg, *line.pain)
        return (*first, *line.strike, *line.clean, *line.why)
    if state.stopped_without_reason:
        first = (*line.why, *line.back, *line.signs, *line.leg, *line.pain)
        return (*first, *line.strike, *line.clean)
    first = ((key(Action.ENTER), "keep"), *line.back, *line.signs, *line.pain, *line.leg)
    # A reason that is being chosen is in hand.
    last = (*line.why, *line.clean) if given.ended else (*line.clean, *line.why)
    return (*first, *line.strike, *last)


def _typing(state: TrialState, line: _Line) -> Keys:
    entry, key = state.entry, state.keymap.key
    moves = f"{key(Action.FIELD_BEFORE)}/{key(Action.FIELD_AFTER)}"
    move: Keys = ((moves, "move"),) if entry.go(1) != entry or entry.go(-1) != entry else ()
    enter = (key(Action.ENTER), "keep" if entry.at_the_end else "next")
    what: Keys = (("0-9 -", "type"),) if entry.on_field else (*line.signs, *line.clean)
    return (*what, enter, *line.back, *line.pain, *line.strike, *move)
