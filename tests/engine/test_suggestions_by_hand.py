"""What would settle it most per minute: the mean of how far each rule would move the gap."""

from __future__ import annotations

from typing import Any

import pytest
from support.small_protocol import line, protocol, rule, session, test_spec

from screen_tui.engine import assess
from screen_tui.engine.results import NextTest

HIP_SEEN = rule("hip-control", "for", "moderate", "pelvis", signs_any=["pelvis-drops"])
DONE = test_spec("stance", evidence=[HIP_SEEN])
SEEN = {"test": "stance", "side": "left", "value": 20.0, "signs": ["pelvis-drops"]}


def offered(*tests: Any, **more: Any) -> list[NextTest]:
    return list(assess(protocol(DONE, *tests), session(SEEN, **more)).next_tests)


def test_the_gap_moves_by_what_each_rule_would_add_and_the_mean_is_taken_per_minute() -> None:
    # The hip stands at 7, the foot at 0; in front are these two.
    # Pelvis seen again, strong: 10 + 7 / 2 = 13.5, so 6.5 more. The foot's 7 closes the gap by 7.
    # What is said of the third driver moves nothing. Mean 6.75 in 4 / 2 minutes of one leg.
    step = test_spec(
        "step",
        minutes=4.0,
        evidence=[
            rule("hip-control", "for", "strong", "pelvis", signs_any=["pelvis-drops"]),
            rule("foot-ankle-control", "for", "moderate", "arch", signs_any=["arch-collapses"]),
            rule("movement-strategy", "for", "strong", "rising", signs_any=["unsteady"]),
        ],
    )
    (offer,) = offered(step)
    assert (offer.test, offer.side, offer.cue) == ("step", "left", "")
    assert offer.expected_change == pytest.approx(6.75)
    assert (offer.minutes, offer.per_minute) == (2.0, pytest.approx(3.375))
    assert offer.reason == "tells hip control from foot ankle control"


def test_what_speaks_against_the_leader_moves_the_gap_as_much_as_what_speaks_for() -> None:
    against = rule("hip-control", "against", "slight", "level", signs_none=["pelvis-drops"])
    (offer,) = offered(test_spec("step", evidence=[against]))
    assert offer.expected_change == 3.0


def test_a_rule_about_a_cue_is_no_reason_for_the_plain_test() -> None:
    cued = rule("hip-control", "for", "strong", "cue", cue="level", cured=["pelvis-drops"])
    cue = {"id": "level", "say": "Keep it level.", "for_driver": "hip-control"}
    assert offered(test_spec("step", evidence=[cued], cues=[cue])) == []


@pytest.mark.parametrize(
    ("change", "offers"),
    [
        ({"cured": ["pelvis-drops"]}, True),
        ({"persists": ["pelvis-drops"]}, True),
        ({"cured": ["unsteady"]}, False),  # it was not seen, so the cue cannot cure it
        ({"measure": "value", "change": "better"}, False),  # nothing was short
    ],
)
def test_a_cue_is_offered_only_where_it_has_something_to_change(
    change: dict[str, Any], offers: bool
) -> None:
    cued = rule("hip-control", "for", "strong", "cue", cue="level", **change)
    cue = {"id": "level", "say": "Keep it level.", "for_driver": "hip-control"}
    spec = test_spec("stance", evidence=[HIP_SEEN, cued], cues=[cue], minutes=6.0, trials=3)
    found = assess(protocol(spec), session(SEEN)).next_tests
    # The other leg is untested, but nothing it shows is about the leg in front.
    assert [(one.side, one.cue) for one in found] == ([("left", "level")] if offers else [])
    # One trial of the three of one leg, of which both take six minutes.
    assert [one.minutes for one in found] == ([1.0] if offers else [])


def test_three_at_the_most_are_named_the_best_per_minute_first() -> None:
    tests = [
        test_spec(f"step-{minutes}", minutes=minutes, evidence=[
            rule("hip-control", "for", "strong", "trunk", signs_any=["unsteady"])
        ])
        for minutes in (8, 2, 6, 4)
    ]  # fmt: skip
    assert [offer.test for offer in offered(*tests)] == ["step-2", "step-4", "step-6"]


@pytest.mark.parametrize("skip", [{"side": "left"}, {}])
def test_what_was_left_out_with_a_reason_is_not_asked_for_again(skip: dict[str, str]) -> None:
    step = test_spec("step", evidence=[HIP_SEEN])
    assert len(offered(step)) == 1
    assert offered(step, skipped=[{"test": "step", "reason": "not today", **skip}]) == []


