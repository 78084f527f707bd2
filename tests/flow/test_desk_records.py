"""Signs, pain, reasons, taking back and striking out: what is kept beside the time."""

from __future__ import annotations

import pytest
from desk_driving import desk_for, kept, press, until

from screen_tui.session.model import Trial


def test_digits_put_signs_on_and_off_also_while_the_clock_runs() -> None:
    desk = press(desk_for("hold"), ("1", 99.0), ("space", 100.0), ("2", 101.0), ("1", 103.0))
    assert [row.on for row in desk.view(104.0).signs] == [False, True]
    assert [row.label for row in desk.view(104.0).signs] == ["pelvis drops", "hands used"]
    trial = kept(press(desk, ("space", 105.0), ("1", 107.0), ("enter", 109.0)))
    assert set(trial.signs) == {"pelvis-drops", "hands-used"}


def test_a_digit_without_a_sign_and_unknown_keys_change_nothing() -> None:
    desk = press(desk_for("hold"), ("space", 100.0))
    for key in ("9", "f5", "escape", "left_shift", "q", "ctrl+c", "y", "d", "+"):
        after = desk.key(key, key if len(key) == 1 else None, 101.0, 101.0)
        assert after.made == desk.made
        assert after.kept is None


@pytest.mark.parametrize(
    ("keys", "pain"), [("p0", 0), ("p7", 7), ("pt", 10), ("p+", 10), ("p3p5", 5)]
)
def test_pain_is_p_and_a_digit_and_t_for_ten(keys: str, pain: int) -> None:
    desk = press(desk_for("hold"), ("space", 100.0), ("space", 105.0))
    desk = press(desk, *((key, 107.0 + 2 * n) for n, key in enumerate(keys)))
    assert desk.view(120.0).pain == f"pain {pain} of 10"
    trial = kept(press(desk, ("enter", 125.0)))
    assert (trial.pain, trial.signs) == (pain, ())


def test_while_a_pain_score_is_awaited_space_still_stops_at_once() -> None:
    desk = press(desk_for("hold"), ("space", 100.0), ("p", 102.0))
    assert [choice.key for choice in desk.view(102.0).choices][-1] == "t"
    desk = press(desk, ("space", 103.0))
    assert desk.ended
    assert desk.view(104.0).choices == ()


def test_pain_above_five_says_to_end_the_test() -> None:
    # More than 5 of 10 is the high-risk zone of the pain-monitoring rule (Thomee 1997).
    running = press(desk_for("hold"), ("space", 100.0), ("p", 102.0))
    assert "end the test" in press(running, ("6", 103.0)).view(103.5).hint
    assert "end the test" not in press(running, ("5", 103.0)).view(103.5).hint


def test_e_goes_through_the_reasons_that_fit_and_back_to_none() -> None:
    desk = press(desk_for("hold"), ("space", 100.0), ("space", 105.0))
    seen = []
    for n in range(10):
        desk = press(desk, ("e", 107.0 + 2 * n))
        seen.append(desk.made.ended)
    assert seen[:3] == ["foot-down", "arms-left-place", "stance-foot-moved"]
    assert {"pain", "fatigue", "unsafe", "asked-to-stop"} <= set(seen)
    assert seen[-1] == ""
    assert kept(press(desk, ("e", 129.0), ("enter", 131.0))).ended == "foot-down"


def test_a_count_stopped_early_needs_its_reason_before_it_is_kept() -> None:
    desk = press(desk_for("time-for-count"), ("space", 100.0), ("space", 103.0), ("enter", 106.2))
    refused = press(desk, ("enter", 108.0))
    assert refused.kept is None
    assert "say why" in refused.view(109.0).error
    trial = kept(press(refused, ("e", 110.0), ("enter", 112.0)))
    assert (trial.value, trial.ended) == (None, "pain")
    assert trial.splits == (3.0,)
    assert trial.note == "stopped after 6.2 s at 1 of 5"


