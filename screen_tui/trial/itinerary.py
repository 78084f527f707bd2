"""How far a screen is in its tests, which test is next, and what the tests came to so far."""

from __future__ import annotations

import math
from collections.abc import Mapping, Set
from dataclasses import dataclass, field, replace
from functools import cached_property

from screen_tui.engine.change import readings_of
from screen_tui.engine.conditions import Seen
from screen_tui.engine.observe import other
from screen_tui.engine.results import Result
from screen_tui.engine.safety import precautions_raised
from screen_tui.fields import Side
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.report.plan import orders
from screen_tui.report.visits import value_words
from screen_tui.report.words import limit_words, number, result_amount, standing_words, with_side
from screen_tui.session.model import Session
from screen_tui.trial.battery import (
    Item,
    ItemState,
    allowed_items,
    minutes_left,
    next_item,
    progress,
)
from screen_tui.trial.series import Series


@dataclass(frozen=True)
class Itinerary:
    """The tests of a session; one of them, `item`, is at hand.

    Attributes:
        allowed: All tests that this person may be asked for, in order.
        chosen: The tests that were asked for, at this visit or at the earlier one it follows.
        then: What the earlier screen measured, by test and leg; empty where there was none.
    """

    protocol: ScreenProtocol
    session: Session
    allowed: tuple[Item, ...]
    item: Item
    chosen: Set[str] = frozenset()
    then: Mapping[tuple[str, str | None], str] = field(default_factory=dict)

    @classmethod
    def of(
        cls,
        protocol: ScreenProtocol,
        session: Session,
        earlier: Session | None = None,
        first: Item | None = None,
        chosen: Set[str] = frozenset(),
    ) -> Itinerary:
        """Give the tests of a session, which may be the re-test of an earlier one.

        At hand is the `first`, or else the first that is still to do; the `chosen` are of the visit
        from the start.
        """
        items = allowed_items(protocol, session.intake)
        # What a result calls for is called for on the leg it was seen on.
        calls = {one.test for one in protocol.battery.items if one.only_if is not None}
        chosen |= frozenset(trial.test for trial in session.trials) - calls
        then: Mapping[tuple[str, str | None], str] = {}
        if earlier is not None:
            chosen |= chosen_again(protocol, earlier)
            items = same_tests_first(protocol, items, earlier)
            then = values_then(protocol, earlier)
        found = cls(protocol, session, items, items[0], chosen, then)
        found = replace(found, item=next_item(found.states) or found.items[-1])
        return found if first is None else found.at(first)

    def at(self, item: Item) -> Itinerary:
        """The same with another test at hand; one that was asked for is of the visit from now."""
        if item not in self.allowed:
            return replace(self, item=item, allowed=(*self.allowed, item))
        chosen = self.chosen if item in self.items else self.chosen | {item.test}
        at_hand = next(one for one in self.allowed if one == item)
        return replace(self, item=at_hand, chosen=chosen)

    @property
    def listed(self) -> tuple[ItemState, ...]:
        """How far each test is, and behind them what can be asked for."""
        return tuple(sorted(self.states, key=lambda one: one.state == "on-request"))

    def after(self, session: Session) -> Itinerary:
        return self if session is self.session else replace(self, session=session)

    # Asked ten times a second, and gates have to be graded for it.

    @cached_property
    def seen(self) -> Seen:
        return Seen.of(self.protocol, self.session)

    @cached_property
    def states(self) -> tuple[ItemState, ...]:
        return progress(self.protocol, self.session, self.allowed, self.chosen, self.seen)

    @cached_property
    def results(self) -> tuple[str, ...]:
        return outcome(self.seen, self.item.test, self.item.side)

    @cached_property
    def cautions(self) -> tuple[str, ...]:
        return cautions_in_testing(self.seen)

    @property
    def without_cue(self) -> Series:
        return Series.of(self.spec, self.item.side, "", self.session.trials)

    @cached_property
    def items(self) -> tuple[Item, ...]:
        """The tests of the visit: those that are offered, and those that were asked for."""
        return tuple(
            one.item for one in self.states if one.state != "on-request" or one.item == self.item
        )

    @property
    def spec(self) -> TestSpec:
        return self.protocol.test(self.item.test)

    @property
    def last_here(self) -> int | None:
        """The place in the session of the last trial of the test at hand on its leg."""
        trials = enumerate(self.session.trials)
        here = (self.item.test, self.item.side)
        return max((at for at, one in trials if (one.test, one.side) == here), default=None)

    @property
    def value_then(self) -> str:
        """What the earlier screen measured in the test at hand; empty where it measured nothing."""
        return self.then.get((self.item.test, self.item.side), "")

    @property
    def place(self) -> str:
        """Which of how many, such as ``3/9``."""
        return f"{self.items.index(self.item) + 1}/{len(self.items)}"

    @property
    def minutes_left(self) -> float:
        return minutes_left(self.states, self.item)

    @property
    def why_not(self) -> str:
        """Why the test at hand was skipped or is withheld; empty when it is neither."""
        for one in self.states:
            if one.item == self.item and one.reason:
                word = "Skipped" if one.state == "skipped" else "Not offered"
                return f"{word}: {one.reason}"
        return ""

    @property
    def withheld(self) -> bool:
        """Whether the result of an earlier test speaks against the test at hand."""
        return any(one.item == self.item and one.state == "not-offered" for one in self.states)

    def withheld_before(self, following: Item) -> str:
        """Which tests between this one and a later one are withheld, and why; "" for none."""
        at, to = self.items.index(self.item) + 1, self.items.index(following)
        reasons: dict[str, list[str]] = {}
        between = set(self.items[at:to])
        for one in self.states:
            if one.item in between and one.state == "not-offered":
                name = with_side(self.protocol.test(one.item.test).short_name, one.item.side)
                reasons.setdefault(one.reason, []).append(name)
        return " ".join(f"Not offered: {'; '.join(names)}. {why}" for why, names in reasons.items())

    @property
    def following(self) -> Item | None:
        return next_item(self.states, self.item)

    @property
    def before(self) -> Item | None:
        """The test before, done or not; None at the first."""
        at = self.items.index(self.item)
        return self.items[at - 1] if at else None

    @property
    def other_leg(self) -> Item | None:
        """The same test on the other leg; None for a test of both."""
        return next(
            (one for one in self.items if one.test == self.item.test and one != self.item), None
        )


