"""Signs, pain, reasons, taking back and striking out: what is kept beside the time."""

from __future__ import annotations

import pytest
from trial_driving import kept, press, trial_for, until

from screen_tui.session.model import Trial


def test_digits_mark_signs_also_while_the_clock_runs() -> None:
    state = press(trial_for("hold"), ("space", 100.0), ("5", 101.0))
    assert [row.on for row in state.view(104.0).signs] == [False, True]
    assert [row.label for row in state.view(104.0).signs] == ["pelvis drops", "hands used"]
    trial = kept(press(state, ("space", 105.0), ("1", 107.0), ("enter", 109.0)))
    assert trial.signs == ("hands-used", "pelvis-drops")


def test_a_digit_without_a_sign_and_unknown_keys_change_nothing() -> None:
    state = press(trial_for("hold"), ("space", 100.0))
    for key in ("9", "f5", "escape", "left_shift", "q", "ctrl+c", "y", "d", "+"):
        after = state.key(key, key if len(key) == 1 else None, 101.0, 101.0)
        assert after.input == state.input
        assert after.record is None


@pytest.mark.parametrize(
    ("keys", "pain"), [("p0", 0), ("p7", 7), ("pt", 10), ("p+", 10), ("p3p5", 5)]
)
def test_pain_is_p_and_a_digit_and_t_for_ten(keys: str, pain: int) -> None:
    state = press(trial_for("hold"), ("space", 100.0), ("space", 105.0))
    state = press(state, *((key, 107.0 + 2 * n) for n, key in enumerate(keys)))
    assert state.view(120.0).pain == f"pain {pain} of 10"
    trial = kept(press(state, ("enter", 125.0)))
    assert (trial.pain, trial.signs) == (pain, ())


def test_while_a_pain_score_is_awaited_space_still_stops_at_once() -> None:
    state = press(trial_for("hold"), ("space", 100.0), ("p", 102.0))
    assert [choice.key for choice in state.view(102.0).choices][-1] == "t"
    state = press(state, ("space", 103.0))
    assert state.ended
    assert state.view(104.0).choices == ()


def test_pain_above_five_says_to_end_the_test() -> None:
    # More than 5 of 10 is the high-risk zone of the pain-monitoring rule (Thomee 1997).
    running = press(trial_for("hold"), ("space", 100.0), ("p", 102.0))
    assert "end the test" in press(running, ("6", 103.0)).view(103.5).hint
    assert "end the test" not in press(running, ("5", 103.0)).view(103.5).hint


def test_e_lists_the_reasons_of_the_test_and_a_digit_says_one_or_none() -> None:
    ends = ["stance-foot-moved", "support-touched", "unsafe", "unable"]
    timer = {"kind": "hold", "cap_s": 45, "ends": ends}
    state = press(trial_for("hold", timer=timer), ("space", 100.0), ("space", 105.0), ("e", 107.0))
    labels = ["stance foot moved", "support touched", "unsafe", "tried, unable"]
    assert [(one.key, one.label) for one in state.view(107.5).choices] == list(
        zip("1234", labels, strict=True)
    )
    assert press(state, ("7", 109.0)).view(109.5).choices == state.view(107.5).choices
    said = press(state, ("2", 109.0))
    assert said.view(109.5).ended == "ended: support touched"
    assert said.view(109.5).choices == ()
    assert kept(press(said, ("enter", 111.0))).ended == "support-touched"
    unsaid = press(said, ("e", 111.0), ("0", 113.0))
    assert kept(press(unsaid, ("enter", 115.0))).ended == ""


@pytest.mark.parametrize(
    ("ends", "first", "again"),
    [(["pain"], "1", "1 0"), (["pain", "unable"], "1-2", "1-2 0"), ([], "1-9", "1-9 0")],
)
def test_the_digits_of_the_reasons_are_named_however_many_there_are(
    ends: list[str], first: str, again: str
) -> None:
    timer = {"kind": "hold", "cap_s": 45, "ends": ends}
    state = press(trial_for("hold", timer=timer), ("space", 100.0), ("e", 102.0))
    assert state.view(102.5).keys[0] == (first, "reason")
    state = press(state, ("1", 104.0), ("e", 106.0))
    assert state.view(106.5).keys[0] == (again, "reason")


