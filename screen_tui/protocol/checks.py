"""What must fit together inside the file of one test, and between the files of a protocol."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Literal

from pydantic import BaseModel

from screen_tui.errors import Problem
from screen_tui.files.reasons import FieldPath, no_such, shown
from screen_tui.protocol.bands import Condition
from screen_tui.protocol.cells import rows_of, with_cells
from screen_tui.protocol.condition_checks import (
    Mismatch,
    mismatches_of_condition,
    not_among_signs,
    overlaps,
)
from screen_tui.protocol.evidence import NONE, CellOverride
from screen_tui.protocol.history import HistoryQuestion, mismatches_in_question
from screen_tui.protocol.knowledge import (
    Companion,
    ContradictionRule,
    Exercise,
    Outside,
    PrecautionRule,
)
from screen_tui.protocol.model import Battery, BatteryItem
from screen_tui.protocol.raw import FileKind, Placed, RawProtocol
from screen_tui.protocol.row_checks import mismatches_in_odds, mismatches_in_rows
from screen_tui.protocol.tests import (
    MeasurementError,
    Reference,
    ResultLine,
    ResultMeasure,
    TestSpec,
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
            if why := timer.why_no_value():
                return why
            needed = ("value",) if fields else ()
        case "rise-power":
            return timer.why_no_rising() or _not_noted(test, "seat_cm")
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
            return timer.why_no_value()
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


def crosscheck(raw: RawProtocol) -> Iterator[Problem]:
    """Everything in the files that contradicts another part, with file, line and field."""
    for placed in raw.every():
        for path, source in _fields_named("source", placed.value):
            yield from _refer(placed, path, source, "sources", raw)
    for test in raw.tests.values():
        yield from (test.problem(path, reason) for path, reason in mismatches_in_test(test.value))
        yield from _references_of_test(test, raw)
        yield from _judged_from_memory(test, raw)
    yield from _before_testing(raw)
    for cell in raw.cells.values():
        yield from _cell(cell, raw)
    for question in raw.questions.values():
        yield from _question(question, raw)
    for battery in raw.batteries.values():
        yield from _battery(battery, raw)
    for exercise in raw.exercises.values():
        if exercise.value.driver is not None:
            yield from _refer(exercise, ("driver",), exercise.value.driver, "drivers", raw)
        yield from _criteria(exercise, raw)
    for driver in raw.drivers.values():
        for index, measured in enumerate(driver.value.unless.tests if driver.value.unless else ()):
            if measured not in raw.tests and measured not in raw.unread_ids:
                reason = no_such(measured, "test of any file", raw.tests)
                yield driver.problem(("unless", "tests", index), reason)
    for outside in raw.outside.values():
        yield from _outside(outside, raw)
    yield from _companions(raw)
    yield from _safety_rules(raw)
    for left in raw.leave_out.values():
        if left.value.driver is not None:
            yield from _refer(left, ("driver",), left.value.driver, "drivers", raw)
        elif left.value.when == "driver-spoken-against":
            yield left.problem(("driver",), 'is missing; "driver-spoken-against" is about a driver')


def _question(question: Placed[HistoryQuestion], raw: RawProtocol) -> Iterator[Problem]:
    for path, reason in mismatches_in_question(question.value):
        yield question.problem(path, reason)
    if question.value.id in raw.cautions:
        reason = f"{shown(question.value.id)} is the id of a safety question too"
        yield question.problem(("id",), reason)
    for index, answer in enumerate(question.value.answers):
        for driver in answer.odds:
            yield from _refer(question, ("answers", index, "odds", driver), driver, "drivers", raw)


def _references_of_test(test: Placed[TestSpec], raw: RawProtocol) -> Iterator[Problem]:
    for index, sign in enumerate(test.value.signs):
        yield from _refer(test, ("signs", index), sign, "signs", raw)
    yield from _signs_on_one_digit(test, raw)
    for index, cue in enumerate(test.value.cues):
        yield from _refer(test, ("cues", index, "for_driver"), cue.for_driver, "drivers", raw)
    yield from _signs_without_rows(test, raw)
    for path, _name, row in rows_of(test.value):
        for place, cells in (
            (("in_100",), row.in_100),
            *((("instead", k, "in_100"), one.in_100) for k, one in enumerate(row.instead)),
        ):
            for driver in cells.keys() - {NONE}:
                yield from _refer(test, (*path, *place, driver), driver, "drivers", raw)


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
        yield from _refer(prior, ("driver",), value.driver, "drivers", raw)
        driver = raw.drivers.get(value.driver)
        if driver and not driver.value.sided and value.complaint_side != value.other_side:
            reason = f"differs from complaint_side, but {value.driver} belongs to no side"
            yield prior.problem(("other_side",), reason)
    for odds in raw.odds.values():
        yield from (odds.problem(path, reason) for path, reason in mismatches_in_odds(odds.value))
        for name in odds.value.odds:
            yield from _refer(odds, ("odds", name), name, "drivers", raw)
    if "priors" not in raw.unread:
        for driver in raw.drivers.values():
            if driver.value.id not in raw.priors:
                yield driver.problem(("id",), f"{shown(driver.value.id)} has no row in priors.toml")


def _cell(cell: Placed[CellOverride], raw: RawProtocol) -> Iterator[Problem]:
    value = cell.value
    test = raw.tests.get(value.test)
    if test is None:
        if value.test not in raw.unread_ids:
            yield cell.problem(("test",), no_such(value.test, "test of any file", raw.tests))
        return
    if value.driver != NONE:
        yield from _refer(cell, ("driver",), value.driver, "drivers", raw)
    names = [name for _path, name, _row in rows_of(test.value)]
    if value.row not in names:
        yield cell.problem(("row",), no_such(value.row, f"row of {value.test}", names))
        return
    if any(True for _ in mismatches_in_rows(test.value)):
        return  # The mistakes of the rows themselves come first.
    place = next(path for path, name, _row in rows_of(test.value) if name == value.row)
    changed = with_cells(test.value, [one.value for one in raw.cells.values()])
    for path, reason in mismatches_in_rows(changed):
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
    for index, item in enumerate(battery.value.items):
        if item.test in order:
            yield battery.problem(("items", index, "test"), f"{shown(item.test)} is given twice")
        order.setdefault(item.test, index)
        if item.test not in raw.tests and item.test not in raw.unread_ids:
            yield battery.problem(
                ("items", index, "test"), no_such(item.test, "test of any file", raw.tests)
            )
    for index, item in enumerate(battery.value.items):
        yield from _overlaps(battery, index, item, order)
        yield from _calls(battery, index, item, order, raw)
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
        tested = raw.tests.get(gate.after)
        if tested:
            for path, reason in mismatches_of_condition(gate.when, tested.value):
                yield battery.problem(("gates", index, "when", *path), reason)


def _overlaps(
    battery: Placed[Battery], index: int, item: BatteryItem, order: Mapping[str, int]
) -> Iterator[Problem]:
    for place, test in enumerate(item.instead_of):
        path = ("items", index, "instead_of", place)
        if test not in order:
            yield battery.problem(path, no_such(test, "test among the items", order))
        elif test == item.test:
            yield battery.problem(path, "is the test itself")


def _calls(
    battery: Placed[Battery],
    index: int,
    item: BatteryItem,
    order: Mapping[str, int],
    raw: RawProtocol,
) -> Iterator[Problem]:
    for place, one in enumerate(item.only_if.any_of if item.only_if else ()):
        path = ("items", index, "only_if", "any_of", place)
        if one.test not in order:
            reason = no_such(one.test, "test among the items", order)
            yield battery.problem((*path, "test"), reason)
            continue
        if order[one.test] >= order[item.test]:
            reason = f"{shown(one.test)} must come before {shown(item.test)} among the items"
            yield battery.problem((*path, "test"), reason)
        tested = raw.tests.get(one.test)
        if tested:
            for within, reason in mismatches_of_condition(one.when, tested.value):
                yield battery.problem((*path, "when", *within), reason)


def _outside(outside: Placed[Outside], raw: RawProtocol) -> Iterator[Problem]:
    for index, finding in enumerate(outside.value.findings):
        tested = raw.tests.get(finding.test)
        if tested:
            for path, reason in mismatches_of_condition(finding.when, tested.value):
                yield outside.problem(("findings", index, "when", *path), reason)
        elif finding.test not in raw.unread_ids:
            reason = no_such(finding.test, "test of any file", raw.tests)
            yield outside.problem(("findings", index, "test"), reason)
    for name, answers in outside.value.answers.items():
        question = raw.questions.get(name)
        if question is None:
            if "history" not in raw.unread:
                reason = no_such(name, "question in history.toml", raw.questions)
                yield outside.problem(("answers", name), reason)
            continue
        known = [one.id for one in question.value.answers]
        for index, answer in enumerate(answers):
            if answer not in known:
                reason = no_such(answer, "answer of this question", known)
                yield outside.problem(("answers", name, index), reason)


def _criteria(exercise: Placed[Exercise], raw: RawProtocol) -> Iterator[Problem]:
    for name in ("progress_if", "only_if", "not_if"):
        for index, one in enumerate(getattr(exercise.value, name)):
            yield from _of_test(exercise, (name, index), one.test, one.condition, raw)


def _of_test(
    placed: Placed[Any],
    place: FieldPath,
    test: str,
    when: Condition | None,
    raw: RawProtocol,
    within: FieldPath = (),
) -> Iterator[Problem]:
    """What is asked of a test that there is not, or that the test does not have."""
    tested = raw.tests.get(test)
    if tested and when is not None:
        for path, reason in mismatches_of_condition(when, tested.value):
            yield placed.problem((*place, *within, *path), reason)
    elif not tested and test not in raw.unread_ids:
        yield placed.problem((*place, "test"), no_such(test, "test of any file", raw.tests))


def _companions(raw: RawProtocol) -> Iterator[Problem]:
    for companion in raw.companions.values():
        yield from _refer(companion, ("beside",), companion.value.beside, "drivers", raw)
        yield from _refer(companion, ("driver",), companion.value.driver, "drivers", raw)
        yield from _circumstances(companion, raw)


def _safety_rules(raw: RawProtocol) -> Iterator[Problem]:
    for contradiction in raw.contradictions.values():
        caution = contradiction.value.caution
        yield from _refer(contradiction, ("caution",), caution, "cautions", raw)
        yield from _circumstances(contradiction, raw)
    for limit in raw.limits.values():
        for index, test in enumerate(limit.value.tests):
            if test not in raw.tests and test not in raw.unread_ids:
                reason = no_such(test, "test of any file", raw.tests)
                yield limit.problem(("tests", index), reason)
        yield from _named_exercises(limit, ("exercises",), raw)
    for precaution in raw.precautions.values():
        yield from _circumstances(precaution, raw)
        yield from _named_exercises(precaution, ("needs_helper", "leave_out"), raw)


def _circumstances(
    rule: Placed[Companion] | Placed[ContradictionRule] | Placed[PrecautionRule], raw: RawProtocol
) -> Iterator[Problem]:
    for index, one in enumerate(rule.value.any_of):
        here: FieldPath = ("any_of", index)
        for place, caution in enumerate(one.cautions):
            yield from _refer(rule, (*here, "cautions", place), caution, "cautions", raw)
        for question, answers in one.history.items():
            yield from _answers(rule, (*here, "history", question), question, answers, raw)
        for place, seen in enumerate(one.seen):
            where = (*here, "seen", place)
            yield from _of_test(rule, where, seen.test, seen.when, raw, within=("when",))


def _answers(
    rule: Placed[Any], place: FieldPath, question: str, answers: Sequence[str], raw: RawProtocol
) -> Iterator[Problem]:
    """What is asked of a question of the history that there is not, or that it cannot answer."""
    asked = raw.questions.get(question)
    if asked is None:
        if "history" not in raw.unread:
            yield rule.problem(place, no_such(question, "question in history.toml", raw.questions))
        return
    known = [answer.id for answer in asked.value.answers]
    for index, answer in enumerate(answers):
        if answer not in known:
            yield rule.problem((*place, index), no_such(answer, "answer to it", known))


def _named_exercises(
    rule: Placed[Any], names: tuple[str, ...], raw: RawProtocol
) -> Iterator[Problem]:
    for name in names:
        for index, exercise in enumerate(getattr(rule.value, name)):
            yield from _refer(rule, (name, index), exercise, "exercises", raw)


def _refer(
    placed: Placed[Any],
    path: FieldPath,
    wanted: str,
    kind: Literal["signs", "cautions", "drivers", "exercises", "sources"],
    raw: RawProtocol,
) -> Iterator[Problem]:
    known: Mapping[str, object] = getattr(raw, kind)
    file: FileKind = "safety" if kind == "cautions" else kind
    if wanted not in known and file not in raw.unread:
        what = f"{kind.removesuffix('s')} in {file}.toml"
        yield placed.problem(path, no_such(wanted, what, known))


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
