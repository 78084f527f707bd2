"""When a condition holds: one at a time, on trials a person can follow."""

from __future__ import annotations

from typing import Any

import pytest
from support.small_protocol import line, measure, protocol, session, test_spec

from screen_tui.engine.conditions import Seen, holds
from screen_tui.protocol.bands import Condition
from screen_tui.protocol.tests import TestSpec

SHORT = {"measure": "value", "standing": "short of the line"}
STANCE = test_spec("stance", lines=[line("value", "at least", 10.0)])


def sides(
    when: dict[str, Any], *trials: dict[str, Any], spec: TestSpec = STANCE, **more: Any
) -> set[str | None]:
    """The sides on which the condition holds for a test."""
    seen = Seen.of(protocol(spec), session(*trials, **more))
    condition = Condition.model_validate(when)
    return {one.side for one in seen.observations.values() if holds(condition, seen, one)}


def stance(side: str, value: float | None = 20.0, *signs: str, **more: Any) -> dict[str, Any]:
    return {"test": "stance", "side": side, "value": value, "signs": signs, **more}


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
    when = {**SHORT, "only_this_side": True}
    trials = [stance("left", 3.0), *([right] if right else [])]
    assert ("left" in sides(when, *trials)) == applies


def test_a_sign_on_one_side_only_needs_no_number_of_the_other() -> None:
    when = {"signs_any": ["unsteady"], "only_this_side": True}
    trials = [stance("left", 20.0, "unsteady"), stance("right", None)]
    assert sides(when, *trials) == {"left"}


def test_both_sides_must_be_short_where_both_are_asked() -> None:
    when = {**SHORT, "both_sides": True}
    assert sides(when, stance("left", 3.0), stance("right", 4.0)) == {"left", "right"}
    assert sides(when, stance("left", 3.0), stance("right", 20.0)) == set()
    assert sides(when, stance("left", 3.0)) == set()


def test_a_two_legged_test_is_both_sides_and_never_one() -> None:
    rises = test_spec("rises", sides="both", lines=[line("value", "at least", 10.0)])
    trial = {"test": "rises", "value": 3.0}
    assert sides({**SHORT, "both_sides": True}, trial, spec=rises) == {None}
    assert sides({**SHORT, "only_this_side": True}, trial, spec=rises) == set()


@pytest.mark.parametrize(
    ("value", "applies"), [(4.9, False), (5.0, True), (7.0, True), (7.1, False)]
)
def test_bounds_belong_to_what_they_bound(value: float, applies: bool) -> None:
    when = {"measure": "value", "at_least": 5.0, "at_most": 7.0}
    assert sides(when, stance("left", value)) == ({"left"} if applies else set())


def test_a_bound_says_nothing_about_a_value_given_in_pain_or_not_at_all() -> None:
    when = {"measure": "value", "at_most": 7.0}
    assert sides(when, stance("left", 5.0, ended="pain")) == set()
    assert sides(when, stance("left", None)) == set()


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
    when = {"signs_all": ["pelvis-drops", "unsteady"], "signs_none": ["arch-collapses"]}
    assert sides(when, stance("left", 20.0, *signs)) == ({"left"} if applies else set())


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
    when = {"measure": "value", "worse_than_other_percent": 30}
    assert ("left" in sides(when, left, right)) == applies


def test_how_a_trial_ended_is_any_of_its_reasons() -> None:
    when = {"ended_any": ["fatigue", "foot-down"]}
    assert sides(when, stance("left", 20.0, ended="foot-down")) == {"left"}
    assert sides(when, stance("left", 20.0, ended="cap")) == set()


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
    spec = test_spec(
        "stairs",
        sides="both",
        timer={"kind": "steps", "steps": 6, "min_split_s": 0.2},
        measures=[
            measure("time-up", id="up", better="lower"),
            measure("time-down", id="down", better="lower"),
        ],
    )
    trials = [
        {"test": "stairs", "direction": way, "value": splits[-1], "splits": splits}
        for way, splits in (("up", up), ("down", down))
    ]
    found = sides({"slowing_percent": 19.9}, *trials, spec=spec)
    assert found == ({None} if applies else set())


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
    when = {"in_order": ["pelvis-drops", "arch-collapses"]}
    assert (sides(when, *timed(*seconds)) == {"left"}) == applies


def test_signs_without_times_have_no_order() -> None:
    when = {"in_order": ["pelvis-drops", "arch-collapses"]}
    untimed = stance("left", 20.0, "pelvis-drops", "arch-collapses")
    assert sides(when, untimed) == set()
    assert sides(when, untimed, *timed((3.0, 5.0))) == {"left"}


@pytest.mark.parametrize(
    "wanted",
    [{"signs_any": ["pelvis-drops"]}, {"signs_all": ["pelvis-drops"]},
     {"in_order": ["pelvis-drops", "arch-collapses"]}],
)  # fmt: skip
def test_what_was_seen_in_pain_only_says_so(wanted: dict[str, Any]) -> None:
    hurt, fair = timed((3.0, 5.0), ended="pain"), timed((3.0, 5.0))

    def in_pain(*trials: dict[str, Any]) -> bool:
        seen = Seen.of(protocol(STANCE), session(*trials))
        found = holds(Condition(**wanted), seen, seen.observations["stance", "left"])
        assert found is not None
        return found.in_pain

    assert in_pain(*hurt)
    assert not in_pain(*fair)
    assert not in_pain(*hurt, *fair)


@pytest.mark.parametrize("timed_sign", ["pelvis-drops", "arch-collapses"])
def test_two_signs_of_which_one_has_no_time_have_no_order(timed_sign: str) -> None:
    when = {"in_order": ["pelvis-drops", "arch-collapses"]}
    half = stance("left", 20.0, "pelvis-drops", "arch-collapses", sign_times={timed_sign: 5.0})
    assert sides(when, half) == set()
    assert sides(when, half, *timed((3.0, 5.0))) == {"left"}


def test_what_names_a_cue_waits_for_the_repeat_with_it() -> None:
    when = {"cue": "level", "signs_any": ["unsteady"]}
    plain = stance("left", 20.0, "unsteady")
    assert sides(when, plain) == set()
    assert sides(when, plain, plain | {"cue": "other"}) == set()
    assert sides(when, plain, plain | {"cue": "level"}) == {"left"}


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
    when = {"cue": "level", "persists": ["unsteady"]}
    trials = [stance("left", 20.0, *before), stance("left", 20.0, *after, cue="level")]
    assert sides(when, *trials) == ({"left"} if applies else set())


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
    )
    trials = [stance("left", 3.0), stance("right", 20.0, step_cm=step_cm)]
    when = {**SHORT, "only_this_side": True}
    assert sides(when, *trials, spec=spec) == ({"left"} if applies else set())


def test_a_bound_needs_no_line_neither_here_nor_on_the_other_side() -> None:
    # There is no band for 40 years of age, so nothing is judged; 3 s are at most 7 all the same.
    too_little = {"measure": "value", "at_most": 7.0}
    trials = [stance("left", 3.0), stance("right", 20.0)]
    young = {"client": {"age": 40}}
    assert sides(too_little, *trials, **young) == {"left"}
    assert sides({**too_little, "only_this_side": True}, *trials, **young) == {"left"}


def test_a_side_difference_needs_the_other_side() -> None:
    when = {"measure": "value", "worse_than_other_percent": 30}
    assert sides(when, stance("left", 3.0)) == set()
    assert sides(when, stance("left", 3.0), stance("right", 20.0, cue="level")) == set()
