from collections.abc import Iterable

import pytest

from screen_tui.timing.key_filter import OneKey
from screen_tui.timing.kinds.count_in_time import CountInTimeTimer
from screen_tui.timing.timer import GRACE_S, Phase

READY = CountInTimeTimer(30.0, 0.5)


def pressed(times: Iterable[float], timer: CountInTimeTimer = READY) -> CountInTimeTimer:
    for t in times:
        timer = timer.press(t)
    return timer


def test_presses_after_the_start_count_and_keep_their_splits() -> None:
    timer = pressed([100.0, 102.0, 104.5, 106.25])
    assert (timer.count, timer.splits) == (3, (2.0, 4.5, 6.25))
    assert timer.value is None
    assert (timer.elapsed(110.0), timer.note) == (10.0, "")


def test_a_press_too_fast_after_the_last_counted_is_ignored_and_shown() -> None:
    timer = pressed([100.0, 102.0, 102.3])
    assert (timer.count, timer.ignored) == (1, 1)
    assert timer.note == "too fast, ignored"
    # The measure is the last one counted, not the one ignored.
    assert timer.press(102.5).splits == (2.0, 2.5)
    assert timer.press(102.5).note == ""


def test_a_press_too_fast_after_the_start_is_ignored() -> None:
    assert pressed([100.0, 100.4]).ignored == 1


def test_the_window_closes_after_the_grace_and_asks() -> None:
    timer = pressed([100.0, 102.0])
    assert timer.tick(130.0 + GRACE_S / 2).phase is Phase.RUNNING
    closed = timer.tick(130.0 + GRACE_S)
    assert (closed.phase, closed.asking, closed.value) == (Phase.ENDED, True, 1.0)
    assert (closed.reached, closed.elapsed(140.0)) == (True, 30.0)


def test_half_way_up_counts_one_more() -> None:
    asked = pressed([100.0, 102.0]).tick(131.0)
    yes, no = asked.answer(True), asked.answer(False)
    assert (yes.value, yes.half, yes.asking) == (2.0, True, False)
    assert (no.value, no.half, no.asking) == (1.0, False, False)
    assert yes.splits == (2.0,)


def test_the_answer_is_heard_only_when_asked() -> None:
    running = pressed([100.0, 102.0])
    assert running.answer(True) == running
    answered = running.tick(131.0).answer(False)
    assert answered.answer(True) == answered
    unasked = CountInTimeTimer(30.0, 0.5, asks_half=False).press(100.0).tick(131.0)
    assert not unasked.asking
    assert unasked.answer(True) == unasked


@pytest.mark.parametrize("ticked_at", [129.0, 130.1, 130.15, 133.0])
def test_a_press_stamped_within_the_window_counts_however_late(ticked_at: float) -> None:
    timer = pressed([100.0, 102.0]).tick(ticked_at).press(130.0)
    assert timer.count == 2


def test_a_press_stamped_after_the_window_ends_it_and_does_not_count() -> None:
    timer = pressed([100.0, 102.0, 130.01])
    assert (timer.count, timer.ignored, timer.asking) == (1, 0, True)
    assert timer.note == "after the end, not counted"


def test_after_the_answer_nothing_more_is_counted() -> None:
    answered = pressed([100.0, 102.0]).tick(131.0).answer(False)
    assert answered.press(129.0) == answered


def test_stopped_early_keeps_the_count_and_asks_nothing() -> None:
    running = pressed([100.0, 102.0, 104.0])
    stopped = running.stop(110.0)
    assert (stopped.phase, stopped.incomplete, stopped.value) == (Phase.ENDED, True, 2.0)
    assert not stopped.asking
    assert stopped.press(112.0) == stopped
    assert (stopped.elapsed(120.0), stopped.note) == (10.0, "stopped early")


def test_a_stop_after_the_window_is_no_early_stop() -> None:
    timer = pressed([100.0, 102.0]).stop(130.05)
    assert (timer.incomplete, timer.asking) == (False, True)
    assert timer.stop(131.0) == timer


def test_a_press_from_the_past_is_taken_as_simultaneous_and_too_fast() -> None:
    timer = pressed([100.0, 105.0, 90.0])
    assert (timer.splits, timer.ignored) == ((5.0,), 1)
    assert pressed([100.0, 105.0, 90.0], CountInTimeTimer(30.0, 0.0)).splits == (5.0, 5.0)


def test_a_tap_just_before_the_end_survives_gate_and_tick() -> None:
    # The gate keeps a tap back for 0.12 s; polled first, it still comes before the window closes.
    gate, timer = OneKey(), READY
    keys = [100.0, 129.2, 129.99]
    for tick in range(1000, 1320):
        now = tick / 10
        while keys and keys[0] <= now:
            gate, times = gate.press(keys.pop(0))
            timer = pressed(times, timer)
        gate, times = gate.poll(now)
        timer = pressed(times, timer).tick(now)
    assert timer.asking
    assert timer.count == 2
