"""A value over which the computer stood still is asked about, and not used until confirmed."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from flow_protocol import TIMERS, make_protocol
from support.trial_hands import TrialHands
from trial_driving import kept, press, trial_for, until

from screen_tui.engine.assess import assess
from screen_tui.session.model import Client, Session, Trial
from screen_tui.trial.record import NOT_WATCHED, UNCONFIRMED, restored, under_way, worth_saving

WALL = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)
TIMED = sorted(set(TIMERS) - {"quality", "measure", "choice"})


def still(state: TrialHands, since: float, seconds: float) -> TrialHands:
    """The program is stopped for so long after a tick, and then ticks again."""
    return state.tick(since).tick(since + seconds)


def ended_over_a_gap(kind: str, gap: float) -> tuple[TrialHands, float]:
    """A trial of a kind whose end falls into a silence of the program, and when that is over."""
    state = press(trial_for(kind), ("space", 100.0))
    if kind == "hold":
        state = until(state, 144.0, 100.5)
        return state.tick(144.0 + gap), 144.0 + gap
    if kind == "count-in-time":
        state = press(state, ("space", 110.0))
        state = until(state, 129.8, 110.5)
        return state.tick(129.8 + gap), 129.8 + gap
    if kind == "repeat-hold":
        state = press(state, ("space", 112.0), ("space", 124.0))
        state = until(state, 133.0, 124.5)
        return state.tick(133.0 + gap), 133.0 + gap
    presses = {"time-for-count": 4}.get(kind, 0)
    last = 100.0
    for _ in range(presses):
        last += 2.0
        state = press(state, ("space", last))
    # The last press is read when the program goes on, and handled before the display ticks.
    state = until(state, last + 1.0, last + 0.5)
    over = last + 1.0 + gap
    return state.key("space", " ", over, over), over


@pytest.mark.parametrize("kind", TIMED)
def test_the_end_of_a_trial_in_a_gap_is_asked_about(kind: str) -> None:
    state, now = ended_over_a_gap(kind, 61.0)
    seen = until(state, now + 0.5, now).view(now + 0.5)
    assert seen.state == "ASKING"
    assert "the computer stopped for 61 s" in seen.question
    what = "count" if kind in ("count-in-time", "repeat-hold") else "time"
    assert f"Is the {what} right?" in seen.question
    assert [key for key, _ in seen.keys[:2]] == ["y", "n"]


@pytest.mark.parametrize("kind", TIMED)
def test_what_is_in_doubt_is_not_saved_by_enter_and_must_not_be_left(kind: str) -> None:
    state, now = ended_over_a_gap(kind, 61.0)
    state = press(state, ("enter", now + 1.0), ("enter", now + 3.0))
    assert state.record is None
    assert state.saved_now(now + 5.0).record is None
    assert state.busy
    assert not state.ended


@pytest.mark.parametrize("kind", TIMED)
def test_y_confirms_the_value_and_the_record_says_so(kind: str) -> None:
    state, now = ended_over_a_gap(kind, 61.0)
    state = press(state, ("y", now + 1.0))
    if kind == "count-in-time":
        assert "half-way" in state.view(now + 2.0).question
        state = press(state, ("n", now + 2.0))
    trial = kept(press(state, ("enter", now + 4.0)))
    assert trial.counts
    assert trial.value == state.input.timer.value
    assert "stall" in trial.trust
    assert "the computer stopped for 61 s" in trial.note
    assert trial.note.endswith("was confirmed")


@pytest.mark.parametrize("kind", TIMED)
def test_n_strikes_the_trial_out_with_one_key(kind: str) -> None:
    state, now = ended_over_a_gap(kind, 61.0)
    trial = kept(press(state, ("n", now + 1.0)))
    assert (trial.void, trial.counts) == (NOT_WATCHED, False)
    assert "the computer stopped for 61 s" in trial.note
    assert "confirmed" not in trial.note


@pytest.mark.parametrize("kind", TIMED)
def test_a_gap_of_half_a_second_is_not_asked_about(kind: str) -> None:
    state, now = ended_over_a_gap(kind, 0.49)
    state = until(state, now + 1.0, now)
    assert not state.in_doubt
    assert "stood still" not in state.view(now).question + state.view(now).hint


@pytest.mark.parametrize("kind", TIMED)
def test_the_program_dying_meanwhile_leaves_the_trial_unconfirmed(kind: str) -> None:
    state, now = ended_over_a_gap(kind, 61.0)
    state = until(state, now + 0.5, now)
    told = under_way(state)
    assert told is not None
    assert not told.counts
    if kind == "count-in-time":
        return  # the half stand is open as well, so there is no number yet
    assert told.void == UNCONFIRMED
    assert told.value == state.input.timer.value
    assert "the computer stopped for 61 s" in told.note
    confirmed = press(state, ("y", now + 1.0))
    assert worth_saving(confirmed) != worth_saving(state)
    assert under_way(confirmed).void != UNCONFIRMED


@pytest.mark.parametrize("kind", ["quality", "measure", "choice"])
def test_what_is_not_timed_is_not_asked_about(kind: str) -> None:
    state = press(trial_for(kind), *((("space", 100.0),) if kind == "quality" else (("1", 100.0),)))
    state = still(state, 101.0, 61.0)
    state = press(state, ("enter", 163.0), ("enter", 165.0), ("enter", 167.0), ("enter", 169.0))
    assert kept(state).counts


def test_a_trial_in_doubt_is_not_among_the_trials_of_its_series() -> None:
    before = (Trial(test="test-hold", side="left", value=8.4),)
    state = until(press(trial_for("hold", before), ("space", 100.0)), 144.0, 100.5).tick(205.0)
    assert state.in_doubt
    assert not state.series_complete
    assert "best 8.4 s" in state.view(206.0).so_far
    struck = press(state, ("n", 206.0))
    assert not struck.series_complete
    assert "best 8.4 s" in struck.again().view(210.0).so_far
    assert press(state, ("y", 206.0), ("enter", 208.0)).series_complete


def test_stop_and_enter_read_in_one_go_after_the_gap_do_not_keep() -> None:
    state = until(press(trial_for("hold"), ("space", 100.0)), 110.0, 100.5)
    state = state.key("space", " ", 112.0, 112.01).key("enter", "\r", 112.02, 112.03)
    assert state.in_doubt
    assert state.record is None


def test_a_press_whose_own_time_is_exact_is_asked_about_all_the_same() -> None:
    state = until(press(trial_for("hold"), ("space", 100.0)), 110.0, 100.5)
    state = state.key("space", " ", 110.7, 112.0)
    assert state.input.timer.value == pytest.approx(10.7)
    assert state.in_doubt


def test_gaps_add_up() -> None:
    state = until(press(trial_for("hold"), ("space", 100.0)), 105.0, 100.5)
    state = until(state.tick(107.0), 110.0, 107.0).tick(113.0)
    state = press(state, ("space", 115.0))
    assert "stopped for 5.0 s" in state.view(116.0).question


def test_a_gap_is_shown_while_the_clock_still_runs() -> None:
    state = until(press(trial_for("hold"), ("space", 100.0)), 105.0, 100.5).tick(107.0)
    assert state.view(107.0).hint == "the computer stopped for 2.0 s"
    assert state.view(107.0).question == ""


def test_a_gap_after_the_end_or_well_before_the_start_is_no_matter() -> None:
    ready = still(trial_for("hold"), 90.0, 5.0)
    state = press(ready, ("space", 100.0), ("space", 104.0))
    state = still(state, 104.5, 30.0)
    assert not state.in_doubt
    trial = kept(press(state, ("enter", 136.0)))
    assert (trial.value, trial.trust, trial.note) == (4.0, (), "")


def test_a_start_that_waited_for_the_program_to_go_on_is_asked_about() -> None:
    ready = trial_for("hold").tick(100.0).tick(103.0)
    state = press(ready, ("space", 103.05), ("space", 113.0))
    assert "stopped for 3.0 s" in state.view(114.0).question


def test_a_count_in_that_ended_in_a_gap_is_asked_about() -> None:
    state = press(trial_for("hold", count_in=3.0), ("space", 100.0), settle=2.0)
    state = press(state.tick(107.0), ("space", 115.0))
    assert state.input.timer.value == pytest.approx(12.0)
    assert "stopped for 5.0 s" in state.view(116.0).question


def test_a_trial_stopped_early_without_a_value_is_not_asked_about() -> None:
    state = until(press(trial_for("walk"), ("space", 100.0)), 102.0, 100.5).tick(110.0)
    state = press(state, ("enter", 112.0))
    assert not state.in_doubt
    assert state.stopped_without_reason


def test_taking_back_the_answer_asks_again_and_taking_back_the_start_ends_it() -> None:
    state, now = ended_over_a_gap("hold", 61.0)
    state = press(state, ("y", now + 1.0))
    assert state.ended
    state = press(state, ("backspace", now + 3.0))
    assert state.in_doubt
    state = press(state, ("backspace", now + 5.0))
    assert state.view(now + 6.0).state == "READY"
    assert "stood still" not in state.view(now + 6.0).hint
    again = press(state, ("space", now + 7.0), ("space", now + 12.0), ("enter", now + 14.0))
    assert (kept(again).value, kept(again).trust) == (5.0, ())


def test_it_can_be_struck_out_for_another_reason_instead() -> None:
    state, now = ended_over_a_gap("hold", 61.0)
    assert kept(press(state, ("x", now + 1.0), ("5", now + 3.0))).void == "disturbed"


def test_signs_and_pain_can_be_noted_before_the_answer() -> None:
    state, now = ended_over_a_gap("hold", 61.0)
    state = press(state, ("1", now + 1.0), ("p", now + 3.0), ("4", now + 5.0))
    assert state.in_doubt
    trial = kept(press(state, ("y", now + 7.0), ("enter", now + 9.0)))
    assert (trial.signs, trial.pain) == (("pelvis-drops",), 4)


def test_what_waits_for_the_answer_when_the_screen_is_stopped_is_struck_out() -> None:
    state, now = ended_over_a_gap("hold", 61.0)
    trial = state.struck_out("the session was stopped", now + 5.0).record
    assert trial is not None
    assert trial.void == "the session was stopped"


def test_the_window_losing_the_keys_while_it_asks_does_not_mark_the_trial() -> None:
    state, now = ended_over_a_gap("hold", 61.0)
    trial = kept(press(state.blur(), ("y", now + 1.0), ("enter", now + 3.0)))
    assert trial.trust == ("stall",)


def test_a_note_without_room_for_more_does_not_keep_the_trial_from_being_saved() -> None:
    state, now = ended_over_a_gap("hold", 61.0)
    state = replace(state, state=replace(state.state, input=replace(state.input, note="w" * 390)))
    trial = kept(press(state, ("y", now + 1.0), ("enter", now + 3.0)))
    assert (trial.note, trial.trust) == ("w" * 390, ("stall",))


def slept(state: TrialHands, seconds: float) -> TrialHands:
    """From 101 to 110 the display ticks; from 105 on the wall clock is ahead by so much."""
    for tenth in range(90):
        now = 101.0 + tenth / 10
        ahead = seconds if now >= 105 else 0.0
        state = state.tick(now, WALL + timedelta(seconds=now + ahead))
    return state


def held_over_a_sleep(seconds: float) -> TrialHands:
    ready = trial_for("hold").tick(99.9, WALL + timedelta(seconds=99.9))
    state = slept(press(ready, ("space", 100.0)), seconds)
    return press(state, ("space", 112.0))


def test_a_sleep_that_only_the_wall_clock_tells_is_asked_about() -> None:
    state = held_over_a_sleep(61.0)
    question = state.view(113.0).question
    assert "the computer slept for 61 s, or its clock was set forward" in question
    trial = kept(press(state, ("y", 114.0), ("enter", 116.0)))
    assert (trial.value, trial.trust) == (12.0, ("suspend",))


def test_a_sleep_is_noticed_by_a_stop_that_comes_before_any_tick() -> None:
    ready = trial_for("hold").tick(99.9, WALL + timedelta(seconds=99.9))
    state = until(press(ready, ("space", 100.0)), 105.0, 100.5)
    woken = WALL + timedelta(seconds=105.2 + 61)
    state = state.key("space", " ", 105.2, 105.2, woken).key("enter", "\r", 105.3, 105.3, woken)
    assert state.record is None
    assert "slept for 61 s" in state.view(106.0).question


def test_a_sleep_right_after_the_start_is_noticed() -> None:
    start = WALL + timedelta(seconds=100)
    state = trial_for("hold").tick(99.9, start).key("space", " ", 100.0, 100.0, start)
    state = state.tick(100.1, start + timedelta(seconds=61))
    state = press(state, ("space", 104.0))
    assert "slept for 61 s" in state.view(105.0).question


def test_a_clock_set_back_is_shown_at_the_trial_and_not_asked_about() -> None:
    state = held_over_a_sleep(-3600.0)
    words = "the computer's clock was set back by 60 min; the timer does not use it"
    assert state.view(113.0).question == ""
    assert state.view(113.0).hint == words
    trial = kept(press(state, ("enter", 114.0)))
    assert (trial.value, trial.trust, trial.note) == (12.0, ("suspend",), words)


def test_a_sleep_before_the_start_is_no_matter() -> None:
    ready = trial_for("hold").tick(90.0, WALL).tick(90.1, WALL + timedelta(seconds=61))
    state = until(ready, 99.8, 90.1).tick(99.9, WALL + timedelta(seconds=70.8))
    state = press(state, ("space", 100.0)).tick(100.6, WALL + timedelta(seconds=71.5))
    state = press(state, ("space", 105.0))
    assert not state.in_doubt


def values(trial: Trial, *, kept_in_session: bool = True) -> list[float | None]:
    """What a session comes to that holds this trial, or has it under way."""
    session = Session(
        id="2026-03-02-0915-7f3a",
        protocol="small",
        started=WALL,
        client=Client(label="K-7", age=40),
        under_way=None if kept_in_session else trial,
    )
    assessed = assess(make_protocol(), session.with_trial(trial) if kept_in_session else session)
    return [result.value for result in assessed.results if result.value is not None]


def test_assess_uses_a_trial_in_doubt_only_once_somebody_has_confirmed_it() -> None:
    state, now = ended_over_a_gap("hold", 61.0)
    told = under_way(state)
    assert told is not None
    assert values(told, kept_in_session=False) == []
    assert values(told) == []
    assert values(kept(press(state, ("n", now + 1.0)))) == []
    assert values(kept(press(state, ("y", now + 1.0), ("enter", now + 3.0)))) == [45.0]
    assert values(restored(told)) == [45.0]
