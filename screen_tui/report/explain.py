"""An assessment in plain text for the terminal: in a screenful, or every step to check by hand."""

from __future__ import annotations

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
from screen_tui.report import facts, words
from screen_tui.report.text import TextWriter
from screen_tui.session.model import Session, Trial


def write_explanation(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> str:
    """Write every step the engine took.

    Returns:
        Printable ASCII, at most 72 columns, ended by one line feed.
    """
    out = TextWriter()
    _write_trials(out, protocol, session)
    out.heading("1. Grade")
    out.text("Each number against its cut-off, given age and sex.")
    for result in assessment.results:
        _write_result(out, protocol, result)
    for effect in assessment.cue_effects:
        name = words.test_on(protocol, effect.test, effect.side)
        out.item(
            f"{name}, repeated with the cue {effect.cue}",
            words.cue_effect_words(protocol, effect),
            indent=2,
        )
    if not assessment.results:
        out.text("Nothing to grade.", indent=2)
    _write_chances(out, protocol, assessment)
    _write_path(out, protocol, assessment)
    _write_answer(out, protocol, assessment)
    _write_plan(out, protocol, assessment)
    return str(out)


def _write_trials(out: TextWriter, protocol: ScreenProtocol, session: Session) -> None:
    client = session.client
    out.text(f"Session {session.id}: age {client.age}, sex {client.sex}")
    out.heading("Trials")
    amended = session.as_amended.trials
    for place, (kept, trial) in enumerate(zip(session.trials, amended, strict=True), start=1):
        name = words.test_on(protocol, trial.test, trial.side)
        before = "" if kept == trial else f"as kept, before an addendum: {_number(protocol, kept)}"
        told = words.joined([_trial_words(protocol, trial), before])
        out.item(f"{place}. {name}", told, indent=2)
    if not session.trials:
        out.text("None.", indent=2)


def _trial_words(protocol: ScreenProtocol, trial: Trial) -> str:
    parts = [
        f"struck out ({trial.void}): no effect" if trial.void else "",
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


def _write_result(out: TextWriter, protocol: ScreenProtocol, result: Result) -> None:
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
    out.item(f"{name}, {result.label}", words.joined(parts), indent=2)


def _write_chances(out: TextWriter, protocol: ScreenProtocol, assessment: Assessment) -> None:
    out.heading("2. Weigh")
    if assessment.cautions:
        names = ", ".join(map(words.caution_name, assessment.cautions))
        out.text(f"Not weighed: a safety answer comes first ({names}).")
        return
    out.text(
        "Chance of each driver in 100, which is judgement: before any test, and after all. Behind "
        "each finding, by how much it moved the odds given everything else; in brackets its "
        "discount, where it was seen in pain, not marked, or shows what another shows. Findings "
        f"of less than {facts.TELLING:g} are left out. Then the chance after each test, in the "
        "order done, and without each test."
    )
    for driver in assessment.drivers:
        _write_driver(out, protocol, driver)


def _write_driver(out: TextWriter, protocol: ScreenProtocol, driver: DriverResult) -> None:
    out.blank()
    name = words.driver_on(protocol, driver.driver, driver.side)
    before, after = _in_100(driver.before), _in_100(driver.chance)
    out.item(name, f"{before} before, {after} after: {facts.driver_standing(driver)}")
    for finding in facts.telling((*driver.speaks_for, *driver.speaks_against)):
        place = words.test_on(protocol, finding.test, finding.side)
        discount = f" [{words.number(finding.weight, 2)}]" if finding.weight < 1 else ""
        factor = words.number(finding.factor, 2)
        out.item(f"x {factor}{discount}", f"{place}: {finding.words} ({finding.source})", indent=2)
    for label, by_test in (
        ("After each test", driver.after),
        ("Without each test", driver.without),
    ):
        told = [f"{protocol.test(test).short_name} {_in_100(at)}" for test, at in by_test.items()]
        if told:
            out.item(label, ", ".join(told), indent=2)


def _write_path(out: TextWriter, protocol: ScreenProtocol, assessment: Assessment) -> None:
    """What moved it, test by test; by the chance alone, before any test is taken away."""
    steps = path_of(assessment.drivers)
    if steps:
        out.blank()
        out.text("What moved it, in the order of testing:")
    for step in steps:
        out.item(
            words.test_on(protocol, step.test, None), words.step_words(protocol, step), indent=2
        )


def _in_100(chance: float) -> str:
    return words.number(100 * chance, 0)


def _write_answer(out: TextWriter, protocol: ScreenProtocol, assessment: Assessment) -> None:
    out.heading("3. Answer")
    for step in _answer_steps(protocol, assessment):
        out.text(step, indent=2, hang=2)
    out.item("Suggestion, not a diagnosis", assessment.headline)
    out.facts(facts.outside_facts(assessment.outside))
    for remark in assessment.remarks:
        out.item("Remark", remark)


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
            f"matters most to it: {facts.driver_standing(driver)}."
        )
    steps.append(
        f"Likely asks for {_in_100(LIKELY)}, {_in_100(STAYS)} without any one test, and support "
        "from two tests or a cue that worked and was undone; possible for "
        f"{_in_100(POSSIBLE)}; another driver from {_in_100(RIVAL)} beside a likely one, or two "
        f"of one leg within {_in_100(TIE)}, make it mixed."
    )
    return steps


def _write_plan(out: TextWriter, protocol: ScreenProtocol, assessment: Assessment) -> None:
    out.heading("4. Plan")
    for start in assessment.plan.start:
        told = f"{words.start_for(protocol, start)}; {start.dose}"
        out.item(f"Start {start.name}", told, indent=2)
    for left in assessment.plan.leave_out:
        out.item(f"Leave out {left.name}", left.reason, indent=2)
    for raised in assessment.precautions:
        out.item("Precaution", words.precaution_words(raised), indent=2)
    for item in assessment.next_tests:
        out.item(
            f"Next {words.next_place(protocol, item)}",
            f"{words.between_words(protocol, item)}: {words.number(item.expected_bits, 2)} bits in "
            f"{words.number(item.minutes, 1)} min",
            indent=2,
        )
    if not (assessment.plan.start or assessment.plan.leave_out or assessment.next_tests):
        out.text("Nothing to start, to leave out, or to test next.", indent=2)


def write_summary(protocol: ScreenProtocol, assessment: Assessment) -> str:
    """Say what an assessment comes to, without the reasons; those are in the note and the JSON.

    Returns:
        Printable ASCII, at most 72 columns, ended by one line feed.
    """
    out = TextWriter()
    out.item("Rule-based suggestion, not a diagnosis", assessment.headline)
    if assessment.leading:
        out.text(f"{words.FITS_BEST}. {words.NO_PROOF}")
    out.item("Kind of answer", words.OUTCOMES[assessment.outcome])
    for caution in assessment.cautions:
        out.item(f"Refer first: {words.caution_name(caution)}", words.caution_step(caution))
    for raised in assessment.precautions:
        out.item("Precaution", words.precaution_words(raised))
    _block(out, "Results", [_result(protocol, result) for result in assessment.results])
    drivers = [
        (
            words.driver_on(protocol, driver.driver, driver.side),
            facts.driver_standing(driver),
        )
        for driver in assessment.drivers
        if driver.standing != "not-supported" or driver.chance >= facts.WORTH_A_LINE
    ]
    _block(out, "Drivers", drivers)
    settles = [
        (words.next_place(protocol, item), words.between_words(protocol, item))
        for item in assessment.next_tests
    ]
    _block(out, facts.NEXT_TESTS, settles)
    _block(out, "Start", [(start.name, start.dose) for start in assessment.plan.start])
    _block(out, "Leave out", [(left.name, left.reason) for left in assessment.plan.leave_out])
    skipped = [
        (words.test_on(protocol, test, side), reason) for test, side, reason in assessment.not_done
    ]
    _block(out, "Not done", skipped)
    return str(out)


def _block(out: TextWriter, heading: str, items: list[tuple[str, str]]) -> None:
    if not items:
        return
    out.heading(heading)
    for label, value in items:
        out.item(label, value, indent=2)


def _result(protocol: ScreenProtocol, result: Result) -> tuple[str, str]:
    place = f"{words.test_on(protocol, result.test, result.side)}, {result.label}"
    if result.value is None:
        return place, words.standing_words(result)
    value = words.result_amount(result)
    line = ""
    if result.line is not None:
        line = f"; cut-off {words.limit_words(result.line, result)}"
    return place, f"{value}{line}; {words.standing_words(result)}"
