"""What was seen, as findings the network can take in: each a table over all states, discounted.

Discounts are judgement, and general; no row has one of its own:
a sign that was not marked says a quarter of what "watched, and not there" says;
a sign seen in pain says 0.4, and numbers of strength and time are silent then;
a sign seen in half of the trials or fewer says a half, unless it was seen in several repetitions;
of findings that show one trait the strongest counts in full, then 0.6, 0.3 and 0.15;
what a young person did well on both legs says a half against a driver of a leg that names such an
age (`NotMeasured.half_to_age`).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import log, sqrt
from statistics import NormalDist, fmean

from screen_tui.engine import network
from screen_tui.engine.comparable import conditions_of, counting
from screen_tui.engine.conditions import Seen, holds, only_in_pain
from screen_tui.engine.measures import HANDS_USED
from screen_tui.engine.observe import Observation, done_to_the_end, other, was_watched
from screen_tui.engine.results import CueEffect, Noted, Result
from screen_tui.fields import LEGS, Side
from screen_tui.protocol.evidence import (
    NONE,
    Circumstance,
    Condition,
    CueRow,
    FindingRow,
    Graded,
    Level,
    Row,
)
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Client, Session, Trial

NOT_MARKED = 0.25
IN_PAIN = 0.4
SELDOM = 0.5
REPEATS = (1.0, 0.6, 0.3, 0.15)

NOT_MEASURED = frozenset({"fear", "unsafe", "pain"})
"""Reasons after which a number says nothing either way: nobody knows how far it would have gone."""

LEAST_CHANCE = 0.02
"""A level at which a number lies with a lesser chance than this is left out."""

EARLY_WEEKS = 12
SHORT_DEG = 5.0
SHOD = "shoes"
SWOLLEN = "knee-swollen"
SWELLING, LARGE_GRADE = "swelling", 2
EASED, SORE = 2, 2
"""Points of 10: by how much pain must fall to be eased, and from where it can."""
LONGER = 1.5


@dataclass(frozen=True, slots=True)
class Cause:
    """A driver on one side; None for one of the person."""

    driver: str
    side: Side | None


@dataclass(frozen=True)
class Causes:
    """The causes of the network in order: those of the person, of the left leg, of the right."""

    all: tuple[Cause, ...]

    @classmethod
    def of(cls, protocol: ScreenProtocol) -> Causes:
        person = [Cause(one.id, None) for one in protocol.drivers if not one.sided]
        legs = [Cause(one.id, leg) for leg in LEGS for one in protocol.drivers if one.sided]
        return cls((*person, *legs))

    def about(self, side: Side | None) -> tuple[int, ...]:
        """Those that matter to a finding on that leg; all for one of both legs."""
        return tuple(
            number
            for number, one in enumerate(self.all)
            if side is None or one.side in (None, side)
        )

    def shares(self, row: Row, age: int, circumstances: Sequence[Circumstance]) -> network.Shares:
        """The cells of a row by the numbers of the causes."""
        cells = row.shares(age, circumstances)
        alone = {n: cells[one.driver] for n, one in enumerate(self.all) if one.driver in cells}
        return network.Shares(cells[NONE], alone)

    def told_of(self, side: Side | None, *rows: network.Shares) -> tuple[int, ...]:
        """Those of `about` that some of the rows have a cell for."""
        known = {number for row in rows for number in row.alone}
        return tuple(number for number in self.about(side) if number in known)

    def least_about(self, numbers: Collection[int]) -> tuple[int, ...]:
        """Of `about` the left leg, the right leg and both, the first that has all of those."""
        for side in LEGS:
            if set(numbers) <= set(self.about(side)):
                return self.about(side)
        return self.about(None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence(Noted):
    """One finding as the network takes it in.

    Attributes:
        about: The causes it is about: those of its leg that its row has a cell for.
        alone: The log-likelihood with none of those causes and with each alone, not discounted.
        joint: The same over all their combinations; None where each cause adds its own.
    """

    about: tuple[int, ...]
    alone: network.Table
    joint: network.Table | None

    @property
    def table(self) -> network.Table:
        """The log-likelihoods over the combinations of the causes, not discounted."""
        return network.added_up(self.alone) if self.joint is None else self.joint

    @property
    def most(self) -> float:
        """The most by which it can move the log-odds of anything, discounted."""
        if self.joint is None:
            return self.weight * sum(abs(one - self.alone[0]) for one in self.alone[1:])
        return self.weight * (max(self.joint) - min(self.joint))


def evidence_of(seen: Seen) -> tuple[Evidence, ...]:
    """All that a session says about the drivers, discounted for what repeats."""
    return discounted(Causes.of(seen.protocol), readings(seen))


def readings(seen: Seen, only: Collection[str] | None = None) -> list[Evidence]:
    """Every finding of a session, of ``only`` those tests if given, whatever it repeats."""
    reader = _Reader(seen)
    return [
        one
        for observation in seen.observations.values()
        if observation.plain and (only is None or observation.spec.id in only)
        for one in reader.read(observation)
    ]


def tells_of(causes: Causes, one: Evidence) -> tuple[Cause, float]:
    """The cause a finding says most about, and by how much it moves its odds alone, as a log."""
    moves = [abs(each - one.alone[0]) for each in one.alone[1:]]
    if not moves:
        return causes.all[0], 0.0
    place = max(range(len(moves)), key=moves.__getitem__)
    return causes.all[one.about[place]], moves[place]


def discounted(causes: Causes, evidence: Iterable[Evidence]) -> tuple[Evidence, ...]:
    """Each finding with its weight beside the others of its trait.

    What may be of either leg is among the findings of both, and takes the lesser weight. What
    tells of the person more than of a leg is one trait of both legs; where it says as much on
    either, both share what their places give, so that neither leg comes first.
    """
    items = list(evidence)
    weights = [1.0] * len(items)
    causes_of = [tells_of(causes, one) for one in items]
    about = [
        None if cause.side is None else one.leg
        for one, (cause, _) in zip(items, causes_of, strict=True)
    ]
    for leg in LEGS:
        groups: dict[tuple[str, bool], list[int]] = {}
        for place, one in enumerate(items):
            if about[place] in (None, leg):
                groups.setdefault((one.trait, one.there), []).append(place)
        for group in groups.values():
            twins: dict[tuple[float, str, str], list[int]] = {}
            for place in group:
                one = items[place]
                strength = round(one.weight * causes_of[place][1], 9)
                twins.setdefault((-strength, one.test, one.what), []).append(place)
            rank = 0
            for _, places in sorted(twins.items()):
                ranks = range(rank, rank + len(places))
                share = fmean(REPEATS[min(one, len(REPEATS) - 1)] for one in ranks)
                for place in places:
                    weights[place] = min(weights[place], share)
                rank += len(places)
    return tuple(
        replace(one, weight=one.weight * share) for one, share in zip(items, weights, strict=True)
    )


class _Reader:
    def __init__(self, seen: Seen) -> None:
        self.seen = seen
        self.causes = Causes.of(seen.protocol)
        age = seen.session.client.age
        self.halved = {
            driver.id
            for driver in seen.protocol.drivers
            if driver.unless and age <= (driver.unless.half_to_age or 0)
        }
        self.circumstances = {
            key: self._circumstances(one) for key, one in seen.observations.items()
        }

    def shares(self, row: Row, observation: Observation, *, there: bool = True) -> network.Shares:
        here = self.circumstances[observation.spec.id, observation.side]
        shares = self.causes.shares(row, observation.client.age, here)
        if there or observation.side is not None or not self.halved:
            return shares
        return network.Shares(
            shares.leak,
            {
                n: 1 - sqrt((1 - shares.leak) * (1 - one))
                if self.causes.all[n].driver in self.halved and one > shares.leak
                else one
                for n, one in shares.alone.items()
            },
        )

    def read(self, observation: Observation) -> Iterable[Evidence]:
        for row in observation.spec.findings:
            if row.sign is not None:
                yield from self._sign(observation, row, row.sign)
            elif row.when is not None:
                yield from self._condition(observation, row, row.when)
        for graded in observation.spec.graded:
            yield from self._graded(observation, graded)
        yield from self._cues(observation)

    # -- signs

    def _sign(self, observation: Observation, row: FindingRow, sign: str) -> Iterable[Evidence]:
        label = self.seen.protocol.sign(sign).label.lower()
        absent = f"{label}: not seen"
        trials = [trial for trial in observation.plain if sign in trial.signs]
        fair = [trial for trial in trials if not trial.pain_limited]
        if not trials:
            weight = _weight_of_absence(observation)
            if weight:
                yield self._finding(observation, row, absent, weight, there=False)
            return
        weight = 1.0 if fair else IN_PAIN
        telling = [one for one in observation.plain if sign in one.signs or not one.broken_off]
        again = any(trial.sign_counts.get(sign, 1) > 1 for trial in trials)
        seldom = len(telling) > 1 and 2 * len(trials) <= len(telling)
        if seldom and not (observation.spec.timer.repeated and again):
            weight *= SELDOM
        legs = _legs_of(sign, trials) if observation.side is None else set()
        about: list[Side | None] = [*sorted(legs)] or [observation.side]
        for leg in about:
            yield self._finding(observation, row, label, weight, leg=leg, in_pain=not fair)
        if len(legs) == 1:
            # What is seen on one leg speaks slightly against the other.
            leg = other(*legs)
            yield self._finding(observation, row, absent, NOT_MARKED, leg=leg, there=False)

    def _condition(
        self, observation: Observation, row: FindingRow, when: Condition
    ) -> Iterable[Evidence]:
        if observation.pain_limited and (row.strength or when.measure):
            return
        if when.measure and _not_measured(observation):
            return
        if holds(when, self.seen, observation):
            in_pain = only_in_pain(when, self.seen, observation)
            weight = IN_PAIN if in_pain else 1.0
            yield self._finding(observation, row, row.words, weight, in_pain=in_pain)
        elif self._could_tell(observation, when):
            weight = _weight_of_absence(observation) if when.ended_any else 1.0
            if weight:
                words = f"{row.words}: not so"
                yield self._finding(observation, row, words, weight, there=False)

    def _could_tell(self, observation: Observation, when: Condition) -> bool:
        """Whether the trials were such that the condition could have held."""
        if when.slowing_percent is not None:
            results = (self.seen.result(observation, one.id) for one in observation.spec.measures)
            return any(one and one.slowing_percent is not None for one in results)
        needed = [self.seen.value(observation, when.measure)]
        if when.worse_than_other_percent or when.worse_than_other_by:
            opposite = self.seen.opposite(observation)
            needed.append(self.seen.value(opposite, when.measure))
            return opposite is not None and not opposite.pain_limited and None not in needed
        if when.slower_than is not None:
            return None not in (*needed, self.seen.value(observation, when.slower_than))
        return not _all_broken_off(observation)

    def _finding(
        self,
        observation: Observation,
        row: FindingRow,
        words: str,
        weight: float,
        *,
        leg: Side | None = None,
        there: bool = True,
        in_pain: bool = False,
    ) -> Evidence:
        leg = leg or observation.side
        shares = self.shares(row, observation, there=there)
        about = self.causes.told_of(leg, shares)
        joint = network.found(shares, about) if there else None
        return Evidence(
            test=observation.spec.id,
            side=observation.side,
            leg=leg,
            what=row.name,
            trait=row.trait,
            words=words,
            there=there,
            weight=weight,
            about=about,
            alone=network.not_found(shares, about) if joint is None else network.singly(joint),
            joint=joint,
            source=row.source,
            in_pain=in_pain,
        )

    # -- numbers

    def _graded(self, observation: Observation, graded: Graded) -> Iterable[Evidence]:
        result = self.seen.result(observation, graded.measure)
        if result is None or result.value is None:
            return
        spec = observation.spec
        if graded.strength and observation.pain_limited:
            return
        if spec.timer.rises and HANDS_USED in observation.signs:
            return
        levels = levels_for(graded, observation.client)
        if not levels or _not_measured(observation):
            return
        places = _places(spec, levels, result, observation.client, _steps(observation, graded))
        reached = max(range(len(places)), key=lambda level: places[level])
        if not reached and (_all_broken_off(observation) or not _as_usual(observation, graded)):
            return
        table_over = self._number(observation, levels, places, there=reached > 0)
        if table_over is None:
            return
        about, table = table_over
        words = levels[reached - 1].words if reached else f"not {levels[0].words}"
        amount = f"{result.value:.{result.decimals}f} {result.unit}"
        label = result.label.lower()
        if label.split()[0] != result.unit:  # 8 stands need no label
            amount = f"{label} {amount}"
        yield Evidence(
            test=spec.id,
            side=observation.side,
            leg=observation.side,
            what=graded.measure,
            trait=graded.trait,
            words=f"{amount}: {words}",
            there=reached > 0,
            about=about,
            alone=network.singly(table),
            joint=table,
            source=levels[max(0, reached - 1)].source,
        )

    def _number(
        self,
        observation: Observation,
        levels: Sequence[Level],
        places: Sequence[float],
        *,
        there: bool,
    ) -> tuple[tuple[int, ...], network.Table] | None:
        """The causes a number is about, and its log-likelihood at its levels with those chances.

        A level that says nothing is as likely with any driver; None where only such are left.
        """
        shares = [self.shares(level, observation, there=there) for level in levels]
        silent = [levels[0].floor, *(level.silent for level in levels)]
        lies = [reached for reached, chance in enumerate(places) if chance >= LEAST_CHANCE]
        if all(silent[reached] for reached in lies):
            return None

        about = self.causes.told_of(observation.side, *shares)
        certain = sum(
            places[reached] * network.at_level(shares, reached, ())[0]
            for reached in lies
            if silent[reached]
        )
        likely = [
            [places[reached] * one for one in network.at_level(shares, reached, about)]
            for reached in lies
            if not silent[reached]
        ]
        return about, [log(certain + one) for one in network.total(likely)]

    # -- cues

    def _cues(self, observation: Observation) -> Iterable[Evidence]:
        for effect in self.seen.effects:
            if (effect.test, effect.side) != (observation.spec.id, observation.side):
                continue
            eased = _eased(observation, effect.cue)
            for row in observation.spec.cue_effects:
                if row.cue == effect.cue:
                    happened = _happened(row, observation, effect, eased, self.seen)
                    slow_but_eased = row.effect == "faster" and not happened and eased
                    if happened is not None and not slow_but_eased:
                        yield self._cue(observation, row, happened)

    def _cue(self, observation: Observation, row: CueRow, happened: bool) -> Evidence:
        about = self.causes.about(observation.side)
        # How often each driver produces what the cue was to change; None for pain.
        produced = produced_by(observation.spec, row)
        shows = self.shares(produced, observation) if produced else None
        table = network.changed(self.shares(row, observation), about, shows, gone=happened)
        what = self.seen.protocol.sign(row.gone).label.lower() if row.gone else ""
        did = _DID.get(row.effect or "", (f"{what} gone", f"{what} still there"))
        return Evidence(
            test=observation.spec.id,
            side=observation.side,
            leg=observation.side,
            what=row.name,
            trait=f"cue-{row.cue}",
            words=f"with the cue {row.cue.replace('-', ' ')}: {did[0] if happened else did[1]}",
            there=happened,
            about=about,
            alone=network.singly(table),
            joint=table,
            source=row.source,
            cue=row.cue,
            undone=happened and _came_back(self.seen.session, observation, row),
        )

    # -- circumstances

    def _circumstances(self, observation: Observation) -> tuple[Circumstance, ...]:
        intake = self.seen.session.intake
        here: list[Circumstance] = []
        weeks = intake.recent_surgery_weeks
        side = observation.side
        if weeks is not None and weeks <= EARLY_WEEKS and intake.complains_of(side):
            here.append("early-after-surgery")
        legs = (side,) if side else LEGS
        if any(swollen(self.seen, leg) for leg in legs):
            here.append("swollen")
        if any(trial.footwear == SHOD for trial in observation.plain):
            here.append("shod")
        measured = (self.seen.results.get(("knee-extension", leg, "deficit")) for leg in legs)
        if any(one and (one.value or 0.0) >= SHORT_DEG for one in measured):
            here.append("short-of-straight")
        return tuple(here)


_DID = {
    "pain-eased": ("pain eased", "pain not eased"),
    "faster": ("faster", "not faster"),
    "longer": ("held longer", "not held longer"),
    "within-cut-off": ("within the cut-off", "still beyond the cut-off"),
}
"""Of each effect of a cue what is said when it was there, and when it was not."""


def swollen(seen: Seen, leg: Side) -> bool:
    """Whether that knee was seen to be swollen."""
    for (test, side), observation in seen.observations.items():
        if side != leg:
            continue
        if SWOLLEN in observation.signs:
            return True
        if test == SWELLING and any((t.value or 0) >= LARGE_GRADE for t in observation.plain):
            return True
    return False


def _not_measured(observation: Observation) -> bool:
    return all(trial.ended in NOT_MEASURED for trial in observation.plain)


def _legs_of(sign: str, trials: Sequence[Trial]) -> set[Side]:
    """The legs on which a sign of a two-legged test was seen; empty where it was not noted."""
    noted = {trial.sign_legs.get(sign) for trial in trials}
    return {leg for leg in LEGS if noted & {leg, "both"}}


def _all_broken_off(observation: Observation) -> bool:
    return all(trial.broken_off for trial in observation.plain)


def _weight_of_absence(observation: Observation) -> float:
    if not done_to_the_end(observation.spec, observation.plain):
        return 0.0
    return 1.0 if was_watched(observation.spec, observation.plain) else NOT_MARKED


def _as_usual(observation: Observation, graded: Graded) -> bool:
    """Whether the trials behind a number were set up as usual; else a good one says nothing.

    Where the limits are for each step any flight will do.
    """
    spec = observation.spec
    any_flight = any(level.per_step for level in graded.levels)
    for trial in counting(observation, spec.measure(graded.measure)):
        usual = Trial(test=spec.id, steps=trial.steps if any_flight else None)
        if not conditions_of(spec, trial).comparable_to(conditions_of(spec, usual)):
            return False
    return True


def levels_for(graded: Graded, client: Client) -> list[Level]:
    """The levels that have a limit for the person, mildest first."""
    return [level for level in graded.levels if limits_of_level(level, client)]


def level_shares(causes: Causes, graded: Graded, client: Client) -> list[network.Shares]:
    """How often each level of a number is reached by the person's age."""
    return [causes.shares(level, client.age, ()) for level in levels_for(graded, client)]


