"""The questions before testing, answered key by key."""

from __future__ import annotations

from dataclasses import replace

import pytest
from flow_protocol import make_protocol
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError
from support.form_keys import NOT_ASKED, pressed

from screen_tui.errors import EntryRefusedError
from screen_tui.session.model import Client
from screen_tui.trial.intake import IntakeForm, QuestionRow

SHORTEST = [
    *["1", "n", "n", "1", "enter", "enter", "1", "enter", *NOT_ASKED],
    *[*"K-014", "enter", *"67", "enter"],
]
"""Left, no worry, full weight, no surgery, no complaint, walking, nothing of the history."""


def blank() -> IntakeForm:
    return IntakeForm.blank(make_protocol())


def fill(form: IntakeForm, keys: list[str]) -> IntakeForm:
    for key in keys:
        form = pressed(form, key, key if len(key) == 1 else None)
    return form


def row(form: IntakeForm, question: str) -> QuestionRow:
    return next(row for row in form.rows() if row.id == question)


def at(form: IntakeForm, question: str) -> IntakeForm:
    there = form.go_to(question)
    assert there.at == question
    return there


def test_the_knee_and_safety_come_first_and_nothing_is_answered_beforehand() -> None:
    rows = blank().rows()
    assert [row.id for row in rows[:3]] == ["side", "clot", "locked-knee"]
    assert [row.id for row in blank().page()] == ["side", "clot", "locked-knee"]
    assert not any(row.answer or row.typed for row in rows)
    assert not any(option.chosen for row in rows for option in row.options)
    beside = ("height_cm", "mass_kg", "note", "ready")
    assert blank().progress == (0, len(rows) - len(beside))


def test_an_open_safety_question_is_not_a_no() -> None:
    form = fill(blank(), ["1", "enter"])
    assert form.at == "clot"
    assert "not a no" in form.refusals[form.at]
    assert "clot" in form.missing
    finished = fill(at(fill(blank(), ["1"]), "weight_bearing"), [*SHORTEST[3:], "1"])
    assert finished.missing == ("clot", "locked-knee")
    assert finished.at == "clot", "it goes back to what was passed over"
    with pytest.raises(EntryRefusedError, match="Calf pain"):
        finished.result()


def test_the_shortest_way_through_gives_a_client_and_an_intake() -> None:
    form = fill(blank(), [*SHORTEST, "1"])
    assert form.at == "ready"
    assert not form.done
    form = fill(form, ["enter"])
    assert form.done
    client, intake = form.result()
    assert client.label == "K-014"
    assert (client.age, client.sex, client.height_cm, client.mass_kg) == (67, "female", None, None)
    assert (intake.weight_bearing, intake.side, intake.goals) == ("full", "left", ("walking",))
    assert (intake.complaints, intake.recent_surgery_weeks, intake.cautions) == ((), None, ())
    answered, asked = form.progress
    assert answered == asked


def test_a_yes_raises_the_caution_and_waits_for_the_decision_to_go_on() -> None:
    form = fill(blank(), ["1", "n", "y"])
    assert form.raised == ("locked-knee",)
    assert form.at == "locked-knee"
    assert row(form, "locked-knee").raised
    assert fill(form, ["enter"]).at == "weight_bearing"
    corrected = fill(form, ["n"])
    assert corrected.raised == ()
    assert corrected.at == "weight_bearing"


def emergency() -> IntakeForm:
    knee = make_protocol()
    cautions = (knee.cautions[0].model_copy(update={"urgency": "now"}), *knee.cautions[1:])
    return IntakeForm.blank(knee.model_copy(update={"cautions": cautions}))


def test_an_emergency_asks_nothing_more_but_whose_note_it_is() -> None:
    form = fill(emergency(), ["1", "y"])
    assert not form.refers_now, "it is accepted first"
    form = fill(form, ["enter"])
    assert (form.at, form.progress) == ("label", (1, 3))
    form = fill(form, [*"K-014", "enter", *"67", "enter"])
    assert form.done
    client, intake = form.result()
    assert (client.label, intake.cautions, intake.safety_asked) == ("K-014", ("clot",), ("clot",))
    assert intake.cut_short


