"""What must hold for timers whatever a hand does to them."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from screen_tui.timing.kinds.count_in_time import CountInTime, CountInTimeTimer
from screen_tui.timing.kinds.hold import Hold, HoldTimer
from screen_tui.timing.kinds.repeat_hold import RepeatHold, RepeatHoldTimer
from screen_tui.timing.kinds.time_for_count import TimeForCount
from screen_tui.timing.timer import GRACE_S, FixedCountTimer, IntervalTimer, Phase, Timer, Untimed

TIMERS: tuple[Timer, ...] = (
    HoldTimer(10.0),
    CountInTimeTimer(10.0, 0.3),
    CountInTimeTimer(10.0, 0.3, asks_half=False),
    FixedCountTimer(5, 0.3),
    IntervalTimer(),
    Untimed(3),
    RepeatHoldTimer(3, 2.0),
)

every_kind = pytest.mark.parametrize("timer", TIMERS, ids=lambda timer: type(timer).__name__)

stamps = st.floats(0.0, 25.0)
actions = st.lists(
    st.tuples(st.sampled_from(["press", "press", "press", "tick", "stop", "yes"]), stamps),
    max_size=40,
)


def do(timer: Timer, action: str, t: float) -> Timer:
    match action:
        case "press":
            return timer.press(t)
        case "tick":
            return timer.tick(t)
        case "stop":
            return timer.stop(t)
    return timer.answer(True)


@every_kind
@given(actions=actions, now=st.floats(-1e6, 1e6))
def test_no_order_of_keys_and_times_breaks_a_timer(
    timer: Timer, actions: list[tuple[str, float]], now: float
) -> None:
    for action, t in actions:
        timer = do(timer, action, t)
        assert timer.elapsed(now) >= 0
        assert timer.limit_s is None or timer.elapsed(now) <= timer.limit_s
        assert timer.count >= 0
        assert (timer.value is None) or timer.phase is Phase.ENDED


@given(
    presses=st.lists(st.floats(0.0, 12.0), max_size=40).map(sorted),
    ticks=st.lists(st.floats(0.0, 10.0 + GRACE_S, exclude_max=True), max_size=20),
    asks=st.booleans(),
)
def test_a_countdown_counts_what_was_pressed_in_time_whenever_it_is_ticked(
    presses: list[float], ticks: list[float], asks: bool
) -> None:
    expected, last = 0, 0.0
    for t in presses:
        if t <= 10.0 and t - last >= 0.3:
            expected, last = expected + 1, t

    start = CountInTimeTimer(10.0, 0.3, asks).press(0.0)
    ticks_first = start
    for now in ticks:
        ticks_first = ticks_first.tick(now)
    for t in presses:
        ticks_first = ticks_first.press(t)

    in_order = start
    for t, is_tick in sorted([(t, False) for t in presses] + [(t, True) for t in ticks]):
        in_order = in_order.tick(t) if is_tick else in_order.press(t)

    closed_first = start.tick(11.0)
    for t in presses:
        closed_first = closed_first.press(t)

    for timer in (ticks_first, in_order, closed_first):
        assert timer.tick(20.0).count == expected
        assert timer.tick(20.0).value == expected


@given(stop=st.floats(0.0, 12.0), tick=st.floats(0.0, 20.0))
def test_a_hold_has_the_same_result_whether_ticked_before_or_after_the_press(
    stop: float, tick: float
) -> None:
    start = HoldTimer(10.0).press(0.0)
    ticked_first, pressed_first = start.tick(tick).press(stop), start.press(stop).tick(tick)
    assert ticked_first == pressed_first
    assert ticked_first.value == min(stop, 10.0)
    assert ticked_first.capped == (stop > 10.0)


@given(
    presses=st.lists(st.floats(0.0, 30.0), max_size=10, unique=True).map(sorted),
    ticks=st.lists(st.floats(0.0, 30.0), max_size=20),
)
def test_a_series_of_holds_has_the_same_result_however_often_it_is_ticked(
    presses: list[float], ticks: list[float]
) -> None:
    unticked = RepeatHoldTimer(3, 2.0)
    ticked = unticked
    for t, is_tick in sorted([(t, False) for t in presses] + [(t, True) for t in ticks]):
        if is_tick:
            ticked = ticked.tick(t)
        else:
            ticked, unticked = ticked.press(t), unticked.press(t)
    assert ticked.tick(100.0) == unticked.tick(100.0)


@pytest.mark.parametrize(
    ("kind", "field", "bad"),
    [
        (Hold, "cap_s", [0, -1, math.nan, math.inf]),
        (CountInTime, "window_s", [0, -30]),
        (CountInTime, "min_split_s", [0, -0.1]),
        (TimeForCount, "count", [0, -1]),
        (TimeForCount, "min_split_s", [-0.1]),
        (RepeatHold, "holds", [0, -1]),
        (RepeatHold, "hold_s", [0, -5]),
    ],
)
def test_settings_that_make_no_sense_are_refused_in_the_file(kind, field: str, bad: list) -> None:
    good = {"cap_s": 45, "window_s": 30, "min_split_s": 0.5, "count": 5, "end_point": "sit"}
    good |= {"holds": 3, "hold_s": 5}
    fields = {name: value for name, value in good.items() if name in kind.model_fields}
    assert kind(kind=kind.name(), **fields)
    for value in bad:
        with pytest.raises(ValidationError):
            kind(kind=kind.name(), **{**fields, field: value})
