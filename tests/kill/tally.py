"""What all rounds came to, in words and as an exit code."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from kill.round import Outcome, Plan


@dataclass
class Tally:
    """Adds rounds up."""

    ended: Counter[str] = field(default_factory=Counter)
    where: Counter[str] = field(default_factory=Counter)
    faults: Counter[str] = field(default_factory=Counter)
    trials: int = 0
    more: int = 0
    cut_short: int = 0
    resumed: int = 0

    def add(self, plan: Plan, outcome: Outcome) -> None:
        """Add a round."""
        self.ended[plan.way] += 1
        self.where[outcome.where] += 1
        self.faults.update(fault.kind for fault in outcome.faults)
        self.trials += outcome.trials
        self.more += outcome.more
        self.cut_short += outcome.cut_short
        self.resumed += outcome.resumed

    @property
    def exit_code(self) -> int:
        """0 when nothing was lost, nothing was unreadable, and all went as it should."""
        return 1 if self.faults.total() else 0

    def __str__(self) -> str:
        ways = ", ".join(f"{number} by {way}" for way, number in self.ended.items())
        places = ", ".join(f"{place} {number}" for place, number in self.where.most_common())
        return (
            f"ended: {ways}\n"
            f"on the screen then: {places}\n"
            f"skips, later strikes and notes said: {self.more}; "
            f"ended within a write: {self.cut_short}; gone on after: {self.resumed}; "
            f"otherwise wrong: {self.faults['wrong']}\n"
            f"killed {self.ended.total()}, trials kept on screen {self.trials}, "
            f"lost {self.faults['lost']}, unreadable {self.faults['unreadable']}"
        )
