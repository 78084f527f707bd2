"""Whatever is pressed: nothing raises, and what was kept stays."""

from __future__ import annotations

import pytest
from flow_protocol import TIMERS
from hypothesis import given, settings
from hypothesis import strategies as st
from support.thorough import examples
from trial_driving import trial_for

KEYS = st.sampled_from(
    [*"0123456789pextynd+-.,qE", "space", "enter", "backspace", "tab", "up", "down", "f1"]
)
GAPS = st.sampled_from([0.0, 0.03, 0.1, 0.3, 0.8, 1.5, 12.0, 50.0, 4000.0])
EVENTS = st.lists(st.tuples(KEYS, GAPS, st.booleans()), max_size=60)


@pytest.mark.parametrize("kind", sorted(TIMERS))
@pytest.mark.parametrize("count_in", [0.0, 3.0])
@settings(max_examples=examples(60))
@given(events=EVENTS)
def test_any_keys_at_any_times_are_taken_and_nothing_saved_is_lost(
    kind: str, count_in: float, events: list[tuple[str, float, bool]]
) -> None:
    state = trial_for(kind, count_in=count_in)
    now, trials = 100.0, []
    for key, gap, ticked in events:
        now += gap
        before = state
        state = state.key(key, key if len(key) == 1 else None, now, now + 0.01)
        if ticked:
            state = state.tick(now + 0.02)
        if before.record is not None:
            assert state.record is before.record
            trials.append(state.record)
            state = state.again()
            assert state.series.trials == tuple(trials)
        view = state.view(now + 0.02)
        assert view.state
        assert view.keys or state.record is not None


@settings(max_examples=examples(60))
@given(events=EVENTS)
def test_taking_everything_back_leads_to_a_trial_that_is_ready(
    events: list[tuple[str, float, bool]],
) -> None:
    state = trial_for("time-for-count")
    now = 100.0
    for key, gap, _ in events:
        now += gap
        if key != "enter" and state.record is None:
            state = state.key(key, key if len(key) == 1 else None, now, now).tick(now)
    for _ in range(2 * len(events) + 2):
        now += 2.0
        state = state.key("backspace", None, now, now).tick(now)
    if state.record is None:
        assert state.view(now).state == "READY"
        assert not state.undoable
