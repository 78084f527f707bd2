"""A trial is timed by the stamps of its keys, whatever else happens."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from trial_driving import kept, press, trial_for, until

from screen_tui.session.model import Trial


def test_a_hold_is_saved_with_the_time_between_the_two_presses() -> None:
    state = press(trial_for("hold"), ("space", 100.0), ("space", 112.3), ("enter", 114.0))
    trial = kept(state)
    assert (trial.test, trial.side, trial.value) == ("test-hold", "left", 12.3)
    assert trial.raw_value == pytest.approx(12.3)
    assert (trial.ended, trial.trust) == ("", ())
    assert state.view(115.0).state == "SAVED"


def test_two_presses_that_waited_in_the_queue_keep_their_own_times() -> None:
    state = trial_for("hold").key("space", " ", 100.0, 107.0).key("space", " ", 106.5, 107.0)
    state = state.tick(107.0)
    assert state.ended
    assert kept(press(state, ("enter", 109.0))).raw_value == 6.5


def test_a_press_handled_late_is_flagged_but_keeps_its_time() -> None:
    state = press(trial_for("hold"), ("space", 100.0))
    state = until(state, 105.0, 100.0).key("space", " ", 105.0, 105.3)
    trial = kept(press(state, ("enter", 107.0)))
    assert (trial.raw_value, trial.trust) == (5.0, ("stall",))


@pytest.mark.parametrize(
    ("delay", "period"),
    # First repeat and period in seconds; the defaults of X11, a Linux desktop, a Mac (and its
    # fastest setting), Windows and the Linux console, as they were measured on such systems.
    [(0.66, 0.04), (0.5, 0.03), (0.5, 0.083), (0.225, 0.03), (0.5, 0.033), (0.25, 0.092)],
)
def test_a_held_key_counts_once(delay: float, period: float) -> None:
    state = press(trial_for("count-in-time"), ("space", 100.0), settle=0.0)
    stamps = [103.0, 103.0 + delay]
    while stamps[-1] < 106.0:
        stamps.append(stamps[-1] + period)
    state = until(state, 103.0, 100.0)
    for earlier, stamp in zip([103.0, *stamps], stamps, strict=False):
        state = until(state, stamp, earlier).key("space", " ", stamp, stamp)
    assert state.view(stamps[-1]).hint == "held key ignored"
    state = until(state, 110.0, stamps[-1])
    assert state.view(110.0).big == "01"
    assert state.view(110.0).hint == ""


def test_presses_a_second_apart_all_count_with_their_own_times() -> None:
    presses = [("space", 100.0 + n) for n in range(6)]
    trial = kept(press(trial_for("time-for-count"), *presses, ("enter", 107.0)))
    assert trial.value == 5.0
    assert trial.splits == (1.0, 2.0, 3.0, 4.0, 5.0)


def test_a_hold_that_reaches_its_cap_ends_and_says_so_by_itself() -> None:
    state = until(press(trial_for("hold"), ("space", 100.0)), 145.1, 100.5)
    assert state.view(145.0).big == "45.0"
    assert state.view(145.0).state == "RUNNING"
    state = state.tick(145.2)
    seen = state.view(145.2)
    assert (seen.state, seen.bell, seen.flash) == ("FULL TIME", True, True)
    assert seen.ended == "ended: full time"
    later = state.tick(146.5).view(146.5)
    assert (later.bell, later.flash) == (False, False)
    trial = kept(press(state, ("enter", 147.0)))
    assert (trial.value, trial.ended) == (45.0, "cap")


def test_a_stop_stamped_before_the_cap_counts_though_it_is_handled_after() -> None:
    state = until(press(trial_for("hold"), ("space", 100.0)), 145.3, 100.5)
    state = state.key("space", " ", 144.9, 145.4)
    assert kept(press(state, ("enter", 147.0))).raw_value == pytest.approx(44.9)


def test_the_running_time_is_cut_and_the_ended_one_rounded() -> None:
    state = press(trial_for("hold"), ("space", 100.0))
    assert state.view(112.29).big == "12.2"
    assert state.view(107.0).big == "07.0"
    state = press(until(state, 112.0, 100.5), ("space", 112.28))
    assert state.view(113.0).big == "12.3"


def test_a_half_is_rounded_up_whatever_binary_subtraction_makes_of_it() -> None:
    for stop, value in [(112.25, 12.3), (112.35, 12.4), (112.34, 12.3)]:
        state = press(trial_for("hold"), ("space", 100.0), ("space", stop), ("enter", 115.0))
        assert kept(state).value == value


def test_enter_stops_a_hold_as_space_does() -> None:
    state = press(trial_for("hold"), ("space", 100.0), ("enter", 104.2))
    assert state.record is None
    assert kept(press(state, ("enter", 106.0))).value == 4.2


def test_a_held_enter_stops_but_does_not_keep() -> None:
    state = press(trial_for("hold"), ("space", 100.0), settle=3.9)
    stamps = [104.0, *(104.5 + n * 0.033 for n in range(30))]
    for stamp in stamps:
        state = state.key("enter", "\r", stamp, stamp).tick(stamp)
    state = until(state, 107.0, stamps[-1])
    assert state.ended
    assert state.record is None


def test_the_count_in_starts_the_clock_at_its_end_and_rings() -> None:
    state = press(trial_for("hold", count_in=3.0), ("space", 100.0), settle=0.0)
    assert (state.view(100.5).state, state.view(100.5).big) == ("COUNT-IN", "   3")
    assert state.view(102.5).big == "   1"
    state = until(state, 102.9, 100.0).tick(103.05)
    assert (state.view(103.05).state, state.bell) == ("RUNNING", True)
    state = press(state, ("space", 108.0), ("enter", 110.0))
    assert kept(state).raw_value == pytest.approx(5.0)


def test_a_stop_right_after_the_count_in_counts_from_its_end() -> None:
    state = press(trial_for("hold", count_in=3.0), ("space", 100.0), settle=2.9)
    state = state.key("space", " ", 103.05, 103.06)
    assert state.view(104.0).state == "STOPPED"
    assert state.view(104.0).big == "00.1"


def test_backspace_calls_the_count_in_off() -> None:
    state = press(trial_for("hold", count_in=3.0), ("space", 100.0), ("backspace", 101.5))
    state = until(state, 105.0, 102.0)
    assert state.view(105.0).state == "READY"


def test_the_question_at_the_end_is_asked_and_counts_one_more() -> None:
    # More than half-way up at 30 s counts as a stand: Rikli and Jones 1999; CDC instruction sheet.
    presses = [("space", 100.0), ("space", 105.0), ("space", 110.0)]
    state = until(press(trial_for("count-in-time"), *presses), 130.3, 110.5)
    seen = state.view(130.3)
    assert (seen.state, seen.big) == ("ASKING", "02")
    assert "half-way" in seen.question
    assert press(state, ("enter", 131.0)).record is None
    assert kept(press(state, ("n", 131.0), ("enter", 133.0))).value == 2
    yes = press(state, ("y", 131.0))
    assert yes.view(132.0).big == "03"
    assert kept(press(yes, ("enter", 133.0))).value == 3
    asked_again = press(yes, ("backspace", 133.0))
    assert asked_again.view(133.5).state == "ASKING"


def test_presses_at_the_end_of_the_window_count_by_their_stamp() -> None:
    state = until(press(trial_for("count-in-time"), ("space", 100.0)), 130.0, 100.5)
    in_time = state.key("space", " ", 129.99, 130.05)
    assert until(in_time, 131.0, 130.0).view(131.0).big == "01"
    late = state.key("space", " ", 130.05, 130.06)
    assert until(late, 131.0, 130.0).view(131.0).big == "00"


def test_a_press_that_is_too_fast_is_ignored_shown_and_flagged() -> None:
    state = press(trial_for("time-for-count"), ("space", 100.0), ("space", 102.0), settle=0.2)
    state = press(state, ("space", 102.3), settle=0.2)
    assert "too fast" in state.view(102.5).hint
    rest = [("space", 104.0), ("space", 106.0), ("space", 108.0), ("space", 110.0)]
    state = until(state, 104.0, 102.5)
    trial = kept(press(state, *rest, ("enter", 112.0)))
    assert trial.splits == (2.0, 4.0, 6.0, 8.0, 10.0)
    assert trial.trust == ("implausible-split",)


def test_lost_focus_and_a_computer_that_slept_are_flagged() -> None:
    state = press(trial_for("hold").blur(), ("space", 100.0), settle=0.0)
    wall = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)
    state = state.tick(100.1, wall).blur().tick(100.2, wall + timedelta(seconds=9))
    trial = kept(press(state, ("space", 100.4), ("y", 102.0), ("enter", 104.0)))
    assert trial.trust == ("lost-focus", "suspend")


def test_focus_lost_before_the_start_or_after_the_end_is_no_matter() -> None:
    state = press(trial_for("hold").blur(), ("space", 100.0), ("space", 103.0)).blur()
    assert kept(press(state, ("enter", 105.0))).trust == ()


def test_a_series_of_holds_keeps_running_totals_and_counts_the_good_ones() -> None:
    state = until(press(trial_for("repeat-hold"), ("space", 100.0)), 111.0, 100.5)
    assert state.view(111.0).state == "REST"
    assert state.view(111.0).progress == "hold 1 of 3 - 1 good"
    state = press(state, ("space", 112.0), ("space", 116.0), ("space", 120.0))
    state = until(state, 131.0, 120.5)
    trial = kept(press(state, ("enter", 133.0)))
    assert trial.value == 2
    assert trial.splits == (10.0, 14.0, 24.0)


def test_the_rest_between_holds_is_counted_down_and_space_ends_it_early() -> None:
    timer = {"kind": "repeat-hold", "holds": 3, "hold_s": 10, "rest_s": 3}
    state = until(press(trial_for("repeat-hold", timer=timer), ("space", 100.0)), 110.5, 100.5)
    assert (state.view(110.5).state, state.view(110.5).big) == ("REST", "02.5")
    assert state.tick(114.0).view(114.0).big == "00.0"
    early = press(state, ("space", 111.0))
    assert early.view(111.5).state == "RUNNING"
    assert early.view(112.0).big == "01.0"


def test_a_walk_is_saved_to_a_hundredth_because_it_yields_a_speed() -> None:
    state = press(trial_for("walk"), ("space", 100.0), ("space", 104.126), ("enter", 106.0))
    assert (kept(state).value, kept(state).side) == (4.13, None)


def test_a_clock_left_running_is_still_saved_without_its_time() -> None:
    state = press(trial_for("once"), ("space", 100.0), ("1", 101.0))
    state = press(state, ("space", 9000.0), ("enter", 9002.0), ("enter", 9004.0))
    trial = kept(state)
    assert (trial.value, trial.signs) == (None, ("pelvis-drops",))
    assert "too long" in trial.note


def test_a_value_outside_the_plausible_is_asked_about_once() -> None:
    plausible = {"minimum": 1, "maximum": 60}
    state = press(trial_for("once", plausible=plausible), ("space", 100.0), ("space", 100.4))
    asked = press(state, ("enter", 102.0))
    assert asked.record is None
    assert "outside 1 to 60" in asked.view(103.0).question
    assert kept(press(asked, ("enter", 104.0))).value == 0.4
    changed = press(asked, ("1", 104.0), ("enter", 106.0))
    assert changed.record is None


def test_the_next_trial_does_not_hear_the_key_that_is_still_held() -> None:
    state = press(trial_for("quality"), ("0", 100.0), ("enter", 102.0), settle=0.0)
    assert isinstance(state.record, Trial)
    state = state.again()
    for n in range(40):
        stamp = 102.5 + n * 0.033
        state = state.key("enter", "\r", stamp, stamp).tick(stamp)
    assert state.record is None
    assert state.question == ""


def test_a_rest_before_the_start_is_counted_down_and_space_starts_all_the_same() -> None:
    ready = trial_for("hold")
    resting = replace(ready, state=replace(ready.state, rest_until=175.0))
    seen = resting.view(100.2)
    assert (seen.state, seen.big, seen.unit) == ("REST", "1:15", "")
    assert resting.view(175.0).state == "READY"
    begun = press(resting, ("space", 110.0))
    assert begun.view(112.0).state == "RUNNING"
    assert begun.view(112.0).big == "02.0"
