"""From chances to an answer: how a driver stands, which are named, what is said; at the bounds."""

from __future__ import annotations

from collections.abc import Mapping
from math import log
from typing import Any

import pytest
from support.note_case import driver
from support.small_protocol import (
    FOOT,
    HIP,
    STYLE,
    cue,
    cue_row,
    error,
    finding,
    graded,
    level,
    line,
    prior,
    protocol,
    session,
    test_spec,
)

from screen_tui.engine import Assessment, assess
from screen_tui.engine.answer import Belief, drivers_of, named, path_of
from screen_tui.engine.findings import Cause, Causes, Evidence
from screen_tui.engine.results import DriverResult
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.answer import noticeable, telling
from screen_tui.session.model import Intake

# ------------------------------------------------------------------ how a driver stands


def seen(test: str, what: str = "pelvis-drops", ratio: float = 6.0, **more: Any) -> Evidence:
    """A finding of the left leg that is so many times as likely with the hip as without."""
    base: dict[str, Any] = {
        "test": test, "side": "left", "leg": "left", "what": what, "trait": f"{what} in {test}",
        "words": what,
        "there": True, "weight": 1.0, "about": (0,),
        "alone": [log(0.1), log(0.1 * ratio)], "joint": None,
        "source": "judgement",
    }  # fmt: skip
    return Evidence(**(base | more))


def standing(
    chance: float, without: Mapping[str, float], evidence: list[Evidence] | None = None
) -> DriverResult:
    """The hip of the left leg, the only driver there is, at that chance."""
    belief = Belief(
        causes=Causes((Cause(HIP, "left"),)),
        prior=(0.2,),
        table=[0.0, 0.0],
        states=[1 - chance, chance],
        chances=(chance,),
        without={test: (rest,) for test, rest in without.items()},
        after={test: (chance,) for test in without},
    )
    (found,) = drivers_of(belief, [seen("a"), seen("b")] if evidence is None else evidence)
    return found


@pytest.mark.parametrize(
    ("chance", "stands"),
    [(0.75, "likely"), (0.7499, "possible"), (0.45, "possible"), (0.4499, "not-supported")],
)
def test_a_driver_is_likely_from_75_of_100_and_possible_from_45(chance: float, stands: str) -> None:
    assert standing(chance, {"a": 0.35, "b": 0.35}).standing == stands


@pytest.mark.parametrize(("rest", "stands"), [(0.30, "likely"), (0.2999, "possible")])
def test_likely_stays_at_30_without_any_one_test(rest: float, stands: str) -> None:
    found = standing(0.95, {"a": 0.6, "b": rest})
    assert (found.standing, found.least) == (stands, rest)


@pytest.mark.parametrize(
    ("rest", "supports"),
    [(0.76, True), (0.765, False)],  # odds of 4 against 3.17, and against 3.26
)
def test_likely_rests_on_two_tests_that_raise_the_odds_by_a_quarter(
    rest: float, supports: bool
) -> None:
    found = standing(0.8, {"a": 0.5, "b": rest})
    assert found.supported_by == (("a", "b") if supports else ("a",))
    assert found.standing == ("likely" if supports else "possible")


def test_one_habit_seen_in_two_tests_is_still_one_thing_seen() -> None:
    without = {"a": 0.5, "b": 0.5}
    one = [seen(test, trait="pelvis-control") for test in ("a", "b")]
    assert standing(0.8, without, one).standing == "possible"
    another = seen("b", "trunk-leans", trait="trunk")
    assert standing(0.8, without, [*one, another]).standing == "likely"


@pytest.mark.parametrize(
    ("chance", "rests_on"),
    [
        (0.8, ("a", "b")),  # likely: below 75 of 100 without either
        (0.6, ("a",)),  # possible: below 45 without the first only
        (0.4, ()),  # not supported, so it rests on nothing
    ],
)
def test_it_rests_on_each_test_without_which_it_would_stand_lower(
    chance: float, rests_on: tuple[str, ...]
) -> None:
    assert standing(chance, {"a": 0.4, "b": 0.5, "c": 0.79}).rests_on == rests_on


def test_what_matters_most_is_what_it_rests_on_first() -> None:
    assert standing(0.9, {"a": 0.5, "b": 0.4}).rests_on == ("b", "a")


