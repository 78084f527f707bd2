"""What points outside the drivers: an irritable or overloaded joint, fear, the hip."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from screen_tui.engine.conditions import Seen, holds
from screen_tui.engine.results import DriverResult, Pointer
from screen_tui.fields import Side
from screen_tui.protocol.knowledge import Outside
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Intake, Session


def pointers(
    protocol: ScreenProtocol, session: Session, seen: Seen, drivers: Sequence[DriverResult]
) -> tuple[Pointer, ...]:
    """What the findings look like beside the drivers, what answers point to, what was not measured.

    Args:
        protocol: The protocol.
        session: What happened.
        seen: The same, observed and graded.
        drivers: How the drivers stand.
    """
    return tuple(
        [
            *_looked_like(protocol, session.intake, seen),
            *_answered(protocol, session.intake),
            *_not_measured(protocol, session, seen, drivers),
        ]
    )


def _looked_like(protocol: ScreenProtocol, intake: Intake, seen: Seen) -> Iterator[Pointer]:
    for outside in protocol.outside:
        because = [
            *_found(protocol, outside, seen),
            *(
                f"{question.label.lower()}: {answer.label}"
                for question in protocol.history
                for answer in question.answers
                if answer.id in outside.answers.get(question.id, ())
                and answer.id in intake.history.get(question.id, ())
            ),
        ]
        if len(because) >= outside.needs:
            yield Pointer(outside.id, outside.name, outside.examine, tuple(because), outside.source)


def _found(protocol: ScreenProtocol, outside: Outside, seen: Seen) -> Iterator[str]:
    for finding in outside.findings:
        for (test, side), observation in seen.observations.items():
            if test == finding.test and holds(finding.when, seen, observation) is not None:
                name = protocol.test(test).name.lower()
                yield f"{name}, {side}" if side else name


def _answered(protocol: ScreenProtocol, intake: Intake) -> Iterator[Pointer]:
    for question in protocol.history:
        for answer in question.answers:
            if answer.outside and answer.id in intake.history.get(question.id, ()):
                yield Pointer(
                    f"{question.id}-{answer.id}",
                    f"{question.label}: {answer.label}",
                    answer.outside,
                    (),
                    answer.source or "clinical-judgement",
                )


def _not_measured(
    protocol: ScreenProtocol, session: Session, seen: Seen, drivers: Sequence[DriverResult]
) -> Iterator[Pointer]:
    """What the findings speak against on the leg complained of although it was not measured."""
    for driver in protocol.drivers:
        rule = driver.unless
        if rule is None or session.client.age > rule.to_age:
            continue
        if any(
            one.driver == driver.id
            and one.standing == "not-supported"
            and session.intake.complains_of(one.side)
            and not any(_was_done(seen, test, one.side) for test in rule.tests)
            for one in drivers
        ):
            name = f"{driver.name} not measured"
            yield Pointer(f"{driver.id}-not-measured", name, rule.words, (), driver.source)


def _was_done(seen: Seen, test: str, side: Side | None) -> bool:
    observation = seen.observations.get((test, side))
    return observation is not None and bool(observation.plain)
