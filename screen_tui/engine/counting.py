"""Which trials make a result, which lines may be held against them, and which stand apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from screen_tui.engine.alike import done_alike, way_of
from screen_tui.engine.measures import HANDS_USED, set_up_of, yielding
from screen_tui.engine.observe import Key, Observation, other
from screen_tui.protocol.lines import ResultLine
from screen_tui.protocol.tests import ResultMeasure, TestSpec
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Client, Session, Trial


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
