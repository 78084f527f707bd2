"""Assessments, changes and visits as plain data for other programs: what ``--json`` prints."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from screen_tui import __version__
from screen_tui.engine.change import Change, ErrorUsed, Reading, compare, digest_remarks
from screen_tui.engine.results import (
    Assessment,
    DriverResult,
    Finding,
    NextTest,
    Result,
)
from screen_tui.engine.visits import (
    CriterionSeen,
    FindingChange,
    History,
    MeasureSeries,
    Progress,
    Visit,
    Visits,
    marks_of,
)
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.visit_facts import (
    moved_between,
    plan_followed,
    plan_to_follow,
    verdict_words,
)
from screen_tui.report.words import rounded
from screen_tui.session.model import Session

SCHEMA_VERSION = 2
"""Raised whenever a key is renamed, removed or changes its meaning; new keys do not raise it."""

_Data = dict[str, Any]


def assessment_as_dict(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> _Data:
    """Put an assessment into dictionaries, lists, strings, numbers and None.

    Chances are of 1 and judgement; values are rounded to the decimals of their measure. A side
    of None means a two-legged test or a driver of the whole person. The label is left out.

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
        "leading": [_fields(driver, "driver", "side") for driver in assessment.leading],
        "results": [_result(result) for result in assessment.results],
        "cue_effects": [asdict(effect) for effect in assessment.cue_effects],
        "drivers": [_driver(driver) for driver in assessment.drivers],
        "next_tests": [_next_test(item) for item in assessment.next_tests],
        "plan": {
            "start": [asdict(start) for start in assessment.plan.start],
            "leave_out": [asdict(left) for left in assessment.plan.leave_out],
        },
        "cautions": [asdict(caution) for caution in assessment.cautions],
        "precautions": [asdict(raised) for raised in assessment.precautions],
        "not_tested": [
            {"test": test, "side": side, "reason": reason}
            for test, side, reason in assessment.not_done
        ],
        "outside": [asdict(pointer) for pointer in assessment.outside],
        "remarks": list(assessment.remarks),
    }


def _fields(one: object, *names: str) -> _Data:
    return {name: getattr(one, name) for name in names}


def _head(protocol: ScreenProtocol) -> _Data:
    return {
        "schema_version": SCHEMA_VERSION,
        "program": f"screen-tui {__version__}",
        "protocol": protocol.battery.id,
        "protocol_digest": protocol.digest,
    }


def _result(result: Result) -> _Data:
    judged_by, reference = result.line or result.reference, result.reference
    return {
        **_fields(result, "test", "side", "measure", "label"),
        "value": rounded(result.value, result.decimals),
        **_fields(result, "unit", "standing", "short"),
        "why_not": result.why_not or None,
        "line": asdict(result.line) if result.line else None,
        "flags": [asdict(flag) for flag in result.flags],
        "reference": asdict(reference) | {"percentile": rounded(reference.percentile, 1)}
        if reference
        else None,
        "source": judged_by.source if judged_by else None,
        "near_within": rounded(result.near_within, 2),
        "symmetry_percent": rounded(result.symmetry_percent, 1),
        "slowing_percent": rounded(result.slowing_percent, 1),
        "trials": [rounded(value, result.decimals) for value in result.trials],
    }


def _driver(driver: DriverResult) -> _Data:
    return {
        **_fields(driver, "driver", "side", "standing"),
        "chance": rounded(driver.chance, 3),
        "before": rounded(driver.before, 3),
        "for": [_finding(finding) for finding in driver.speaks_for],
        "against": [_finding(finding) for finding in driver.speaks_against],
        "rests_on": list(driver.rests_on),
        "without": {test: rounded(chance, 3) for test, chance in driver.without.items()},
    }


def _finding(finding: Finding) -> _Data:
    return asdict(finding) | {
        "factor": rounded(finding.factor, 3),
        "weight": rounded(finding.weight, 3),
    }


def _next_test(item: NextTest) -> _Data:
    return {
        **_fields(item, "test", "side"),
        "cue": item.cue or None,
        "without": item.without or None,
        "minutes": item.minutes,
        "between": [{"driver": driver, "side": side} for driver, side in item.between],
        "expected_bits": rounded(item.expected_bits, 3),
        "per_minute": rounded(item.per_minute, 3),
    }


