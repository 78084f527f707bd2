"""What is left of many sends when those go that a fault does not need."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from keys.sends import Send

MOST_TRIES = 80


def shrunk(fails: Callable[[Sequence[Send]], bool], sends: Sequence[Send]) -> Sequence[Send]:
    """Leave out as much as can be left out: first the halves, then ever smaller parts.

    Args:
        fails: Whether the fault is still there; it is asked some dozens of times.
        sends: All of them.
    """
    tries, part = 0, max(len(sends) // 2, 1)
    while True:
        before = sends
        for at in range(len(sends) - part, -1, -part):
            fewer = [*sends[:at], *sends[at + part :]]
            if tries == MOST_TRIES:
                return sends
            tries += 1
            if fails(fewer):
                sends = fewer
        if part == 1 and sends == before:
            return sends
        part = max(part // 2, 1)
