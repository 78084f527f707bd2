"""Help: the guides, opened at the one on the page at hand; at a test, how that is done."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from rich.cells import chop_cells

from screen_tui.guides import TOPICS, guide
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec, rows_of
from screen_tui.report.words import short_source
from screen_tui.trial.keymap import KEYMAP
from screen_tui.tui.drawing.rows import (
    BLANK,
    Choice,
    Row,
    Span,
    bulleted,
    paragraph,
    row,
    rule,
    section,
    stacked,
)
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head
from screen_tui.tui.screens.list import PickScreen


class HelpScreen(BaseScreen[None]):
    """Shows how a test is done, or the guide on a topic.

    Args:
        test: The test at hand; None shows the guide on the page below.
    """

    def __init__(self, test: TestSpec | None = None) -> None:
        super().__init__()
        self.test = test
        self.topic = ""

    def on_mount(self) -> None:
        if self.test is None:
            below = [one for one in self.host.screen_stack[:-1] if isinstance(one, BaseScreen)]
            self.topic = next((one.GUIDE for one in reversed(below) if one.GUIDE), "start")
        super().on_mount()

    def head(self) -> tuple[Row, Row]:
        return screen_head("Help", self.topic or (self.test.name if self.test else ""))

    def draw(self, width: int, height: int) -> Drawn:
        if self.test is not None and not self.topic:
            return Drawn(draw_test_help(self.host.protocol, self.test, width))
        rows = draw_guide(guide(self.topic), width)
        if self.topic == "start":
            rows += [BLANK, rule(width, "Stop at once"), *_stop_rules(self.host.protocol, width)]
        return Drawn(rows)

    def hints(self) -> Sequence[KeyHint]:
        return (
            KeyHint("t", "topics", 0, self._choose_topic),
            KeyHint("b", "back", 0, self.go_back, also=("?", "q", "enter", "backspace")),
        )

    def _choose_topic(self) -> None:
        picks = [
            (Choice("", str(at) if at < 10 else "", f"{topic}: {about}"), topic)
            for at, (topic, about) in enumerate(TOPICS.items(), start=1)
        ]
        at = list(TOPICS).index(self.topic) if self.topic else 0
        page = PickScreen("Help: topics", picks, at, "read", back=("q", "?"))
        self.host.ask(page, self._show_topic)

    def _show_topic(self, topic: str) -> None:
        self.topic = topic
        self.scroll("home")
        self.redraw()


def draw_test_help(protocol: ScreenProtocol, test: TestSpec, width: int) -> list[Row]:
    """Help on one test: set-up, words, end, safety, signs, cues, stop rules, lines and sources."""
    how = test.instructions
    sections: list[tuple[str, list[Row]]] = [
        ("Safety", paragraph(how.safety, width)),
        ("Set up", bulleted(how.setup, width)),
        ("Say", paragraph(f"“{how.say}”", width)),
        ("It ends when", bulleted(how.ends_when, width)),
        ("Signs to watch for", _signs(protocol, test, width)),
        ("Keys", _keys(width)),
        ("Stop at once", _stop_rules(protocol, width)),
        ("Record", bulleted(how.record, width)),
        ("Equipment", bulleted(how.equipment, width)),
        ("Cues for a repeat", bulleted((f"{cue.id}: {cue.say}" for cue in test.cues), width)),
        ("Cut-offs", _lines(protocol, test, width)),
        ("Sources", bulleted(_sources(protocol, test), width)),
    ]
    first = [*paragraph(test.name, width, "strong"), *paragraph(test.asks, width)]
    return stacked([first, *(section(label, part, width) for label, part in sections)])


def _keys(width: int) -> list[Row]:
    return [
        line
        for key, does in KEYMAP.help()
        for line in paragraph(does, width, first=row(Span(f" {key:<10}", "strong")))
    ]


def _signs(protocol: ScreenProtocol, test: TestSpec, width: int) -> list[Row]:
    signs = sorted(map(protocol.sign, test.signs), key=lambda one: one.digit)
    heads = [row(Span(f" {sign.digit} ", "key"), " ") for sign in signs]
    return [
        line
        for sign, head in zip(signs, heads, strict=True)
        for line in paragraph(f"{sign.label}: {sign.seen_as}", width, first=head)
    ]


def _lines(protocol: ScreenProtocol, test: TestSpec, width: int) -> list[Row]:
    if not test.lines:
        return paragraph(test.not_judged_because or "no published cut-off is used", width)
    sources = (short_source(protocol, line.source) for line in test.lines)
    lines = zip(test.lines, sources, strict=True)
    return bulleted((f"{one.meaning} ({one.kind}; {source})" for one, source in lines), width)


def _stop_rules(protocol: ScreenProtocol, width: int) -> list[Row]:
    texts = (f"{one.text} ({short_source(protocol, one.source)})" for one in protocol.stop_rules)
    return bulleted(texts, width)


def _sources(protocol: ScreenProtocol, test: TestSpec) -> list[str]:
    wanted = {
        test.instructions.source,
        *(line.source for line in test.lines),
        *(reference.source for reference in test.references),
        *(error.source for error in test.errors),
        *(row.source for _place, _name, row in rows_of(test)),
    }
    return [source.citation for source in protocol.sources if source.id in wanted]


# A guide drawn as rows: the little Markdown that the guides are written in.

_MARKS = re.compile(r"\*\*|`")
_ITEM = re.compile(r"^(- |\d+\. )", re.MULTILINE)
_WIDEST_HEAD = 22
"""Columns of the first cell of a table; a wider one is on a line of its own."""


def draw_guide(text: str, width: int) -> list[Row]:
    """Draw headings, paragraphs, lists, tables of two columns and code.

    The first heading is left out, since the head of the page says it.
    """
    return stacked(_parts(text, width))


def _parts(text: str, width: int) -> Iterator[list[Row]]:
    for number, part in enumerate(re.split(r"^```\w*\n", text, flags=re.MULTILINE)):
        if number % 2:
            pieces = (chop_cells(line, width) or [""] for line in part.splitlines())
            yield [row(Span(piece, "strong")) for line in pieces for piece in line]
            continue
        for block in re.split(r"\n\s*\n", part.strip()):
            if not block.startswith("# "):
                yield _block(block, width) if block else []


def _block(block: str, width: int) -> list[Row]:
    lines = block.splitlines()
    if block.startswith("## "):
        return [rule(width, block.removeprefix("## "))]
    if block.startswith("|"):
        return _table([line.strip("| ").split(" | ", 1) for line in lines[2:]], width)
    if _ITEM.match(block):
        return _list(block, width)
    return paragraph(_plain(block), width)


def _table(cells: Sequence[Sequence[str]], width: int) -> list[Row]:
    firsts = [_plain(first) for first, _ in cells]
    column = min(max(map(len, firsts)), _WIDEST_HEAD) + 2
    heads = [row(Span(f" {first:<{column}}", "strong")) for first in firsts]
    return [
        made
        for head, (_, second) in zip(heads, cells, strict=True)
        for made in paragraph(_plain(second), width, first=head, indent=column + 1)
    ]


def _list(block: str, width: int) -> list[Row]:
    _, *parts = _ITEM.split(block)
    return [
        made
        for mark, text in zip(parts[::2], parts[1::2], strict=True)
        for made in paragraph(_plain(text), width, first=row(mark))
    ]


def _plain(text: str) -> str:
    """The text without the marks of Markdown, which a terminal does not need."""
    return " ".join(_MARKS.sub("", text).split())
