"""The patient waits for the student's clock, and does nothing twice that nobody asked for."""

from __future__ import annotations

from typing import Any

import pytest
from support.practice_case import PROTOCOL, STANCE, case_of
from support.trial_hands import TrialHands

from screen_tui.practice.staging import Stage, blank_session, staged
from screen_tui.timing.timer import Phase

FULL = STANCE | {"ends_s": 45.0, "ended": "cap", "signs": [], "told": []}
RAISES = {"test": "straight-leg-raise-hold", "side": "left", "holds_s": [10.0] * 10}
STEPS = {"test": "step-down", "side": "left", "repetitions_s": [3.0, 6.0, 9.0, 12.0, 15.0]}


def hands_and_stage(shown: dict[str, Any]) -> tuple[TrialHands, Stage]:
    case = case_of(shown)
    hands = TrialHands.at(PROTOCOL.test(shown["test"]), "left", PROTOCOL.signs)
    session = blank_session(case, PROTOCOL)
    return hands, staged(None, case, PROTOCOL, session, hands.state, 1, 0.0)


@pytest.mark.parametrize("late_s", [0.2, 0.8, 3.0])
def test_who_lasts_the_full_time_holds_until_the_students_clock_is_full(late_s: float) -> None:
    hands, stage = hands_and_stage(FULL)
    stage = stage.asked(0.0)
    assert stage.timeline is not None
    begun = stage.timeline.lead_in_s + late_s
    hands = hands.key("space", " ", begun, begun)
    # The patient's own 45 s are over, the student's are not.
    almost = stage.frame(hands.state, begun + 44.9)
    assert almost is not None
    assert not almost.over
    hands = hands.tick(begun + 45.1)
    after = stage.frame(hands.state, begun + 45.2)
    assert after is not None
    assert after.over


@pytest.mark.parametrize("late_s", [0.3, 1.0])
def test_each_full_hold_of_a_series_lasts_until_the_students_clock_is_full(late_s: float) -> None:
    hands, stage = hands_and_stage(RAISES)
    now = 1.0
    hands = hands.key("space", " ", now, now)
    for number in range(1, 10):
        hands = hands.tick(now + 10.1)
        begins = number * 13.0 + (number - 1) * late_s + 1.0
        now = begins + late_s
        hands = hands.key("space", " ", now, now)
        up = stage.frame(hands.state, now + 9.9)
        assert up is not None
        assert any("^^" in line for line in up.side), number
        down = stage.frame(hands.state, now + 11.0)
        hands = hands.tick(now + 10.1)
        down = stage.frame(hands.state, now + 11.0)
        assert down is not None
        assert not any("^^" in line for line in down.side), number


def test_repetitions_that_are_over_are_not_begun_again_by_a_late_press() -> None:
    hands, stage = hands_and_stage(STEPS)
    assert stage.can_be_asked(hands.state, 0.0)
    stage = stage.asked(0.0)
    assert hands.state.input.phase is Phase.READY
    for after in (1.0, 15.1, 60.0):
        assert not stage.can_be_asked(hands.state, after)


def test_a_hold_that_was_missed_can_be_asked_for_again() -> None:
    hands, stage = hands_and_stage(STANCE)
    stage = stage.asked(0.0)
    assert not stage.can_be_asked(hands.state, 5.0)
    assert stage.can_be_asked(hands.state, 60.0)
