"""The set-up as it is noted, carried on, recorded and told."""

from __future__ import annotations

import pytest
from flow_protocol import SIGNS, make_spec
from hypothesis import given
from hypothesis import strategies as st
from support.trial_hands import TrialHands
from trial_driving import kept, press

from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Trial
from screen_tui.trial.set_up import SetUpForm, carried, higher_seat, in_short
from screen_tui.tui.drawing.rows import plain
from screen_tui.tui.screens.set_up import draw_set_up

SEAT = {"id": "seat_cm", "label": "Seat", "usual": 43, "unit": "cm", "minimum": 30, "maximum": 60}
AID = {"id": "aid", "label": "Aid", "usual": "none", "choices": ["none", "stick", "frame"]}
SHOES = {"id": "footwear", "label": "Shoes", "usual": "shoes", "choices": ["shoes", "socks"]}
RISER = {"id": "riser_cm", "label": "Riser", "usual": 18, "unit": "cm", "minimum": 8, "maximum": 25}
HANDS = ("hands-used",)


def rises(**changes: object) -> TestSpec:
    return make_spec("time-for-count", **{"id": "rises", "set_up": [SEAT, SHOES], **changes})


def walk(**changes: object) -> TestSpec:
    asked = {"id": "walk", "set_up": [AID, SHOES], "signs": ["walking-aid"]}
    return make_spec("walk", **{**asked, **changes})


def typed(form: SetUpForm, *keys: str) -> SetUpForm:
    for key in keys:
        form = form.key(key)
    return form


def form_of(*set_up: dict[str, object], noted: dict[str, object] | None = None) -> SetUpForm:
    return SetUpForm(rises(set_up=list(set_up)).set_up, noted or {}, noted or {})


# What goes on to the next trial.


def test_nothing_is_noted_by_itself() -> None:
    assert carried(rises(), (), {}) == {}
    assert carried(rises(), (Trial(test="rises", value=9),), {}) == {}


def test_what_a_trial_noted_goes_on_in_every_test_that_asks_for_it() -> None:
    before = (Trial(test="rises", seat_cm=50, footwear="socks"), Trial(test="rises", value=9))
    assert carried(rises(id="half-minute"), before, {}) == {"seat_cm": 50, "footwear": "socks"}
    assert carried(walk(), before, {}) == {"footwear": "socks"}
    assert carried(make_spec("steps", set_up=[RISER, AID]), before, {}) == {}


def test_the_last_trial_that_notes_it_counts_struck_out_or_not() -> None:
    struck = Trial(test="rises", seat_cm=55, void="false start")
    assert carried(rises(), (Trial(test="rises", seat_cm=50), struck), {}) == {"seat_cm": 55}


def test_what_was_said_since_is_newer_than_any_trial() -> None:
    before = (Trial(test="rises", seat_cm=50, footwear="socks"),)
    assert carried(rises(), before, {"seat_cm": 45.0}) == {"seat_cm": 45, "footwear": "socks"}
    assert carried(rises(), before, {"seat_cm": None}) == {"footwear": "socks"}


@pytest.mark.parametrize(
    ("spec", "said"),
    [
        (rises(set_up=[SEAT | {"maximum": 48}]), {"seat_cm": 50.0}),
        (rises(set_up=[SEAT | {"minimum": 35}]), {"seat_cm": 34.0}),
        (walk(set_up=[AID]), {"aid": "crutches"}),
    ],
)
def test_what_a_test_cannot_have_does_not_go_on_to_it(
    spec: TestSpec, said: dict[str, object]
) -> None:
    assert carried(spec, (), said) == {}  # type: ignore[arg-type]


# What a trial records.


def ended(spec: TestSpec, **options: object) -> TrialHands:
    state = TrialHands.at(spec, None, SIGNS, **options)  # type: ignore[arg-type]
    return press(state, ("space", 10.0), ("space", 15.0))


