from datetime import UTC, datetime, timedelta

import pytest

from screen_tui.clock import Clock, FakeClock, SystemClock


def test_the_clock_of_the_computer_goes_forward_and_knows_its_offset() -> None:
    clock: Clock = SystemClock()
    first, second = clock.monotonic(), clock.monotonic()
    assert second >= first
    assert clock.wall().utcoffset() is not None
    assert abs((clock.wall() - datetime.now(UTC)).total_seconds()) < 5


def test_key_stamps_and_the_clock_share_their_zero() -> None:
    from textual import events

    assert abs(events.Key("a", "a").time - SystemClock().monotonic()) < 1


def test_a_fake_clock_stands_still_until_moved() -> None:
    clock = FakeClock()
    wall = clock.wall()
    assert (clock.monotonic(), clock.wall()) == (100.0, wall)
    clock.advance(27.5)
    assert clock.monotonic() == 127.5
    assert clock.wall() - wall == timedelta(seconds=27.5)


def test_a_fake_clock_begins_where_it_is_told() -> None:
    wall = datetime(2020, 2, 29, 12, tzinfo=UTC)
    clock = FakeClock(start=7.0, wall=wall)
    assert (clock.monotonic(), clock.wall()) == (7.0, wall)


def test_a_fake_clock_does_not_go_back() -> None:
    with pytest.raises(ValueError, match="back"):
        FakeClock().advance(-0.1)


def test_a_fake_clock_needs_an_offset() -> None:
    with pytest.raises(ValueError, match="offset"):
        FakeClock(wall=datetime(2020, 1, 1))  # noqa: DTZ001