@pytest.mark.parametrize(
    ("times", "ended", "value"),
    [
        (1, "pain", None),
        (2, "fatigue", 1),
        (3, "breathless", 1),
        (4, "unsafe", None),
        (6, "unable", 1),
    ],
)
def test_a_stopped_count_is_a_result_only_when_no_more_could_be_done(
    times: int, ended: str, value: float | None
) -> None:
    desk = press(desk_for("count-in-time"), ("space", 100.0), ("space", 103.0), ("enter", 106.0))
    desk = press(desk, *(("e", 108.0 + 2 * n) for n in range(times)), ("enter", 122.0))
    trial = kept(desk)
    assert (trial.ended, trial.value, trial.raw_value) == (ended, value, 1)


def test_hands_used_in_the_timed_stand_count_zero_with_the_adapted_count_beside() -> None:
    # "If arms must be used the score is 0" (instruction sheet of the US CDC; Rikli, Jones 1999).
    presses = [("space", 100.0 + 3 * n) for n in range(5)]
    desk = until(press(desk_for("count-in-time"), *presses, ("2", 113.0)), 130.3, 113.5)
    trial = kept(press(desk, ("n", 131.0), ("enter", 133.0)))
    assert (trial.value, trial.raw_value) == (0, 0)
    assert "adapted count 4" in trial.note
    assert len(trial.splits) == 4


def test_backspace_takes_back_in_reverse_order_down_to_ready() -> None:
    desk = press(desk_for("hold"), ("space", 100.0), ("1", 102.0), ("space", 105.0), ("e", 107.0))
    desk = press(desk, ("backspace", 109.0))
    assert (desk.made.ended, desk.ended) == ("", True)
    desk = press(desk, ("backspace", 111.0))
    assert desk.view(111.5).state == "RUNNING"
    assert desk.view(111.5).big == "11.5"
    desk = press(desk, ("backspace", 113.0))
    assert desk.made.signs == ()
    desk = press(desk, ("backspace", 115.0))
    assert desk.view(115.5).state == "READY"
    assert not desk.undoable
    assert press(desk, ("backspace", 117.0)).view(117.1).hint == "nothing to take back"


def test_a_count_taken_back_can_be_counted_again() -> None:
    presses = [("space", 100.0), ("space", 103.0), ("space", 105.0)]
    desk = press(desk_for("time-for-count"), *presses, ("backspace", 107.0))
    assert desk.view(107.5).progress == "1 of 5"
    assert press(desk, ("space", 109.0)).made.timer.splits == (3.0, 9.0)


def test_backspace_passes_over_presses_that_were_ignored() -> None:
    desk = press(desk_for("time-for-count"), ("space", 100.0), ("space", 102.0), ("space", 102.3))
    assert desk.view(102.8).hint == "too fast, ignored"
    assert press(desk, ("backspace", 104.0)).view(104.5).progress == "0 of 5"


def test_a_repetition_right_before_a_stop_by_enter_counts() -> None:
    desk = press(desk_for("count-in-time"), ("space", 100.0), settle=0.8)
    desk = desk.key("space", " ", 100.9, 100.9).key("enter", None, 100.95, 100.95)
    assert desk.ended
    assert desk.made.timer.splits == pytest.approx((0.9,))


def test_a_press_that_still_waits_is_what_backspace_takes_back() -> None:
    desk = press(desk_for("time-for-count"), ("space", 100.0), settle=0.2)
    desk = desk.key("space", " ", 100.8, 100.8).key("backspace", None, 100.85, 100.85)
    assert until(desk, 102.0, 100.9).view(102.0).progress == "0 of 5"


def test_a_wrong_stop_taken_back_after_the_cap_ends_at_the_cap() -> None:
    desk = press(desk_for("hold"), ("space", 100.0), ("space", 144.0))
    desk = until(desk, 150.0, 144.5).key("backspace", None, 150.0, 150.0)
    assert desk.view(150.0).state == "TARGET REACHED"
    trial = kept(press(desk, ("enter", 152.0)))
    assert (trial.value, trial.ended) == (45.0, "cap")


