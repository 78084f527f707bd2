"""What points outside the drivers: an irritable or overloaded joint, fear, the hip."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from screen_tui.engine.conditions import Seen, holds
from screen_tui.engine.results import DriverResult, Pointer
from screen_tui.protocol.knowledge import HistoryAnswer, HistoryQuestion, Outside


def pointers(seen: Seen, drivers: Sequence[DriverResult]) -> tuple[Pointer, ...]:
    """What findings look like beside the drivers, what answers point to, what was not measured."""
    return (*_looked_like(seen), *_answered(seen), *_not_measured(seen, drivers))


def _answers(seen: Seen) -> Iterator[tuple[HistoryQuestion, HistoryAnswer]]:
    for question in seen.protocol.history:
        given = seen.session.intake.history.get(question.id, ())
        yield from ((question, answer) for answer in question.answers if answer.id in given)


def _looked_like(seen: Seen) -> Iterator[Pointer]:
    for outside in seen.protocol.outside:
        because = [
            *_found(outside, seen),
            *(
                f"{question.label.lower()}: {answer.label}"
                for question, answer in _answers(seen)
                if answer.id in outside.answers.get(question.id, ())
            ),
        ]
        if len(because) >= outside.needs:
            yield Pointer(outside.id, outside.name, outside.examine, tuple(because), outside.source)


def _found(outside: Outside, seen: Seen) -> Iterator[str]:
    for finding in outside.findings:
        for (test, side), observation in seen.observations.items():
            if test == finding.test and holds(finding.when, seen, observation):
                name = observation.spec.name.lower()
                yield f"{name}, {side}" if side else name


def _answered(seen: Seen) -> Iterator[Pointer]:
    for question, answer in _answers(seen):
        if answer.outside:
            yield Pointer(
                f"{question.id}-{answer.id}",
                f"{question.label}: {answer.label}",
                answer.outside,
                (),
                answer.source or "clinical-judgement",
            )


def _not_measured(seen: Seen, drivers: Sequence[DriverResult]) -> Iterator[Pointer]:
    """What the findings speak against on the leg complained of although it was not measured."""
    for driver in seen.protocol.drivers:
        rule = driver.unless
        if rule is None or seen.session.client.age > rule.to_age:
            continue
        if any(
            one.driver == driver.id
            and one.standing == "not-supported"
            and seen.session.intake.complains_of(one.side)
            and not any(seen.done(test, one.side) for test in rule.tests)
            for one in drivers
        ):
            name = f"{driver.name} not measured"
            yield Pointer(f"{driver.id}-not-measured", name, rule.words, (), driver.source)
