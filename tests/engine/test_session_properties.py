"""What must hold for any session under the shipped protocol."""

from __future__ import annotations

from itertools import permutations
from math import log
from random import Random
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from support.small_protocol import session
from support.thorough import examples

from screen_tui.engine import Assessment, assess
from screen_tui.engine.answer import LIKELY, STAYS, Belief, believe, prior_chances
from screen_tui.engine.conditions import Seen
from screen_tui.engine.findings import Causes, Evidence, evidence_of
from screen_tui.engine.network import Shares, found, singly
from screen_tui.files.places import demo_folder, protocols_folder
from screen_tui.protocol.evidence import NONE, FindingRow
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.file import load_session
from screen_tui.session.model import BROKEN_OFF, Session

PROTOCOL = load_protocol([protocols_folder()])
CAUSES = Causes.of(PROTOCOL)
MIRROR = {"left": "right", "right": "left", "both": "both", None: None}


def trials_of(spec: TestSpec) -> st.SearchStrategy[dict[str, Any]]:
    """Any plausible trial of a test: cued, painful, watched, broken off, of either leg."""
    numbers: dict[str, st.SearchStrategy[Any]] = {}
    if any(field.id == "passive_deg" for field in spec.timer.numbers):
        numbers["passive_deg"] = st.integers(-5, 25)
        numbers["active_deg"] = st.integers(-5, 25)
    elif spec.timer.kind != "quality":
        low, high = spec.plausible.minimum, min(spec.plausible.maximum, 60)
        numbers["value"] = st.integers(int(low) + 1, int(high))
    if spec.timer.kind == "steps":
        numbers["direction"] = st.sampled_from(["up", "down"])
        numbers["steps"] = st.sampled_from([10, 10, 3])
    for item in spec.set_up:
        noted = item.choices or [item.usual, item.maximum]
        numbers[item.id] = st.sampled_from(["" if item.choices else None, *noted])

    def with_legs(trial: dict[str, Any]) -> st.SearchStrategy[dict[str, Any]]:
        if spec.sided:
            return st.just(trial)
        legs = st.fixed_dictionaries(
            {}, optional={sign: st.sampled_from(["left", "right", "both"]) for sign in
                          trial["signs"]}
        )  # fmt: skip
        return legs.map(lambda chosen: trial | {"sign_legs": chosen})

    return st.fixed_dictionaries(
        {
            "test": st.just(spec.id),
            "side": st.sampled_from(["left", "right"]) if spec.sided else st.none(),
            "signs": st.lists(st.sampled_from(spec.signs), unique=True, max_size=3)
            if spec.signs
            else st.just([]),
            "ended": st.sampled_from(["", "", "", "pain", *sorted(BROKEN_OFF)]),
            "cue": st.sampled_from(["", *(cue.id for cue in spec.cues)]),
            "pain": st.sampled_from([None, 0, 3, 6]),
            "watched": st.booleans(),
            **numbers,
        }
    ).flatmap(with_legs)


def clean_of(spec: TestSpec) -> st.SearchStrategy[dict[str, Any]]:
    """A plain trial without pain, in which at most one thing was seen."""
    return trials_of(spec).map(
        lambda one: (
            one | {"signs": one["signs"][:1], "sign_legs": {}, "ended": "", "cue": "", "pain": None}
        )
    )


TRIAL = st.one_of([trials_of(spec) for spec in PROTOCOL.tests])
TRIALS = st.lists(TRIAL, max_size=14)

FINE = [
    one.model_dump(exclude_defaults=True, exclude={"recorded"})
    for one in load_session(demo_folder() / "hill-walker-nothing-found.toml").trials
]
"""What a person did in whom nothing was found."""

