"""When a rule applies: one condition at a time, on trials a person can follow."""

from __future__ import annotations

from typing import Any

import pytest
from support.small_protocol import (
    error,
    line,
    measure,
    protocol,
    rule,
    session,
    test_spec,
)

from screen_tui.engine import assess
from screen_tui.protocol.tests import TestSpec

SHORT = {"measure": "value", "standing": "short of the line"}


def fired(spec: TestSpec, *trials: dict[str, Any], **more: Any) -> set[str | None]:
    """The sides on which the only rule of the test applies."""
    found = assess(protocol(spec), session(*trials, **more))
    counted = [c for d in found.drivers for c in (*d.speaks_for, *d.speaks_against)]
    return {one.finding.side for one in counted}


def stance(side: str, value: float | None = 20.0, *signs: str, **more: Any) -> dict[str, Any]:
    return {"test": "stance", "side": side, "value": value, "signs": signs, **more}


def with_rule(speaks: str = "for", **when: Any) -> TestSpec:
    return test_spec(
        "stance",
        lines=[line("value", "at least", 10.0)],
        evidence=[rule("hip-control", speaks, "strong", "what-it-shows", **when)],
    )


@pytest.mark.parametrize(
    ("right", "applies"),
    [
        (stance("right", 20.0), True),
        (stance("right", 3.0), False),
        (stance("right", 20.0, ended="pain"), False),  # it was not free of it: nobody can tell
        (stance("right", None), False),
        (stance("right", 20.0, cue="level"), False),
        (None, False),
    ],
)
def test_a_side_is_free_of_a_short_result_only_when_it_could_be_judged(
    right: dict[str, Any] | None, applies: bool
) -> None:
    spec = with_rule(**SHORT, only_this_side=True)
    trials = [stance("left", 3.0), *([right] if right else [])]
    assert ("left" in fired(spec, *trials)) == applies


def test_a_sign_on_one_side_only_needs_no_number_of_the_other() -> None:
    spec = with_rule(signs_any=["unsteady"], only_this_side=True)
    trials = [stance("left", 20.0, "unsteady"), stance("right", None)]
    assert fired(spec, *trials) == {"left"}


def test_both_sides_must_be_short_for_a_rule_of_both() -> None:
    spec = with_rule(**SHORT, both_sides=True)
    assert fired(spec, stance("left", 3.0), stance("right", 4.0)) == {"left", "right"}
    assert fired(spec, stance("left", 3.0), stance("right", 20.0)) == set()
    assert fired(spec, stance("left", 3.0)) == set()


def test_a_two_legged_test_is_both_sides_and_never_one() -> None:
    def rises(**when: Any) -> TestSpec:
        own = [rule("movement-strategy", "for", "strong", "rising", **SHORT, **when)]
        return test_spec(
            "rises", sides="both", lines=[line("value", "at least", 10.0)], evidence=own
        )

    trial = {"test": "rises", "value": 3.0}
    assert fired(rises(both_sides=True), trial) == {None}
    assert fired(rises(only_this_side=True), trial) == set()


@pytest.mark.parametrize(
    ("value", "applies"), [(4.9, False), (5.0, True), (7.0, True), (7.1, False)]
)
def test_bounds_belong_to_what_they_bound(value: float, applies: bool) -> None:
    spec = with_rule(measure="value", at_least=5.0, at_most=7.0)
    assert fired(spec, stance("left", value)) == ({"left"} if applies else set())


def test_a_bound_says_nothing_about_a_value_given_in_pain_or_not_at_all() -> None:
    spec = with_rule(measure="value", at_most=7.0)
    assert fired(spec, stance("left", 5.0, ended="pain")) == set()
    assert fired(spec, stance("left", None)) == set()


@pytest.mark.parametrize(
    ("signs", "applies"),
    [
        ((), False),
        (("pelvis-drops",), False),
        (("pelvis-drops", "unsteady"), True),
        (("pelvis-drops", "unsteady", "arch-collapses"), False),
    ],
)
def test_all_signs_asked_for_and_none_of_the_excluded(
    signs: tuple[str, ...], applies: bool
) -> None:
    spec = with_rule(signs_all=["pelvis-drops", "unsteady"], signs_none=["arch-collapses"])
    assert fired(spec, stance("left", 20.0, *signs)) == ({"left"} if applies else set())


