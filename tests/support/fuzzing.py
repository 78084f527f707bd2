"""Files made wrong on purpose: real ones changed, broken ones, and noise."""

from __future__ import annotations

import copy
import math
import tomllib
from collections import Counter
from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import Any

import tomli_w
from hypothesis import strategies as st

GIVEN: Counter[str] = Counter()
"""How many files were given to the program, and what became of them; told after the run."""


def _nested(depth: int) -> Any:
    value: Any = "deep"
    for level in range(depth):
        value = [value] if level % 2 else {"a": value}
    return value


_EAST, _WEST = timezone(timedelta(hours=14)), timezone(timedelta(hours=-12))

_VALUES: list[Any] = [
    True,
    False,
    0,
    1,
    -1,
    7,
    2**31,
    2**63,
    2**64,
    -(10**30),
    10**400,
    0.0,
    -0.0,
    0.1,
    1e-320,
    1e308,
    math.nan,
    math.inf,
    -math.inf,
    "",
    " ",
    "x",
    "left",
    "none",
    "pain",
    "nan",
    "7",
    "x" * 41,
    "x" * 10_000,
    "[/]",
    "[link=http://x]y[/link]",
    "[not a tag]",
    "\x00",
    "\x1b]0;t\x07",
    "a\nb",
    "\u202eabc",
    "\U0001f9b5\u0301",
    "../../etc/passwd",
    "~nobody-here/x",
    date(2026, 3, 2),
    time(9, 15),
    datetime(2026, 3, 2, 9, 15),  # noqa: DTZ001  (a moment without its offset is what is meant)
    datetime(1, 1, 1, tzinfo=_EAST),
    datetime(9999, 12, 31, 23, 59, 59, tzinfo=_WEST),
    datetime(1970, 1, 1, tzinfo=UTC),
    [],
    {},
    [[]],
    [{}],
    [0, "a"],
    ["x"] * 3,
    [0.5, 0.4],
    {"a": 1},
    {"": {"": {}}},
    _nested(15),
    _nested(60),
]

# A copy, since what is put into a file is changed further.
_VALUE = st.sampled_from(_VALUES).map(copy.deepcopy)

_LITERALS = [
    "0x" + "f" * 6000,
    "9" * 6000,
    "1e999",
    "-nan",
    "0o17",
    "1_000",
    "2026-02-30",
    "2026-13-01T25:61:00Z",
    "07:32:00",
    '"\\u0000"',
    '"\\ud800"',
    '"\\q"',
    '"not closed',
    "'''",
    '"""a\n\n"""',
    "[" * 300,
    "[" * 300 + "]" * 300,
    "{a = " * 40 + "1" + "}" * 40,
    "{a = 1, a = 2}",
    "[1, 2,, 3]",
    "",
    "yes",
    "+1",
    "1.",
]

_CUTS = st.integers(min_value=0, max_value=1_000_000)


def _paths(data: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = [path] if path else []
    items = data.items() if isinstance(data, dict) else enumerate(data)
    for key, value in items:
        if isinstance(value, dict | list):
            found += _paths(value, (*path, key))
        else:
            found.append((*path, key))
    return found


@st.composite
def wrong_contents(draw: st.DrawFn, texts: tuple[str, ...]) -> bytes:
    """Valid TOML: a real file with some of its contents dropped, exchanged or added."""
    data = copy.deepcopy(tomllib.loads(draw(st.sampled_from(texts))))
    for _ in range(draw(st.integers(1, 3))):
        paths = _paths(data)
        if not paths:
            break
        *way, last = draw(st.sampled_from(paths))
        around: Any = data
        for key in way:
            around = around[key]
        match draw(st.sampled_from(["drop", "exchange", "exchange", "exchange", "add", "twice"])):
            case "drop":
                del around[last]
            case "exchange":
                around[last] = draw(_VALUE | st.text(max_size=50))
            case "add" if isinstance(around, dict):
                name = draw(st.sampled_from(["sneaky", "", "a.b", "\u202e", "k" * 5000, "note"]))
                around[name] = draw(_VALUE)
            case "twice" if isinstance(around, list):
                around.append(copy.deepcopy(around[last]))
    try:
        return tomli_w.dumps(data).encode("utf-8", "surrogatepass")
    except (TypeError, ValueError, RecursionError):
        # What cannot be written as TOML is no such file.
        return b"format = 1\n"


@st.composite
def broken_text(draw: st.DrawFn, texts: tuple[str, ...]) -> bytes:
    """A real file cut, with bytes exchanged, with lines moved, or in another encoding."""
    content = draw(st.sampled_from(texts)).encode()
    for _ in range(draw(st.integers(1, 3))):
        at = draw(_CUTS) % (len(content) + 1)
        match draw(st.sampled_from(["cut", "flip", "insert", "take out", "value", "line", "code"])):
            case "cut":
                content = content[:at]
            case "flip" if at < len(content):
                flipped = content[at] ^ (1 << draw(st.integers(0, 7)))
                content = content[:at] + bytes([flipped]) + content[at + 1 :]
            case "insert":
                content = content[:at] + draw(st.binary(max_size=6)) + content[at:]
            case "take out":
                content = content[:at] + content[at + draw(st.integers(1, 40)) :]
            case "value":
                content = _with_literal(content, at, draw(st.sampled_from(_LITERALS)))
            case "line":
                lines = content.split(b"\n")
                lines.insert(at % len(lines), lines[draw(_CUTS) % len(lines)])
                content = b"\n".join(lines)
            case "code":
                content = _recoded(content, draw(st.sampled_from(sorted(_CODES))))
    return content


def _with_literal(content: bytes, at: int, literal: str) -> bytes:
    lines = content.split(b"\n")
    line = at % len(lines)
    lines[line] = lines[line].split(b"=")[0] + b"= " + literal.encode()
    return b"\n".join(lines)


_CODES = {
    "byte order mark": lambda text: text.encode("utf-8-sig"),
    "UTF-16": lambda text: text.encode("utf-16"),
    "UTF-16 without a mark": lambda text: text.encode("utf-16-be"),
    "UTF-32": lambda text: text.encode("utf-32"),
    "Latin-1": lambda text: text.encode("latin-1", "replace") + b"\xe9",
    "line ends of Windows": lambda text: text.replace("\n", "\r\n").encode(),
    "line ends of old": lambda text: text.replace("\n", "\r").encode(),
    "no lines": lambda text: text.replace("\n", " ").encode(),
    "a long line": lambda text: (text + "# " + "x" * 200_000).encode(),
    "a long text": lambda text: (text + '\nz = "' + "x" * 200_000 + '"').encode(),
    "many lines": lambda text: ("\n" * 50_000 + text).encode(),
}


def _recoded(content: bytes, name: str) -> bytes:
    return _CODES[name](content.decode("utf-8", "replace"))


def noise() -> st.SearchStrategy[bytes]:
    """What never was a file of ours."""
    signs = st.sampled_from([*"abz_09 .,=#-+:TZ[]{}\"'\\\n\t\r", "[[", "]]", '"""', "'''"])
    return st.binary(max_size=200) | st.lists(signs, max_size=60).map(
        lambda parts: "".join(parts).encode()
    )


def wrong_files(*texts: str) -> st.SearchStrategy[bytes]:
    """Contents of a file that began as one of the texts, or never was one."""
    return wrong_contents(texts) | wrong_contents(texts) | broken_text(texts) | noise()
