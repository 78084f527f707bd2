from datetime import UTC, datetime

from screen_tui.timing.clock import Clock, SystemClock


def test_the_clock_of_the_computer_goes_forward_and_knows_its_offset() -> None:
    clock: Clock = SystemClock()
    first, second = clock.monotonic(), clock.monotonic()
    assert second >= first
    assert clock.wall().utcoffset() is not None
    assert abs((clock.wall() - datetime.now(UTC)).total_seconds()) < 5


def test_key_stamps_and_the_clock_share_their_zero() -> None:
    from textual import events

    assert abs(events.Key("a", "a").time - SystemClock().monotonic()) < 1
