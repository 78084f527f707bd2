"""What is known when a trial begins: what the test came to, and what to mind in testing."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from screen_tui.engine.conditions import Seen
from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.session.model import Client, Intake, Session, Trial
from screen_tui.trial.itinerary import cautions_in_testing, outcome

PROTOCOL = load_protocol([protocols_folder()])


def session(*trials: Trial, **intake: Any) -> Session:
    return Session(
        id="k",
        protocol=PROTOCOL.battery.id,
        started=datetime(2026, 3, 2, 9, 15, tzinfo=UTC),
        client=Client(label="K-014", age=71, sex="female"),
        intake=Intake(side="left", goals=("walking",), **intake),
        trials=trials,
    )


def came_to(test: str, side: Any, *trials: Trial) -> tuple[str, ...]:
    return outcome(Seen.of(PROTOCOL, session(*trials)), test, side)


def test_a_walk_tells_its_speed_against_the_cut_off() -> None:
    (line,) = came_to("walk-4m", None, Trial(test="walk-4m", value=5.0))
    # 4 m in 5 s.
    assert line.startswith("Usual speed 0.80 m/s; worse than the cut-off, at least 1.00 m/s")


def test_the_second_leg_tells_how_far_it_is_from_the_first() -> None:
    right = Trial(test="single-leg-stance", side="right", value=20.0, ended="foot-down")
    left = Trial(test="single-leg-stance", side="left", value=15.0, ended="foot-down")
    (line,) = came_to("single-leg-stance", "left", right, left)
    # 15 is three quarters of 20.
    assert line.endswith("right 20.0 s, difference 5.0 (25 %)")
    (alone,) = came_to("single-leg-stance", "right", right)
    assert "difference" not in alone


def test_a_count_that_pain_stopped_tells_how_far_it_came_and_why() -> None:
    stopped = Trial(test="chair-stands-30s", raw_value=2.0, ended="pain", splits=(3.0, 6.0))
    line = came_to("chair-stands-30s", None, stopped)[0]
    assert "2 repetitions, stopped: pain" in line
    of_five = Trial(test="five-chair-stands", ended="pain", splits=(3.0, 6.0))
    line = came_to("five-chair-stands", None, of_five)[0]
    assert "2 of 5, stopped: pain" in line


def test_a_flight_timed_as_a_whole_tells_no_number_of_steps() -> None:
    stopped = Trial(test="stair-steps", direction="up", steps=9, ended="pain")
    assert came_to("stair-steps", None, stopped) == ()


def test_nothing_done_came_to_nothing() -> None:
    assert came_to("walk-4m", None) == ()


@pytest.mark.parametrize(
    ("intake", "told"),
    [
        ({}, ()),
        ({"weight_bearing": "partial"}, ("weight-bearing allowed: partial",)),
        ({"recent_surgery_weeks": 3}, ("Early after surgery: the surgeon's limits first.",)),
    ],
)
def test_what_matters_to_testing_takes_a_line_each(
    intake: dict[str, Any], told: tuple[str, ...]
) -> None:
    one = session(**intake)
    assert cautions_in_testing(Seen.of(PROTOCOL, one)) == told


def test_a_short_tandem_stance_says_to_have_hands_ready() -> None:
    one = session(Trial(test="tandem-stance", value=4.0, ended="stance-foot-moved"))
    told = cautions_in_testing(Seen.of(PROTOCOL, one))
    assert told == ("Fall risk: hands ready, rail in reach.",)
