"""A screen that follows an earlier one: who it is, which tests come first, what was found then."""

from __future__ import annotations

from collections.abc import Mapping

from screen_tui.engine.change import readings_of
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.visit_facts import value_words
from screen_tui.session.model import Session
from screen_tui.trial.battery import Item
from screen_tui.trial.intake import IntakeForm
from screen_tui.trial.intake_questions import Answer


def form_again(protocol: ScreenProtocol, earlier: Session) -> IntakeForm:
    """The questions with what does not change from visit to visit filled in.

    Safety, weight-bearing, limits, complaint and pain are asked anew: they are what changes.
    """
    client, intake = earlier.client, earlier.intake
    answers: dict[str, Answer] = {
        "label": client.label,
        "age": str(client.age),
        "sex": client.sex,
        "side": intake.side,
        "goals": tuple(intake.goals),
    }
    for name, number in (("height_cm", client.height_cm), ("mass_kg", client.mass_kg)):
        if number is not None:
            answers[name] = f"{number:g}"
    for name, known in (("surgery", intake.surgery), ("alone_at_home", intake.alone_at_home)):
        if known is not None:
            answers[name] = known
    answers |= _history_again(protocol, intake.history)
    first = IntakeForm.blank(protocol).at
    return IntakeForm.restored(protocol, answers, (), first)


def _history_again(
    protocol: ScreenProtocol, history: Mapping[str, tuple[str, ...]]
) -> dict[str, Answer]:
    """What was answered then, as far as it may be answered now."""
    found: dict[str, Answer] = {}
    for question in protocol.history:
        possible = {answer.id for answer in question.answers}
        given = tuple(one for one in history.get(question.id, ()) if one in possible)
        if given:
            found[question.id] = given if question.several else given[0]
    return found


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
    while True:
        before = {gate.after for gate in protocol.battery.gates if gate.withhold in first}
        before |= {
            one.test
            for item in protocol.battery.items
            if item.only_if is not None and item.test in first
            for one in item.only_if.any_of
        }
        if before <= first:
            break
        first |= before
    return (
        *(item for item in items if item.test in first),
        *(item for item in items if item.test not in first),
    )


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
