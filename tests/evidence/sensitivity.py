"""How much the answers hang on single cells: each is halved and doubled, one at a time.

The answer is the outcome with the drivers it names. A case is judged again only where the change
may reach it: a finding moves the log-odds of no driver by more than the range of what it adds, so a
change within the margin of every mark that decides leaves the answer as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations
from math import log
from typing import Any

from screen_tui.engine.answer import (
    LIKELY,
    POSSIBLE,
    RIVAL,
    STAYS,
    SUPPORTS,
    TIE,
    believe,
    drivers_of,
    named,
    outcome_of,
    prior_chances,
)
from screen_tui.engine.conditions import Seen
from screen_tui.engine.findings import Causes, Evidence, discounted, readings
from screen_tui.engine.results import DriverResult
from screen_tui.engine.safety import cautions_raised, contradicted_answers
from screen_tui.protocol.evidence import Row
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Session

Answer = tuple[str, tuple[tuple[str, str | None], ...]]
"""The outcome, and the drivers named."""

LEAST, MOST = 0.5, 99.5
"""Percent: as far as a cell may go."""


@dataclass(frozen=True)
class CellOfRow:
    """One cell, and how to have a test with another number in it."""

    test: str
    name: str
    changed: Callable[[float], TestSpec]


@dataclass
class Case:
    """A session with all that does not hang on a cell.

    Attributes:
        items: What was read, not discounted.
        margin: By how much log-odds must move before the answer can be another one.
    """

    name: str
    session: Session
    seen: Seen
    prior: list[float]
    items: list[Evidence]
    discounted: tuple[Evidence, ...] = ()
    answer: Answer = ("", ())
    margin: float = 0.0


def case_of(protocol: ScreenProtocol, name: str, session: Session) -> Case | None:
    """A session made ready; None where what is unsafe decides it, whatever the rows say."""
    session = session.as_amended
    seen = Seen.of(protocol, session)
    if cautions_raised(protocol, session) or contradicted_answers(seen):
        return None
    prior = prior_chances(protocol, session, Causes.of(protocol))
    items = readings(seen)
    case = Case(name, session, seen, prior, items)
    case.discounted = discounted(Causes.of(protocol), items)
    case.answer, drivers = answer_to(protocol, case, case.discounted)
    if case.answer[0] not in ("undetermined", "nothing-found"):
        case.margin = min(map(_margin, drivers))
        able = [one for one in drivers if one.chance >= POSSIBLE]
        case.margin = min(
            [case.margin]
            + [2 * abs(one.chance - two.chance) for one, two in combinations(able, 2)]
            + [2 * abs(one.chance - two.chance - TIE) for one, two in combinations(able, 2)]
        )
    return case


def _margin(driver: DriverResult) -> float:
    """How far log-odds are from any mark that decides how the driver stands."""
    chance = _log_odds(driver.chance)
    from_possible = abs(chance - _log_odds(POSSIBLE))
    if driver.chance < POSSIBLE:
        return from_possible
    support = sorted((chance - _log_odds(rest) for rest in driver.without.values()), reverse=True)
    findings = [*driver.speaks_for, *driver.speaks_against]
    pain = any(one.in_pain for one in findings)
    # What moves all may move a factor, which is of two chances, twice as far.
    marks = [log(SUPPORTS), 0.0]
    return min(
        [from_possible, abs(chance - _log_odds(LIKELY)), abs(chance - _log_odds(RIVAL))]
        + [abs(_log_odds(driver.least) - _log_odds(STAYS))]
        + [abs(support[1] - log(SUPPORTS)) / 2 if len(support) > 1 else 9.0]
        + [
            abs(log(one.factor) - mark) / 2
            for one in findings
            for mark in marks
            if "/" in one.what or pain
        ]
    )


def _log_odds(chance: float) -> float:
    return log(max(1e-9, chance) / max(1e-9, 1 - chance))


def answer_to(
    protocol: ScreenProtocol, case: Case, evidence: tuple[Evidence, ...]
) -> tuple[Answer, tuple[DriverResult, ...]]:
    """The answer to findings, as `assess` gives it, and how every driver stands."""
    intake = case.session.intake
    drivers = drivers_of(believe(Causes.of(protocol), case.prior, evidence), evidence)
    leading = named(drivers, intake)
    outcome = outcome_of(case.seen, leading, drivers, refer=False)
    return (outcome, tuple(sorted(((d.driver, d.side) for d in leading), key=str))), drivers


def cells_of(spec: TestSpec) -> Iterator[CellOfRow]:
    """Every cell of a test, those for a circumstance too."""
    for place, row in enumerate(spec.findings):
        into = partial(_with, spec, "findings", place)
        yield from _cells(spec, row.sign or row.words, row, into)
    for place, graded in enumerate(spec.graded):
        for number, level in enumerate(graded.levels):
            into = partial(_with_level, spec, place, number)
            yield from _cells(spec, f"{graded.measure}/{number + 1}", level, into)
    for place, cue_row in enumerate(spec.cue_effects):
        into = partial(_with, spec, "cue_effects", place)
        yield from _cells(spec, f"{cue_row.cue}/{cue_row.gone or cue_row.effect}", cue_row, into)


def _cells(
    spec: TestSpec, name: str, row: Row, into: Callable[[Row], TestSpec]
) -> Iterator[CellOfRow]:
    def changed(driver: str, factor: float) -> TestSpec:
        cells = dict(row.in_100) | {driver: _scaled(row.in_100[driver], factor)}
        return into(row.model_copy(update={"in_100": cells}))

    def changed_instead(variant: int, driver: str, factor: float) -> TestSpec:
        instead = list(row.instead)
        cells = dict(instead[variant].in_100)
        cells[driver] = _scaled(cells[driver], factor)
        instead[variant] = instead[variant].model_copy(update={"in_100": cells})
        return into(row.model_copy(update={"instead": tuple(instead)}))

    for driver in row.in_100:
        yield CellOfRow(spec.id, f"{name}: {driver}", partial(changed, driver))
    for number, variant in enumerate(row.instead):
        for driver in variant.in_100:
            yield CellOfRow(
                spec.id,
                f"{name}, {variant.when}: {driver}",
                partial(changed_instead, number, driver),
            )


def _scaled(cell: float | Mapping[int, float], factor: float) -> Any:
    if isinstance(cell, Mapping):
        return {age: _scaled(one, factor) for age, one in cell.items()}
    odds = cell / (100 - cell) * factor
    return min(MOST, max(LEAST, 100 * odds / (1 + odds)))


def _with(spec: TestSpec, rows: str, place: int, row: Row) -> TestSpec:
    changed = list(getattr(spec, rows))
    changed[place] = row
    return spec.model_copy(update={rows: tuple(changed)})


def _with_level(spec: TestSpec, place: int, number: int, level: Row) -> TestSpec:
    levels = list(spec.graded[place].levels)
    levels[number] = level  # type: ignore[call-overload]
    graded = list(spec.graded)
    graded[place] = graded[place].model_copy(update={"levels": tuple(levels)})
    return spec.model_copy(update={"graded": tuple(graded)})


def changed_by(protocol: ScreenProtocol, cell: CellOfRow, cases: list[Case]) -> dict[str, Answer]:
    """The cases whose answer is another one with the cell halved or doubled, and that answer."""
    found: dict[str, Answer] = {}
    for factor in (0.5, 2.0):
        spec = cell.changed(factor)
        for case in cases:
            if case.name in found or not any(one.test == cell.test for one in case.items):
                continue
            items = _items_with(protocol, case, spec)
            if _moved(case.discounted, items) <= case.margin:
                continue
            answer, _ = answer_to(protocol, case, items)
            if answer != case.answer:
                found[case.name] = answer
    return found


def _items_with(protocol: ScreenProtocol, case: Case, spec: TestSpec) -> tuple[Evidence, ...]:
    """The findings of a case with another spec of one test, discounted."""
    observations = {
        key: replace(one, spec=spec) if one.spec.id == spec.id else one
        for key, one in case.seen.observations.items()
    }
    seen = replace(case.seen, observations=observations)
    read = iter(readings(seen, only={spec.id}))
    items = [next(read) if one.test == spec.id else one for one in case.items]
    return discounted(Causes.of(protocol), items)


def _moved(before: tuple[Evidence, ...], after: tuple[Evidence, ...]) -> float:
    """By how much log-odds of anything can have moved, at the most."""
    most = 0.0
    for one, two in zip(before, after, strict=True):
        if (one.alone, one.joint, one.weight) != (two.alone, two.joint, two.weight):
            moves = [two.weight * b - one.weight * a
                     for a, b in zip(one.table, two.table, strict=True)]  # fmt: skip
            most += max(moves) - min(moves)
    return most
