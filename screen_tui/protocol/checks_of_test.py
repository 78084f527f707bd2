"""What must fit together inside the file of one test, its rows and conditions among it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from itertools import combinations

from pydantic import BaseModel

from screen_tui.fields import ids_in, parts_of
from screen_tui.files.reasons import FieldPath, Mismatch, no_such, shown
from screen_tui.protocol.evidence import (
    NONE,
    Band,
    Circumstance,
    Condition,
    CueRow,
    FindingRow,
    Graded,
    Level,
    PriorOdds,
    Row,
)
from screen_tui.protocol.tests import Reference, ResultLine, ResultMeasure, TestSpec, rows_of
from screen_tui.timing.kinds import kinds_that_take
from screen_tui.timing.spec import TimingSpec

LOWEST_VALUE, HIGHEST_VALUE = -90.0, 3600.0
LOWEST_ANGLE, HIGHEST_ANGLE = -30.0, 120.0
"""What a session file can hold; a test must not let a person enter more."""

_WITHIN: Mapping[str, tuple[str, Callable[[TestSpec], Collection[str]]]] = {
    **dict.fromkeys(
        ("measure", "slower_than"), ("measure", lambda test: [one.id for one in test.measures])
    ),
    **dict.fromkeys(
        ("sign", "gone", "signs_any", "signs_none", "groups"), ("sign", lambda test: test.signs)
    ),
    "cue": ("cue", lambda test: [one.id for one in test.cues]),
}
"""What the ids in a field are of in the same test, in any part of it or what is asked of it."""


def mismatches_in_test(test: TestSpec) -> Iterator[Mismatch]:
    """Everything in a test's file that contradicts the rest of it, with its field."""
    yield from _twice(test)
    yield from _ranges(test)
    yield from _measures(test)
    yield from _set_up(test)
    for place, part in parts_of(test):
        yield from (((*place, *path), reason) for path, reason in mismatches_of_part(part, test))


def mismatches_of_part(part: BaseModel, test: TestSpec) -> Iterator[Mismatch]:
    """What one part of a test, or what is asked of it, contradicts of the rest."""
    fields = vars(part)
    for field in [one for one in fields if one in _WITHIN]:
        what, known_of = _WITHIN[field]
        for path, wanted in ids_in(fields[field], (field,)):
            if wanted not in known_of(test):
                yield path, no_such(wanted, f"{what} of this test", known_of(test))
    if test.timer.flight is None:
        for field in ("only_steps", "per_step"):
            if fields.get(field):
                yield (field,), "belongs only to a test of stair steps"
    match part:
        case Condition():
            yield from _of_condition(part, test)
        case ResultLine():
            yield from _overlaps("limits", part.limits)
        case Reference():
            yield from _overlaps("rows", part.rows)
        case FindingRow():
            yield from _cells_below_leak(part)
        case Level():
            yield from _overlaps("limits", part.limits)
            yield from _cells_below_leak(part)
        case Graded():
            yield from _levels(part, test)
        case CueRow() if part.gone in test.signs:
            if all(finding.sign != part.gone for finding in test.findings):
                reason = "has no row in [[findings]], so nothing says who shows it"
                yield ("gone",), f"{shown(part.gone)} {reason}"


def _ranges(test: TestSpec) -> Iterator[Mismatch]:
    yield from _range(
        ("plausible",),
        (test.plausible.minimum, test.plausible.maximum),
        (LOWEST_VALUE, HIGHEST_VALUE),
    )
    for index in _repeats([number.id for number in test.timer.numbers]):
        yield ("timer", "fields", index, "id"), "is given twice"
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
    for index in _repeats([condition.id for condition in test.set_up]):
        yield ("set_up", index, "id"), "is given twice"
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


def _repeats(ids: Iterable[str]) -> Iterator[int]:
    seen: set[str] = set()
    for index, entry_id in enumerate(ids):
        if entry_id in seen:
            yield index
        seen.add(entry_id)


