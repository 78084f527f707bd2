"""Numbers as people type them."""

from __future__ import annotations

import re


def read_number(text: str) -> float | None:
    """The number a text stands for, with a point or a comma; None when it is none."""
    plain = text.replace(",", ".")
    return float(plain) if re.fullmatch(r"-?(\d+\.?\d*|\.\d+)", plain, re.ASCII) else None
