"""What a student recorded and committed to, held against a case small enough to count by hand."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any, ClassVar

import pytest
from pydantic import ValidationError
from support.practice_case import PROTOCOL, STANCE, case_of, said

from screen_tui.practice.case import Case, TrueDriver, TrueTest, Truth, true_intake
from screen_tui.practice.scoring import Commitment, Score, agreement, overlap, score
from screen_tui.practice.staging import Scene
from screen_tui.session.model import Session, Trial

NO_ANSWER = Commitment(answer="undetermined", confidence=3)
EXACT = STANCE | {"vary_s": 0.0}
COUNT = {"test": "chair-stands-30s", "pace": {"count": 10, "first_s": 2.5, "last_s": 2.5}}
KNEE = {"test": "knee-extension", "side": "left", "passive_deg": 2.0, "active_deg": 9.0}


def session(case: Case, *trials: dict[str, Any], **intake: Any) -> Session:
    return Session(
        id="run",
        protocol=PROTOCOL.battery.id,
        started=datetime(2026, 5, 4, 9, 0, tzinfo=UTC),
        client=case.patient,
        intake=true_intake(case).model_copy(update=intake),
        trials=tuple(Trial.model_validate(trial) for trial in trials),
    )


def stance(**more: Any) -> dict[str, Any]:
    return {
        "test": "single-leg-stance",
        "side": "left",
        "value": 12.0,
        "raw_value": 12.0,
        "ended": "foot-down",
    } | more


def scored(case: Case, *trials: dict[str, Any], **more: Any) -> Score:
    commitment = more.pop("commitment", NO_ANSWER)
    return score(case, PROTOCOL, 1, session(case, *trials, **more), commitment)


def test_the_error_of_a_time_is_measured_less_true_and_unrounded() -> None:
    found = scored(case_of(EXACT), stance(value=12.3, raw_value=12.34))
    (pair,) = found.pairs
    assert (pair.unit, pair.true, pair.measured) == ("s", 12.0, 12.34)
    assert pair.error == pytest.approx(0.34)


def test_times_and_counts_are_summed_up_apart_and_what_is_read_off_is_not_scored() -> None:
    found = scored(
        case_of(EXACT, COUNT, KNEE),
        stance(value=12.2, raw_value=12.2),
        {"test": "chair-stands-30s", "value": 12.0, "raw_value": 12.0},
        {"test": "knee-extension", "side": "left", "passive_deg": 5.0, "active_deg": 9.0},
    )
    biases = {unit: found.limits(unit) for unit in ("s", "repetitions")}  # type: ignore[arg-type]
    assert biases["s"] is not None
    assert biases["s"].bias == pytest.approx(0.2)
    assert biases["repetitions"] is not None
    assert biases["repetitions"].bias == 2
    assert {pair.scene.test for pair in found.pairs} == {"single-leg-stance", "chair-stands-30s"}


def test_a_value_corrected_by_hand_is_the_students_value() -> None:
    kept = stance(value=12.5, raw_value=11.0, corrected_from=11.0, correction="late key")
    (pair,) = scored(case_of(EXACT), kept).pairs
    assert pair.measured == 12.5


def test_a_struck_out_trial_is_not_compared_and_the_next_is_the_second_of_the_case() -> None:
    case = case_of(EXACT, EXACT | {"ends_s": 20.0})
    found = scored(case, stance(void="false start", value=1.0), stance(value=20.1, raw_value=20.1))
    (pair,) = found.pairs
    assert pair.true == 20.0
    assert len(found.signs) == len(PROTOCOL.test("single-leg-stance").signs)


def test_a_test_the_case_does_not_show_is_not_compared() -> None:
    found = scored(case_of(EXACT), stance(side="right"))
    assert (found.pairs, found.signs, found.ends) == ((), (), ())


def test_signs_are_counted_over_every_trial_and_every_sign_of_its_test() -> None:
    found = scored(
        case_of(EXACT), stance(signs=["pelvis-drops", "unsteady"]), stance(signs=["arms-move"])
    )
    # Eight signs in two trials: one there in each.
    counts = found.sign_counts
    assert (counts.hits, counts.misses, counts.false_alarms, counts.rest) == (1, 1, 2, 12)
    assert counts.sensitivity == 0.5
    # po 13/16; pe (2/16)(3/16) + (14/16)(13/16) = 188/256; kappa (.8125-.734375)/.265625.
    assert counts.kappa == pytest.approx(0.078125 / 0.265625)


def test_a_sign_counts_once_however_often_it_was_marked() -> None:
    once = scored(case_of(EXACT), stance(signs=["pelvis-drops", "arms-move"]))
    often = scored(
        case_of(EXACT),
        stance(
            signs=["pelvis-drops", "arms-move"],
            sign_counts={"pelvis-drops": 4, "arms-move": 2},
        ),
    )
    assert often.signs == once.signs
    assert often.sign_counts == once.sign_counts


def test_another_reason_for_the_end_is_named() -> None:
    found = scored(case_of(EXACT), stance(ended="pain"), stance())
    assert found.ends == ((Scene("single-leg-stance", "left"), "foot-down", "pain"),)


def driver(name: str, side: str | None = None) -> TrueDriver:
    return TrueDriver.model_validate({"driver": name, "side": side})


HIP = driver("hip-control", "left")
TRUTH = Truth(
    outcome="likely",
    drivers=(HIP,),
    reasons=("Because.",),
    next_tests=(TrueTest(test="step-down", side="left", cue="pelvis-level"),),
    start=("weight-over-hip", "stance-pelvis-level"),
    leave_out=(),
)


def committed(**more: Any) -> Commitment:
    base: dict[str, Any] = {"answer": "driver", "drivers": (HIP,), "confidence": 4}
    return Commitment.model_validate(base | more)


def test_the_same_answer_driver_and_side_is_right() -> None:
    found = agreement(committed(), TRUTH)
    assert found.right
    assert not found.next_test
    assert (found.start, found.leave_out) == (0.0, 1.0)


@pytest.mark.parametrize(
    "given",
    [
        committed(drivers=(driver("hip-control", "right"),)),
        committed(drivers=(driver("hip-control", "both"),)),
        committed(drivers=(driver("foot-ankle-control", "left"),)),
        committed(drivers=(HIP, driver("balance"))),
        committed(answer="undetermined", drivers=()),
        committed(answer="refer-first", drivers=()),
    ],
)
def test_another_side_driver_or_kind_of_answer_is_wrong(given: Commitment) -> None:
    assert not agreement(given, TRUTH).right


def test_one_of_two_drivers_is_half_the_way_and_not_right() -> None:
    foot = driver("foot-ankle-control", "left")
    mixed = TRUTH.model_copy(update={"outcome": "mixed", "drivers": (foot, HIP)})
    one, both = committed(), committed(drivers=(HIP, foot))
    assert not agreement(one, mixed).right
    assert agreement(both, mixed).right


def test_a_next_test_is_one_of_several_or_none_where_none_is_wanted() -> None:
    wanted = TRUTH
    cue = TrueTest(test="step-down", side="left", cue="pelvis-level")
    assert agreement(committed(next_test=cue), wanted).next_test
    other = TrueTest(test="step-down", side="left")
    assert not agreement(committed(next_test=other), wanted).next_test
    enough = TRUTH.model_copy(update={"next_tests": ()})
    assert agreement(committed(), enough).next_test
    assert not agreement(committed(next_test=cue), enough).next_test


def test_what_two_plans_share() -> None:
    assert overlap(("a", "b"), ("b", "c")) == pytest.approx(1 / 3)
    assert overlap((), ()) == 1
    assert overlap(("a",), ()) == 0
    started = agreement(committed(start=("weight-over-hip", "prone-leg-lift")), TRUTH)
    assert started.start == pytest.approx(1 / 3)


def test_an_answer_names_drivers_when_it_is_a_driver_and_only_then() -> None:
    with pytest.raises(ValidationError, match="belong together"):
        Commitment(answer="driver", confidence=3)
    with pytest.raises(ValidationError, match="belong together"):
        Commitment(answer="nothing-found", drivers=(HIP,), confidence=3)
    with pytest.raises(ValidationError, match="names one driver twice"):
        committed(drivers=(HIP, driver("hip-control", "right")))
    with pytest.raises(ValidationError):
        committed(confidence=6)


def test_unloaded_only_is_answered_by_a_driver_where_there_is_one() -> None:
    unloaded = TRUTH.model_copy(update={"outcome": "unloaded-only"})
    assert unloaded.answer == "driver"
    without = unloaded.model_copy(update={"drivers": ()})
    assert without.answer == "undetermined"


def test_the_score_is_against_the_author_and_beside_it_the_engine() -> None:
    # A pelvis that drops points the engine to the hip; this author stands by the foot.
    foot = TRUTH.model_copy(update={"drivers": (driver("foot-ankle-control", "left"),)})
    case = case_of(EXACT, truth=foot.model_dump())
    found = scored(case, stance(), commitment=committed(confidence=5))
    assert not found.with_author.right
    assert found.with_engine.right
    assert found.brier == pytest.approx(0.81)
    # The student saw nothing, so the engine makes nothing of the record.
    assert found.engine_on_case.leading
    assert not found.engine_on_record.leading


class TestSafety:
    """Whether somebody came to harm, by what was there and not by what was noticed."""

    TANDEM: ClassVar[dict[str, Any]] = {
        "test": "tandem-stance",
        "ends_s": 4.0,
        "ended": "stance-foot-moved",
    }

    def test_a_quiet_run_is_safe(self) -> None:
        found = scored(case_of(EXACT), stance()).safety
        assert found.safe
        assert (found.must_refer, found.unsafe) == (False, ())

    def test_whoever_must_be_referred_and_is_not_is_the_first_fault(self) -> None:
        truth = {"outcome": "refer-first", "reasons": ["Because."]}
        case = case_of(EXACT, said=said(clot=True), truth=truth)
        missed = scored(case, stance(), cautions=()).safety
        assert (missed.must_refer, missed.refer_missed, missed.missed) == (True, True, ("clot",))
        assert [one.test for one in missed.unsafe] == ["single-leg-stance"]
        assert "Refer first" in missed.unsafe[0].why
        refer = Commitment(answer="refer-first", confidence=5)
        kept = scored(case, commitment=refer).safety
        assert kept.safe
        assert not kept.refer_missed

    def test_referring_without_need_is_not_unsafe(self) -> None:
        refer = Commitment(answer="refer-first", confidence=5)
        found = scored(case_of(EXACT), commitment=refer, cautions=("clot",)).safety
        assert found.safe
        assert found.raised_without_need == ("clot",)

    def test_more_load_than_allowed_is_unsafe_whatever_was_ticked(self) -> None:
        answers = [*said(weight_bearing="touch"), {"question": "precautions", "says": "."}]
        truth = {"outcome": "unloaded-only", "reasons": ["Because."]}
        case = case_of(EXACT, KNEE, said=answers, truth=truth)
        lying = {"test": "knee-extension", "side": "left", "passive_deg": 2.0, "active_deg": 9.0}
        found = scored(case, lying, stance(), stance(), weight_bearing="full").safety
        assert [(one.test, one.side) for one in found.unsafe] == [("single-leg-stance", "left")]
        assert "load" in found.unsafe[0].why
        assert found.more_load

    def test_more_load_ticked_is_unsafe_before_any_test_and_less_is_not(self) -> None:
        answers = [*said(weight_bearing="touch"), {"question": "precautions", "says": "."}]
        truth = {"outcome": "unloaded-only", "reasons": ["Because."]}
        case = case_of(KNEE, said=answers, truth=truth)
        assert not scored(case, weight_bearing="as-tolerated").safety.safe
        assert scored(case, weight_bearing="none").safety.safe

    def test_limits_of_the_surgeon_hold(self) -> None:
        answers = [
            *said(recent_surgery_weeks=20),
            {"question": "precautions", "says": "A brace.", "truth": ["brace"]},
        ]
        step = {"test": "step-down", "side": "left", "repetitions_s": [3, 6, 9, 12, 15]}
        case = case_of(EXACT, step, said=answers)
        stepped = {"test": "step-down", "side": "left"}
        found = scored(case, stance(), stepped, precautions=()).safety
        assert [one.test for one in found.unsafe] == ["step-down"]
        assert "a brace is worn" in found.unsafe[0].why

    def test_a_test_is_unsafe_after_what_was_there_to_be_seen(self) -> None:
        case = case_of(self.TANDEM, EXACT)
        # The student times ten seconds where there were four.
        missed = {"test": "tandem-stance", "value": 10.0, "ended": "cap"}
        after = scored(case, missed, stance()).safety
        assert [one.test for one in after.unsafe] == ["single-leg-stance"]
        assert "Tandem stance was short" in after.unsafe[0].why
        # Before it, nobody could know.
        assert scored(case, stance(), missed).safety.safe

    def test_a_lying_test_that_adds_nothing_is_not_unsafe(self) -> None:
        straight = KNEE | {"passive_deg": 0.0, "active_deg": 0.0}
        raises = {"test": "straight-leg-raise-hold", "side": "left", "holds_s": [10.0] * 10}
        case = case_of(straight, raises)
        lying = {"test": "knee-extension", "side": "left", "passive_deg": 0.0, "active_deg": 0.0}
        raised = {"test": "straight-leg-raise-hold", "side": "left", "value": 10.0}
        assert scored(case, lying, raised).safety.safe


class TestReasoning:
    """Which tests an answer needed, and how soon somebody is referred."""

    def test_a_needed_test_that_was_not_done_is_named(self) -> None:
        step = {
            "test": "step-down",
            "side": "left",
            "repetitions_s": [3, 6, 9, 12, 15],
            "signs": [
                {"sign": sign, "at_s": [1.5], "from_front": "Something."}
                for sign in ("pelvis-drops", "trunk-leans", "knee-past-foot")
            ],
        }
        case = case_of(EXACT, step)
        found = scored(case, stance())
        asked = {(one.test, one.side) for one in found.needed}
        assert ("step-down", "left") in asked
        assert ("step-down", "left") in {(one.test, one.side) for one in found.not_done}
        done = scored(case, stance(), {"test": "step-down", "side": "left"})
        assert ("step-down", "left") not in {(one.test, one.side) for one in done.not_done}

    def test_a_trial_that_is_void_has_not_been_done(self) -> None:
        found = scored(case_of(EXACT), stance(void="false start"))
        assert found.not_done == found.needed != ()

    def test_nothing_is_needed_where_nobody_is_to_be_tested(self) -> None:
        truth = {"outcome": "refer-first", "reasons": ["Because."]}
        found = scored(case_of(EXACT, said=said(clot=True), truth=truth))
        assert (found.needed, found.not_done) == ((), ())

    @pytest.mark.parametrize(
        ("how_soon", "enough"), [("now", True), ("today", True), ("days", False), (None, False)]
    )
    def test_a_referral_is_soon_enough_or_not(self, how_soon: Any, enough: bool) -> None:
        truth = {"outcome": "refer-first", "reasons": ["Because."]}
        case = case_of(EXACT, said=said(clot=True), truth=truth)
        refer = Commitment(answer="refer-first", confidence=5, how_soon=how_soon)
        found = scored(case, commitment=refer).safety
        assert (found.how_soon, found.soon_enough) == ("today", enough)

    def test_how_soon_is_said_of_a_referral_alone(self) -> None:
        with pytest.raises(ValidationError, match="belongs to"):
            committed(how_soon="now")
        assert scored(case_of(EXACT)).safety.soon_enough is None
