"""What must hold for any session under the shipped protocol."""

from __future__ import annotations

from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.small_protocol import session
from support.thorough import examples

from screen_tui.engine import Assessment, assess
from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Session

PROTOCOL = load_protocol([protocols_folder()])
MIRROR = {"left": "right", "right": "left", None: None}


def trials_of(spec: TestSpec) -> st.SearchStrategy[dict[str, Any]]:
    """Any plausible trial of a test, cued, painful and struck-out ones among them."""
    numbers: dict[str, st.SearchStrategy[Any]] = {}
    if spec.timer.kind == "measure":
        numbers["passive_deg"] = st.integers(-5, 25)
        numbers["active_deg"] = st.integers(-5, 25)
    elif spec.timer.kind != "quality":
        low, high = spec.plausible.minimum, min(spec.plausible.maximum, 60)
        numbers["value"] = st.integers(int(low) + 1, int(high))
    if spec.timer.kind == "steps":
        numbers["direction"] = st.sampled_from(["up", "down"])
        numbers["steps"] = st.sampled_from([10, 10, 3])
    for item in spec.set_up:
        noted = item.choices or [item.usual, item.maximum]
        numbers[item.id] = st.sampled_from(["" if item.choices else None, *noted])
    return st.fixed_dictionaries(
        {
            "test": st.just(spec.id),
            "side": st.sampled_from(["left", "right"]) if spec.sided else st.none(),
            "signs": st.lists(st.sampled_from(spec.signs), unique=True, max_size=3),
            "ended": st.sampled_from(["", "", "pain", "fatigue"]),
            "cue": st.sampled_from(["", *(cue.id for cue in spec.cues)]),
            **numbers,
        }
    )


TRIALS = st.lists(st.one_of([trials_of(spec) for spec in PROTOCOL.tests]), max_size=14)
SERIES = st.sampled_from(PROTOCOL.tests).flatmap(
    lambda spec: st.lists(trials_of(spec), min_size=2, max_size=5)
)
AGES = st.integers(19, 92)


def made(trials: list[dict[str, Any]], age: int) -> Session:
    client = {"age": age, "height_cm": 165, "mass_kg": 70}
    return session(*trials, client=client, protocol="knee-quick-screen")


def weights(found: Assessment) -> dict[tuple[str, str | None], float]:
    return {(one.driver, one.side): round(one.weight, 6) for one in found.drivers}


@settings(max_examples=examples(60))
@given(TRIALS, AGES)
def test_a_mirrored_session_gives_a_mirrored_answer(trials: list[dict[str, Any]], age: int) -> None:
    straight = assess(PROTOCOL, made(trials, age))
    turned = [one | {"side": MIRROR[one["side"]]} for one in trials]
    mirrored = assess(PROTOCOL, made(turned, age))
    assert weights(mirrored) == {
        (driver, MIRROR[side]): weight for (driver, side), weight in weights(straight).items()
    }
    assert mirrored.outcome == straight.outcome


@settings(max_examples=examples(150))
@given(st.one_of(TRIALS, SERIES), AGES, st.integers(0, 2**16))
def test_the_order_of_trials_does_not_matter(
    trials: list[dict[str, Any]], age: int, seed: int
) -> None:
    shuffled = list(trials)
    Random(seed).shuffle(shuffled)
    first, second = assess(PROTOCOL, made(trials, age)), assess(PROTOCOL, made(shuffled, age))
    assert weights(first) == weights(second)
    assert (first.outcome, first.headline, first.plan) == (
        second.outcome,
        second.headline,
        second.plan,
    )


@settings(max_examples=examples(60))
@given(TRIALS, TRIALS, AGES)
def test_a_struck_out_trial_has_no_effect(
    trials: list[dict[str, Any]], struck: list[dict[str, Any]], age: int
) -> None:
    voids = [one | {"void": "wrong leg"} for one in struck]
    assert assess(PROTOCOL, made([*trials, *voids], age)) == assess(PROTOCOL, made(trials, age))


@settings(max_examples=examples(60))
@given(TRIALS, AGES)
def test_an_answer_is_never_bolder_than_its_weights(trials: list[dict[str, Any]], age: int) -> None:
    found = assess(PROTOCOL, made(trials, age))
    assert len(found.plan.start) <= 9
    if found.outcome == "likely":
        assert found.leading[0].weight >= 10
        assert len({one.finding.test for one in found.leading[0].speaks_for if one.counted}) >= 2
    if found.outcome in ("undetermined", "nothing-found"):
        assert found.leading == ()
        assert {start.driver for start in found.plan.start} <= {""}


@settings(max_examples=examples(40))
@given(TRIALS, AGES, st.sampled_from([caution.id for caution in PROTOCOL.cautions]))
def test_a_safety_answer_outranks_any_session(
    trials: list[dict[str, Any]], age: int, caution: str
) -> None:
    safe = made(trials, age)
    risky = safe.model_copy(
        update={"intake": safe.intake.model_copy(update={"cautions": (caution,)})}
    )
    found = assess(PROTOCOL, risky)
    assert found.outcome == "refer-first"
    assert (found.drivers, found.plan.start, found.next_tests) == ((), (), ())


@pytest.mark.parametrize("spec", PROTOCOL.tests, ids=lambda spec: spec.id)
def test_every_test_can_speak_for_and_against_something(spec: TestSpec) -> None:
    assert {rule.speaks for rule in spec.evidence} == {"for", "against"}
