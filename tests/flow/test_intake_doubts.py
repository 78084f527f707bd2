"""Answers before testing that hardly go together are asked about, and none is refused for it."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.trial import intake_doubts
from screen_tui.trial.intake import IntakeForm
from screen_tui.trial.intake_doubts import DOUBTS
from screen_tui.trial.intake_questions import CLEARED

SHIPPED = load_protocol([protocols_folder()])
USUAL: dict[str, Any] = {
    **{caution.id: False for caution in SHIPPED.cautions},
    **{"side": "left", "weight_bearing": "full", "complaints": ("pain",), "goals": ("stairs",)},
    **{"pain_now": "2", "pain_worst": "5", "onset": "slow", "swelling": "none", "falls": "none"},
    **{"giving-way": "none", "label": "K-014", "age": "34", "sex": "female"},
    **{"height_cm": "170", "mass_kg": "68"},
}
ARISES: dict[str, list[dict[str, Any]]] = {
    "swelling-and-no-injury": [{"swelling": "within-6-h", "onset": "twist-or-blow"}],
    "swelling-and-slow-onset": [
        {"swelling": "within-6-h", "onset": one, "swelling-after-injury": True}
        for one in ("slow", "more-load")
    ],
    "ottawa-age": [
        {"swelling-after-injury": True, "age": "55"},
        {"swelling-after-injury": CLEARED, "age": "80"},
    ],
    "falls-and-no-to-falls": [{"falls": "two-or-more"}],
    "no-falls-and-yes-to-falls": [{"repeated-falls": True}, {"repeated-falls": CLEARED}],
    "giving-way-and-none": [{"complaints": ("giving-way", "pain")}],
    "pain-and-none": [{"pain_now": "0", "pain_worst": "0"}],
    "worst-pain-below-now": [{"pain_now": "6", "pain_worst": "5"}],
    "surgery-long-ago": [{"recent_surgery_weeks": "53", "surgery": "bone"}],
    "young-replacement": [
        {"recent_surgery_weeks": "30", "surgery": "replacement", "age": one} for one in ("20", "39")
    ],
    "child": [{"age": "17"}],
    "size": [{"mass_kg": "30"}, {"mass_kg": "180"}, {"height_cm": "5 10", "mass_kg": "70 lb"}],
}
NOT: list[dict[str, Any]] = [
    {},
    {"swelling": "within-6-h", "onset": "twist-or-blow", "swelling-after-injury": True},
    {"swelling-after-injury": True, "age": "54"},
    {"swelling-after-injury": True, "age": "70", "fracture-rule": True},
    {"falls": "two-or-more", "repeated-falls": True},
    {"falls": "one"},
    {"complaints": ("giving-way",), "giving-way": "with-pain"},
    {"pain_now": "6", "pain_worst": "6"},
    {"complaints": (), "pain_now": "0", "pain_worst": "0"},
    {"recent_surgery_weeks": "52", "surgery": "bone"},
    {"recent_surgery_weeks": "8", "surgery": "replacement", "age": "40"},
    {"surgery": "replacement", "age": "20"},
    {"age": "18"},
    {"height_cm": "5'10\"", "mass_kg": "160 lb"},
    {"height_cm": "170", "mass_kg": ""},
]


def ids(changed: dict[str, Any]) -> list[str]:
    return [one.id for one in DOUBTS if one.arises({**USUAL, **changed})]


@pytest.mark.parametrize(
    ("doubt", "changed"), [(name, one) for name, all_ in ARISES.items() for one in all_]
)
def test_what_hardly_goes_together_is_asked_about(doubt: str, changed: dict[str, Any]) -> None:
    assert ids(changed) == [doubt]


@pytest.mark.parametrize("changed", NOT)
def test_what_goes_together_is_not(changed: dict[str, Any]) -> None:
    assert ids(changed) == []


def test_each_doubt_is_tried_and_speaks_of_questions_and_answers_there_are() -> None:
    assert [doubt.id for doubt in DOUBTS] == list(ARISES)
    form = IntakeForm.blank(SHIPPED)
    asked = {question.id for question in form.questions}
    assert {one for doubt in DOUBTS for one in doubt.about} <= asked
    source = Path(intake_doubts.__file__).read_text(encoding="utf-8")
    options = {value for question in form.questions for value, _ in question.options}
    named = re.findall(r'_holds\(\s*answers, "([\w-]+)", ("[^)]*)\)', source)
    assert named
    for question, values in named:
        assert question in asked
        assert set(re.findall(r'"([\w-]+)"', values)) <= options


def begun(changed: dict[str, Any]) -> IntakeForm:
    """At the end of the questions, with Enter pressed."""
    answers = {**USUAL, **changed}
    passed = [one.id for one in IntakeForm.blank(SHIPPED).questions if one.id not in answers]
    form = IntakeForm.restored(SHIPPED, answers, passed, "ready")
    return form.key("enter", None)


def test_without_a_doubt_enter_begins() -> None:
    assert begun({}).done


@pytest.mark.parametrize("name", ARISES)
def test_one_key_leaves_the_answers_and_another_goes_to_them(name: str) -> None:
    form = begun(ARISES[name][0])
    assert not form.done
    assert form.at == f"doubt:{name}"
    left = form.key("y", "y")
    assert left.at == "ready"
    assert left.key("enter", None).done
    assert left.result() == form.result(), "it changes no answer"
    there = form.key("n", "n")
    (doubt,) = (one for one in DOUBTS if one.id == name)
    assert there.at in doubt.about
    assert there.answers == form.answers


def test_an_answer_that_is_changed_is_asked_about_anew() -> None:
    form = begun({"age": "17"}).key("y", "y")
    assert form.complete
    other = form.go_to("age").with_text("16")
    assert other.missing == ("doubt:child",)
    assert form.go_to("age").with_text("34").complete


def test_what_was_left_as_it_is_comes_back_so() -> None:
    form = begun({"age": "17"}).key("y", "y")
    again = IntakeForm.restored(SHIPPED, form.to_save, form.accepted, form.at)
    assert again.complete
    assert again == replace(form, refusals={})
