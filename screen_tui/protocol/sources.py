"""Where a number comes from."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from screen_tui.fields import Id, Line, MaybeLine, Strict

Provenance = Literal["published", "common practice, no source", "from memory", "clinical judgement"]


class Source(Strict):
    """One source, named once and referred to by its id.

    ``published`` means that the figures taken from it were read in a public page or abstract.
    A source ``from memory`` may be shown as provisional and never judges a result.
    """

    id: Id
    provenance: Provenance
    authors: MaybeLine = ""
    year: Annotated[int, Field(ge=1500, le=2500)] | None = None
    title: Line
    journal: MaybeLine = ""
    note: MaybeLine = ""

    @model_validator(mode="after")
    def _published_is_complete(self) -> Source:
        if self.provenance == "published" and not (self.authors and self.year and self.journal):
            raise ValueError("a published source needs authors, year, and journal or body")
        return self

    @property
    def citation(self) -> str:
        """The source in one line, as printed under a note."""
        if self.provenance == "published" or self.authors:
            mark = "" if self.provenance == "published" else f" [{self.provenance}]"
            return f"{self.authors} {self.year}. {self.title}. {self.journal}.{mark}"
        return f"{self.title} [{self.provenance}]"


class SourcesFile(Strict):
    """The whole of ``sources.toml``."""

    sources: tuple[Source, ...]