def listing_as_dict(clients: Iterable[Visits]) -> _Data:
    """Every client with the sessions of their visits; here the labels are what is asked for."""
    return {
        "schema_version": SCHEMA_VERSION,
        "clients": [
            {
                "label": client.label,
                "synthetic": client.synthetic,
                "visits": [
                    {
                        "session": one.id,
                        "started": one.started.isoformat(),
                        "marks": list(marks_of(one, client.sessions)),
                    }
                    for one in client.sessions
                ],
            }
            for client in clients
        ],
    }


def changes_as_dict(protocol: ScreenProtocol, earlier: Session, later: Session) -> _Data:
    """What changed between two visits, as ``screen-tui change --json`` prints it."""
    return {
        **_head(protocol),
        "earlier": earlier.id,
        "later": later.id,
        "synthetic": later.synthetic,
        "changes": [_measured(one) | _change(one) for one in compare(protocol, earlier, later)],
        "remarks": list(digest_remarks(protocol, earlier, later)),
    }


def history_as_dict(protocol: ScreenProtocol, history: History) -> _Data:
    """What the visits of a client show, as ``screen-tui visits LABEL --json`` lists it."""
    first, last = history.visits[0], history.visits[-1]
    plan = plan_to_follow(history)
    followed = plan_followed(protocol, plan, last) if plan else ()
    return {
        **_head(protocol),
        "synthetic": history.synthetic,
        "visits": [_visit(one) for one in history.visits],
        "visits_left_out": history.left_out,
        "results": [_series(history, one) for one in history.series],
        "moved": [_moved(one) for one in moved_between(first, last)],
        "plan_of_visit": None if plan is None else plan.number,
        "progress": [_progress(one) for one in followed],
        "remarks": list(history.remarks),
    }


def _measured(one: Change | MeasureSeries) -> _Data:
    return _fields(one, "test", "side", "measure", "label", "unit") | {"better": one.better_when}


def _visit(visit: Visit) -> _Data:
    return {
        "number": visit.number,
        "session": visit.session.id,
        "started": visit.session.started.isoformat(),
        "marks": list(visit.marks),
        **_fields(visit.assessment, "outcome", "headline"),
        "leading": [
            _fields(one, "driver", "side", "standing") | {"chance": rounded(one.chance, 3)}
            for one in visit.assessment.leading
        ],
    }


def _series(history: History, series: MeasureSeries) -> _Data:
    return {
        **_measured(series),
        "line": asdict(series.line) if series.line else None,
        "error": _error(series.error),
        "visits": [
            {
                "number": visit.number,
                **_reading(point.reading, series.decimals),
                "since_first": _change(point.since_first) if point.since_first else None,
                "since_previous": _change(point.since_previous) if point.since_previous else None,
            }
            for visit, point in zip(history.visits, series.points, strict=True)
        ],
    }


def _reading(reading: Reading, decimals: int) -> _Data:
    return {
        "value": rounded(reading.value, decimals),
        "full_time": reading.full,
        "missing": reading.missing or None,
        "corrected": reading.corrected,
    }


def _change(change: Change) -> _Data:
    return {
        "then": _reading(change.then, change.decimals),
        "now": _reading(change.now, change.decimals),
        "difference": rounded(change.difference, change.decimals),
        "at_least": change.at_least,
        "verdict": change.verdict,
        "in_words": verdict_words(change),
        "why_not": change.why_not or None,
        "error": _error(change.error),
        "disagrees": _error(change.disagrees),
        "remarks": list(change.remarks),
    }


def _error(error: ErrorUsed | None) -> _Data | None:
    return None if error is None else asdict(error) | {"mdc95": rounded(error.mdc95, 2)}


def _moved(moved: FindingChange) -> _Data:
    finding = moved.finding
    return {
        "how": moved.how,
        **_fields(moved, "driver", "side", "tested_then", "tested_now"),
        "finding": _finding(finding),
    }


def _progress(progress: Progress) -> _Data:
    return {
        **_fields(progress.start, "exercise", "driver", "side", "progress_when"),
        "criteria": [_criterion(one) for one in progress.criteria],
        **_fields(progress, "step", "why"),
        "progress_to": progress.start.progress_to,
        "easier": progress.easier.id if progress.easier else None,
    }


def _criterion(seen: CriterionSeen) -> _Data:
    return {
        "test": seen.criterion.test,
        "side": seen.side,
        "measure": seen.criterion.measure,
        "value": rounded(seen.value, 2),
        "status": seen.status,
        "why": seen.why or None,
    }
