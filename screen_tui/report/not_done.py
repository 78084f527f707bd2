"""What of the battery was not done: skipped, withheld or not for this person, and why."""

from __future__ import annotations

from screen_tui.engine.results import Assessment
from screen_tui.engine.safety import why_not_offered, withheld_tests
from screen_tui.fields import Side
from screen_tui.protocol.model import BatteryItem, Protocol
from screen_tui.report.facts import Fact
from screen_tui.report.words import joined, test_name, with_side
from screen_tui.session.model import Session

_Place = tuple[str, Side | None]

ALL_DONE = "nothing; every test of the battery was done"


def not_done_facts(protocol: Protocol, session: Session, assessment: Assessment) -> list[Fact]:
    """Each reason once, under the tests it holds for; empty when every test was done."""
    by_reason: dict[str, list[_Place]] = {}
    for place, reason in _reasons(protocol, session, assessment).items():
        by_reason.setdefault(reason, []).append(place)
    return [Fact(joined(_names(protocol, places)), reason) for reason, places in by_reason.items()]


def _names(protocol: Protocol, places: list[_Place]) -> list[str]:
    """Name each test once where both its legs were left out for the same reason."""
    sides: dict[str, list[Side | None]] = {}
    for test, side in places:
        sides.setdefault(test, []).append(side)
    names = []
    for test, left_out in sides.items():
        name = test_name(protocol, test)
        if {"left", "right"} <= set(left_out):
            names.append(f"{name}, both sides")
        else:
            names += [with_side(name, side) for side in left_out]
    return names


def _reasons(protocol: Protocol, session: Session, assessment: Assessment) -> dict[_Place, str]:
    reasons: dict[_Place, str] = {}
    for test, side, reason in assessment.not_done:
        reasons[test, side] = reason
    for skip in session.skipped:
        reasons.setdefault((skip.test, skip.side), skip.reason)
    closed = withheld_tests(protocol, session)
    for item in protocol.battery.items:
        spec = protocol.known_test(item.test)
        sides: tuple[Side | None, ...] = ("left", "right") if spec and spec.sided else (None,)
        for side in sides:
            told = {(item.test, side), (item.test, None)} & reasons.keys()
            if not told and not _tried(session, item.test, side):
                reasons[item.test, side] = _not_offered(
                    protocol, session, item, closed.get((item.test, side))
                )
    return reasons


def _tried(session: Session, test: str, side: Side | None) -> bool:
    """Whether any trial was begun there, a struck-out one too: the trials above tell its story."""
    return any(t.test == test and (side is None or t.side == side) for t in session.trials)


def _not_offered(
    protocol: Protocol, session: Session, item: BatteryItem, withheld: str | None
) -> str:
    reason = why_not_offered(protocol, session.intake, item)
    if reason:
        return f"not offered: {reason}"
    if withheld:
        return f"withheld: {withheld}"
    return "not done: the screen was stopped" if session.stopped else "no reason recorded"
