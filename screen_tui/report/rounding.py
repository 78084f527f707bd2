"""Numbers for other programs, as precise as they were recorded."""

from __future__ import annotations


def rounded(value: float | None, decimals: int) -> float | int | None:
    """Round; a number without decimals is a whole number, and nought is never negative."""
    if value is None:
        return None
    near = round(value, decimals) + 0.0
    return int(near) if decimals == 0 else near
