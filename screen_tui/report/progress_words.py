"""What became of the exercises of an earlier plan, in words."""

from __future__ import annotations

from screen_tui.engine.visits import CriterionSeen, History, Progress, Visit, progress_of
from screen_tui.protocol.model import Protocol
from screen_tui.report.facts import Fact
from screen_tui.report.words import (
    driver_name,
    joined,
    quantity,
    sign_words,
    test_name,
    with_side,
)

A_PART_ONLY = (
    "The tests tell a part of each criterion; the rest is for the clinician to ask and see."
)

_STEPS = {
    "up": "up, if the rest of the words above holds as well",
    "stay": "stay with it",
    "down": "down",
    "ask": "ask and watch",
}


def plan_to_follow(history: History) -> Visit | None:
    """The latest visit before the last at which something was started; None where none was."""
    before = [visit for visit in history.visits[:-1] if visit.assessment.plan.start]
    return before[-1] if before else None


def plan_followed(protocol: Protocol, then: Visit, now: Visit) -> tuple[Progress, ...]:
    """What the later visit tells about each exercise of the earlier plan."""
    return progress_of(protocol, then.session, then.assessment, now.session)


def progress_facts(protocol: Protocol, progress: Progress) -> list[Fact]:
    """One exercise: its criterion in words, what the tests tell of it, and the next step."""
    start = progress.start
    facts = [Fact("Progress when", start.progress_when, start.source)]
    facts += [Fact("Tests", _criterion_words(protocol, one)) for one in progress.criteria]
    step = f"{_STEPS[progress.step]} ({progress.why})"
    if progress.step == "up":
        step += f": {start.progress_to}"
    elif progress.step == "down" and progress.easier is not None:
        step += f": {progress.easier.name}"
    elif progress.step == "down":
        step += ": no easier one fits; less load, or leave it out for now"
    return [*facts, Fact("Next step", step)]


def progress_name(protocol: Protocol, progress: Progress) -> str:
    """The exercise and what it is for."""
    start = progress.start
    return f"{start.name} (for: {with_side(driver_name(protocol, start.driver), start.side)})"


def _criterion_words(protocol: Protocol, seen: CriterionSeen) -> str:
    criterion = seen.criterion
    spec = protocol.known_test(criterion.test)
    measure = (
        next((one for one in spec.measures if one.id == criterion.measure), None) if spec else None
    )
    unit = measure.unit if measure else ""
    asked = [
        "meets its line" if criterion.standing else "",
        f"at least {criterion.at_least:g} {unit}" if criterion.at_least is not None else "",
        f"at most {criterion.at_most:g} {unit}" if criterion.at_most is not None else "",
        f"pain at most {criterion.max_pain}" if criterion.max_pain is not None else "",
        *(f"no {sign_words(protocol, sign)}" for sign in criterion.signs_none),
    ]
    name = with_side(test_name(protocol, criterion.test), seen.side)
    label = measure.label.lower() if measure else criterion.measure
    told = f"{name}, {label} {', '.join(one for one in asked if one)}: {seen.status}"
    value = (
        ""
        if seen.value is None or measure is None
        else quantity(seen.value, measure.decimals, unit)
    )
    why = seen.why if seen.why != seen.status else ""
    return f"{told} ({joined([value, why])})" if value or why else told
