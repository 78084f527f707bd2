"""A session with addenda is judged as they amend it, in every place that judges."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from support.small_protocol import (
    STARTED,
    exercise,
    finding,
    graded,
    level,
    line,
    protocol,
    session,
    test_spec,
)

from screen_tui.engine.assess import assess
from screen_tui.engine.change import compare, readings_of
from screen_tui.engine.conditions import Seen
from screen_tui.engine.observe import observe
from screen_tui.engine.results import Assessment
from screen_tui.engine.safety import closed_gates
from screen_tui.engine.visits import Visit, marks_of, what_moved
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Session

SHORT = "short of the line"
AFTERWARDS = STARTED + timedelta(days=1)


def stance_protocol(**more: Any) -> ScreenProtocol:
    stance = test_spec(
        "stance",
        trials=2,
        lines=[line("value", "at least", 10.0)],
        findings=[finding("pelvis-drops", none=5, hip=90)],
        graded=[graded(level("short", 10.0, none=5, hip=40))],
    )
    return protocol(stance, test_spec("step"), **more)


def held(value: float, *signs: str, **more: Any) -> dict[str, Any]:
    return {"test": "stance", "side": "left", "value": value, "signs": list(signs), **more}


def addendum(trial: int, **more: Any) -> dict[str, Any]:
    return {"written": AFTERWARDS, "reason": "read again", "trial": trial, **more}


def amended(*addenda: dict[str, Any]) -> Session:
    trials = (held(12.0, "pelvis-drops"), held(8.0))
    return session(*trials, finished=STARTED, addenda=list(addenda))


CORRECTED, STRUCK_OUT = addendum(1, value=9.0), addendum(1, struck_out=True)


def test_a_corrected_value_is_what_is_graded() -> None:
    whole = stance_protocol()
    (before,) = [one for one in assess(whole, amended()).results if one.value is not None]
    (after,) = [one for one in assess(whole, amended(CORRECTED)).results if one.value is not None]
    assert (before.value, before.standing, before.trials) == (12.0, "meets", (12.0, 8.0))
    assert (after.value, after.standing, after.trials) == (9.0, SHORT, (9.0, 8.0))


def test_what_a_struck_out_trial_showed_says_nothing() -> None:
    whole = stance_protocol()

    def found(made: Session) -> dict[str, bool]:
        left = next(one for one in assess(whole, made).drivers if one.side == "left")
        return {one.what: one.there for one in (*left.speaks_for, *left.speaks_against)}

    # The best of the two holds counts; of the two only the second is short.
    assert found(amended()) == {"pelvis-drops": True, "value": False}
    assert found(amended(STRUCK_OUT)) == {"pelvis-drops": False, "value": True}


def test_it_is_judged_as_if_it_had_been_saved_so() -> None:
    whole = stance_protocol()
    made = assess(whole, amended(CORRECTED))
    kept = assess(whole, session(held(9.0, "pelvis-drops"), held(8.0), finished=STARTED))
    assert made.results == kept.results
    assert made.drivers == kept.drivers
    assert made.next_tests == kept.next_tests


def test_a_hold_corrected_to_its_full_time_is_no_more_broken_off() -> None:
    whole = stance_protocol()
    tired = held(20.0, "pelvis-drops", ended="fatigue")
    saved = session(tired, finished=STARTED, addenda=[addendum(1, value=45.0)])
    (seen,) = observe(whole, saved).values()
    assert [one.broken_off for one in seen.plain] == [False]
    at_once = session(held(45.0, "pelvis-drops", ended="cap"), finished=STARTED)
    assert assess(whole, saved).drivers == assess(whole, at_once).drivers


TOO_SHORT = {"test": "step", "when": {"measure": "value", "at_most": 5.0}}
PLANNED: dict[str, Any] = {
    "exercises": [
        exercise("side-lift", "hip-control"),
        exercise("hop", "hip-control", load="one-leg", order=2),
        exercise("arch", "foot-ankle-control"),
    ],
    "precautions": [
        {
            "id": "unsteady",
            "words": "Unsteady: stay near.",
            "needs_helper": ["side-lift"],
            "leave_out": ["hop"],
            "any_of": [{"because": "unsteady", "seen": [TOO_SHORT]}],
            "source": "judgement",
        }
    ],
}


def planned(*addenda: dict[str, Any], signs: str = "pelvis-drops", **more: Any) -> Assessment:
    """A visit with the same sign in two tests, as its addenda amend it."""
    rows = [finding("pelvis-drops", none=5, hip=90), finding("arch-collapses", none=5, foot=90)]
    whole = protocol(
        test_spec("stance", findings=rows),
        test_spec("step", findings=[row | {"trait": f"{row['trait']}-2"} for row in rows]),
        **(PLANNED | more),
    )
    trials = (held(20.0, signs), held(20.0, signs) | {"test": "step"})
    return assess(whole, session(*trials, finished=STARTED, addenda=list(addenda)))


def test_the_plan_stays_what_was_planned_that_day() -> None:
    given = planned()
    voided = planned(*(addendum(place, struck_out=True) for place in (1, 2)))
    assert [one.exercise for one in given.plan.start] == ["side-lift", "hop"]
    assert given.outcome != voided.outcome
    assert voided.plan == given.plan
    assert voided.remarks[-1] == (
        "As corrected: The plan would no longer start side-lift (left); hop (left). Decide at the "
        "next visit."
    )
    # What was not planned that day is not in the plan of that day.
    other = planned(addendum(1, struck_out=True), signs="arch-collapses")
    assert [one.exercise for one in other.plan.start] == ["arch"]


def test_what_is_not_safe_as_corrected_is_left_out_of_the_plan() -> None:
    unsteady = planned(addendum(2, value=4.0))
    (one,) = unsteady.plan.start
    assert (one.exercise, one.with_helper) == ("side-lift", True)
    assert unsteady.remarks[-1] == (
        "As corrected: hop (left) must be left out: tell the patient. side-lift (left) only with "
        "somebody near: tell the patient."
    )


def test_a_referral_that_follows_from_an_addendum_ends_the_plan() -> None:
    rule = {
        "id": "swollen",
        "caution": "clot",
        "ask": "Is the calf swollen?",
        "any_of": [{"because": "no step", "seen": [TOO_SHORT]}],
        "source": "judgement",
    }
    made = planned(addendum(2, value=4.0), contradictions=[rule])
    assert (made.outcome, made.plan.start) == ("refer-first", ())
    assert made.remarks[-1] == (
        "As corrected: A referral comes first, and the plan of that day holds no more: tell the "
        "patient."
    )


def test_each_addendum_that_changed_a_trial_is_remarked_on() -> None:
    words = {"written": AFTERWARDS, "reason": "asked", "text": "it was windy"}
    made = assess(stance_protocol(), amended(CORRECTED, words, addendum(2, struck_out=True)))
    assert made.remarks == (
        "Addendum 1 corrects the value of trial 1 (stance, left) to 9.",
        "Addendum 3 voids trial 2 (stance, left).",
    )
    assert assess(stance_protocol(), amended(words)).remarks == ()


def test_a_corrected_value_that_cannot_be_is_not_used() -> None:
    made = assess(stance_protocol(), amended(addendum(1, value=300.0)))
    assert made.results[0].trials == (8.0,)
    assert any("Trial 1 (stance, left) was not used: 300 is outside" in r for r in made.remarks)


def test_a_test_the_protocol_does_not_know_is_shown_by_its_id() -> None:
    made = session({"test": "hop", "value": 3.0}, finished=STARTED, addenda=[STRUCK_OUT])
    assert "Addendum 1 voids trial 1 (hop)." in assess(stance_protocol(), made).remarks


def test_whatever_observes_sees_the_amended_trials() -> None:
    (seen,) = observe(stance_protocol(), amended(STRUCK_OUT)).values()
    assert [trial.value for trial in seen.plain] == [8.0]
    assert seen.signs == frozenset()


def test_gates_close_by_the_amended_trials() -> None:
    gate = {
        "after": "stance",
        "when": {"measure": "value", "at_most": 10.0},
        "withhold": "step",
        "reason": "cannot stand on that leg",
        "source": "judgement",
    }
    whole = stance_protocol(gates=[gate])
    assert ("step", "left") not in closed_gates(Seen.of(whole, amended()))
    assert ("step", "left") in closed_gates(Seen.of(whole, amended(CORRECTED)))


def test_visits_are_compared_as_amended() -> None:
    whole, key = stance_protocol(), ("stance", "left", "value")
    assert readings_of(whole, amended(CORRECTED))[key].value == 9.0
    later = session(held(12.0), started=STARTED + timedelta(days=40))
    (change,) = compare(whole, amended(CORRECTED), later)
    assert change.difference == 3.0


def test_a_full_hold_that_was_shortened_is_no_full_hold() -> None:
    whole, key = stance_protocol(), ("stance", "left", "value")
    full = session(held(45.0, ended="cap"), finished=STARTED)
    assert readings_of(whole, full)[key].full
    shorter = full.model_copy(update={"addenda": amended(addendum(1, value=30.0)).addenda})
    assert not readings_of(whole, shorter)[key].full


def test_what_was_struck_out_could_not_show_anything() -> None:
    whole = stance_protocol()
    then = session(held(45.0, "pelvis-drops"), finished=STARTED)
    now = session(
        held(45.0), finished=STARTED, addenda=[STRUCK_OUT], started=STARTED + timedelta(days=40)
    )
    (moved,) = what_moved(*(Visit(1, one, assess(whole, one), ()) for one in (then, now)))
    assert (moved.how, moved.tested_then, moved.tested_now) == ("gone", True, False)


def test_a_visit_with_nothing_left_is_marked() -> None:
    both = amended(STRUCK_OUT, addendum(2, struck_out=True))
    assert "every trial void" in marks_of(both, ())
    assert "every trial void" not in marks_of(amended(STRUCK_OUT), ())
