"""From findings to an answer: the chance of each driver, its standing, and the answer in words.

Three figures decide, tuned on invented cases only (judgement): a driver is likely at 75 of 100 or
more that stays at 30 with any one whole test taken away, and possible from 45.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from math import exp, log, prod
from operator import mul, neg

from screen_tui.engine import network
from screen_tui.engine.conditions import Seen
from screen_tui.engine.findings import Cause, Causes, Evidence, swollen
from screen_tui.engine.grade import NEAR
from screen_tui.engine.results import DriverResult, DriverStanding, Finding, Noted, Outcome, Step
from screen_tui.engine.safety import unloaded_only
from screen_tui.fields import LEGS, Side
from screen_tui.protocol.evidence import NONE, PriorOdds
from screen_tui.protocol.knowledge import HistoryAnswer
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Client, Intake, Session

LIKELY, STAYS, POSSIBLE = 0.75, 0.30, 0.45
"""Chances: likely from here if it stays there without any one test; possible from here."""

RIVAL = 0.60
"""Beside a likely driver another of this chance makes the answer mixed."""

TIE = 0.10
"""Two possible drivers of one leg that are no further apart cannot be distinguished."""

NOTHING = 0.20
"""Nothing found is the answer only where no driver is above this chance."""

LEAST_FALL = 1e-9
"""A fall of a chance by less than this is rounding."""

ENOUGH_TESTS = 4
"""Tests that said something, needed before nothing found is the answer (clinical judgement)."""

CLEARLY = 2.5
"""A sign points to a driver that makes it this many times as common (judgement)."""

FAINT = log(1.25)
"""A finding that can move no odds by more than this is not worked out exactly."""

NOTICEABLE = 1.01
"""A finding that moves the odds of a driver by less than this is not listed with it."""

SUPPORTS = 1.25
"""A test supports a driver where it multiplies its odds by this or more."""


MOST_OF_HISTORY, MOST_OF_ONE_QUESTION = 4.0, 2.0
"""What somebody answers moves the odds of a driver no further than this, either way (judgement)."""


# ------------------------------------------------------------------ before testing


def prior_chances(protocol: ScreenProtocol, session: Session, causes: Causes) -> list[float]:
    """The chance of each cause before anything was tested."""
    priors = {one.driver: one for one in protocol.priors}
    found = []
    for cause in causes.all:
        prior = priors.get(cause.driver)
        if prior is None:
            found.append(0.01)
            continue
        complaint = session.intake.complains_of(cause.side)
        percent = prior.complaint_side if complaint else prior.other_side
        factors = _odds_of(protocol, session, cause.driver, complaint)
        most = prior.most_odds or 100.0
        odds = percent / (100 - percent) * min(most, max(1 / most, prod(factors)))
        found.append(odds / (1 + odds))
    return found


def _odds_of(
    protocol: ScreenProtocol, session: Session, driver: str, complaint: bool
) -> list[float]:
    """The factors that hold for the person; of those that overlap only the strongest."""
    alone: list[float] = []
    overlapping: dict[str, float] = {}
    for odds in protocol.odds:
        given = odds.odds.get(driver)
        if given is None or not _applies(odds, session.client, session.intake):
            continue
        value = given if isinstance(given, float | int) else given[0 if complaint else 1]
        if odds.overlap is None:
            alone.append(value)
        else:
            before = overlapping.get(odds.overlap, 1.0)
            overlapping[odds.overlap] = _stronger(value, before)
    answered = _odds_of_history(protocol, session.intake, driver, overlapping)
    return [*alone, *overlapping.values(), answered]


def _stronger(one: float, other: float) -> float:
    return one if max(one, 1 / one) > max(other, 1 / other) else other


def _odds_of_history(
    protocol: ScreenProtocol, intake: Intake, driver: str, overlapping: Mapping[str, float]
) -> float:
    """What the answers of the history make of the odds; one that was not given is neutral.

    Of an answer that overlaps with what is known already only what goes beyond that counts.
    """

    def odds_of(answer: HistoryAnswer) -> float:
        own = answer.odds.get(driver, 1.0)
        known = overlapping.get(answer.overlap or "", 1.0)
        return _stronger(own, known) / known

    product = 1.0
    for question in protocol.history:
        given = intake.history.get(question.id, ())
        answered = prod(odds_of(one) for one in question.answers if one.id in given)
        product *= min(MOST_OF_ONE_QUESTION, max(1 / MOST_OF_ONE_QUESTION, answered))
    return min(MOST_OF_HISTORY, max(1 / MOST_OF_HISTORY, product))


def _applies(odds: PriorOdds, client: Client, intake: Intake) -> bool:
    weeks = intake.recent_surgery_weeks
    return (
        (odds.from_age is None or client.age >= odds.from_age)
        and (odds.to_age is None or client.age <= odds.to_age)
        and (
            odds.surgery_weeks is None
            or (weeks is not None and odds.surgery_weeks[0] <= weeks <= odds.surgery_weeks[1])
        )
        and (odds.surgery is None or odds.surgery == intake.surgery)
        and (odds.complaint is None or odds.complaint in intake.complaints)
        and (not odds.goals_any or bool(set(odds.goals_any) & set(intake.goals)))
    )


# ------------------------------------------------------------------ after testing


@dataclass(frozen=True, slots=True)
class Belief:
    """What is known of the causes after some findings.

    The table is the log of the weight of each state. By test, ``without`` are the chances with all
    its findings taken away, and ``after`` those after it and all done before it.
    """

    causes: Causes
    prior: tuple[float, ...]
    table: network.Table
    states: network.Table
    chances: tuple[float, ...]
    without: Mapping[str, tuple[float, ...]]
    after: Mapping[str, tuple[float, ...]]


def believe(
    causes: Causes,
    prior: Sequence[float],
    evidence: Sequence[Evidence],
    order: Iterable[str] = (),
) -> Belief:
    """Add all findings up; ``order`` are the tests as they were done, others follow."""
    by_test: dict[str, list[Evidence]] = {}
    for one in evidence:
        by_test.setdefault(one.test, []).append(one)
    everything = causes.about(None)
    start = network.prior_table(prior)
    tables = {
        test: _sum_of(causes, by_test[test])
        for test in dict.fromkeys((*order, *by_test))
        if test in by_test
    }
    _, whole = network.joined([(everything, start), *tables.values()])
    states = network.posterior(whole)
    reached, after = network.posterior(start), {}
    for test, (about, table) in tables.items():
        reached = list(map(mul, reached, network.spread(list(map(exp, table)), about, everything)))
        after[test] = tuple(network.chances(reached))
    return Belief(
        causes,
        tuple(prior),
        whole,
        states,
        tuple(network.chances(states)),
        {
            test: tuple(
                network.chances(list(map(mul, states, network.spread(undone, about, everything))))
            )
            for test, (about, table) in tables.items()
            for undone in [list(map(exp, map(neg, table)))]
        },
        after,
    )


def _sum_of(causes: Causes, evidence: Sequence[Evidence]) -> network.TableOver:
    by_causes: dict[tuple[int, ...], list[network.Table]] = {}
    base, adds = 0.0, dict[int, float]()
    for one in evidence:
        if one.joint is not None:
            whole = one.weight == 1
            table = one.joint if whole else [one.weight * x for x in one.joint]
            by_causes.setdefault(one.about, []).append(table)
            continue
        base += one.weight * one.alone[0]
        for number, alone in zip(one.about, one.alone[1:], strict=True):
            adds[number] = adds.get(number, 0.0) + one.weight * (alone - one.alone[0])
    by_leg: dict[tuple[int, ...], list[network.TableOver]] = {}
    for about, tables in by_causes.items():
        # Over one leg a sum is quickly made.
        by_leg.setdefault(causes.least_about(about), []).append((about, network.total(tables)))
    apart = sorted(adds)
    added = network.added_up([base, *(base + adds[number] for number in apart)])
    return network.joined(
        [(tuple(apart), added), *(network.joined(leg) for leg in by_leg.values())]
    )


def odds(chance: float) -> float:
    """A chance as odds."""
    return chance / max(1e-12, 1 - chance)


def moved_by(
    belief: Belief, evidence: Sequence[Evidence]
) -> list[tuple[Evidence, Mapping[int, float]]]:
    """Each finding, and by how much it moved the odds of each cause it is about, given all else."""
    everything = belief.causes.about(None)
    of_leg: dict[tuple[int, ...], network.Table] = {}
    states: dict[tuple[int, ...], network.Table] = {}
    moved: list[tuple[Evidence, Mapping[int, float]]] = []
    for one in evidence:
        if one.most < FAINT:
            # Whatever else is known, it moves no odds by more than this: alone is near enough.
            alone = {
                number: exp(one.weight * (each - one.alone[0]))
                for number, each in zip(one.about, one.alone[1:], strict=True)
            }
            moved.append((one, alone))
            continue
        leg = belief.causes.least_about(one.about)
        if leg not in of_leg:
            of_leg[leg] = network.narrow(belief.states, leg, everything)
        if one.about not in states:
            states[one.about] = network.narrow(of_leg[leg], one.about, leg)
        moved.append((one, _factors_of(one, belief.chances, states[one.about])))
    return moved


def _factors_of(
    one: Evidence, chances_now: Sequence[float], states: Sequence[float]
) -> dict[int, float]:
    undone = map(exp, [-one.weight * x for x in one.table])
    without = network.chances(list(map(mul, states, undone)))
    return {
        number: odds(chances_now[number]) / odds(then)
        for number, then in zip(one.about, without, strict=True)
    }


def drivers_of(belief: Belief, evidence: Sequence[Evidence]) -> tuple[DriverResult, ...]:
    """Every driver on every side it can have, most likely first."""
    moved = moved_by(belief, evidence)
    found = [
        _driver(
            belief,
            [
                (one, factors[number])
                for one, factors in moved
                if not 1 / NOTICEABLE < factors.get(number, 1) < NOTICEABLE
            ],
            number,
            cause,
        )
        for number, cause in enumerate(belief.causes.all)
    ]
    # Two legs alike are equal but for rounding; then the order of the causes holds.
    return tuple(sorted(found, key=lambda one: -round(one.chance, 9)))


_NOTED = [field.name for field in fields(Noted)]


def _driver(
    belief: Belief, evidence: Sequence[tuple[Evidence, float]], number: int, cause: Cause
) -> DriverResult:
    chance = belief.chances[number]
    findings = sorted(
        (
            Finding(
                **{name: getattr(one, name) for name in _NOTED},
                factor=factor,
                direct=_of_itself(one, number) * log(factor) > 0,
            )
            for one, factor in evidence
        ),
        key=lambda one: -round(max(one.factor, 1 / one.factor), 9),
    )
    without = {test: each[number] for test, each in belief.without.items()}
    supporting = {t for t, rest in without.items() if odds(chance) >= SUPPORTS * odds(rest)}
    traits = {one.trait for one in findings if one.there and one.factor > 1}
    by_cue = _decided_by_cue(findings)
    in_pain_only = all(one.in_pain for one in findings if one.there and one.factor > SUPPORTS)
    least = min(without.values(), default=belief.prior[number])
    standing: DriverStanding = "not-supported"
    if chance >= POSSIBLE and not in_pain_only:
        # One habit seen in every test is still one thing seen.
        firm = by_cue or (least >= STAYS and len(supporting) >= 2 and len(traits) >= 2)
        standing = "likely" if chance >= LIKELY and firm else "possible"
    floor = LIKELY if standing == "likely" else POSSIBLE
    return DriverResult(
        driver=cause.driver,
        side=cause.side,
        standing=standing,
        chance=chance,
        before=belief.prior[number],
        least=least,
        speaks_for=tuple(one for one in findings if one.factor > 1),
        speaks_against=tuple(one for one in findings if one.factor < 1),
        without=without,
        after={test: each[number] for test, each in belief.after.items()},
        supported_by=tuple(sorted(supporting)),
        rests_on=tuple(
            test
            for test, rest in sorted(without.items(), key=lambda item: item[1])
            if standing != "not-supported" and rest < floor
        ),
    )


def _of_itself(one: Evidence, number: int) -> float:
    """By how much a finding moves the log-odds of a cause where there is no other cause."""
    if number not in one.about:
        return 0.0
    return one.alone[one.about.index(number) + 1] - one.alone[0]


def _decided_by_cue(findings: Sequence[Finding]) -> bool:
    """Whether a cue decided it: what it changed came back without it, or it changed two things.

    One thing may change by chance; the pain, and a sign or a number with it, hardly do.
    """
    cued = [one for one in findings if one.there and one.cue and one.factor > 1]
    worked = [one for one in cued if one.factor > SUPPORTS]
    cues: dict[tuple[str, Side | None, str], set[str]] = {}
    for one in cued:
        if one.what != f"{one.cue}/pain-eased":
            cues.setdefault((one.test, one.side, one.cue), set()).add("way")
        elif one in worked:
            cues.setdefault((one.test, one.side, one.cue), set()).add("pain")
    return any(one.undone for one in worked) or any(len(kinds) > 1 for kinds in cues.values())


def path_of(drivers: Sequence[DriverResult]) -> tuple[Step, ...]:
    """After which test which driver came to be possible or likely by its chance, or stopped."""
    steps = []
    before = {(one.driver, one.side): one.before for one in drivers}
    for test in drivers[0].after if drivers else ():
        for one in drivers:
            was, now = _band(before[one.driver, one.side]), _band(one.after[test])
            if was != now:
                steps.append(Step(test, one.driver, one.side, was, now))
            before[one.driver, one.side] = one.after[test]
    return tuple(steps)


def _band(chance: float) -> DriverStanding:
    return "likely" if chance >= LIKELY else "possible" if chance >= POSSIBLE else "not-supported"


# ------------------------------------------------------------------ the answer


def named(drivers: Sequence[DriverResult], intake: Intake) -> tuple[DriverResult, ...]:
    """The drivers the answer is about, best first; empty where none is possible.

    One on the side without complaint leads only where its chance is that of a likely one and
    nothing is possible on the side of the complaint: that leg may hurt for the work it does.
    """
    able = [one for one in drivers if one.standing != "not-supported"]
    elsewhere = [one for one in able if not intake.complains_of(one.side)]
    able = [one for one in able if intake.complains_of(one.side)]
    likely = [one for one in able if one.standing == "likely"]
    if likely:
        rivals = [
            one
            for one in able
            if one.standing != "likely" and one.chance >= RIVAL and len(one.supported_by) >= 2
        ]
        return (*likely, *rivals)
    if not able:
        return tuple(one for one in elsewhere if one.chance >= LIKELY)[:1]
    top = able[0]
    beside = [
        one
        for one in able[1:]
        if top.chance - one.chance <= TIE
        and (one.driver == top.driver or one.side == top.side is not None)
    ]
    return (top, *beside)


def outcome_of(
    seen: Seen,
    leading: Sequence[DriverResult],
    drivers: Sequence[DriverResult],
    *,
    refer: bool,
) -> Outcome:
    """What kind of answer this is. What is unsafe outranks every chance."""
    if refer:
        return "refer-first"
    if unloaded_only(seen.session.intake):
        return "unloaded-only"
    if leading:
        if len({one.driver for one in leading}) > 1:
            return "mixed"
        explains = seen.session.intake.complains_of(leading[0].side)
        return "likely" if explains and leading[0].standing == "likely" else "possible"
    return "nothing-found" if _nothing_found(drivers, seen) else "undetermined"


def _nothing_found(drivers: Sequence[DriverResult], seen: Seen) -> bool:
    """Enough was tested, the leg complained of alone too, and none of it was found wanting."""
    plain = [one for one in seen.observations.values() if one.plain]
    telling = {one.spec.id for one in plain if one.spec.findings or one.spec.graded}
    return (
        not seen.session.stopped
        and len(telling) >= ENOUGH_TESTS
        and _loaded_alone(seen)
        and not any(one.pain_limited for one in plain)
        and not any(trial.broken_off for one in plain for trial in one.plain)
        and not any(one.short and one.standing != NEAR for one in seen.results.values())
        and not _repeated_sign(seen)
        and not any(swollen(seen, leg) for leg in LEGS)
        and all(_unlikely(one) for one in drivers)
    )


def _unlikely(driver: DriverResult) -> bool:
    lower = driver.before - driver.chance > LEAST_FALL
    return driver.chance <= NOTHING or (lower and driver.chance <= STAYS)


def _loaded_alone(seen: Seen) -> bool:
    wanted = {leg for leg in LEGS if seen.session.intake.complains_of(leg)}
    done = {
        one.side
        for one in seen.observations.values()
        if one.plain and one.side and one.spec.load == "one-leg"
    }
    return wanted <= done


def _repeated_sign(seen: Seen) -> bool:
    """Whether a sign of something in one leg was seen twice on the side of the complaint.

    That is a sign which some driver of one leg makes clearly more common at the person's age.
    """
    sided = {driver.id for driver in seen.protocol.drivers if driver.sided}
    count: dict[str, int] = {}
    for observation in seen.observations.values():
        if not seen.session.intake.complains_of(observation.side):
            continue
        rows = {
            row.sign
            for row in observation.spec.findings
            if row.sign and _tells_of_a_leg(row.shares(observation.client.age), sided)
        }
        for trial in observation.plain:
            for sign in set(trial.signs) & rows:
                count[sign] = count.get(sign, 0) + 1
    return any(times > 1 for times in count.values())


def _tells_of_a_leg(shares: Mapping[str, float], sided: Collection[str]) -> bool:
    return any(shares[one] >= CLEARLY * shares[NONE] for one in sided if one in shares)


def side_words(drivers: Sequence[DriverResult]) -> str:
    """The side in words, as it is put behind a driver's name; empty for the person.

    Two sides named by two-legged tests only have not been distinguished; the words say so.
    """
    sides = {driver.side for driver in drivers}
    if sides == {"left", "right"}:
        apart = any(one.leg for driver in drivers for one in driver.speaks_for)
        return "both sides" if apart else "side not clear"
    return drivers[0].side or ""


def headline_of(
    protocol: ScreenProtocol,
    outcome: Outcome,
    leading: Sequence[DriverResult],
    drivers: Sequence[DriverResult],
    intake: Intake,
) -> str:
    """The answer in one sentence, and one more on what was seen on the side without complaint."""
    elsewhere = [
        one
        for one in drivers
        if one.standing != "not-supported" and not intake.complains_of(one.side)
    ]
    sentences = _NAMING if leading else _NAMELESS
    answer = sentences[outcome].format(_names(protocol, leading))
    if not elsewhere:
        return answer
    if leading and leading[0] in elsewhere:
        return f"{answer} It is on the side without complaint; whether it explains that is open."
    names = " and ".join(protocol.driver(one.driver).name.lower() for one in elsewhere)
    return f"{answer} Also seen on the {elsewhere[0].side}, the side without complaint: {names}."


_NAMELESS: Mapping[str, str] = {
    "nothing-found": "Nothing found in the tests done; the others are not cleared.",
    "undetermined": "Undetermined: the findings do not point to one driver.",
    "unloaded-only": "Unloaded tests only: they do not point to one driver.",
}
_NAMING: Mapping[str, str] = {
    "likely": "Likely driver: {}.",
    "possible": "Possible driver: {}; not certain.",
    "unloaded-only": "Unloaded tests only; they point to: {}.",
    "mixed": "Mixed: {}.",
}


def _names(protocol: ScreenProtocol, leading: Sequence[DriverResult]) -> str:
    by_driver: dict[str, list[DriverResult]] = {}
    for driver in leading:
        by_driver.setdefault(driver.driver, []).append(driver)
    parts = []
    for driver_id, entries in by_driver.items():
        side = side_words(entries)
        parts.append(protocol.driver(driver_id).name + (f" ({side})" if side else ""))
    return " and ".join(parts)
