"""Which trials make a result, which lines may be held against them, and which stand apart.

Only trials done in the same way make one: a rise from 50 cm is another test than one from 43, a
walk with a frame another than one without, and a rise with hands another than one without. A mean
or a best over both would describe nobody.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import get_args

from screen_tui.engine.measures import HANDS_USED, set_up_of, yielding
from screen_tui.engine.observe import Key, Observation
from screen_tui.fields import SetUpId
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import ResultLine, ResultMeasure, TestSpec
from screen_tui.session.model import Client, Session, Trial

_MATTERS: tuple[SetUpId, ...] = tuple(one for one in get_args(SetUpId) if one != "footwear")
"""Trials with other footwear are comparable (clinical judgement)."""


@dataclass(frozen=True, slots=True)
class TestConditions:
    """How a trial was done, as far as that makes its number another one.

    Attributes:
        set_up: Seat, step and aid, each as noted, else as usual for the test; the riser only as
            noted, since no two stairs are alike. None where it is not known.
        steps: Steps of the flight, for stairs.
        hands: Hands were used in rising from a chair.
    """

    set_up: tuple[tuple[SetUpId, float | str | None], ...]
    steps: int | None
    hands: bool

    @property
    def order(self) -> tuple[tuple[str, ...], int, bool]:
        """Some order, the same whatever the order of the trials."""
        parts = tuple(f"{v:012.3f}" if isinstance(v, float) else v or "" for _, v in self.set_up)
        return parts, self.steps or 0, self.hands

    @property
    def riser_cm(self) -> float | str | None:
        return dict(self.set_up)["riser_cm"]

    @property
    def without_riser(self) -> tuple[object, ...]:
        return self.steps, *(one for one in self.set_up if one[0] != "riser_cm")

    def comparable_to(self, their: TestConditions) -> bool:
        """Whether the set-up is the same, hands aside; a riser not recorded is like any."""
        risers = {self.riser_cm, their.riser_cm}
        return self.without_riser == their.without_riser and (len(risers) == 1 or None in risers)

    def words(self, than: TestConditions) -> str:
        """What is different about it than about another, such as ``seat 50 cm, no hands``."""
        parts = [
            _set_up_words(name, value)
            for (name, value), (_, their) in zip(self.set_up, than.set_up, strict=True)
            if value != their
        ]
        if self.steps != than.steps:
            parts.append(f"{self.steps} steps")
        if self.hands != than.hands:
            parts.append("with hands" if self.hands else "without hands")
        return ", ".join(parts)


def conditions_of(spec: TestSpec, trial: Trial) -> TestConditions:
    """How a trial was done."""
    return TestConditions(
        tuple(
            (one, trial.riser_cm if one == "riser_cm" else set_up_of(spec, trial, one))
            for one in _MATTERS
        ),
        trial.steps or spec.timer.flight,
        spec.timer.rises and HANDS_USED in trial.signs,
    )


def comparable_trials(
    spec: TestSpec, trials: Sequence[Trial], judged: Callable[[Sequence[Trial]], bool]
) -> tuple[Trial, ...]:
    """The trials that make a result: of all done under the same conditions, those that tell most.

    Those are such as a published line can judge (``judged``); of several, or where none can be
    judged, those with the set-up that is usual for the test, so that half a minute of rising with
    hands stays the published 0 beside what a higher seat makes possible; then those without hands;
    then those of which there are most; and between equals always the same, whatever came first.
    """
    if len(trials) <= 1:
        return tuple(trials)
    risers = {trial.riser_cm for trial in trials if trial.riser_cm is not None}
    groups: dict[TestConditions, list[Trial]] = {}
    for trial in trials:
        # Where one riser was noted, it is that of the flights at which nobody measured.
        riser_of_all = {"riser_cm": next(iter(risers))} if len(risers) == 1 else None
        done = trial.model_copy(update=riser_of_all) if riser_of_all else trial
        groups.setdefault(conditions_of(spec, done), []).append(trial)
    if len(groups) == 1:
        return tuple(trials)
    usual = conditions_of(spec, Trial(test=spec.id))

    def rank(done: TestConditions) -> tuple[object, ...]:
        group = groups[done]
        other_than_usual = not done.comparable_to(usual)
        return not judged(group), other_than_usual, done.hands, -len(group), done.order

    return tuple(groups[min(groups, key=rank)])


def with_set_up_of(
    spec: TestSpec, trials: Sequence[Trial], others: Sequence[Trial]
) -> tuple[Trial, ...]:
    """Those of the trials whose set-up is comparable to that of one of the others, in order."""
    theirs = {conditions_of(spec, one) for one in others}
    return tuple(
        trial
        for trial in trials
        for ours in [conditions_of(spec, trial)]
        if any(ours.comparable_to(one) for one in theirs)
    )


def _set_up_words(name: SetUpId, value: float | str | None) -> str:
    if isinstance(value, str):
        return "no aid" if value == "none" else value.replace("-", " ")
    if name == "aid":
        return "an aid that was not recorded"
    height = "not recorded" if value is None else f"{value:g} cm"
    return f"{name.removesuffix('_cm')} {height}"


def counting(observation: Observation, measure: ResultMeasure) -> tuple[Trial, ...]:
    """The trials that make a result: fair ones that yield it, and of those such as are comparable.

    Where pain limited every trial, those in pain make it. See `comparable_trials` for which are
    chosen when trials were done in different ways; `shown_apart` remarks on the others.
    """
    spec = observation.spec

    def judged(trials: Sequence[Trial]) -> bool:
        spoilt = spec.timer.rises and any(HANDS_USED in trial.signs for trial in trials)
        lines = with_limits(fitting(spec, measure, trials), observation.client)
        return not spoilt and any(line.role == "judge" for line, _ in lines)

    return comparable_trials(spec, _yielding(observation, measure), judged)


def _yielding(observation: Observation, measure: ResultMeasure) -> tuple[Trial, ...]:
    fair = [trial for trial in observation.plain if not trial.pain_limited]
    return yielding(observation, measure, fair or observation.plain)


def fair_and_comparable(observation: Observation, made_of: Sequence[Trial]) -> list[Trial]:
    """The fair trials done as those that make the result, also such as yield no value."""
    fair = [trial for trial in observation.plain if not trial.pain_limited]
    if not made_of:
        return fair
    theirs = conditions_of(observation.spec, made_of[0])
    done = [(trial, conditions_of(observation.spec, trial)) for trial in fair]
    return [
        trial for trial, ours in done if ours.comparable_to(theirs) and ours.hands == theirs.hands
    ]


def shown_apart(
    protocol: ScreenProtocol, session: Session, seen: Mapping[Key, Observation]
) -> tuple[str, ...]:
    """A remark on each trial that yields a result and was done in another way than what makes it.

    A trial is named by its place among those of its test and leg.
    """
    apart: dict[int, Mapping[str, str]] = {}
    for observation in seen.values():
        apart |= _apart(observation)
    remarks = []
    numbers: Counter[Key] = Counter()
    for place, trial in enumerate(session.trials):
        spec = protocol.known_test(trial.test)
        side = trial.side if spec is not None and spec.sided else None
        numbers[trial.test, side] += 1
        if spec is not None and place in apart:
            name = f"{spec.name}, {side}" if side else spec.name
            ways = " or ".join(dict.fromkeys(apart[place].values()))
            remarks.append(
                f"Trial {numbers[spec.id, side]} of {name} was done in another way ({ways}) "
                "than what counts; "
                f"it is shown apart, not mixed into: {', '.join(apart[place])}."
            )
    return tuple(remarks)


def _apart(observation: Observation) -> Mapping[int, Mapping[str, str]]:
    """By place in the session, what a trial yields but does not make, and what was different."""
    spec = observation.spec
    found: dict[int, dict[str, str]] = {}
    for measure in spec.measures:
        made_of = counting(observation, measure)
        others = {id(one) for one in _yielding(observation, measure)}
        others -= {id(one) for one in made_of}
        for place, trial in zip(observation.places, observation.plain, strict=True):
            if id(trial) in others:
                words = conditions_of(spec, trial).words(conditions_of(spec, made_of[0]))
                found.setdefault(place, {})[measure.label.lower()] = words
    return found


def fitting(spec: TestSpec, measure: ResultMeasure, trials: Sequence[Trial]) -> list[ResultLine]:
    """The lines of a measure that may be held against such trials."""
    lines = [line for line in spec.lines if line.measure == measure.id]
    return [line for line in lines if fits(spec, line, trials)]


def fits(spec: TestSpec, line: ResultLine, trials: Sequence[Trial]) -> bool:
    """Whether every trial was set up as the line's figures were measured.

    An aid that was seen but not named may be any, so a line that asks for one does not fit.
    """
    return right_steps(line.only_steps, trials) and all(
        noted is not None and needed.holds(noted)
        for trial in trials
        for needed in line.only_when
        for noted in [set_up_of(spec, trial, needed.id)]
    )


def as_published(spec: TestSpec, measure: ResultMeasure, trials: Sequence[Trial]) -> bool:
    """Whether the set-up is one that a line of the measure allows, or none asks for any."""
    asking = [line for line in spec.lines if line.measure == measure.id and line.only_when]
    return not asking or any(fits(spec, line, trials) for line in asking)


def right_steps(steps: int | None, trials: Sequence[Trial]) -> bool:
    """Whether every flight had that many steps; any will do for None."""
    return steps is None or all(trial.steps == steps for trial in trials)


def with_limits(lines: Sequence[ResultLine], client: Client) -> list[tuple[ResultLine, float]]:
    """The lines that have a band for this person, each with its limit."""
    limits = [(line, line.limit_for(client.age, client.sex)) for line in lines]
    return [(line, limit) for line, limit in limits if limit is not None]
