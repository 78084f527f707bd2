"""The minutes left as they are shown: steady, never more than before."""

from __future__ import annotations

import pytest

from screen_tui.trial.itinerary import MinutesLeft


def shown(steps: list[tuple[float, float, float]], start: float = 10.0) -> list[float]:
    """What is shown after each (minutes by the tests, of the test just done, seconds so far)."""
    left, told = MinutesLeft(start, start, 0.0), []
    for by_tests, done, now in steps:
        left = left.after(by_tests, done, now)
        told.append(left.shown)
    return told


def test_it_falls_with_the_tests_as_they_are_done() -> None:
    assert shown([(8.5, 1.5, 60.0), (7.5, 1.0, 120.0), (7.5, 1.0, 300.0)]) == [8.5, 7.5, 7.5]


def test_it_never_goes_up_when_a_result_calls_for_more() -> None:
    assert shown([(9.0, 1.0, 60.0), (12.0, 1.0, 120.0), (8.5, 1.0, 180.0)]) == [9.0, 9.0, 8.5]


def test_it_falls_no_further_than_the_test_just_done_or_the_time_gone_by() -> None:
    assert shown([(4.0, 1.0, 30.0)]) == [9.0]
    assert shown([(4.0, 1.0, 180.0)]) == [7.0]
    assert shown([(4.0, 1.0, 30.0), (3.0, 1.0, 60.0), (2.0, 4.0, 90.0)]) == [9.0, 8.0, 4.0]


def test_with_nothing_left_to_do_none_is_shown() -> None:
    assert shown([(0.0, 1.0, 30.0)]) == [0.0]


@pytest.mark.parametrize(("minutes", "words"), [(4.0, "4"), (3.2, "4"), (0.1, "1"), (0.0, "0")])
def test_it_is_shown_in_whole_minutes_and_never_too_few(minutes: float, words: str) -> None:
    assert MinutesLeft(minutes, minutes, 0.0).words == f"{words} min left"
