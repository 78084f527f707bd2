from screen_tui.timing.timer import FixedCountTimer, Phase


def test_the_last_of_the_set_number_ends_and_gives_the_time() -> None:
    timer = FixedCountTimer(3, 0.5).press(100.0).press(102.0).press(104.5)
    assert (timer.phase, timer.value) == (Phase.RUNNING, None)
    timer = timer.press(107.25)
    assert (timer.phase, timer.value, timer.incomplete) == (Phase.ENDED, 7.25, False)
    assert timer.splits == (2.0, 4.5, 7.25)
    assert (timer.elapsed(200.0), timer.count, timer.reached) == (7.25, 3, True)


def test_a_running_timer_shows_the_time_and_the_count() -> None:
    timer = FixedCountTimer(5, 0.5).press(100.0).press(102.0)
    assert (timer.elapsed(103.5), timer.count, timer.splits) == (3.5, 1, (2.0,))
    assert (timer.deadline, timer.reached) == (None, False)


def test_a_press_too_fast_is_ignored_and_does_not_end() -> None:
    timer = FixedCountTimer(2, 0.5).press(100.0).press(102.0).press(102.2)
    assert (timer.phase, timer.count, timer.ignored) == (Phase.RUNNING, 1, 1)
    assert timer.note == "too fast, ignored"
    assert timer.press(104.0).value == 4.0
    assert timer.press(104.0).ignored == 1


def test_presses_after_the_end_change_nothing() -> None:
    timer = FixedCountTimer(1, 0.2).press(100.0).press(101.0)
    assert timer.press(102.0) == timer
    assert timer.stop(102.0) == timer
    assert timer.tick(500.0) == timer


def test_stopped_early_there_is_a_count_but_no_value() -> None:
    running = FixedCountTimer(5, 0.5).press(100.0).press(102.0)
    timer = running.stop(106.0)
    assert (timer.phase, timer.incomplete, timer.value) == (Phase.ENDED, True, None)
    assert (timer.count, timer.splits) == (1, (2.0,))
    assert (timer.elapsed(200.0), timer.note) == (6.0, "stopped early")


def test_a_stop_before_the_last_press_is_taken_as_simultaneous_with_it() -> None:
    timer = FixedCountTimer(5, 0.5).press(100.0).press(102.0).stop(101.0)
    assert timer.elapsed(200.0) == 2.0


def test_stopping_before_the_start_changes_nothing() -> None:
    assert FixedCountTimer(5, 0.5).stop(3.0) == FixedCountTimer(5, 0.5)
