"""One thing has one name, in plain words: no string shown to people holds a banned one.

Read are the texts of the program, of its data and of its demo sessions, the README and the guides.
A word with a plain sense as well is let pass where `PLAIN` knows that sense.
"""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

BANNED = {
    r"told|tells? apart|told apart": "write, name, show, report; separate",
    r"said": "stated, named; answered",
    r"stands|stood": "is",
    r"whoever": "anybody who, a patient who",
    r"what was": "name it: the trial, the values, the findings",
    r"lies|lay": "is",
    r"(go|goes|going|gone) on": "continue, resume; progress when, progress to",
    r"withheld|withholds?": "not offered",
    r"bad side": "worse than the cut-off",
    r"would settle|most per minute": "most useful next tests",
    r"short of the line|near the line|the line it|published lines?": "cut-off",
    r"standings?": "result",
    r"weighs|weighed|weighty|weight of (a|the) finding": "count, rank",
    r"screens?|screened": "session; test",
    r"batter(y|ies)": "test set",
    r"clients?": "patient",
    r"labels?": "patient code",
    r"re-tests?|re-tested|test again": "retest; repeat with a cue",
    r"struck|strikes?|struck-out": "void",
    r"(take|takes|taken|took) \w+ back|take back": "undo",
    r"keeps? (a|the|this) trial|kept trials?|trial is kept": "save",
    r"sound (leg|side|knee|foot|one)": "uninvolved",
    r"options": "preferences, choices",
    r"speaks? (for|against)": "finding for, finding against",
    r"last degrees of extension|face down|half in front|brittle|weak defence|clots?": "the "
    "clinician's word: terminal knee extension, prone, semi-tandem, osteoporosis, "
    "immunosuppression, deep vein thrombosis",
    r"belt level": "hips level",
    r"LUKS|FileVault|BitLocker": "full-disk encryption",
}
"""Patterns of whole words, each with what is written instead."""

OF_THE_PROGRAM = {r"kept|keeps|to keep it": "save"}
"""Banned in what the program itself says; a patient keeps the heel down."""

PLAIN = {
    r"(chair|[Ff]ive|full|practice|the|of 8) stands|Stands in 30 s": "rises from a chair",
    r"stands? (done|in 30 s|slow)": "rises from a chair",
    r"(patient|who) stands|Still stands|Stands still": "on the feet",
    r"stood for less than": "on the feet",
    r"[Ss]tanding (at|behind|and|leg|foot|heel-rise|balance|tests|start|work|is)": "posture",
    r"(in|to|of) standing": "posture",
    r"you were told|surgeon told you": "what a surgeon told a patient, on the patient's sheet",
    r"screen-tui|SCREEN_TUI": "the name of the program",
    r"(on|of|upset|lines of|when) the screen|Lock the screen": "the glass",
    r"face down": "plain words of the patient's sheet",
    r"half in front": "plain words of the patient's sheet",
}
"""Senses that are meant, each with what it is."""

VALUES = ("near the line", "short of the line")
"""Values of a field in files, which are not renamed; what is shown for them has other words."""

IDS = (
    "battery", "client", "clients", "clot", "label", "said", "standing", "told", "withhold",
)  # fmt: skip
"""Fields of files and ids in the code, which nobody is shown; other single words may be shown."""

SPEECH = {"says", "only_when_asked"}
"""Keys of what a simulated patient says, in a person's own words."""


def of_code(path: Path) -> Iterator[tuple[int, str]]:
    """The strings of a module that are not docstrings; of one with places, with {} for each."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    skip = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            skip.add(node.value)
        if isinstance(node, ast.JoinedStr):
            skip.update(one for one in node.values if isinstance(one, ast.Constant))
            parts = (
                str(one.value) if isinstance(one, ast.Constant) else "{}" for one in node.values
            )
            yield node.lineno, "".join(parts)
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in skip:
            yield node.lineno, node.value


def of_keys(path: Path) -> Iterator[tuple[int, str]]:
    """What a module calls its keys on the line of keys, single words as well."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "KeyHint":
            for text in node.args[1:2]:
                if isinstance(text, ast.Constant):
                    yield node.lineno, str(text.value)