@dataclass(frozen=True, slots=True)
class MinutesLeft:
    """The minutes left as they are shown: they come down steadily and never jump up.

    What is left by the tests alone leaps when a result calls for more of them or rules some out.
    What is shown falls by no more than the test just done or the time gone by, and stays where it
    is until the tests have caught up.

    Attributes:
        shown: Minutes, not rounded.
        by_tests: What the tests at hand said then.
        at: Monotonic seconds of the last change.
    """

    shown: float
    by_tests: float
    at: float

    def after(self, by_tests: float, just_done: float, now: float) -> MinutesLeft:
        if by_tests == self.by_tests:
            return self
        step = max(just_done, (now - self.at) / 60)
        fallen = max(by_tests, self.shown - step) if by_tests < self.shown else self.shown
        return replace(self, shown=fallen if by_tests else 0.0, by_tests=by_tests, at=now)

    @property
    def words(self) -> str:
        """In whole minutes, such as ``4 min left``; never none while there is something to do."""
        return f"{math.ceil(round(self.shown, 3))} min left"


def outcome(seen: Seen, test: str, side: Side | None) -> tuple[str, ...]:
    """Each number of a test so far, against its cut-off and the other leg, in one line each."""
    return tuple(
        _line(seen, result)
        for (of_test, of_side, _), result in seen.results.items()
        if (of_test, of_side) == (test, side) and (result.value is not None or result.in_words)
    )


def _line(seen: Seen, result: Result) -> str:
    parts = [f"{result.label} {result_amount(result)}"]
    if result.line is not None and result.standing != "not judged":
        parts.append(f"{standing_words(result)}, {limit_words(result.line, result)}")
    if result.value is None and result.why_not:
        parts.append(result.why_not)
    parts += [f"worse than the warning cut-off, {limit_words(one, result)}" for one in result.flags]
    there = seen.results.get((result.test, other(result.side), result.measure))
    if result.side and result.value is not None and there and there.value is not None:
        gap = number(abs(result.value - there.value), result.decimals)
        share = result.symmetry_percent
        worse = "" if share is None else f" ({number(100 - share, 0)} %)"
        parts.append(f"{there.side} {result_amount(there)}, difference {gap}{worse}")
    return "; ".join(parts)


def cautions_in_testing(seen: Seen) -> tuple[str, ...]:
    """What of the person's limits and precautions matters to testing, in one short line each."""
    ordered = orders(seen.session.intake)
    raised = {one.id for one in precautions_raised(seen)}
    rules = (rule.in_testing for rule in seen.protocol.precautions if rule.id in raised)
    return (*(("; ".join(ordered),) if ordered else ()), *(line for line in rules if line))


# What a retest takes over from the earlier visit.


def chosen_again(protocol: ScreenProtocol, earlier: Session) -> frozenset[str]:
    """The tests of the earlier screen that are asked for again, so that like is held against like.

    Those that were asked for then, and of tests that overlap the one that was done.
    """
    done = {trial.test for trial in earlier.as_amended.trials if trial.counts}
    again: set[str] = set()
    covered: set[str] = set()
    for item in protocol.battery.items:
        overlaps = item.instead_of and item.test not in covered
        if item.test in done and (item.when_asked or overlaps):
            again.add(item.test)
            covered |= set(item.instead_of)
    return frozenset(again)


def same_tests_first(
    protocol: ScreenProtocol, items: tuple[Item, ...], earlier: Session
) -> tuple[Item, ...]:
    """The items with the tests of the earlier screen before the others, each in their order.

    A test whose result may withhold another, or call for it, comes before it still, done then or
    not: what made the order safe is not given up for the sake of comparison.
    """
    first = {trial.test for trial in earlier.as_amended.trials if trial.counts}
    before = first
    while before:
        needed = {gate.after for gate in protocol.battery.gates if gate.withhold in before}
        needed |= {
            one.test
            for item in protocol.battery.items
            if item.only_if is not None and item.test in before
            for one in item.only_if.any_of
        }
        before = needed - first
        first |= before
    return tuple(sorted(items, key=lambda item: item.test not in first))


def values_then(protocol: ScreenProtocol, earlier: Session) -> Mapping[tuple[str, str | None], str]:
    """What the earlier screen measured, by test and side, in a few words."""
    found: dict[tuple[str, str | None], str] = {}
    for (test, side, measure_id), reading in readings_of(protocol, earlier).items():
        if reading.value is None:
            continue
        measure = protocol.test(test).measure(measure_id)
        text = f"{measure.label.lower()} {value_words(reading, measure.decimals)} {measure.unit}"
        place = (test, side)
        found[place] = f"{found[place]}, {text}" if place in found else text
    when = earlier.started.date().isoformat()
    return {place: f"On {when}: {text}" for place, text in found.items()}
