"""From weights to the kind of answer, at the marks where one kind becomes another."""

from __future__ import annotations

from typing import Any

import pytest
from support.small_protocol import line, protocol, rule, session, test_spec

from screen_tui.engine import Assessment, assess


def found(*rules: dict[str, Any], **more: Any) -> Assessment:
    """What comes of rules that all apply: each ``shows`` names the test it stands in."""
    tests: dict[str, list[dict[str, Any]]] = {name: [] for name in "abcd"}
    for one in rules:
        tests[one["shows"][0]].append(one)
    lines = [line("value", "at least", 10.0)]
    specs = [
        test_spec(name, sides="both", lines=lines, evidence=own) for name, own in tests.items()
    ]
    trials = [{"test": name, "value": 20.0, "signs": ["unsteady"], **more} for name in tests]
    return assess(protocol(*specs), session(*trials))


def sign(driver: str, speaks: str, strength: str, shows: str) -> dict[str, Any]:
    return rule(driver, speaks, strength, shows, signs_any=["unsteady"])


def hip(strength: str, shows: str, speaks: str = "for") -> dict[str, Any]:
    return sign("hip-control", speaks, strength, shows)


def style(strength: str, shows: str, speaks: str = "for") -> dict[str, Any]:
    return sign("movement-strategy", speaks, strength, shows)


def test_ten_and_seven_of_one_test_are_possible_and_of_two_likely() -> None:
    assert found(hip("strong", "a-pelvis"), hip("moderate", "a-trunk")).outcome == "possible"
    assert found(hip("strong", "a-pelvis"), hip("moderate", "b-trunk")).outcome == "likely"


@pytest.mark.parametrize(
    ("rival", "outcome"),
    [
        ([style("moderate", "c-rising")], "mixed"),  # 10 and 7: three apart
        ([style("slight", "c-rising"), style("slight", "d-step")], "possible"),  # 10 and 6
    ],
)
def test_three_decibans_apart_cannot_be_told_apart_and_four_can(
    rival: list[dict[str, Any]], outcome: str
) -> None:
    assert found(hip("strong", "a-pelvis"), *rival).outcome == outcome


def test_a_lead_must_last_when_one_finding_against_a_rival_falls_away() -> None:
    # Hip 28, and 21 without any one finding: ahead of 20. But that is 30 - 10 for strategy, which
    # without the 10 against it is ahead of 28.
    hips = [hip("moderate", f"{test}-hip") for test in "abcd"]
    strategy = [style("strong", f"{test}-rising") for test in "abc"]
    against = style("strong", "d-cue", "against")
    held = found(*hips, *strategy, against)
    weights = {d.driver: d.weight for d in held.drivers}
    assert (weights["hip-control"], weights["movement-strategy"]) == (28, 20)
    assert held.outcome == "possible"
    two_less_against = [style("moderate", "c-cue", "against"), style("slight", "d-cue", "against")]
    assert found(*hips, *strategy[:2], *two_less_against).outcome == "likely"


@pytest.mark.parametrize(
    ("strength", "hurt", "outcome"),
    [("slight", {}, "undetermined"), (None, {}, "nothing-found"),
     (None, {"ended": "pain"}, "undetermined")],
)  # fmt: skip
def test_nothing_is_found_only_where_nothing_speaks_or_hurts(
    strength: str | None, hurt: dict[str, Any], outcome: str
) -> None:
    rules = [style(strength, "a-rising")] if strength else []
    assert found(*rules, **hurt).outcome == outcome


@pytest.mark.parametrize(
    ("right", "sides"),
    [
        (["pelvis-drops", "arch-collapses"], {"left", "right"}),  # 10 against 7
        (["arch-collapses"], {"left"}),  # 10 against 0
    ],
)
def test_two_sides_of_one_driver_within_three_decibans_lead_together(
    right: list[str], sides: set[str]
) -> None:
    rules = [
        rule("hip-control", "for", "moderate", "pelvis", signs_any=["pelvis-drops"]),
        rule("hip-control", "for", "slight", "trunk", signs_any=["unsteady"]),
    ]
    trials = [
        {"test": "stance", "side": "left", "value": 20.0, "signs": ["pelvis-drops", "unsteady"]},
        {"test": "stance", "side": "right", "value": 20.0, "signs": right},
    ]
    answer = assess(protocol(test_spec("stance", evidence=rules)), session(*trials))
    assert {driver.side for driver in answer.leading} == sides


def test_a_far_better_side_of_the_same_driver_does_not_lead_with_it() -> None:
    rules = [
        rule("hip-control", "for", "strong", "pelvis", signs_any=["pelvis-drops"]),
        rule("hip-control", "for", "moderate", "trunk", signs_any=["unsteady"]),
    ]
    trials = [
        {"test": "stance", "side": "left", "value": 20.0, "signs": ["pelvis-drops", "unsteady"]},
        {"test": "stance", "side": "right", "value": 20.0, "signs": ["unsteady"]},
    ]
    answer = assess(protocol(test_spec("stance", evidence=rules)), session(*trials))
    assert [(driver.side, driver.weight) for driver in answer.leading] == [("left", 17)]


def test_five_decibans_are_enough_to_lead_and_four_and_a_half_are_not() -> None:
    # Seen in pain all counts half: ten as five, seven as 3.5, three times three as 4.5.
    assert found(hip("strong", "a-pelvis"), ended="pain").outcome == "possible"
    assert found(hip("moderate", "a-pelvis"), ended="pain").outcome == "undetermined"
    slight = [hip("slight", name) for name in ("a-pelvis", "b-trunk", "c-knee")]
    hurt = found(*slight, ended="pain")
    assert (hurt.drivers[0].weight, hurt.outcome) == (4.5, "undetermined")


@pytest.mark.parametrize(
    ("watched", "outcome"),
    [
        ([{}], "nothing-found"),
        ([], "undetermined"),
        ([{"cue": "level"}], "undetermined"),
        ([{"void": "wrong leg"}, {"cue": "level"}], "undetermined"),
    ],
)
def test_a_test_that_is_only_watched_told_something_when_it_was_watched_plainly(
    watched: list[dict[str, str]], outcome: str
) -> None:
    # Three tests were judged; the fourth, which "nothing found" needs, has no number.
    lines = [line("value", "at least", 10.0)]
    judged = [test_spec(name, sides="both", lines=lines) for name in "abc"]
    step = test_spec("step", timer={"kind": "quality", "repetitions": 3}, measures=[])
    trials = [
        *({"test": name, "value": 20.0} for name in "abc"),
        *({"test": "step", "side": "left", **one} for one in watched),
    ]
    assert assess(protocol(*judged, step), session(*trials)).outcome == outcome


def test_what_speaks_for_and_what_speaks_against_stand_apart() -> None:
    both = found(hip("strong", "a-pelvis"), hip("slight", "b-level", "against"))
    leader = both.drivers[0]
    assert [one.finding.decibans for one in leader.speaks_for] == [10]
    assert [one.finding.decibans for one in leader.speaks_against] == [-3]
    assert leader.weight == 7
