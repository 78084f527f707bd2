"""What must fit together between a practice case, its protocol and the program's answer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from screen_tui.engine.assess import assess
from screen_tui.engine.safety import unloaded_only
from screen_tui.files.reasons import FieldPath, Mismatch, no_such, shown
from screen_tui.practice.case import (
    FROM_PATIENT,
    OWN_WORDS_OPTIONAL,
    Case,
    Said,
    Shown,
    Truth,
    true_intake,
)
from screen_tui.practice.player import length_of
from screen_tui.practice.scoring import program_answers
from screen_tui.practice.staging import true_session
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.report import words
from screen_tui.timing.spec import CAP, TimingSpec
from screen_tui.trial.intake_questions import READY, Answer, Question, questions_of, typed_problem


def mismatches_of_shown(one: Shown, spec: TestSpec, protocol: ScreenProtocol) -> Iterator[Mismatch]:
    """Everything about a trial that contradicts its test; paths begin within the trial."""
    yield from _place(one, spec)
    yield from _kind(one, spec)
    yield from _end(one, spec)
    yield from _signs(one, spec, protocol)
    over = length_of(one, spec)
    for index, told in enumerate(one.told):
        yield from _within(("told", index, "at_s"), told.at_s, over)
    yield from _in_order(("told",), [told.at_s for told in one.told])


_ABOUT_KIND = frozenset(
    {
        "repetitions_s", "pace", "direction", "steps", "half_way_up", "holds_s", "passive_deg",
        "active_deg", "value",
    }
)  # fmt: skip


def _place(one: Shown, spec: TestSpec) -> Iterator[Mismatch]:
    if spec.sided and one.side is None:
        yield ("side",), f'is missing; {spec.id} is done with each leg: "left" or "right"'
    if not spec.sided and one.side is not None:
        yield ("side",), f"does not belong here; {spec.id} is done with both legs"
    cues = [cue.id for cue in spec.cues]
    if one.cue and one.cue not in cues:
        yield ("cue",), no_such(one.cue, f"cue of {spec.id}", cues)
    if spec.timer.directions and one.direction is None:
        yield ("direction",), 'is missing; a flight of stairs is timed "up" or "down"'


def _kind(one: Shown, spec: TestSpec) -> Iterator[Mismatch]:
    for name in sorted(_ABOUT_KIND - _fields_of(spec.timer)):
        if getattr(one, name) not in (None, (), False):
            yield (name,), f"does not belong to {spec.id}, whose kind is {spec.timer.kind}"
    if one.pace is not None and one.repetitions_s:
        yield ("pace",), "says the same as repetitions_s; give one of the two"
    if spec.timer.one_interval and one.ends_s is None:
        yield ("ends_s",), f"is missing; it says how long {spec.id} takes"
    if spec.timer.series is not None:
        yield from _holds(one, *spec.timer.series)
    fields = spec.timer.numbers
    if fields and not any(field.id in one.numbers for field in fields):
        yield (fields[0].id,), f"is missing; {spec.id} needs a number to be read"
    for field in fields:
        number = one.numbers.get(field.id)
        if number is not None and not field.minimum <= number <= field.maximum:
            reason = f"must be {field.minimum:g} to {field.maximum:g}, as in {spec.id}"
            yield (field.id,), f"{reason}, but is {number:g}"
    yield from _repetitions(one, spec)


def _fields_of(timer: TimingSpec) -> set[str]:
    fields: set[str] = {number.id for number in timer.numbers}
    if timer.wanted(None) is not None or timer.window is not None:
        fields |= {"repetitions_s", "pace"}
    if timer.directions:
        fields |= {"direction", "steps"}
    if timer.series is not None:
        fields.add("holds_s")
    if timer.question:
        fields.add("half_way_up")
    return fields


def _repetitions(one: Shown, spec: TestSpec) -> Iterator[Mismatch]:
    wanted, window = spec.timer.wanted(one.steps), spec.timer.window
    least = max(spec.timer.split_least or 0.0, 0.1)
    moments, count = one.repetitions, len(one.repetitions)
    if wanted is None and window is None:
        return

    def at(index: int) -> FieldPath:
        return ("pace",) if one.pace is not None else ("repetitions_s", index)

    if wanted is not None and count > wanted:
        yield at(0)[:1], f"has {count}, and {spec.id} has {wanted}"
    if wanted is not None and count < wanted and not one.ended:
        reason = f"has {count} of {wanted}; a trial that is broken off needs ended and ends_s"
        yield at(0)[:1], reason
    if one.ended and (wanted is None or count < wanted) and one.ends_s is None:
        yield ("ends_s",), "is missing; it says when the trial was broken off"
    for index, (before, moment) in enumerate(pairwise((0.0, *moments))):
        if moment - before < least:
            reason = (
                f"comes {moment - before:.2g} s after what is before it; "
                f"{spec.id} takes at least {least:g} s for one"
            )
            yield at(index), reason
            break
    limit = one.ends_s if one.ends_s is not None else window
    if limit is not None and moments and moments[-1] > limit:
        yield at(count - 1), f"is at {moments[-1]:g} s, after the end at {limit:g} s"


def _holds(one: Shown, wanted: int, hold_s: float) -> Iterator[Mismatch]:
    if len(one.holds_s) > wanted:
        yield ("holds_s",), f"has {len(one.holds_s)}; there are {wanted} holds"
    if len(one.holds_s) < wanted and not one.ended:
        reason = f"has {len(one.holds_s)} of {wanted}; a series that is broken off needs ended"
        yield ("holds_s",), reason
    for index, hold in enumerate(one.holds_s):
        if not 0 < hold <= hold_s:
            yield ("holds_s", index), f"must be more than 0 and at most {hold_s:g}"


def _end(one: Shown, spec: TestSpec) -> Iterator[Mismatch]:
    cap = spec.timer.cap
    if cap is not None and one.ends_s is not None:
        if one.ends_s > cap:
            yield ("ends_s",), f"must be at most {cap:g}, the full time of {spec.id}"
        elif (one.ends_s == cap) != (one.ended == CAP):
            yield ("ended",), f'must be "{CAP}" at the full time of {cap:g} s, and only then'
        elif not one.ended:
            yield ("ended",), "is missing; it says what ended the hold"
    if one.ended and one.ended != CAP:
        known = spec.timer.end_reasons
        if one.ended not in known:
            yield ("ended",), no_such(one.ended, f"reason that {spec.id} can end for", known)
    if one.ended == CAP and cap is None:
        yield ("ended",), f'"{CAP}" is for holds; {spec.id} has no full time to reach'
    if (spec.timer.series or spec.timer.numbers) and one.ends_s is not None:
        yield ("ends_s",), f"does not belong to {spec.id}; its length follows from the rest"
    window = spec.timer.window
    if window is not None and one.ends_s is not None:
        if one.ends_s >= window:
            yield ("ends_s",), f"is for a trial that is broken off before its {window:g} s"
        elif not one.ended:
            yield ("ended",), "is missing; it says why the trial was broken off"


def _signs(one: Shown, spec: TestSpec, protocol: ScreenProtocol) -> Iterator[Mismatch]:
    over = length_of(one, spec)
    seen: set[str] = set()
    names = sign_names(protocol, spec.signs)
    for index, sighting in enumerate(one.signs):
        here = ("signs", index)
        if sighting.sign not in spec.signs:
            yield (*here, "sign"), no_such(sighting.sign, f"sign of {spec.id}", spec.signs)
        if sighting.sign in seen:
            yield (*here, "sign"), f"{shown(sighting.sign)} is given twice; put all moments in at_s"
        seen.add(sighting.sign)
        for place, moment in enumerate(sighting.at_s):
            yield from _within((*here, "at_s", place), moment, over)
        yield from _in_order((*here, "at_s"), sighting.at_s)
        for field in ("from_front", "from_side"):
            yield from named_in((*here, field), getattr(sighting, field), names)
    for index, told in enumerate(one.told):
        yield from named_in(("told", index, "says"), told.says, names)


def sign_names(protocol: ScreenProtocol, signs: Iterable[str]) -> dict[str, str]:
    """The words that name a sign, in small letters, with its id."""
    known = {sign.id: sign.label.lower() for sign in protocol.signs}
    ids = [sign for sign in signs if sign in known]
    return {name.replace("-", " "): sign for sign in ids for name in (known[sign], sign)}


def named_in(path: FieldPath, text: str, names: dict[str, str]) -> Iterator[Mismatch]:
    """Words that give a sign away by its name: the student is to see it, not to read it."""
    plain = " ".join(text.lower().replace("-", " ").split())
    for name, sign in names.items():
        if name in plain:
            yield path, f'names the sign {sign} ("{name}"); say only how it looks'
            return


def _within(path: FieldPath, moment: float, over: float) -> Iterator[Mismatch]:
    if moment > over:
        yield path, f"is at {moment:g} s, after the end of the trial at {over:g} s"


def _in_order(path: FieldPath, moments: Sequence[float]) -> Iterator[Mismatch]:
    for index, (before, moment) in enumerate(pairwise(moments)):
        if moment < before:
            yield (*path, index + 1), f"is at {moment:g} s, before the {before:g} s above it"


_DRIVERS_OF = {"likely": (1,), "possible": (1,), "mixed": (2,), "unloaded-only": (1, 0)}
"""How many drivers an outcome names; one that is not here names none."""


def mismatches(case: Case, protocol: ScreenProtocol) -> Iterator[Mismatch]:
    """Everything in a case that contradicts the protocol or the case itself, with its field."""
    found_in_answers = list(_said(case, protocol))
    yield from found_in_answers
    if not found_in_answers:
        yield from _answer_fits(case)
    names = sign_names(protocol, (sign.id for sign in protocol.signs))
    yield from named_in(("story",), case.story, names)
    for index, one in enumerate(case.shown):
        spec = protocol.known_test(one.test)
        if spec is None:
            known = [test.id for test in protocol.tests]
            yield ("shown", index, "test"), no_such(one.test, "test of this protocol", known)
            continue
        for path, reason in mismatches_of_shown(one, spec, protocol):
            yield ("shown", index, *path), reason
    for path, reason in _truth(case.truth, protocol):
        yield ("truth", *path), reason


def _said(case: Case, protocol: ScreenProtocol) -> Iterator[Mismatch]:
    questions = {question.id: question for question in questions_of(protocol)}
    given: dict[str, int] = {}
    for index, said in enumerate(case.said):
        if said.question not in questions or said.question in ("label", READY):
            yield ("said", index, "question"), no_such(said.question, "question", questions)
            continue
        if said.question in given:
            yield ("said", index, "question"), f"{shown(said.question)} is answered twice"
        given.setdefault(said.question, index)
        problem = _mismatch_of_truth(questions[said.question], said)
        if problem:
            yield ("said", index, "truth"), problem
    answers: dict[str, Answer] = {
        said.question: _as_answer(said) for said in case.said if said.truth is not None
    }
    for question in questions.values():
        asked, index_of = question.asked(answers), given.get(question.id)
        needed = not question.history and question.id not in (*OWN_WORDS_OPTIONAL, READY)
        needed = needed and question.doubt is None
        if asked and index_of is None and needed:
            yield ("said",), f"has no answer to the question {shown(question.id)}"
        elif not asked and index_of is not None:
            reason = f"{shown(question.id)} is not asked after the other answers"
            yield ("said", index_of, "question"), reason


def _as_answer(said: Said) -> Answer:
    if isinstance(said.truth, bool | str | tuple):
        return said.truth
    return f"{said.truth:g}"


def _mismatch_of_truth(question: Question, said: Said) -> str:
    truth = said.truth
    if question.id in FROM_PATIENT:
        return "" if truth is None else "is under [patient] already; leave it out here"
    if truth is None and question.optional:
        return ""
    if question.kind == "number":
        if isinstance(truth, bool | str | tuple) or truth is None:
            return "must be a number, written without quotes"
        return typed_problem(question, f"{truth:g}")
    options = [value for value, _ in question.options]
    fits, otherwise = {
        "yes-no": (isinstance(truth, bool), "must be true or false"),
        "choice": (truth in options, f"must be one of {', '.join(options)}"),
        "several": (
            isinstance(truth, tuple) and bool(truth) and set(truth) <= set(options),
            f"must be an array of {', '.join(options)}",
        ),
        "text": (truth is None or isinstance(truth, str), 'must be text in "quotes"'),
    }[question.kind]
    return "" if fits else otherwise


def _answer_fits(case: Case) -> Iterator[Mismatch]:
    intake, outcome = true_intake(case), case.truth.outcome
    together = ""
    if bool(intake.cautions) != (outcome == "refer-first"):
        together = "a safety question whose truth is yes and the outcome refer-first"
    elif not intake.cautions and unloaded_only(intake) != (outcome == "unloaded-only"):
        together = "weight-bearing partial, touch or none and the outcome unloaded-only"
    if together:
        yield ("truth", "outcome"), f"{together} belong together"


def _truth(truth: Truth, protocol: ScreenProtocol) -> Iterator[Mismatch]:
    drivers = {driver.id: driver for driver in protocol.drivers}
    for index, named in enumerate(truth.drivers):
        driver = drivers.get(named.driver)
        if driver is None:
            reason = no_such(named.driver, "driver of this protocol", drivers)
            yield ("drivers", index, "driver"), reason
        elif driver.sided != (named.side is not None):
            needs = "needs left, right or both" if driver.sided else "belongs to no side"
            yield ("drivers", index, "side"), f"{named.driver} {needs}"
    counts = _DRIVERS_OF.get(truth.outcome, (0,))
    if len(truth.drivers) not in counts:
        yield ("drivers",), f"must name {counts[0]} for the outcome {truth.outcome}"
    tests = {one.id: one for one in protocol.tests}
    for index, test in enumerate(truth.next_tests):
        spec = tests.get(test.test)
        cues = [cue.id for cue in spec.cues] if spec is not None else []
        if spec is None:
            reason = no_such(test.test, "test of this protocol", tests)
            yield ("next_tests", index, "test"), reason
        elif test.cue and test.cue not in cues:
            yield ("next_tests", index, "cue"), no_such(test.cue, f"cue of {spec.id}", cues)
        elif spec.sided != (test.side is not None):
            needs = "needs its side" if spec.sided else "is done with both legs"
            yield ("next_tests", index, "side"), f"{spec.id} {needs}"
    exercises, left_out = ([x.id for x in of] for of in (protocol.exercises, protocol.leave_out))
    for field, ids, known, what in (
        ("start", truth.start, exercises, "exercise"),
        ("leave_out", truth.leave_out, left_out, "thing to leave out"),
    ):
        for index, one in enumerate(ids):
            if one not in known:
                yield (field, index), no_such(one, f"{what} of this protocol", known)


def program_on(
    case: Case, protocol: ScreenProtocol
) -> tuple[tuple[str, ...], tuple[Mismatch, ...]]:
    """What the program makes of a perfect record of a case.

    Returns:
        In words, the answer, and which tests are offered that the case does not show; and where
        the author's answer is another one, if the case does not say why.
    """
    session = true_session(case, protocol, 0)
    found = assess(protocol, session)
    names = (f"{one.test}, {one.side}" if one.side else one.test for one in session.skipped)
    in_words = (
        f"the program answers: {found.headline}",
        f"offered and not shown: {'; '.join(dict.fromkeys(names)) or 'none'}",
    )
    truth, program = case.truth, program_answers(found, protocol)
    same = truth.outcome == program.outcome and {*truth.drivers} == {*program.drivers}
    if same or truth.engine_differs:
        return in_words, ()
    named = " and ".join(
        words.driver_name(protocol, one.driver) + (f", {one.side}" if one.side else "")
        for one in program.drivers
    )
    reason = (
        f"contradicts the network: the program answers {program.outcome}"
        f"{f' ({named})' if named else ''} to a record without errors; change what the case "
        "shows, or say in engine_differs why"
    )
    return in_words, ((("truth", "outcome"), reason),)
