"""What must fit within the rows that say how often something is seen, and between their cells."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations

from screen_tui.files.reasons import FieldPath, no_such, shown
from screen_tui.protocol.bands import Band
from screen_tui.protocol.cells import rows_of
from screen_tui.protocol.condition_checks import (
    Mismatch,
    mismatches_of_condition,
    not_among_signs,
    overlaps,
)
from screen_tui.protocol.evidence import (
    NONE,
    Circumstance,
    CueRow,
    Graded,
    Level,
    PriorOdds,
    Row,
)
from screen_tui.protocol.tests import TestSpec

YOUNGEST, OLDEST = 18, 95
"""The ages between which the cells of a row are held against one another."""

_SEXES = ("female", "male")


def mismatches_in_rows(test: TestSpec) -> Iterator[Mismatch]:
    """What in the rows of a test contradicts the rest of it, with its field."""
    yield from _twice(test)
    for index, finding in enumerate(test.findings):
        place: FieldPath = ("findings", index)
        if finding.sign is not None and finding.sign not in test.signs:
            yield (*place, "sign"), not_among_signs(finding.sign, test)
        if finding.when is not None:
            for path, reason in mismatches_of_condition(finding.when, test):
                yield (*place, "when", *path), reason
        yield from cells_below_leak(place, finding)
    measures = [measure.id for measure in test.measures]
    for index, graded in enumerate(test.graded):
        if graded.measure in measures:
            yield from _graded(("graded", index), graded, test)
        else:
            reason = no_such(graded.measure, "measure of this test", measures)
            yield ("graded", index, "measure"), reason
    for index, row in enumerate(test.cue_effects):
        yield from _cue_row(("cue_effects", index), row, test)


def _twice(test: TestSpec) -> Iterator[Mismatch]:
    seen: Counter[str] = Counter()
    for path, name, _row in rows_of(test):
        if seen[name]:
            yield path, f"is a second row for {shown(name)}"
        seen[name] += 1
    graded: Counter[str] = Counter()
    for index, one in enumerate(test.graded):
        if graded[one.measure]:
            yield ("graded", index, "measure"), f"{shown(one.measure)} is graded twice"
        graded[one.measure] += 1


def _cue_row(place: FieldPath, row: CueRow, test: TestSpec) -> Iterator[Mismatch]:
    cues = [cue.id for cue in test.cues]
    if row.cue not in cues:
        yield (*place, "cue"), no_such(row.cue, "cue of this test", cues)
    if row.gone is None:
        return
    if row.gone not in test.signs:
        yield (*place, "gone"), not_among_signs(row.gone, test)
    elif all(finding.sign != row.gone for finding in test.findings):
        reason = f"{shown(row.gone)} has no row in [[findings]], so nothing says who shows it"
        yield (*place, "gone"), reason


# ------------------------------------------------------------------ cells


def cells_below_leak(place: FieldPath, row: Row) -> Iterator[Mismatch]:
    """Drivers with which something would be seen less often than with none of them.

    The network takes a driver to add to what is seen anyway, at every age and in every
    circumstance.
    """
    told: set[str] = set()
    for circumstances in _circumstances_of([row]):
        for age in _ages_of([row]):
            shares = row.shares(age, circumstances)
            for name, share in shares.items():
                if share < shares[NONE] and name not in told:
                    told.add(name)
                    reason = (
                        f"{shown(name)} is {100 * share:.3g} at the age of {age}, below the"
                        f" {100 * shares[NONE]:.3g} of {shown(NONE)} there; leave a driver out"
                        " that changes nothing"
                    )
                    yield (*place, *_place_of_cell(row, name, circumstances)), reason


def _ages_of(rows: Sequence[Row], bands: Iterable[Band] = ()) -> list[int]:
    """The ages that suffice: between two of them nothing turns, cells being straight lines."""
    named = {
        age
        for row in rows
        for cells in (row.in_100, *(variant.in_100 for variant in row.instead))
        for cell in cells.values()
        if isinstance(cell, Mapping)
        for age in cell
    }
    edges = {age for band in bands for age in (band.from_age, band.to_age)}
    within = {age for age in named | edges if YOUNGEST < age < OLDEST}
    return sorted({YOUNGEST, OLDEST, *within})


def _circumstances_of(rows: Sequence[Row]) -> Iterator[tuple[Circumstance, ...]]:
    """Every combination of the circumstances in which one of the rows has other cells."""
    named = list(dict.fromkeys(variant.when for row in rows for variant in row.instead))
    for size in range(len(named) + 1):
        yield from combinations(named, size)


def _place_of_cell(row: Row, name: str, circumstances: Sequence[Circumstance]) -> FieldPath:
    """Where the cell stands that holds under those circumstances."""
    held = [
        index
        for index, variant in enumerate(row.instead)
        if variant.when in circumstances and (name in variant.in_100 or NONE in variant.in_100)
    ]
    path: FieldPath = ("instead", held[-1], "in_100") if held else ("in_100",)
    cells = row.instead[held[-1]].in_100 if held else row.in_100
    return (*path, name) if name in cells else path


# ------------------------------------------------------------------ numbers


def _graded(place: FieldPath, graded: Graded, test: TestSpec) -> Iterator[Mismatch]:
    lines = [line.id for line in test.lines if line.measure == graded.measure]
    known = True
    for index, level in enumerate(graded.levels):
        here: FieldPath = (*place, "levels", index)
        if level.line is not None and level.line not in lines:
            known = False
            yield (*here, "line"), no_such(level.line, f"line about {graded.measure}", lines)
        if level.per_step and test.timer.flight is None:
            yield (*here, "per_step"), "belongs only to a test of stair steps"
        yield from overlaps((*here, "limits"), level.limits)
        yield from cells_below_leak(here, level)
    if not known:
        return
    for (_, milder), (index, worse) in combinations(enumerate(graded.levels), 2):
        here = (*place, "levels", index)
        yield from _limits_in_order(here, milder, worse, graded, test)
        yield from _levels_that_rise(here, milder, worse, test)


def _limits_in_order(
    place: FieldPath, milder: Level, worse: Level, graded: Graded, test: TestSpec
) -> Iterator[Mismatch]:
    lower_is_worse = test.measure(graded.measure).better == "higher"
    field = "line" if worse.line is not None else "limits"
    for age in _ages_of((), (*_bands_of(milder, test), *_bands_of(worse, test))):
        for sex in _SEXES:
            before, after = limit_of(milder, age, sex, test), limit_of(worse, age, sex, test)
            if before is None or after is None:
                continue
            if after == before or (after < before) != lower_is_worse:
                reason = (
                    f"gives {after:g} at the age of {age}, which is no worse than the {before:g} of"
                    f" {shown(milder.words)}; levels go from mild to worse"
                )
                yield (*place, field), reason
                return


def _levels_that_rise(
    place: FieldPath, milder: Level, worse: Level, test: TestSpec
) -> Iterator[Mismatch]:
    """Cells of a level that are above those of a milder one, which holds whenever it does."""
    told: set[str] = set()
    ages = _ages_of([milder, worse], (*_bands_of(milder, test), *_bands_of(worse, test)))
    for circumstances in _circumstances_of([milder, worse]):
        for age in ages:
            if not any(
                limit_of(milder, age, sex, test) is not None
                and limit_of(worse, age, sex, test) is not None
                for sex in _SEXES
            ):
                continue
            before, after = milder.shares(age, circumstances), worse.shares(age, circumstances)
            for name in sorted({*before, *after} - told):
                low, high = _cell(before, name), _cell(after, name)
                if high > low:
                    told.add(name)
                    reason = (
                        f"{shown(name)} is {100 * high:.3g} at the age of {age}, above the"
                        f" {100 * low:.3g} of {shown(milder.words)}, which is milder"
                    )
                    yield (*place, *_place_of_cell(worse, name, circumstances)), reason


def _cell(shares: Mapping[str, float], name: str) -> float:
    return shares.get(name, shares[NONE])


def _bands_of(level: Level, test: TestSpec) -> Sequence[Band]:
    if level.line is None:
        return level.limits
    return next(line for line in test.lines if line.id == level.line).limits


def limit_of(level: Level, age: int, sex: str, test: TestSpec) -> float | None:
    """Where the level begins for that person; None where it has no band for them."""
    if level.line is None:
        return next((limit.value for limit in level.limits if limit.holds(age, sex)), None)
    line = next(line for line in test.lines if line.id == level.line)
    limit = line.limit_for(age, sex)
    return None if limit is None else limit * level.times


# ------------------------------------------------------------------ before testing


def mismatches_in_odds(odds: PriorOdds) -> Iterator[Mismatch]:
    """What in the odds of something known about the person can never hold, or always does."""
    if odds.from_age is not None and odds.to_age is not None and odds.from_age > odds.to_age:
        yield ("to_age",), f"is below from_age, {odds.from_age}"
    if odds.surgery_weeks is not None and odds.surgery_weeks[0] > odds.surgery_weeks[1]:
        yield ("surgery_weeks",), "ends before it begins"
    known = (odds.from_age, odds.to_age, odds.surgery_weeks, odds.surgery, odds.complaint)
    if all(one is None for one in known) and not odds.goals_any:
        yield (), "does not say of whom it holds, so it would always hold"
