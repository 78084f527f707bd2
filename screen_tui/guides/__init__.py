"""The guides: one short Markdown file for each topic, beside this module."""

from __future__ import annotations

from pathlib import Path

from screen_tui.errors import NotFoundError
from screen_tui.files.reasons import no_such
from screen_tui.trial.keymap import KEYMAP

TOPICS = {
    "start": "begin and resume; the keys of every page",
    "before-testing": "safety questions, history, which tests follow",
    "tests": "the timers, the signs, and all keys at a test",
    "answer": "the drivers, how they are ranked, the plan",
    "note": "the note, the patient's sheet, addenda",
    "visits": "retests, and what changed between visits",
    "exports": "a table of results, and HL7 FHIR",
    "files": "what is saved, and where",
    "privacy": "who can read what, and what is up to you",
    "preferences": "bell, theme, layout, a clinic's own folders",
    "practice": "simulated patients for students",
    "teacher": "write a practice case",
    "class": "practice for a class: codes, lists, one table",
    "protocols": "the sources of figures; a clinic's own tests",
}
"""The topics in the order they are listed, each with what it is about."""

_FOLDER = Path(__file__).parent
_KEYS, _COLUMNS = "(the table of keys)", "(the table of columns)"
"""Where a guide has a table that is made from what the program does."""


def guide(topic: str) -> str:
    """The guide on a topic, as Markdown.

    Raises:
        NotFoundError: There is none on that.
    """
    if topic not in TOPICS:
        raise NotFoundError(f"{no_such(topic, 'topic', TOPICS)} (screen-tui help lists them)")
    text = (_FOLDER / f"{topic}.md").read_text(encoding="utf-8").replace(_KEYS, key_table())
    return text.replace(_COLUMNS, _column_table()) if _COLUMNS in text else text


def key_table() -> str:
    """The keys at a test, as a Markdown table."""
    rows = [
        f"| {' '.join(f'`{key}`' for key in keys.split())} | {does} |"
        for keys, does in KEYMAP.help()
    ]
    return "\n".join(("| at a test | what it does |", "|---|---|", *rows))


def _column_table() -> str:
    # It brings the models along, which no other topic needs.
    from screen_tui.report.table import COLUMNS

    rows = [f"| `{name}` | {meaning} |" for name, meaning in COLUMNS.items()]
    return "\n".join(("| column | meaning |", "|---|---|", *rows))
