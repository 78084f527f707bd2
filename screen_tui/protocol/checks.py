"""What must fit together inside the file of one test, and between the files of a protocol."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations
from typing import Any, Literal

from pydantic import BaseModel

from screen_tui.errors import Problem
from screen_tui.files.reasons import FieldPath, no_such, shown
from screen_tui.protocol.history import HistoryQuestion, mismatches_in_question
from screen_tui.protocol.knowledge import (
    Companion,
    ContradictionRule,
    Exercise,
    PrecautionRule,
)
from screen_tui.protocol.model import Battery
from screen_tui.protocol.raw import FileKind, Placed, RawProtocol
from screen_tui.protocol.tests import (
    Band,
    Condition,
    MeasurementError,
    Reference,
    ResultLine,
    ResultMeasure,
    TestSpec,
)
from screen_tui.timing.kinds import kinds_that_take
from screen_tui.timing.spec import TimingSpec

Mismatch = tuple[FieldPath, str]

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
                yield ("points", "groups", index, sign), _not_among_signs(sign, test)
    for index, rule in enumerate(test.evidence):
        for path, reason in mismatches_of_condition(rule.when, test):
            yield ("evidence", index, "when", *path), reason


def mismatches_of_condition(when: Condition, test: TestSpec) -> Iterator[Mismatch]:
    """What a condition asks of a test that the test does not have."""
    measures = [measure.id for measure in test.measures]
    if when.measure is not None and when.measure not in measures:
        yield ("measure",), no_such(when.measure, "measure of this test", measures)
    elif when.standing and not any(
        line.role == "judge" and line.measure == when.measure for line in test.lines
    ):
        reason = f'can never be known: no line with the role "judge" is about {when.measure}'
        yield ("standing",), reason
    cues = [cue.id for cue in test.cues]
    if when.cue is not None and when.cue not in cues:
        yield ("cue",), no_such(when.cue, "cue of this test", cues)
    for name in ("signs_any", "signs_all", "signs_none", "in_order", "cured", "persists"):
        for index, sign in enumerate(getattr(when, name)):
            if sign not in test.signs:
                yield (name, index), _not_among_signs(sign, test)
    if not test.sided:
        for name in ("both_sides", "only_this_side", "worse_than_other_percent"):
            if getattr(when, name):
                yield (name,), "compares sides, but this test is done with both legs at once"
    if when.in_order and not test.timer.ordered:
        reason = f"needs a clock to tell which came first, which a {test.timer.kind} has not"
        yield ("in_order",), reason
    if when.slowing_percent is not None and test.timer.split_least is None:
        yield ("slowing_percent",), f"needs split times, which a {test.timer.kind} has not"
    if when.at_least is not None and when.at_most is not None and when.at_least > when.at_most:
        yield ("at_least",), f"is above at_most, {shown(when.at_most)}, so it can never hold"


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
        case "deficit":
            if not test.sided:
                return "it compares knees, but the sides are not tested apart"
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
    return "" if noted else f'the set-up does not note "{condition}"'


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
        yield from _overlaps(("lines", index, "limits"), line.limits)
    for index, reference in enumerate(test.references):
        yield from _overlaps(("references", index, "rows"), reference.rows)


def _overlaps(path: FieldPath, bands: Sequence[Band]) -> Iterator[Mismatch]:
    for (_, earlier), (index, later) in combinations(enumerate(bands), 2):
        same_sex = earlier.sex == later.sex or "any" in (earlier.sex, later.sex)
        from_age = max(earlier.from_age, later.from_age)
        to_age = min(earlier.to_age, later.to_age)
        if same_sex and from_age <= to_age:
            ages = f"age {from_age}" if from_age == to_age else f"ages {from_age} to {to_age}"
            reason = f"overlaps an earlier band at {ages} ({later.sex}); both ends belong to a band"
            yield (*path, index), reason


def _not_among_signs(sign: str, test: TestSpec) -> str:
    return no_such(sign, "sign of this test", test.signs)


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
    for question in raw.questions.values():
        yield from _question(question, raw)
    for battery in raw.batteries.values():
        yield from _battery(battery, raw)
    for exercise in raw.exercises.values():
        if exercise.value.driver is not None:
            yield from _refer(exercise, ("driver",), exercise.value.driver, "drivers", raw)
        yield from _criteria(exercise, raw)
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
    for index, cue in enumerate(test.value.cues):
        yield from _refer(test, ("cues", index, "for_driver"), cue.for_driver, "drivers", raw)
    for index, rule in enumerate(test.value.evidence):
        yield from _refer(test, ("evidence", index, "driver"), rule.driver, "drivers", raw)


def _judged_from_memory(test: Placed[TestSpec], raw: RawProtocol) -> Iterator[Problem]:
    for index, line in enumerate(test.value.lines):
        source = raw.sources.get(line.source)
        if line.role == "judge" and source and source.value.provenance == "from memory":
            yield test.problem(
                ("lines", index, "source"),
                f"{shown(line.source)} is from memory, so this line may not judge a result; "
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