def test_an_emergency_with_a_known_patient_is_done_with_one_key_and_can_be_undone() -> None:
    known = replace(emergency(), answers={"side": "left", "label": "K-014", "age": "67"})
    form = fill(at(known, "clot"), ["y", "enter"])
    assert form.done
    assert set(fill(at(form, "clot"), ["n"]).missing) > {"locked-knee", "weight_bearing"}
    assert not fill(at(form, "clot"), ["c"]).refers_now


def test_the_last_line_begins_no_tests_after_a_yes() -> None:
    assert row(blank(), "ready").question.short == "Begin the tests"
    assert "refer first" in row(fill(blank(), ["1", "y"]), "ready").question.short


def test_a_refused_answer_is_open() -> None:
    form = fill(at(fill(blank(), [*SHORTEST, "1"]), "age"), ["0", "up"])
    answered, asked = form.progress
    assert asked - answered == 1


def test_a_caution_answered_yes_is_saved_in_the_intake() -> None:
    form = fill(blank(), ["1", "y", "enter", *SHORTEST[2:], "u"])
    client, intake = form.result()
    assert intake.cautions == ("clot",)
    assert client.sex == "unspecified"


def test_confirming_one_leg_is_asked_only_when_weight_is_borne_as_tolerated() -> None:
    form = at(blank(), "weight_bearing")
    assert "one_leg_confirmed" not in [row.id for row in form.rows()]
    assert fill(form, ["1"]).at == "recent_surgery_weeks"
    tolerated = fill(form, ["2"])
    assert tolerated.at == "one_leg_confirmed"
    assert "one_leg_confirmed" in tolerated.missing
    assert "one_leg_confirmed" not in fill(tolerated, ["up", "4"]).missing


def test_other_limits_are_asked_only_after_surgery_or_below_full_weight() -> None:
    full = fill(at(blank(), "weight_bearing"), ["1"])
    assert fill(full, ["enter"]).at == "complaints"
    assert fill(full, ["9", "enter", "1"]).at == "precautions"
    partial = fill(at(blank(), "weight_bearing"), ["3", "enter"])
    assert partial.at == "precautions"
    chosen = fill(partial, ["1", "3", "enter"])
    assert row(chosen, "precautions").answer == "brace worn, no kneeling"


def test_a_confirmation_that_is_no_longer_asked_does_not_reach_the_intake() -> None:
    form = fill(blank(), ["1", "n", "n", "2", "y", "up", "up", *SHORTEST[3:], "m"])
    _, intake = form.result()
    assert intake.weight_bearing == "full"
    assert not intake.one_leg_confirmed


def test_digits_toggle_where_several_may_be_chosen() -> None:
    form = fill(at(blank(), "complaints"), ["1", "2", "3", "2"])
    assert form.at == "complaints"
    assert row(form, "complaints").answer == "pain, weakness"
    goals = fill(at(form, "goals"), ["4", "1"])
    assert row(goals, "goals").answer == "walking, stairs"


def test_goals_are_needed_because_they_decide_the_tests() -> None:
    form = fill(at(blank(), "goals"), ["enter"])
    assert form.at == "goals"
    assert "1-4" in form.refusals[form.at]