def test_what_was_seen_on_the_other_leg_or_of_another_driver_is_no_second_sighting() -> None:
    # Ten more for a thing not yet seen on this leg, whatever the other leg and driver showed.
    trunk = rule("hip-control", "for", "strong", "trunk", signs_any=["unsteady"])
    other = rule("movement-strategy", "for", "slight", "trunk", signs_any=["unsteady"])
    stance = test_spec("stance", evidence=[HIP_SEEN, trunk, other])
    right = {"test": "stance", "side": "right", "value": 20.0, "signs": ["unsteady"]}
    left = SEEN | {"signs": ["pelvis-drops"]}
    twice = rule("hip-control", "for", "strong", "pelvis", signs_any=["pelvis-drops"])
    again = test_spec("again", evidence=[twice | {"strength": "strong"}])
    step = test_spec("step", evidence=[trunk])
    trials = [left, left | {"test": "again"}, right]
    found = assess(protocol(stance, again, step), session(*trials)).next_tests
    assert {(one.test, one.side): one.expected_change for one in found} == {("step", "left"): 10.0}


def test_a_cue_that_was_tried_is_not_offered_again() -> None:
    cured = rule("hip-control", "for", "strong", "cue", cue="level", cured=["pelvis-drops"])
    cue = {"id": "level", "say": "Keep it level.", "for_driver": "hip-control"}
    spec = test_spec("stance", evidence=[HIP_SEEN, cured], cues=[cue])
    tried = SEEN | {"cue": "level"}
    assert assess(protocol(spec), session(SEEN, tried)).next_tests == ()


@pytest.mark.parametrize(("value", "offers"), [(5.0, [("left", "level")]), (20.0, [])])
def test_a_cue_that_may_better_a_result_is_offered_where_the_result_is_short(
    value: float, offers: list[tuple[str, str]]
) -> None:
    better = rule("hip-control", "for", "strong", "cue", cue="level", measure="value",
                  change="better")  # fmt: skip
    cue = {"id": "level", "say": "Keep it level.", "for_driver": "hip-control"}
    lines = [line("value", "at least", 10.0)]
    spec = test_spec("stance", evidence=[HIP_SEEN, better], cues=[cue], lines=lines)
    found = assess(protocol(spec), session(SEEN | {"value": value})).next_tests
    assert [(one.side, one.cue) for one in found] == offers


def test_a_test_not_yet_done_takes_the_minutes_of_all_its_trials() -> None:
    # Six minutes of both legs are three of one, however many trials they hold.
    (offer,) = offered(test_spec("step", evidence=[HIP_SEEN], minutes=6.0, trials=3))
    assert offer.minutes == 3.0


def test_what_is_about_the_leg_behind_moves_nothing_but_counts_among_the_rules() -> None:
    # In front: hip of the left leg with 7, strategy with 3. On the right leg the hip's rule
    # moves nothing, the strategy's moves 7: on average 3.5.
    rising = rule("movement-strategy", "for", "slight", "feet", signs_any=["unsteady"])
    first = test_spec("stance", evidence=[HIP_SEEN, rising])
    step = test_spec(
        "step",
        evidence=[
            rule("hip-control", "for", "strong", "trunk", signs_any=["unsteady"]),
            rule("movement-strategy", "for", "moderate", "rising", signs_any=["unsteady"]),
        ],
    )
    made = session(SEEN | {"signs": ["pelvis-drops", "unsteady"]})
    offers = assess(protocol(first, step), made).next_tests
    changes = {(one.test, one.side): one.expected_change for one in offers}
    assert changes["step", "left"] == pytest.approx((10 + 7) / 2)
    assert changes["step", "right"] == pytest.approx((0 + 7) / 2)


def test_with_a_single_driver_there_is_nothing_to_tell_it_from() -> None:
    spec = test_spec("stance", evidence=[rule("hip-control", "for", "strong", "pelvis",
                                              signs_any=["pelvis-drops"])])  # fmt: skip
    whole = protocol(spec)
    alone = whole.model_copy(update={"drivers": whole.drivers[:1]})
    seen = session({"test": "stance", "side": "left", "value": 9.0, "signs": ["pelvis-drops"]})
    assert assess(alone, seen).next_tests == ()
