"""A patient answers what is asked, tells more only when asked further, and means one tick."""

from __future__ import annotations

from support.practice_case import case_of, said

from screen_tui.practice.case import (
    NO_MORE,
    NOT_SAID,
    Interview,
    true_intake,
    wrong_ticks,
)
from screen_tui.session.model import Intake

ANSWERS = [
    one
    | (
        {"only_when_asked": ["The calf is thicker.", "I sat for a day."]}
        if one["question"] == "clot"
        else {}
    )
    for one in said()
]


def test_details_come_out_one_by_one_and_only_when_asked() -> None:
    interview = Interview(case_of(said=ANSWERS))
    assert interview.heard("clot") == ()
    heard = []
    while interview.may_know_more("clot"):
        interview = interview.ask("clot")
        heard.append(interview.heard("clot")[-1])
    assert heard == ["What I say to clot.", "The calf is thicker.", "I sat for a day.", NO_MORE]
    assert interview.asked == {"clot": 4}
    assert interview.ask("clot").heard("clot") == interview.heard("clot")


def test_nobody_can_tell_from_outside_where_more_is_behind() -> None:
    interview = Interview(case_of(said=ANSWERS)).ask("clot").ask("side")
    assert interview.may_know_more("clot")
    assert interview.may_know_more("side")


def test_what_was_left_unasked_is_known_afterwards() -> None:
    interview = Interview(case_of(said=ANSWERS))
    assert interview.left_unasked == ("clot",)
    once = interview.ask("clot").ask("clot")
    assert once.left_unasked == ("clot",)
    assert once.ask("clot").left_unasked == ()


def test_what_is_under_patient_is_answered_from_there() -> None:
    interview = Interview(case_of()).ask("age").ask("sex").ask("height_cm")
    assert interview.heard("age") == ("I am 40.",)
    assert interview.heard("sex") == ("Female.",)
    assert interview.heard("height_cm") == (NOT_SAID,)
    own = [*said(), {"question": "age", "says": "Forty last week, thank you."}]
    assert Interview(case_of(said=own)).ask("age").heard("age") == ("Forty last week, thank you.",)


def test_the_right_ticks_make_the_intake() -> None:
    case = case_of(said=said(clot=True, recent_surgery_weeks=7, side="both"))
    assert true_intake(case) == Intake(
        complaints=("pain",),
        side="both",
        goals=("walking",),
        weight_bearing="full",
        recent_surgery_weeks=7,
        cautions=("clot",),
    )


def test_each_wrong_tick_is_named_once() -> None:
    case = case_of(said=said(clot=True))
    right = true_intake(case)
    assert wrong_ticks(case, right) == ()
    ticked = right.model_copy(
        update={
            "cautions": ("locked-knee",),
            "goals": ("stairs",),
            "weight_bearing": "touch",
            "note": "anything",
        }
    )
    assert wrong_ticks(case, ticked) == ("clot", "locked-knee", "weight_bearing", "goals")


def test_the_order_of_several_ticks_is_no_matter() -> None:
    case = case_of(said=said(goals=["walking", "stairs"]))
    ticked = true_intake(case).model_copy(update={"goals": ("stairs", "walking")})
    assert wrong_ticks(case, ticked) == ()