NEARLY_FINE = st.builds(
    lambda fine, more: [*fine, *more],
    st.lists(st.sampled_from(FINE), unique_by=lambda one: FINE.index(one), min_size=4),
    st.lists(st.one_of([clean_of(spec) for spec in PROTOCOL.tests]), max_size=1),
)
SERIES = st.sampled_from(PROTOCOL.tests).flatmap(
    lambda spec: st.lists(trials_of(spec), min_size=2, max_size=5)
)
AGES = st.integers(19, 92)
SIDES = st.sampled_from(["left", "right", "both"])


def made(trials: list[dict[str, Any]], age: int, side: str = "left") -> Session:
    client = {"age": age, "height_cm": 165, "mass_kg": 70}
    return session(*trials, client=client, protocol=PROTOCOL.battery.id, intake={"side": side})


def rounded(found: Assessment) -> dict[tuple[str, str | None], float]:
    return {(one.driver, one.side): round(one.chance, 9) for one in found.drivers}


def evidence(of: Session) -> tuple[Evidence, ...]:
    return evidence_of(Seen.of(PROTOCOL, of))


def believed(of: Session) -> Belief:
    return believe(CAUSES, prior_chances(PROTOCOL, of, CAUSES), evidence(of))


# ------------------------------------------------------------------ sameness


@settings(max_examples=examples(60))
@given(TRIALS, AGES, SIDES)
def test_a_mirrored_session_gives_a_mirrored_answer(
    trials: list[dict[str, Any]], age: int, side: str
) -> None:
    turned = [
        one
        | {"side": MIRROR[one["side"]]}
        | {"sign_legs": {sign: MIRROR[leg] for sign, leg in one.get("sign_legs", {}).items()}}
        for one in trials
    ]
    straight = assess(PROTOCOL, made(trials, age, side))
    mirrored = assess(PROTOCOL, made(turned, age, str(MIRROR[side])))
    assert rounded(mirrored) == {
        (driver, MIRROR[side]): chance for (driver, side), chance in rounded(straight).items()
    }
    assert mirrored.outcome == straight.outcome
    assert {(one.driver, one.side) for one in mirrored.leading} == {
        (one.driver, MIRROR[one.side]) for one in straight.leading
    }


@settings(max_examples=examples(150))
@given(st.one_of(TRIALS, SERIES), AGES, st.integers(0, 2**16))
def test_the_order_of_trials_does_not_matter(
    trials: list[dict[str, Any]], age: int, seed: int
) -> None:
    """Whether a cue was undone is told by what came after it; that may change how a driver stands.

    No chance hangs on it, and without cues nothing at all does.
    """
    shuffled = list(trials)
    Random(seed).shuffle(shuffled)
    assert rounded(assess(PROTOCOL, made(trials, age))) == rounded(
        assess(PROTOCOL, made(shuffled, age))
    )
    first, second = (
        assess(PROTOCOL, made([one | {"cue": ""} for one in order], age))
        for order in (trials, shuffled)
    )
    assert rounded(first) == rounded(second)
    assert (first.outcome, first.headline, first.plan) == (
        second.outcome,
        second.headline,
        second.plan,
    )


@settings(max_examples=examples(60))
@given(TRIALS, TRIALS, AGES)
def test_a_struck_out_trial_has_no_effect(
    trials: list[dict[str, Any]], struck: list[dict[str, Any]], age: int
) -> None:
    voids = [one | {"void": "wrong leg"} for one in struck]
    assert assess(PROTOCOL, made([*trials, *voids], age)) == assess(PROTOCOL, made(trials, age))


@settings(max_examples=examples(40))
@given(TRIALS, AGES)
def test_a_test_taken_away_leaves_what_the_others_say(
    trials: list[dict[str, Any]], age: int
) -> None:
    """Taken away, a test is as if its findings had never been added; put back, all is as before."""
    whole = made(trials, age)
    belief, items = believed(whole), evidence(whole)
    for test, without in belief.without.items():
        rest = [one for one in items if one.test != test]
        assert believe(CAUSES, belief.prior, rest).chances == pytest.approx(without, abs=1e-9)
        back = [*rest, *(one for one in items if one.test == test)]
        assert believe(CAUSES, belief.prior, back).chances == pytest.approx(
            belief.chances, abs=1e-9
        )


