"""A trial that is struck out from outside: the screen is left or stopped in the middle of it."""

from __future__ import annotations

import pytest
from trial_driving import kept, press, trial_for, until

REASON = "the session was stopped"


def test_a_running_trial_is_stopped_and_saved_with_the_reason() -> None:
    state = press(trial_for("hold"), ("space", 100.0), ("1", 102.0))
    trial = kept(state.struck_out(REASON, 106.5))
    assert (trial.void, trial.raw_value, trial.signs) == (REASON, 6.5, ("pelvis-drops",))


def test_a_count_in_never_starts_the_clock_afterwards() -> None:
    state = press(trial_for("hold", count_in=3.0), ("space", 100.0))
    trial = kept(state.struck_out(REASON, 101.0))
    assert (trial.void, trial.value, trial.raw_value) == (REASON, None, None)


def test_a_press_that_waits_at_its_gate_is_not_lost() -> None:
    state = press(trial_for("hold"), ("space", 100.0))
    state = state.key("space", " ", 100.9, 100.9)
    assert state.input.running
    assert kept(state.struck_out(REASON, 100.95)).raw_value == pytest.approx(0.9)


def test_where_nothing_was_begun_there_is_nothing_to_strike() -> None:
    state = trial_for("hold")
    assert state.struck_out(REASON, 100.0).record is None


def test_an_ended_trial_is_saved_at_once_and_a_running_one_is_only_stopped() -> None:
    ended = press(trial_for("hold"), ("space", 100.0), ("space", 104.0))
    trial = kept(ended.saved_now(104.6))
    assert (trial.value, trial.void) == (4.0, "")
    early = press(trial_for("time-for-count"), ("space", 100.0), ("enter", 103.0))
    refused = early.saved_now(104.0)
    assert refused.record is None
    assert refused.view(0.0).question == "Stopped early: why?"


def test_a_press_used_elsewhere_does_not_act_while_it_is_held() -> None:
    state = trial_for("hold").saw("space", 100.0)
    for n in range(40):
        state = state.key("space", " ", 100.5 + 0.033 * n, 100.5 + 0.033 * n)
    assert not until(state, 103.0, 101.8).input.begun
    assert press(state, ("space", 110.0)).input.running
