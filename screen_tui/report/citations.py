"""Numbered sources: a number when first cited, and the list under the text."""

from __future__ import annotations

from screen_tui.protocol.knowledge import Source
from screen_tui.protocol.model import Protocol
from screen_tui.report.facts import Fact


class Citations:
    """Gives each source its number, in the order in which sources are first cited."""

    def __init__(self, protocol: Protocol) -> None:
        self._known = {source.id: source for source in protocol.sources}
        self._numbers: dict[str, int] = {}

    def cite(self, source_id: str) -> str:
        """Give ``[3]``, or ``[3, clinical judgement]`` where the source is not a published one."""
        if not source_id:
            return "[no source given]"
        number = self._numbers.setdefault(source_id, len(self._numbers) + 1)
        source = self._known.get(source_id)
        if source is None or source.provenance == "published":
            return f"[{number}]"
        return f"[{number}, {source.provenance}]"

    def told(self, fact: Fact) -> str:
        """Give the text of a fact, followed by its source where it has one."""
        return fact.text if fact.source is None else f"{fact.text} {self.cite(fact.source)}"

    def listed(self) -> list[tuple[int, str]]:
        """Give every source cited so far, with its number, in order."""
        return [(number, self._entry(source_id)) for source_id, number in self._numbers.items()]

    def _entry(self, source_id: str) -> str:
        source = self._known.get(source_id)
        if source is None:
            return f"{source_id}: the protocol at hand does not describe this source."
        return _with_provenance(source)


def _with_provenance(source: Source) -> str:
    entry = source.citation
    if source.provenance == "published":
        entry += " [published]"
    return f"{entry} {source.note}".rstrip()