def by_cue(changed: str, **more: Any) -> Evidence:
    return seen("a", f"pelvis-level/{changed}", cue="pelvis-level", **more)


@pytest.mark.parametrize(
    ("evidence", "decided"),
    [
        ([by_cue("knee-moves-in")], False),
        ([by_cue("knee-moves-in", undone=True)], True),
        ([by_cue("knee-moves-in"), by_cue("pain-eased")], True),
        ([by_cue("knee-moves-in"), by_cue("trunk-leans")], False),  # one thing by chance, twice
        ([by_cue("faster"), by_cue("pain-eased")], True),
        # Of two legs, or of two cues, each changed one thing only.
        ([by_cue("knee-moves-in"), by_cue("pain-eased", side="right")], False),
        ([by_cue("knee-moves-in"), seen("a", "arch-lifted/pain-eased")], False),
        # It must speak for the driver, and must have worked.
        ([by_cue("knee-moves-in", undone=True, ratio=1.2), seen("a")], False),
        ([by_cue("knee-moves-in", there=False), by_cue("pain-eased")], False),
    ],
)
def test_a_cue_decides_where_it_was_undone_or_changed_the_way_and_the_pain(
    evidence: list[Evidence], decided: bool
) -> None:
    # All in one test, without which little is left: only a cue can make that likely.
    found = standing(0.9, {"a": 0.2}, evidence)
    assert found.standing == ("likely" if decided else "possible")
    assert standing(0.74, {"a": 0.2}, evidence).standing == "possible"


def test_what_was_seen_in_pain_only_does_not_make_it_possible() -> None:
    hurt = [seen("a", in_pain=True), seen("b", in_pain=True)]
    assert standing(0.95, {"a": 0.5, "b": 0.5}, hurt).standing == "not-supported"
    free = [*hurt, seen("c", "unsteady")]
    assert standing(0.95, {"a": 0.5, "b": 0.5}, free).standing == "likely"
    # What hardly speaks for it, or was not there, makes no difference to that.
    little = [*hurt, seen("c", "unsteady", ratio=1.2), seen("c", "arms-move", there=False)]
    assert standing(0.95, {"a": 0.5, "b": 0.5}, little).standing == "not-supported"


def test_a_driver_that_nothing_speaks_for_is_not_supported_whatever_its_chance() -> None:
    assert standing(0.9, {}, []).standing == "not-supported"


def test_findings_are_shown_by_how_much_they_moved_the_odds_either_way() -> None:
    found = standing(
        0.8, {}, [seen("a", "one", 2.0), seen("a", "two", 0.2), seen("a", "three", 3.0)]
    )
    assert [(one.what, pytest.approx(one.factor)) for one in found.speaks_for] == [
        ("three", 3.0), ("one", 2.0),
    ]  # fmt: skip
    assert [(one.what, pytest.approx(one.factor)) for one in found.speaks_against] == [("two", 0.2)]
    half = standing(0.8, {}, [seen("a", "one", 4.0, weight=0.5)])
    assert half.speaks_for[0].factor == pytest.approx(2.0)


def test_a_finding_of_the_other_leg_is_none_of_this_one() -> None:
    both = [seen("a"), seen("a", "unsteady", leg="right", side="right", about=(), alone=[0.0])]
    found = standing(0.8, {"a": 0.5}, both)
    assert [one.what for one in found.speaks_for] == ["pelvis-drops"]


# ------------------------------------------------------------------ which are named

LEFT = Intake(side="left")


def names(*drivers: DriverResult, intake: Intake = LEFT) -> list[str]:
    ranked = sorted(drivers, key=lambda one: -one.chance)
    return [f"{one.driver} {one.side}" for one in named(ranked, intake)]


def likely(name: str = HIP, side: Any = "left", chance: float = 0.9) -> DriverResult:
    return driver(driver=name, side=side, chance=chance)


def possible(name: str, side: Any, chance: float, **more: Any) -> DriverResult:
    return driver(driver=name, side=side, chance=chance, standing="possible", **more)


def test_every_likely_driver_is_named_best_first() -> None:
    assert names(likely(chance=0.8), likely(STYLE, None, 0.9)) == [f"{STYLE} None", f"{HIP} left"]


