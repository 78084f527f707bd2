"""What a number is called elsewhere: its LOINC code, where that was read, and its UCUM unit."""

from __future__ import annotations

from typing import Annotated

from pydantic import StringConstraints, model_validator

from screen_tui.fields import Line, Strict

Loinc = Annotated[str, StringConstraints(pattern=r"^[0-9]{1,7}-[0-9]\Z")]
Address = Annotated[str, StringConstraints(pattern=r"^https?://[!-~]+\Z", max_length=300)]
Ucum = Annotated[str, StringConstraints(pattern=r"^[!-~]+\Z", max_length=40)]


class Coded(Strict):
    """A number that other programs may know under a code.

    Attributes:
        loinc: The LOINC code, only where its published description fits what is done here.
        loinc_name: Its long common name, as published.
        loinc_seen_at: The address of the public page where code and description were read.
        loinc_note: How far it fits, where that needs a word.
        ucum: The unit as UCUM writes it; where it is left out, the unit is exported as words.
    """

    loinc: Loinc | None = None
    loinc_name: Line | None = None
    loinc_seen_at: Address | None = None
    loinc_note: Line | None = None
    ucum: Ucum | None = None

    @model_validator(mode="after")
    def _code_was_seen(self) -> Coded:
        if self.loinc is None:
            if self.loinc_name or self.loinc_seen_at or self.loinc_note:
                raise ValueError("loinc_name, loinc_seen_at and loinc_note belong to a loinc")
            return self
        if self.loinc_seen_at is None:
            raise ValueError("a loinc needs loinc_seen_at, the address where it was read")
        if self.loinc_name is None:
            raise ValueError("a loinc needs loinc_name, its long common name")
        body, _, check = self.loinc.partition("-")
        if check != loinc_check_digit(body):
            raise ValueError(f"the loinc {self.loinc} is mistyped: its check digit does not fit")
        return self


def loinc_check_digit(body: str) -> str:
    """The digit behind the hyphen of a LOINC code.

    The Luhn sum modulo 10 (from memory; it gives the digits of the codes read so far).
    """
    total = 0
    for place, digit in enumerate(reversed(body)):
        doubled = int(digit) * (2 if place % 2 == 0 else 1)
        total += doubled // 10 + doubled % 10
    return str(-total % 10)
