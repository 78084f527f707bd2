"""Numbers as people type them, and the fields of a test that they are typed into."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from screen_tui.timing.spec import NumberField


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


_LONGEST = 8
TYPED = frozenset("0123456789.,-")


@dataclass(frozen=True, slots=True)
class Entry:
    """The fields of a test that is measured, with what was typed into each.

    Attributes:
        at: The place the keys go to; one past the last field means the signs.
        with_signs: Whether there is such a last place.
        fresh: Somebody came to the present field from another one: what is typed replaces what
            was there.
    """

    fields: tuple[NumberField, ...] = ()
    texts: tuple[str, ...] = ()
    at: int = 0
    with_signs: bool = False
    fresh: bool = False

    @property
    def on_field(self) -> bool:
        return self.at < len(self.fields)

    @property
    def counting(self) -> bool:
        """Whether Space adds one to the present field."""
        return self.on_field and self.fields[self.at].counted

    @property
    def text(self) -> str:
        return self.texts[self.at] if self.on_field else ""

    @property
    def at_the_end(self) -> bool:
        """Whether Enter saves here instead of going on."""
        return self.at >= len(self.fields) - (not self.with_signs)

    def type(self, character: str) -> Entry:
        """Add a character to the present field; a comma stays as typed."""
        text = "" if self.fresh else self.text
        if not self.on_field or character not in TYPED or len(text) >= _LONGEST:
            return self
        return self._with_text(text + character)

    def count(self) -> Entry:
        if not self.counting:
            return self
        return self._with_text(f"{int(read_number(self.text) or 0) + 1}")

    def take_back(self) -> Entry:
        return self._with_text(self.text[:-1]) if self.text else self

    def go(self, step: int) -> Entry:
        """Move to another place; past the ends nothing moves."""
        last = len(self.fields) - (not self.with_signs)
        at = min(max(self.at + step, 0), last)
        return self if at == self.at else replace(self, at=at, fresh=True)

    def problem(self, place: int) -> str:
        """Say why what was typed in a field cannot be; "" when it can, or nothing was typed."""
        text, field = self.texts[place], self.fields[place]
        if not text:
            return ""
        number = read_number(text)
        bounds = f"{field.minimum:g} to {field.maximum:g}"
        if number is None:
            return f"{field.label}: {text} is not a number; type {bounds}."
        if not field.minimum <= number <= field.maximum:
            return f"{field.label}: {text} cannot be; type {bounds}."
        if field.whole and number != int(number):
            return f"{field.label}: {text} cannot be; type a whole number, {bounds}."
        return ""

    @property
    def first_problem(self) -> tuple[int, str] | None:
        problems = enumerate(map(self.problem, range(len(self.fields))))
        return next((one for one in problems if one[1]), None)

    @property
    def numbers(self) -> Mapping[str, float]:
        """The numbers that can be, by the id of their field."""
        read = {
            field.id: read_number(text)
            for place, (field, text) in enumerate(zip(self.fields, self.texts, strict=True))
            if not self.problem(place)
        }
        return {name: number for name, number in read.items() if number is not None}

    @property
    def left_open(self) -> str:
        """That some fields are empty, as a question; "" when none is."""
        empty = [f.label for f, text in zip(self.fields, self.texts, strict=True) if not text]
        if not empty:
            return ""
        return f"Left open: {', '.join(empty)}. Type it, or Enter again leaves it open."

    def _with_text(self, text: str) -> Entry:
        texts = (*self.texts[: self.at], text, *self.texts[self.at + 1 :])
        return replace(self, texts=texts, fresh=False)
