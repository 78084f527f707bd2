"""The minutes left as they are shown: they come down steadily and never jump up.

What is left by the tests alone leaps when a result calls for more of them or rules some out. What
is shown falls by no more than the test just done or the time gone by, and stays where it is until
the tests have caught up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class MinutesLeft:
    """What was shown last, and when.

    Attributes:
        shown: Minutes, not rounded.
        by_tests: What the tests at hand said then.
        at: Monotonic seconds of the last change.
    """

    shown: float
    by_tests: float
    at: float

    def after(self, by_tests: float, just_done: float, now: float) -> MinutesLeft:
        """The same once the tests say something else.

        Args:
            by_tests: Minutes of all that is still to do.
            just_done: Minutes of the test that was just done, or of a trial of it.
            now: Monotonic seconds.
        """
        if by_tests == self.by_tests:
            return self
        step = max(just_done, (now - self.at) / 60)
        fallen = max(by_tests, self.shown - step) if by_tests < self.shown else self.shown
        return replace(self, shown=fallen if by_tests else 0.0, by_tests=by_tests, at=now)

    @property
    def words(self) -> str:
        """In whole minutes, such as ``4 min left``; never none while there is something to do."""
        return f"{math.ceil(round(self.shown, 3))} min left"