def test_striking_out_keeps_the_trial_marked_void() -> None:
    desk = press(desk_for("hold"), ("space", 100.0), ("1", 102.0), ("space", 105.0), ("x", 107.0))
    reasons = [choice.label for choice in desk.view(107.0).choices]
    trial = kept(press(desk, ("2", 109.0)))
    assert trial.void == reasons[1] == "wrong key pressed"
    assert (trial.value, trial.signs, trial.counts) == (5.0, ("pelvis-drops",), False)


def test_striking_out_a_running_trial_stops_it_and_can_be_called_off() -> None:
    desk = press(desk_for("time-for-count"), ("space", 100.0), ("x", 103.0))
    assert desk.ended
    desk = press(desk, ("backspace", 105.0))
    assert desk.view(105.5).choices == ()
    assert desk.kept is None
    assert press(desk, ("backspace", 107.0)).view(107.5).state == "RUNNING"


def test_what_was_noted_before_the_start_can_be_struck_out_and_so_is_kept() -> None:
    noted = press(desk_for("hold"), ("1", 100.0))
    assert noted.unsaved
    trial = kept(press(noted, ("x", 102.0), ("5", 104.0)))
    assert (trial.value, trial.signs, trial.void) == (None, ("pelvis-drops",), "disturbed")
    nothing = press(desk_for("steps"), ("+", 100.0), ("d", 102.0), ("x", 104.0))
    assert not nothing.unsaved
    assert nothing.view(104.5).choices == ()


def test_striking_out_during_the_count_in_stops_it() -> None:
    desk = press(desk_for("hold", count_in=3.0), ("space", 100.0), ("x", 101.5))
    desk = until(desk, 106.0, 102.0)
    assert desk.view(106.0).state == "READY"
    assert kept(press(desk, ("1", 107.0))).void == "false start"


def test_a_sign_taken_off_right_before_enter_is_off_in_the_record() -> None:
    desk = press(desk_for("hold"), ("space", 100.0), ("space", 103.0), ("1", 105.0))
    desk = desk.key("1", "1", 105.9, 105.9).key("enter", None, 105.95, 105.95)
    assert kept(desk).signs == ()


def test_the_bell_rings_once_and_not_again_with_a_key_that_does_nothing() -> None:
    desk = press(desk_for("hold"), ("space", 100.0), settle=0.2)
    desk = desk.key("space", " ", 105.0, 105.0)
    assert desk.bell
    assert not desk.key("f5", None, 105.1, 105.1).bell


def test_a_struck_out_trial_does_not_count_in_the_series() -> None:
    desk = press(desk_for("hold"), ("space", 100.0), ("space", 105.0), ("x", 107.0), ("1", 109.0))
    again = desk.again()
    assert again.view(110.0).caption == ("Trial 1 of 3",)
    assert len(again.series.trials) == 1


def test_the_caption_says_which_trial_and_the_best_so_far() -> None:
    before = (
        Trial(test="test-hold", side="left", value=8.4),
        Trial(test="test-hold", side="left", value=6.1),
        Trial(test="test-hold", side="right", value=40.0),
        Trial(test="test-hold", side="left", value=30.0, cue="pelvis-level"),
        Trial(test="other", side="left", value=44.0),
    )
    assert desk_for("hold", before).view(0.0).caption == ("Trial 3 of 3 - best 8.4 s",)


def test_stairs_go_up_first_and_then_down() -> None:
    desk = desk_for("steps")
    assert (desk.view(0.0).whose, desk.view(0.0).target) == ("going UP", "4 steps")
    presses = [("space", 100.0 + n) for n in range(5)]
    desk = press(desk, *presses, ("enter", 106.0))
    up = kept(desk)
    assert (up.direction, up.steps, up.value, up.side) == ("up", 4, 4.0, None)
    assert not desk.series_complete
    second = desk.again()
    assert second.view(0.0).whose == "going DOWN"
    assert second.view(0.0).caption == ("up 4 s",)
    second = press(second, *((k, t + 100) for k, t in presses), ("enter", 206.0))
    assert kept(second).direction == "down"
    assert second.series_complete


