"""A session that follows an earlier one: what is asked again, which tests come first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from screen_tui.engine.change import readings_of
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.visits import value_words
from screen_tui.session.model import Client, Intake, Session
from screen_tui.trial.battery import Item
from screen_tui.trial.intake import IntakeForm
from screen_tui.trial.intake_questions import CLEARED, READY, Answer, Question, questions_of

_SETTLED = frozenset(
    {"side", "complaints", "goals", "alone_at_home"}
    | {"label", "age", "sex", "height_cm", "mass_kg"}
)
"""Questions that a retest does not put, where they have an answer: `a` changes it at any time."""
_A_YEAR = 52


def form_again(protocol: ScreenProtocol, earlier: Session, today: date) -> IntakeForm:
    """The questions of a retest: safety and what may have changed, with the answers of last time.

    Safety, pain and falls are asked anew. Weeks since surgery are counted on, for a year.
    """
    intake = earlier.intake
    anew = {"pain_now", "pain_worst", "note", "recent_surgery_weeks", "surgery"}
    anew |= {question.id for question in protocol.history if question.at_retest == "asked"}
    anew |= {question.id for question in questions_of(protocol) if question.part == "safety"}
    then = answers_of(protocol, earlier.client, intake)
    answers = {name: one for name, one in then.items() if name not in anew - {"side"}}
    if intake.recent_surgery_weeks is not None:
        weeks = intake.recent_surgery_weeks + (today - earlier.started.date()).days // 7
        if weeks <= _A_YEAR:
            answers["recent_surgery_weeks"] = str(weeks)
            if intake.surgery is not None:
                answers["surgery"] = intake.surgery
    accepted = {"recent_surgery_weeks", "precautions"} - set(answers)
    return asking_less(protocol, IntakeForm.restored(protocol, answers, accepted, ""))


def asking_less(protocol: ScreenProtocol, form: IntakeForm) -> IntakeForm:
    """The form without the questions that a retest does not put, at the first that is open."""
    holds = {question.id for question in protocol.history if not question.at_retest}
    settled = {
        question.id
        for question in form.questions
        if question.id in _SETTLED | holds and (question.optional or question.id in form.answers)
    }
    return form.without(frozenset(settled))


def form_of(protocol: ScreenProtocol, session: Session) -> IntakeForm:
    """The questions with the answers of a session, to change one; the last line is not there.

    What was not asked then needs no answer now, and what hardly goes together was asked about.
    """
    form = IntakeForm.restored(
        protocol, answers_of(protocol, session.client, session.intake), (), ""
    )
    known = {one.id: True for one in form.rows() if one.id.startswith("doubt:")}
    form = replace(form, answers={**form.answers, **known}, unasked=frozenset(form.missing))
    passed = {q.id for q in form.questions if q.optional and q.id not in form.answers}
    return replace(form, accepted=frozenset(passed), settled=frozenset({READY}))


def answers_of(protocol: ScreenProtocol, client: Client, intake: Intake) -> dict[str, Answer]:
    """What was answered before testing, as the form holds it; what was not asked has no answer."""
    given = {one.id: _given(one, client, intake) for one in questions_of(protocol)}
    return {name: one for name, one in given.items() if one is not None and one not in ((), "")}


def _given(question: Question, client: Client, intake: Intake) -> Answer | None:
    if question.caution:
        if any(one.caution == question.id for one in intake.cleared):
            return CLEARED
        if question.id in intake.cautions:
            return True
        return False if question.id in intake.safety_asked else None
    if question.clears:
        cleared = (one for one in intake.cleared if one.caution == question.clears)
        return next((getattr(one, question.field) for one in cleared), None)
    if question.history:
        # As far as it may be answered now.
        possible = {value for value, _ in question.options}
        then = tuple(one for one in intake.history.get(question.id, ()) if one in possible)
        return then if question.kind == "several" else next(iter(then), None)
    model = client if question.id in Client.model_fields else intake
    value: Answer | float | None = getattr(model, question.id, None)
    if isinstance(value, int | float) and not isinstance(value, bool):
        return f"{value:g}"
    return value


def asked_again(protocol: ScreenProtocol, earlier: Session) -> frozenset[str]:
    """The tests of the earlier screen that are asked for again, so that like is held against like.

    Those that were asked for then, and of tests that overlap the one that was done.
    """
    done = {trial.test for trial in earlier.as_amended.trials if trial.counts}
    again: set[str] = set()
    covered: set[str] = set()
    for item in protocol.battery.items:
        overlaps = item.instead_of and item.test not in covered
        if item.test in done and (item.when_asked or overlaps):
            again.add(item.test)
            covered |= set(item.instead_of)
    return frozenset(again)


def same_tests_first(
    protocol: ScreenProtocol, items: tuple[Item, ...], earlier: Session
) -> tuple[Item, ...]:
    """The items with the tests of the earlier screen before the others, each in their order.

    A test whose result may withhold another, or call for it, comes before it still, done then or
    not: what made the order safe is not given up for the sake of comparison.
    """
    first = {trial.test for trial in earlier.as_amended.trials if trial.counts}
    before = first
    while before:
        needed = {gate.after for gate in protocol.battery.gates if gate.withhold in before}
        needed |= {
            one.test
            for item in protocol.battery.items
            if item.only_if is not None and item.test in before
            for one in item.only_if.any_of
        }
        before = needed - first
        first |= before
    return tuple(sorted(items, key=lambda item: item.test not in first))


def values_then(protocol: ScreenProtocol, earlier: Session) -> Mapping[tuple[str, str | None], str]:
    """What the earlier screen measured, by test and side, in a few words."""
    found: dict[tuple[str, str | None], str] = {}
    for (test, side, measure_id), reading in readings_of(protocol, earlier).items():
        if reading.value is None:
            continue
        measure = protocol.test(test).measure(measure_id)
        text = f"{measure.label.lower()} {value_words(reading, measure.decimals)} {measure.unit}"
        place = (test, side)
        found[place] = f"{found[place]}, {text}" if place in found else text
    when = earlier.started.date().isoformat()
    return {place: f"On {when}: {text}" for place, text in found.items()}
