"""Where a screen stands among its tests, and which test is next, before, or on the other leg."""

from __future__ import annotations

from collections.abc import Mapping

from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Session
from screen_tui.trial.battery import (
    Item,
    ItemState,
    asked_for,
    minutes_left,
    next_item,
    plan_battery,
    progress,
    waiting,
)
from screen_tui.trial.retest import same_tests_first, values_then
from screen_tui.tui.controller import Keeper
from screen_tui.tui.drawing.words import test_name


class Itinerary:
    """The tests of the session in hand; one of them is at hand.

    Args:
        keeper: Holds the session.
        wanted: The test to begin with; None for the first that is still to do.

    Attributes:
        items: All tests of the visit: those that are offered, and those that were asked for, at
            this visit or at the earlier one it follows.
    """

    def __init__(self, keeper: Keeper, wanted: Item | None = None) -> None:
        self._keeper = keeper
        self._then: Mapping[tuple[str, str | None], str] | None = None
        self._known: tuple[Session, tuple[Item, ...], tuple[ItemState, ...]] | None = None
        self.items = plan_battery(keeper.protocol, keeper.session.intake)
        self._asked = asked_for(keeper.protocol, keeper.session.intake)
        sessions = (keeper.session, *((keeper.earlier,) if keeper.earlier else ()))
        done = {trial.test for session in sessions for trial in session.trials}
        self.items += tuple(one for one in self._asked if one.test in done)
        if keeper.earlier is not None:
            self.items = same_tests_first(keeper.protocol, self.items, keeper.earlier)
        self.item = wanted or next_item(self.states) or self.items[-1]

    @property
    def item(self) -> Item:
        """The test at hand."""
        return self._item

    @item.setter
    def item(self, item: Item) -> None:
        self._item = item
        if item not in self.items:
            both_legs = tuple(one for one in self._asked if one.test == item.test)
            self.items += both_legs if item in both_legs else (item,)

    @property
    def listed(self) -> tuple[ItemState, ...]:
        """How far each test is, and behind them what can be asked for."""
        rest = tuple(one for one in self._asked if one not in self.items)
        keeper = self._keeper
        return self.states + waiting(progress(keeper.protocol, keeper.session, rest))

    @property
    def states(self) -> tuple[ItemState, ...]:
        """How far each test is; worked out again only when the session has changed.

        The display asks ten times a second, and gates have to be graded for the answer.
        """
        asked = (self._keeper.session, self.items)
        if self._known is None or self._known[0] is not asked[0] or self._known[1] is not asked[1]:
            self._known = (*asked, progress(self._keeper.protocol, *asked))
        return self._known[2]

    @property
    def spec(self) -> TestSpec:
        """The test at hand, complete."""
        return self._keeper.protocol.test(self.item.test)

    @property
    def value_then(self) -> str:
        """What the earlier screen measured in the test at hand; empty where it measured nothing."""
        keeper = self._keeper
        if keeper.earlier is None:
            return ""
        if self._then is None:
            self._then = values_then(keeper.protocol, keeper.earlier)
        return self._then.get((self.item.test, self.item.side), "")

    @property
    def place(self) -> str:
        """Which of how many, such as ``3/9``."""
        return f"{self.items.index(self.item) + 1}/{len(self.items)}"

    @property
    def minutes_left(self) -> float:
        """Minutes of all that is still to do."""
        return minutes_left(self.states, self.item)

    @property
    def why_not(self) -> str:
        """Why the test at hand was skipped or is withheld; empty when it is neither."""
        for one in self.states:
            if one.item == self.item and one.reason:
                word = "Skipped" if one.state == "skipped" else "Withheld"
                return f"{word}: {one.reason}"
        return ""

    @property
    def withheld(self) -> bool:
        """Whether the result of an earlier test speaks against the test at hand."""
        return any(one.item == self.item and one.state == "withheld" for one in self.states)

    def withheld_before(self, following: Item) -> str:
        """Which tests between this one and a later one are withheld, and why; "" for none."""
        at, to = self.items.index(self.item) + 1, self.items.index(following)
        reasons: dict[str, list[str]] = {}
        for one in self.states[at:to]:
            if one.state == "withheld":
                name = test_name(self._keeper.protocol, one.item.test, one.item.side)
                reasons.setdefault(one.reason, []).append(name)
        return " ".join(f"Withheld: {'; '.join(who)}. {why}" for why, who in reasons.items())

    @property
    def following(self) -> Item | None:
        """The next test that is still to do; None when there is none."""
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