@pytest.mark.parametrize(
    ("question", "typed", "says"),
    [
        ("age", "230", "5 to 110"),
        ("age", "4", "5 to 110"),
        ("age", "67,5", "whole number"),
        ("height_cm", "16", "80 to 230"),
        ("height_cm", "1.6.4", "not a number"),
        ("mass_kg", "7", "20 to 300"),
        ("mass_kg", "43 lb", "20 to 300"),
        ("height_cm", "5'12", "not a number"),
        ("height_cm", "2 6", "80 to 230"),
        ("recent_surgery_weeks", "999", "0 to 520"),
    ],
)
def test_an_impossible_number_is_refused_at_its_field(question: str, typed: str, says: str) -> None:
    form = fill(at(blank(), question), [*typed, "enter"])
    assert form.at == question
    assert says in form.refusals[form.at]
    assert row(form, question).typed == typed
    assert question in form.missing


def test_an_impossible_number_left_with_tab_stays_and_says_why() -> None:
    form = fill(at(blank(), "age"), [*"230", "tab"])
    assert form.at == "sex"
    assert "5 to 110" in row(form, "age").error
    assert row(fill(form, ["shift+tab", "backspace"]), "age").error == ""


def test_limits_are_those_of_the_session_model() -> None:
    for age in (5, 110):
        Client(label="K", age=age)
        assert fill(at(blank(), "age"), [*str(age), "enter"]).at == "sex"
    for age in (4, 111):
        with pytest.raises(ValidationError):
            Client(label="K", age=age)
        assert fill(at(blank(), "age"), [*str(age), "enter"]).at == "age"


@pytest.mark.parametrize("comma", [",", ".", "comma", "full_stop", "decimal"])
def test_a_decimal_comma_is_accepted_under_any_name_of_the_key(comma: str) -> None:
    form = fill(at(fill(blank(), [*SHORTEST, "1"]), "height_cm"), [*"164", comma, "5", "enter"])
    assert form.at == "ready"
    assert form.result()[0].height_cm == 164.5


@pytest.mark.parametrize(
    ("label", "says"),
    [
        # The kinds of identifier of the US Safe Harbor list, 45 CFR 164.514(b)(2).
        ("Anna Berg", "full name"),
        ("Berg, Anna", "full name"),
        ("berg, anna", "full name"),
        ("Ärzu Öztürk", "full name"),
        ("A\u0308rzu O\u0308ztu\u0308rk", "full name"),  # each accent a character of its own
        ("Bo\u0308, A.", "full name"),
        ("Müller 1950", "a name or a date of birth"),
        ("Mu\u0308ller 1950", "a name or a date of birth"),
        ("MÜLLER-1950", "a name or a date of birth"),
        ("müller1950", "a name or a date of birth"),
        ("\uff2d\uff55\uff4c\uff4c\uff45\uff52 1950", "a name or a date of birth"),
        ("Mar 1958", "a name or a date of birth"),
        ("12.03.1958", "date"),
        ("1958-03-12", "date"),
        ("030 1234567", "phone"),
        ("12345678", "phone or record number"),
        ("a.berg@example.org", "e-mail"),
    ],
)
def test_a_label_that_could_tell_who_it_is_is_refused(label: str, says: str) -> None:
    form = fill(at(blank(), "label"), [*label, "enter"])
    assert form.at == "label"
    assert says in form.refusals[form.at]


@pytest.mark.parametrize(
    "label", ["K-014", "knee 3", "Room 12", "tall left knee", "B7", "CASE-2001", "K-1950", "Mü 3"]
)
def test_a_short_label_is_accepted(label: str) -> None:
    assert fill(at(blank(), "label"), [*label, "enter"]).at == "age"


def test_backspace_takes_back_a_character_an_answer_and_then_goes_back() -> None:
    form = fill(blank(), ["1", "n", "n"])
    form = fill(form, ["backspace"])
    assert form.at == "locked-knee"
    form = fill(form, ["backspace"])
    assert row(form, "locked-knee").answer == ""
    typed = fill(at(form, "age"), ["6", "7", "backspace"])
    assert row(typed, "age").typed == "6"


def test_enter_at_the_end_goes_to_what_is_missing() -> None:
    form = fill(at(blank(), "ready"), ["enter"])
    assert not form.done
    assert form.at == "side"
    assert form.refusals[form.at]


