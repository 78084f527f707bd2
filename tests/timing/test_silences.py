"""How long the computer stood still in a trial."""

import pytest

from screen_tui.timing.trust import TrustWatch


def ticked(*times: float, watch: TrustWatch | None = None) -> TrustWatch:
    watch = watch or TrustWatch()
    for time in times:
        watch = watch.tick(time)
    return watch


@pytest.mark.parametrize(("gap", "still"), [(0.5, 0.0), (0.51, 0.51), (61.0, 61.0)])
def test_only_more_than_half_a_second_counts(gap: float, still: float) -> None:
    assert ticked(0.0, gap).stood_still_s(until=100.0) == still


def test_silences_add_up() -> None:
    watch = ticked(0.0, 2.0, 2.1, 5.1)
    assert watch.stood_still_s(until=100.0) == pytest.approx(5.0)


def test_a_silence_that_began_after_the_end_does_not_count() -> None:
    watch = ticked(0.0, 10.0, 10.1, 40.0)
    assert watch.stood_still_s(until=10.1) == 10.0
    assert watch.stood_still_s(until=10.2) == pytest.approx(39.9)


def test_idle_silences_are_remembered_without_a_flag() -> None:
    watch = TrustWatch().idle(0.0).idle(3.0)
    assert (watch.flags, watch.silences) == ((), ((0.0, 3.0),))


@pytest.mark.parametrize(
    ("start", "silences", "flags"),
    [
        (2.0, ((0.0, 3.0),), ("stall",)),
        (3.2, ((0.0, 3.0),), ("stall",)),
        (3.3, (), ()),
    ],
)
def test_a_trial_begins_with_the_silence_it_started_in(
    start: float, silences: tuple[tuple[float, float], ...], flags: tuple[str, ...]
) -> None:
    watch = TrustWatch().idle(0.0).idle(3.0).begun(start)
    assert (watch.silences, watch.flags, watch.last_tick) == (silences, flags, 3.0)


def test_begun_again_nothing_is_left_of_the_trial_before() -> None:
    watch = ticked(0.0, 3.0).blur().begun(10.0)
    assert (watch.flags, watch.silences, watch.wall_ahead_s) == ((), (), 0.0)