@pytest.mark.parametrize(
    ("rival", "beside"),
    [
        (possible(FOOT, "left", 0.60), True),
        (possible(FOOT, "left", 0.5999), False),
        (possible(STYLE, None, 0.60), True),
        (possible(FOOT, "left", 0.80, supported_by=("stance",)), False),
    ],
)
def test_beside_a_likely_driver_another_of_60_that_two_tests_support(
    rival: DriverResult, beside: bool
) -> None:
    assert len(names(likely(chance=0.9), rival)) == 1 + beside


@pytest.mark.parametrize(
    ("other", "beside"),
    [
        (possible(FOOT, "left", 0.55), True),
        (possible(FOOT, "left", 0.54), False),
        (possible(HIP, "right", 0.55), True),
        # On another leg, or of the person, the two can be told apart by where they are.
        (possible(FOOT, "right", 0.60), False),
        (possible(STYLE, None, 0.60), False),
    ],
)
def test_two_possible_drivers_of_one_leg_within_ten_cannot_be_distinguished(
    other: DriverResult, beside: bool
) -> None:
    first = possible(HIP, "left", 0.65)
    assert len(names(first, other, intake=Intake(side="both"))) == 1 + beside


def test_a_driver_of_the_side_without_complaint_does_not_lead_over_the_other() -> None:
    drivers = [likely(side="right", chance=0.95), possible(FOOT, "left", 0.5)]
    assert names(*drivers) == [f"{FOOT} left"]
    assert names(*drivers, intake=Intake(side="both")) == [f"{HIP} right"]
    assert names(*drivers, intake=Intake(side="right")) == [f"{HIP} right"]
    assert names(likely(STYLE, None)) == [f"{STYLE} None"]


def test_a_driver_of_the_side_without_complaint_leads_where_it_is_likely_and_alone() -> None:
    assert names(likely(side="right")) == [f"{HIP} right"]
    assert names(possible(HIP, "right", 0.75)) == [f"{HIP} right"]
    assert names(possible(HIP, "right", 0.7499)) == []


def test_what_is_likely_on_the_side_without_complaint_may_explain_it_no_more() -> None:
    dropped = [trial(test, "pelvis-drops", side="right") for test in ("stance", "step")]
    found = answer(*dropped, intake={"side": "left"})
    assert found.outcome == "possible"
    assert [(one.driver, one.side, one.standing) for one in found.leading] == [
        (HIP, "right", "likely")
    ]
    assert found.headline.endswith(
        "It is on the side without complaint; whether it explains that is open."
    )


def test_where_none_is_possible_none_is_named() -> None:
    assert names(driver(standing="not-supported", chance=0.44)) == []


# ------------------------------------------------------------------ the kind of answer

ROWS = [
    finding("pelvis-drops", none=5, hip=80),
    finding("arch-collapses", none=5, foot=80),
    finding("unsteady", none=5, style=80),
]


def whole(**more: Any) -> ScreenProtocol:
    """Four tests, of which two load one leg alone; their signs are traits of their own."""

    def rows(test: str) -> list[dict[str, Any]]:
        return [row | {"trait": f"{row['trait']}-{test}"} for row in ROWS]

    lines = [line("value", "at least", 10.0)]
    both: dict[str, Any] = {"sides": "both", "load": "both-legs", "lines": lines}
    return protocol(
        test_spec(
            "stance",
            findings=rows("stance"),
            lines=lines,
            errors=[error(value=1.0)],
        ),
        test_spec("step", findings=rows("step"), measures=[]),
        test_spec("rises", findings=rows("rises"), **both),
        test_spec("walk", findings=rows("walk"), **both),
        **more,
    )


def trial(test: str, *signs: str, side: str | None = "left", **more: Any) -> dict[str, Any]:
    one_leg = test in ("stance", "step")
    number = {} if test == "step" else {"value": 20.0}
    return {"test": test, "side": side if one_leg else None, "signs": signs, **number, **more}


def answer(*trials: dict[str, Any], **more: Any) -> Assessment:
    intake = {"side": "left"} | more.pop("intake", {})
    return assess(more.pop("protocol", whole()), session(*trials, intake=intake, **more))


HIP_TWICE = (trial("stance", "pelvis-drops"), trial("step", "pelvis-drops"))
FOOT_TWICE = (trial("stance", "arch-collapses"), trial("step", "arch-collapses"))


