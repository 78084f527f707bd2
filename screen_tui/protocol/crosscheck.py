"""What must fit together between the files of a protocol."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import BaseModel

from screen_tui.errors import Problem
from screen_tui.files.reasons import no_such, shown
from screen_tui.files.toml_places import FieldPath
from screen_tui.protocol.battery import Battery
from screen_tui.protocol.knowledge import Exercise
from screen_tui.protocol.parts import FileKind, Parts, Placed
from screen_tui.protocol.testcheck import misfits_in_test, misfits_of_condition
from screen_tui.protocol.tests import TestSpec


def crosscheck(parts: Parts) -> Iterator[Problem]:
    """Everything in the parts that contradicts another part, with file, line and field."""
    for placed in _all_placed(parts):
        for path, source in _fields_named("source", placed.value):
            yield from _refer(placed, path, source, parts.sources, "source", parts, "sources")
    for test in parts.tests.values():
        yield from (test.problem(path, reason) for path, reason in misfits_in_test(test.value))
        yield from _references_of_test(test, parts)
        yield from _judged_from_memory(test, parts)
    for battery in parts.batteries.values():
        yield from _battery(battery, parts)
    for exercise in parts.exercises.values():
        yield from _driver(exercise, ("driver",), exercise.value.driver, parts)
        yield from _criteria(exercise, parts)
    for left in parts.leave_out.values():
        if left.value.driver is not None:
            yield from _driver(left, ("driver",), left.value.driver, parts)
        elif left.value.when == "driver-spoken-against":
            yield left.problem(("driver",), 'is missing; "driver-spoken-against" is about a driver')


def _references_of_test(test: Placed[TestSpec], parts: Parts) -> Iterator[Problem]:
    for index, sign in enumerate(test.value.signs):
        yield from _refer(test, ("signs", index), sign, parts.signs, "sign", parts, "signs")
    for index, cue in enumerate(test.value.cues):
        yield from _driver(test, ("cues", index, "for_driver"), cue.for_driver, parts)
    for index, rule in enumerate(test.value.evidence):
        yield from _driver(test, ("evidence", index, "driver"), rule.driver, parts)


def _judged_from_memory(test: Placed[TestSpec], parts: Parts) -> Iterator[Problem]:
    for index, line in enumerate(test.value.lines):
        source = parts.sources.get(line.source)
        if line.role == "judge" and source and source.value.provenance == "from memory":
            yield test.problem(
                ("lines", index, "source"),
                f"{shown(line.source)} is from memory, so this line may not judge a result; "
                'give it the role "flag" or a source that was read',
            )


def _battery(battery: Placed[Battery], parts: Parts) -> Iterator[Problem]:
    order: dict[str, int] = {}
    for index, item in enumerate(battery.value.items):
        if item.test in order:
            yield battery.problem(("items", index, "test"), f"{shown(item.test)} is given twice")
        order.setdefault(item.test, index)
        if item.test not in parts.tests and item.test not in parts.unread_ids:
            yield battery.problem(
                ("items", index, "test"), no_such(item.test, "test of any file", parts.tests)
            )
    for index, gate in enumerate(battery.value.gates):
        for name, test in (("withhold", gate.withhold), ("after", gate.after)):
            if test not in order:
                yield battery.problem(
                    ("gates", index, name), no_such(test, "test among the items", order)
                )
        if order.get(gate.withhold, len(order)) <= order.get(gate.after, -1):
            yield battery.problem(
                ("gates", index, "after"),
                f"{shown(gate.after)} must come before {shown(gate.withhold)} among the items",
            )
        tested = parts.tests.get(gate.after)
        if tested:
            for path, reason in misfits_of_condition(gate.when, tested.value):
                yield battery.problem(("gates", index, "when", *path), reason)


def _criteria(exercise: Placed[Exercise], parts: Parts) -> Iterator[Problem]:
    """Whether the tests can tell what an exercise waits for."""
    for index, criterion in enumerate(exercise.value.progress_if):
        place: FieldPath = ("progress_if", index)
        tested = parts.tests.get(criterion.test)
        if tested:
            for path, reason in misfits_of_condition(criterion.condition, tested.value):
                yield exercise.problem((*place, *path), reason)
        elif criterion.test not in parts.unread_ids:
            reason = no_such(criterion.test, "test of any file", parts.tests)
            yield exercise.problem((*place, "test"), reason)


def _driver(placed: Placed[Any], path: FieldPath, driver: str, parts: Parts) -> Iterator[Problem]:
    yield from _refer(placed, path, driver, parts.drivers, "driver", parts, "drivers")


def _refer(
    placed: Placed[Any],
    path: FieldPath,
    wanted: str,
    table: Mapping[str, object],
    what: str,
    parts: Parts,
    kind: FileKind,
) -> Iterator[Problem]:
    if wanted not in table and kind not in parts.unread:
        yield placed.problem(path, no_such(wanted, f"{what} in {kind}.toml", table))


def _all_placed(parts: Parts) -> Iterator[Placed[Any]]:
    for table in (
        parts.batteries,
        parts.tests,
        parts.cautions,
        parts.stop_rules,
        parts.call_rules,
        parts.drivers,
        parts.exercises,
        parts.leave_out,
    ):
        yield from table.values()


def _fields_named(name: str, model: BaseModel) -> Iterator[tuple[FieldPath, str]]:
    """Every text field of that name in a model and the models inside it."""
    for key, value in vars(model).items():
        if isinstance(value, str):
            if key == name:
                yield (key,), value
        elif isinstance(value, BaseModel):
            yield from (((key, *path), found) for path, found in _fields_named(name, value))
        elif isinstance(value, tuple):
            for index, item in enumerate(value):
                if isinstance(item, BaseModel):
                    for path, found in _fields_named(name, item):
                        yield (key, index, *path), found
