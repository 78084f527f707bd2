"""The shipped protocol, and short ways to look a figure up in it."""

from __future__ import annotations

from functools import cache

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.model import Protocol
from screen_tui.protocol.tests import MeasurementError, Reference, ResultLine

Row = tuple[str, int, int]
"""Sex, first age, last age."""


@cache
def shipped() -> Protocol:
    return load_protocol([protocols_folder()])


def line(test: str, line_id: str) -> ResultLine:
    return next(one for one in shipped().test(test).lines if one.id == line_id)


def limits(test: str, line_id: str) -> dict[Row, float]:
    rows = line(test, line_id).limits
    table = {(row.sex, row.from_age, row.to_age): row.value for row in rows}
    assert len(table) == len(rows)
    return table


def reference(test: str, measure: str, source: str) -> Reference:
    return next(
        one
        for one in shipped().test(test).references
        if one.measure == measure and one.source == source
    )


def means(test: str, measure: str, source: str) -> dict[Row, tuple[float, float | None]]:
    rows = reference(test, measure, source).rows
    table = {(row.sex, row.from_age, row.to_age): (row.mean, row.sd) for row in rows}
    assert len(table) == len(rows)
    return table


def errors(test: str, measure: str) -> tuple[MeasurementError, ...]:
    return tuple(one for one in shipped().test(test).errors if one.measure == measure)


def judging_limit(test: str, measure: str, age: int, sex: str = "female") -> float | None:
    """The limit of the line that judges this person; None where no band holds the age."""
    for one in shipped().test(test).lines:
        if one.role == "judge" and one.measure == measure:
            limit = one.limit_for(age, sex)
            if limit is not None:
                return limit
    return None


def meets(test: str, line_id: str, value: float, age: int, sex: str = "female") -> bool:
    """Whether a value is on the good side of a line that is known to have a band."""
    one = line(test, line_id)
    limit = one.limit_for(age, sex)
    assert limit is not None, f"no band for {age}, {sex}"
    return one.met_by(value, limit)