def test_a_hold_at_its_full_time_ended_for_no_reason_of_its_own() -> None:
    state = until(press(trial_for("hold"), ("space", 100.0)), 145.5, 100.5)
    labels = {one.label for one in press(state, ("e", 147.0)).view(147.5).choices}
    assert "foot down" not in labels
    assert "pain" in labels


def test_a_count_stopped_early_needs_its_reason_before_it_is_saved() -> None:
    state = press(trial_for("time-for-count"), ("space", 100.0), ("space", 103.0), ("enter", 106.2))
    assert state.view(107.0).question == "Stopped early: why?"
    later = press(state, ("backspace", 107.5), ("1", 108.0))
    assert later.view(108.5).question == ""
    assert later.input.signs == ("pelvis-drops",)
    refused = press(later, ("enter", 109.0))
    assert refused.record is None
    assert refused.view(109.5).question == "Stopped early: why?"
    trial = kept(press(refused, ("1", 111.0), ("enter", 113.0)))
    assert (trial.value, trial.ended) == (None, "pain")
    assert trial.splits == (3.0,)
    assert trial.note == "stopped after 6.2 s at 1 of 5"


@pytest.mark.parametrize(
    ("digit", "ended", "value"),
    [
        (1, "pain", None),
        (2, "fatigue", 1),
        (3, "breathless", 1),
        (4, "fear", None),
        (5, "unsafe", None),
        (7, "unable", 1),
    ],
)
def test_a_stopped_count_is_a_result_only_when_no_more_could_be_done(
    digit: int, ended: str, value: float | None
) -> None:
    state = press(trial_for("count-in-time"), ("space", 100.0), ("space", 103.0), ("enter", 106.0))
    state = press(state, (str(digit), 108.0), ("enter", 122.0))
    trial = kept(state)
    assert (trial.ended, trial.value, trial.raw_value) == (ended, value, 1)


def test_hands_used_in_the_timed_stand_count_zero_with_the_adapted_count_beside() -> None:
    # "If arms must be used the score is 0" (instruction sheet of the US CDC; Rikli, Jones 1999).
    presses = [("space", 100.0 + 3 * n) for n in range(5)]
    state = until(press(trial_for("count-in-time"), *presses, ("5", 113.0)), 130.3, 113.5)
    trial = kept(press(state, ("n", 131.0), ("enter", 133.0)))
    assert (trial.value, trial.raw_value) == (0, 0)
    assert "adapted count 4" in trial.note
    assert len(trial.splits) == 4


def test_backspace_takes_back_in_reverse_order_down_to_ready() -> None:
    state = press(trial_for("hold"), ("space", 100.0), ("1", 102.0), ("space", 105.0), ("e", 107.0))
    state = press(state, ("1", 108.0))
    assert state.input.ended == "foot-down"
    state = press(state, ("backspace", 109.0))
    assert (state.input.ended, state.ended) == ("", True)
    state = press(state, ("backspace", 111.0))
    assert state.view(111.5).state == "RUNNING"
    assert state.view(111.5).big == "11.5"
    assert state.view(111.5).hint == "stop undone; the clock runs on from the start"
    state = press(state, ("backspace", 113.0))
    assert state.input.signs == ()
    state = press(state, ("backspace", 115.0))
    assert state.view(115.5).state == "READY"
    assert not state.undoable
    assert press(state, ("backspace", 117.0)).view(117.1).hint == "nothing to undo"


def test_a_count_taken_back_can_be_counted_again() -> None:
    presses = [("space", 100.0), ("space", 103.0), ("space", 105.0)]
    state = press(trial_for("time-for-count"), *presses, ("backspace", 107.0))
    assert state.view(107.5).progress == "1 of 5"
    assert press(state, ("space", 109.0)).input.timer.splits == (3.0, 9.0)


