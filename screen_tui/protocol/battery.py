"""A battery: which tests, in which order, for which goals, and what is withheld when."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from screen_tui.fields import Goal, Id, Line, Strict
from screen_tui.protocol.evidence import Condition


class BatteryItem(Strict):
    """One test of the battery; without goals it is for everybody."""

    test: Id
    goals: tuple[Goal, ...] = ()

    def fits(self, goals: tuple[Goal, ...]) -> bool:
        """Whether the test belongs to a screen with these goals."""
        return not self.goals or bool(set(self.goals) & set(goals))


class Gate(Strict):
    """A test that is withheld after the result of an earlier one.

    ``full_load_only`` keeps the gate open for those who may not put full load on one leg: what
    would tell little about the others may be all that can be tested in them.
    """

    withhold: Id
    after: Id
    when: Condition
    reason: Line
    source: Id
    full_load_only: bool = False


class Battery(Strict):
    """The whole of a battery file such as ``knee-quick-screen.toml``."""

    id: Id
    name: Line
    items: Annotated[tuple[BatteryItem, ...], Field(min_length=1)]
    gates: tuple[Gate, ...] = ()
