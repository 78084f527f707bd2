"""What must fit together between the files of a protocol."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from difflib import get_close_matches
from itertools import islice
from typing import Any, Literal

from pydantic import BaseModel

from screen_tui.errors import Problem
from screen_tui.fields import ids_in, parts_of
from screen_tui.files.reasons import FieldPath, Mismatch, no_such, shown
from screen_tui.protocol.checks_of_test import (
    mismatches_in_odds,
    mismatches_in_test,
    mismatches_of_part,
)
from screen_tui.protocol.drawings import mismatches_in_drawing
from screen_tui.protocol.evidence import NONE, CellOverride, Condition, InTest
from screen_tui.protocol.knowledge import (
    TAKEN,
    Circumstance,
    Criterion,
    HistoryQuestion,
    Outside,
    SeenIn,
)
from screen_tui.protocol.model import Battery, Gate
from screen_tui.protocol.raw import Placed, RawProtocol
from screen_tui.protocol.tests import TestSpec, rows_of, with_cells

MOST_CAUSES = 15
"""Drivers, those of a leg counted for each: the network weighs every combination of them, and from
here on a page of twelve visits takes more than a second."""

_MOST_COMPARED = 100
"""Traits that are compared with one another, which takes time."""

_SAME_WORD = 0.9
"""How alike two traits are that are likely one, misspelt; those of the program are less alike."""

_Table = Literal["signs", "cautions", "drivers", "exercises", "drawings", "sources", "tests"]

_REFERS: Mapping[str, _Table] = {
    "source": "sources",
    "signs": "signs",
    "driver": "drivers",
    "beside": "drivers",
    "odds": "drivers",
    "in_100": "drivers",
    "caution": "cautions",
    "cautions": "cautions",
    "exercises": "exercises",
    "needs_helper": "exercises",
    "leave_out": "exercises",
    "drawing": "drawings",
    "test": "tests",
    "tests": "tests",
}
"""What the ids in a field are of, be it one, several or the names of a table, in any file."""


def crosscheck(raw: RawProtocol) -> Iterator[Problem]:
    """Everything in the files that contradicts another part, with file, line and field."""
    for placed in raw.every():
        for place, part in parts_of(placed.value):
            yield from _references(placed, place, part, raw)
            yield from _asked_of_a_test(placed, place, part, raw)
            yield from _answers(placed, place, part, raw)
    for test in raw.tests.values():
        yield from (test.problem(path, reason) for path, reason in mismatches_in_test(test.value))
        yield from _signs_on_one_digit(test, raw)
        yield from _signs_without_rows(test, raw)
        yield from _judged_from_memory(test, raw)
    yield from _too_many(raw)
    yield from _before_testing(raw)
    for cell in raw.cells.values():
        yield from _cell(cell, raw)
    for question in raw.questions.values():
        yield from (question.problem(*found) for found in _mismatches_in_question(question.value))
        if question.value.id in raw.cautions:
            reason = f"{shown(question.value.id)} is the id of a safety question too"
            yield question.problem(("id",), reason)
    for battery in raw.batteries.values():
        yield from _battery(battery, raw)
    yield from impossible_drawings(raw)
    for left in raw.leave_out.values():
        if left.value.driver is None and left.value.when == "driver-spoken-against":
            yield left.problem(("driver",), 'is missing; "driver-spoken-against" is about a driver')


def doubts(raw: RawProtocol) -> Iterator[Problem]:
    """What may be meant so, and is more likely an oversight."""
    rows = (row for test in raw.tests.values() for _path, _name, row in rows_of(test.value))
    tested_for = {name for row in rows for name in row.in_100}
    for driver in raw.drivers.values():
        if driver.value.id not in tested_for:
            reason = (
                f"no row of any test has a cell for {shown(driver.value.id)}, so none tells of it"
            )
            yield driver.problem(("id",), reason)
    traits: list[tuple[Placed[TestSpec], FieldPath, str]] = []
    for test in raw.tests.values():
        found, graded = test.value.findings, test.value.graded
        traits += ((test, ("findings", at, "trait"), row.trait) for at, row in enumerate(found))
        traits += ((test, ("graded", at, "trait"), one.trait) for at, one in enumerate(graded))
    times = Counter(trait for _test, _path, trait in traits)
    known = list(islice(times, _MOST_COMPARED))
    for test, path, trait in traits:
        others = [one for one in known if one != trait]
        if (
            times[trait] == 1
            and len(others) < len(known)
            and (near := get_close_matches(trait, others, n=1, cutoff=_SAME_WORD))
        ):
            reason = f"{shown(trait)} is the trait of no other row; did you mean {shown(near[0])}?"
            yield test.problem(path, reason)
    for exercise in raw.exercises.values():
        if exercise.value.for_patient is None:
            reason = "is missing, so the patient reads the words meant for the clinic"
            yield exercise.problem(("for_patient",), reason)
        if exercise.value.drawing is None and raw.drawings:
            reason = "is missing, so the printed sheet has words alone"
            yield exercise.problem(("drawing",), reason)


def impossible_drawings(raw: RawProtocol) -> Iterator[Problem]:
    """What no body can do in a drawing."""
    for drawing in raw.drawings.values():
        for path, reason in mismatches_in_drawing(drawing.value):
            yield drawing.problem(path, reason)


def _references(
    placed: Placed[Any], place: FieldPath, part: BaseModel, raw: RawProtocol
) -> Iterator[Problem]:
    fields = vars(part)
    for name in [one for one in fields if one in _REFERS]:
        cell = name == "in_100" or isinstance(part, CellOverride)
        for path, wanted in ids_in(fields[name], (*place, name)):
            if not (cell and wanted == NONE):
                yield from _refer(placed, path, wanted, _REFERS[name], raw)


def _refer(
    placed: Placed[Any], path: FieldPath, wanted: str, table: _Table, raw: RawProtocol
) -> Iterator[Problem]:
    known: Mapping[str, object] = getattr(raw, table)
    if wanted in known:
        return
    if table == "tests":
        if wanted not in raw.unread_ids:
            yield placed.problem(path, no_such(wanted, "test of any file", known))
        return
    file = "safety" if table == "cautions" else table
    if file not in raw.unread:
        what = f"{table.removesuffix('s')} in {file}.toml"
        yield placed.problem(path, no_such(wanted, what, known))


def _asked_of_a_test(
    placed: Placed[Any], place: FieldPath, part: BaseModel, raw: RawProtocol
) -> Iterator[Problem]:
    when: Condition | None
    match part:
        case InTest() | SeenIn():
            test, when, within = part.test, part.when, (*place, "when")
        case Gate():
            test, when, within = part.after, part.when, (*place, "when")
        case Criterion():
            test, when, within = part.test, part.condition, place
        case _:
            return
    if test in raw.tests and when is not None:
        for path, reason in mismatches_of_part(when, raw.tests[test].value):
            yield placed.problem((*within, *path), reason)


def _answers(
    placed: Placed[Any], place: FieldPath, part: BaseModel, raw: RawProtocol
) -> Iterator[Problem]:
    asked: Mapping[str, Iterable[str]]
    match part:
        case Circumstance():
            field, asked = "history", part.history
        case Outside():
            field, asked = "answers", part.answers
        case _:
            return
    for question, answers in asked.items():
        path: FieldPath = (*place, field, question)
        if question not in raw.questions:
            if "history" not in raw.unread:
                reason = no_such(question, "question in history.toml", raw.questions)
                yield placed.problem(path, reason)
            continue
        known = [answer.id for answer in raw.questions[question].value.answers]
        for index, answer in enumerate(answers):
            if answer not in known:
                yield placed.problem((*path, index), no_such(answer, "answer to it", known))


def _mismatches_in_question(question: HistoryQuestion) -> Iterator[Mismatch]:
    if question.id in TAKEN:
        yield ("id",), f"{shown(question.id)} is what another question before testing is called"
    for field in ("id", "key"):
        first: dict[str, str] = {}
        for index, answer in enumerate(question.answers):
            value = getattr(answer, field)
            if value in first:
                reason = f"{shown(value)} is that of {shown(first[value])} already"
                yield ("answers", index, field), reason
            first.setdefault(value, answer.label)


def _signs_on_one_digit(test: Placed[TestSpec], raw: RawProtocol) -> Iterator[Problem]:
    taken: dict[int, str] = {}
    for index, name in enumerate(test.value.signs):
        if name not in raw.signs:
            continue
        digit = raw.signs[name].value.digit
        first = taken.setdefault(digit, name)
        if first != name:
            reason = (
                f"{shown(name)} has the digit {digit}, and so has {shown(first)}; "
                "two signs of one test cannot share a key: give one another digit in signs.toml"
            )
            yield test.problem(("signs", index), reason)


def _signs_without_rows(test: Placed[TestSpec], raw: RawProtocol) -> Iterator[Problem]:
    rows = {row.sign for row in test.value.findings}
    for index, name in enumerate(test.value.signs):
        sign = raw.signs.get(name)
        if sign and name not in rows and not sign.value.no_evidence_because:
            reason = (
                f"{shown(name)} has no row in [[findings]]; "
                "add one, or no_evidence_because to the sign in signs.toml"
            )
            yield test.problem(("signs", index), reason)


def _before_testing(raw: RawProtocol) -> Iterator[Problem]:
    for prior in raw.priors.values():
        value = prior.value
        driver = raw.drivers.get(value.driver)
        if driver and not driver.value.sided and value.complaint_side != value.other_side:
            reason = f"differs from complaint_side, but {value.driver} belongs to no side"
            yield prior.problem(("other_side",), reason)
    for odds in raw.odds.values():
        yield from (odds.problem(path, reason) for path, reason in mismatches_in_odds(odds.value))
    if "priors" not in raw.unread:
        for driver in raw.drivers.values():
            if driver.value.id not in raw.priors:
                yield driver.problem(("id",), f"{shown(driver.value.id)} has no row in priors.toml")


def _too_many(raw: RawProtocol) -> Iterator[Problem]:
    causes = 0
    for driver in raw.drivers.values():
        causes += 2 if driver.value.sided else 1
        if causes > MOST_CAUSES:
            reason = (
                f"is one driver too many: each counts once, one of a leg twice, and above "
                f"{MOST_CAUSES} in all an answer takes too long; replace another or leave one out"
            )
            yield driver.problem(("id",), reason)
            break


def _cell(cell: Placed[CellOverride], raw: RawProtocol) -> Iterator[Problem]:
    value = cell.value
    test = raw.tests.get(value.test)
    if test is None:
        return
    names = [name for _path, name, _row in rows_of(test.value)]
    if value.row not in names:
        yield cell.problem(("row",), no_such(value.row, f"row of {value.test}", names))
        return
    if any(True for _ in mismatches_in_test(test.value)):
        return  # The mistakes of the test itself come first.
    place = next(path for path, name, _row in rows_of(test.value) if name == value.row)
    changed = with_cells(test.value, [one.value for one in raw.cells.values()])
    for path, reason in mismatches_in_test(changed):
        if path[:2] == place[:2] and (value.driver == NONE or path[-1] in (value.driver, "in_100")):
            yield cell.problem(("in_100",), reason)
            return


def _judged_from_memory(test: Placed[TestSpec], raw: RawProtocol) -> Iterator[Problem]:
    for index, line in enumerate(test.value.lines):
        source = raw.sources.get(line.source)
        if line.role == "judge" and source and source.value.provenance == "from memory":
            yield test.problem(
                ("lines", index, "source"),
                f"{shown(line.source)} is from memory, so this cut-off may not judge a result; "
                'give it the role "flag" or a source that was read',
            )


def _battery(battery: Placed[Battery], raw: RawProtocol) -> Iterator[Problem]:
    order: dict[str, int] = {}
    items = battery.value.items
    for index, item in enumerate(items):
        if item.test in order:
            yield battery.problem(("items", index, "test"), f"{shown(item.test)} is given twice")
        order.setdefault(item.test, index)
    for index, item in enumerate(items):
        for place, test in enumerate(item.instead_of):
            path: FieldPath = ("items", index, "instead_of", place)
            yield from _among(battery, path, test, order)
            if test == item.test:
                yield battery.problem(path, "is the test itself")
        for place, one in enumerate(item.only_if.any_of if item.only_if else ()):
            path = ("items", index, "only_if", "any_of", place, "test")
            if one.test in raw.tests:
                yield from _among(battery, path, one.test, order, before=item.test)
    for index, gate in enumerate(battery.value.gates):
        path = ("gates", index)
        yield from _among(battery, (*path, "withhold"), gate.withhold, order)
        yield from _among(battery, (*path, "after"), gate.after, order, before=gate.withhold)


def _among(
    battery: Placed[Battery],
    path: FieldPath,
    test: str,
    order: Mapping[str, int],
    before: str = "",
) -> Iterator[Problem]:
    if test not in order:
        yield battery.problem(path, no_such(test, "test among the items", order))
    elif before in order and order[before] <= order[test]:
        reason = f"{shown(test)} must come before {shown(before)} among the items"
        yield battery.problem(path, reason)
