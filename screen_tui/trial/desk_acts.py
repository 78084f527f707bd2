"""What each key does to a trial, once it was let through its gate."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from pydantic import ValidationError

from screen_tui.engine.observe import contradiction
from screen_tui.errors import EntryRefusedError
from screen_tui.files.reasons import in_plain_words
from screen_tui.session.model import Trial
from screen_tui.timing import Phase
from screen_tui.trial.amend import corrected, noted
from screen_tui.trial.desk_watch import disturbance_noted, fresh_watch
from screen_tui.trial.ending import NOT_WATCHED, STRIKE_REASONS, end_reasons
from screen_tui.trial.kept import trial_of
from screen_tui.trial.made import Made, only_ignored

if TYPE_CHECKING:
    from screen_tui.trial.desk import Desk

ACTIONS = frozenset("0123456789pextynd+") | {"space", "enter", "backspace"}
"""The keys that act; any other does nothing."""

Prompt = Literal["", "pain", "strike"]
"""What the next key chooses."""


def act(before: Desk, name: str, t: float) -> Desk:
    """Act on a key that was let through, pressed at `t`; an idle key changes nothing."""
    desk = replace(before, error="", hint="", question="", prompt="")
    if before.prompt:
        chosen = _choose(desk, before.prompt, name)
        if chosen is not None:
            return chosen
    match name:
        case "space":
            return _space(desk, t)
        case "enter":
            return _enter(desk, t, confirmed=before.question)
        case "backspace":
            return _take_back(desk, t)
        case "p":
            return replace(desk, prompt="pain")
        case "x":
            return _strike(desk, t)
        case "e":
            return _next_reason(desk)
        case "y" | "n":
            return _answer(desk, name == "y")
        case "d":
            return _turned(desk)
        case _ if name.isdigit():
            return _toggle(desk, int(name), t)
    return before


def _choose(desk: Desk, prompt: Prompt, name: str) -> Desk | None:
    """Take the key after p or x; None when it chooses nothing, so that it acts as usual."""
    if name == "backspace":
        return desk
    if prompt == "pain":
        pain = 10 if name in ("t", "+") else int(name) if name.isdigit() else None
        return None if pain is None else _do(desk, replace(desk.made, pain=pain))
    if name.isdigit() and 1 <= int(name) <= len(STRIKE_REASONS):
        return _keep(desk, void=STRIKE_REASONS[int(name) - 1])
    return None


def _space(desk: Desk, t: float) -> Desk:
    made, timer = desk.made, desk.made.timer
    if made.counting_in:
        return replace(desk, hint="counting in; Backspace stops it")
    if made.phase is Phase.READY and made.clocked and desk.count_in > 0:
        return _do(desk, replace(made, go_at=t + desk.count_in))
    after = timer.press(t)
    if after == timer:
        return replace(desk, hint=desk.spec.timer.after_the_end())
    moved = made.with_timer(after)
    if only_ignored(timer, after):
        return replace(desk, made=moved)
    return fresh_watch(desk, _do(desk, moved))


def _enter(desk: Desk, t: float, confirmed: str) -> Desk:
    made = desk.made
    if made.asking or desk.in_doubt:
        return replace(desk, hint="answer the question first: y or n")
    if made.counting_in:
        return replace(desk, hint="counting in; Backspace stops it")
    if made.running:
        return _do(desk, made.with_timer(made.timer.stop(t)))
    if not desk.ended:
        return replace(desk, hint="Space starts")
    if desk.entry.fields:
        return _enter_number(desk, confirmed)
    if desk.stopped_without_reason:
        return replace(desk, error="It was stopped early: say why first, with e.")
    return _keep_unless(desk, _doubt(desk), confirmed)


def _enter_number(desk: Desk, confirmed: str) -> Desk:
    entry = desk.entry
    if not entry.at_the_end:
        problem = entry.problem(entry.at)
        return replace(desk, error=problem) if problem else replace(desk, entry=entry.go(+1))
    found = entry.first_problem
    if found is not None:
        return replace(desk, entry=replace(entry, at=found[0]), error=found[1])
    if not entry.numbers:
        return replace(
            desk,
            entry=replace(entry, at=0),
            error="Type at least one number, or leave the test out with a reason.",
        )
    return _keep_unless(desk, entry.doubt, confirmed)


def _doubt(desk: Desk) -> str:
    """What looks wrong with an ended trial, as a question; "" when nothing does."""
    made = desk.made
    if not made.clocked:
        if made.timer.started is not None or made.signs:
            return ""
        return "Nothing counted and no sign seen: Enter again keeps it as seen without a sign."
    try:
        against = contradiction(desk.spec, record_of(desk))
    except EntryRefusedError:
        return ""
    if not against:
        return ""
    return f"{against}. Enter again keeps it, not used; x strikes it out."


def _keep_unless(desk: Desk, doubt: str, confirmed: str) -> Desk:
    return replace(desk, question=doubt) if doubt and doubt != confirmed else _keep(desk)


def _keep(desk: Desk, void: str = "") -> Desk:
    try:
        return replace(desk, kept=record_of(desk, void))
    except EntryRefusedError as refusal:
        return replace(desk, error=str(refusal))


def record_of(desk: Desk, void: str = "") -> Trial:
    """The trial as it would be kept now.

    Args:
        desk: The trial.
        void: Why it is struck out, or "".

    Raises:
        EntryRefusedError: It cannot be kept like this; the sentence names what is wrong.
    """
    watch, least = desk.watch, desk.spec.timer.split_least
    if least is not None:
        watch = watch.splits(desk.made.timer.splits, least, desk.made.ignored)
    try:
        trial = trial_of(
            desk.spec,
            desk.side,
            desk.series.cue,
            desk.made,
            desk.entry.numbers,
            watch.flags,
            void,
            desk.set_up,
        )
    except ValidationError as refusal:
        (field, *_), reason = in_plain_words(refusal, desk.entry.numbers)[0]
        named = next((f.label for f in desk.entry.fields if f.id == field), str(field))
        raise EntryRefusedError(f"It cannot be kept like this: {named}: {reason}.") from None
    if desk.made.fixed is not None:
        trial = corrected(desk.spec, trial, *desk.made.fixed)
    trial = noted(trial, desk.made.note) if desk.made.note else trial
    disturbed = disturbance_noted(desk)
    try:
        return noted(trial, disturbed) if disturbed else trial
    except EntryRefusedError:
        return trial  # what was typed left no room; the flags of its timing tell it too


def _take_back(desk: Desk, t: float) -> Desk:
    if desk.ring.space_waits:
        return replace(desk, ring=desk.ring.without_waiting_space(), hint="taken back")
    if not desk.history:
        return replace(desk, hint="nothing to take back")
    made = desk.history[-1].started_if_due(t)
    made = made.with_timer(made.timer.tick(t))
    return replace(desk, made=made, history=desk.history[:-1], hint="taken back")


def _strike(desk: Desk, t: float) -> Desk:
    if not desk.unsaved:
        return replace(desk, hint="nothing to strike out yet")
    return replace(_brought_to_rest(desk, t), prompt="strike")


def strike_at(desk: Desk, reason: str, t: float) -> Desk:
    """Keep what was begun as struck out for this reason; unchanged when nothing was begun."""
    if not desk.unsaved:
        return desk
    return _keep(_brought_to_rest(desk, t), void=reason)


def _brought_to_rest(desk: Desk, t: float) -> Desk:
    """Stop what runs or counts in, so that it can be taken back."""
    made = desk.made
    if made.running:
        return _do(desk, made.with_timer(made.timer.stop(t)))
    if made.counting_in:
        return _do(desk, replace(made, go_at=None))
    return desk


def _next_reason(desk: Desk) -> Desk:
    offered = ("", *end_reasons(desk.spec.timer, capped=desk.made.capped))
    place = offered.index(desk.made.ended) if desk.made.ended in offered else 0
    return _do(desk, replace(desk.made, ended=offered[(place + 1) % len(offered)]))


def _answer(desk: Desk, yes: bool) -> Desk:
    if desk.in_doubt:
        if not yes:
            return _keep(desk, void=NOT_WATCHED)
        return _do(desk, replace(desk.made, confirmed=True))
    if not desk.made.asking:
        return desk
    return _do(desk, desk.made.with_timer(desk.made.timer.answer(yes)))


def _toggle(desk: Desk, digit: int, t: float) -> Desk:
    if not 1 <= digit <= len(desk.labels):
        return desk
    return _do(desk, desk.made.toggled(desk.labels[digit - 1][0], t))


def with_words(desk: Desk, words: str) -> Desk:
    """Add words to the trial's note."""
    note = "; ".join(part for part in (desk.made.note, words.strip()) if part)
    return _do(desk, replace(desk.made, note=note))


def with_value(desk: Desk, typed: str, reason: str) -> Desk:
    """Give the trial another value than was timed, as it was typed, and why."""
    return _do(desk, replace(desk.made, fixed=(typed, reason)))


def _turned(desk: Desk) -> Desk:
    if desk.made.direction is None or desk.made.phase is not Phase.READY:
        return desk
    other: Literal["up", "down"] = "down" if desk.made.direction == "up" else "up"
    return _do(desk, replace(desk.made, direction=other))


def with_steps(desk: Desk, more: int) -> Desk:
    """Set another number of steps before the start, as far as a session can keep it."""
    steps = (desk.made.steps or 0) + more
    try:
        Trial(test=desk.spec.id, steps=steps)
    except ValidationError:
        return desk
    timer = desk.spec.timer.timer(steps)
    return _do(desk, replace(desk.made, steps=steps, timer=timer))


def _do(desk: Desk, made: Made) -> Desk:
    """Make the next state by hand, so that it can be taken back."""
    return replace(desk, made=made, history=(*desk.history, desk.made))