def test_backspace_passes_over_presses_that_were_ignored() -> None:
    state = press(trial_for("time-for-count"), ("space", 100.0), ("space", 102.0), ("space", 102.3))
    assert state.view(102.8).hint == "too fast, ignored"
    assert press(state, ("backspace", 104.0)).view(104.5).progress == "0 of 5"


def test_a_repetition_right_before_a_stop_by_enter_counts() -> None:
    state = press(trial_for("count-in-time"), ("space", 100.0), settle=0.8)
    state = state.key("space", " ", 100.9, 100.9).key("enter", None, 100.95, 100.95)
    assert state.ended
    assert state.input.timer.splits == pytest.approx((0.9,))


def test_a_press_that_still_waits_is_what_backspace_takes_back() -> None:
    state = press(trial_for("time-for-count"), ("space", 100.0), settle=0.2)
    state = state.key("space", " ", 100.8, 100.8).key("backspace", None, 100.85, 100.85)
    assert until(state, 102.0, 100.9).view(102.0).progress == "0 of 5"


def test_a_wrong_stop_taken_back_after_the_cap_ends_at_the_cap() -> None:
    state = press(trial_for("hold"), ("space", 100.0), ("space", 144.0))
    state = until(state, 150.0, 144.5).key("backspace", None, 150.0, 150.0)
    assert state.view(150.0).state == "FULL TIME"
    trial = kept(press(state, ("enter", 152.0)))
    assert (trial.value, trial.ended) == (45.0, "cap")


def test_striking_out_keeps_the_trial_marked_void() -> None:
    state = press(trial_for("hold"), ("space", 100.0), ("1", 102.0), ("space", 105.0), ("x", 107.0))
    reasons = [choice.label for choice in state.view(107.0).choices]
    trial = kept(press(state, ("2", 109.0)))
    assert trial.void == reasons[1] == "wrong key pressed"
    assert (trial.value, trial.signs, trial.counts) == (5.0, ("pelvis-drops",), False)


def test_striking_out_a_running_trial_stops_it_and_can_be_called_off() -> None:
    state = press(trial_for("time-for-count"), ("space", 100.0), ("x", 103.0))
    assert state.ended
    state = press(state, ("backspace", 105.0))
    assert state.view(105.5).choices == ()
    assert state.record is None
    assert press(state, ("backspace", 107.0)).view(107.5).state == "RUNNING"


def test_what_was_noted_before_the_start_can_be_struck_out_and_so_is_saved() -> None:
    noted = press(trial_for("hold"), ("1", 100.0))
    assert noted.unsaved
    trial = kept(press(noted, ("x", 102.0), ("5", 104.0)))
    assert (trial.value, trial.signs, trial.void) == (None, ("pelvis-drops",), "disturbed")
    nothing = press(trial_for("steps"), ("+", 100.0), ("d", 102.0), ("x", 104.0))
    assert not nothing.unsaved
    assert nothing.view(104.5).choices == ()


def test_striking_out_during_the_count_in_stops_it() -> None:
    state = press(trial_for("hold", count_in=3.0), ("space", 100.0), ("x", 101.5))
    state = until(state, 106.0, 102.0)
    assert state.view(106.0).state == "READY"
    assert kept(press(state, ("1", 107.0))).void == "false start"


def test_a_sign_seen_again_right_before_enter_is_counted_in_the_record() -> None:
    state = press(trial_for("hold"), ("space", 100.0), ("space", 103.0), ("1", 105.0))
    state = state.key("1", "1", 105.9, 105.9).key("enter", None, 105.95, 105.95)
    assert kept(state).sign_counts == {"pelvis-drops": 2}


def test_the_bell_rings_once_and_not_again_with_a_key_that_does_nothing() -> None:
    state = press(trial_for("hold"), ("space", 100.0), settle=0.2)
    state = state.key("space", " ", 105.0, 105.0)
    assert state.bell
    assert not state.key("f5", None, 105.1, 105.1).bell


