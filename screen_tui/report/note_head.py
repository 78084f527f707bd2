"""The head of the note, and S: what was said before testing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from screen_tui.engine.safety import LIMITS
from screen_tui.protocol.model import Protocol
from screen_tui.report.ascii import Sheet
from screen_tui.report.safety_answers import safety_answer
from screen_tui.report.words import (
    WEIGHT_BEARING,
    how_long,
    joined,
    moment,
    short_digest,
    spaced,
    weeks_ago,
)
from screen_tui.session.model import Session


@dataclass(frozen=True, slots=True)
class Head:
    """Who and when, as the head of a note tells it.

    An empty label or session leaves its line out. ``said`` stands on top, where there is something
    to say of the whole note.
    """

    label: str
    age: str
    started: str
    finished: str
    written: str
    session: str
    said: str = ""


def head_of(session: Session, written: datetime) -> Head:
    """Who and when, in full."""
    finished = session.finished
    return Head(
        label=session.client.label,
        age=f"{session.client.age} years",
        started=moment(session.started),
        finished="" if finished is None else moment(finished) + how_long(session),
        written=moment(written),
        session=session.id,
    )


def write_head(sheet: Sheet, protocol: Protocol, session: Session, head: Head) -> None:
    """Write who, when, by which protocol, and that nobody has signed it yet."""
    client = session.client
    sheet.text("Knee screen note")
    sheet.text("Draft - not signed")
    if session.synthetic:
        sheet.text("Invented demonstration data: this is not a real person.")
    if head.said:
        sheet.text(head.said)
    sheet.blank()
    if head.label:
        sheet.item("Client label", head.label)
    sheet.item("Age", head.age)
    sheet.item("Sex (for the reference tables)", _sex(client.sex))
    if client.height_cm is not None:
        sheet.item("Height", f"{client.height_cm:g} cm")
    if client.mass_kg is not None:
        sheet.item("Mass", f"{client.mass_kg:g} kg")
    sheet.item("Screen started", head.started)
    sheet.item("Screen finished", head.finished or "not recorded; the screen was not finished")
    if session.stopped:
        sheet.item("Screen stopped", session.stopped)
    sheet.item("Note written", head.written)
    if head.session:
        sheet.item("Session", head.session)
    sheet.item("Protocol", f"{protocol.battery.id} ({short_digest(protocol.digest)})")
    sheet.item("Sides tested", _sides_tested(session))


def _sex(sex: str) -> str:
    return "unspecified; lines that differ by sex do not judge" if sex == "unspecified" else sex


def _sides_tested(session: Session) -> str:
    tested = {trial.side for trial in session.as_amended.trials if trial.counts}
    names: list[str] = [side for side in ("left", "right") if side in tested]
    if None in tested:
        names.append("both legs together")
    return ", ".join(names) or "none"


def write_said(sheet: Sheet, protocol: Protocol, session: Session) -> None:
    """Write S: complaint, goals, limits, and each safety question with its answer."""
    intake = session.intake
    sheet.heading("S: Subjective")
    sheet.item("Complaint", joined([spaced(complaint) for complaint in intake.complaints]))
    sheet.item("Side of the complaint", intake.side)
    sheet.item("Goals", joined([spaced(goal) for goal in intake.goals]))
    weeks = intake.recent_surgery_weeks
    sheet.item("Recent surgery", "" if weeks is None else weeks_ago(weeks))
    sheet.item("Weight-bearing allowed", _weight_bearing(session))
    if intake.precautions:
        sheet.item("Other limits", ", ".join(LIMITS[one] for one in intake.precautions))
    if intake.note:
        sheet.item("In addition", intake.note)
    sheet.blank()
    sheet.text("Safety questions:")
    for caution in protocol.cautions:
        sheet.item(caution.name, safety_answer(session, caution.id), indent=2)
    known = {caution.id for caution in protocol.cautions}
    for caution_id in intake.cautions:
        if caution_id not in known:
            sheet.item(spaced(caution_id), "yes (a question this protocol does not have)", indent=2)


def _weight_bearing(session: Session) -> str:
    intake = session.intake
    allowed = WEIGHT_BEARING[intake.weight_bearing]
    if intake.weight_bearing == "as-tolerated":
        confirmed = "confirmed" if intake.one_leg_confirmed else "not confirmed"
        return f"{allowed}; full load on one leg {confirmed}"
    return allowed