# ------------------------------------------------------------------ one thing more


def row_of(spec: TestSpec, sign: str) -> FindingRow | None:
    return next((row for row in spec.findings if row.sign == sign), None)


def favoured(row: FindingRow, age: int) -> set[str]:
    """The drivers a row favours: none shows the sign more often, and nobody less than by chance."""
    shares = row.shares(age)
    most = max(shares.values())
    if min(shares.values()) < shares[NONE] or most <= shares[NONE]:
        return set()
    return {name for name, share in shares.items() if share == most}


@settings(max_examples=examples(150))
@given(TRIALS, AGES, st.data())
def test_a_sign_more_never_lowers_the_driver_it_favours_against_none(
    trials: list[dict[str, Any]], age: int, data: st.DataObject
) -> None:
    """Held: the chance of that driver alone, over the chance of no driver at all, never falls.

    The sign is of one leg: seen in a one-legged test, or in a two-legged one and said of which.
    Left out are signs that unmake another finding: hands that void a number, and what a cue then
    takes away.
    """
    spec = data.draw(st.sampled_from(PROTOCOL.tests))
    trials = [one for one in trials if not (one["test"] == spec.id and one["cue"])]
    row = data.draw(st.sampled_from([row for row in spec.findings if row.sign] or [None]))
    if row is None or row.sign is None:
        return
    leg = data.draw(st.sampled_from(["left", "right"]))
    trial = {"test": spec.id, "side": leg if spec.sided else None, "cue": "", "ended": ""}
    seen = trial | {"signs": [row.sign]} | ({} if spec.sided else {"sign_legs": {row.sign: leg}})
    without, with_sign = made([*trials, trial | {"signs": []}], age), made([*trials, seen], age)
    assume(Seen.of(PROTOCOL, without).results == Seen.of(PROTOCOL, with_sign).results)
    before, after = believed(without), believed(with_sign)
    for number, cause in enumerate(CAUSES.all):
        if cause.driver in favoured(row, age) and cause.side in (None, leg):
            state = 1 << number
            gain = (after.table[state] - after.table[0]) - (before.table[state] - before.table[0])
            assert gain >= -1e-9, (spec.id, row.sign, cause, gain)


@settings(max_examples=examples(300))
@given(NEARLY_FINE, st.one_of(st.sampled_from(FINE), TRIAL), st.sampled_from(sorted(BROKEN_OFF)))
def test_a_trial_broken_off_never_leads_to_nothing_found(
    trials: list[dict[str, Any]], one: dict[str, Any], ended: str
) -> None:
    broken = one | {"ended": ended, "cue": ""}
    if assess(PROTOCOL, made([*trials, broken], 55)).outcome == "nothing-found":
        assert assess(PROTOCOL, made(trials, 55)).outcome == "nothing-found"


# ------------------------------------------------------------------ two drivers of one finding


def of_one(number: int, there: float, leak: float = 0.05) -> Evidence:
    """A finding that speaks for one cause and says nothing of the others."""
    leg = CAUSES.all[number].side
    about = CAUSES.about(leg)
    table = found(Shares(leak, {number: there}), about)
    return Evidence(
        test="apart",
        side=leg,
        leg=leg,
        what="made-up",
        trait="made-up",
        words="",
        there=True,
        about=about,
        alone=singly(table),
        joint=table,
        source="judgement",
    )


SHARED = [
    (spec.id, row)
    for spec in PROTOCOL.tests
    for row in spec.findings
    if row.sign and min(row.shares(60).values()) >= row.shares(60)[NONE]
]