def test_a_struck_out_trial_does_not_count_in_the_series() -> None:
    state = press(trial_for("hold"), ("space", 100.0), ("space", 105.0), ("x", 107.0), ("1", 109.0))
    again = state.again()
    assert again.view(110.0).trial == "trial 1 of 3"
    assert len(again.series.trials) == 1


def test_it_is_said_which_trial_and_the_best_so_far() -> None:
    before = (
        Trial(test="test-hold", side="left", value=8.4),
        Trial(test="test-hold", side="left", value=6.1),
        Trial(test="test-hold", side="right", value=40.0),
        Trial(test="test-hold", side="left", value=30.0, cue="pelvis-level"),
        Trial(test="other", side="left", value=44.0),
    )
    seen = trial_for("hold", before).view(0.0)
    assert (seen.trial, seen.so_far) == ("trial 3 of 3", "best 8.4 s")


def test_stairs_go_up_first_and_then_down() -> None:
    state = trial_for("steps")
    assert (state.view(0.0).whose, state.view(0.0).target) == ("GOING UP", "4 steps")
    presses = [("space", 100.0), ("space", 104.0)]
    state = press(state, *presses, ("enter", 106.0))
    up = kept(state)
    assert up.splits == ()
    assert (up.direction, up.steps, up.value, up.side) == ("up", 4, 4.0, None)
    assert not state.series_complete
    second = state.again()
    assert second.view(0.0).whose == "GOING DOWN"
    assert second.view(0.0).so_far == "up 4 s"
    second = press(second, *((k, t + 100) for k, t in presses), ("enter", 206.0))
    assert kept(second).direction == "down"
    assert second.series_complete


def test_the_number_of_steps_is_set_before_the_start_and_saved_for_the_way_down() -> None:
    state = trial_for("steps")
    for n, key in enumerate(["plus", "plus", "minus", "+"]):
        state = state.key(key, None, 90.0 + n / 20, 90.0)
    assert state.view(99.0).target == "6 steps"
    state = press(state, ("backspace", 95.0), ("d", 96.0))
    assert (state.view(99.0).whose, state.view(99.0).target) == ("GOING DOWN", "5 steps")
    state = press(state, ("space", 100.0), ("+", 103.0), ("space", 105.0), ("enter", 107.0))
    assert (kept(state).steps, kept(state).direction, kept(state).value) == (5, "down", 5.0)
    again = state.again().view(0.0)
    assert (again.whose, again.target) == ("GOING UP", "5 steps")


def test_by_choice_each_step_is_timed_and_the_choice_holds_for_the_way_down() -> None:
    state = press(trial_for("steps"), ("t", 90.0))
    assert state.view(91.0).target == "4 steps, each timed"
    state = press(state, *(("space", 100.0 + n) for n in range(5)), ("enter", 106.0))
    up = kept(state)
    assert (up.value, up.splits) == (4.0, (1.0, 2.0, 3.0, 4.0))
    again = state.again()
    assert again.input.tapped
    plain = press(again, ("t", 107.0), ("space", 110.0), ("space", 113.0), ("enter", 115.0))
    assert (kept(plain).value, kept(plain).splits) == (3.0, ())


def test_a_flight_stopped_early_says_how_far_only_where_steps_were_timed() -> None:
    state = press(trial_for("steps"), ("space", 100.0), ("enter", 103.0), ("5", 105.0))
    trial = kept(press(state, ("enter", 107.0)))
    assert (trial.value, trial.ended, trial.note) == (None, "unsafe", "stopped after 3.0 s")


def test_the_way_down_has_words_of_its_own() -> None:
    state = trial_for("steps")
    told = {**state.spec.instructions.model_dump(), "say": "Up.", "say_down": "Down."}
    up = trial_for("steps", instructions=told)
    assert up.view(0.0).before.say == "Up."
    assert press(up, ("d", 90.0)).view(91.0).before.say == "Down."