def limits_of_level(level: Level, client: Client) -> list[float]:
    """The limits of a level that may hold for the person; several where the sex is not known."""
    sexes = ("female", "male") if client.sex == "unspecified" else (client.sex,)
    limits = [level.limit_for(client.age, sex) for sex in sexes]
    return [limit for limit in limits if limit is not None]


def _steps(observation: Observation, graded: Graded) -> int:
    """The steps of the flight a number was taken on; 1 where there is none."""
    made_of = counting(observation, observation.spec.measure(graded.measure))
    noted = made_of[0].steps if made_of else None
    return noted or observation.spec.timer.flight or 1


def _places(
    spec: TestSpec, levels: Sequence[Level], result: Result, client: Client, steps: int
) -> list[float]:
    """The chance that a number truly lies at each level, from better than all to the worst.

    Within the error of measurement of a limit it may lie on either side; without a published
    error it lies where it was read. Of several limits that may hold the most lenient does.
    """
    assert result.value is not None
    higher_is_better = spec.measure(result.measure).better == "higher"
    error = spec.error_at_line(result.measure, client.age, client.sex)
    sem = error.sem if error else None
    beyond = [1.0]
    for level in levels:
        limits = limits_of_level(level, client)
        limit = (min(limits) if higher_is_better else max(limits)) * (
            steps if level.per_step else 1
        )
        short = limit - result.value if higher_is_better else result.value - limit
        if result.decimals == 0:
            # Whole numbers lie on one side of a limit or the other, never on it.
            short += 0.5 if level.inclusive else -0.5
        if sem is None:
            reached = 1.0 if short > 0 or (short == 0 and level.inclusive) else 0.0
        else:
            reached = NormalDist().cdf(short / sem)
        beyond.append(min(beyond[-1], reached))
    return [here - further for here, further in pairwise([*beyond, 0.0])]