def test_one_driver_seen_in_two_tests_is_likely() -> None:
    found = answer(*HIP_TWICE)
    assert (found.outcome, found.headline) == ("likely", "Likely driver: hip control (left).")
    assert [(one.driver, one.side) for one in found.leading] == [(HIP, "left")]


def test_one_driver_seen_in_one_test_is_possible_and_not_settled() -> None:
    found = answer(trial("stance", "pelvis-drops"))
    assert found.outcome == "possible"
    assert found.headline == "Possible driver: hip control (left); not certain."


def test_two_likely_drivers_are_mixed_and_do_not_lower_each_other() -> None:
    signs = ("pelvis-drops", "arch-collapses")
    found = answer(trial("stance", *signs), trial("step", *signs))
    assert found.outcome == "mixed"
    assert found.headline in (
        "Mixed: hip control (left) and foot ankle control (left).",
        "Mixed: foot ankle control (left) and hip control (left).",
    )
    alone = {one.driver: one.chance for one in answer(*HIP_TWICE).leading}
    both = {one.driver: one.chance for one in found.leading}
    assert both[HIP] == pytest.approx(alone[HIP], abs=0.02)


def test_two_sides_of_one_driver_are_one_driver() -> None:
    right = [one | {"side": "right"} for one in HIP_TWICE]
    found = answer(*HIP_TWICE, *right, intake={"side": "both"})
    assert (found.outcome, len(found.leading)) == ("likely", 2)
    assert found.headline == "Likely driver: hip control (both sides)."


def test_a_driver_of_a_leg_known_from_two_legged_tests_only_has_no_side() -> None:
    found = answer(trial("rises", "pelvis-drops"), trial("walk", "pelvis-drops"),
                   intake={"side": "both"})  # fmt: skip
    assert {one.driver for one in found.leading} == {HIP}
    assert "hip control (side not clear)" in found.headline


def test_a_driver_of_the_person_has_no_side_in_words() -> None:
    found = answer(trial("rises", "unsteady"), trial("walk", "unsteady"))
    assert found.headline == "Likely driver: movement strategy."


def test_a_safety_answer_outranks_every_chance() -> None:
    found = answer(*HIP_TWICE, intake={"cautions": ["clot"]})
    assert found.outcome == "refer-first"
    assert found.headline.startswith("Refer first")
    assert (found.drivers, found.leading, found.plan.start, found.next_tests) == ((), (), (), ())
    assert [one.next_step for one in found.cautions] == ["Refer the same day, by local policy."]


@pytest.mark.parametrize(
    ("trials", "headline"),
    [
        (HIP_TWICE, "Unloaded tests only; they point to: hip control (left)."),
        ((), "Unloaded tests only: they do not point to one driver."),
    ],
)
def test_where_the_leg_may_not_be_loaded_the_answer_is_of_unloaded_tests(
    trials: tuple[dict[str, Any], ...], headline: str
) -> None:
    found = answer(*trials, intake={"weight_bearing": "touch"})
    assert (found.outcome, found.headline) == ("unloaded-only", headline)


# ------------------------------------------------------------------ nothing found

CLEAN = (trial("stance"), trial("step"), trial("rises"), trial("walk"))
FAINT = [prior(name, 10) for name in (HIP, FOOT, STYLE)]


def fine(*trials: dict[str, Any], **more: Any) -> str:
    return answer(*trials, protocol=more.pop("protocol", whole(priors=FAINT)), **more).outcome


def test_nothing_is_found_where_four_tests_were_clean() -> None:
    found = answer(*CLEAN, protocol=whole(priors=FAINT))
    assert (found.outcome, found.next_tests, found.plan.start) == ("nothing-found", (), ())
    assert found.headline == "Nothing found in the tests done; the others are not cleared."


@pytest.mark.parametrize("missing", range(4))
def test_three_tests_are_not_enough(missing: int) -> None:
    assert fine(*CLEAN[:missing], *CLEAN[missing + 1 :]) == "undetermined"


def test_a_test_that_tells_of_no_driver_is_none_of_the_four() -> None:
    swelling = test_spec("swelling", load="unloaded", signs=[])
    extra = protocol(*whole().tests[:3], swelling, priors=FAINT)
    grade = {"test": "swelling", "side": "left", "value": 0.0}
    assert fine(*CLEAN[:3], grade, protocol=extra) == "undetermined"


