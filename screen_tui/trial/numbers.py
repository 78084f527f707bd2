"""Numbers as people type them."""

from __future__ import annotations

import re


def read_number(text: str) -> float | None:
    """The number in a text, with a point or a comma; None when it is none."""
    plain = text.replace(",", ".")
    return float(plain) if re.fullmatch(r"-?(\d+\.?\d*|\.\d+)", plain, re.ASCII) else None


# Height and mass as they are typed: in metric units, or in feet, inches and pounds.


_CM_IN_INCH = 2.54
_KG_IN_POUND = 0.45359237
_NUMBER = r"(\d+(?:\.\d+)?)"
_FEET = re.compile(rf"(\d)(?:\s*(?:'|ft)\s*|\s+)(?:{_NUMBER}\s*(?:\"|''|in)?)?")
_INCHES = re.compile(rf"{_NUMBER}\s*(?:\"|''|in)")
_CM = re.compile(rf"{_NUMBER}\s*(?:cm)?")
_POUNDS = re.compile(rf"{_NUMBER}\s*lbs?")
_KG = re.compile(rf"{_NUMBER}\s*(?:kg)?")
_PLAIN = str.maketrans({",": ".", "\u2019": "'", "\u2032": "'", "\u201d": '"', "\u2033": '"'})

HEIGHT_CHARACTERS = "0123456789., '\"\u2019\u2032\u201d\u2033cmftin"
MASS_CHARACTERS = "0123456789., kglbs"


def height_cm(typed: str) -> float | None:
    """Centimetres of a height such as ``172``, ``5'10"``, ``5 10`` or ``70 in``; None for none."""
    text = typed.translate(_PLAIN).strip().lower()
    if found := _FEET.fullmatch(text):
        feet, inches = int(found[1]), float(found[2] or 0)
        return round((12 * feet + inches) * _CM_IN_INCH, 1) if inches < 12 else None
    if found := _INCHES.fullmatch(text):
        return round(float(found[1]) * _CM_IN_INCH, 1)
    found = _CM.fullmatch(text)
    return float(found[1]) if found else None


def mass_kg(typed: str) -> float | None:
    """Kilograms of a mass such as ``72.5`` or ``160 lb``; None for none."""
    text = typed.translate(_PLAIN).strip().lower()
    if found := _POUNDS.fullmatch(text):
        return round(float(found[1]) * _KG_IN_POUND, 1)
    found = _KG.fullmatch(text)
    return float(found[1]) if found else None