@pytest.mark.parametrize(
    ("left", "right", "applies"),
    [
        (stance("left", 14.0), stance("right", 20.0), True),  # 30 % worse
        (stance("left", 14.1), stance("right", 20.0), False),
        (stance("left", 20.0), stance("right", 14.0), False),
        (stance("left", 14.0, ended="pain"), stance("right", 20.0), False),
        (stance("left", 14.0), stance("right", 20.0, ended="pain"), False),
        (stance("left", 14.0), stance("right", None), False),
        (stance("left", None), stance("right", 20.0), False),
    ],
)
def test_worse_than_the_other_leg_by_a_share_of_the_other(
    left: dict[str, Any], right: dict[str, Any], applies: bool
) -> None:
    spec = with_rule(measure="value", worse_than_other_percent=30)
    assert ("left" in fired(spec, left, right)) == applies


def test_a_rule_about_how_a_trial_ended_takes_any_of_its_reasons() -> None:
    spec = with_rule(ended_any=["fatigue", "foot-down"])
    assert fired(spec, stance("left", 20.0, ended="foot-down")) == {"left"}
    assert fired(spec, stance("left", 20.0, ended="cap")) == set()


@pytest.mark.parametrize(
    ("up", "down", "applies"),
    [
        ([1, 2, 3, 4, 5, 6], [1, 2, 3, 4, 5.2, 6.4], True),  # down: 1.0 a step, then 1.2
        ([1, 2, 3, 4, 5.2, 6.4], [1, 2, 3, 4, 5, 6], True),
        ([1, 2, 3, 4, 5, 6], [1, 2, 3, 4, 5.1, 6.2], False),
    ],
)
def test_slowing_on_either_flight_is_slowing(
    up: list[float], down: list[float], applies: bool
) -> None:
    slows = rule("movement-strategy", "for", "strong", "endurance", slowing_percent=19.9)
    spec = test_spec(
        "stairs",
        sides="both",
        timer={"kind": "steps", "steps": 6, "min_split_s": 0.2},
        measures=[
            measure("time-up", id="up", better="lower"),
            measure("time-down", id="down", better="lower"),
        ],
        evidence=[slows],
    )
    trials = [
        {"test": "stairs", "direction": way, "value": splits[-1], "splits": splits}
        for way, splits in (("up", up), ("down", down))
    ]
    assert fired(spec, *trials) == ({None} if applies else set())


def test_a_result_near_its_line_or_a_sign_seen_in_pain_counts_half() -> None:
    near = with_rule(**SHORT).model_copy(update={"errors": ()})
    near = TestSpec.model_validate(near.model_dump() | {"errors": [error()]})

    def weight(spec: TestSpec, *trials: dict[str, Any]) -> tuple[float, str]:
        found = assess(protocol(spec), session(*trials)).drivers[0]
        return found.weight, found.speaks_for[0].finding.halved_because

    assert weight(near, stance("left", 9.0)) == (5.0, "near the line")
    assert weight(near, stance("left", 7.0)) == (10.0, "")
    sign = with_rule(signs_any=["unsteady"])
    hurt = stance("left", 20.0, "unsteady", ended="pain")
    assert weight(sign, hurt) == (5.0, "seen in pain")
    assert weight(sign, hurt, stance("left", 20.0, "unsteady")) == (10.0, "")


def timed(*trials: tuple[float, float], **more: Any) -> list[dict[str, Any]]:
    """Trials in which the pelvis dropped and the arch collapsed at these seconds."""
    return [
        stance(
            "left",
            20.0,
            "pelvis-drops",
            "arch-collapses",
            sign_times={"pelvis-drops": pelvis, "arch-collapses": arch},
            **more,
        )
        for pelvis, arch in trials
    ]


@pytest.mark.parametrize(
    ("seconds", "applies"),
    [
        ([(3.0, 4.0)], True),
        ([(3.0, 3.9)], False),  # within a second they were seen together
        ([(4.0, 3.0)], False),
        ([(3.0, 5.0), (2.0, 6.0)], True),
        ([(3.0, 5.0), (6.0, 2.0)], False),
    ],
)
def test_signs_in_order_were_seen_that_way_round_in_every_trial_that_tells(
    seconds: list[tuple[float, float]], applies: bool
) -> None:
    spec = with_rule(in_order=["pelvis-drops", "arch-collapses"])
    assert (fired(spec, *timed(*seconds)) == {"left"}) == applies


def test_signs_without_times_have_no_order() -> None:
    spec = with_rule(in_order=["pelvis-drops", "arch-collapses"])
    untimed = stance("left", 20.0, "pelvis-drops", "arch-collapses")
    assert fired(spec, untimed) == set()
    assert fired(spec, untimed, *timed((3.0, 5.0))) == {"left"}


def test_an_order_seen_only_in_pain_counts_half() -> None:
    spec = with_rule(in_order=["pelvis-drops", "arch-collapses"])
    found = assess(protocol(spec), session(*timed((3.0, 5.0), ended="pain")))
    (counted,) = [c for d in found.drivers for c in d.speaks_for]
    assert counted.finding.decibans == 5