def test_a_screen_that_was_stopped_found_nothing_out() -> None:
    assert fine(*CLEAN, stopped="Chest pain.") == "undetermined"


def test_the_leg_complained_of_must_have_been_loaded_alone() -> None:
    right = [one | {"side": "right"} for one in CLEAN[:2]]
    assert fine(*right, *CLEAN[2:]) == "undetermined"
    assert fine(*right, *CLEAN[2:], intake={"side": "right"}) == "nothing-found"
    # One of the tests that load it is enough; where both legs hurt, both are asked for.
    assert fine(trial("stance"), right[1], *CLEAN[2:]) == "nothing-found"
    assert fine(*CLEAN, intake={"side": "both"}) == "undetermined"
    assert fine(*CLEAN, *right, intake={"side": "both"}) == "nothing-found"


def test_a_test_limited_by_pain_is_no_clean_test() -> None:
    assert fine(*CLEAN[:3], trial("walk", ended="pain")) == "undetermined"
    assert fine(*CLEAN, trial("step", side="right", ended="pain")) == "undetermined"
    # Although another trial of it was free of pain.
    assert fine(*CLEAN, trial("walk", ended="pain")) == "undetermined"


@pytest.mark.parametrize("ended", ["fatigue", "breathless", "fear", "unable", "unsafe"])
@pytest.mark.parametrize("place", range(4))
def test_what_was_given_up_is_no_clean_test(ended: str, place: int) -> None:
    given_up = CLEAN[place] | {"ended": ended}
    assert fine(*CLEAN[:place], given_up, *CLEAN[place + 1 :]) == "undetermined"
    assert fine(*CLEAN, given_up) == "undetermined"


@pytest.mark.parametrize(("held", "said"), [(8.9, "undetermined"), (9.1, "nothing-found")])
def test_a_number_clearly_short_of_its_line_is_something(held: float, said: str) -> None:
    # The line is 10 s and the error 1: within it the number may as well be on the good side.
    assert fine(trial("stance", value=held), *CLEAN[1:]) == said


SILENT = [finding("arch-collapses", none=5)]
"""As often with any driver as with none."""


def one_sign(none: float, hip: float) -> ScreenProtocol:
    rows = [finding("pelvis-drops", none=none, hip=hip)]
    both: dict[str, Any] = {"sides": "both", "load": "both-legs", "findings": SILENT}
    tests = [
        test_spec("stance", findings=rows), test_spec("step", findings=rows),
        test_spec("rises", **both), test_spec("walk", **both),
    ]  # fmt: skip
    return protocol(*tests, priors=[prior(name, 2) for name in (HIP, FOOT, STYLE)])


@pytest.mark.parametrize(
    ("protocol", "trials", "said"),
    [
        # Two and a half times as common with the hip as without: once it is chance.
        (one_sign(20, 50), [trial("stance", "pelvis-drops")], "nothing-found"),
        (one_sign(20, 50), [trial(test, "pelvis-drops") for test in ("stance", "step")],
         "undetermined"),
        (one_sign(20, 50), [trial("stance", "pelvis-drops")] * 2, "undetermined"),
        (one_sign(21, 50), [trial("stance", "pelvis-drops")] * 2, "nothing-found"),
        # On the other leg nobody complains of it.
        (one_sign(20, 50), [trial("stance", "pelvis-drops", side="right")] * 2, "nothing-found"),
    ],
)  # fmt: skip
def test_a_sign_seen_twice_on_the_side_of_the_complaint_is_something(
    protocol: ScreenProtocol, trials: list[dict[str, Any]], said: str
) -> None:
    assert fine(*CLEAN, *trials, protocol=protocol) == said


def bare(percent: float, **row: float) -> ScreenProtocol:
    """Four tests of which only the first says anything, about strategy alone."""
    both: dict[str, Any] = {"sides": "both", "load": "both-legs", "findings": SILENT}
    rows = [*SILENT, *([finding("unsteady", **row)] if row else [])]
    tests = [
        test_spec("stance", findings=rows), test_spec("step", findings=SILENT),
        test_spec("rises", **both), test_spec("walk", **both),
    ]  # fmt: skip
    return protocol(*tests, priors=[prior(HIP, 2), prior(FOOT, 2), prior(STYLE, percent)])


