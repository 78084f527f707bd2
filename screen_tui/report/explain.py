"""Every step from trial to verdict, to check by hand."""

from __future__ import annotations

from collections.abc import Iterator

from screen_tui.engine.answer import (
    ENOUGH_TESTS,
    LIKELY,
    NOTHING,
    POSSIBLE,
    RIVAL,
    STAYS,
    TIE,
    path_of,
)
from screen_tui.engine.results import Assessment, DriverResult, Result
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import words
from screen_tui.report.answer import TELLING, driver_standing, opening, outside_lines, telling
from screen_tui.report.document import Document, Line, Section
from screen_tui.report.layout import PAPER, Layout, write_text
from screen_tui.session.model import Session, Trial


def write_explanation(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> str:
    """Write every step the engine took.

    Returns:
        Printable ASCII ended by one line feed.
    """
    client = session.client
    title = f"Session {session.id}: age {client.age}, sex {client.sex}"
    document = Document(
        (
            Section(tuple(_trials(protocol, session)), "Trials"),
            Section(tuple(_grades(protocol, assessment)), "1. Grade"),
            *_chances(protocol, assessment),
            Section(tuple(_answer(protocol, session, assessment)), "3. Answer"),
            Section(tuple(_plan(protocol, assessment)), "4. Plan"),
        ),
        title,
    )
    return write_text(document, Layout(PAPER, ascii_only=True))


def _trials(protocol: ScreenProtocol, session: Session) -> list[Line]:
    lines = []
    amended = session.as_amended.trials
    for place, (saved, trial) in enumerate(zip(session.trials, amended, strict=True), start=1):
        name = words.test_on(protocol, trial.test, trial.side)
        before = (
            "" if saved == trial else f"as saved, before an addendum: {_number(protocol, saved)}"
        )
        told = words.joined([_trial_words(protocol, trial), before])
        lines.append(Line(told, name, mark=f"{place}."))
    return lines or [Line("None.")]


def _trial_words(protocol: ScreenProtocol, trial: Trial) -> str:
    parts = [
        f"void ({trial.void}): no effect" if trial.void else "",
        f"repeat with the cue {trial.cue}" if trial.cue else "",
        f"{trial.direction}" if trial.direction else "",
        _number(protocol, trial),
        f"ended: {words.ended_words(trial.ended)}" if trial.ended else "",
        f"pain {trial.pain}" if trial.pain is not None else "",
        ", ".join(words.marked_words(protocol, trial, sign, timed=False) for sign in trial.signs),
        words.set_up_words(trial),
        "pain-limited: says nothing on strength" if trial.pain_limited else "",
    ]
    return words.joined(parts)


def _number(protocol: ScreenProtocol, trial: Trial) -> str:
    return words.trial_value(protocol.known_test(trial.test), trial) or "no number"


def _grades(protocol: ScreenProtocol, assessment: Assessment) -> list[Line]:
    lines = [Line("Each number against its cut-off, given age and sex.")]
    lines += [_grade(protocol, result) for result in assessment.results]
    for effect in assessment.cue_effects:
        name = words.test_on(protocol, effect.test, effect.side)
        told = words.cue_effect_words(protocol, effect)
        lines.append(Line(told, f"{name}, repeated with the cue {effect.cue}"))
    return lines if assessment.results else [*lines, Line("Nothing to grade.")]


def _grade(protocol: ScreenProtocol, result: Result) -> Line:
    name = words.test_on(protocol, result.test, result.side)
    parts = []
    if result.value is not None:
        from_trials = ", ".join(words.number(value, result.decimals) for value in result.trials)
        parts.append(f"{words.result_amount(result)} from {from_trials}")
    if result.line is not None:
        line = words.limit_words(result.line, result)
        parts.append(f"cut-off {line} ({result.line.source})")
    if result.near_within is not None and result.line is not None:
        parts.append(f"near within {words.number(result.near_within, 2)}")
    parts.append(words.standing_words(result))
    parts += [
        f"also beyond {words.limit_words(flag, result)} ({flag.source})" for flag in result.flags
    ]
    if result.slowing_percent is not None:
        parts.append(f"slowing {words.number(result.slowing_percent, 0)} %")
    if result.symmetry_percent is not None:
        parts.append(f"worse side {words.number(result.symmetry_percent, 0)} % of the better")
    return Line(words.joined(parts), f"{name}, {result.label}")


_WEIGHED = (
    "Chance of each driver in 100, which is judgement: before any test, and after all. Behind each "
    "finding, by how much it moved the odds given everything else; in brackets its discount, where "
    "it was seen in pain, not marked, or shows what another shows. Findings of less than "
    f"{TELLING:g} are left out. Then the chance after each test, in the order done, and without "
    "each test."
)


def _chances(protocol: ScreenProtocol, assessment: Assessment) -> Iterator[Section]:
    heading = "2. Weigh"
    if assessment.cautions:
        names = ", ".join(map(words.caution_name, assessment.cautions))
        told = f"Not weighed: a safety answer comes first ({names})."
        yield Section((Line(told),), heading)
        return
    yield Section((Line(_WEIGHED),), heading)
    for driver in assessment.drivers:
        yield Section(tuple(_driver(protocol, driver)))
    # By the chance alone, before any test is taken away.
    moved = [
        Line(words.step_words(protocol, step), words.test_on(protocol, step.test, None))
        for step in path_of(assessment.drivers)
    ]
    yield Section(tuple(moved), "What moved it, in the order of testing")


def _driver(protocol: ScreenProtocol, driver: DriverResult) -> list[Line]:
    name = words.driver_on(protocol, driver.driver, driver.side)
    before, after = _in_100(driver.before), _in_100(driver.chance)
    lines = [Line(f"{before} before, {after} after: {driver_standing(driver)}", name)]
    for finding in telling((*driver.speaks_for, *driver.speaks_against)):
        place = words.test_on(protocol, finding.test, finding.side)
        discount = f" [{words.number(finding.weight, 2)}]" if finding.weight < 1 else ""
        factor = words.number(finding.factor, 2)
        told = f"{place}: {finding.words} ({finding.source})"
        lines.append(Line(told, f"x {factor}{discount}", level=1))
    for label, by_test in (
        ("After each test", driver.after),
        ("Without each test", driver.without),
    ):
        told = ", ".join(
            f"{protocol.test(test).short_name} {_in_100(at)}" for test, at in by_test.items()
        )
        lines += [Line(told, label, level=1)] if told else []
    return lines


def _in_100(chance: float) -> str:
    return words.number(100 * chance, 0)


def _answer(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> list[Line]:
    steps = [Line(step) for step in _answer_steps(protocol, assessment)]
    remarks = [Line(one, "Remark") for one in assessment.remarks]
    return [*steps, *opening(protocol, session, assessment), *outside_lines(assessment), *remarks]


def _answer_steps(protocol: ScreenProtocol, assessment: Assessment) -> list[str]:
    if assessment.outcome == "refer-first":
        return ["What is unsafe outranks every chance: refer first."]
    steps = []
    if assessment.outcome == "unloaded-only":
        steps.append("The order on weight-bearing allows unloaded tests only.")
    if not assessment.leading:
        return [
            *steps,
            f"No driver reaches {_in_100(POSSIBLE)}.",
            f"Nothing found is said only after {ENOUGH_TESTS} tests, the leg complained of loaded "
            "alone among them, without a short result, a trial limited by pain or a sign seen "
            f"twice on that side, and with no driver above {_in_100(NOTHING)}.",
        ]
    for driver in assessment.leading:
        name = words.driver_on(protocol, driver.driver, driver.side)
        steps.append(
            f"{name}: {_in_100(driver.chance)}, and {_in_100(driver.least)} without the test that "
            f"matters most to it: {driver_standing(driver)}."
        )
    steps.append(
        f"Likely asks for {_in_100(LIKELY)}, {_in_100(STAYS)} without any one test, and support "
        "from two tests or a cue that worked and was undone; possible for "
        f"{_in_100(POSSIBLE)}; another driver from {_in_100(RIVAL)} beside a likely one, or two "
        f"of one leg within {_in_100(TIE)}, make it mixed."
    )
    return steps


def _plan(protocol: ScreenProtocol, assessment: Assessment) -> list[Line]:
    lines = [
        Line(f"{words.start_for(protocol, one)}; {one.dose}", f"Start {one.name}")
        for one in assessment.plan.start
    ]
    lines += [Line(one.reason, f"Leave out {one.name}") for one in assessment.plan.leave_out]
    lines += [Line(words.precaution_words(one), "Precaution") for one in assessment.precautions]
    for one in assessment.next_tests:
        bits, minutes = words.number(one.expected_bits, 2), words.number(one.minutes, 1)
        told = f"{words.between_words(protocol, one)}: {bits} bits in {minutes} min"
        lines.append(Line(told, f"Next {words.next_place(protocol, one)}"))
    return lines or [Line("Nothing to start, to leave out, or to test next.")]
