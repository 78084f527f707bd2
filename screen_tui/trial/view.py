"""A trial as it is drawn; nothing here changes a trial."""

from __future__ import annotations

import math
from dataclasses import dataclass

from screen_tui.engine.safety import PAIN_LIMIT
from screen_tui.report.words import SPARED
from screen_tui.timing.key_filter import KeyFilter
from screen_tui.timing.kinds import reason_words
from screen_tui.timing.spec import StateWord
from screen_tui.timing.timer import Phase
from screen_tui.trial.actions import MOST_PAIN, NO_REASON
from screen_tui.trial.keymap import Action, in_runs
from screen_tui.trial.numbers import read_number
from screen_tui.trial.record import STRIKE_REASONS, ended_of, round_half_up
from screen_tui.trial.set_up import in_short, recorded
from screen_tui.trial.state import TrialState, disturbance, doubt

FLASH_S = 1.0

_WHOSE = {"left": "LEFT LEG", "right": "RIGHT LEG", None: "BOTH LEGS"}
_WAY = {"up": "GOING UP", "down": "GOING DOWN"}

Keys = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class SignRow:
    """A sign to watch for, how often it was seen, and its leg, or ""."""

    digit: int
    key: str
    label: str
    count: int
    leg: str = ""

    @property
    def on(self) -> bool:
        return self.count > 0


@dataclass(frozen=True, slots=True)
class FieldRow:
    """A number that is typed; the ``current`` one has the keys."""

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
class Before:
    """What is read before a trial, and by nobody while it goes on.

    Attributes:
        results: What this test came to so far.
        cue: What is said in a cued repeat; "" without a cue.
        cautions: What of this person's precautions matters to testing.
    """

    results: tuple[str, ...]
    cue: str
    say: str
    cautions: tuple[str, ...]
    setup: tuple[str, ...]
    safety: str
    ends_when: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TrialView:
    """A trial as it is drawn; "" for what there is nothing to say of.

    Attributes:
        whose: ``LEFT LEG``, ``RIGHT LEG`` or ``BOTH LEGS``; for stairs ``GOING UP`` or ``DOWN``.
        trial: Which it is, such as ``trial 2 of 3``; "" where there is only one.
        target: What the trial runs to, such as ``up to 45 s``.
        big: The main number, always of the same width during a trial.
        beside: A second number as big as that, and its unit.
        progress: How far it is, such as ``3 of 5``; "" before the start, or where `big` says it.
        remarks: The cue, a correction and a comment, where there are any.
        before: What is read before the start; None once anything was begun.
        read_on: The key that turns its page.
        signs_current: The digits go to the signs at this moment.
        hint: A short remark, such as ``held key ignored``.
        question: A question that waits for its answer, or for a second Enter.
        choices: What one more key answers or chooses now.
        keys: (key, what it does now), in the order of importance.
        bell: The target or the end was reached by the very last key or tick: ring once.
        flash: It was reached within the last second: draw the number marked.
    """

    state: StateWord
    whose: str
    trial: str
    target: str
    big: str
    unit: str
    beside: tuple[str, str]
    progress: str
    so_far: str
    remarks: tuple[str, ...]
    before: Before | None
    read_on: str
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
    keys: Keys
    bell: bool
    flash: bool


def view_of(
    state: TrialState,
    now: float,
    keys: KeyFilter | None = None,
    *,
    results: tuple[str, ...] = (),
    cautions: tuple[str, ...] = (),
) -> TrialView:
    """Give what there is to draw of a trial at `now`, with what is read before the start.

    The filter of the keys says whether one is held or waits.
    """
    filtered = keys or KeyFilter()
    given = state.input
    timer, spec = given.timer, state.spec.timer
    figures = spec.figures(timer, given.steps)
    hint = _hint(state, held=filtered.holding(now))
    legs, measure = dict(given.sign_legs), state.series.measure
    unit = spec.words.unit.format(measure=measure.unit if measure else "counted")
    return TrialView(
        state=state_word(state, now),
        whose=_WAY[given.direction] if given.direction else _WHOSE[state.side],
        trial=_trial(state),
        target=spec.words.target.format(**figures) + (", each timed" if given.tapped else ""),
        big=_big(state, now),
        unit="" if _rest_left(state, now) else unit,
        beside=_beside(state, now),
        progress="" if given.phase is Phase.READY else spec.progress(timer, given.steps),
        so_far=state.series.so_far,
        remarks=_remarks(state),
        before=_before(state, results, cautions),
        read_on=state.read_on,
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
        watched="watched, clean" if given.watched else "",
        pain="" if given.pain is None else f"pain {given.pain} of 10",
        set_up=in_short(recorded(state.set_up, given.signs)),
        ended=f"ended: {reason_words(ended_of(given))}" if ended_of(given) else "",
        hint="; ".join(part for part in (hint, disturbance(state)) if part),
        question=_question(state),
        error=state.error,
        fields=_fields(state),
        choices=_choices(state),
        keys=key_line(state, waits=filtered.time_waits),
        bell=state.bell,
        flash=state.rang_at is not None and 0 <= now - state.rang_at < FLASH_S,
    )