def of_data(value: object) -> Iterator[str]:
    """The texts in a TOML file."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, one in value.items():
            if key not in SPEECH:
                yield from of_data(one)
    elif isinstance(value, list):
        for one in value:
            yield from of_data(one)


def shown() -> Iterator[tuple[str, str]]:
    """Each text that people read, with its place; a single word too, but for the ids."""
    for path in sorted((ROOT / "screen_tui").rglob("*.py")):
        place = path.relative_to(ROOT).as_posix()
        for line, text in of_code(path):
            if text not in IDS and re.fullmatch(r"[a-z-]+|.*[ A-Z].*", text, re.DOTALL):
                yield f"{place}:{line}", text
        for line, text in of_keys(path):
            yield f"{place}:{line}", text
    for folder in ("protocols", "demo_sessions"):
        for path in sorted((ROOT / folder).rglob("*.toml")):
            for text in of_data(tomllib.loads(path.read_text(encoding="utf-8"))):
                if " " in text and not text.startswith("http"):
                    yield path.relative_to(ROOT).as_posix(), text
    pages = [ROOT / "README.md", ROOT / "protocols" / "pitfalls.md"]
    for path in [*pages, *sorted((ROOT / "screen_tui" / "guides").glob("*.md"))]:
        text = re.sub(r"```.*?```", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        for block in text.split("\n\n"):
            yield path.relative_to(ROOT).as_posix(), " ".join(block.split())


def banned_in(text: str, *, of_the_program: bool = False) -> list[str]:
    """The banned words of a text, where they are not meant in a plain sense or quoted as code."""
    text = "" if text in VALUES else re.sub(r"`[^`]*`", "", text)
    for sense in PLAIN:
        text = re.sub(rf"\b({sense})\b", "", text)
    banned = {**BANNED, **(OF_THE_PROGRAM if of_the_program else {})}
    return [
        f"{found.group()!r}: {instead}"
        for pattern, instead in banned.items()
        for found in re.finditer(rf"(?<![\w-])({pattern})(?![\w-])", text, re.IGNORECASE)
    ]


def test_nothing_shown_to_people_holds_a_banned_word() -> None:
    found = [
        f"{place}: {word} in {text!r}"
        for place, text in shown()
        for word in banned_in(text, of_the_program=".py:" in place)
    ]
    assert not found, "\n".join(found)


def test_every_plain_sense_is_in_use() -> None:
    texts = [text for _, text in shown()]
    unused = [sense for sense in PLAIN if not any(re.search(sense, one) for one in texts)]
    assert unused == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("The reason stands in the note.", ["stands"]),
        ("What was measured lies beside it.", ["What was", "lies"]),
        ("Go on with the client; the screen was stopped.", ["Go on", "screen", "client"]),
        ("Strike the trial out, or take it back.", ["Strike", "take it back"]),
        ("The label is near the line.", ["near the line", "label"]),
        ("withheld", ["withheld"]),
    ],
)
def test_a_banned_word_is_found(text: str, words: list[str]) -> None:
    assert sorted(one.split("'")[1] for one in banned_in(text)) == sorted(words)


def test_what_is_saved_is_not_kept() -> None:
    assert banned_in("Enter keeps it; it was kept.", of_the_program=True)
    assert not banned_in("The last two hard with the form kept.")


def test_every_id_is_in_use() -> None:
    modules = (ROOT / "screen_tui").rglob("*.py")
    texts = {text for path in modules for _, text in of_code(path)}
    assert set(IDS) <= texts


@pytest.mark.parametrize(
    "text",
    [
        "Five chair stands; the patient stands still.",
        "Standing at a rail, hands on it; standing is allowed.",
        "If you have a brace, keep it on as you were told.",
        "screen-tui: the keys are on the screen.",
    ],
)
def test_a_plain_sense_is_let_pass(text: str) -> None:
    assert banned_in(text) == []


def test_code_data_and_pages_are_all_read() -> None:
    places = {place.partition(":")[0] for place, _ in shown()}
    for one in ("screen_tui/cli/main.py", "protocols/safety.toml", "README.md"):
        assert one in places
    assert any(place.startswith("demo_sessions/practice/") for place in places)
    assert sum(place.startswith("screen_tui/guides/") for place in places) > 10