@pytest.mark.parametrize("wanted", [{"signs_any": ["unsteady"]}, {"signs_all": ["unsteady"]}])
@pytest.mark.parametrize(("ended", "decibans"), [("", 10.0), ("pain", 5.0)])
def test_a_sign_counts_in_full_where_it_was_seen_without_pain(
    wanted: dict[str, Any], ended: str, decibans: float
) -> None:
    trial = stance("left", 20.0, "unsteady", ended=ended)
    (counted,) = assess(protocol(with_rule(**wanted)), session(trial)).drivers[0].speaks_for
    assert counted.finding.decibans == decibans


@pytest.mark.parametrize("timed_sign", ["pelvis-drops", "arch-collapses"])
def test_two_signs_of_which_one_has_no_time_have_no_order(timed_sign: str) -> None:
    spec = with_rule(in_order=["pelvis-drops", "arch-collapses"])
    half = stance("left", 20.0, "pelvis-drops", "arch-collapses", sign_times={timed_sign: 5.0})
    assert fired(spec, half) == set()
    assert fired(spec, half, *timed((3.0, 5.0))) == {"left"}


def test_a_rule_that_names_a_cue_waits_for_the_repeat_with_it() -> None:
    spec = with_rule(cue="level", signs_any=["unsteady"])
    plain = stance("left", 20.0, "unsteady")
    assert fired(spec, plain) == set()
    assert fired(spec, plain, plain | {"cue": "other"}) == set()
    assert fired(spec, plain, plain | {"cue": "level"}) == {"left"}


@pytest.mark.parametrize(
    ("before", "after", "applies"),
    [
        (["unsteady"], ["unsteady"], True),
        (["unsteady"], [], False),
        ([], ["unsteady"], False),  # it came with the cue and did not stay with it
        (["unsteady", "pelvis-drops"], ["pelvis-drops"], False),
    ],
)
def test_a_sign_persists_that_was_there_without_the_cue_and_with_it(
    before: list[str], after: list[str], applies: bool
) -> None:
    spec = with_rule(cue="level", persists=["unsteady"])
    trials = [stance("left", 20.0, *before), stance("left", 20.0, *after, cue="level")]
    assert fired(spec, *trials) == ({"left"} if applies else set())


STEP = {"id": "step_cm", "label": "Step", "usual": 20, "unit": "cm", "minimum": 5, "maximum": 30}


@pytest.mark.parametrize(("step_cm", "applies"), [(20, True), (10, False)])
def test_a_side_that_no_line_could_judge_is_not_free_of_being_short(
    step_cm: float, applies: bool
) -> None:
    # The right leg did well, but from half the height, for which nothing is published.
    only = [{"id": "step_cm", "minimum": 20, "maximum": 20}]
    spec = test_spec(
        "stance",
        set_up=[STEP],
        lines=[line("value", "at least", 10.0, only_when=only)],
        evidence=[rule("hip-control", "for", "strong", "one", **SHORT, only_this_side=True)],
    )
    trials = [stance("left", 3.0), stance("right", 20.0, step_cm=step_cm)]
    assert fired(spec, *trials) == ({"left"} if applies else set())


def test_a_bound_needs_no_line_neither_here_nor_on_the_other_side() -> None:
    # There is no band for 40 years of age, so nothing is judged; 3 s are at most 7 all the same.
    too_little = {"measure": "value", "at_most": 7.0}
    trials = [stance("left", 3.0), stance("right", 20.0)]
    young = {"client": {"age": 40}}
    assert fired(with_rule(**too_little), *trials, **young) == {"left"}
    assert fired(with_rule(**too_little, only_this_side=True), *trials, **young) == {"left"}


def test_a_side_difference_needs_the_other_side() -> None:
    spec = with_rule(measure="value", worse_than_other_percent=30)
    assert fired(spec, stance("left", 3.0)) == set()
    assert fired(spec, stance("left", 3.0), stance("right", 20.0, cue="level")) == set()


@pytest.mark.parametrize(("about_strength", "applies"), [(True, False), (False, True)])
def test_a_sign_about_strength_says_nothing_where_all_was_done_in_pain(
    about_strength: bool, applies: bool
) -> None:
    spec = with_rule(signs_any=["unsteady"], about_strength=about_strength)
    hurt = stance("left", 20.0, "unsteady", ended="pain")
    assert fired(spec, hurt) == ({"left"} if applies else set())
    assert fired(spec, hurt, stance("left", 20.0)) == {"left"}