@pytest.mark.parametrize(
    ("protocol", "said"),
    [
        (bare(20), "nothing-found"),
        (bare(20.1), "undetermined"),
        # Up to 30 it is as good as out of question where the tests made it less likely.
        (bare(30, none=5, style=50), "nothing-found"),
        (bare(45, none=5, style=50), "undetermined"),
    ],
)
def test_a_driver_that_is_still_in_question_is_something(
    protocol: ScreenProtocol, said: str
) -> None:
    assert fine(*CLEAN, protocol=protocol) == said


# ------------------------------------------------------------------ cues, and the way there


def cured_protocol() -> ScreenProtocol:
    """One test, in which a cue takes a sign away four times as often where the hip is behind it."""
    rows = {
        "findings": [finding("pelvis-drops", none=10, hip=60)],
        "cue_effects": [
            cue_row("level", "pelvis-drops", none=12, hip=70),
            cue_row("level", "pain-eased", none=12, hip=50),
        ],
    }
    return protocol(test_spec("stance", cues=[cue()], **rows))


def test_a_cue_that_was_undone_makes_one_test_enough() -> None:
    dropped, level_now = trial("stance", "pelvis-drops"), trial("stance", cue="level")
    before = answer(dropped, level_now, protocol=cured_protocol())
    assert before.outcome == "possible"
    assert answer(dropped, level_now, dropped, protocol=cured_protocol()).outcome == "likely"


def test_a_cue_that_took_the_sign_and_the_pain_makes_one_test_enough() -> None:
    dropped, level_now = trial("stance", "pelvis-drops", pain=5), trial("stance", cue="level")
    assert answer(dropped, level_now | {"pain": 3}, protocol=cured_protocol()).outcome == "likely"
    assert answer(dropped, level_now | {"pain": 4}, protocol=cured_protocol()).outcome == "possible"


def test_the_way_to_the_answer_names_the_test_after_which_a_driver_moved() -> None:
    made = session(*HIP_TWICE, trial("rises"), intake={"side": "left"})
    steps = path_of(assess(whole(), made).drivers)
    assert [(one.test, one.driver, one.side, one.before, one.after) for one in steps] == [
        ("stance", HIP, "left", "not-supported", "likely")
    ]
    later = session(trial("rises"), trial("stance", "pelvis-drops"), intake={"side": "left"})
    assert [one.test for one in path_of(assess(whole(), later).drivers)] == ["stance"]
    assert path_of(assess(whole(), session(*CLEAN)).drivers) == ()


def test_a_number_that_is_short_on_the_sound_side_too_still_counts_on_the_sore_one() -> None:
    hold = [graded(level("short", 10, none=10, hip=70))]
    spec = test_spec("stance", graded=hold, signs=[])
    made = [trial("stance", value=3.0), trial("stance", side="right", value=3.0)]
    found = answer(*made, protocol=protocol(spec))
    assert [one.side for one in found.leading] == ["left"]


def test_what_only_makes_another_driver_less_likely_is_counted_and_no_reason_to_read() -> None:
    # The foot would show the arch drop; that it does not leaves the pelvic drop to the hip.
    specs = [
        test_spec("stance", findings=[finding("pelvis-drops", none=1, hip=60, foot=60)]),
        test_spec("step", findings=[finding("arch-collapses", none=5, hip=8, foot=90)]),
    ]
    trials = [
        {"test": "stance", "side": "left", "value": 20.0, "signs": ["pelvis-drops"]},
        {"test": "step", "side": "left", "value": 20.0, "watched": True},
    ]
    found = assess(protocol(*specs), session(*trials))
    hip = next(one for one in found.drivers if (one.driver, one.side) == (HIP, "left"))
    assert {one.what for one in noticeable(hip.speaks_for)} == {"pelvis-drops", "arch-collapses"}
    assert [one.what for one in telling(hip.speaks_for)] == ["pelvis-drops"]
    foot = next(one for one in found.drivers if (one.driver, one.side) == (FOOT, "left"))
    assert [one.what for one in telling(foot.speaks_against)] == ["arch-collapses"]
