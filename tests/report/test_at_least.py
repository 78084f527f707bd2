"""When a result is only known to be no less than its number."""

from __future__ import annotations

import pytest
from support.small_protocol import measure, test_spec

from screen_tui.protocol.tests import ResultMeasure
from screen_tui.report.facts import at_least

HOLD = test_spec("stance")
TIMED = test_spec("rise", timer={"kind": "once"})


def of(**more: str) -> ResultMeasure:
    return ResultMeasure.model_validate(measure(**more))


@pytest.mark.parametrize(
    ("over_trials", "values", "expected"),
    [
        ("best", [44.9], False),
        ("best", [10.0, 45.0], True),
        ("mean", [10.0, 45.0], True),
        ("mean", [10.0, 44.0], False),
        ("first", [45.0, 10.0], True),
        ("first", [10.0, 45.0], False),
        ("last", [10.0, 45.0], True),
        ("last", [45.0, 10.0], False),
        ("best", [], False),
    ],
)
def test_a_hold_is_at_least_where_the_clock_cut_what_counts(
    over_trials: str, values: list[float], expected: bool
) -> None:
    assert at_least(HOLD, of(over_trials=over_trials), values) is expected


def test_only_the_time_of_a_hold_can_be_cut_short() -> None:
    assert not at_least(TIMED, of(), [60.0])
    assert not at_least(HOLD, of(taken_from="points"), [45.0])
