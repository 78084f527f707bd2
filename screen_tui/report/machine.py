"""An assessment as plain data for other programs: what ``screen-tui assess --json`` prints."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from screen_tui import __version__
from screen_tui.engine.results import (
    Assessment,
    Counted,
    DriverWeight,
    Finding,
    LineUsed,
    NextTest,
    ReferenceUsed,
    Result,
)
from screen_tui.protocol.model import Protocol
from screen_tui.report.rounding import rounded
from screen_tui.session.model import Session

SCHEMA_VERSION = 1
"""Raised whenever a key is renamed, removed or changes its meaning; new keys do not raise it."""

_Data = dict[str, Any]


def assessment_as_dict(protocol: Protocol, session: Session, assessment: Assessment) -> _Data:
    """Put an assessment into dictionaries, lists, strings, numbers and None.

    Weights are rounded to one decimal, values to the decimals of their measure. A side of None
    means a two-legged test or a driver of the whole person. The client's label is left out.

    Args:
        protocol: The protocol the session was judged by.
        session: What happened.
        assessment: What it means: ``assess(protocol, session)``.
    """
    return {
        "schema_version": SCHEMA_VERSION,
        "program": f"screen-tui {__version__}",
        "session": session.id,
        "protocol": protocol.battery.id,
        "protocol_digest": protocol.digest,
        "recorded_under_digest": session.protocol_digest or None,
        "synthetic": session.synthetic,
        "outcome": assessment.outcome,
        "headline": assessment.headline,
        "leading": [
            {"driver": driver.driver, "side": driver.side} for driver in assessment.leading
        ],
        "results": [_result(result) for result in assessment.results],
        "cue_effects": [asdict(effect) for effect in assessment.cue_effects],
        "drivers": [_driver(driver) for driver in assessment.drivers],
        "next_tests": [_next_test(item) for item in assessment.next_tests],
        "plan": {
            "start": [asdict(start) for start in assessment.plan.start],
            "leave_out": [asdict(left) for left in assessment.plan.leave_out],
        },
        "cautions": [asdict(caution) for caution in assessment.cautions],
        "not_done": [
            {"test": test, "side": side, "reason": reason}
            for test, side, reason in assessment.not_done
        ],
        "remarks": list(assessment.remarks),
    }


def _result(result: Result) -> _Data:
    judged_by = result.line or result.reference
    return {
        "test": result.test,
        "side": result.side,
        "measure": result.measure,
        "label": result.label,
        "value": rounded(result.value, result.decimals),
        "unit": result.unit,
        "standing": result.standing,
        "short": result.short,
        "why_not": result.why_not or None,
        "line": _line(result.line) if result.line else None,
        "flags": [_line(flag) for flag in result.flags],
        "reference": _reference(result.reference) if result.reference else None,
        "source": judged_by.source if judged_by else None,
        "near_within": rounded(result.near_within, 2),
        "symmetry_percent": rounded(result.symmetry_percent, 1),
        "slowing_percent": rounded(result.slowing_percent, 1),
        "trials": [rounded(value, result.decimals) for value in result.trials],
    }


def _line(line: LineUsed) -> _Data:
    return asdict(line)


def _reference(reference: ReferenceUsed) -> _Data:
    return asdict(reference) | {"percentile": rounded(reference.percentile, 1)}


def _driver(driver: DriverWeight) -> _Data:
    return {
        "driver": driver.driver,
        "side": driver.side,
        "standing": driver.standing,
        "weight": rounded(driver.weight, 1),
        "for": [_counted(counted) for counted in driver.speaks_for],
        "against": [_counted(counted) for counted in driver.speaks_against],
        "rests_on": [_finding(finding) for finding in driver.rests_on],
    }


def _finding(finding: Finding) -> _Data:
    return {
        "test": finding.test,
        "side": finding.side,
        "shows": finding.shows,
        "reason": finding.reason,
        "strength": finding.strength,
        "weight": rounded(finding.decibans, 1),
        "halved_because": finding.halved_because or None,
        "source": finding.source,
    }


def _counted(counted: Counted) -> _Data:
    return _finding(counted.finding) | {"counted": rounded(counted.counted, 1)}


def _next_test(item: NextTest) -> _Data:
    return {
        "test": item.test,
        "side": item.side,
        "cue": item.cue or None,
        "reason": item.reason,
        "minutes": item.minutes,
        "expected_change": rounded(item.expected_change, 1),
        "per_minute": rounded(item.per_minute, 1),
    }