def state_word(state: TrialState, now: float) -> StateWord:
    """Say in one word how far the trial is."""
    if state.record is not None:
        return "SAVED"
    if state.input.counting_in:
        return "COUNT-IN"
    if state.in_doubt:
        return "ASKING"
    if state.entry.fields and not state.entry.on_field:
        return "SIGNS"
    if _rest_left(state, now):
        return "REST"
    timer, words = state.input.timer, state.spec.timer.words
    if words.state is not None:
        return words.state
    if timer.phase is Phase.READY:
        return "READY"
    if timer.asking:
        return "ASKING"
    if timer.phase is Phase.ENDED:
        return words.reached if timer.reached else "STOPPED"
    return "REST" if timer.resting else "RUNNING"


def _rest_left(state: TrialState, now: float) -> float:
    """Seconds of rest left before the start; 0 once it is over or something was begun."""
    if state.rest_until is None or state.unsaved:
        return 0.0
    return max(state.rest_until - now, 0.0)


def _before(
    state: TrialState, results: tuple[str, ...], cautions: tuple[str, ...]
) -> Before | None:
    if not state.read_on:
        return None
    how, down = state.spec.instructions, state.input.direction == "down"
    say = (how.say_down if down else None) or how.say
    return Before(results, _cue(state), say, cautions, how.setup, how.safety, how.ends_when)


def _cue(state: TrialState) -> str:
    cues = (cue.say for cue in state.spec.cues if cue.id == state.series.cue)
    return next(cues, state.series.cue)


def _big(state: TrialState, now: float) -> str:
    if rest := math.ceil(_rest_left(state, now)):
        return f"{rest // 60}:{rest % 60:02}"
    if state.entry.fields:
        # A hyphen holds the place, so that nothing moves with the first digit.
        return (state.entry.text.replace(",", ".") or "-") if state.entry.on_field else ""
    given, spec = state.input, state.spec.timer
    figures = spec.figures(given.timer, given.steps)
    figures["seconds"] = _seconds(state, now)
    figures["done"] = _corrected(state, given.timer.count)
    number = spec.words.number.format(**figures, width=spec.width)
    if given.counting_in and given.go_at is not None:
        # As wide as the number that follows.
        return str(max(math.ceil(given.go_at - now), 1)).rjust(len(number))
    return number


def _seconds(state: TrialState, now: float) -> float:
    timer = state.input.timer
    rest, elapsed = timer.rest_left(now), timer.elapsed(now)
    if rest is not None:
        return _tenth_up(rest)
    if state.input.manual_value is not None:
        return _corrected(state, elapsed)
    # A running time is cut, so that the target never shows before it is reached; an ended one is
    # shown as it is recorded.
    if state.input.running and not timer.resting:
        return math.floor(elapsed * 10 + 1e-6) / 10
    return round_half_up(elapsed, 1)


def _beside(state: TrialState, now: float) -> tuple[str, str]:
    """The time that is left, where repetitions are counted in a window."""
    window = state.spec.timer.window
    if window is None:
        return "", ""
    return f"{_tenth_up(window - state.input.timer.elapsed(now)):04.1f}", "s left"


def _tenth_up(seconds: float) -> float:
    """Time that is left never shows as over before it is."""
    return math.ceil(seconds * 10 - 1e-6) / 10


def _corrected(state: TrialState, timed: float) -> float:
    typed = None if state.input.manual_value is None else read_number(state.input.manual_value[0])
    return timed if typed is None else typed


def _trial(state: TrialState) -> str:
    number, wanted = len(state.series.counting) + 1, state.series.wanted
    if state.spec.timer.directions or max(number, wanted) == 1:
        return ""
    return f"trial {number} of {wanted}" if number <= wanted else f"trial {number}"


def _remarks(state: TrialState) -> tuple[str, ...]:
    cue, given = _cue(state), state.input
    lines = [f"cue: {cue}"] if cue else []
    if given.manual_value is not None:
        timed = given.timer.value
        was = "" if timed is None else f", {round_half_up(timed, 1):g} was timed"
        lines.append(f"corrected by hand ({given.manual_value[1]}{was})")
    if given.note:
        lines.append(f"comment: {given.note}")
    return tuple(lines)


def _question(state: TrialState) -> str:
    timer = state.spec.timer
    if state.prompt:
        early = state.prompt == "ended" and state.stopped_without_reason
        return "Stopped early: why?" if early else _PROMPTS[state.prompt][0]
    return doubt(state) or (timer.question if state.input.timer.asking else state.question)


_PROMPTS = {
    "pain": ("How much pain during the trial, 0 to 10?", "pain", "no pain score"),
    "void": ("Why is this trial void?", "reason", "not void"),
    "ended": ("Why did it end?", "reason", "not now"),
}
"""What is asked, what a digit is then, and what it is to leave without one."""


