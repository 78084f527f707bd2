"""The rows of a test by their names, and single cells of a clinic's own laid over them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypeVar

from screen_tui.files.reasons import FieldPath
from screen_tui.protocol.evidence import CellOverride, CueRow, FindingRow, Row
from screen_tui.protocol.tests import TestSpec

_Row = TypeVar("_Row", bound=Row)


def rows_of(test: TestSpec) -> Iterator[tuple[FieldPath, str, Row]]:
    """Every row of a test with its place in the file and its name.

    The name is the sign, the words of a finding, ``measure/level`` counted from 1, or
    ``cue/sign`` and ``cue/effect``.
    """
    for index, finding in enumerate(test.findings):
        yield ("findings", index), _name_of_finding(finding), finding
    for index, graded in enumerate(test.graded):
        for place, level in enumerate(graded.levels):
            name = _name_of_level(graded.measure, place)
            yield ("graded", index, "levels", place), name, level
    for index, cue in enumerate(test.cue_effects):
        yield ("cue_effects", index), _name_of_cue(cue), cue


def with_cells(test: TestSpec, cells: Iterable[CellOverride]) -> TestSpec:
    """The test with those of the cells that are about it; a cell for a row it lacks is left out."""
    own = [cell for cell in cells if cell.test == test.id]
    if not own:
        return test
    return test.model_copy(
        update={
            "findings": tuple(_laid_over(row, _name_of_finding(row), own) for row in test.findings),
            "graded": tuple(
                graded.model_copy(
                    update={
                        "levels": tuple(
                            _laid_over(level, _name_of_level(graded.measure, place), own)
                            for place, level in enumerate(graded.levels)
                        )
                    }
                )
                for graded in test.graded
            ),
            "cue_effects": tuple(
                _laid_over(row, _name_of_cue(row), own) for row in test.cue_effects
            ),
        }
    )


def _laid_over(row: _Row, name: str, cells: Iterable[CellOverride]) -> _Row:
    own = {cell.driver: cell.in_100 for cell in cells if cell.row == name}
    return row.model_copy(update={"in_100": {**row.in_100, **own}}) if own else row


def _name_of_finding(row: FindingRow) -> str:
    return row.sign or row.words


def _name_of_level(measure: str, place: int) -> str:
    return f"{measure}/{place + 1}"


def _name_of_cue(row: CueRow) -> str:
    return f"{row.cue}/{row.gone or row.effect}"