def test_a_trial_records_what_was_noted_and_not_what_is_usual() -> None:
    with_aid = kept(press(ended(walk(), set_up={"aid": "stick"}), ("enter", 20.0)))
    assert (with_aid.aid, with_aid.footwear) == ("stick", "")
    plain = kept(press(ended(walk()), ("enter", 20.0)))
    assert (plain.aid, plain.footwear) == ("", "")


def test_what_is_noted_on_an_ended_trial_is_recorded_with_it_and_with_the_next() -> None:
    state = ended(walk()).with_set_up({"aid": "frame"})
    first = press(state, ("enter", 20.0))
    assert kept(first).aid == "frame"
    assert kept(first).value == pytest.approx(5.0)
    again = first.again()
    assert again.set_up == {"aid": "frame"}
    assert not again.unsaved


def test_noting_the_set_up_changes_nothing_else_at_hand() -> None:
    state = press(ended(walk()), ("7", 20.0), ("p", 22.0), ("4", 24.0))
    changed = state.with_set_up({"aid": "frame"})
    assert changed.with_set_up(state.set_up) == state
    assert (changed.input, changed.history) == (state.input, state.history)


def test_taking_back_does_not_take_back_the_set_up() -> None:
    state = ended(walk(), set_up={"aid": "frame"})
    assert press(state, ("backspace", 20.0)).set_up == {"aid": "frame"}


def test_a_struck_out_trial_records_it_too() -> None:
    state = ended(walk(), set_up={"aid": "frame"}).struck_out("left", 20.0)
    assert (kept(state).aid, kept(state).void) == ("frame", "left")


def test_no_aid_is_not_recorded_beside_the_sign_of_one() -> None:
    noted = {"aid": "none", "footwear": "socks"}
    state = ended(walk(), set_up=noted)
    assert state.view(20.0).set_up == "no aid, socks"
    ticked = press(state, ("7", 20.0))
    assert ticked.view(21.0).set_up == "socks"
    trial = kept(press(ticked, ("enter", 23.0)))
    assert (trial.aid, trial.footwear, trial.signs) == ("", "socks", ("walking-aid",))


def test_a_set_up_that_a_session_cannot_hold_is_refused_in_words() -> None:
    # A clinic's own file may allow a seat of 90 cm; a session ends at 80.
    state = ended(rises(set_up=[SEAT | {"maximum": 90}]), set_up={"seat_cm": 90.0})
    five = press(state, *(("space", 16.0 + n) for n in range(4)), ("enter", 25.0))
    assert five.record is None
    assert "It cannot be saved like this" in five.view(26.0).error


# How it is noted.


def test_a_number_is_typed_and_taken_when_one_goes_on() -> None:
    form = typed(form_of(SEAT, SHOES), *"47,5")
    assert (form.typed, dict(form.noted)) == ("47,5", {})
    assert typed(form, "enter").noted == {"seat_cm": 47.5}
    assert typed(form, "enter").at == 1
    left = typed(form, "b")
    assert left.done
    assert left.changes == {"seat_cm": 47.5}


