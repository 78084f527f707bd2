"""What must fit together between a practice case and the protocol it is played with."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from screen_tui.engine.safety import unloaded_only
from screen_tui.files.reasons import no_such, shown
from screen_tui.practice.case import Case, Said, Truth
from screen_tui.practice.interview import FROM_PATIENT, OWN_WORDS_OPTIONAL, true_intake
from screen_tui.practice.showncheck import Misfit, misfits_of_shown, named_in, sign_names
from screen_tui.protocol.whole import Protocol
from screen_tui.trial.intake_questions import Answer, Question, questions_of, typed_problem

_DRIVERS_OF = {"likely": 1, "possible": 1, "mixed": 2}
"""How many drivers an outcome names; the others that are not here name none, or may name one."""


def misfits(case: Case, protocol: Protocol) -> Iterator[Misfit]:
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
        for path, reason in misfits_of_shown(one, spec, protocol):
            yield ("shown", index, *path), reason
    yield from _truth(case.truth, protocol)


def _said(case: Case, protocol: Protocol) -> Iterator[Misfit]:
    questions = {question.id: question for question in questions_of(protocol)}
    given: dict[str, int] = {}
    for index, said in enumerate(case.said):
        if said.question not in questions or said.question == "label":
            yield ("said", index, "question"), no_such(said.question, "question", questions)
            continue
        if said.question in given:
            yield ("said", index, "question"), f"{shown(said.question)} is answered twice"
        given.setdefault(said.question, index)
        problem = _misfit_of_truth(questions[said.question], said)
        if problem:
            yield ("said", index, "truth"), problem
    answers: dict[str, Answer] = {
        said.question: _as_answer(said) for said in case.said if said.truth is not None
    }
    for question in questions.values():
        asked, index_of = question.asked(answers), given.get(question.id)
        if asked and index_of is None and question.id not in OWN_WORDS_OPTIONAL:
            yield ("said",), f"has no answer to the question {shown(question.id)}"
        elif not asked and index_of is not None:
            yield (
                ("said", index_of, "question"),
                f"{shown(question.id)} is not asked after the other answers",
            )


def _as_answer(said: Said) -> Answer:
    """The right tick as the form of the questions holds it."""
    if isinstance(said.truth, bool | str | tuple):
        return said.truth
    return f"{said.truth:g}"


def _misfit_of_truth(question: Question, said: Said) -> str:
    """Why the truth of an answer is not a possible tick; "" when it is."""
    truth = said.truth
    if question.id in FROM_PATIENT:
        return "" if truth is None else "stands under [patient] already; leave it out here"
    options = [value for value, _ in question.options]
    match question.kind:
        case "yes-no":
            return "" if isinstance(truth, bool) else "must be true or false"
        case "choice":
            fits = isinstance(truth, str) and truth in options
            return "" if fits else f"must be one of {', '.join(options)}"
        case "several":
            if truth is None and question.optional:
                return ""
            fits = isinstance(truth, tuple) and set(truth) <= set(options) and bool(truth)
            return "" if fits else f"must be an array of {', '.join(options)}"
        case "number":
            if truth is None and question.optional:
                return ""
            if isinstance(truth, bool | str | tuple) or truth is None:
                return "must be a number, written without quotes"
            return typed_problem(question, f"{truth:g}")
        case "text":
            fits = truth is None or isinstance(truth, str)
            return "" if fits else 'must be text in "quotes"'


def _answer_fits(case: Case) -> Iterator[Misfit]:
    """Whether the author's answer is possible after what the patient says."""
    intake, outcome = true_intake(case), case.truth.outcome
    here = ("truth", "outcome")
    if bool(intake.cautions) != (outcome == "refer-first"):
        yield (
            here,
            ("a safety question whose truth is yes and the outcome refer-first belong together"),
        )
    elif not intake.cautions and unloaded_only(intake) != (outcome == "unloaded-only"):
        yield (
            here,
            ("weight-bearing partial, touch or none and the outcome unloaded-only belong together"),
        )


def _truth(truth: Truth, protocol: Protocol) -> Iterator[Misfit]:
    drivers = {driver.id: driver for driver in protocol.drivers}
    for index, named in enumerate(truth.drivers):
        driver = drivers.get(named.driver)
        if driver is None:
            reason = no_such(named.driver, "driver of this protocol", drivers)
            yield ("truth", "drivers", index, "driver"), reason
        elif driver.sided != (named.side is not None):
            needs = "needs left, right or both" if driver.sided else "belongs to no side"
            yield ("truth", "drivers", index, "side"), f"{named.driver} {needs}"
    wanted = _DRIVERS_OF.get(truth.outcome, 1 if truth.outcome == "unloaded-only" else 0)
    fewer = truth.outcome == "unloaded-only" and not truth.drivers
    if len(truth.drivers) != wanted and not fewer:
        yield ("truth", "drivers"), f"must name {wanted} for the outcome {truth.outcome}"
    for index, test in enumerate(truth.next_tests):
        spec = protocol.known_test(test.test)
        if spec is None:
            known = [one.id for one in protocol.tests]
            reason = no_such(test.test, "test of this protocol", known)
            yield ("truth", "next_tests", index, "test"), reason
        elif test.cue and test.cue not in [cue.id for cue in spec.cues]:
            reason = no_such(test.cue, f"cue of {spec.id}", [cue.id for cue in spec.cues])
            yield ("truth", "next_tests", index, "cue"), reason
        elif spec.sided != (test.side is not None):
            needs = "needs its side" if spec.sided else "is done with both legs"
            yield ("truth", "next_tests", index, "side"), f"{spec.id} {needs}"
    yield from _known("start", truth.start, {one.id: one for one in protocol.exercises}, "exercise")
    left = {one.id: one for one in protocol.leave_out}
    yield from _known("leave_out", truth.leave_out, left, "thing to leave out")


def _known(
    field: str, ids: tuple[str, ...], known: Mapping[str, object], what: str
) -> Iterator[Misfit]:
    for index, one in enumerate(ids):
        if one not in known:
            yield ("truth", field, index), no_such(one, f"{what} of this protocol", known)