def _of_condition(when: Condition, test: TestSpec) -> Iterator[Mismatch]:
    if (
        when.standing
        and any(measure.id == when.measure for measure in test.measures)
        and not any(line.role == "judge" and line.measure == when.measure for line in test.lines)
    ):
        reason = f'can never be known: no cut-off with the role "judge" is about {when.measure}'
        yield ("standing",), reason
    if not test.sided:
        for name in ("both_sides", "worse_than_other_percent", "worse_than_other_by"):
            if getattr(when, name):
                yield (name,), "compares sides, but this test is done with both legs at once"
    if when.slowing_percent is not None and test.timer.split_least is None:
        yield ("slowing_percent",), f"needs split times, which a {test.timer.kind} has not"
    if when.at_least is not None and when.at_most is not None and when.at_least > when.at_most:
        yield ("at_least",), f"is above at_most, {shown(when.at_most)}, so it can never hold"


def _overlaps(field: str, bands: Sequence[Band]) -> Iterator[Mismatch]:
    for (_, earlier), (index, later) in combinations(enumerate(bands), 2):
        same_sex = earlier.sex == later.sex or "any" in (earlier.sex, later.sex)
        from_age = max(earlier.from_age, later.from_age)
        to_age = min(earlier.to_age, later.to_age)
        if same_sex and from_age <= to_age:
            ages = f"age {from_age}" if from_age == to_age else f"ages {from_age} to {to_age}"
            reason = f"overlaps an earlier band at {ages} ({later.sex}); both ends belong to a band"
            yield (field, index), reason


# ------------------------------------------------------------------ rows

YOUNGEST, OLDEST = 18, 95
"""The ages between which the cells of a row are held against one another."""

_SEXES = ("female", "male")


def _twice(test: TestSpec) -> Iterator[Mismatch]:
    for index in _repeats(test.signs):
        yield ("signs", index), f"the sign {shown(test.signs[index])} is given twice"
    for name in ("measures", "lines", "cues"):
        ids = [entry.id for entry in getattr(test, name)]
        for index in _repeats(ids):
            yield (name, index, "id"), f"{shown(ids[index])} is given twice"
    rows = list(rows_of(test))
    for index in _repeats([name for _path, name, _row in rows]):
        yield rows[index][0], f"is a second row for {shown(rows[index][1])}"
    measures = [one.measure for one in test.graded]
    for index in _repeats(measures):
        yield ("graded", index, "measure"), f"{shown(measures[index])} is graded twice"


# ------------------------------------------------------------------ cells


def _cells_below_leak(row: Row) -> Iterator[Mismatch]:
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
                    yield _place_of_cell(row, name, circumstances), reason


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
    named = list(dict.fromkeys(variant.when for row in rows for variant in row.instead))
    for size in range(len(named) + 1):
        yield from combinations(named, size)


def _place_of_cell(row: Row, name: str, circumstances: Sequence[Circumstance]) -> FieldPath:
    held = [
        index
        for index, variant in enumerate(row.instead)
        if variant.when in circumstances and (name in variant.in_100 or NONE in variant.in_100)
    ]
    path: FieldPath = ("instead", held[-1], "in_100") if held else ("in_100",)
    cells = row.instead[held[-1]].in_100 if held else row.in_100
    return (*path, name) if name in cells else path


# ------------------------------------------------------------------ numbers


def _levels(graded: Graded, test: TestSpec) -> Iterator[Mismatch]:
    measure = next((one for one in test.measures if one.id == graded.measure), None)
    for (_, milder), (index, worse) in combinations(enumerate(graded.levels), 2):
        place: FieldPath = ("levels", index)
        if measure is not None:
            lower_is_worse = measure.better == "higher"
            yield from _limits_in_order(place, milder, worse, lower_is_worse=lower_is_worse)
        yield from _levels_that_rise(place, milder, worse)


def _limits_in_order(
    place: FieldPath, milder: Level, worse: Level, *, lower_is_worse: bool
) -> Iterator[Mismatch]:
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