@pytest.mark.parametrize(
    ("test", "row"), SHARED, ids=[f"{test}-{row.sign}" for test, row in SHARED]
)
def test_explaining_away_never_takes_more_than_the_shared_finding_gave(
    test: str, row: FindingRow
) -> None:
    """Two drivers show one sign; more and more speaks for the second alone.

    Held, and provable where nothing else ties the two: the first sinks, but never below what it was
    without the sign. Whatever the second is, the sign is at least as likely with the first as
    without it, and what speaks for the second alone says nothing of the first.
    """
    shares = CAUSES.shares(row, 60, ())
    about = CAUSES.about("left")
    seen = Evidence(
        test=test,
        side="left",
        leg="left",
        what=str(row.sign),
        trait=row.trait,
        words="",
        there=True,
        about=about,
        alone=singly(found(shares, about)),
        joint=found(shares, about),
        source="",
    )
    prior = prior_chances(PROTOCOL, made([], 60), CAUSES)
    alone = believe(CAUSES, prior, [seen]).chances
    sharing = [number for number in about if shares.alone.get(number, 0.0) > shares.leak]
    for first, second in permutations(sharing, 2):
        last = alone[first]
        for there in (0.1, 0.3, 0.9):
            now = believe(CAUSES, prior, [seen, of_one(second, there)]).chances[first]
            assert prior[first] - 1e-9 <= now <= last + 1e-9
            last = now


# ------------------------------------------------------------------ boldness


@settings(max_examples=examples(60))
@given(TRIALS, AGES, SIDES)
def test_an_answer_is_never_bolder_than_its_chances(
    trials: list[dict[str, Any]], age: int, side: str
) -> None:
    found = assess(PROTOCOL, made(trials, age, side))
    assert len(found.plan.start) <= 9
    for one in found.leading:
        if one.side not in (None, side) and side != "both":
            # Of the leg without complaint, where nothing else is possible.
            assert found.leading == (one,)
            assert one.chance >= LIKELY
            assert found.outcome in ("possible", "unloaded-only")
        assert one.speaks_for
    if found.outcome == "likely":
        leader = found.leading[0]
        assert leader.chance >= LIKELY
        by_cue = any("/" in one.what and one.there for one in leader.speaks_for)
        assert by_cue or (leader.least >= STAYS and len(leader.supported_by) >= 2)
    if found.outcome in ("undetermined", "nothing-found"):
        assert found.leading == ()
        assert {start.driver for start in found.plan.start} <= {""}


@settings(max_examples=examples(60))
@given(TRIALS, AGES)
def test_what_moved_a_driver_multiplies_out(trials: list[dict[str, Any]], age: int) -> None:
    """Every factor is above 0 and on the side on which it is told."""
    for one in assess(PROTOCOL, made(trials, age)).drivers:
        assert all(finding.factor > 1 for finding in one.speaks_for)
        assert all(0 < finding.factor < 1 for finding in one.speaks_against)
        assert abs(log(one.chance / (1 - one.chance))) < 30


@settings(max_examples=examples(40))
@given(TRIALS, AGES, st.sampled_from([caution.id for caution in PROTOCOL.cautions]))
def test_a_safety_answer_outranks_any_session(
    trials: list[dict[str, Any]], age: int, caution: str
) -> None:
    safe = made(trials, age)
    risky = safe.model_copy(
        update={"intake": safe.intake.model_copy(update={"cautions": (caution,)})}
    )
    found = assess(PROTOCOL, risky)
    assert found.outcome == "refer-first"
    assert (found.drivers, found.plan.start, found.next_tests) == ((), (), ())


def test_every_test_says_something_of_a_driver_but_those_that_point_elsewhere() -> None:
    def says_something(spec: TestSpec) -> bool:
        rows = [*spec.findings, *(level for graded in spec.graded for level in graded.levels)]
        return any(len(set(row.shares(60).values())) > 1 for row in rows)

    silent = {spec.id for spec in PROTOCOL.tests if not says_something(spec)}
    assert silent == {"swelling", "hip-rotation"}
