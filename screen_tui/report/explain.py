"""An assessment in plain text for the terminal: in a screenful, or every step to check by hand."""

from __future__ import annotations

from screen_tui.engine.results import Assessment, Counted, DriverWeight, Result
from screen_tui.engine.weigh import (
    ENOUGH_TESTS,
    LIKELY,
    POSSIBLE,
    TIE,
    keeps_lead,
    weights_less_one,
)
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import DECIBANS
from screen_tui.report import words
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
    _write_weights(out, protocol, assessment)
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
        ", ".join(words.sign_words(protocol, sign) for sign in trial.signs),
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


def _write_weights(out: TextWriter, protocol: ScreenProtocol, assessment: Assessment) -> None:
    out.heading("2. Weigh")
    if assessment.cautions:
        names = ", ".join(caution.name for caution in assessment.cautions)
        out.text(f"Not weighed: a safety question was answered yes ({names}).")
        return
    bands = ", ".join(f"{name} {value:g}" for name, value in DECIBANS.items())
    out.text(
        f"Decibans: {bands}; half near a line or in pain. What shows the same thing counts in "
        "full once, half from another test, then nothing."
    )
    for driver in assessment.drivers:
        if driver.speaks_for or driver.speaks_against:
            _write_driver(out, protocol, driver)


def _write_driver(out: TextWriter, protocol: ScreenProtocol, driver: DriverWeight) -> None:
    out.blank()
    out.text(words.driver_on(protocol, driver.driver, driver.side))
    for counted in (*driver.speaks_for, *driver.speaks_against):
        out.item(_signed(counted.counted), _finding_words(protocol, counted), indent=2)
    least = min(weights_less_one(driver))
    out.item(
        f"= {_signed(driver.weight)}",
        f"{driver.standing}; with any one finding taken away at least {_signed(least)}",
        indent=2,
    )


def _finding_words(protocol: ScreenProtocol, counted: Counted) -> str:
    finding = counted.finding
    halved = f", halved: {finding.halved_because}" if finding.halved_because else ""
    place = words.test_on(protocol, finding.test, finding.side)
    weight = f"{finding.strength} {_signed(finding.decibans)}{halved}"
    return f"{place}: {finding.reason} [{weight}; shows {finding.shows}; {finding.source}]"


def _signed(decibans: float) -> str:
    shown = words.number(decibans, 1)
    return shown if shown.startswith("-") else f"+{shown}"


def _write_answer(out: TextWriter, protocol: ScreenProtocol, assessment: Assessment) -> None:
    out.heading("3. Answer")
    for step in _answer_steps(protocol, assessment):
        out.text(step, indent=2, hang=2)
    out.item("Suggestion, not a diagnosis", assessment.headline)
    for remark in assessment.remarks:
        out.item("Remark", remark)


def _answer_steps(protocol: ScreenProtocol, assessment: Assessment) -> list[str]:
    if assessment.cautions:
        return ["A safety answer outranks every weight: refer first."]
    steps = []
    if assessment.outcome == "unloaded-only":
        steps.append("The order on weight-bearing allows unloaded tests only.")
    if not assessment.leading:
        return [
            *steps,
            f"No driver reaches {POSSIBLE:g}.",
            f"Nothing found is said only after {ENOUGH_TESTS} tests without a short result, "
            "without a trial limited by pain and without a driver at 3.",
        ]
    leader = assessment.leading[0]
    rivals = [driver for driver in assessment.drivers if driver.driver != leader.driver]
    name = words.driver_on(protocol, leader.driver, leader.side)
    tests = sorted({one.finding.test for one in leader.speaks_for if one.counted})
    steps.append(f"{name} leads with {_signed(leader.weight)}, from {len(tests)} test(s).")
    if rivals:
        rival = words.driver_on(protocol, rivals[0].driver, rivals[0].side)
        steps.append(f"Next of another driver: {rival} with {_signed(rivals[0].weight)}.")
        apart = leader.weight - rivals[0].weight
        if rivals[0].weight >= POSSIBLE and apart <= TIE:
            steps.append(f"They are {words.number(apart, 1)} apart, within {TIE:g}: mixed.")
    steps.append(
        f"Likely asks for {LIKELY:g} from two tests and {POSSIBLE:g} with any one finding taken "
        f"away: {'met' if leader.standing == 'likely' else 'not met'}."
    )
    keeps = keeps_lead(leader, assessment.drivers)
    steps.append(
        f"With any one finding taken away it {'still leads' if keeps else 'may be passed'}."
    )
    return steps


def _write_plan(out: TextWriter, protocol: ScreenProtocol, assessment: Assessment) -> None:
    out.heading("4. Plan")
    for start in assessment.plan.start:
        name = words.driver_on(protocol, start.driver, start.side)
        out.item(f"Start {start.name}", f"for {name}; {start.dose}", indent=2)
    for left in assessment.plan.leave_out:
        out.item(f"Leave out {left.name}", left.reason, indent=2)
    for item in assessment.next_tests:
        out.item(
            f"Next {words.next_place(protocol, item)}",
            f"moves the gap by {words.number(item.expected_change, 1)} on average in "
            f"{words.number(item.minutes, 1)} min: {words.number(item.per_minute, 1)} a minute",
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
    out.item("Kind of answer", words.OUTCOMES[assessment.outcome])
    for caution in assessment.cautions:
        out.item(f"Refer first: {caution.name}", caution.next_step)
    _block(out, "Results", [_result(protocol, result) for result in assessment.results])
    drivers = [
        (
            words.driver_on(protocol, driver.driver, driver.side),
            f"{driver.standing}, weight {words.number(driver.weight, 1)}",
        )
        for driver in assessment.drivers
        if driver.speaks_for or driver.speaks_against
    ]
    _block(out, "Drivers", drivers)
    settles = [(words.next_place(protocol, item), item.reason) for item in assessment.next_tests]
    _block(out, "What would settle it", settles)
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
