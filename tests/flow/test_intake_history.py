"""Surgery, pain, history and what is cleared among the questions before testing."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from flow_protocol import make_protocol
from support import small_protocol as small
from support.form_keys import pressed

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.knowledge import TAKEN, HistoryQuestion
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Cleared, Intake
from screen_tui.trial.intake import IntakeForm, form_again
from screen_tui.trial.intake_questions import CLEARED, mismatches, questions_of

HISTORY: list[dict[str, Any]] = [
    {
        "id": "site",
        "label": "Where it hurts",
        "answers": [
            {"id": "front", "label": "front", "key": "f"},
            {"id": "inner", "label": "inner side", "key": "i"},
        ],
    },
    {
        "id": "earlier",
        "label": "Earlier injury",
        "several": True,
        "answers": [
            {"id": "none", "label": "none", "key": "0"},
            {"id": "ankle", "label": "ankle", "key": "1"},
            {"id": "hip", "label": "hip", "key": "2"},
        ],
    },
]
UNTIL_PAIN = ["1", "n", "n", "1", "enter", "enter", "1", "enter"]
"""Left, no worry, full weight, no surgery, no complaint, walking."""
PERSON = [*"K-014", "enter", *"67", "enter", "1", "enter"]


def protocol() -> ScreenProtocol:
    history = tuple(HistoryQuestion.model_validate(one) for one in HISTORY)
    return make_protocol().model_copy(update={"history": history})


def filled(*keys: str, form: IntakeForm | None = None) -> IntakeForm:
    form = form or IntakeForm.blank(protocol())
    for key in keys:
        form = pressed(form, key, key if len(key) == 1 else None)
    return form


def intake(*keys: str) -> Intake:
    form = filled(*keys)
    assert form.done, form.missing
    return form.result()[1]


def answer(form: IntakeForm, question: str) -> str:
    return next(row.answer for row in form.rows() if row.id == question)


def test_the_history_takes_one_key_a_question() -> None:
    form = filled(*UNTIL_PAIN, "3", "7", "y")
    assert form.at == "site"
    assert [row.key for row in form.rows() if row.current for row in row.options] == ["f", "i"]
    form = filled("i", form=form)
    assert form.at == "earlier"
    form = filled("1", "2", "enter", form=form)
    assert form.at == "label"
    told = filled(*PERSON, form=form).result()[1]
    assert (told.pain_now, told.pain_worst, told.alone_at_home) == (3, 7, True)
    assert told.history == {"site": ("inner",), "earlier": ("ankle", "hip")}


def test_enter_leaves_out_what_is_not_asked() -> None:
    form = filled(*UNTIL_PAIN, *["enter"] * 5)
    assert form.at == "label"
    for question in ("pain_now", "pain_worst", "site", "earlier", "alone_at_home"):
        assert answer(form, question) == "not asked"
    told = filled(*PERSON, form=form).result()[1]
    assert (told.pain_now, told.pain_worst, told.alone_at_home) == (None, None, None)
    assert told.history == {}


def test_none_rules_out_the_others_where_several_may_hold() -> None:
    form = filled(*UNTIL_PAIN, *["enter"] * 3, "f", "1", "2", "0")
    assert answer(form, "earlier") == "none"
    assert answer(filled("2", form=form), "earlier") == "hip"


@pytest.mark.parametrize(("key", "score"), [("0", 0), ("9", 9), ("t", 10)])
def test_pain_is_one_key(key: str, score: int) -> None:
    form = filled(*UNTIL_PAIN, key)
    assert form.at == "pain_worst"
    told = filled("t", *["enter"] * 3, *PERSON, form=form).result()[1]
    assert (told.pain_now, told.pain_worst) == (score, 10)


def test_the_kind_of_surgery_is_asked_once_it_has_a_time() -> None:
    form = filled("1", "n", "n", "1")
    assert filled("enter", form=form).at == "complaints"
    form = filled("6", "enter", form=form)
    assert form.at == "surgery"
    assert "surgery" in form.missing
    form = filled("3", form=form)
    assert form.at == "precautions"
    told = filled("enter", "enter", "1", "enter", *["enter"] * 5, *PERSON, form=form).result()[1]
    assert (told.recent_surgery_weeks, told.surgery) == (6, "meniscus")


def test_no_kind_of_surgery_is_left_when_its_time_is_taken_back() -> None:
    form = filled("1", "n", "n", "1", "6", "enter", "3", "up", "up", "backspace", "enter")
    assert form.at == "complaints"
    told = filled("enter", "1", "enter", *["enter"] * 5, *PERSON, form=form).result()[1]
    assert (told.recent_surgery_weeks, told.surgery) == (None, None)


def test_a_yes_can_be_known_and_cleared_by_whom_and_when() -> None:
    form = filled("1", "y", "c")
    assert (form.at, form.raised) == ("clot:by", ())
    assert answer(form, "clot") == "known and cleared"
    assert "clot:by" in form.missing
    form = filled(*"surgeon", "enter", *"Monday", "enter", "enter", form=form)
    assert form.at == "locked-knee"
    told = filled(*UNTIL_PAIN[2:], *["enter"] * 5, *PERSON, form=form).result()[1]
    assert told.cautions == ()
    assert told.cleared == (Cleared(caution="clot", by="surgeon", when="Monday"),)


def test_only_a_yes_can_be_cleared() -> None:
    assert filled("down", "c").answers == {}
    assert filled("down", "n", "up", "c").answers == {"clot": False}


@pytest.mark.parametrize(("key", "cautions"), [("y", ("clot",)), ("n", ())])
def test_what_was_cleared_can_be_a_plain_answer_again(key: str, cautions: tuple[str, ...]) -> None:
    form = filled("1", "y", "c", *"surgeon", "enter", *"Mon", "enter", "enter", *["up"] * 4, key)
    assert form.answers["clot"] is (key == "y")
    form = filled(*(["enter"] if key == "y" else []), *UNTIL_PAIN[2:], *["enter"] * 5, form=form)
    told = filled(*PERSON, form=form).result()[1]
    assert (told.cautions, told.cleared) == (cautions, ())


def test_answers_that_were_left_come_back_as_they_were() -> None:
    form = filled("1", "y", "c", *"surgeon", "enter", *"Monday", *["enter"] * 2, *UNTIL_PAIN[2:])
    form = filled("4", "enter", "enter", "f", "1", "2", form=form)
    assert mismatches(protocol(), form.to_save, form.accepted, form.at) == ()
    again = IntakeForm.restored(protocol(), form.to_save, form.accepted, form.at)
    assert again == form
    assert again.answers["clot"] == CLEARED
    wrong = {"locked-knee": "clear", "site": "back", "earlier": ("front",), "side": CLEARED}
    assert [place for place, _ in mismatches(protocol(), wrong, (), "site")] == [
        ("answers", name) for name in wrong
    ]


def test_a_retest_asks_the_history_again_with_what_was_said() -> None:
    earlier = small.session(
        intake={
            "side": "left",
            "goals": ["walking"],
            "recent_surgery_weeks": 6,
            "surgery": "ligament",
            "history": {"site": ["front"], "earlier": ["hip", "wrist"], "gone": ["yes"]},
            "pain_now": 4,
            "alone_at_home": False,
            "cleared": [{"caution": "clot", "by": "the surgeon", "when": "then"}],
        }
    )
    then = earlier.started.date()
    form = form_again(protocol(), earlier, then + timedelta(days=20))
    assert mismatches(protocol(), form.answers, (), form.at) == ()
    assert {name: form.answers.get(name) for name in ("site", "earlier", "alone_at_home")} == {
        "site": "front",
        "earlier": ("hip",),
        "alone_at_home": False,
    }
    assert not {"clot", "pain_now", "gone"} & set(form.answers)
    assert [row.id for row in form.page()] == ["clot", "locked-knee"]
    form = filled("n", "n", form=form)
    assert form.at == "pain_now"
    assert [row.id for row in form.page()] == [
        *("weight_bearing", "recent_surgery_weeks", "surgery", "precautions"),
        *("pain_now", "pain_worst", "note", "ready"),
    ]
    assert answer(form, "recent_surgery_weeks") == "8 weeks"
    assert answer(form, "surgery") == "ligament"
    form = filled("4", "5", form=form)
    assert form.at == "ready"
    client, told = filled("enter", form=form).result()
    assert client == earlier.client
    assert (told.goals, told.history["site"]) == (earlier.intake.goals, ("front",))
    late = form_again(protocol(), earlier, then + timedelta(weeks=47))
    assert not {"recent_surgery_weeks", "surgery"} & set(late.answers)


def test_no_question_of_the_history_may_be_called_as_another_one() -> None:
    others = {question.id for question in questions_of(protocol()) if not question.caution}
    asked = {question.id for question in protocol().history}
    assert {one for one in others - asked if "_" not in one and ":" not in one} == TAKEN


def test_the_history_that_comes_with_the_program_takes_a_key_a_question() -> None:
    shipped = load_protocol([protocols_folder()])
    form = IntakeForm.blank(shipped)
    safe = ["n"] * len(shipped.cautions)
    form = filled("1", *safe, *UNTIL_PAIN[3:], "enter", "enter", "n", form=form)
    for question in shipped.history:
        assert form.at == question.id
        form = filled(question.answers[-1].key, *["enter"] * question.several, form=form)
    doubted = sum(row.id.startswith("doubt:") for row in form.rows())
    told = filled(*PERSON[:-1], *["y"] * doubted, "enter", form=form).result()[1]
    assert told.history == {one.id: (one.answers[-1].id,) for one in shipped.history}
