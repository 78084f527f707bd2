"""Assessments, changes and visits as plain data for other programs: what ``--json`` prints.

The engine's types are printed as they are declared. Only what joins several of them is laid out
here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from typing import Any

from pydantic import TypeAdapter

from screen_tui import __version__
from screen_tui.engine.change import Change, compare, digest_remarks
from screen_tui.engine.conditions import CriterionSeen
from screen_tui.engine.results import Assessment
from screen_tui.engine.visits import (
    DataPoint,
    History,
    MeasureSeries,
    Progress,
    Visit,
    marks_of,
    progress_of,
    what_moved,
)
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.visits import plan_to_follow, verdict_words
from screen_tui.session.model import Session

SCHEMA_VERSION = 2
"""Raised whenever a key is renamed, removed or changes its meaning; new keys do not raise it."""

_Data = dict[str, Any]
_OF_NUMBER = ("test", "side", "measure", "label", "unit", "better")


@cache
def _adapter(kind: Any) -> TypeAdapter[Any]:
    return TypeAdapter(kind)


def as_data(one: Any) -> _Data:
    """One of the engine's results in dictionaries, lists, strings, numbers and None."""
    kind: Any = type(one)
    data: _Data = _adapter(kind).dump_python(one, mode="json", by_alias=True)
    return data


def assessment_as_dict(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> _Data:
    """What ``screen-tui assess --json`` prints.

    Chances are of 1 and judgement; values are rounded to the decimals of their measure. A side
    of None means a two-legged test or a driver of the whole person. The patient code is left out.
    """
    data = as_data(assessment)
    for one in data["results"]:
        one["source"] = (one["line"] or one["reference"] or {}).get("source")
    return {
        **_head(protocol),
        "session": session.id,
        "recorded_under_digest": session.protocol_digest or None,
        "synthetic": session.synthetic,
        **data,
    }


def _head(protocol: ScreenProtocol) -> _Data:
    return {
        "schema_version": SCHEMA_VERSION,
        "program": f"screen-tui {__version__}",
        "protocol": protocol.battery.id,
        "protocol_digest": protocol.digest,
    }


def listing_as_dict(patients: Iterable[Sequence[Session]]) -> _Data:
    """Every patient with the sessions of their visits; here the codes are what is asked for."""
    return {
        "schema_version": SCHEMA_VERSION,
        "clients": [
            {
                "label": patient[-1].client.label.strip(),
                "synthetic": patient[-1].synthetic,
                "visits": [_occasion(one, marks_of(one, patient)) for one in patient],
            }
            for patient in patients
        ],
    }


def _occasion(session: Session, marks: Sequence[str]) -> _Data:
    return {
        "session": session.id,
        "started": session.started.isoformat(),
        "marks": list(marks),
    }


def changes_as_dict(protocol: ScreenProtocol, earlier: Session, later: Session) -> _Data:
    """What changed between two visits, as ``screen-tui change --json`` prints it."""
    return {
        **_head(protocol),
        "earlier": earlier.id,
        "later": later.id,
        "synthetic": later.synthetic,
        "changes": [_change(one) for one in compare(protocol, earlier, later)],
        "remarks": list(digest_remarks(protocol, earlier, later)),
    }


def history_as_dict(protocol: ScreenProtocol, history: History) -> _Data:
    """What the visits of a patient show, as ``screen-tui visits CODE --json`` lists it."""
    first, last = (history.visits[history.compared[at]] for at in (0, -1))
    plan = plan_to_follow(history)
    followed = progress_of(protocol, plan.session, plan.assessment, last.session) if plan else ()
    return {
        **_head(protocol),
        "synthetic": last.session.synthetic,
        "visits": [_visit(one) for one in history.visits],
        "visits_left_out": history.left_out,
        "results": [_series(history, one) for one in history.series],
        "moved": [as_data(one) for one in what_moved(first, last)],
        "plan_of_visit": None if plan is None else plan.number,
        "progress": [_progress(one) for one in followed],
        "remarks": list(history.remarks),
    }


def _visit(visit: Visit) -> _Data:
    return {
        "number": visit.number,
        **_occasion(visit.session, visit.marks),
        "outcome": visit.assessment.outcome,
        "headline": visit.assessment.headline,
        "leading": [
            {key: as_data(one)[key] for key in ("driver", "side", "standing", "chance")}
            for one in visit.assessment.leading
        ],
    }


def _series(history: History, series: MeasureSeries) -> _Data:
    points = zip(history.visits, series.points, strict=True)
    return as_data(series) | {
        "visits": [{"number": visit.number, **_point(one)} for visit, one in points]
    }


def _point(point: DataPoint) -> _Data:
    return {
        **as_data(point.reading),
        "since_first": point.since_first and _since(point.since_first),
        "since_previous": point.since_previous and _since(point.since_previous),
    }


def _change(change: Change) -> _Data:
    return as_data(change) | {"in_words": verdict_words(change)}


def _since(change: Change) -> _Data:
    """The change alone, where it is said already which number it is of."""
    return {key: value for key, value in _change(change).items() if key not in _OF_NUMBER}


def _progress(progress: Progress) -> _Data:
    start = as_data(progress.start)
    return {
        **{key: start[key] for key in ("exercise", "driver", "side", "progress_when")},
        "criteria": [_criterion(one) for one in progress.criteria],
        "step": progress.step,
        "why": progress.why,
        "progress_to": start["progress_to"],
        "easier": progress.easier.id if progress.easier else None,
    }


def _criterion(seen: CriterionSeen) -> _Data:
    data = as_data(seen)
    criterion, side = data.pop("criterion"), data.pop("side")
    return {"test": criterion["test"], "side": side, "measure": criterion["measure"], **data}
