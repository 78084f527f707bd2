"""What to do: the exercises, what is left out, what must be heeded, and what to test again."""

from __future__ import annotations

from dataclasses import replace

from screen_tui.engine.results import Assessment, Outcome, Start
from screen_tui.engine.safety import LIMITS, PAIN_LIMIT
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import words
from screen_tui.report.document import TO_FILL_IN, Document, Line, Section
from screen_tui.report.facts import names_on
from screen_tui.report.words import NOT_A_DIAGNOSIS
from screen_tui.session.model import Intake, Session

SUGGESTIONS = "The clinician takes, changes or drops each suggestion."
NOTHING_LEFT_OUT = "nothing is named by these findings"
NOTHING_SUGGESTED = "nothing is suggested by these findings"
NO_PRECAUTIONS = "none arose from this session"

EARLY_SURGERY = "early-surgery"
"""The precaution that says of surgery what is said here."""

_NO_START: dict[Outcome, str] = {
    "refer-first": "nothing; refer first",
    "nothing-found": "nothing; these tests found nothing to work on",
    "undetermined": "nothing yet; the findings do not settle on a driver",
    "unloaded-only": "nothing yet; only unloaded tests could be done",
}


def nothing_to_start(session: Session, assessment: Assessment) -> str:
    """Why a plan without exercises has none."""
    if session.stopped and assessment.outcome != "refer-first":
        return "nothing; testing was stopped"
    corrected = any(one.changes_a_trial for one in session.addenda)
    otherwise = "nothing was planned that day" if corrected else NOTHING_SUGGESTED
    return _NO_START.get(assessment.outcome, otherwise)


def orders(intake: Intake) -> list[str]:
    """What was ordered: the load that is allowed where it is not full, and other limits."""
    load = words.WEIGHT_BEARING[intake.weight_bearing]
    allowed = [] if intake.weight_bearing == "full" else [f"weight-bearing allowed: {load}"]
    return [*allowed, *(LIMITS[one] for one in intake.precautions)]


def limits(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> list[str]:
    """What must be heeded beside the safety questions: orders, surgery, pain, what was found."""
    intake = session.intake
    found = orders(intake)
    early = any(one.id == EARLY_SURGERY for one in assessment.precautions)
    if intake.recent_surgery_weeks is not None and not early:
        ago = words.weeks_ago(intake.recent_surgery_weeks)
        found.append(f"surgery {ago}: local limits come first")
    done = [trial for trial in session.as_amended.trials if trial.counts]
    pains = [trial.pain for trial in done if trial.pain is not None]
    if pains and max(pains) > PAIN_LIMIT:
        found.append(f"pain up to {max(pains)} of 10 during testing")
    names = {caution.id: caution.name for caution in protocol.cautions}
    found += [
        f"cleared, {names.get(one.caution, words.spaced(one.caution))}: {one.words}"
        for one in intake.cleared
        if one.words
    ]
    return [*found, *map(words.precaution_words, assessment.precautions)]


def in_short(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> list[str]:
    """The same without what made each arise."""
    rules = {rule.id: rule.words for rule in protocol.precautions}
    brief = tuple(
        replace(one, words=rules.get(one.id, one.words)) for one in assessment.precautions
    )
    return limits(protocol, session, replace(assessment, precautions=brief))


def next_visit(session: Session) -> str:
    """The day of the next visit, or a line to write it on."""
    return (session.plan.next_visit if session.plan else "") or TO_FILL_IN


def plan_document(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> Document:
    """The whole plan."""
    return Document((*plan_sections(protocol, session, assessment), mind(SUGGESTIONS)))


def mind(*sentences: str) -> Section:
    """What a reader must know of a page, at its end."""
    return Section(tuple(Line(one, role="quiet") for one in (*sentences, NOT_A_DIAGNOSIS)))


def plan_sections(
    protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> tuple[Section, ...]:
    """Start, leave out, precautions, and the retest."""
    plan = assessment.plan
    start = [line for one in plan.start for line in _exercise(protocol, one)]
    left_out = [Line(one.reason, one.name, one.source, mark="-") for one in plan.leave_out]
    cautions = [
        Line(words.caution_step(one), words.caution_name(one), mark="-")
        for one in assessment.cautions
    ]
    heeded = [*cautions, *(Line(one, mark="-") for one in limits(protocol, session, assessment))]
    return (
        Section(tuple(start or [Line(nothing_to_start(session, assessment))]), "Start"),
        Section(tuple(left_out or [Line(NOTHING_LEFT_OUT)]), "Leave out for now"),
        Section(tuple(heeded or [Line(NO_PRECAUTIONS)]), "Precautions"),
        Section(
            (Line(next_visit(session), "Date"), *_retest(protocol, session, assessment)),
            "Retest",
        ),
    )


def _exercise(protocol: ScreenProtocol, one: Start) -> list[Line]:
    # The dose first: with the name it is what is looked for at a glance.
    parts = {
        "Dose": one.dose,
        "Position": one.position,
        "Cue": one.cue,
        "Feel": one.feel,
        "Stop when": one.stop,
        "Progress when": one.progress_when,
        "Progress to": one.progress_to,
    }
    name = f"{one.name} ({words.start_for(protocol, one)})"
    head = Line(name, source=one.source or None, role="strong")
    return [head, *(Line(text, label, level=1) for label, text in parts.items() if text)]


def _retest(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> list[Line]:
    if assessment.outcome == "refer-first":
        return [Line("Only once the referral has been answered.")]
    leading = {driver.driver for driver in assessment.leading}
    lines = [
        Line(driver.retest, driver.name, driver.source)
        for driver in protocol.drivers
        if driver.id in leading and driver.retest
    ]
    again = dict.fromkeys(
        (result.test, result.side)
        for result in assessment.results
        if result.standing in ("short of the line", "near the line")
    )
    if again:
        lines.append(Line(words.joined(names_on(protocol, again)), "Tests to repeat"))
    if session.trials:
        lines.append(Line("Same side, set-up and use of hands, or it cannot be compared."))
        stops = [Line(rule.text, source=rule.source, mark="-") for rule in protocol.stop_rules]
        lines += [Line("End a test at once for:"), *stops] if stops else []
    return lines
