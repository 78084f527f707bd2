"""Which drivers are told of, in which words, and what would settle the answer."""

from __future__ import annotations

from collections.abc import Sequence

from screen_tui.engine.results import Assessment, Counted, DriverWeight, Finding
from screen_tui.protocol.knowledge import Driver
from screen_tui.protocol.model import Protocol
from screen_tui.report.facts import Fact
from screen_tui.report.words import finding_place, number
from screen_tui.session.model import Session

SHOWN_WHEN_NONE_LEADS = 2
"""How many drivers are laid out in full when no driver leads."""

WHAT_WEIGHTS_ARE = (
    "Weights are ten times the decimal logarithm of a likelihood ratio. They rank; "
    "they are not probabilities."
)

_STANDINGS = {
    "likely": "likely",
    "possible": "possible",
    "weak": "weak",
    "none": "nothing speaks for it",
    "against": "the findings speak against it",
}


def has_say(driver: DriverWeight) -> bool:
    """Whether any finding is about the driver."""
    return bool(driver.speaks_for or driver.speaks_against)


def drivers_in_full(assessment: Assessment) -> tuple[DriverWeight, ...]:
    """The drivers to lay out in full: those that lead, or else the best of the rest."""
    best = [driver for driver in assessment.drivers if driver.speaks_for]
    return assessment.leading or tuple(best[:SHOWN_WHEN_NONE_LEADS])


def drivers_beside(assessment: Assessment) -> list[DriverWeight]:
    """The drivers a line is enough for: weighed, and not told in full."""
    shown = drivers_in_full(assessment)
    return [driver for driver in assessment.drivers if driver not in shown and has_say(driver)]


def driver_standing(driver: DriverWeight) -> str:
    """How a driver stands, and its weight in decibans."""
    return f"{_STANDINGS[driver.standing]}, weight {number(driver.weight, 1)}"


def meaning_fact(protocol: Protocol, driver: DriverWeight) -> Fact | None:
    """What a driver means; None where the protocol has no such driver."""
    known = _known(protocol, driver)
    return None if known is None else Fact("Meaning", known.meaning, known.source)


def counts_against_fact(protocol: Protocol, driver: DriverWeight) -> Fact | None:
    """What would speak against a driver; None where it does not even look possible."""
    known = _known(protocol, driver)
    if known is None or not can_stand(driver):
        return None
    return Fact("Would count against it", known.counts_against)


def _known(protocol: Protocol, weight: DriverWeight) -> Driver | None:
    return next((driver for driver in protocol.drivers if driver.id == weight.driver), None)


def can_stand(driver: DriverWeight) -> bool:
    """Whether it stands well enough to ask what it rests on."""
    return driver.standing in ("likely", "possible")


def places_rested_on(protocol: Protocol, driver: DriverWeight) -> list[str]:
    """Where the findings were made of which any one, taken away, would lower the standing."""
    return list(dict.fromkeys(finding_place(protocol, one) for one in driver.rests_on))


def counted_and_again(findings: Sequence[Counted]) -> tuple[list[Counted], list[Finding]]:
    """The findings to tell in full, and those that show what was counted already."""
    again = [one.finding for one in findings if not one.counted]
    return [one for one in findings if one.finding not in again], again


def again_words(protocol: Protocol, again: Sequence[Finding]) -> list[str]:
    """Each finding that was not counted again, and where it was made."""
    return [f"{one.reason.rstrip('.')} ({finding_place(protocol, one)})" for one in again]


def why_nothing_settles(session: Session, assessment: Assessment) -> str:
    """Why no test is suggested, as the end of a sentence.

    Empty where tests are suggested, and where nothing was found, so that nothing is to settle.
    """
    if assessment.outcome == "refer-first":
        return "no further test is suggested, because a referral comes first."
    if session.stopped:
        return "no further test is suggested, because the screen was stopped."
    if assessment.next_tests or assessment.outcome == "nothing-found":
        return ""
    return "no test left in this protocol would move the ranking."
