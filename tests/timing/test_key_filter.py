from collections.abc import Iterable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from traces import CHATTER, KEYBOARDS, Keyboard, held, held_unevenly, taps

from screen_tui.timing.key_filter import OneKey

by_name = pytest.mark.parametrize("keyboard", KEYBOARDS, ids=lambda keyboard: keyboard.name)


def let_through(events: Iterable[float], polls: Iterable[float] = ()) -> list[float]:
    """Feed events and polls in the order of their times; at one time the event comes first."""
    gate = OneKey()
    out: list[float] = []
    for t, is_poll in sorted([(t, False) for t in events] + [(t, True) for t in polls]):
        gate, times = gate.poll(t) if is_poll else gate.press(t)
        out += times
    return [*out, *gate.flush()[1]]


@by_name
def test_a_key_held_for_three_seconds_is_one_press(keyboard: Keyboard) -> None:
    assert let_through(held(keyboard.delay, keyboard.period, 3.0)) == [0.0]


@by_name
@pytest.mark.parametrize("seed", range(20))
def test_a_held_key_read_unevenly_is_one_press(keyboard: Keyboard, seed: int) -> None:
    events = held_unevenly(keyboard.delay, keyboard.period, 3.0, seed)
    polls = [i / 10 for i in range(40)]
    assert let_through(events, polls) == [events[0]]


@by_name
def test_two_holds_are_two_presses_with_their_own_times(keyboard: Keyboard) -> None:
    second = held(keyboard.delay, keyboard.period, 2.0, start=3.5)
    assert let_through(held(keyboard.delay, keyboard.period, 3.0) + second) == [0.0, 3.5]


@pytest.mark.parametrize("rate", [1, 2, 3, 4, 5, 6, 7])
def test_taps_all_pass_with_their_own_times(rate: int) -> None:
    events = taps(rate, 20)
    assert let_through(events) == events


def test_a_bouncing_contact_is_one_press() -> None:
    assert let_through(CHATTER) == [0.0]


def test_the_first_press_and_one_after_a_long_pause_pass_at_once() -> None:
    gate, first = OneKey().press(10.0)
    gate, second = gate.press(11.3)
    assert (first, second) == ((10.0,), (11.3,))
    assert gate.flush()[1] == ()


def test_a_candidate_passes_when_polled_after_its_silence_with_its_own_time() -> None:
    gate, _ = OneKey().press(10.0)
    gate, waiting = gate.press(10.5)
    gate, too_soon = gate.poll(10.61)
    gate, passed = gate.poll(10.7)
    gate, again = gate.poll(10.8)
    assert (waiting, too_soon, passed, again) == ((), (), (10.5,), ())


def test_a_candidate_that_nobody_polled_comes_before_the_next_press() -> None:
    gate, _ = OneKey().press(10.0)
    gate, _ = gate.press(10.5)
    gate, times = gate.press(12.5)
    assert times == (10.5, 12.5)


def test_a_candidate_gives_way_to_the_next_candidate() -> None:
    gate, _ = OneKey().press(10.0)
    gate, _ = gate.press(10.5)
    gate, times = gate.press(11.0)
    assert times == (10.5,)
    assert gate.flush()[1] == (11.0,)


def test_flush_lets_a_candidate_through_without_silence_and_only_once() -> None:
    gate, _ = OneKey().press(10.0)
    gate, _ = gate.press(10.5)
    gate, times = gate.flush()
    assert times == (10.5,)
    assert gate.flush()[1] == ()


def test_an_event_from_the_past_is_swallowed() -> None:
    gate, _ = OneKey().press(10.0)
    gate, times = gate.press(4.0)
    assert times == ()
    assert gate.last_seen == 10.0


def test_holding_shows_during_a_train_and_not_after_it() -> None:
    gate = OneKey()
    shown = []
    for t in held(0.5, 0.03, 1.0):
        gate, _ = gate.press(t)
        shown.append(gate.holding(t))
    assert shown[:2] == [False, False]
    assert all(shown[2:])
    assert gate.holding(1.05)
    assert not gate.holding(1.2)


def test_holding_does_not_show_for_one_bounce_or_for_taps() -> None:
    gate, _ = OneKey().press(0.0)
    gate, _ = gate.press(0.008)
    assert not gate.holding(0.01)
    for t in taps(7, 10, start=1.0):
        gate, _ = gate.press(t)
        assert not gate.holding(t)


times = st.floats(0.0, 60.0)


@given(st.lists(times, max_size=60), st.lists(times, max_size=30))
def test_nothing_passes_that_was_not_pressed_and_order_holds(
    events: list[float], polls: list[float]
) -> None:
    out = let_through(events, polls)
    assert out == sorted(out)
    remaining = list(events)
    for t in out:
        remaining.remove(t)


@given(st.lists(times))
def test_events_out_of_order_never_break_the_order_of_what_passes(events: list[float]) -> None:
    gate = OneKey()
    out: list[float] = []
    for t in events:
        gate, passed = gate.press(t)
        out += passed
    out += gate.flush()[1]
    assert out == sorted(out)
    assert set(out) <= set(events)


@given(
    delay=st.floats(0.2, 1.0),
    period=st.floats(0.015, 0.115),
    repeats=st.integers(2, 60),
    polls=st.lists(times),
)
def test_a_held_key_passes_once_whatever_the_keyboard(
    delay: float, period: float, repeats: int, polls: list[float]
) -> None:
    events = [5.0] + [5.0 + delay + i * period for i in range(repeats)]
    assert let_through(events, polls) == [5.0]


@given(st.lists(st.floats(0.125, 3.0), min_size=1, max_size=30), st.lists(times))
def test_presses_that_no_keyboard_repeats_so_slowly_all_pass(
    gaps: list[float], polls: list[float]
) -> None:
    events = [sum(gaps[: i + 1]) for i in range(len(gaps))]
    assert let_through(events, polls) == events


@given(st.lists(times, max_size=60), st.lists(times, max_size=60))
def test_polling_changes_when_presses_pass_not_which(
    events: list[float], polls: list[float]
) -> None:
    assert let_through(events, polls) == let_through(events)
