import pytest

from screen_tui.timing.kinds.repeat_hold import RepeatHoldTimer
from screen_tui.timing.timer import GRACE_S, Phase

READY = RepeatHoldTimer(3, 5.0)


def test_a_hold_that_lasts_is_good_and_the_next_waits_for_a_press() -> None:
    timer = READY.press(100.0)
    assert (timer.phase, timer.resting) == (Phase.RUNNING, False)
    assert timer.tick(105.0 + GRACE_S / 2) == timer
    timer = timer.tick(105.0 + GRACE_S)
    assert (timer.phase, timer.resting, timer.count) == (Phase.RUNNING, True, 1)
    assert (timer.reached, timer.note, timer.elapsed(107.0)) == (True, "full time", 5.0)
    timer = timer.press(110.0)
    assert (timer.count, timer.elapsed(112.0)) == (1, 2.0)
    assert (timer.reached, timer.note) == (False, "")


def test_a_press_during_a_hold_ends_it_as_not_good() -> None:
    timer = READY.press(100.0).press(103.5)
    assert (timer.count, timer.splits, timer.resting) == (0, (3.5,), True)
    assert (timer.note, timer.reached) == ("ended early", False)


def test_after_the_last_hold_it_has_ended() -> None:
    timer = READY.press(100.0).tick(106.0).press(110.0).press(112.0).press(120.0)
    assert timer.value is None
    timer = timer.tick(126.0)
    assert (timer.phase, timer.value, timer.splits) == (Phase.ENDED, 2.0, (5.0, 2.0, 5.0))
    assert not timer.incomplete
    assert timer.count == 2
    assert timer.press(131.0) == timer
    assert timer.stop(131.0) == timer
    assert timer.tick(131.0) == timer


@pytest.mark.parametrize("ticked_at", [104.0, 105.1, 105.3])
def test_an_early_end_counts_with_its_own_time_however_late(ticked_at: float) -> None:
    timer = READY.press(100.0).tick(ticked_at).press(104.5)
    assert (timer.count, timer.splits, timer.resting) == (0, (4.5,), True)


@pytest.mark.parametrize("ticked_at", [104.0, 105.3])
def test_a_stop_just_after_the_full_time_neither_spoils_nor_starts(ticked_at: float) -> None:
    timer = READY.press(100.0).tick(ticked_at).press(105.1)
    assert (timer.count, timer.resting) == (1, True)


@pytest.mark.parametrize("ticked_at", [104.0, 105.3])
def test_a_press_well_after_the_full_time_starts_the_next(ticked_at: float) -> None:
    timer = READY.press(100.0).tick(ticked_at).press(106.0)
    assert (timer.count, timer.resting) == (1, False)
    assert timer.elapsed(107.0) == 1.0


def test_stopped_during_a_hold() -> None:
    running = READY.press(100.0).tick(106.0).press(110.0)
    timer = running.stop(112.0)
    assert (timer.phase, timer.incomplete, timer.value) == (Phase.ENDED, True, 1.0)
    assert timer.splits == (5.0, 2.0)
    assert (timer.elapsed(130.0), timer.ended) == (2.0, 112.0)
    assert timer.note == "stopped early"
    assert timer.press(113.0) == timer


def test_stopped_during_rest() -> None:
    resting = READY.press(100.0).tick(106.0)
    timer = resting.stop(112.0)
    assert (timer.phase, timer.resting, timer.splits) == (Phase.ENDED, False, (5.0,))


def test_a_stop_after_the_full_time_of_a_hold_leaves_it_good() -> None:
    timer = READY.press(100.0).stop(105.1)
    assert (timer.value, timer.incomplete) == (1.0, True)
    last = RepeatHoldTimer(1, 5.0).press(100.0).stop(105.1)
    assert (last.value, last.incomplete) == (1.0, False)


def test_a_start_before_the_end_of_the_last_hold_is_taken_as_simultaneous() -> None:
    timer = READY.press(100.0).press(103.0).press(101.0)
    assert timer.press(104.0).splits == (3.0, 1.0)


def test_a_ready_series_shows_nothing_yet() -> None:
    assert (READY.phase, READY.elapsed(5.0), READY.splits) == (Phase.READY, 0.0, ())
    assert (READY.reached, READY.note) == (False, "")
    assert READY.stop(5.0) == READY
