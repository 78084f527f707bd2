"""The shipped protocol goes through the questions, the battery and a trial of every test."""

from __future__ import annotations

import pytest
from support.small_protocol import session
from support.trial_hands import TrialHands
from trial_driving import press, until

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.trials import trials_section
from screen_tui.session.model import Intake, Trial
from screen_tui.trial.battery import allowed_items, plan_battery
from screen_tui.trial.intake import IntakeForm, intake_so_far

ALL_GOALS = ("walking", "chair", "floor", "stairs")


@pytest.fixture(scope="module")
def shipped() -> ScreenProtocol:
    return load_protocol([protocols_folder()])


def done_once(state: TrialHands) -> Trial:
    """Go through a trial as far as Space leads, then keep it whatever is asked."""
    t = 100.0
    for _ in range(40):
        state = press(state, ("space", t), settle=0.2)
        state = until(state, t + 11.0, t + 0.2)
        t += 11.0
        if state.ended:
            break
    for key in ("n", "5", "enter", "5", "enter", "enter", "e", "enter", "enter", "enter"):
        state = press(state, (key, t))
        t += 2.0
    assert state.record is not None, state.view(t)
    return state.record


def test_every_shipped_test_can_be_done_and_saved(shipped: ScreenProtocol) -> None:
    items = allowed_items(shipped, Intake(goals=ALL_GOALS, side="left"))
    of_visit = {item.test for item in shipped.battery.items if not item.when_asked}
    items = tuple(item for item in items if item.test in of_visit)
    assert {item.test for item in items} == of_visit
    for item in items:
        trial = done_once(TrialHands.at(shipped.test(item.test), item.side, shipped.signs))
        assert (trial.test, trial.side) == (item.test, item.side)


def test_only_unloaded_tests_are_offered_without_weight_bearing(shipped: ScreenProtocol) -> None:
    items = plan_battery(shipped, Intake(goals=ALL_GOALS, weight_bearing="none"))
    assert items
    assert all(shipped.test(item.test).load == "unloaded" for item in items)


def test_every_shipped_safety_question_is_asked_first(shipped: ScreenProtocol) -> None:
    rows = IntakeForm.blank(shipped).page()
    cautions = [caution.id for caution in shipped.cautions]
    assert [row.id for row in rows] == ["side", *cautions]
    assert all(row.question.kind == "yes-no" for row in rows[1:])


def test_reasons_the_evidence_speaks_of_can_be_given(shipped: ScreenProtocol) -> None:
    """A row about why a trial ended would never apply if no key could say so."""
    for spec in shipped.tests:
        asked = {reason for row in spec.findings if row.when for reason in row.when.ended_any}
        ready = TrialHands.at(spec, "left" if spec.sided else None, ())
        offered = {
            press(ready, ("e", 100.0), (one.key, 102.0)).input.ended
            for one in press(ready, ("e", 100.0)).view(101.0).choices
        }
        assert asked <= offered | {"cap"}, spec.id


def test_the_note_says_why_a_trial_ended_in_the_words_that_were_chosen(
    shipped: ScreenProtocol,
) -> None:
    for spec in shipped.tests:
        side = "left" if spec.sided else None
        ready = TrialHands.at(spec, side, ())
        for choice in press(ready, ("e", 100.0)).view(101.0).choices:
            chosen = press(ready, ("e", 100.0), (choice.key, 102.0))
            trial = {"test": spec.id, "side": side, "ended": chosen.input.ended}
            assert f"ended: {choice.label}" in str(trials_section(shipped, session(trial)))
            assert chosen.view(103.0).ended == f"ended: {choice.label}"


def test_each_stance_is_asked_only_for_its_own_ends(shipped: ScreenProtocol) -> None:
    assert "foot-down" not in shipped.test("tandem-stance").timer.end_reasons
    assert "arms-left-place" not in shipped.test("tandem-stance").timer.end_reasons
    assert "foot-down" in shipped.test("single-leg-stance").timer.end_reasons


@pytest.mark.parametrize(
    ("order", "weeks", "asked"),
    [
        ("full", "11", True),
        ("full", "12", False),
        ("full", "", False),
        ("as-tolerated", "", True),
        ("touch", "3", False),
    ],
)
def test_full_load_on_one_leg_is_confirmed_early_after_surgery_whatever_the_order(
    shipped: ScreenProtocol, order: str, weeks: str, asked: bool
) -> None:
    answers = {"weight_bearing": order, **({"recent_surgery_weeks": weeks} if weeks else {})}
    form = IntakeForm.restored(shipped, answers, (), "weight_bearing")
    assert ("one_leg_confirmed" in [row.id for row in form.rows()]) is asked
    offered = {item.test for item in plan_battery(shipped, intake_so_far(form))}
    needs_one_leg = {"single-leg-stance", "step-down", "floor-rise"}
    assert bool(offered & needs_one_leg) is (order == "full" and not asked)
