"""The head of the note, and S: what was said before testing."""

from __future__ import annotations

from datetime import datetime

from screen_tui.engine.offer import LIMITS
from screen_tui.protocol.whole import Protocol
from screen_tui.report.ascii import Sheet
from screen_tui.report.words import WEIGHT_BEARING, joined, moment, short_digest, spaced, weeks_ago
from screen_tui.session.model import Session


def write_head(sheet: Sheet, protocol: Protocol, session: Session, written: datetime) -> None:
    """Write who, when, by which protocol, and that nobody has signed it yet."""
    client = session.client
    sheet.text("Knee screen note")
    sheet.text("Draft - not signed")
    if session.synthetic:
        sheet.text("Invented demonstration data: this is not a real person.")
    sheet.blank()
    sheet.item("Client label", client.label)
    sheet.item("Age", f"{client.age} years")
    sheet.item("Sex (for the reference tables)", _sex(client.sex))
    if client.height_cm is not None:
        sheet.item("Height", f"{client.height_cm:g} cm")
    if client.mass_kg is not None:
        sheet.item("Mass", f"{client.mass_kg:g} kg")
    sheet.item("Screen started", moment(session.started))
    sheet.item("Screen finished", _finished(session))
    if session.stopped:
        sheet.item("Screen stopped", session.stopped)
    sheet.item("Note written", moment(written))
    sheet.item("Session", session.id)
    sheet.item("Protocol", f"{protocol.battery.id} ({short_digest(protocol.digest)})")
    sheet.item("Sides tested", _sides_tested(session))


def _sex(sex: str) -> str:
    return "unspecified; lines that differ by sex do not judge" if sex == "unspecified" else sex


def _finished(session: Session) -> str:
    if session.finished is None:
        return "not recorded; the screen was not finished"
    minutes = (session.finished - session.started).total_seconds() / 60
    took = f" ({minutes:.0f} min after the start)" if minutes >= 0 else ""
    return moment(session.finished) + took


def _sides_tested(session: Session) -> str:
    tested = {trial.side for trial in session.trials if trial.counts}
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
        sheet.item(caution.name, _safety_answer(session, caution.id), indent=2)
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


def _safety_answer(session: Session, caution_id: str) -> str:
    """Say yes, denied or not recorded.

    The program asks all the questions before it goes on, so a session that went on has heard a no
    to each that is not listed; one that did not go on may have been left half-way through them.
    """
    if caution_id in session.intake.cautions:
        return "yes"
    went_on = session.trials or session.skipped or session.finished or session.stopped
    return "denied" if went_on else "not recorded"
