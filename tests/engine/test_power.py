"""Power of rising and of climbing, against worked examples."""

from __future__ import annotations

import pytest

from screen_tui.engine.measures import rise_power_watts, stair_power_watts


@pytest.mark.parametrize(
    ("mass", "height", "seat", "seconds", "rises", "watts"),
    [
        # Worked by hand from the published form (Alcazar and others 2018, Exp Gerontol 112:38-43).
        (65, 160, 43, 30, 9, 127.4),
        (82, 176, 45, 13.2, 5, 235.8),
        (90, 180, 43, 8.0, 5, 466.8),
    ],
)
def test_power_of_rising(
    mass: float, height: float, seat: float, seconds: float, rises: int, watts: float
) -> None:
    assert rise_power_watts(mass, height, seat, seconds, rises) == pytest.approx(watts, abs=0.05)


def test_two_centimetres_of_seat_shift_the_result_by_six_percent() -> None:
    low = rise_power_watts(65, 160, 43, 30, 9)
    high = rise_power_watts(65, 160, 45, 30, 9)
    assert low is not None
    assert high is not None
    assert low / 65 == pytest.approx(1.96, abs=0.005)
    assert high / 65 == pytest.approx(1.85, abs=0.005)


def test_a_way_up_below_twenty_centimetres_gives_no_power() -> None:
    assert rise_power_watts(50, 125, 43, 30, 9) is None
    assert rise_power_watts(50, 126, 43, 30, 9) is not None


@pytest.mark.parametrize(
    ("mass", "riser", "steps", "seconds", "watts"),
    [(80, 17, 11, 6.0, 244.6), (65, 18, 9, 9.0, 114.8)],
)
def test_power_of_climbing(
    mass: float, riser: float, steps: int, seconds: float, watts: float
) -> None:
    assert stair_power_watts(mass, riser, steps, seconds) == pytest.approx(watts, abs=0.05)


def test_nothing_done_gives_no_power() -> None:
    assert rise_power_watts(65, 160, 43, 30, 0) is None
    assert stair_power_watts(65, 17, 10, 0) is None
