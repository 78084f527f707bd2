"""The criteria the tests can tell: each as in the words beside it, and refused where it cannot be.

The criteria are common practice, no source, as the words are.
"""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError
from shipped_protocol import shipped
from support.protocol_folder import write_protocol
from support.small_protocol import exercise, protocol, session, test_spec

from screen_tui.engine import assess
from screen_tui.engine.visits import progress_of
from screen_tui.errors import FileRefusedError
from screen_tui.protocol.knowledge import Criterion
from screen_tui.protocol.loader import load_protocol

# Exercise: what its words say, test, measure, and what is asked of it.
EXPECTED = {
    "straight-leg-raise": (
        "Ten raises of ten seconds without a lag",
        {"test": "straight-leg-raise-hold", "measure": "holds", "at_least": 10,
         "signs_none": ["extension-lag"]},
    ),
    "stance-pelvis-level": (
        "ten seconds, level",
        {"test": "single-leg-stance", "measure": "time", "at_least": 10, "max_pain": 5,
         "signs_none": ["pelvis-drops", "trunk-leans"]},
    ),
    "stance-arch-kept": (
        "ten seconds",
        {"test": "single-leg-stance", "measure": "time", "at_least": 10, "max_pain": 5,
         "signs_none": ["arch-collapses"]},
    ),
    "one-leg-by-rail": (
        "ten seconds",
        {"test": "single-leg-stance", "measure": "time", "at_least": 10, "max_pain": 5},
    ),
    "heel-prop": (
        "As straight as the other knee",
        {"test": "knee-extension", "measure": "deficit", "standing": "meets"},
    ),
    "end-range-set": (
        "No lag",
        {"test": "knee-extension", "measure": "lag", "at_most": 0},
    ),
}  # fmt: skip


def test_the_shipped_criteria_are_those_of_the_words() -> None:
    with_criteria = {one.id: one for one in shipped().exercises if one.progress_if}
    assert set(with_criteria) == set(EXPECTED)
    for name, (words, criterion) in EXPECTED.items():
        assert words in with_criteria[name].progress_when, name
        assert with_criteria[name].progress_if == (Criterion.model_validate(criterion),), name


def test_pain_allowed_by_a_criterion_is_that_of_the_stop_rule() -> None:
    for one in shipped().exercises:
        for criterion in one.progress_if:
            if criterion.max_pain is not None:
                assert f"ain above {criterion.max_pain} of 10" in one.stop, one.id


def hold(*signs: str, value: float = 0.0, **more: Any) -> dict[str, Any]:
    return {"test": "single-leg-stance", "side": "left", "value": value, "signs": signs, **more}


def test_a_hip_that_was_given_the_stance_goes_on_once_it_is_held_level() -> None:
    common = {"protocol": "chairside-knee", "intake": {"side": "left", "goals": ["walking"]}}
    first = session(
        hold("pelvis-drops", value=8.0),
        {"test": "step-down", "side": "left", "signs": ["pelvis-drops", "trunk-leans"]},
        **common,
    )
    plan = assess(shipped(), first)
    assert "stance-pelvis-level" in [one.exercise for one in plan.plan.start]

    def step(*trials: dict[str, Any]) -> str:
        found = progress_of(shipped(), first, plan, session(*trials, **common))
        return next(one.step for one in found if one.start.exercise == "stance-pelvis-level")

    assert step(hold(value=10.0)) == "up"
    assert step(hold(value=9.9)) == "stay"
    assert step(hold("trunk-leans", value=30.0)) == "stay"
    assert step() == "ask"
    assert step(hold(value=30.0, pain=6)) == "down"


# ------------------------------------------------------------------ mistakes

GOOD = {"test": "stance", "measure": "value", "at_least": 10.0}


@pytest.mark.parametrize(
    ("change", "field", "reason"),
    [
        ({"test": "stanse"}, "test", 'did you mean "stance"?'),
        ({"measure": "time"}, "measure", "measure of this test"),
        ({"standing": "meets"}, "standing", "can never be known"),
        ({"at_most": 5.0}, "at_least", "is above at_most"),
        ({"signs_none": ["hip-hikes"]}, "signs_none[0]", "sign of this test"),
    ],
)
def test_a_criterion_no_test_can_tell_is_refused_with_its_place(
    tmp_path: Any, change: dict[str, Any], field: str, reason: str
) -> None:
    wanted = [exercise("level", "hip-control", progress_if=[GOOD | change])]
    folder = write_protocol(protocol(test_spec("stance"), exercises=wanted), tmp_path / "own")
    with pytest.raises(FileRefusedError) as refused:
        load_protocol([folder], "small")
    told = [(one.path.name, one.field) for one in refused.value.problems]
    assert ("exercises.toml", f"exercises[0].progress_if[0].{field}") in told
    assert reason in str(refused.value)


def test_a_good_criterion_is_read() -> None:
    wanted = [exercise("level", "hip-control", progress_if=[GOOD])]
    assert protocol(test_spec("stance"), exercises=wanted).exercises[0].progress_if[0].at_least


def test_a_criterion_that_asks_nothing_is_refused() -> None:
    with pytest.raises(ValidationError, match="asks nothing of the measure"):
        Criterion.model_validate({"test": "stance", "measure": "time", "max_pain": 3})