def test_the_number_of_steps_is_set_before_the_start_and_kept_for_the_way_down() -> None:
    desk = desk_for("steps")
    for n, key in enumerate(["plus", "plus", "minus", "+"]):
        desk = desk.key(key, None, 90.0 + n / 20, 90.0)
    assert desk.view(99.0).target == "6 steps"
    desk = press(desk, ("backspace", 95.0), ("d", 96.0))
    assert (desk.view(99.0).whose, desk.view(99.0).target) == ("going DOWN", "5 steps")
    desk = press(desk, *(("space", 100.0 + n) for n in range(6)), ("+", 105.5), ("enter", 107.0))
    assert (kept(desk).steps, kept(desk).direction, kept(desk).value) == (5, "down", 5.0)
    again = desk.again().view(0.0)
    assert (again.whose, again.target) == ("going UP", "5 steps")


def test_steps_do_not_go_below_one() -> None:
    desk = desk_for("steps")
    for n in range(9):
        desk = desk.key("-", "-", 90.0 + n / 20, 90.0)
    assert desk.made.steps == 1


def test_a_capped_hold_needs_no_further_trial_when_the_best_counts() -> None:
    desk = until(press(desk_for("hold"), ("space", 100.0)), 145.5, 100.5)
    assert press(desk, ("enter", 147.0)).series_complete
    short = press(desk_for("hold"), ("space", 100.0), ("space", 103.0), ("enter", 105.0))
    assert not short.series_complete
    mean = {**desk.spec.measures[0].model_dump(), "over_trials": "mean"}
    averaged = until(press(desk_for("hold", measures=[mean]), ("space", 100.0)), 145.5, 100.5)
    assert not press(averaged, ("enter", 147.0)).series_complete


def test_a_cued_repeat_is_kept_with_its_cue_and_is_one_trial() -> None:
    cue = {"id": "pelvis-level", "say": "keep the pelvis level", "for_driver": "hip-control"}
    before = (Trial(test="test-hold", side="left", value=8.4),)
    desk = desk_for("hold", before, cue="pelvis-level", cues=[cue])
    assert desk.view(0.0).caption == ("With the cue: keep the pelvis level",)
    desk = press(desk, ("space", 100.0), ("space", 109.0), ("enter", 111.0))
    assert kept(desk).cue == "pelvis-level"
    assert desk.series_complete


def test_a_watched_test_counts_with_space_and_keeps_signs_only() -> None:
    desk = press(desk_for("quality"), ("space", 100.0), ("1", 101.0), ("space", 102.0))
    assert (desk.view(103.0).state, desk.view(103.0).big) == ("WATCH", "2/5")
    trial = kept(press(desk, ("enter", 104.0)))
    assert (trial.value, trial.signs, trial.note) == (
        None,
        ("pelvis-drops",),
        "2 of 5 repetitions",
    )


def test_a_watched_test_with_nothing_seen_is_kept_only_on_a_second_enter() -> None:
    desk = press(desk_for("quality"), ("enter", 100.0))
    assert desk.kept is None
    assert "Enter again" in desk.view(101.0).question
    assert kept(press(desk, ("enter", 102.0))).signs == ()


def test_every_key_the_line_names_does_something() -> None:
    """In each state, each single key that the key line offers changes the trial."""
    ready = desk_for("steps")
    running = press(ready, ("space", 100.0))
    ended = press(running, ("enter", 103.0))
    hold = press(desk_for("hold"), ("space", 100.0), ("space", 103.0))
    asking = until(press(desk_for("count-in-time"), ("space", 100.0)), 131.0, 100.5)
    numbers = desk_for("measure")
    names = {"Space": "space", "Enter": "enter", "Bksp": "backspace", "Up/Down": "down"}
    names["Space Enter"] = "enter"
    holding = press(desk_for("hold"), ("space", 100.0))
    both = (hold, holding)
    for desk in (ready, running, ended, *both, asking, numbers, desk_for("quality")):
        line = desk.view(140.0).keys
        assert line
        for key, _ in line:
            first = names.get(key, key[0])
            after = desk.key(first, first if len(first) == 1 else None, 140.0, 140.0)
            assert after.view(140.0) != desk.view(140.0), (desk.view(140.0).state, key)
