"""Which tests a person is offered, in which order, how far they are, and why others are not."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Literal

from screen_tui.engine.conditions import Seen
from screen_tui.engine.observe import Key, sides_of
from screen_tui.engine.offered import not_called_for, why_not_needed, why_not_offered
from screen_tui.engine.safety import why_not_allowed, withheld_tests
from screen_tui.fields import Side
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Intake, Session
from screen_tui.trial.series import Series, all_directions

NOT_YET = "offered once a result calls for it"
"""Why a test is not offered yet."""

State = Literal["todo", "done", "skipped", "not-offered", "on-request"]


@dataclass(frozen=True, slots=True)
class Item:
    """A test, by its id, on a leg where it has one; its minutes are those of that leg."""

    test: str
    side: Side | None
    minutes: float = field(compare=False)


@dataclass(frozen=True, slots=True)
class Withheld:
    """A test that is not offered to this person, and why."""

    test: str
    reason: str


@dataclass(frozen=True, slots=True)
class ItemState:
    """How far an item is.

    Attributes:
        state: ``done`` when at least one trial counts (for stairs one each way); ``not-offered``
            when an earlier result, or pain in an earlier test, speaks against it; ``on-request``
            when it is no part of the visit, or not before a result calls for it, and can be asked
            for.
        reason: Why it is skipped, not offered or waits to be asked for; "" otherwise.
        trials_done: Trials that count; cued repeats are left out.
        trials_wanted: Trials of a full series; for stairs both ways are counted.
        full: The series is full, or no further trial could better it.
    """

    item: Item
    state: State
    reason: str
    trials_done: int
    trials_wanted: int
    full: bool

    @property
    def minutes_left(self) -> float:
        missing = max(self.trials_wanted - self.trials_done, 0)
        return 0.0 if self.full else self.item.minutes * missing / self.trials_wanted


def plan_battery(
    protocol: ScreenProtocol,
    intake: Intake,
    age: int | None = None,
    chosen: Collection[str] = (),
    *,
    despite_cautions: bool = False,
) -> tuple[Item, ...]:
    """Give what is offered from the start, in the order of the battery.

    What only a result may call for is not among it: most people do not need it, so it is not
    counted in the minutes of a visit. After a yes to a safety question nothing is offered, unless
    it is despite cautions.
    """
    waiting = not_called_for(protocol, intake)
    offered = {
        item.test
        for item in protocol.battery.items
        if not why_not_offered(
            protocol, intake, item, age, chosen=chosen, despite_cautions=despite_cautions
        )
    }
    return tuple(
        item
        for item in allowed_items(protocol, intake, despite_cautions=despite_cautions)
        if item.test in offered and (item.test, item.side) not in waiting
    )


def allowed_items(
    protocol: ScreenProtocol, intake: Intake, *, despite_cautions: bool = False
) -> tuple[Item, ...]:
    """Give all that this person may be asked for, in the order of the battery, needed or not.

    A test of each leg is done on the sound side first, so that the painful one can be compared
    and is loaded by somebody who knows the test; with both sides painful, right before left.
    (Sound side first: common practice, no source.)
    """
    if intake.cautions and not despite_cautions:
        return ()
    sides: tuple[Side, ...] = ("left", "right") if intake.side == "right" else ("right", "left")
    return tuple(
        Item(spec.id, side, spec.minutes_a_side)
        for item in protocol.battery.items
        for spec in [protocol.test(item.test)]
        if not why_not_allowed(protocol, intake, spec)
        for side in (sides if spec.sided else (None,))
    )


def withheld(
    protocol: ScreenProtocol,
    intake: Intake,
    age: int | None = None,
    chosen: Collection[str] = (),
) -> tuple[Withheld, ...]:
    """Give what of the visit is not offered, each with its reason, for the note."""
    return tuple(
        Withheld(item.test, reason)
        for item in protocol.battery.items
        if not item.waits(age)
        and (reason := why_not_offered(protocol, intake, item, age, chosen=chosen))
    )


def progress(
    protocol: ScreenProtocol,
    session: Session,
    items: tuple[Item, ...],
    chosen: Collection[str] = (),
    seen: Seen | None = None,
) -> tuple[ItemState, ...]:
    """Give the state of each item, not only of those that are offered, after what happened so far.

    Raises:
        KeyError: An item names a test the protocol does not have.
    """
    seen = seen or Seen.of(protocol, session)
    closed = withheld_tests(seen)
    on_request = _on_request(protocol, session, seen, closed, chosen)
    return tuple(_state(protocol, session, item, closed, on_request) for item in items)


def _on_request(
    protocol: ScreenProtocol,
    session: Session,
    seen: Seen,
    closed: Mapping[Key, str],
    chosen: Collection[str],
) -> Mapping[Key, str]:
    intake, age = session.intake, session.client.age
    found: dict[Key, str] = {
        key: reason or NOT_YET
        for key, reason in not_called_for(protocol, intake, seen).items()
        if key[0] not in chosen
    }
    done = {trial.test for trial in session.trials if trial.counts}
    for item in protocol.battery.items:
        reason = why_not_needed(
            protocol, intake, item, age, chosen=chosen, done=done, withheld=closed
        )
        if reason:
            sides = sides_of(protocol.test(item.test))
            found |= {(item.test, side): reason for side in sides}
    return found


def minutes_left(states: tuple[ItemState, ...], at_hand: Item | None = None) -> float:
    """Give the minutes of all that is still to do.

    Further trials of the item at hand still take their time, while one that was left after its
    first trial is done with.
    """
    return sum(
        state.minutes_left
        for state in states
        if state.state == "todo" or (state.state == "done" and state.item == at_hand)
    )


def next_item(states: tuple[ItemState, ...], after: Item | None = None) -> Item | None:
    """Give the next item to do, or None when nothing is left.

    It is looked for behind `after` first, and only then from the beginning, so that an item left
    open does not hold up the rest.
    """
    begin = next((place + 1 for place, state in enumerate(states) if state.item == after), 0)
    in_order = (*states[begin:], *states[:begin])
    return next((state.item for state in in_order if state.state == "todo"), None)


def _state(
    protocol: ScreenProtocol,
    session: Session,
    item: Item,
    closed: Mapping[Key, str],
    on_request: Mapping[Key, str],
) -> ItemState:
    spec = protocol.test(item.test)
    trials = tuple(trial for trial in session.trials_of(item.test, item.side) if not trial.cue)
    state: State = "todo"
    reason = ""
    skips = (one for one in session.skipped if one.test == item.test)
    skip = next((one.reason for one in skips if one.side in (item.side, None)), "")
    if trials and all_directions(spec, trials):
        state = "done"
    elif skip:
        state, reason = "skipped", skip
    elif gate := closed.get((item.test, item.side)):
        state, reason = "not-offered", gate
    elif waits := on_request.get((item.test, item.side)):
        state, reason = "on-request", waits
    series = Series(spec, "", trials)
    return ItemState(item, state, reason, len(trials), series.wanted, series.complete)
