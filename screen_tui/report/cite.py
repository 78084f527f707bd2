"""How the source of a fact is named: in a few words on a page, by number under a note."""

from __future__ import annotations

from screen_tui.protocol.knowledge import Source
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.document import Line, Section
from screen_tui.report.layout import Cite
from screen_tui.report.words import UNVERIFIED, authors_of, short_source


def in_words(protocol: ScreenProtocol) -> Cite:
    """First author and year, as a page of the screen names a source."""

    def cite(source_id: str) -> str:
        text = short_source(protocol, source_id)
        return f"[{text}]" if text == UNVERIFIED else f"({text})"

    return cite


class Numbered:
    """Gives each source a number when it is first cited."""

    def __init__(self, protocol: ScreenProtocol) -> None:
        self._protocol = protocol
        self._numbers: dict[str, int] = {}

    def __call__(self, source_id: str) -> str:
        """``[3]``, or ``[3, clinical judgement]`` where the source is not a published one."""
        number = self._numbers.setdefault(source_id, len(self._numbers) + 1)
        source = self._protocol.known_source(source_id)
        mark = _mark(source) if source else ""
        return f"[{number}, {mark}]" if mark else f"[{number}]"

    def section(self) -> Section:
        return Section(
            tuple(
                Line(_entry(source_id, self._protocol.known_source(source_id)), mark=f"[{number}]")
                for source_id, number in self._numbers.items()
            ),
            "Sources",
        )


def _mark(source: Source) -> str:
    if source.provenance == "published":
        return ""
    return UNVERIFIED if source.provenance == "from memory" else source.provenance


def _entry(source_id: str, source: Source | None) -> str:
    if source is None:
        return f"{source_id}: the test set at hand does not describe this source."
    text = source.title
    if source.journal:
        who = f"{authors_of(source)} {source.year}. ".lstrip()
        text = f"{who}{source.title}. {source.journal}."
    return f"{text} [{_mark(source)}]" if _mark(source) else text
