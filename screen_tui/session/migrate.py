"""Session files of earlier formats, brought to the present one step by step.

A step takes what a file of one format holds and gives what a file of the next would hold. It is
pure: the file itself is not changed by being read. A new format adds one step at the end.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from screen_tui.session.model import FORMAT

Step = Callable[[Mapping[str, Any]], Mapping[str, Any]]


def _from_1(data: Mapping[str, Any]) -> Mapping[str, Any]:
    """Format 2 lets a trial hold the times of its signs and what it was before a correction.

    All of it may be missing, and files of format 1 written shortly before hold some of it already.
    """
    return data


_STEPS: Mapping[int, Step] = {1: _from_1}
"""The step away from each earlier format."""

READABLE = tuple(range(min(_STEPS), FORMAT + 1))
"""The formats that can be read, oldest first."""


def migrated(
    data: Mapping[str, Any], written: int, steps: Mapping[int, Step] = _STEPS, present: int = FORMAT
) -> dict[str, Any]:
    """Give what a session file of the present format would hold.

    Args:
        data: What the file holds; it is not changed.
        written: The format it was written in, one of the readable ones.
        steps: The step away from each earlier format.
        present: The format to reach.
    """
    for earlier in range(written, present):
        data = {**steps[earlier](data), "format": earlier + 1}
    return dict(data)
