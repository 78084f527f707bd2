"""What the sessions came to, in words and as an exit code."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field

from keys.plans import Plan
from keys.verdict import Outcome

_LAST_SENDS = 40


@dataclass
class Tally:
    """Adds sessions up."""

    sessions: int = 0
    sends: int = 0
    left_early: int = 0
    longest_s: float = 0.0
    pages: Counter[str] = field(default_factory=Counter)
    faults: defaultdict[str, list[int]] = field(default_factory=lambda: defaultdict(list))

    def add(self, plan: Plan, outcome: Outcome) -> None:
        """Add a session."""
        self.sessions += 1
        self.sends += len(outcome.sends)
        self.left_early += outcome.left_early
        self.longest_s = max(self.longest_s, outcome.leaving_s)
        self.pages.update(outcome.pages)
        # What follows from the first fault is told with the session alone.
        for fault in outcome.faults[:1]:
            self.faults[fault].append(plan.number)

    @property
    def exit_code(self) -> int:
        """0 when nothing was wrong in any session."""
        return 1 if self.faults else 0

    def __str__(self) -> str:
        pages = ", ".join(f"{page} {number}" for page, number in self.pages.most_common())
        by_number = sorted(self.faults.items(), key=lambda one: (-len(one[1]), one[0]))
        wrong = sum(len(numbers) for numbers in self.faults.values())
        return "\n".join(
            (
                f"pages seen: {pages}",
                *(f"{len(n)} x {what} ({', '.join(map(str, sorted(n)))})" for what, n in by_number),
                f"sessions {self.sessions}, sends {self.sends}, "
                f"ended by a key of theirs {self.left_early}, "
                f"longest wait for the end {self.longest_s:.1f} s, went wrong {wrong}",
            )
        )


def told(plan: Plan, outcome: Outcome) -> str:
    """A line on a session; where it went wrong, all that is known of it."""
    head = f"{plan.number:4} {plan}: {'; '.join(outcome.faults) or 'in order'}"
    if not outcome.faults:
        return head
    sends = outcome.sends[-_LAST_SENDS:]
    return "\n".join(
        (
            head,
            f"     session {plan.number}, seed {plan.seed}, the last {len(sends)} sends:",
            *(f"       {send}" for send in sends),
            "     the last screen:",
            *(f"       |{line}" for line in outcome.screen.rstrip().split("\n")),
            *(f"     {line}" for line in outcome.report.splitlines()),
        )
    )
