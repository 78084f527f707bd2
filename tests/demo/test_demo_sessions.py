"""Each invented person who comes with the program is read as a clinician would read the story.

Which loads a weight-bearing order allows is common practice, no source.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import get_args

from demo_table import EXPECTED, Expected, every_demo, session_of

from screen_tui.engine import Assessment, assess
from screen_tui.engine.results import Outcome
from screen_tui.fields import Load
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.answer import VERDICTS, telling
from screen_tui.report.layout import PAPER
from screen_tui.report.note import write_note
from screen_tui.session.model import Intake


def assessed(protocol: ScreenProtocol, expected: Expected) -> Assessment:
    return assess(protocol, session_of(expected))


def loads_of(intake: Intake) -> set[Load]:
    """The loads a weight-bearing order allows, told apart from the engine (common practice)."""
    if intake.weight_bearing == "full" or intake.one_leg_confirmed:
        return {"unloaded", "both-legs", "one-leg", "floor"}
    if intake.weight_bearing == "as-tolerated":
        return {"unloaded", "both-legs"}
    return {"unloaded"}


def test_demos_cover_every_outcome() -> None:
    assert {one.outcome for one in EXPECTED} == set(get_args(Outcome))


def test_each_driver_leads_a_demo_of_its_own(protocol: ScreenProtocol) -> None:
    alone = [
        one.leading[0][0]
        for one in EXPECTED
        if one.outcome in ("likely", "possible") and len(one.leading) == 1
    ]
    assert sorted(alone) == sorted(driver.id for driver in protocol.drivers)


@every_demo
def test_demo_is_read_as_its_story_tells(protocol: ScreenProtocol, expected: Expected) -> None:
    assessment = assessed(protocol, expected)
    assert assessment.outcome == expected.outcome
    leading = tuple((driver.driver, driver.side) for driver in assessment.leading)
    assert leading == expected.leading


@every_demo
def test_reasons_of_a_demo_are_those_a_clinician_would_name(
    protocol: ScreenProtocol, expected: Expected
) -> None:
    spoken = [
        (one.test, one.words)
        for driver in assessed(protocol, expected).leading
        for one in telling(driver.speaks_for)
        if one.there
    ]
    for test, words in expected.reasons:
        assert any(test == said and words in reason for said, reason in spoken), (words, spoken)
    assert len(expected.reasons) >= 2 or not expected.leading


@every_demo
def test_drivers_the_findings_clear_are_not_even_possible(
    protocol: ScreenProtocol, expected: Expected
) -> None:
    standings = {
        (driver.driver, driver.side): driver.standing
        for driver in assessed(protocol, expected).drivers
        if driver.driver in expected.cleared
        and (driver.driver, driver.side) not in expected.leading
    }
    assert not [
        place for place, standing in standings.items() if standing in ("likely", "possible")
    ]


@every_demo
def test_exercises_of_a_demo_fit_its_weight_bearing(
    protocol: ScreenProtocol, expected: Expected
) -> None:
    allowed = loads_of(session_of(expected).intake)
    loads = {exercise.id: exercise.load for exercise in protocol.exercises}
    plan = assessed(protocol, expected).plan
    assert {start.exercise for start in plan.start if loads[start.exercise] not in allowed} == set()
    assert bool(plan.start) == (expected.outcome != "refer-first")
    named = {(start.driver, start.side) for start in plan.start if start.driver}
    assert named <= set(expected.leading)
    assert bool(named) == bool(expected.leading)


@every_demo
def test_note_of_a_demo_is_plain_and_says_the_answer(
    protocol: ScreenProtocol, expected: Expected
) -> None:
    session = session_of(expected)
    assessment = assess(protocol, session)
    written = datetime(2026, 4, 1, 12, 0, tzinfo=UTC)
    note = write_note(protocol, session, assessment, written, full=True)
    assert note.isascii()
    assert max(len(line) for line in note.splitlines()) <= PAPER
    in_one_line = " ".join(note.split())
    assert VERDICTS[assessment.outcome] in note
    for one in assessment.leading:
        assert protocol.driver(one.driver).name in in_one_line
    assert " ".join(session.intake.note.split()) in in_one_line
    assert "Invented demonstration data" in note


def expected_with(outcome: Outcome) -> Expected:
    return next(one for one in EXPECTED if one.outcome == outcome)


def test_refer_first_demo_names_no_driver_tests_nothing_and_starts_nothing(
    protocol: ScreenProtocol,
) -> None:
    expected = expected_with("refer-first")
    session, assessment = session_of(expected), assessed(protocol, expected)
    assert session.intake.cautions == ("fracture-rule",)
    assert [caution.id for caution in assessment.cautions] == ["fracture-rule"]
    assert session.trials == ()
    assert (assessment.drivers, assessment.results, assessment.next_tests) == ((), (), ())
    assert (assessment.plan.start, assessment.plan.leave_out) == ((), ())
    note = write_note(protocol, session, assessment, datetime(2026, 4, 1, 12, 0, tzinfo=UTC))
    assert not [driver.name for driver in protocol.drivers if driver.name in note]


def test_unloaded_only_demo_was_never_tested_in_standing(protocol: ScreenProtocol) -> None:
    expected = expected_with("unloaded-only")
    session, assessment = session_of(expected), assessed(protocol, expected)
    assert {protocol.test(trial.test).load for trial in session.trials} == {"unloaded"}
    assert {protocol.test(one.test).load for one in assessment.next_tests} <= {"unloaded"}
    assert "standing-work" in {left.id for left in assessment.plan.leave_out}


def test_undetermined_demo_takes_no_strength_from_painful_trials(protocol: ScreenProtocol) -> None:
    expected = expected_with("undetermined")
    session, assessment = session_of(expected), assessed(protocol, expected)
    assert sum(trial.pain_limited for trial in session.trials) >= 3
    quad = next(d for d in assessment.drivers if (d.driver, d.side) == ("quad-weakness", "right"))
    assert [one.words for one in quad.speaks_for if one.there and not one.in_pain] == []
    assert quad.standing == "not-supported"


def test_nothing_found_demo_has_no_result_short_of_its_line(protocol: ScreenProtocol) -> None:
    assessment = assessed(protocol, expected_with("nothing-found"))
    assert not [result.test for result in assessment.results if result.short]
    assert not [one for driver in assessment.drivers for one in telling(driver.speaks_for)]


def test_possible_demo_is_told_which_cue_would_settle_it(protocol: ScreenProtocol) -> None:
    assessment = assessed(protocol, expected_with("possible"))
    assert "arch-lifted" in {one.cue for one in assessment.next_tests if one.side == "right"}


def test_cued_repeats_show_which_way_of_moving_was_the_fault(protocol: ScreenProtocol) -> None:
    runner = next(one for one in EXPECTED if one.file == "runner-left-hip")
    foot = next(
        driver
        for driver in assessed(protocol, runner).drivers
        if (driver.driver, driver.side) == ("foot-ankle-control", "left")
    )
    against = [one.words for one in foot.speaks_against]
    assert "with the cue pelvis level: knee valgus gone" in against
    assert "with the cue arch lifted: knee valgus still there" in against
