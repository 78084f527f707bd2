import pytest

from screen_tui.timing.kinds.hold import HoldTimer
from screen_tui.timing.timer import GRACE_S, IntervalTimer, Phase


def test_a_hold_is_timed_from_press_to_press_unrounded() -> None:
    timer = HoldTimer(30.0).press(100.0)
    assert timer.phase is Phase.RUNNING
    assert timer.value is None
    timer = timer.press(106.23456)
    assert timer.phase is Phase.ENDED
    assert timer.value == 106.23456 - 100.0
    assert not timer.capped


def test_a_running_hold_shows_the_time_and_closes_at_its_cap() -> None:
    timer = HoldTimer(30.0).press(100.0)
    assert (timer.elapsed(112.5), timer.deadline) == (12.5, 130.0)
    assert not timer.reached


def test_a_ready_hold_shows_zero() -> None:
    ready = HoldTimer(30.0)
    assert (ready.phase, ready.elapsed(5.0), ready.deadline) == (Phase.READY, 0.0, None)


def test_an_ended_hold_shows_its_time_however_late_it_is_looked_at() -> None:
    timer = HoldTimer(30.0).press(100.0).press(106.5)
    assert timer.elapsed(500.0) == 6.5
    assert timer.tick(500.0) == timer


def test_the_cap_closes_a_hold_only_after_the_grace() -> None:
    timer = HoldTimer(30.0).press(100.0)
    within = timer.tick(130.0 + GRACE_S / 2)
    assert within.phase is Phase.RUNNING
    assert within.elapsed(130.1) == 30.0
    assert not within.reached
    closed = timer.tick(130.0 + GRACE_S)
    assert (closed.phase, closed.value, closed.capped) == (Phase.ENDED, 30.0, True)
    assert (closed.reached, closed.note) == (True, "full time")


@pytest.mark.parametrize("handled", [129.99, 130.1, 130.5])
def test_a_press_before_the_cap_counts_with_its_own_time_however_late(handled: float) -> None:
    timer = HoldTimer(30.0).press(100.0).tick(handled).press(129.75)
    assert (timer.value, timer.capped) == (29.75, False)


def test_a_press_on_the_cap_is_a_press_and_one_after_it_is_capped() -> None:
    timer = HoldTimer(30.0).press(100.0)
    assert not timer.press(130.0).capped
    late = timer.press(130.01)
    assert (late.value, late.capped, late.phase) == (30.0, True, Phase.ENDED)


def test_a_stop_is_an_end_for_a_hold() -> None:
    timer = HoldTimer(30.0).press(100.0).stop(104.0)
    assert (timer.value, timer.incomplete) == (4.0, False)


def test_a_press_after_the_end_changes_nothing() -> None:
    timer = HoldTimer(30.0).press(100.0).press(105.0)
    assert timer.press(106.0) == timer
    assert timer.stop(106.0) == timer


def test_an_end_before_the_start_takes_no_time() -> None:
    timer = HoldTimer(30.0).press(100.0).press(99.0)
    assert (timer.end, timer.value) == (100.0, 0.0)
    assert HoldTimer(30.0).press(100.0).elapsed(99.0) == 0.0


def test_a_walk_gives_seconds() -> None:
    timer = IntervalTimer().press(10.0)
    assert timer.value is None
    assert timer.press(15.0).value == 5.0


def test_a_walk_that_is_stopped_has_no_value() -> None:
    running = IntervalTimer().press(10.0)
    timer = running.stop(13.0)
    assert (timer.phase, timer.value) == (Phase.ENDED, None)
    assert timer.incomplete
    assert (timer.elapsed(20.0), timer.note) == (3.0, "stopped early")


def test_a_walk_goes_on_until_a_press() -> None:
    timer = IntervalTimer().press(10.0)
    assert timer.tick(1000.0) == timer


def test_one_movement_goes_on_until_a_press() -> None:
    timer = IntervalTimer().press(10.0).tick(500.0)
    assert timer.press(501.5).value == 491.5


def test_stopping_a_timer_that_is_ready_changes_nothing() -> None:
    assert IntervalTimer().stop(5.0) == IntervalTimer()
