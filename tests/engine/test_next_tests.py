"""What would settle it: the expected fall in entropy, against every way it may turn out."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import product
from math import exp, log, log2, prod
from typing import Any

import pytest
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

from screen_tui.engine import assess
from screen_tui.engine.answer import Belief, believe, prior_chances
from screen_tui.engine.conditions import Seen
from screen_tui.engine.findings import Causes, evidence_of
from screen_tui.engine.next_tests import next_tests
from screen_tui.engine.results import NextTest
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec

PRIORS = [prior(HIP, 40, 5), prior(FOOT, 10, 3), prior(STYLE, 30)]
"""On the left, the side of the complaint, hip and strategy are in question; nothing else is."""

Chance = Callable[[set[str]], float]
"""How likely one way of turning out is, with those drivers of the left leg or the person there."""


def believed(whole: ScreenProtocol, *trials: dict[str, Any]) -> tuple[Belief, Seen]:
    made = session(*trials, intake={"side": "left"})
    seen, causes = Seen.of(whole, made), Causes.of(whole)
    found = evidence_of(seen)
    return believe(causes, prior_chances(whole, made, causes), found), seen


def offers(*specs: TestSpec, done: tuple[dict[str, Any], ...] = (), **more: Any) -> list[NextTest]:
    whole = protocol(*specs, priors=more.pop("priors", PRIORS))
    belief, seen = believed(whole, *done)
    allowed = more.pop("allowed", lambda _spec, side: side != "right")
    return list(next_tests(seen, belief, more.pop("traits", ()), allowed))


def once(*signs: str, **more: Any) -> dict[str, Any]:
    return {"test": "stance", "side": "left", "value": 45.0, "signs": list(signs), **more}


# ------------------------------------------------------------------ by brute force


def seen_with(none: float, **alone: float) -> Chance:
    """Each driver there, and chance, shows it or fails to, each by itself."""

    def chance(there: set[str]) -> float:
        fails = [(100 - alone[name]) / (100 - none) for name in alone if name in there]
        return 1 - (1 - none / 100) * prod(fails)

    return chance


def yes_or_no(chance: Chance) -> list[Chance]:
    return [chance, lambda there: 1 - chance(there)]


def entropy(weights: Iterable[float]) -> float:
    return sum(-one * log2(one) for one in weights if one > 0)


def fall(chances: dict[str, float], asked: set[str], variables: list[list[Chance]]) -> float:
    """The uncertainty about those asked for, less what is expected to be left of it, in bits."""
    states = []
    for flags in product([True, False], repeat=len(chances)):
        there = {name for name, flag in zip(chances, flags, strict=True) if flag}
        weight = prod(chances[name] if name in there else 1 - chances[name] for name in chances)
        states.append((there, weight))

    def of_asked(weights: Iterable[tuple[set[str], float]]) -> list[float]:
        whole: dict[frozenset[str], float] = {}
        for there, weight in weights:
            key = frozenset(there & asked)
            whole[key] = whole.get(key, 0.0) + weight
        return list(whole.values())

    left = 0.0
    for ways in product(*variables):
        branch = [(there, w * prod(way(there) for way in ways)) for there, w in states]
        chance = sum(weight for _, weight in branch)
        left += chance * entropy(of_asked((t, w / chance) for t, w in branch))
    return entropy(of_asked(states)) - left


CHANCES = {"hip": 0.4, "foot": 0.1, "style": 0.3}
ASKED = {"hip", "style"}


def test_what_a_test_tells_is_the_fall_in_entropy_over_all_it_may_show() -> None:
    step = test_spec(
        "step",
        findings=[
            finding("pelvis-drops", none=10, hip=60, foot=15),
            finding("unsteady", none=16, hip=25, style=70),
        ],
    )
    (offer,) = offers(step)
    by_hand = fall(CHANCES, ASKED, [
        yes_or_no(seen_with(10, hip=60, foot=15)), yes_or_no(seen_with(16, hip=25, style=70)),
    ])  # fmt: skip
    assert (offer.test, offer.side, offer.cue) == ("step", "left", "")
    assert offer.expected_bits == pytest.approx(by_hand)
    assert offer.between == ((STYLE, None), (HIP, "left"))


def test_a_number_may_turn_out_at_each_of_its_levels() -> None:
    levels = (level("short", 10, none=20, hip=60), level("very short", 5, none=4, hip=30, style=9))
    (offer,) = offers(test_spec("hold", graded=[graded(*levels)], signs=[]))
    short, very = seen_with(20, hip=60), seen_with(4, hip=30, style=9)
    ways: list[Chance] = [
        lambda there: 1 - short(there), lambda there: short(there) - very(there), very,
    ]  # fmt: skip
    assert offer.expected_bits == pytest.approx(fall(CHANCES, ASKED, [ways]))


def test_what_was_seen_already_is_heeded() -> None:
    # The dropped pelvis of the stance leaves the hip at another chance than it had.
    row = finding("pelvis-drops", none=10, hip=60)
    stance, step = test_spec("stance", findings=[row]), test_spec("step", findings=[row])
    done = {"test": "stance", "side": "left", "value": 20.0, "signs": ["pelvis-drops"]}
    (offer,) = offers(stance, step, done=(done,))
    chances = CHANCES | {"hip": 0.4 * 0.6 / (0.4 * 0.6 + 0.6 * 0.1)}
    assert offer.expected_bits == pytest.approx(
        fall(chances, ASKED, [yes_or_no(seen_with(10, hip=60))])
    )


def test_a_cue_is_asked_what_it_does_for_each_driver() -> None:
    # Pain is shown by no row, so each driver that is there counts the same.
    spec = test_spec(
        "stance",
        cues=[cue()],
        cue_effects=[cue_row("level", "pain-eased", none=20, hip=60, style=30)],
    )
    (offer,) = offers(spec, done=({"test": "stance", "side": "left", "value": 20.0, "pain": 5},))

    def gone(there: set[str]) -> float:
        alone = [share for name, share in (("hip", 0.6), ("style", 0.3)) if name in there]
        return prod(alone) ** (1 / len(alone)) if alone else 0.2

    assert (offer.test, offer.side, offer.cue) == ("stance", "left", "level")
    assert offer.expected_bits == pytest.approx(fall(CHANCES, ASKED, [yes_or_no(gone)]))


def test_a_driver_that_does_not_show_a_sign_has_no_say_in_what_a_cue_does_to_it() -> None:
    spec = test_spec(
        "stance",
        findings=[finding("pelvis-drops", none=10, hip=60)],
        cues=[cue()],
        cue_effects=[cue_row("level", "pelvis-drops", none=20, hip=60, style=30)],
    )
    (offer,) = offers(spec, done=(once("pelvis-drops"),))
    shows = {"leak": -log(1 - 0.1), "hip": -log((1 - 0.6) / (1 - 0.1))}

    def gone(there: set[str]) -> float:
        weights = {name: shows[name] for name in ("leak", "hip") if name in {*there, "leak"}}
        shares = {"leak": 0.2, "hip": 0.6}
        mean = sum(one * log(shares[name]) for name, one in weights.items()) / sum(weights.values())
        return exp(mean)

    chances = CHANCES | {"hip": 0.4 * 0.6 / (0.4 * 0.6 + 0.6 * 0.1)}
    assert offer.expected_bits == pytest.approx(fall(chances, ASKED, [yes_or_no(gone)]))


# ------------------------------------------------------------------ what is offered, in which order


def telling(name: str, hip: float = 60, **more: Any) -> TestSpec:
    return test_spec(name, findings=[finding("pelvis-drops", none=10, hip=hip)], **more)


def test_the_three_that_tell_most_per_minute_are_named_best_first() -> None:
    tests = [telling(f"step-{minutes}", minutes=minutes) for minutes in (8, 2, 6, 4)]
    found = offers(*tests)
    assert [one.test for one in found] == ["step-2", "step-4", "step-6"]
    assert [one.minutes for one in found] == [1.0, 2.0, 3.0]  # those of one leg
    for one in found:
        assert one.per_minute == pytest.approx(one.expected_bits / one.minutes)


def test_a_long_test_that_tells_more_may_come_behind_a_short_one() -> None:
    found = offers(telling("long", hip=90, minutes=8), telling("short", hip=40, minutes=1))
    assert [one.test for one in found] == ["short", "long"]
    assert found[1].expected_bits > found[0].expected_bits


def test_a_test_of_both_legs_takes_all_its_minutes() -> None:
    (offer,) = offers(telling("rises", sides="both", load="both-legs", minutes=4))
    assert (offer.side, offer.minutes) == (None, 4.0)


def test_only_what_is_allowed_is_offered() -> None:
    tests = [telling("step"), telling("stance")]
    found = offers(*tests, allowed=lambda spec, side: (spec.id, side) == ("step", "left"))
    assert [(one.test, one.side) for one in found] == [("step", "left")]
    assert offers(*tests, allowed=lambda _spec, _side: False) == []


def test_what_tells_next_to_nothing_is_not_offered() -> None:
    assert offers(telling("step", hip=12)) == []
    # On the right leg the hip is hardly in question, and the test asks of that leg only.
    whole = {(one.test, one.side) for one in offers(telling("step"), allowed=lambda *_: True)}
    assert whole == {("step", "left")}


def test_a_trait_that_was_seen_to_tells_less_a_second_time() -> None:
    (fresh,) = offers(telling("step"))
    for traits in ([("pelvis-drops", "left")], [("pelvis-drops", None)]):
        (again,) = offers(telling("step"), traits=traits)
        assert 0 < again.expected_bits < fresh.expected_bits
    (other,) = offers(telling("step"), traits=[("pelvis-drops", "right"), ("knee-line", "left")])
    assert other == fresh


def test_of_a_floor_only_the_fall_below_it_tells() -> None:
    def bits(*, floor: bool) -> float:
        below = level("below it", 10, none=5, hip=40, floor=floor)
        (offer,) = offers(test_spec("hold", graded=[graded(below)], signs=[]))
        return offer.expected_bits

    assert bits(floor=True) < bits(floor=False)


def test_a_number_without_a_limit_for_the_age_promises_nothing() -> None:
    limits = [{"from_age": 70, "to_age": 79, "value": 10}]
    short = level("short", none=10, hip=60, limits=limits)
    assert offers(test_spec("hold", graded=[graded(short)], signs=[])) == []


def test_that_it_may_have_to_be_given_up_is_no_reason_to_begin() -> None:
    when = {"ended_any": ["fatigue"]}
    row = finding(none=2, hip=60, when=when, words="given up")
    assert offers(test_spec("step", findings=[row], signs=[])) == []


# ------------------------------------------------------------------ repeats with a cue


def cued(*rows: dict[str, Any], **more: Any) -> TestSpec:
    return test_spec(
        "stance", findings=[finding("pelvis-drops", none=10, hip=30)], cues=[cue(), cue("lifted")],
        cue_effects=rows, lines=[line("value", "at least", 10.0)], errors=[error(value=1.0)],
        **more,
    )  # fmt: skip


def done(*signs: str, **more: Any) -> dict[str, Any]:
    return {"test": "stance", "side": "left", "value": 20.0, "signs": signs, **more}


@pytest.mark.parametrize(
    ("what", "trial", "offered"),
    [
        ("pelvis-drops", done("pelvis-drops"), True),
        ("pelvis-drops", done("unsteady"), False),  # it was not seen, so a cue cannot take it
        ("pain-eased", done(pain=2), True),
        ("pain-eased", done(pain=1), False),
        ("pain-eased", done(), False),
        ("faster", done(value=5.0), True),
        ("faster", done(value=20.0), False),  # nothing was short
        ("within-cut-off", done(value=5.0), True),
        ("within-cut-off", done(value=20.0), False),
    ],
)
def test_a_cue_is_offered_only_where_it_has_something_to_change(
    what: str, trial: dict[str, Any], offered: bool
) -> None:
    found = offers(cued(cue_row("level", what, none=15, hip=70)), done=(trial,))
    assert [(one.test, one.cue) for one in found] == ([("stance", "level")] if offered else [])


def test_a_cue_that_was_tried_is_not_offered_again_and_another_is() -> None:
    rows = [cue_row(name, "pelvis-drops", none=15, hip=70) for name in ("level", "lifted")]
    trials = (done("pelvis-drops"), done(cue="level"))
    assert [one.cue for one in offers(cued(*rows), done=trials)] == ["lifted"]


def test_a_repeat_takes_the_minutes_of_one_trial_of_one_leg() -> None:
    row = cue_row("level", "pelvis-drops", none=15, hip=70)
    (offer,) = offers(cued(row, minutes=6.0, trials=3), done=(done("pelvis-drops"),))
    assert offer.minutes == 1.0


def test_no_repeat_is_offered_of_a_test_that_was_not_done() -> None:
    spec = cued(cue_row("level", "pelvis-drops", none=15, hip=70))
    assert [one.cue for one in offers(spec)] == [""]
    # A trial that was struck out, or only one with a cue, leaves it undone.
    assert [one.cue for one in offers(spec, done=(done(void="wrong leg"),))] == [""]


# ------------------------------------------------------------------ from a session


def test_an_answer_offers_what_its_drivers_leave_open() -> None:
    whole = protocol(telling("stance"), telling("step"))
    made = session(done("pelvis-drops"), intake={"side": "left"})
    found = assess(whole, made).next_tests
    assert ("step", "left") in {(one.test, one.side) for one in found}
    assert all((HIP, "left") in one.between for one in found)


@pytest.mark.parametrize("skip", [{"side": "left"}, {}])
def test_what_was_left_out_with_a_reason_is_not_asked_for_again(skip: dict[str, str]) -> None:
    whole = protocol(telling("stance"), telling("step"))
    skipped = [{"test": "step", "reason": "not today", **skip}]
    made = session(done("pelvis-drops"), intake={"side": "left"}, skipped=skipped)
    assert ("step", "left") not in {(one.test, one.side) for one in assess(whole, made).next_tests}


def test_a_skip_of_a_two_legged_test_holds_whatever_side_it_names() -> None:
    whole = protocol(telling("stance"), telling("rises", sides="both", load="both-legs"))

    def offered(**more: Any) -> set[str]:
        made = session(done("pelvis-drops"), intake={"side": "left"}, **more)
        return {one.test for one in assess(whole, made).next_tests}

    assert "rises" in offered()
    skipped = [{"test": "rises", "side": "left", "reason": "not enough time"}]
    assert "rises" not in offered(skipped=skipped)


def test_a_cue_that_worked_is_to_be_undone_where_that_would_settle_it() -> None:
    rows = {
        "findings": [finding("pelvis-drops", none=2, hip=90)],
        "cue_effects": [cue_row("level", "pelvis-drops", none=12, hip=70)],
    }
    whole = protocol(test_spec("stance", cues=[cue()], **rows), test_spec("step"), priors=PRIORS)
    dropped, level_now = once("pelvis-drops"), once(cue="level")
    found = assess(whole, session(dropped, level_now, intake={"side": "left"}))
    assert found.outcome == "possible"
    first = found.next_tests[0]
    assert (first.test, first.side, first.cue, first.without) == ("stance", "left", "", "level")
    assert first.between == ((HIP, "left"),)
    undone = assess(whole, session(dropped, level_now, dropped, intake={"side": "left"}))
    assert undone.outcome == "likely"
    assert not any(one.without for one in undone.next_tests)


def test_a_cue_that_did_nothing_is_not_undone() -> None:
    rows = {
        "findings": [finding("pelvis-drops", none=2, hip=90)],
        "cue_effects": [cue_row("level", "pelvis-drops", none=12, hip=70)],
    }
    whole = protocol(test_spec("stance", cues=[cue()], **rows), test_spec("step"), priors=PRIORS)
    dropped, still = once("pelvis-drops"), once("pelvis-drops", cue="level")
    found = assess(whole, session(dropped, still, intake={"side": "left"}))
    assert not any(one.without for one in found.next_tests)
