"""What is wrong with a file or an entry, in words for the person who has to put it right."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from difflib import get_close_matches
from itertools import islice
from typing import Any

from pydantic import ValidationError

from screen_tui.errors import MOST_SHOWN
from screen_tui.files.text import with_control_characters_as

FieldPath = tuple[str | int, ...]
"""Keys and array indices (from 0) that lead to a value: ``("trials", 2, "value")``."""

Mismatch = tuple[FieldPath, str]
"""A field, and what is wrong with it."""

_LONGEST_SHOWN = 40

_MOST_COMPARED, _MOST_NAMED = 500, 8
"""Known ids that an unknown one is compared with, which takes time, and that are all named."""

_MOST_LISTED = 1_000
"""Mistakes the library may list at once; of 200,000 its list takes 100 MB."""


def dotted(path: FieldPath) -> str:
    """Write a path as a person reads it: ``trials[2].value``, elements counted from 0."""
    written = ""
    for part in path:
        if isinstance(part, int):
            written += f"[{part}]"
        else:
            plain = len(part) <= _LONGEST_SHOWN and re.fullmatch(r"[A-Za-z0-9_-]+", part)
            name = part if plain else shown(part)
            written += f".{name}" if written else name
    return written


def shown(value: object) -> str:
    """A value from a file, safe to print and short enough for one line."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "an array"
    if isinstance(value, str):
        cut = value if len(value) <= _LONGEST_SHOWN else value[:_LONGEST_SHOWN] + "..."
        return f'"{with_control_characters_as("<{}>".format, cut)}"'
    if isinstance(value, int) and value.bit_length() > 64:
        return "a very large number"
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return str(value)


def no_such(wanted: str, what: str, known: Iterable[str]) -> str:
    """Say that an id is not known, and name the likeliest that is, or all where they are few."""
    there = list(islice(known, _MOST_COMPARED))
    near = get_close_matches(wanted, there, n=1)
    if near:
        return f"{shown(wanted)} is no {what}; did you mean {shown(near[0])}?"
    all_of = f"; there are {', '.join(there)}" if 0 < len(there) <= _MOST_NAMED else ""
    return f"{shown(wanted)} is no {what}{all_of}"


def in_plain_words(error: ValidationError, data: Mapping[str, Any]) -> list[tuple[FieldPath, str]]:
    """Give each field that is wrong once, with a reason; in the order of the model.

    Of more than are shown (`MOST_SHOWN`) the first are given, and one more. The ``data`` tell its
    keys from the names of union members, which pydantic also puts into the path.
    """
    reasons: dict[FieldPath, str] = {}
    for detail in _details(error):
        path, value = _found_in_data(detail["loc"], data)
        kind, context, value = detail["type"], detail.get("ctx", {}), detail.get("input", value)
        if kind == "too_short" and len(value) >= context["min_length"]:
            continue  # its elements were refused one by one; each has its own reason
        if kind.startswith("union_tag_"):
            path = (*path, context["discriminator"].strip("'"))
        words = _WORDS.get(kind)
        if isinstance(words, str):
            figures = {name: shown(figure) for name, figure in context.items()}
            reason = words.format(value=shown(value), **figures)
        elif words:
            reason = words(value, context)
        else:
            reason = f"is refused: {detail['msg'][:1].lower()}{detail['msg'][1:]}"
        if path not in reasons and len(reasons) > MOST_SHOWN:
            break
        # The last member of a plain union is the general one; the earlier are special values.
        reasons[path] = reason
    return list(reasons.items())


def toml_in_plain_words(message: str, text: str) -> tuple[int | None, str]:
    """Take the line out of a message of ``tomllib`` and say the rest for a person."""
    place = re.search(r" \(at (?:line (\d+), column \d+|end of document)\)$", message)
    line = int(place.group(1)) if place and place.group(1) else None
    if place and line is None:
        line = text.rstrip().count("\n") + 1 if text.strip() else None
    what = message[: place.start()] if place else message
    for pattern, words in _TOML_WORDS:
        if re.match(pattern, what):
            return line, words
    return line, f"is not valid TOML: {what}"


def _details(error: ValidationError) -> Iterator[Mapping[str, Any]]:
    """What pydantic found, one by one; of many, without what it was given."""
    if error.error_count() <= _MOST_LISTED:
        yield from error.errors(include_url=False)
        return
    listed = error.json(include_url=False, include_input=False)
    decoder, at = json.JSONDecoder(), 1
    while at < len(listed):
        detail, at = decoder.raw_decode(listed, at)
        yield detail
        at += 1  # past the comma, or the bracket that ends the list


def _found_in_data(
    location: Sequence[int | str], data: Mapping[str, Any]
) -> tuple[FieldPath, object]:
    """The path of a place as far as the data has it, and what is there."""
    path: list[int | str] = []
    here: Any = data
    for index, part in enumerate(location):
        last = index == len(location) - 1
        if _has(here, part):
            path.append(part)
            here = here[part]
        elif last and path and part == "[key]":
            here = path[-1]
        elif last and isinstance(here, Mapping) and isinstance(part, str):
            path.append(part)
    return tuple(path), here


