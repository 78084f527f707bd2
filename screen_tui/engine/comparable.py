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
from screen_tui.engine.observe import Key, Observation, other
from screen_tui.fields import SetUpId
from screen_tui.protocol.model import Protocol
from screen_tui.protocol.tests import ResultLine, ResultMeasure, TestSpec
from screen_tui.session.model import Client, Session, Trial

_MATTERS: tuple[SetUpId, ...] = tuple(one for one in get_args(SetUpId) if one != "footwear")
"""Footwear is recorded and named, but trials are not told apart by it (clinical judgement)."""


@dataclass(frozen=True, slots=True)
class Way:
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
        """Some order of ways, the same whatever the order of the trials."""
        parts = tuple(f"{v:012.3f}" if isinstance(v, float) else v or "" for _, v in self.set_up)
        return parts, self.steps or 0, self.hands

    @property
    def riser_cm(self) -> float | str | None:
        return dict(self.set_up)["riser_cm"]

    @property
    def but_riser(self) -> tuple[object, ...]:
        return self.steps, *(one for one in self.set_up if one[0] != "riser_cm")

    def like(self, their: Way) -> bool:
        """Whether the set-up is the same, hands aside; a riser that was not noted is like any."""
        risers = {self.riser_cm, their.riser_cm}
        return self.but_riser == their.but_riser and (len(risers) == 1 or None in risers)

    def words(self, than: Way) -> str:
        """What is different about it than about another way, such as ``seat 50 cm, no hands``."""
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


def way_of(spec: TestSpec, trial: Trial) -> Way:
    """How a trial was done."""
    return Way(
        tuple(
            (one, trial.riser_cm if one == "riser_cm" else set_up_of(spec, trial, one))
            for one in _MATTERS
        ),
        trial.steps or spec.timer.flight,
        spec.timer.rises and HANDS_USED in trial.signs,
    )


def done_alike(
    spec: TestSpec, trials: Sequence[Trial], judged: Callable[[Sequence[Trial]], bool]
) -> tuple[Trial, ...]:
    """The trials that make a result: of all those done in one way, the way that tells most.

    That is a way a published line can judge; of several, or where none can be judged, the set-up
    that is usual for the test, so that half a minute of rising with hands stays the published 0
    beside what a higher seat makes possible; then the one without hands; then the one with most
    trials; and between equals always the same, whatever was done first.

    Args:
        spec: The test.
        trials: Those that could make it, in order.
        judged: Whether a line may be held against such trials.
    """
    risers = {trial.riser_cm for trial in trials if trial.riser_cm is not None}
    ways: dict[Way, list[Trial]] = {}
    for trial in trials:
        # Where one riser was noted, it is that of the flights at which nobody measured.
        of_all = {"riser_cm": next(iter(risers))} if len(risers) == 1 else None
        done = trial.model_copy(update=of_all) if of_all else trial
        ways.setdefault(way_of(spec, done), []).append(trial)
    usual = way_of(spec, Trial(test=spec.id))

    def rank(way: Way) -> tuple[object, ...]:
        return not judged(ways[way]), not way.like(usual), way.hands, -len(ways[way]), way.order

    return tuple(ways[min(ways, key=rank)]) if ways else ()


def set_up_like(
    spec: TestSpec, trials: Sequence[Trial], others: Sequence[Trial]
) -> tuple[Trial, ...]:
    """Those of the trials whose way is like that of one of the others, in order."""
    risers: dict[tuple[object, ...], set[float | str | None]] = {}
    for one in others:
        way = way_of(spec, one)
        risers.setdefault(way.but_riser, set()).add(way.riser_cm)

    def like_one(way: Way) -> bool:
        known = risers.get(way.but_riser, set())
        return bool(known) and (way.riser_cm is None or bool({None, way.riser_cm} & known))

    return tuple(trial for trial in trials if like_one(way_of(spec, trial)))


def _set_up_words(name: SetUpId, value: float | str | None) -> str:
    if isinstance(value, str):
        return "no aid" if value == "none" else value.replace("-", " ")
    if value is None:
        return (
            "an aid that was not named"
            if name == "aid"
            else f"{name.removesuffix('_cm')} not noted"
        )
    return f"{name.removesuffix('_cm')} {value:g} cm"


def counting(
    client: Client, observation: Observation, opposite: Observation | None, measure: ResultMeasure
) -> tuple[Trial, ...]:
    """The trials that make a result: fair ones that yield it, and of those such as are alike.

    Where pain limited every trial, those in pain make it. See `done_alike` for which are chosen
    when trials were done in different ways; `shown_apart` remarks on the others.
    """
    spec = observation.spec

    def judged(trials: Sequence[Trial]) -> bool:
        spoilt = spec.timer.rises and any(HANDS_USED in trial.signs for trial in trials)
        return not spoilt and judging_line(fitting(spec, measure, trials), client) is not None

    return done_alike(spec, _yielding(client, observation, opposite, measure), judged)


def _yielding(
    client: Client, observation: Observation, opposite: Observation | None, measure: ResultMeasure
) -> tuple[Trial, ...]:
    """The fair trials that yield the measure; where none is fair, those that pain limited."""
    fair = [trial for trial in observation.plain if not trial.pain_limited]
    return yielding(observation.spec, measure, fair or observation.plain, client, opposite)


def fair_alike(observation: Observation, made_of: Sequence[Trial]) -> list[Trial]:
    """The fair trials done as those that make the result, also such as yield no value."""
    fair = [trial for trial in observation.plain if not trial.pain_limited]
    if not made_of:
        return fair
    theirs = way_of(observation.spec, made_of[0])
    ways = [(trial, way_of(observation.spec, trial)) for trial in fair]
    return [trial for trial, way in ways if way.like(theirs) and way.hands == theirs.hands]


def shown_apart(
    protocol: Protocol, session: Session, seen: Mapping[Key, Observation]
) -> tuple[str, ...]:
    """A remark on each trial that yields a result and was done in another way than what makes it.

    Args:
        protocol: The protocol.
        session: What happened; a trial is named by its place among those of its test and leg.
        seen: The same, observed.
    """
    apart = {
        place: found
        for observation in seen.values()
        for place, found in _apart(session.client, seen, observation).items()
    }
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


def _apart(
    client: Client, seen: Mapping[Key, Observation], observation: Observation
) -> Mapping[int, Mapping[str, str]]:
    """By place in the session, the measures a trial yields without making them, and why not.

    The reason is what was different about the trial.
    """
    spec, side = observation.spec, observation.side
    opposite = seen.get((spec.id, other(side))) if side else None
    found: dict[int, dict[str, str]] = {}
    for measure in spec.measures:
        made_of = counting(client, observation, opposite, measure)
        others = {id(one) for one in _yielding(client, observation, opposite, measure)}
        others -= {id(one) for one in made_of}
        for place, trial in zip(observation.places, observation.plain, strict=True):
            if id(trial) in others:
                words = way_of(spec, trial).words(way_of(spec, made_of[0]))
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


def judging_line(lines: Sequence[ResultLine], client: Client) -> ResultLine | None:
    """The first of the lines that judges and has a band for this person."""
    for line in lines:
        if line.role == "judge" and line.limit_for(client.age, client.sex) is not None:
            return line
    return None
