"""What is done to a trial: each action, the time that passes, and what comes from outside.

* Time starts, counts and stops, always at the time of the press; a held key counts once. In a test
  that is only watched it counts repetitions.
* Enter stops a running trial of any kind at the time of the press: a hold is over whenever it is
  over, and who hits the wrong key while catching somebody must not have the clock run on.
  Everything else that is stopped so is incomplete, and is asked why where that decides what it
  says. On an ended trial Enter saves it.
* A sign is marked, also while the clock runs, and marked again it is counted; Backspace alone takes
  a press away. In a two-legged test the leg of the last one can be said. Watched throughout means
  that what is not marked was not there.
* A trial that is made void stays in the session, with the reason.
* Where the computer did nothing for a while in the trial, yes and no answer first whether its
  value is right; no makes it void.

Typed digits, the number of steps and the moves between fields are taken as they come; every other
key comes through the key filter, so a second press within about a second acts with the next ticks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from pydantic import ValidationError

from screen_tui.engine.observe import contradiction
from screen_tui.errors import EntryRefusedError
from screen_tui.session.model import SignLeg, Trial
from screen_tui.timing.key_filter import KeyFilter, Passed
from screen_tui.timing.timer import Phase, Timer
from screen_tui.trial.keymap import PROMPTED, TIMED, Action
from screen_tui.trial.record import NOT_WATCHED, STRIKE_REASONS, record_of, short_set
from screen_tui.trial.state import TrialInput, TrialState, fresh_watch

MOST_PAIN = 10
NO_REASON = 9
"""The place of the key that says no reason why a trial ended."""


def is_typed(state: TrialState, key: str) -> bool:
    """Whether a key is taken as it comes, however long it is held: what is typed, or moves."""
    action, _ = _meaning(state, key)
    return action is not None and state.keymap.binding(action).repeats


def takes(state: TrialState, key: str) -> bool:
    """Whether a key may do something to a trial, at the time of its press."""
    possible = (*_possible(state), *PROMPTED.values())
    return any(each in possible for each in state.keymap.actions(key))


def press(
    before: TrialState, filtered: KeyFilter, key: str, t: float
) -> tuple[TrialState, KeyFilter]:
    """Take a key that was let through, pressed at `t`; one without a meaning changes nothing.

    What waits in the filter it came through may be taken back by it.
    """
    state = replace(before, bell=False)
    action, place = _meaning(state, key)
    if action is Action.TAKE_BACK and not state.prompt and filtered.time_waits:
        state = replace(state, error="", hint="undone", question="")
        return state, filtered.without_waiting()
    if action is None:
        return state, filtered
    due = replace(state, input=state.input.started_if_due(t))
    return _rung(before, act(fresh_watch(state, due), action, place, t), t), filtered


def press_all(state: TrialState, passed: Passed) -> TrialState:
    """Take what waited in the filter until the trial is saved: no more keys are awaited."""
    for key, t in passed:
        if state.record is None:
            state, _ = press(state, KeyFilter(), key, t)
    return state


def handled(before: TrialState, after: TrialState, t: float, handled_at: float) -> TrialState:
    """Note when a key was handled that was pressed at `t`, where a clock runs or has run."""
    ran = before.input.running or after.input.running
    if not ran or after.input.phase is Phase.READY:
        return after
    return replace(after, watch=after.watch.press(t, handled_at))


def tick(state: TrialState, now: float) -> TrialState:
    """Let time pass: deadlines close; 10 times a second, after the keys that were let through."""
    if state.record is not None:
        return state
    after = replace(state, bell=False)
    after = fresh_watch(after, replace(after, input=after.input.started_if_due(now)))
    after = replace(after, input=after.input.with_timer(after.input.timer.tick(now)))
    return _rung(state, after, now)


def blurred(state: TrialState) -> TrialState:
    """Note that the terminal lost the keyboard."""
    timing = state.busy and not state.in_doubt
    return replace(state, watch=state.watch.blur()) if timing else state


def save_now(state: TrialState, t: float) -> TrialState:
    """Save an ended trial as Enter does, or say why it cannot be saved yet."""
    return state if state.record is not None else act(state, Action.ENTER, 0, t)


def act(before: TrialState, action: Action, place: int, t: float) -> TrialState:
    """Do an action whose key was pressed at `t`; what has no meaning now changes nothing.

    Its place is the number of the sign, reason or score, from 0.
    """
    state = replace(before, error="", hint="", question="", prompt="")
    match action:
        case Action.TIME:
            return _time(state, t)
        case Action.ENTER:
            return _enter(state, t, confirmed=before.question)
        case Action.TAKE_BACK:
            return state if before.prompt else _take_back(state, t)
        case Action.PAIN:
            return replace(state, prompt="pain")
        case Action.PAIN_SCORE:
            return _do(state, replace(state.input, pain=min(place, MOST_PAIN)))
        case Action.STRIKE:
            if not state.unsaved:
                return replace(state, hint="nothing to make void yet")
            return replace(_brought_to_rest(state, t), prompt="void")
        case Action.STRIKE_REASON:
            return _save(state, void=STRIKE_REASONS[place])
        case Action.WHY_ENDED:
            return replace(state, prompt="ended")
        case Action.END_REASON:
            return _ended_for(state, place)
        case Action.YES | Action.NO:
            return _answer(state, action is Action.YES)
        case Action.DIRECTION | Action.TAP_STEPS | Action.MORE_STEPS | Action.FEWER_STEPS:
            return _with_flight(state, action) if state.input.phase is Phase.READY else state
        case Action.SIGN:
            sign = next((one for one in state.signs if one.digit == place + 1), None)
            return state if sign is None else _do(state, state.input.marked(sign.id, t))
        case Action.WATCHED:
            seen = replace(state.input, watched=not state.input.watched)
            return _do(state, seen) if state.signs else state
        case Action.SIGN_LEG:
            return _on_leg(state, place)
        case Action.FIELD_BEFORE | Action.FIELD_AFTER:
            return replace(state, entry=state.entry.go(+1 if action is Action.FIELD_AFTER else -1))
        case Action.TYPE:
            return replace(state, entry=state.entry.type(state.keymap.binding(action).keys[place]))
        case Action.ERASE:
            return replace(state, entry=state.entry.take_back())
    return before


def _meaning(state: TrialState, key: str) -> tuple[Action | None, int]:
    """What a key does to the trial now, and the number that means; None for nothing."""
    does = state.keymap.actions(key)
    return next(((each, does[each]) for each in _possible(state) if each in does), (None, 0))


def _possible(state: TrialState) -> Iterator[Action]:
    """What can be done now; of two actions of one key the first is meant."""
    if state.prompt:
        yield PROMPTED[state.prompt]
    elif state.entry.on_field:
        yield Action.TYPE
        if state.entry.text:
            yield Action.ERASE
    elif state.input.steps is not None and state.input.phase is Phase.READY:
        yield from (Action.MORE_STEPS, Action.FEWER_STEPS)
    if state.entry.fields:
        yield from (Action.FIELD_BEFORE, Action.FIELD_AFTER)
    if state.sign_of_a_leg is not None:
        yield Action.SIGN_LEG
    yield from TIMED


def _time(state: TrialState, t: float) -> TrialState:
    given, timer = state.input, state.input.timer
    if given.counting_in:
        return replace(state, hint="counting in; Backspace stops it")
    if given.phase is Phase.READY and state.spec.timer.clocked and state.count_in > 0:
        return _do(state, replace(given, go_at=t + state.count_in))
    counted = state.entry.count()
    if counted != state.entry:
        return replace(state, entry=counted)
    after = timer.press(t)
    if after == timer:
        return replace(state, hint=state.spec.timer.words.after_the_end)
    moved = given.with_timer(after)
    if after.ignored > timer.ignored:
        return replace(state, input=moved)
    return fresh_watch(state, _do(state, moved))


def _enter(state: TrialState, t: float, confirmed: str) -> TrialState:
    given = state.input
    if given.timer.asking or state.in_doubt:
        return replace(state, hint="answer the question first: y or n")
    if given.counting_in:
        return replace(state, hint="counting in; Backspace stops it")
    if given.running:
        stopped = _do(state, given.with_timer(given.timer.stop(t)))
        return replace(stopped, prompt="ended") if stopped.stopped_without_reason else stopped
    if not state.ended:
        return replace(state, hint="Space starts")
    if state.entry.fields:
        return _enter_number(state, confirmed)
    if state.stopped_without_reason:
        return replace(state, prompt="ended")
    return _save_unless(state, _doubt(state), confirmed)


def _enter_number(state: TrialState, confirmed: str) -> TrialState:
    entry = state.entry
    if not entry.at_the_end:
        problem = entry.problem(entry.at)
        return replace(state, error=problem) if problem else replace(state, entry=entry.go(+1))
    found = entry.first_problem
    if found is not None:
        return replace(state, entry=replace(entry, at=found[0]), error=found[1])
    if not entry.numbers:
        return replace(
            state,
            entry=replace(entry, at=0),
            error="Type at least one number, or skip the test with a reason.",
        )
    return _save_unless(state, _contradiction(state) or entry.left_open, confirmed)


def _doubt(state: TrialState) -> str:
    given = state.input
    if not state.spec.timer.clocked:
        if (short := short_set(state.spec, given)) and not given.ended:
            why = state.keymap.key(Action.WHY_ENDED)
            return f"Only {short} seen: Enter again saves it so; {why} says why it ended."
        if given.timer.started is not None or given.marks or given.watched:
            return ""
        return "Nothing counted and no sign seen: Enter again saves it as seen without a sign."
    return _contradiction(state)


def _contradiction(state: TrialState) -> str:
    """That the trial cannot be as it is, so that no result would come of it."""
    try:
        against = contradiction(state.spec, record_of(state))
    except EntryRefusedError:
        return ""
    if not against:
        return ""
    strike = state.keymap.key(Action.STRIKE)
    sentence = against[0].upper() + against[1:]
    return f"{sentence}. Enter again saves it, not used; {strike} makes it void."


def _save_unless(state: TrialState, doubt: str, confirmed: str) -> TrialState:
    return replace(state, question=doubt) if doubt and doubt != confirmed else _save(state)


def _save(state: TrialState, void: str = "") -> TrialState:
    try:
        return replace(state, record=record_of(state, void))
    except EntryRefusedError as refusal:
        return replace(state, error=str(refusal))


def _take_back(state: TrialState, t: float) -> TrialState:
    if not state.history:
        return replace(state, hint="nothing to undo")
    given = state.history[-1].started_if_due(t)
    given = given.with_timer(given.timer.tick(t))
    runs_on = given.running and state.input.phase is Phase.ENDED
    hint = "stop undone; the clock runs on from the start" if runs_on else "undone"
    return replace(state, input=given, history=state.history[:-1], hint=hint)


def strike_out(state: TrialState, reason: str, t: float) -> TrialState:
    """Make what was begun void, for a reason from outside; a running trial is stopped at `t`."""
    if not state.unsaved:
        return state
    return _save(_brought_to_rest(state, t), void=reason)


def _brought_to_rest(state: TrialState, t: float) -> TrialState:
    """Stop what runs or counts in, so that it can be taken back."""
    given = state.input
    if given.running:
        return _do(state, given.with_timer(given.timer.stop(t)))
    if given.counting_in:
        return _do(state, replace(given, go_at=None))
    return state


def _ended_for(state: TrialState, place: int) -> TrialState:
    """Say why it ended, or with the last key that nothing is said; other digits change nothing."""
    offered = state.end_reasons
    if place >= len(offered) and place != NO_REASON:
        return replace(state, prompt="ended")
    ended = "" if place == NO_REASON else offered[place]
    return _do(state, replace(state.input, ended=ended))


def _answer(state: TrialState, yes: bool) -> TrialState:
    if state.in_doubt:
        if not yes:
            return _save(state, void=NOT_WATCHED)
        return _do(state, replace(state.input, confirmed=True))
    if not state.input.timer.asking:
        return state
    return _do(state, state.input.with_timer(state.input.timer.answer(yes)))


def _on_leg(state: TrialState, place: int) -> TrialState:
    """Say which leg the last sign is of: by an arrow, or the next of all with its own key."""
    sign = state.sign_of_a_leg
    if sign is None:
        return state
    if place:
        return _do(state, state.input.on_leg(sign, "left" if place == 1 else "right"))
    second: SignLeg = "left" if state.first_leg == "right" else "right"
    offered: tuple[SignLeg | None, ...] = (None, state.first_leg, second, "both")
    now = dict(state.input.sign_legs).get(sign)
    return _do(state, state.input.on_leg(sign, offered[(offered.index(now) + 1) % len(offered)]))


def with_words(state: TrialState, words: str) -> TrialState:
    """Add words to the trial's note."""
    note = "; ".join(part for part in (state.input.note, words.strip()) if part)
    return _do(state, replace(state.input, note=note))


