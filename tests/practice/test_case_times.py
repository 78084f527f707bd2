"""Two runs of a case differ a little, within bounds, and in nothing that matters."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.practice_case import PROTOCOL, STANCE, case_of

from screen_tui.practice.case import Pace
from screen_tui.practice.player import (
    LEAD_IN_S,
    LEAD_IN_VARY_S,
    SIGNS,
    TOGETHER_S,
    Moment,
    Timeline,
    varied,
)
from screen_tui.practice.staging import Scene, next_timeline, timeline_of, true_trial
from screen_tui.session.model import Trial

TIMES = st.lists(st.floats(0.125, 60, width=16), min_size=1, max_size=12)


def played(shown: dict[str, Any], seed: int = 1, attempt: int = 0) -> Timeline:
    scene = Scene(shown["test"], shown.get("side"), shown.get("cue", ""), shown.get("direction"))
    timeline = timeline_of(case_of(shown), PROTOCOL, scene, attempt, seed)
    assert timeline is not None
    return timeline


def trial(shown: dict[str, Any], seed: int = 1) -> Trial:
    return true_trial(PROTOCOL.test(shown["test"]), played(shown, seed))


@given(times=TIMES, vary=st.floats(0, 5), seed=st.text(max_size=5))
def test_times_stay_within_their_bound_and_in_their_order(
    times: list[float], vary: float, seed: str
) -> None:
    moments = [Moment(0.0, fixed=True), *(Moment(at) for at in sorted(times))]
    moved = varied(moments, vary, seed)
    assert moved[0] == 0
    for moment, at in zip(moments, moved, strict=True):
        assert abs(at - moment.at_s) <= vary + 1e-9
    for (one, at), (two, later) in pairwise(zip(moments, moved, strict=True)):
        assert (one.at_s < two.at_s) == (at < later)


@given(times=TIMES, vary=st.floats(0, 5), least=st.floats(0.1, 2), seed=st.text(max_size=5))
def test_repetitions_never_come_faster_than_anybody_can(
    times: list[float], vary: float, least: float, seed: str
) -> None:
    moments = [Moment(at, least, group="repetitions") for at in sorted(set(times))]
    moved = varied(moments, vary, seed)
    for (one, two), (at, later) in zip(pairwise(moments), pairwise(moved), strict=True):
        if two.at_s - one.at_s >= least:
            assert later - at >= least - 1e-9


@given(times=TIMES, vary=st.floats(0, 5), seed=st.text(max_size=5))
def test_signs_seen_together_stay_together_and_those_apart_apart(
    times: list[float], vary: float, seed: str
) -> None:
    moments = [Moment(at, group=SIGNS) for at in sorted(set(times))]
    moved = varied(moments, vary, seed)
    for (one, two), (at, later) in zip(pairwise(moments), pairwise(moved), strict=True):
        apart = two.at_s - one.at_s
        if abs(apart - TOGETHER_S) > 1e-6:
            assert (apart >= TOGETHER_S) == (later - at >= TOGETHER_S)


def test_the_same_seed_gives_the_same_trial_and_another_another() -> None:
    assert played(STANCE, seed=3) == played(STANCE, seed=3)
    ends = {played(STANCE, seed).over_s for seed in range(20)}
    assert len(ends) == 20
    assert all(11.6 <= end <= 12.4 for end in ends)
    assert max(ends) - min(ends) > 0.3
    # The second trial of the same kind differs from the first as well.
    assert played(STANCE, 3, attempt=1).over_s != played(STANCE, 3).over_s


def test_a_case_that_does_not_vary_is_as_it_is_written() -> None:
    exact = STANCE | {"vary_s": 0.0}
    timeline = played(exact)
    assert timeline.over_s == 12.0
    assert [sight.at_s for sight in timeline.sights] == [3.0, 8.0]
    assert [word.at_s for word in timeline.words] == [6.0]


def test_who_starts_the_clock_by_moving_gets_ready_first() -> None:
    leads = [played(STANCE, seed).lead_in_s for seed in range(20)]
    assert all(abs(lead - LEAD_IN_S) <= LEAD_IN_VARY_S for lead in leads)
    assert len(set(leads)) == 20
    five = {"test": "five-chair-stands", "repetitions_s": [2.0, 4.0, 6.0, 8.0, 10.0]}
    assert played(five).lead_in_s == 0


def test_a_full_time_is_never_missed_or_passed() -> None:
    capped = STANCE | {"ends_s": 45.0, "ended": "cap", "vary_s": 5.0}
    assert {played(capped, seed).over_s for seed in range(10)} == {45.0}


def test_a_pace_changes_evenly() -> None:
    assert Pace(count=3, first_s=2.0, last_s=4.0).moments == (2.0, 5.0, 9.0)
    assert Pace(count=1, first_s=2.0, last_s=9.0).moments == (2.0,)


def test_the_trials_of_a_case_come_in_turn_and_the_last_again() -> None:
    first, second = (STANCE | {"ends_s": end, "vary_s": 0.0} for end in (10.0, 20.0))
    case = case_of(first, second)
    scene = Scene("single-leg-stance", "left")
    ends = [timeline_of(case, PROTOCOL, scene, n, 1).over_s for n in range(3)]  # type: ignore[union-attr]
    assert ends == [10.0, 20.0, 20.0]
    recorded = [
        Trial(test="single-leg-stance", side="left", void="false start"),
        Trial(test="single-leg-stance", side="right"),
    ]
    following = next_timeline(case, PROTOCOL, scene, recorded, 1)
    assert following is not None
    assert following.over_s == 20.0  # the struck-out trial was played, too


def test_a_cue_of_which_the_case_says_nothing_changes_nothing() -> None:
    case = case_of(STANCE | {"vary_s": 0.0})
    cued = timeline_of(case, PROTOCOL, Scene("single-leg-stance", "left", "arch-lifted"), 0, 1)
    assert cued is not None
    assert (cued.shown.cue, cued.over_s, set(cued.first_seen)) == (
        "arch-lifted",
        12.0,
        {"pelvis-drops"},
    )
    assert timeline_of(case, PROTOCOL, Scene("single-leg-stance", "right"), 0, 1) is None


def test_a_hold_is_recorded_as_it_was() -> None:
    kept = trial(STANCE | {"vary_s": 0.0, "pain": 3})
    assert (kept.value, kept.raw_value, kept.ended, kept.pain) == (12.0, 12.0, "foot-down", 3)
    assert kept.sign_times == {"pelvis-drops": 3.0}
    capped = trial(STANCE | {"ends_s": 45.0, "ended": "cap"})
    assert (capped.value, capped.ended) == (45.0, "cap")


def test_a_count_asks_about_the_last_rise() -> None:
    stands = {"test": "chair-stands-30s", "pace": {"count": 10, "first_s": 2.5, "last_s": 2.5}}
    assert trial(stands).value == 10
    assert trial(stands | {"half_way_up": True}).value == 11
    stopped = trial(
        {"test": "chair-stands-30s", "repetitions_s": [3.0, 6.0], "ends_s": 9, "ended": "fatigue"}
    )
    assert (stopped.value, stopped.ended) == (2, "fatigue")
    in_pain = trial(
        {"test": "chair-stands-30s", "repetitions_s": [3.0, 6.0], "ends_s": 9, "ended": "pain"}
    )
    assert (in_pain.value, in_pain.raw_value) == (None, 2)


def test_a_time_for_a_count_ends_with_the_last() -> None:
    five = trial({"test": "five-chair-stands", "repetitions_s": [2.0, 4.0, 6.0, 8.0, 10.25]})
    assert (five.value, five.splits) == (10.3, (2.0, 4.0, 6.0, 8.0, 10.25))
    unable = trial(
        {"test": "five-chair-stands", "repetitions_s": [4.0], "ends_s": 9.0, "ended": "unable"}
    )
    assert (unable.value, unable.ended) == (None, "unable")


def test_a_series_of_holds_counts_the_good_ones() -> None:
    holds = [10.0] * 7 + [6.0, 5.0, 4.0]
    kept = trial({"test": "straight-leg-raise-hold", "side": "left", "holds_s": holds})
    assert kept.value == 7
    assert kept.splits[-1] == pytest.approx(85.0)


def test_walks_movements_stairs_and_angles_are_recorded_as_they_were() -> None:
    assert trial({"test": "walk-4m", "ends_s": 3.456}).value == 3.46
    assert trial({"test": "timed-up-and-go", "ends_s": 9.0}).value == 9.0
    unable = trial({"test": "floor-rise", "ends_s": 20.0, "ended": "unable"})
    assert (unable.value, unable.ended) == (None, "unable")
    up = trial(
        {
            "test": "stair-steps",
            "direction": "up",
            "pace": {"count": 9, "first_s": 0.5, "last_s": 0.5},
        }
    )
    assert (up.value, up.direction, up.steps, len(up.splits)) == (4.5, "up", 9, 9)
    knee = trial({"test": "knee-extension", "side": "left", "passive_deg": 5.0, "active_deg": 12.0})
    assert (knee.passive_deg, knee.active_deg, knee.value) == (5.0, 12.0, None)
    watched = trial({"test": "step-down", "side": "left", "repetitions_s": [3, 6, 9, 12, 15]})
    assert watched.value is None
    assert not watched.note
