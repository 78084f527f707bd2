"""The driver then and now: which findings came, went, or weigh otherwise between two visits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from screen_tui.engine.results import Assessment, Counted, Finding
from screen_tui.fields import Side
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Session

How = Literal["new", "gone", "stronger", "weaker"]

_Sighting = tuple[str, Side | None, str, str, str, bool]
"""Driver, side, test, what it shows, in which words, and whether it speaks for the driver."""


@dataclass(frozen=True, slots=True)
class FindingChange:
    """A finding that is not what it was.

    Attributes:
        finding: As it is now; as it was then where it is gone.
        how: What became of it; stronger and weaker are by its own strength, whichever way it
            speaks.
        counted: By how many decibans it moved its driver, signed: what it counted for now less
            what it counted for then.
        tested_then: Whether the earlier visit could have shown it.
        tested_now: Whether the later visit could have shown it.
    """

    finding: Finding
    how: How
    counted: float
    tested_then: bool
    tested_now: bool


def what_moved(
    protocol: Protocol,
    then: tuple[Session, Assessment],
    now: tuple[Session, Assessment],
) -> tuple[FindingChange, ...]:
    """What moved the answer between two visits, strongest first.

    A finding may be gone because the test was not done again; ``tested_now`` tells. Where either
    visit was refer first, nothing was weighed, so nothing can have moved.
    """
    if "refer-first" in (then[1].outcome, now[1].outcome):
        return ()
    before, after = _counted(then[1]), _counted(now[1])
    found = []
    for sighting in dict.fromkeys([*after, *before]):
        old, new = before.get(sighting), after.get(sighting)
        how = _how(old, new)
        one = new or old
        if how is None or one is None:
            continue
        counted = (new.counted if new else 0.0) - (old.counted if old else 0.0)
        found.append(
            FindingChange(
                one.finding,
                how,
                counted,
                tested_then=_could_show(protocol, then[0], one.finding),
                tested_now=_could_show(protocol, now[0], one.finding),
            )
        )
    return tuple(sorted(found, key=lambda one: (-abs(one.counted), -abs(one.finding.decibans))))


def _counted(assessment: Assessment) -> dict[_Sighting, Counted]:
    """Every finding once, with the most it counted for on any side it speaks to."""
    found: dict[_Sighting, Counted] = {}
    for driver in assessment.drivers:
        for one in (*driver.speaks_for, *driver.speaks_against):
            finding = one.finding
            key = (
                finding.driver,
                finding.side,
                finding.test,
                finding.shows,
                finding.reason,
                finding.decibans > 0,
            )
            if key not in found or abs(one.counted) > abs(found[key].counted):
                found[key] = one
    return found


def _how(old: Counted | None, new: Counted | None) -> How | None:
    if old is None or new is None:
        return "new" if new is not None else "gone" if old is not None else None
    was, is_now = abs(old.finding.decibans), abs(new.finding.decibans)
    if was == is_now:
        return None
    return "stronger" if is_now > was else "weaker"


def _could_show(protocol: Protocol, session: Session, finding: Finding) -> bool:
    """Whether the test was done on that leg, with the cue where the finding is about one."""
    spec = protocol.known_test(finding.test)
    rules = spec.evidence if spec else ()
    cues = {
        rule.when.cue
        for rule in rules
        if (rule.driver, rule.shows, rule.reason) == (finding.driver, finding.shows, finding.reason)
    } or {None}
    return any(
        trial.test == finding.test
        and trial.counts
        and (finding.side is None or trial.side in (None, finding.side))
        and (None in cues or trial.cue in cues)
        for trial in session.as_amended.trials
    )
