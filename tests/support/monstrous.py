"""Files made to take long or much memory: of every kind there is, and of none."""

from __future__ import annotations

from collections.abc import Callable, Mapping

SESSION = """\
format = 3
id = "monstrous"
protocol = "chairside-knee"
started = 2026-03-02T09:15:00+01:00
client = { label = "DEMO", age = 67, sex = "female" }
"""
TEST = 'id = "monstrous"\nname = "Monstrous"\ntimer = 1\n'
DRAFT = """\
format = 1
protocol = "chairside-knee"
questions = "x"
begun = 2026-03-02T09:15:00+01:00
at = "age"
"""
CASE = 'practice_case = 1\nid = "monstrous"\ntitle = "Monstrous"\nstory = "Long."\n'

LARGEST = 3_900_000
"""Bytes just below what is read at all."""


def _filled(start: str, piece: str, end: str = "") -> str:
    """As large as a file may be, by repeating a piece; ``#`` in it is the number of the piece."""
    if "#" not in piece:
        return start + piece * ((LARGEST - len(start) - len(end)) // len(piece)) + end
    return _many(start, piece, LARGEST // (len(piece) + 6 * piece.count("#")), end)


def _many(start: str, piece: str, times: int, end: str = "") -> str:
    return start + "".join(piece.replace("#", str(number)) for number in range(times)) + end


_TEXTS: Mapping[str, Callable[[], str]] = {
    # What the parser takes long for.
    "names": lambda: _filled("", "k# = 1\n"),
    "numbers": lambda: _filled("a = [", "1,", "]"),
    "broken at the end": lambda: _filled("a = [", "0.25,", "]\nb"),
    "tables": lambda: _filled("", "[t#]\n"),
    "array of tables": lambda: _filled("", "[[t]]\n"),
    "inline tables": lambda: _filled("a = [", "{},", "]"),
    "nested arrays": lambda: _filled("a = [", "[[[[[[[[[[]]]]]]]]]],", "]"),
    "endless arrays": lambda: "a = " + "[" * LARGEST,
    "endless tables": lambda: _filled("a = ", "{b = "),
    "dotted names": lambda: _filled("", ".".join(f"a{n}" for n in range(19)) + "# = 1\n"),
    "dotted headers": lambda: _filled("", "[" + ".".join("a#" for _ in range(19)) + "]\n"),
    "short headers": lambda: _filled("", "[a#.b]\n"),
    "endless name": lambda: ".".join("a" * (LARGEST // 2)) + " = 1",
    "endless name without a value": lambda: ".".join("a" * (LARGEST // 2)),
    "digits": lambda: "a = " + "9" * LARGEST,
    "digits after the point": lambda: "a = 1." + "9" * LARGEST,
    "digits of base 16": lambda: "a = 0x" + "f" * LARGEST,
    "digits with lines": lambda: "a = " + "9_" * (LARGEST // 2),
    "spaces": lambda: " " * LARGEST,
    "spaces before a name": lambda: " " * LARGEST + "a = 1 2",
    "tabs in a header": lambda: "[" + "\t" * LARGEST,
    "commas and spaces": lambda: _filled("a = [", ",          "),
    "lines": lambda: "\n" * LARGEST + "a",
    "lines of Windows": lambda: "\r\n" * (LARGEST // 2) + "a",
    "comments": lambda: "#\n" * (LARGEST // 2) + "a",
    "one letter of four bytes": lambda: "# \U0001f9b5\n" + "#a\n" * (LARGEST // 3) + "a",
    "a long text": lambda: SESSION + 'note = "' + "x" * LARGEST + '"\n',
    "a text not closed": lambda: SESSION + 'note = "' + "x" * LARGEST,
    "a text of many lines": lambda: SESSION + 'note = """' + "x\n" * (LARGEST // 2) + '"""\n',
    "a text of escapes": lambda: SESSION + 'note = "' + "\\n" * (LARGEST // 2) + '"\n',
    "a text of quotes": lambda: SESSION + "note = '''" + "''x" * (LARGEST // 3) + "'''\n",
    "a long name": lambda: SESSION + "x" * LARGEST + " = 1\n",
    # Sessions that are TOML and wrong in very many ways.
    "a session of unknown names": lambda: _many(SESSION, "k# = 1\n", 140_000),
    "too many trials": lambda: _many(SESSION, "[[trials]]\n", 70_000),
    "trials of unknown names": lambda: _many(
        SESSION, "[[trials]]\n" + "".join(f"k{n} = 1\n" for n in range(70)), 2_000
    ),
    "trials of wrong signs": lambda: _many(
        SESSION, "[[trials]]\ntest = 'x'\nsigns = [" + "1," * 70 + "]\n", 1_990
    ),
    "trials of unknown signs": lambda: _many(
        SESSION, "[[trials]]\ntest = 'step-down'\nsigns = [" + "'x#'," * 70 + "]\n", 1_990
    ),
    "trials of unknown tests": lambda: _many(SESSION, "[[trials]]\ntest = 'x#'\n", 2_000),
    "one trial of many signs": lambda: (
        SESSION
        + "[[trials]]\ntest = 'x'\nsigns = ["
        + ",".join(f"'s{n}'" for n in range(2_000))
        + "]\n[trials.sign_times]\n"
        + "".join(f"s{n} = 1.0\n" for n in range(70_000))
    ),
    "words on the set-up": lambda: _many(SESSION + "[set_up_said]\n", "k# = []\n", 70_000),
    "addenda": lambda: _many(SESSION + "addenda = [", "{},\n", 140_000, "]\n"),
    "skipped": lambda: _many(SESSION + "skipped = [", "{},\n", 140_000, "]\n"),
    "a thing said that is a number": lambda: SESSION + "stopped = 0x" + "f" * 9_000 + "\n",
    # Files of a protocol, preferences, drafts and practice cases.
    "a test of empty lines": lambda: _many(TEST, "[[lines]]\n[[lines.limits]]\n", 2_000),
    "a test of empty limits": lambda: _many(
        TEST, "[[lines]]\nlimits = [" + "{}," * 80 + "]\n", 230
    ),
    "a test of unknown names": lambda: _many(TEST, "k# = 1\n", 19_000),
    "a test of too many values": lambda: _many(TEST, "k# = 1\n", 140_000),
    "drivers": lambda: _many("", "[[drivers]]\nid = 1\n", 2_000),
    "unknown drivers": lambda: _many(
        "",
        '[[leave_out]]\nid = "l#"\nname = "x"\nwhen = "always"\ndriver = "d#"\nreason = "x"\n'
        'source = "s#"\n',
        2_000,
    ),
    "a battery of unknown tests": lambda: _many(
        'id = "monstrous"\nname = "x"\n',
        '[[items]]\ntest = "t#"\n',
        2_000,
        '[[gates]]\nwithhold = "x"\nafter = "y"\nwhen = { signs_any = ["x"] }\nreason = "x"\n'
        'source = "x"\n' * 200,
    ),
    "preferences": lambda: _many("bell = 1\n", "k# = 1\n", 19_000),
    "preferences of many folders": lambda: _many("protocols = [", '"/none/#",', 19_000, "]\n"),
    "a draft of many answers": lambda: _many(DRAFT + "[answers]\n", "k# = 1.5\n", 19_000),
    "a draft of wrong answers": lambda: _many(DRAFT + "[answers]\n", "k# = [1]\n", 199),
    "a case of many answers": lambda: _many(CASE, "[[said]]\ntruth = {}\n", 2_000),
    "a case of many signs": lambda: _many(
        CASE, '[[shown]]\ntest = "x"\nsigns = [' + "{}," * 60 + "]\n", 290
    ),
}

NAMES = tuple(_TEXTS)


def monstrous(name: str) -> bytes:
    """The contents of a file of that name."""
    return _TEXTS[name]().encode()
