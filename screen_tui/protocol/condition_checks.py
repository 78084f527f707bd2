"""What must fit between a condition, or bands of people, and the test they are about."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

from screen_tui.files.reasons import FieldPath, no_such, shown
from screen_tui.protocol.bands import Band, Condition
from screen_tui.protocol.tests import TestSpec

Mismatch = tuple[FieldPath, str]
"""A field, and what is wrong with it."""


def mismatches_of_condition(when: Condition, test: TestSpec) -> Iterator[Mismatch]:
    """What a condition asks of a test that the test does not have."""
    measures = [measure.id for measure in test.measures]
    if when.measure is not None and when.measure not in measures:
        yield ("measure",), no_such(when.measure, "measure of this test", measures)
    if when.slower_than is not None and when.slower_than not in measures:
        yield ("slower_than",), no_such(when.slower_than, "measure of this test", measures)
    if (
        when.measure in measures
        and when.standing
        and not any(line.role == "judge" and line.measure == when.measure for line in test.lines)
    ):
        reason = f'can never be known: no cut-off with the role "judge" is about {when.measure}'
        yield ("standing",), reason
    for name in ("signs_any", "signs_none"):
        for index, sign in enumerate(getattr(when, name)):
            if sign not in test.signs:
                yield (name, index), not_among_signs(sign, test)
    if not test.sided:
        for name in (
            "both_sides",
            "worse_than_other_percent",
            "worse_than_other_by",
        ):
            if getattr(when, name):
                yield (name,), "compares sides, but this test is done with both legs at once"
    if when.slowing_percent is not None and test.timer.split_least is None:
        yield ("slowing_percent",), f"needs split times, which a {test.timer.kind} has not"
    if when.at_least is not None and when.at_most is not None and when.at_least > when.at_most:
        yield ("at_least",), f"is above at_most, {shown(when.at_most)}, so it can never hold"


def overlaps(path: FieldPath, bands: Sequence[Band]) -> Iterator[Mismatch]:
    """Bands of one table that hold for the same people."""
    for (_, earlier), (index, later) in combinations(enumerate(bands), 2):
        same_sex = earlier.sex == later.sex or "any" in (earlier.sex, later.sex)
        from_age = max(earlier.from_age, later.from_age)
        to_age = min(earlier.to_age, later.to_age)
        if same_sex and from_age <= to_age:
            ages = f"age {from_age}" if from_age == to_age else f"ages {from_age} to {to_age}"
            reason = f"overlaps an earlier band at {ages} ({later.sex}); both ends belong to a band"
            yield (*path, index), reason


def not_among_signs(sign: str, test: TestSpec) -> str:
    """Say that a test does not watch for a sign."""
    return no_such(sign, "sign of this test", test.signs)