def _hint(state: TrialState, *, held: bool) -> str:
    if held:
        return "held key ignored"
    if state.hint:
        return state.hint
    if state.input.pain is not None and state.input.pain > PAIN_LIMIT and state.record is None:
        return f"pain above {PAIN_LIMIT} of 10: end the test"
    return "" if state.input.timer.asking else state.input.timer.note


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
    keymap = state.keymap
    match state.prompt:
        case "pain":
            action, labels = Action.PAIN_SCORE, tuple(map(str, range(MOST_PAIN + 1)))
        case "void":
            action, labels = Action.STRIKE_REASON, STRIKE_REASONS
        case "ended":
            action, labels = Action.END_REASON, tuple(map(reason_words, state.end_reasons))
        case _:
            yes, no = keymap.key(Action.YES), keymap.key(Action.NO)
            if state.in_doubt:
                return (ChoiceRow(yes, "yes, watched to the end"), ChoiceRow(no, "no, void"))
            asking = state.input.timer.asking
            return (ChoiceRow(yes, "yes"), ChoiceRow(no, "no")) if asking else ()
    keys = keymap.binding(action).keys
    rows = [ChoiceRow(key, label) for key, label in zip(keys, labels, strict=False)]
    if state.prompt == "ended" and state.input.ended:
        rows.append(ChoiceRow(keys[NO_REASON], "no reason"))
    return tuple(rows)


def key_line(state: TrialState, *, waits: bool) -> Keys:
    """Give (key, what it does now), the most needed first; every key named does something."""
    if state.record is not None:
        return ()
    if state.prompt:
        _, does, leave = _PROMPTS[state.prompt]
        digits = in_runs(one.key for one in _choices(state))
        return ((digits, does), (state.keymap.key(Action.TAKE_BACK), leave))
    parts = _parts(state, waits=waits)
    return tuple(hint for part in _LINES[_phase(state)].split() for hint in parts[part])


_LINES = {
    "number": "type count next back pain void move",
    "signs": "signs clean next back pain void move",
    "watched": "count save signs back leg pain clean void why",
    "count-in": "back signs",
    "question": "answers back signs pain void",
    # Pain, why it ended and that it was clean work before the start too, but are rare there: the
    # ways need the room.
    "ready": "start flight signs back",
    "running": "press early signs back leg pain clean void why",
    "incomplete": "why back signs pain leg clean void",
    "ended": "save back signs pain leg clean void why",
}
"""Parts of the line of keys in each phase, the most needed first."""


def _phase(state: TrialState) -> str:
    given = state.input
    if state.entry.fields:
        return "number" if state.entry.on_field else "signs"
    if not state.spec.timer.clocked:
        return "watched"
    if given.counting_in:
        return "count-in"
    if state.in_doubt or given.timer.asking:
        return "question"
    if given.phase is not Phase.ENDED:
        return "ready" if given.phase is Phase.READY else "running"
    return "incomplete" if state.stopped_without_reason else "ended"


def _parts(state: TrialState, *, waits: bool) -> dict[str, Keys]:
    """The parts of the line of keys; those without a meaning at this moment are empty."""
    given, entry, spec = state.input, state.entry, state.spec.timer
    key, keys = state.keymap.key, state.keymap.keys
    space, enter = key(Action.TIME), key(Action.ENTER)
    leg = "spared leg" if state.sign_of_a_leg == SPARED else "leg"
    counts = entry.count() != entry if entry.fields else given.timer.press(0.0) != given.timer
    space_does = "next hold" if given.timer.resting else spec.words.space
    running = "step" if given.tapped else space_does
    flight = (
        (f"{key(Action.MORE_STEPS)}/{key(Action.FEWER_STEPS)}", "steps"),
        (key(Action.DIRECTION), "up or down"),
        (key(Action.TAP_STEPS), "start and stop only" if given.tapped else "time each step"),
    )
    signs = (keys(Action.SIGN, [sign.digit - 1 for sign in state.signs]), "signs")
    clean = (key(Action.WATCHED), "not watched" if given.watched else "watched, clean")
    moves = entry.go(1) != entry or entry.go(-1) != entry
    move = (f"{key(Action.FIELD_BEFORE)}/{key(Action.FIELD_AFTER)}", "move")
    return {
        "back": ((key(Action.TAKE_BACK), "undo"),) if state.undoable or waits else (),
        "signs": (signs,) if state.signs else (),
        "leg": (("←→", leg),) if state.sign_of_a_leg else (),
        "clean": (clean,) if state.signs else (),
        "pain": ((key(Action.PAIN), "pain"),),
        "void": ((key(Action.STRIKE), "void"),) if state.unsaved else (),
        "why": ((key(Action.WHY_ENDED), "why ended"),),
        "answers": tuple((one.key, one.label) for one in _choices(state)),
        "start": ((space, "one more trial" if state.series_complete else "start"),),
        "flight": flight if spec.directions else (),
        "press": ((space, running),),
        "early": ((enter, "stop early"),) if not spec.stop_is_an_end else (),
        "save": ((enter, "save"),),
        "next": ((enter, "save" if entry.at_the_end else "next"),),
        "count": ((space, "count"),) if counts else (),
        "type": (("0-9 -", "type"),),
        "move": (move,) if moves else (),
    }
