"""What must fit together inside the file of one test, its rows and conditions among it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations

from screen_tui.files.reasons import FieldPath, Mismatch, no_such, shown
from screen_tui.protocol.evidence import (
    NONE,
    Band,
    Circumstance,
    Condition,
    CueRow,
    Graded,
    Level,
    PriorOdds,
    Row,
)
from screen_tui.protocol.tests import (
    MeasurementError,
    Reference,
    ResultLine,
    ResultMeasure,
    TestSpec,
    rows_of,
)
from screen_tui.timing.kinds import kinds_that_take
from screen_tui.timing.spec import TimingSpec

LOWEST_VALUE, HIGHEST_VALUE = -90.0, 3600.0
LOWEST_ANGLE, HIGHEST_ANGLE = -30.0, 120.0
"""What a session file can hold; a test must not let a person enter more."""


def mismatches_in_test(test: TestSpec) -> Iterator[Mismatch]:
    """Everything in a test's file that contradicts the rest of it, with its field."""
    yield from _repeated(test.signs, ("signs",), "sign")
    for name, entries in (("measures", test.measures), ("lines", test.lines), ("cues", test.cues)):
        ids = [entry.id for entry in entries]
        yield from (
            ((name, index, "id"), f"{shown(ids[index])} is given twice") for index in _repeats(ids)
        )
    yield from _ranges(test)
    yield from _measures(test)
    yield from _figures(test)
    yield from _set_up(test)
    for index, group in enumerate(test.points.groups if test.points else ()):
        for sign in group:
            if sign not in test.signs:
                yield ("points", "groups", index, sign), not_among_signs(sign, test)
    yield from mismatches_in_rows(test)


def _ranges(test: TestSpec) -> Iterator[Mismatch]:
    yield from _range(
        ("plausible",),
        (test.plausible.minimum, test.plausible.maximum),
        (LOWEST_VALUE, HIGHEST_VALUE),
    )
    yield from (
        (("timer", "fields", index, "id"), "is given twice")
        for index in _repeats([number.id for number in test.timer.numbers])
    )
    for index, number in enumerate(test.timer.numbers):
        widest = (
            (LOWEST_VALUE, HIGHEST_VALUE) if number.id == "value" else (LOWEST_ANGLE, HIGHEST_ANGLE)
        )
        yield from _range(("timer", "fields", index), (number.minimum, number.maximum), widest)


def _range(
    path: FieldPath, given: tuple[float, float], widest: tuple[float, float]
) -> Iterator[Mismatch]:
    if given[0] > given[1]:
        yield (*path, "minimum"), f"is above the maximum, {shown(given[1])}"
    if given[0] < widest[0]:
        yield (*path, "minimum"), f"must be at least {widest[0]:g}, the least that can be saved"
    if given[1] > widest[1]:
        yield (*path, "maximum"), f"must be at most {widest[1]:g}, the most that can be saved"


def _measures(test: TestSpec) -> Iterator[Mismatch]:
    for index, measure in enumerate(test.measures):
        missing = _not_available(measure, test)
        if missing:
            reason = f"{shown(measure.taken_from)} cannot be had: {missing}"
            yield ("measures", index, "taken_from"), reason


def _not_available(measure: ResultMeasure, test: TestSpec) -> str:
    timer = test.timer
    fields = {number.id for number in timer.numbers}
    needed: tuple[str, ...] = ()
    match measure.taken_from:
        case "points":
            return "" if test.points else "the file has no table [points]"
        case "speed" | "time-up" | "time-down":
            return _not_taken(timer, measure.taken_from)
        case "value":
            if why := timer.refuses("value"):
                return why
            needed = ("value",) if fields else ()
        case "rise-power":
            return timer.refuses("rising") or _not_noted(test, "seat_cm")
        case "stair-power":
            return _not_taken(timer, "stair-power") or _not_noted(test, "riser_cm")
        case "passive":
            needed = ("passive_deg",)
        case "lag":
            needed = ("passive_deg", "active_deg")
        case "repetitions":
            wanted = timer.wanted(None) is not None and timer.split_least is not None
            return "" if wanted else f'the timer is "{timer.kind}", which wants no number of them'
        case "behind-other":
            if not test.sided:
                return "it compares legs, but the sides are not tested one by one"
            return timer.refuses("value")
        case "deficit":
            if not test.sided:
                return "it compares knees, but the sides are not tested one by one"
            needed = ("passive_deg",)
    absent = [name for name in needed if name not in fields]
    return f"the timer has no field {' and no field '.join(absent)}" if absent else ""


def _not_taken(timer: TimingSpec, what: str) -> str:
    if what in timer.takes:
        return ""
    kinds = " or ".join(f'"{kind}"' for kind in kinds_that_take(what))
    return f'the timer is "{timer.kind}", not {kinds}'


def _not_noted(test: TestSpec, condition: str) -> str:
    noted = any(one.id == condition for one in test.set_up)
    return "" if noted else f'the set-up does not have "{condition}"'