def _eased(observation: Observation, cue: str) -> bool | None:
    """Whether the cue took 2 points of pain; None where that is not known."""
    before = [trial.pain for trial in observation.plain if trial.pain is not None]
    after = [trial.pain for trial in observation.with_cue(cue) if trial.pain is not None]
    if not before or not after or max(before) < SORE:
        return None
    return max(before) - max(after) >= EASED


def can_change(row: CueRow, observation: Observation, seen: Seen) -> bool:
    """Whether a test was done in such a way that the cue has something to change."""
    if row.gone is not None:
        return row.gone in observation.signs
    if row.effect == "pain-eased":
        return (observation.worst_pain or 0) >= SORE
    measures = observation.spec.measures
    result = seen.result(observation, measures[0].id) if measures else None
    return result is not None and result.value is not None and result.short


def _happened(
    row: CueRow,
    observation: Observation,
    effect: CueEffect,
    eased: bool | None,
    seen: Seen,
) -> bool | None:
    """Whether the cue did what the row is about; None where there was nothing to change."""
    if row.gone is not None:
        if row.gone in effect.cured:
            return True
        return False if row.gone in effect.persists else None
    if row.effect == "pain-eased":
        return eased
    if not observation.spec.measures:
        return None
    measure = observation.spec.measures[0].id
    result = seen.result(observation, measure)
    change = next((one for one in effect.changes if one.measure == measure), None)
    if result is None or change is None or not result.short:
        return None
    match row.effect:
        case "faster":
            return None if change.error is None else change.verdict == "better"
        case "longer":
            return change.after >= LONGER * change.before
        case _:
            line = result.line
            spec_line = next((o for o in observation.spec.lines if line and o.id == line.id), None)
            if line is None or spec_line is None:
                return None
            return spec_line.met_by(change.after, line.limit)


def _came_back(session: Session, observation: Observation, row: CueRow) -> bool:
    here = [
        trial
        for trial in session.trials
        if trial.test == observation.spec.id
        and trial.counts
        and (observation.side is None or trial.side == observation.side)
    ]
    last = max((place for place, trial in enumerate(here) if trial.cue == row.cue), default=None)
    if last is None:
        return False
    later = [trial for trial in here[last + 1 :] if not trial.cue]
    if row.gone is not None:
        return any(row.gone in trial.signs for trial in later)
    if row.effect == "pain-eased":
        with_cue = max((t.pain for t in here if t.cue == row.cue and t.pain is not None), default=0)
        return any(trial.pain is not None and trial.pain - with_cue >= EASED for trial in later)
    return False


def produced_by(spec: TestSpec, row: CueRow) -> Row | None:
    """The row of what a cue is to change: how often each driver shows it; None for pain."""
    if row.gone is not None:
        return next((one for one in spec.findings if one.sign == row.gone), None)
    if row.effect == "pain-eased" or not spec.graded:
        return None
    return spec.graded[0].levels[0]
