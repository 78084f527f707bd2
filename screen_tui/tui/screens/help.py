"""Help: how a test is done, what keeps the person safe, when to stop, and where it comes from."""

from __future__ import annotations

from collections.abc import Sequence

from screen_tui.protocol.cells import rows_of
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.trial.keymap import KEYMAP
from screen_tui.tui.drawing.rows import BLANK, Row, Span, bulleted, paragraph, row, rule
from screen_tui.tui.drawing.words import NOT_A_DIAGNOSIS, short_source
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head


class HelpScreen(BaseScreen[None]):
    """Shows help on one test, or on the program when no test is given."""

    def __init__(self, protocol: ScreenProtocol, test: TestSpec | None = None) -> None:
        super().__init__()
        self.protocol = protocol
        self.test = test

    def head(self) -> tuple[Row, Row]:
        return screen_head("Help", self.test.name if self.test else "")

    def draw(self, width: int, height: int) -> Drawn:
        del height
        if self.test is None:
            return Drawn(draw_help(self.protocol, width))
        return Drawn(draw_test_help(self.protocol, self.test, width))

    def hints(self) -> Sequence[KeyHint]:
        return (KeyHint("b", "back", 0, self.go_back, also=("?", "enter", "backspace")),)


_KEYS = (
    *KEYMAP.help(),
    ("o", "on Start: your preferences, such as bell, flash and theme"),
)


def draw_help(protocol: ScreenProtocol, width: int) -> list[Row]:
    """Help on the program."""
    rows = [rule(width, "The way through")]
    rows += paragraph(
        "Start, then Before testing, then the tests one by one, then Result and Note. Every change "
        "is saved at once; an unfinished screen can be resumed from Start.",
        width,
    )
    rows += [BLANK, rule(width, "Keys")]
    rows += _keys(width)
    rows += [BLANK, rule(width, "Stop at once"), *_stop_rules(protocol, width)]
    rows += [BLANK, rule(width, "Mind")]
    rows += paragraph(NOT_A_DIAGNOSIS, width)
    rows += paragraph(
        "A press counts at the moment it reaches this program, not when it is drawn. A key held "
        "down counts once.",
        width,
    )
    return rows


def draw_test_help(protocol: ScreenProtocol, test: TestSpec, width: int) -> list[Row]:
    """Help on one test: set-up, words, end, safety, signs, cues, stop rules, lines and sources."""
    how = test.instructions
    rows = paragraph(test.name, width, "strong") + paragraph(test.asks, width)
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
        ("Lines", _lines(protocol, test, width)),
    ]
    for label, part in sections:
        if part:
            rows += [BLANK, rule(width, label), *part]
    rows += [BLANK, rule(width, "Sources"), *bulleted(_sources(protocol, test), width)]
    return rows


def _keys(width: int) -> list[Row]:
    return [
        line
        for key, does in _KEYS
        for line in paragraph(does, width, first=row(Span(f" {key:<10}", "strong")))
    ]


def _signs(protocol: ScreenProtocol, test: TestSpec, width: int) -> list[Row]:
    rows: list[Row] = []
    for sign in sorted(map(protocol.sign, test.signs), key=lambda one: one.digit):
        rows += paragraph(
            f"{sign.label}: {sign.seen_as}", width, first=row(Span(f" {sign.digit} ", "key"), " ")
        )
    return rows


def _lines(protocol: ScreenProtocol, test: TestSpec, width: int) -> list[Row]:
    if not test.lines:
        text = test.not_judged_because or "no published cut-off is used"
        return paragraph(text, width)
    return bulleted(
        (
            f"{line.meaning} ({line.kind}; {short_source(protocol, line.source)})"
            for line in test.lines
        ),
        width,
    )


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
