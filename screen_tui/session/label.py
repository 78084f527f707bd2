"""The label a client goes by: which labels are of one client, and which tell who it is."""

from __future__ import annotations

import re
import unicodedata

INSTEAD = "use a short label such as K-014"
"""What to do about a label that is refused."""

_CODE = re.compile(r"[A-Z]{1,4}-?[0-9]{0,5}")
"""What most labels look like; a list of ten thousand sessions asks for each of them."""

_DATE_OR_NUMBER = re.compile(r"\d{1,4}[-./ ]\d{1,2}[-./ ]\d{1,4}")
_YEAR = re.compile(r"(?<!\d)(19|20)\d\d(?!\d)")
_WORD = re.compile(r"[^\W\d_]+")
_LAST_NAME_FIRST = re.compile(r"[^\W\d_]{2,}, ?[^\W\d_]")
_LONGEST_CODE = 4
"""Capitals before a number, as in CASE-2001; a word that is longer is read as a word."""


def label_key(label: str) -> str:
    """What two labels of one client have in common: neither case nor blanks around it matter.

    Nor does whether an accent is part of its letter or a character of its own.
    """
    return unicodedata.normalize("NFC", label).strip().casefold()


def what_it_tells(label: str) -> str:
    """What a label looks like that could tell who the person is, such as ``a date``; else "".

    The kinds follow the identifiers of the US Safe Harbor list, 45 CFR 164.514(b)(2), and a year
    beside a word is refused as one of birth. One name alone, one written in small letters or in a
    script without capitals, cannot be told from a label.
    """
    if _CODE.fullmatch(label):
        return ""
    # An accent that is a character of its own would end a word in the middle.
    composed = unicodedata.normalize("NFKC", label)
    if "@" in composed:
        return "an e-mail address"
    if _DATE_OR_NUMBER.search(composed):
        return "a date or a phone number"
    if sum(character.isdigit() for character in composed) >= 6:
        return "a phone or record number"
    words = _WORD.findall(composed)
    if _YEAR.search(composed) and any(_may_be_a_name(word) for word in words):
        return "a name or a date of birth"
    capitalised = sum(len(word) > 1 and word[0].isupper() for word in words)
    if capitalised >= 2 or _LAST_NAME_FIRST.search(composed):
        return "a full name"
    return ""


def _may_be_a_name(word: str) -> bool:
    return len(word) > 1 and not (word.isupper() and len(word) <= _LONGEST_CODE)
