from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from screen_tui.timing.trust import TrustWatch

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def test_a_trial_without_trouble_has_no_flags() -> None:
    watch = TrustWatch(last_tick=100.0)
    for i in range(1, 301):
        watch = watch.tick(100.0 + i / 10)
    watch = watch.press(110.0, 110.009).splits((1.5, 3.0, 4.4), 0.5)
    assert watch.wall(NOON, NOON + timedelta(seconds=30), 100.0, 130.0).flags == ()


@pytest.mark.parametrize(("gap", "flags"), [(0.5, ()), (0.51, ("stall",))])
def test_a_gap_between_ticks_is_a_stall(gap: float, flags: tuple[str, ...]) -> None:
    assert TrustWatch().tick(0.0).tick(gap).flags == flags


def test_the_first_tick_has_no_gap_unless_the_start_is_known() -> None:
    assert TrustWatch().tick(100.0).flags == ()
    assert TrustWatch(last_tick=98.0).tick(100.0).flags == ("stall",)


@pytest.mark.parametrize(("lag", "flags"), [(0.25, ()), (0.26, ("stall",))])
def test_a_press_handled_late_is_a_stall(lag: float, flags: tuple[str, ...]) -> None:
    assert TrustWatch().press(0.0, lag).flags == flags


@pytest.mark.parametrize(
    ("wall", "flags"), [(30.5, ()), (29.5, ()), (30.6, ("suspend",)), (29.4, ("suspend",))]
)
def test_clocks_that_part_are_a_suspend(wall: float, flags: tuple[str, ...]) -> None:
    later = NOON + timedelta(seconds=wall)
    assert TrustWatch().wall(NOON, later, 100.0, 130.0).flags == flags


def test_a_change_to_summer_time_is_no_suspend() -> None:
    berlin = ZoneInfo("Europe/Berlin")
    before = datetime(2026, 3, 29, 1, 59, 50, tzinfo=berlin)
    after = datetime(2026, 3, 29, 3, 0, 10, tzinfo=berlin)
    assert TrustWatch().wall(before, after, 50.0, 70.0).wall_ahead_s == 0


def test_wall_times_without_offset_are_refused() -> None:
    with pytest.raises(ValueError, match="offset"):
        TrustWatch().wall(NOON, NOON.replace(tzinfo=None), 0.0, 1.0)


@pytest.mark.parametrize(
    ("splits", "expected"),
    [
        ((), False),
        ((0.4,), True),
        ((0.5, 1.0, 1.5), False),
        ((0.7, 1.4, 1.8), True),
        ((0.1 + 0.2, 0.6, 0.6 + 0.5), True),
    ],
)
def test_a_split_faster_than_plausible(splits: tuple[float, ...], expected: bool) -> None:
    assert bool(TrustWatch().splits(splits, 0.5).flags) is expected


def test_a_split_just_long_enough_does_not_fail_by_rounding() -> None:
    assert 0.3 - 0.2 < 0.1  # as the differences of stamps come out
    assert not TrustWatch().splits((0.2, 0.3), 0.1).flags


def test_an_ignored_press_is_an_implausible_split() -> None:
    assert TrustWatch().splits((2.0, 4.0), 0.5, ignored=1).flags == ("implausible-split",)


def test_flags_gather_once_each_in_the_order_seen() -> None:
    watch = TrustWatch().blur().press(0.0, 1.0).blur().press(2.0, 3.0).splits((0.1,), 0.5)
    assert watch.flags == ("lost-focus", "stall", "implausible-split")
