"""The label a client goes by."""

from __future__ import annotations


def label_key(label: str) -> str:
    """What two labels of one client have in common: neither case nor blanks around it matter."""
    return label.strip().casefold()
