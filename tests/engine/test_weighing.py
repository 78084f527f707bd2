"""Findings added up: independence, nearness, leave-one-out. Numbers a person can follow."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.small_protocol import (
    error,
    line,
    protocol,
    rule,
    session,
    test_spec,
)

from screen_tui.engine.conditions import Seen
from screen_tui.engine.results import Finding
from screen_tui.engine.weigh import count, find, standing_of, weigh, weight_of
from screen_tui.protocol.tests import DECIBANS, TestSpec
from screen_tui.session.model import Session


def finding(shows: str, test: str, decibans: float) -> Finding:
    return Finding("hip-control", "left", test, shows, decibans, "strong", "because", "judgement")


@pytest.mark.parametrize(("strength", "ratio"), [("strong", 10), ("moderate", 5), ("slight", 2)])
def test_a_strength_is_ten_times_the_logarithm_of_its_likelihood_ratio(
    strength: str, ratio: float
) -> None:
    # Bands of likelihood ratios 10, 5 and 2: users' guides to the medical literature,
    # Jaeschke, Guyatt and Sackett 1994, JAMA 271:703-707 (from memory).
    assert DECIBANS[strength] == pytest.approx(10 * math.log10(ratio), abs=0.05)


def test_the_same_thing_seen_in_another_test_counts_half_and_then_nothing() -> None:
    seen = [
        finding("pelvic-control", "stance", 7),
        finding("pelvic-control", "step-down", 10),
        finding("pelvic-control", "stairs", 3),
    ]
    assert [one.counted for one in count(seen)] == [10, 3.5, 0]


def test_the_same_thing_twice_in_one_test_counts_once() -> None:
    seen = [finding("pelvic-control", "stance", 7), finding("pelvic-control", "stance", 7)]
    assert weight_of(seen) == 7


def test_different_things_add_up() -> None:
    assert weight_of([finding("pelvis", "stance", 7), finding("trunk", "stance", 3)]) == 10


def test_for_and_against_are_counted_apart() -> None:
    seen = [finding("pelvis", "stance", 7), finding("pelvis", "step-down", -3)]
    assert weight_of(seen) == 4


def test_likely_needs_ten_from_two_tests() -> None:
    one_test = [finding("pelvis", "stance", 10), finding("trunk", "stance", 7)]
    two_tests = [finding("pelvis", "stance", 10), finding("trunk", "step-down", 7)]
    assert standing_of(one_test) == "possible"
    assert standing_of(two_tests) == "likely"


def test_likely_must_survive_the_loss_of_any_single_finding() -> None:
    # 10 + 3 = 13, but without the 10 only 3 are left.
    assert standing_of([finding("pelvis", "stance", 10), finding("trunk", "step", 3)]) == "possible"
    # 7 + 7 = 14; without either, 7 are left, which is still possible.
    assert standing_of([finding("pelvis", "stance", 7), finding("trunk", "step", 7)]) == "likely"


@pytest.mark.parametrize(
    ("weights", "standing"),
    [([3], "weak"), ([7], "possible"), ([], "none"), ([-3], "against"), ([3, 3], "possible")],
)
def test_standings_below_likely(weights: list[float], standing: str) -> None:
    seen = [finding(f"thing-{i}", f"test-{i}", weight) for i, weight in enumerate(weights)]
    assert standing_of(seen) == standing


FINDINGS = st.lists(
    st.builds(
        finding,
        st.sampled_from(["pelvis", "trunk", "knee"]),
        st.sampled_from(["stance", "step-down", "stairs"]),
        st.sampled_from([10.0, 7.0, 3.0, 5.0, 3.5, 1.5, -3.0, -7.0, -10.0]),
    ),
    max_size=8,
)
ORDER = ["against", "none", "weak", "possible", "likely"]


@given(FINDINGS, st.sampled_from([10.0, 7.0, 3.0]), st.sampled_from(["pelvis", "trunk", "arch"]))
def test_a_further_finding_for_a_driver_never_lowers_it(
    seen: list[Finding], decibans: float, shows: str
) -> None:
    more = [*seen, finding(shows, "chair", decibans)]
    assert weight_of(more) >= weight_of(seen)
    assert ORDER.index(standing_of(more)) >= ORDER.index(standing_of(seen))


@given(FINDINGS, st.randoms(use_true_random=False))
def test_the_order_of_findings_does_not_matter(seen: list[Finding], random: object) -> None:
    shuffled = list(seen)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert weight_of(shuffled) == pytest.approx(weight_of(seen))
    assert standing_of(shuffled) == standing_of(seen)


STANCE = test_spec(
    "stance",
    lines=[line("value", "at least", 10.0)],
    errors=[error()],
    cues=[{"id": "pelvis-level", "say": "Keep it level.", "for_driver": "hip-control"}],
    evidence=[
        rule("hip-control", "for", "moderate", "pelvis", signs_any=["pelvis-drops"]),
        rule(
            "hip-control", "against", "slight", "hold", measure="value", standing="meets",
            signs_none=["pelvis-drops"],
        ),
        rule(
            "movement-strategy", "for", "slight", "both", measure="value",
            standing="short of the line", both_sides=True,
        ),
        rule(
            "foot-ankle-control", "for", "moderate", "one", measure="value",
            standing="short of the line", only_this_side=True, about_strength=True,
        ),
        rule("hip-control", "for", "strong", "cue", cue="pelvis-level", cured=["pelvis-drops"]),
    ],
)  # fmt: skip


def weights(spec: TestSpec, made: Session) -> dict[tuple[str, str | None], float]:
    whole = protocol(spec)
    findings = find(whole, Seen.of(whole, made))
    return {(d.driver, d.side): d.weight for d in weigh(whole, findings) if d.weight}


def trial(side: str, value: float, *signs: str, **more: object) -> dict[str, object]:
    return {"test": "stance", "side": side, "value": value, "signs": signs, **more}


def test_a_sign_speaks_for_the_driver_of_its_side_only() -> None:
    made = session(trial("left", 20, "pelvis-drops"), trial("right", 20))
    assert weights(STANCE, made) == {("hip-control", "left"): 7, ("hip-control", "right"): -3}


def test_a_result_near_its_line_counts_half() -> None:
    assert weights(STANCE, session(trial("left", 11))) == {("hip-control", "left"): -1.5}


def test_a_sign_seen_only_in_pain_counts_half() -> None:
    made = session(trial("left", 20, "pelvis-drops", ended="pain"))
    assert weights(STANCE, made) == {("hip-control", "left"): 3.5}


def test_both_sides_and_one_side_are_told_apart() -> None:
    both = weights(STANCE, session(trial("left", 2), trial("right", 3)))
    assert both == {("movement-strategy", None): 3}
    one = weights(STANCE, session(trial("left", 2), trial("right", 30, "pelvis-drops")))
    assert one == {("foot-ankle-control", "left"): 7, ("hip-control", "right"): 7}


def test_one_side_alone_says_nothing_until_the_other_was_tested() -> None:
    assert weights(STANCE, session(trial("left", 2))) == {}


def test_a_cue_that_cures_the_sign_speaks_for_its_driver() -> None:
    made = session(trial("left", 20, "pelvis-drops"), trial("left", 20, cue="pelvis-level"))
    assert weights(STANCE, made)["hip-control", "left"] == 17
    still = session(
        trial("left", 20, "pelvis-drops"), trial("left", 20, "pelvis-drops", cue="pelvis-level")
    )
    assert weights(STANCE, still)["hip-control", "left"] == 7


def test_what_is_about_strength_stays_silent_in_pain() -> None:
    made = session(trial("left", 2, ended="pain"), trial("right", 30))
    assert ("foot-ankle-control", "left") not in weights(STANCE, made)


@pytest.mark.parametrize(
    ("after", "weight"), [(9.0, -7.0), (10.5, -7.0), (10.6, 10.0), (16.0, 10.0)]
)
def test_a_change_counts_only_beyond_the_minimal_detectable_change(
    after: float, weight: float
) -> None:
    # SEM 2.0, so MDC95 = 1.96 * sqrt(2) * 2.0 = 5.54: from 5 s, 10.5 is within it, 10.6 beyond
    # (formula: Weir 2005, J Strength Cond Res 19:231-240; from memory).
    cue = {"cue": "pelvis-level", "measure": "value"}
    spec = test_spec(
        "stance",
        errors=STANCE.model_dump()["errors"],
        evidence=[
            rule("hip-control", "for", "strong", "cue", change="better", **cue),
            rule("hip-control", "against", "moderate", "cue", change="no change", **cue),
        ],
    )
    made = session(trial("left", 5), trial("left", after, cue="pelvis-level"))
    assert weights(spec, made) == {("hip-control", "left"): weight}


@given(FINDINGS)
def test_striking_what_the_answer_rests_on_changes_the_standing(seen: list[Finding]) -> None:
    whole = protocol(STANCE)
    left = next(d for d in weigh(whole, seen) if (d.driver, d.side) == ("hip-control", "left"))
    assert left.standing == standing_of(seen)
    for struck in left.rests_on:
        rest = [one for one in seen if sighting(one) != sighting(struck)]
        assert standing_of(rest) != left.standing


def sighting(one: Finding) -> tuple[str, str, bool]:
    return one.test, one.shows, one.decibans > 0


def test_a_weaker_rule_about_the_same_sighting_does_not_hold_an_answer_up() -> None:
    # Ten from stance, read by two rules, and three from elsewhere: without that sighting, three.
    seen = [
        finding("pelvis", "stance", 10),
        finding("pelvis", "stance", 7),
        finding("trunk", "step", 3),
    ]
    assert weight_of(seen) == 13
    assert standing_of(seen) == "possible"


def test_the_answer_rests_on_what_would_lower_it() -> None:
    whole = protocol(STANCE)
    made = session(trial("left", 20, "pelvis-drops"), trial("left", 20, cue="pelvis-level"))
    findings = find(whole, Seen.of(whole, made))
    leader = weigh(whole, findings)[0]
    assert leader.standing == "possible"  # one test only
    assert leader.rests_on == ()  # either of the two alone still makes it possible
    alone = weigh(whole, findings[:1])[0]
    assert [one.shows for one in alone.rests_on] == ["pelvis"]


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["left", "right"]),
            st.integers(0, 45),
            st.sets(st.sampled_from(["pelvis-drops", "arch-collapses"])),
        ),
        max_size=5,
    )
)
def test_a_mirrored_session_gives_a_mirrored_answer(
    trials: list[tuple[str, int, set[str]]],
) -> None:
    mirror = {"left": "right", "right": "left", None: None}
    straight = session(*(trial(side, value, *signs) for side, value, signs in trials))
    mirrored = session(*(trial(str(mirror[side]), value, *signs) for side, value, signs in trials))
    expected = {(d, mirror[side]): w for (d, side), w in weights(STANCE, straight).items()}
    assert weights(STANCE, mirrored) == expected
