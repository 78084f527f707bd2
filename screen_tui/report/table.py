"""The table: one row for each result of each session, for a spreadsheet or a statistics program.

RFC 4180: commas, quotes where they are needed, lines ended by carriage return and line feed. A
number is written as one; a text that a spreadsheet would run as a formula gets an apostrophe.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping

from screen_tui.engine.conditions import Seen
from screen_tui.engine.results import Assessment, Result
from screen_tui.engine.safety import URGENCY
from screen_tui.fields import SetUpId, Side
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.report.facts import (
    as_judged,
    at_least,
    left_out,
    measured_by,
    repeats,
    times_seen,
    trials_behind,
)
from screen_tui.report.machine import as_data
from screen_tui.session.model import Session, Trial

COLUMNS = {
    "session": "id of the session",
    "invented": "`yes` for demonstration data",
    "started": "date and time with the offset from UTC",
    "label": "the patient code",
    "age": "years",
    "sex": "as used for the reference tables",
    "height_cm": "centimetres",
    "mass_kg": "kilograms",
    "complaints": "separated by blanks",
    "complaint_side": "`left`, `right` or `both`",
    "goals": "separated by blanks",
    "weight_bearing": "as allowed",
    "one_leg_confirmed": "`yes` or `no`, where weight bearing is as tolerated",
    "limits": "other limits on load, separated by blanks",
    "surgery": "kind of surgery",
    "surgery_weeks": "weeks since surgery",
    "pain_now": "at rest before testing, 0 to 10",
    "pain_worst": "of the last week, 0 to 10",
    "history": "answers as `question=answer`, several with `+`, separated by blanks",
    "cautions": "ids of the safety questions answered yes, separated by blanks",
    "cleared": "ids of those whose reason is known and cleared",
    "urgency": (
        "how soon somebody else should see the patient, the soonest of cautions and "
        "precautions: `now`, `today` or `days`; `ask again` where only a no is in doubt"
    ),
    "outcome": "kind of answer, as in `assess --json`",
    "leading": "leading drivers with their side, best first, separated by `; `",
    "plan": "ids of the exercises to start, in order; `own` for a line of your own",
    "next_visit": "as it was written",
    "stopped": "why the session was stopped",
    "protocol": "id of the test set",
    "protocol_digest": "of the protocol that read the session now",
    "protocol_changed": "`yes` when it was recorded under another digest",
    "test": "id of the test",
    "side": "`left`, `right`, or `both` for both legs together",
    "cue": "id of the cue of a repeat with one, which is never judged; else empty",
    "measure": "id of the number within the test",
    "value": "the number, in `unit`",
    "at_least": "`yes` when the clock stopped a hold at its full time",
    "unit": "of value, limit, reference, error and trials",
    "standing": (
        "`meets`, `near the line`, `short of the line`, `not judged`; `watched` for a test "
        "without a number; `not done`"
    ),
    "short": "`yes` when worse than the cut-off",
    "why_not": "why it was not judged or not done",
    "near_within": "measurement error at the cut-off, in `unit`",
    "symmetry_percent": "worse side as a share of the better",
    "slowing_percent": "last third of the repetitions against the first",
    "trials": "number of trials that make the value",
    "trial_values": "their values in order, as `[6.2, 7.1]`",
    "line_id": "id of the cut-off it was held against",
    "line_meets": "`at least`, `more than`, `at most` or `less than`",
    "line_limit": "the limit for this age and sex, in `unit`",
    "line_source": "id of its source",
    "reference_mean": "mean of the reference sample, in `unit`",
    "reference_sd": "its standard deviation, in `unit`",
    "percentile": "of the value in that sample",
    "reference_source": "id of its source",
    "pain_max": (
        "worst pain, 0 to 10, in any trial of the test and side; of a repeat, in its trials"
    ),
    "signs": (
        "ids of the signs seen in trials without a cue, of a repeat in its trials, separated "
        "by blanks"
    ),
    "sign_counts": "how often each of them was seen in those trials, in the same order",
    "sign_legs": (
        "the leg of each of them, where one was noted in a test of both legs: `left`, "
        "`right`, `both` or `unknown`"
    ),
    "watched": "`yes` where each of those trials was watched from beginning to end",
    "ended": "why they ended, each reason once, separated by `; `",
    "aid": "walking aid, where it was noted",
    "seat_cm": "seat height in centimetres, where it was noted",
    "step_cm": "step height in centimetres, where it was noted",
    "riser_cm": "height of one stair in centimetres, where it was noted",
    "footwear": "where it was noted",
    "steps": "stair steps of the flight",
}
"""The columns in their order, each with its meaning; a unit of its own is in the name."""


Cell = str | int | float | None
Row = Mapping[str, Cell]
"""A row by the names of its columns; what is left out or None is an empty cell."""

NOT_DONE, WATCHED = "not done", "watched"
"""Standings beside those of a result: a test left out, and one without a number."""

_OF_RESULT = (
    *("measure", "value", "unit", "standing", "why_not"),
    *("near_within", "symmetry_percent", "slowing_percent"),
)
_SET_UP: tuple[SetUpId, ...] = ("aid", "seat_cm", "step_cm", "riser_cm", "footwear")

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def write_table(rows: Iterable[Row], columns: Iterable[str] = COLUMNS) -> str:
    """A table as text, with the names of the columns in the first line.

    Raises:
        ValueError: A row has a column that is not in the table.
    """
    written = io.StringIO()
    writer = csv.DictWriter(written, list(columns), lineterminator="\r\n")
    writer.writeheader()
    for row in rows:
        writer.writerow({name: harmless_cell(cell) for name, cell in row.items()})
    return written.getvalue()


def harmless_cell(cell: Cell) -> str | int | float:
    """A cell as it may be opened by a spreadsheet: numbers as they are, text never a formula."""
    if cell is None:
        return ""
    if isinstance(cell, str) and cell.lstrip(" \u00a0").startswith(_FORMULA):
        return f"'{cell}"
    return cell


def session_rows(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> list[Row]:
    """The rows of one session: results, what was only watched, repeats with a cue, tests not done.

    A session without any of these has one row, so that its outcome is not lost.
    """
    seen = as_judged(protocol, session, assessment)
    about = _about_session(protocol, session, assessment)
    rows = [
        *_done(seen),
        *(row | {"cue": cue} for cue, repeat in repeats(seen) for row in _done(repeat)),
        *_not_done(protocol, session, assessment),
    ]
    return [about | row for row in rows] or [about]


def _done(seen: Seen) -> Iterator[dict[str, Cell]]:
    yield from (_result(seen, result) for result in seen.results.values())
    counted = {(test, side) for test, side, _ in seen.results}
    for place, observation in seen.observations.items():
        if place not in counted and observation.plain:
            yield _about_test(seen, *place, observation.plain) | {"standing": WATCHED}


def _about_session(
    protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> dict[str, Cell]:
    client, intake = session.client, session.intake
    leading = (f"{one.driver} {one.side}" if one.side else one.driver for one in assessment.leading)
    return {
        "session": session.id,
        "invented": _yes_no(session.synthetic),
        "started": session.started.isoformat(),
        "label": client.label,
        "age": client.age,
        "sex": client.sex,
        "height_cm": client.height_cm,
        "mass_kg": client.mass_kg,
        "complaints": " ".join(intake.complaints),
        "complaint_side": intake.side,
        "goals": " ".join(intake.goals),
        "weight_bearing": intake.load_asked,
        "one_leg_confirmed": _yes_no(intake.one_leg_confirmed)
        if intake.weight_bearing == "as-tolerated"
        else None,
        "limits": " ".join(intake.precautions),
        "surgery": intake.surgery,
        "surgery_weeks": intake.recent_surgery_weeks,
        "pain_now": intake.pain_now,
        "pain_worst": intake.pain_worst,
        "history": " ".join(f"{asked}={'+'.join(told)}" for asked, told in intake.history.items()),
        "cautions": " ".join(intake.cautions),
        "cleared": " ".join(one.caution for one in intake.cleared),
        "urgency": _urgency(assessment),
        "outcome": assessment.outcome,
        "leading": "; ".join(leading),
        "plan": " ".join(start.exercise or "own" for start in assessment.plan.start),
        "next_visit": session.plan.next_visit if session.plan else None,
        "stopped": session.stopped,
        "protocol": protocol.battery.id,
        "protocol_digest": protocol.digest,
        "protocol_changed": _yes_no(
            bool(session.protocol_digest) and session.protocol_digest != protocol.digest
        ),
    }


def _urgency(assessment: Assessment) -> Cell:
    raised = {one.urgency for one in assessment.cautions if not one.ask}
    raised |= {one.urgency for one in assessment.precautions if one.urgency}
    asked = any(one.ask for one in assessment.cautions)
    return next((how for how in URGENCY if how in raised), "ask again" if asked else None)


def _result(seen: Seen, result: Result) -> dict[str, Cell]:
    row = _about_test(seen, result.test, result.side, trials_behind(seen, result))
    data = as_data(result)
    row |= {name: data[name] for name in _OF_RESULT}
    row |= {
        "at_least": _yes_no(at_least(*measured_by(seen.protocol, result), result.trials)),
        "short": _yes_no(result.short),
        "trials": len(result.trials),
        # In brackets: a spreadsheet would reckon with -2 -1.
        "trial_values": json.dumps(data["trials"]) if result.trials else None,
    }
    line, reference = data["line"] or {}, data["reference"] or {}
    row |= {f"line_{name}": line.get(name) for name in ("id", "meets", "limit", "source")}
    row |= {f"reference_{name}": reference.get(name) for name in ("mean", "sd", "source")}
    return row | {"percentile": reference.get("percentile")}


def _about_test(
    seen: Seen, test: str, side: Side | None, trials: tuple[Trial, ...]
) -> dict[str, Cell]:
    """What was noted of a test beside its numbers; the set-up is that of the trials given."""
    observation = seen.observations.get((test, side))
    row: dict[str, Cell] = {"test": test, "side": side or "both"}
    if observation is None:
        return row
    counts = times_seen(observation)
    row |= {"pain_max": observation.worst_pain, "signs": " ".join(counts)}
    row["sign_counts"] = " ".join(map(str, counts.values()))
    if any(trial.sign_legs for trial in observation.plain):
        row["sign_legs"] = " ".join(_leg(observation.plain, sign) for sign in counts)
    row["watched"] = _yes_no(all(trial.watched for trial in observation.plain))
    row["ended"] = "; ".join(dict.fromkeys(one.ended for one in observation.plain if one.ended))
    row |= {name: _set_up(observation.spec, trials, name) for name in _SET_UP}
    steps = {trial.steps for trial in trials if trial.steps is not None}
    return row | {"steps": steps.pop() if len(steps) == 1 else None}


def _leg(trials: tuple[Trial, ...], sign: str) -> str:
    legs = {trial.sign_legs[sign] for trial in trials if sign in trial.sign_legs}
    if len(legs) > 1:
        return "both"
    return legs.pop() if legs else "unknown"


def _set_up(spec: TestSpec, trials: tuple[Trial, ...], name: SetUpId) -> Cell:
    """How the trials were set up where they agree, as it was noted; empty where nobody noted it."""
    if name not in {known.id for known in spec.set_up}:
        return None
    noted = {trial.set_up(name) for trial in trials}
    return noted.pop() if len(noted) == 1 else None


def _not_done(
    protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> Iterator[dict[str, Cell]]:
    for (test, side), reason in left_out(protocol, session, assessment).items():
        spec = protocol.known_test(test)
        both_apart = side is None and spec is not None and spec.sided
        yield {
            "test": test,
            "side": "left and right" if both_apart else side or "both",
            "standing": NOT_DONE,
            "why_not": reason,
        }


def _yes_no(holds: bool) -> str:
    return "yes" if holds else "no"