@pytest.mark.parametrize("way_on", ["enter", "tab", "down", "up", "shift+tab", "b"])
@pytest.mark.parametrize(
    ("keys", "sentence"),
    [
        ("61", "Seat: 61 cannot be; type 30 to 60 cm."),
        ("29.9", "Seat: 29.9 cannot be; type 30 to 60 cm."),
        ("4.4.", "Seat: 4.4. is not a number; type 30 to 60 cm."),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence_and_stays_to_be_corrected(
    way_on: str, keys: str, sentence: str
) -> None:
    form = typed(form_of(SEAT, SHOES), *keys, way_on)
    assert form.problem == sentence
    assert (form.at, form.typed, form.done, dict(form.noted)) == (0, keys, False, {})
    assert typed(form, *["backspace"] * len(keys), "b").done


@pytest.mark.parametrize("number", ["30", "60"])
def test_the_limits_themselves_can_be(number: str) -> None:
    assert typed(form_of(SEAT), *number, "b").noted == {"seat_cm": float(number)}


def test_choices_go_round_by_space_and_back_to_not_noted() -> None:
    form = form_of(AID)
    seen = []
    for _ in range(4):
        form = form.key("space")
        seen.append(form.noted.get("aid"))
    assert seen == ["none", "stick", "frame", None]


def test_a_choice_is_taken_by_its_digit() -> None:
    assert typed(form_of(AID), "3").noted == {"aid": "frame"}
    for nothing in ("0", "4", "a", ","):
        assert typed(form_of(AID), nothing) == form_of(AID)


def test_a_note_is_taken_back_with_x_and_that_is_shown() -> None:
    form = typed(form_of(SEAT, SHOES, noted={"seat_cm": 50.0, "footwear": "socks"}), "x", "b")
    assert form.noted == {"footwear": "socks"}
    assert form.changes == {"seat_cm": None}


def test_moving_goes_round_the_ends() -> None:
    form = form_of(SEAT, SHOES, AID)
    assert [typed(form, *keys).at for keys in (["up"], ["tab"], ["down"] * 3)] == [2, 1, 0]


def test_backspace_deletes_first_and_then_leaves() -> None:
    form = typed(form_of(SEAT, noted={"seat_cm": 50.0}), "4", "backspace")
    assert not form.done
    left = form.key("backspace")
    assert left.done
    assert left.changes == {}


def test_what_is_usual_and_what_is_noted_are_shown_apart_in_words() -> None:
    form = form_of(SEAT, SHOES, noted={"footwear": "shoes"})
    assert plain(draw_set_up(form, 78)[0]).splitlines() == [
        "> Seat   43 cm     usual, not noted",
        "    type 30 to 60 cm: ▏",
        "  Shoes  shoes     noted",
    ]
    assert plain(draw_set_up(form.go_to(1), 78)[0]).splitlines()[1:] == [
        "> Shoes  shoes     noted",
        "     1  [x] shoes   2  [ ] socks",
    ]


@given(st.lists(st.sampled_from([*"0123456789.,bxu", "space", "enter", "up", "backspace", "q"])))
def test_whatever_is_pressed_only_what_can_be_is_noted(keys: list[str]) -> None:
    spec = rises(set_up=[SEAT, AID])
    form = SetUpForm(spec.set_up, {}, {})
    for key in keys:
        form = form.key(key)
        assert carried(spec, (), form.noted) == form.noted
        assert not (form.done and form.problem)
        if form.done:
            break


# What is told.


def test_what_is_noted_is_shown_in_one_short_line() -> None:
    assert in_short({"seat_cm": 47.5, "aid": "frame", "footwear": "socks"}) == (
        "seat 47.5 cm, frame, socks"
    )
    assert in_short({"aid": "none"}) == "no aid"
    assert in_short({}) == ""


@pytest.mark.parametrize(
    ("spec", "trial", "told"),
    [
        (rises(), Trial(test="rises", signs=HANDS), True),
        (rises(), Trial(test="rises", signs=HANDS, seat_cm=50), True),
        (rises(), Trial(test="rises", signs=()), False),
        (rises(), Trial(test="rises", signs=HANDS, void="false start"), False),
        (rises(), Trial(test="rises", signs=HANDS, cue="feet-back"), False),
        (rises(), Trial(test="rises", signs=HANDS, ended="fatigue"), True),
        (rises(), Trial(test="rises", signs=HANDS, ended="unsafe"), False),
        (rises(set_up=[SHOES]), Trial(test="rises", signs=HANDS), False),
        # In the up and go the hands may push.
        (make_spec("once", set_up=[SEAT]), Trial(test="test-once", signs=HANDS), False),
    ],
)
def test_hands_in_a_chair_test_are_answered_with_a_higher_seat(
    spec: TestSpec, trial: Trial, told: bool
) -> None:
    said = "Hands used: offer it from a higher seat; u notes the seat." if told else ""
    assert higher_seat(spec, trial) == said