def test_steps_do_not_go_below_one() -> None:
    state = trial_for("steps")
    for n in range(9):
        state = state.key("-", "-", 90.0 + n / 20, 90.0)
    assert state.input.steps == 1


def test_a_capped_hold_needs_no_further_trial_when_the_best_counts() -> None:
    state = until(press(trial_for("hold"), ("space", 100.0)), 145.5, 100.5)
    assert press(state, ("enter", 147.0)).series_complete
    short = press(trial_for("hold"), ("space", 100.0), ("space", 103.0), ("enter", 105.0))
    assert not short.series_complete
    mean = {**state.spec.measures[0].model_dump(), "over_trials": "mean"}
    averaged = until(press(trial_for("hold", measures=[mean]), ("space", 100.0)), 145.5, 100.5)
    assert not press(averaged, ("enter", 147.0)).series_complete


def test_a_cued_repeat_is_saved_with_its_cue_and_is_one_trial() -> None:
    cue = {"id": "pelvis-level", "say": "keep the pelvis level"}
    before = (Trial(test="test-hold", side="left", value=8.4),)
    state = trial_for("hold", before, cue="pelvis-level", cues=[cue])
    assert state.view(0.0).before.cue == "keep the pelvis level"
    state = press(state, ("space", 100.0), ("space", 109.0), ("enter", 111.0))
    assert kept(state).cue == "pelvis-level"
    assert state.series_complete


def test_a_watched_test_counts_with_space_and_keeps_signs_only() -> None:
    state = press(trial_for("quality"), ("space", 100.0), ("1", 101.0), ("space", 102.0))
    assert (state.view(103.0).state, state.view(103.0).big) == ("WATCH", "2/5")
    trial = kept(press(state, ("0", 103.0), ("enter", 104.0), ("enter", 106.0)))
    assert (trial.value, trial.signs, trial.repetitions) == (None, ("pelvis-drops",), 2)
    assert trial.note == "2 of 5 repetitions"


def test_a_set_that_is_short_is_saved_only_on_a_second_enter_or_with_its_reason() -> None:
    state = press(trial_for("quality"), ("space", 100.0), ("enter", 102.0))
    assert state.record is None
    assert "Only 1 of 5 repetitions seen" in state.view(103.0).question
    assert kept(press(state, ("enter", 104.0))).repetitions == 1
    ended = press(trial_for("quality"), ("space", 100.0), ("e", 102.0), ("1", 104.0))
    assert kept(press(ended, ("enter", 106.0))).repetitions == 1
    full = [("space", 100.0 + 2 * at) for at in range(5)]
    assert kept(press(trial_for("quality"), *full, ("enter", 112.0))).repetitions == 5


def test_a_watched_test_with_nothing_seen_is_saved_only_on_a_second_enter() -> None:
    state = press(trial_for("quality"), ("enter", 100.0))
    assert state.record is None
    assert "Enter again" in state.view(101.0).question
    assert kept(press(state, ("enter", 102.0))).signs == ()


def test_every_key_the_line_names_does_something() -> None:
    """In each state, each single key that the key line offers changes the trial."""
    ready = trial_for("steps")
    running = press(ready, ("space", 100.0))
    ended = press(running, ("enter", 103.0))
    hold = press(trial_for("hold"), ("space", 100.0), ("space", 103.0))
    asking = until(press(trial_for("count-in-time"), ("space", 100.0)), 131.0, 100.5)
    numbers = trial_for("measure")
    names = {"Space": "space", "Enter": "enter", "Bksp": "backspace", "Up/Down": "down"}
    names["←→"] = "left"
    holding = press(trial_for("hold"), ("space", 100.0))
    both = (hold, holding)
    for state in (ready, running, ended, *both, asking, numbers, trial_for("quality")):
        line = state.view(140.0).keys
        assert line
        for key, _ in line:
            first = names.get(key, key[0])
            after = state.key(first, first if len(first) == 1 else None, 140.0, 140.0)
            assert after.view(140.0) != state.view(140.0), (state.view(140.0).state, key)