def with_value(state: TrialState, typed: str, reason: str) -> TrialState:
    """Give the trial another value than was timed, as it was typed, and why."""
    return _do(state, replace(state.input, manual_value=(typed, reason)))


def _with_flight(state: TrialState, action: Action) -> TrialState:
    given = state.input
    if action is Action.DIRECTION:
        if given.direction is None:
            return state
        return _do(state, replace(given, direction="down" if given.direction == "up" else "up"))
    if action is Action.TAP_STEPS:
        if not state.spec.timer.flight:
            return state
        return _do(state, state.input_for_flight(given.steps, tapped=not given.tapped))
    steps = (given.steps or 0) + (1 if action is Action.MORE_STEPS else -1)
    try:
        Trial(test=state.spec.id, steps=steps)
    except ValidationError:
        return state  # a session holds no such number
    return _do(state, state.input_for_flight(steps, tapped=given.tapped))


def _do(state: TrialState, given: TrialInput) -> TrialState:
    return replace(state, input=given, history=(*state.history, state.input))


def _rung(before: TrialState, after: TrialState, now: float) -> TrialState:
    """Ring when the timer started by itself, reached its target, or ended since `before`."""
    was, now_is = before.input.timer, after.input.timer
    gone = before.input.counting_in and after.input.running
    if gone or _reached(was, now_is):
        return replace(after, bell=True, rang_at=now)
    return after


def _reached(was: Timer, now_is: Timer) -> bool:
    if not was.over and now_is.over:
        return True
    undone = len(now_is.splits) < len(was.splits)
    return now_is.reached and not was.reached and not undone