def _has(data: Any, part: int | str) -> bool:
    if isinstance(data, list | tuple):
        return isinstance(part, int) and part < len(data)
    return isinstance(data, Mapping) and part in data


def _one_of(expected: str, value: object) -> str:
    allowed = re.findall(r"'([^']*)'", expected) or [expected]
    names = ", ".join(f'"{name}"' if f"'{name}'" in expected else name for name in allowed)
    return f"must be {'one of ' if len(allowed) > 1 else ''}{names}, but is {shown(value)}"


def _pattern(value: object, context: Mapping[str, Any]) -> str:
    known = {
        r"^[a-z0-9]+(-[a-z0-9]+)*\Z": "lower-case letters, digits and single hyphens between them",
        r"^[0-9a-z][0-9a-z-]{0,63}\Z": "1 to 64 lower-case letters, digits and hyphens",
    }
    form = context["pattern"].removeprefix("^").removesuffix(r"\Z")
    allowed = known.get(context["pattern"], f"of the form {form}")
    return f"must be {allowed}, but is {shown(value)}"


def _text_too_short(value: object, context: Mapping[str, Any]) -> str:
    if not value:
        return "must not be empty"
    return f"must have at least {context['min_length']} characters"


_TABLE = "must be a table with fields of its own, but is {value}"
_NUMBER = "must be a number, written without quotes, but is {value}"
_WHOLE = "must be a whole number, written without quotes, but is {value}"
_YES_NO = "must be true or false, written without quotes, but is {value}"
_MOMENT = "must be a date and time such as 2026-03-02T09:15:00+01:00, but is {value}"
_ARRAY = "must be an array in [brackets] or tables in [[double]] ones, but is {value}"

_WORDS: dict[str, str | Callable[[Any, Mapping[str, Any]], str]] = {
    "missing": "is missing; it must be given",
    "extra_forbidden": "is not a known field here; check the spelling",
    "literal_error": lambda value, context: _one_of(context["expected"], value),
    "union_tag_invalid": lambda _value, context: _one_of(context["expected_tags"], context["tag"]),
    "union_tag_not_found": "is missing; it says which fields belong here",
    "string_pattern_mismatch": _pattern,
    "string_too_short": _text_too_short,
    "string_too_long": "must have at most {max_length} characters",
    "greater_than": "must be more than {gt} but is {value}",
    "greater_than_equal": "must be at least {ge} but is {value}",
    "less_than": "must be less than {lt} but is {value}",
    "less_than_equal": "must be at most {le} but is {value}",
    "finite_number": "must be an ordinary number, but is {value}",
    "int_parsing": _WHOLE,
    "int_type": _WHOLE,
    "int_from_float": _WHOLE,
    "int_parsing_size": _WHOLE,
    "float_parsing": _NUMBER,
    "float_type": _NUMBER,
    "bool_parsing": _YES_NO,
    "bool_type": _YES_NO,
    "string_type": 'must be text in "quotes", but is {value}',
    "tuple_type": _ARRAY,
    "list_type": _ARRAY,
    "dict_type": _TABLE,
    "model_type": _TABLE,
    "model_attributes_type": _TABLE,
    "datetime_type": _MOMENT,
    "datetime_parsing": _MOMENT,
    "datetime_from_date_parsing": _MOMENT,
    "timezone_aware": "needs its offset from UTC, such as +01:00",
    "too_short": "must have at least {min_length} in it",
    "too_long": "must have at most {max_length} in it",
    "value_error": lambda _value, context: str(context["error"]),
}
"""What is said of each kind of mistake pydantic finds, of a value and what it should have been."""

_TOML_WORDS = (
    (r"Expected '=' after a key", "a line here needs the form  name = value"),
    (
        r"Invalid value",
        'the value is missing, or is text without "quotes"; yes and no are true and false',
    ),
    (r"Invalid statement", "a line here needs the form  name = value  or  [table]"),
    (r"Invalid initial character for a key", "a name is missing, or has a character it may not"),
    (r"Cannot overwrite a value|Duplicate inline table key", "the same name is given twice"),
    (
        r"Cannot (declare|redefine)|Cannot mutate",
        "the same table is begun twice, or a name is both a value and a table",
    ),
    (
        r"Unterminated string|Illegal character '\\n'|Expected \"|Expected '''",
        "a text, here or further up, is not closed with its quotation mark",
    ),
    (r"Illegal character|Found invalid character", "there is a control character; take it out"),
    (r"Unescaped '\\'", r"a backslash in text is written twice: \\"),
    (r"Escaped character is not|Invalid hex value", r"a \u in text names no character"),
    (r"Unclosed array", "an array is not closed; a comma or a ] is missing"),
    (r"Unclosed inline table", "an inline table is not closed; a comma or a } is missing"),
    (
        r"Expected newline or end of document",
        "there is more on this line than one value; begin a new line",
    ),
    (r"Expected ']", "a table name is not closed with its bracket"),
    (r"Invalid date", "there is no such date or time"),
    (r"Exceeds the limit", "a number has too many digits"),
)