def test_unknown_keys_change_nothing() -> None:
    form = at(blank(), "weight_bearing")
    for key in ("f5", "ctrl+x", "left", "escape", "9", "left_shift", "space"):
        assert form.key(key, None) == form


@pytest.mark.parametrize(
    ("typed", "kept", "told"),
    [
        ("178", 178.0, "178 cm"),
        ("177,8 cm", 177.8, "177.8 cm"),
        ("5'10\"", 177.8, "5'10\" = 177.8 cm"),
        ("5\u203210\u2033", 177.8, "5\u203210\u2033 = 177.8 cm"),
        ("5 10", 177.8, "5 10 = 177.8 cm"),
        ("5 ft", 152.4, "5 ft = 152.4 cm"),
        ("70 in", 177.8, "70 in = 177.8 cm"),
    ],
)
def test_height_is_taken_in_feet_and_inches_and_saved_in_centimetres(
    typed: str, kept: float, told: str
) -> None:
    """An inch is 2.54 cm and a pound 0.45359237 kg (international yard and pound, 1959)."""
    form = fill(at(fill(blank(), [*SHORTEST, "f"]), "height_cm"), [*typed, "enter"])
    assert row(form, "height_cm").answer == told
    assert form.result()[0].height_cm == kept


@pytest.mark.parametrize(
    ("typed", "kept", "told"),
    [("72.5", 72.5, "72.5 kg"), ("160 lb", 72.6, "160 lb = 72.6 kg"), ("80 kg", 80, "80 kg")],
)
def test_mass_is_taken_in_pounds_and_saved_in_kilograms(typed: str, kept: float, told: str) -> None:
    form = fill(at(fill(blank(), [*SHORTEST, "f"]), "mass_kg"), [*typed, "enter"])
    assert row(form, "mass_kg").answer == told
    assert form.result()[0].mass_kg == kept


@pytest.mark.parametrize(("key", "sex"), [("f", "female"), ("m", "male"), ("2", "male")])
def test_sex_has_its_letter_and_the_knee_too(key: str, sex: str) -> None:
    assert fill(at(blank(), "sex"), [key]).answers["sex"] == sex
    assert fill(blank(), ["r"]).answers["side"] == "right"


def test_one_key_says_no_to_all_that_is_open_once_each_line_was_on_the_screen() -> None:
    form = fill(blank(), ["1", "y", "enter"])
    assert form.nothing_else([]).answers == form.answers
    assert form.nothing_else([]).at == "locked-knee"
    form = form.nothing_else(["locked-knee"])
    assert form.answers == {"side": "left", "clot": True, "locked-knee": False}
    assert form.at == "weight_bearing"
    assert not fill(form, ["up"]).may_be_silent()
    answered = fill(form, [*SHORTEST[3:], "1"]).result()[1]
    assert (answered.safety_asked, answered.cautions) == (("clot", "locked-knee"), ("clot",))


def test_one_key_says_that_there_is_nothing_of_the_rest() -> None:
    form = fill(blank(), ["1", "n", "n", "1"])
    seen = [line.id for line in form.page()]
    form = form.nothing_else(seen)
    assert row(form, "recent_surgery_weeks").answer == "none"
    assert row(form, "alone_at_home").answer == "", "its no is a fact of its own"
    assert form.at == "complaints", "what may be many things is still asked"


KEYS = st.sampled_from(
    [*"yn0123456789akflt.,-@", *("space", "enter", "backspace", "up", "down", "tab", "shift+tab")]
)


@given(st.lists(KEYS, max_size=80))
def test_no_sequence_of_keys_raises_and_a_complete_form_always_has_a_result(
    keys: list[str],
) -> None:
    form = fill(blank(), keys)
    assert sum(row.current for row in form.rows()) == 1
    if form.tellable:
        form.result()
    else:
        with pytest.raises(EntryRefusedError):
            form.result()