def _set_up(test: TestSpec) -> Iterator[Mismatch]:
    noted = {condition.id: condition for condition in test.set_up}
    yield from (
        (("set_up", index, "id"), "is given twice")
        for index in _repeats([condition.id for condition in test.set_up])
    )
    for index, line in enumerate(test.lines):
        for place, wanted in enumerate(line.only_when):
            condition = noted.get(wanted.id)
            if condition is None:
                reason = no_such(wanted.id, "set-up of this test", noted)
                yield ("lines", index, "only_when", place, "id"), reason
            elif not set(wanted.one_of) <= set(condition.choices):
                yield ("lines", index, "only_when", place, "one_of"), "names no choice of it"
            elif not wanted.holds(condition.usual):
                reason = f"leaves out the usual {shown(condition.usual)}"
                yield ("lines", index, "only_when", place), reason


def _figures(test: TestSpec) -> Iterator[Mismatch]:
    measures = [measure.id for measure in test.measures]
    figures: tuple[tuple[str, Sequence[ResultLine | Reference | MeasurementError]], ...] = (
        ("lines", test.lines),
        ("references", test.references),
        ("errors", test.errors),
    )
    for name, entries in figures:
        for index, entry in enumerate(entries):
            if entry.measure not in measures:
                reason = no_such(entry.measure, "measure of this test", measures)
                yield (name, index, "measure"), reason
            if getattr(entry, "only_steps", None) is not None and test.timer.flight is None:
                yield (name, index, "only_steps"), "belongs only to a test of stair steps"
    for index, line in enumerate(test.lines):
        yield from overlaps(("lines", index, "limits"), line.limits)
    for index, reference in enumerate(test.references):
        yield from overlaps(("references", index, "rows"), reference.rows)


def _repeated(ids: Sequence[str], path: FieldPath, what: str) -> Iterator[Mismatch]:
    for index in _repeats(ids):
        yield (*path, index), f"the {what} {shown(ids[index])} is given twice"


def _repeats(ids: Iterable[str]) -> Iterator[int]:
    seen: set[str] = set()
    for index, entry_id in enumerate(ids):
        if entry_id in seen:
            yield index
        seen.add(entry_id)


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


# ------------------------------------------------------------------ rows

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
    rows = list(rows_of(test))
    for index in _repeats([name for _path, name, _row in rows]):
        yield rows[index][0], f"is a second row for {shown(rows[index][1])}"
    measures = [one.measure for one in test.graded]
    for index in _repeats(measures):
        yield ("graded", index, "measure"), f"{shown(measures[index])} is graded twice"


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
    found: set[str] = set()
    for circumstances in _circumstances_of([row]):
        for age in _ages_of([row]):
            shares = row.shares(age, circumstances)
            for name, share in shares.items():
                if share < shares[NONE] and name not in found:
                    found.add(name)
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
    """Where the cell is that holds under those circumstances."""
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
    for index, level in enumerate(graded.levels):
        here: FieldPath = (*place, "levels", index)
        if level.per_step and test.timer.flight is None:
            yield (*here, "per_step"), "belongs only to a test of stair steps"
        yield from overlaps((*here, "limits"), level.limits)
        yield from cells_below_leak(here, level)
    for (_, milder), (index, worse) in combinations(enumerate(graded.levels), 2):
        here = (*place, "levels", index)
        yield from _limits_in_order(here, milder, worse, graded, test)
        yield from _levels_that_rise(here, milder, worse)


def _limits_in_order(
    place: FieldPath, milder: Level, worse: Level, graded: Graded, test: TestSpec
) -> Iterator[Mismatch]:
    lower_is_worse = test.measure(graded.measure).better == "higher"
    for age in _ages_of((), (*milder.limits, *worse.limits)):
        for sex in _SEXES:
            before, after = milder.limit_for(age, sex), worse.limit_for(age, sex)
            if before is None or after is None:
                continue
            if after == before or (after < before) != lower_is_worse:
                reason = (
                    f"gives {after:g} at the age of {age}, which is no worse than the {before:g} of"
                    f" {shown(milder.words)}; levels go from mild to worse"
                )
                yield (*place, "limits"), reason
                return


def _levels_that_rise(place: FieldPath, milder: Level, worse: Level) -> Iterator[Mismatch]:
    """Cells of a level that are above those of a milder one, which holds whenever it does."""
    found: set[str] = set()
    ages = _ages_of([milder, worse], (*milder.limits, *worse.limits))
    for circumstances in _circumstances_of([milder, worse]):
        for age in ages:
            if not any(
                milder.limit_for(age, sex) is not None and worse.limit_for(age, sex) is not None
                for sex in _SEXES
            ):
                continue
            before, after = milder.shares(age, circumstances), worse.shares(age, circumstances)
            for name in sorted({*before, *after} - found):
                low, high = _cell(before, name), _cell(after, name)
                if high > low:
                    found.add(name)
                    reason = (
                        f"{shown(name)} is {100 * high:.3g} at the age of {age}, above the"
                        f" {100 * low:.3g} of {shown(milder.words)}, which is milder"
                    )
                    yield (*place, *_place_of_cell(worse, name, circumstances)), reason


def _cell(shares: Mapping[str, float], name: str) -> float:
    return shares.get(name, shares[NONE])


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
