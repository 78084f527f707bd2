"""The note: a session and its meaning as plain text for the record, in SOAP order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from screen_tui import __version__
from screen_tui.engine.measures import HANDS_USED
from screen_tui.engine.results import Assessment, DriverResult, Finding, Result, Standing
from screen_tui.engine.safety import LIMITS
from screen_tui.fields import Side
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.report import facts, words
from screen_tui.report.facts import Fact
from screen_tui.report.text import TextWriter
from screen_tui.report.visits import write_change_since_first
from screen_tui.session.model import Addendum, Session, Trial

JUDGED_AMENDED = (
    "The screen was finished when this was added. What is judged above is the screen as amended; "
    "the trials stand above as they were kept."
)

TRUST = {
    "stall": "the computer stood still for a moment",
    "suspend": "the computer slept, or its clock was set",
    "lost-focus": "the window did not have the keys for a moment",
    "implausible-split": "a repetition was faster than seems possible",
}

_HEADINGS: dict[Standing, str] = {
    "short of the line": "Worse than the cut-off",
    "near the line": "Near the cut-off",
    "meets": "Meets the cut-off",
    "not judged": "Not judged",
}

_Place = tuple[str, Side | None]


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


def write_note(
    protocol: ScreenProtocol,
    session: Session,
    assessment: Assessment,
    written: datetime,
    *,
    ascii_only: bool = True,
    head: Head | None = None,
    earlier: tuple[Session, ...] = (),
) -> str:
    """Write the note of one screen.

    Args:
        protocol: The protocol the session was judged by.
        session: What happened.
        assessment: What it means: ``assess(protocol, session)``.
        written: When the note is written, with its offset from UTC.
        ascii_only: Fold everything to printable ASCII; otherwise texts keep their characters.
        head: Who and when, where it is told in another way than in full.
        earlier: Sessions of the same client; the changes since the first of them are told too.

    Returns:
        Lines of at most 72 columns ended by line feeds, without tabs or trailing blanks. The same
        arguments always give the same text.
    """
    out = TextWriter(protocol, ascii_only=ascii_only)
    _write_head(out, protocol, session, head or head_of(session, written))
    _write_said(out, protocol, session)
    _write_measured(out, protocol, session, assessment)
    write_change_since_first(out, protocol, session, earlier)
    _write_reading(out, protocol, session, assessment)
    _write_plan(out, protocol, session, assessment)
    _write_tail(out, protocol, session)
    return str(out)


def head_of(session: Session, written: datetime) -> Head:
    """Who and when, in full."""
    finished = session.finished
    return Head(
        label=session.client.label,
        age=f"{session.client.age} years",
        started=words.moment(session.started),
        finished="" if finished is None else words.moment(finished) + words.how_long(session),
        written=words.moment(written),
        session=session.id,
    )


def _write_head(out: TextWriter, protocol: ScreenProtocol, session: Session, head: Head) -> None:
    client = session.client
    out.text("Knee screen note")
    out.text("Draft - not signed")
    if session.synthetic:
        out.text(words.INVENTED)
    if head.said:
        out.text(head.said)
    out.blank()
    if head.label:
        out.item("Client label", head.label)
    out.item("Age", head.age)
    no_sex = "unspecified; lines that differ by sex do not judge"
    out.item(
        "Sex (for the reference tables)", no_sex if client.sex == "unspecified" else client.sex
    )
    if client.height_cm is not None:
        out.item("Height", f"{client.height_cm:g} cm")
    if client.mass_kg is not None:
        out.item("Mass", f"{client.mass_kg:g} kg")
    out.item("Screen started", head.started)
    out.item("Screen finished", head.finished or "not recorded; the screen was not finished")
    if session.stopped:
        out.item("Screen stopped", session.stopped)
    out.item("Note written", head.written)
    if head.session:
        out.item("Session", head.session)
    out.item("Protocol", f"{protocol.battery.id} ({words.short_digest(protocol.digest)})")
    tested = {trial.side for trial in session.as_amended.trials if trial.counts}
    names = {"left": "left", "right": "right", None: "both legs together"}
    sides = ", ".join(name for side, name in names.items() if side in tested)
    out.item("Sides tested", sides or "none")


def _write_said(out: TextWriter, protocol: ScreenProtocol, session: Session) -> None:
    """Write S: complaint, goals, limits, and each safety question with its answer."""
    intake = session.intake
    out.heading("S: Subjective")
    out.item(
        "Complaint", words.joined([words.spaced(complaint) for complaint in intake.complaints])
    )
    out.item("Side of the complaint", intake.side)
    out.item("Goals", words.joined([words.spaced(goal) for goal in intake.goals]))
    weeks = intake.recent_surgery_weeks
    kind = f"{intake.surgery}, " if intake.surgery else ""
    out.item("Recent surgery", "" if weeks is None else f"{kind}{words.weeks_ago(weeks)}")
    allowed = words.WEIGHT_BEARING[intake.weight_bearing]
    if intake.weight_bearing == "as-tolerated":
        confirmed = "confirmed" if intake.one_leg_confirmed else "not confirmed"
        allowed += f"; full load on one leg {confirmed}"
    out.item("Weight-bearing allowed", allowed)
    if intake.precautions:
        out.item("Other limits", ", ".join(LIMITS[one] for one in intake.precautions))
    pain = {"now": intake.pain_now, "at worst": intake.pain_worst}
    if told := [f"{when} {score} of 10" for when, score in pain.items() if score is not None]:
        out.item("Pain", words.joined(told))
    if intake.history:
        out.item("History", words.joined(words.history_words(protocol, intake)))
    if intake.alone_at_home is not None:
        out.item("Alone at home", "yes" if intake.alone_at_home else "no")
    if intake.note:
        out.item("In addition", intake.note)
    out.blank()
    out.text("Safety questions:")
    for caution in protocol.cautions:
        out.item(caution.name, words.safety_words(session, caution.id), indent=2)
    known = {caution.id for caution in protocol.cautions}
    for caution_id in intake.cautions:
        if caution_id not in known:
            out.item(
                words.spaced(caution_id), "yes (a question this protocol does not have)", indent=2
            )


def _write_measured(
    out: TextWriter, protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> None:
    """Write O: trials, scores, comparisons, and what was not done and why."""
    out.heading("O: Objective")
    by_place: dict[_Place, list[int]] = {}
    for at, trial in enumerate(session.trials):
        by_place.setdefault((trial.test, words.leg_of(protocol, trial)), []).append(at)
    measured = [(one.test, one.side) for one in assessment.results if one.value is not None]
    places = _in_order(protocol, dict.fromkeys([*by_place, *measured]))
    amended, amended_by = session.as_amended.trials, _amending(session)
    if not places:
        out.text("No test was done.")
    for index, (test_id, side) in enumerate(places):
        if index:
            out.blank()
        spec = protocol.known_test(test_id)
        missing = ", side not recorded" if spec and spec.sided and side is None else ""
        out.text(words.test_on(protocol, test_id, side) + missing)
        for nth, at in enumerate(by_place.get((test_id, side), ()), start=1):
            trial = session.trials[at]
            told = [
                _trial_words(protocol, spec, trial),
                _amended_words(spec, amended[at], amended_by.get(at, ())),
            ]
            out.item(_trial_label(nth, trial), words.joined(told), indent=2)
        for result in assessment.results:
            if (result.test, result.side) == (test_id, side):
                out.facts([facts.value_fact(spec, result)], indent=2)
                out.facts(facts.compared_facts(spec, result), indent=4)
        for effect in assessment.cue_effects:
            if (effect.test, effect.side) == (test_id, side):
                out.item(
                    words.cue_label(effect), words.cue_effect_words(protocol, effect), indent=2
                )
        if spec is not None and spec.not_judged_because:
            out.item("No cut-off for this test", spec.not_judged_because, indent=2)
    not_done = facts.not_done_facts(protocol, session, assessment)
    out.blank()
    out.text("Not done, and why:" if not_done else f"Not done: {facts.ALL_DONE}.")
    out.facts(not_done, indent=2)


def _in_order(protocol: ScreenProtocol, places: Iterable[_Place]) -> list[_Place]:
    """Tests in the order of the protocol, each with its sides; unknown ones last."""
    order = {test.id: index for index, test in enumerate(protocol.tests)}
    sides = ("left", "right", None)
    return sorted(
        places, key=lambda place: (order.get(place[0], len(order)), sides.index(place[1]))
    )


def _trial_label(place: int, trial: Trial) -> str:
    steps = "" if trial.steps is None else f"{trial.steps} step{'' if trial.steps == 1 else 's'}"
    parts = [
        f"Trial {place}",
        trial.direction or "",
        steps,
        f"cued ({words.spaced(trial.cue)})" if trial.cue else "",
        f"struck out ({trial.void})" if trial.void else "",
    ]
    return ", ".join(part for part in parts if part)


def _trial_words(protocol: ScreenProtocol, spec: TestSpec | None, trial: Trial) -> str:
    without_value = "no value recorded" if spec is None else spec.timer.without_value
    # A hold ends for a reason; a count or a flight of stairs that has none ended as planned.
    no_reason = "ended: not recorded" if spec and spec.timer.ends_for_a_reason else ""
    return words.joined(
        [
            words.trial_value(spec, trial) or without_value,
            words.correction_words(trial),
            f"ended: {words.ended_words(trial.ended)}" if trial.ended else no_reason,
            "pain: not recorded" if trial.pain is None else f"pain: {trial.pain} of 10",
            *_signs_and_hands(protocol, spec, trial),
            words.set_up_words(trial),
            *(f"timing: {TRUST.get(flag, words.spaced(flag))}" for flag in trial.trust),
            f"note: {trial.note}" if trial.note else "",
        ]
    )


def _signs_and_hands(
    protocol: ScreenProtocol, spec: TestSpec | None, trial: Trial
) -> tuple[str, str]:
    """What was marked; where nothing was, that is said of what the test looks for."""
    looked_for = set(spec.signs) if spec else set()
    seen = ", ".join(
        words.marked_words(protocol, trial, sign) for sign in trial.signs if sign != HANDS_USED
    )
    signs = seen or ("none marked" if looked_for - {HANDS_USED} else "")
    hands = "use not marked" if HANDS_USED in looked_for else ""
    if HANDS_USED in trial.signs:
        hands = "used"
    return f"signs: {signs}" if signs else "", f"hands: {hands}" if hands else ""


def _write_reading(
    out: TextWriter, protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> None:
    """Write A: what the numbers show, then the suggestion, with all that speaks against it."""
    out.heading("A: Assessment")
    _write_numbers(out, protocol, assessment.results)
    out.blank()
    if assessment.leading:
        out.text(words.FITS_BEST)
    out.item("Rule-based suggestion, not a diagnosis", assessment.headline)
    if assessment.leading:
        out.text(words.NO_PROOF)
    out.item("Kind of answer", words.OUTCOMES[assessment.outcome])
    out.facts(facts.outside_facts(assessment.outside))
    for remark in assessment.remarks:
        out.item("Remark", remark)
    if assessment.outcome == "refer-first" or assessment.cautions:
        _write_referral(out, assessment)
    if assessment.outcome != "refer-first":
        _write_drivers(out, protocol, assessment)
    why_none = facts.why_nothing_settles(session, assessment)
    if why_none:
        out.blank()
        out.text(f"{facts.NEXT_TESTS}: {why_none}")
    elif assessment.next_tests:
        out.blank()
        out.text(f"{facts.NEXT_TESTS}:")
        for item in assessment.next_tests:
            told = (
                f"{words.between_words(protocol, item)} (about {words.number(item.minutes, 1)} min)"
            )
            out.item(words.next_place(protocol, item), told, indent=2)


def _write_numbers(out: TextWriter, protocol: ScreenProtocol, results: tuple[Result, ...]) -> None:
    out.text("What the numbers show:")
    if not results:
        out.text("Nothing was measured.", indent=2)
    for standing in _HEADINGS:
        places = [_result_place(protocol, one) for one in results if one.standing == standing]
        if places:
            out.item(_HEADINGS[standing], words.joined(places), indent=2)


def _result_place(protocol: ScreenProtocol, result: Result) -> str:
    told = result.label
    if result.value is not None:
        told += f" {words.result_amount(result)}"
    if result.standing == "not judged" and result.why_not:
        told += f", {result.why_not}"
    return f"{words.test_on(protocol, result.test, result.side)} ({told})"


def _write_referral(out: TextWriter, assessment: Assessment) -> None:
    """Write what a yes to a safety question means; the words come first in every such note."""
    out.blank()
    out.text("Refer first")
    if not assessment.cautions:
        out.text("The reason stands in the suggestion above.", indent=2)
    for caution in assessment.cautions:
        means = f"{words.caution_means(caution)} {out.cite(caution.source)}"
        out.item(words.caution_name(caution), means, indent=2)
        out.item("Next step", words.caution_step(caution), indent=4)


def _write_drivers(out: TextWriter, protocol: ScreenProtocol, assessment: Assessment) -> None:
    shown, others = facts.drivers_in_full(assessment), facts.drivers_beside(assessment)
    for driver in shown:
        _write_driver(out, protocol, driver)
    out.blank()
    if others:
        out.text("Other drivers weighed:" if shown else "Drivers weighed:")
    for driver in others:
        name = words.driver_on(protocol, driver.driver, driver.side)
        out.item(name, facts.driver_standing(driver), indent=2)
    if shown:
        out.text(facts.WHAT_FINDINGS_ARE)


def _write_driver(out: TextWriter, protocol: ScreenProtocol, driver: DriverResult) -> None:
    out.blank()
    out.item(words.driver_on(protocol, driver.driver, driver.side), facts.driver_standing(driver))
    out.facts(facts.meaning_facts(protocol, driver), indent=2)
    _write_findings(out, protocol, "For", driver.speaks_for)
    _write_findings(out, protocol, "Against", driver.speaks_against)
    out.facts(facts.rests_facts(protocol, driver), indent=2)
    out.facts(facts.counts_against_facts(protocol, driver), indent=2)


def _write_findings(
    out: TextWriter, protocol: ScreenProtocol, label: str, findings: Sequence[Finding]
) -> None:
    told = facts.telling(findings)
    if not told:
        out.item(label, "nothing found", indent=2)
    for finding in told:
        place = words.test_on(protocol, finding.test, finding.side)
        why = f"{finding.words} ({place}; {words.strength_words(finding)})"
        out.facts([Fact(label, why, finding.source)], indent=2)


def _write_plan(
    out: TextWriter, protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> None:
    """Write P as suggestions for the clinician to take, change or drop."""
    plan = assessment.plan
    out.heading("P: Plan")
    out.text(facts.SUGGESTIONS)
    out.blank()
    if not plan.start:
        out.item("Start", facts.nothing_to_start(assessment.outcome))
    for place, start in enumerate(plan.start, start=1):
        told = f"{start.name} ({words.start_for(protocol, start)})"
        out.facts([Fact(f"Start {place}", told, start.source)])
        out.item("Position", start.position, indent=2)
        out.item("Dose", start.dose, indent=2)
        out.item("Cue", start.cue, indent=2)
        out.item("Should feel", start.feel, indent=2)
        out.item("Stop when", start.stop, indent=2)
        out.item("Progress when", start.progress_when, indent=2)
        out.item("Progress to", start.progress_to, indent=2)
    out.blank()
    if not plan.leave_out:
        out.item("Leave out for now", facts.NOTHING_LEFT_OUT)
    for left in plan.leave_out:
        out.facts([Fact("Leave out for now", f"{left.name} - {left.reason}", left.source)])
    out.blank()
    heeded = facts.precautions(session, assessment)
    if not heeded:
        out.item("Precautions", facts.NO_PRECAUTIONS)
    for line in heeded:
        out.item("Precaution", line)
    out.blank()
    out.item(facts.RETEST_DATE, "______________")
    out.facts(facts.retest_facts(protocol, session, assessment), indent=2)
    stops = [out.cited(fact) for fact in facts.stop_rule_facts(protocol, session, assessment)]
    if stops:
        out.item(facts.STOP_AT_ONCE, words.joined(stops), indent=2)


def _write_tail(out: TextWriter, protocol: ScreenProtocol, session: Session) -> None:
    """Write sources, program, protocol, cautions, addenda and an empty signature."""
    out.sources("None was needed for this note.")
    out.heading("Program and protocol")
    out.item("Program", f"screen-tui {__version__}")
    out.item("Protocol", protocol.battery.id)
    kind, _, value = protocol.digest.partition(":")
    out.item(f"Protocol digest ({kind})", value)
    out.heading("Cautions")
    for caution in words.cautions("note"):
        out.text(caution)
    if session.addenda:
        _write_addenda(out, protocol, session)
    out.heading("Signature")
    for field in ("Name", "Credential", "Date", "Time"):
        out.item(field, "______________________________")
    out.item("Co-signature, where local policy asks for one", "____________________")


def _write_addenda(out: TextWriter, protocol: ScreenProtocol, session: Session) -> None:
    """Write each addendum with its time, its reason and what it changed."""
    out.heading("Addendum")
    if any(one.changes_a_trial for one in session.addenda):
        out.text(JUDGED_AMENDED)
    trials = list(session.trials)
    places = _trial_places(protocol, session)
    for place, addendum in enumerate(session.addenda, start=1):
        out.item(f"Addendum {place}, written", words.moment(addendum.written))
        out.item("Reason", addendum.reason, indent=2)
        if addendum.trial is not None:
            at = addendum.trial - 1
            amended = addendum.applied_to(trials[at])
            out.item(places[at], _amendment(protocol, addendum, trials[at], amended), indent=2)
            trials[at] = amended
        if addendum.text:
            out.item("Added", addendum.text, indent=2)


def _amending(session: Session) -> Mapping[int, Sequence[int]]:
    """By the place of a trial, from 0 over all trials, the numbers of the addenda that amend it."""
    found: dict[int, list[int]] = {}
    for place, one in enumerate(session.addenda, start=1):
        if one.changes_a_trial and one.trial is not None:
            found.setdefault(one.trial - 1, []).append(place)
    return found


def _amended_words(spec: TestSpec | None, amended: Trial, numbers: Sequence[int]) -> str:
    """That a trial is judged otherwise than as it was kept; empty when no addendum says so."""
    if not numbers:
        return ""
    told = "struck out" if amended.void else words.trial_value(spec, amended)
    which = f"addend{'um' if len(numbers) == 1 else 'a'} {', '.join(map(str, numbers))}"
    return f"as amended: {told} ({which})"


def _trial_places(protocol: ScreenProtocol, session: Session) -> list[str]:
    """Each trial by its place in its test on its leg, as above, and in the whole session."""
    places = []
    counts: Counter[_Place] = Counter()
    for place, trial in enumerate(session.trials, start=1):
        side = words.leg_of(protocol, trial)
        counts[trial.test, side] += 1
        nth = counts[trial.test, side]
        name = words.test_on(protocol, trial.test, side)
        places.append(f"{name}, trial {nth} (trial {place} of the screen)")
    return places


def _amendment(protocol: ScreenProtocol, addendum: Addendum, before: Trial, after: Trial) -> str:
    spec = protocol.known_test(before.test)
    was = words.trial_value(spec, before) or "no value recorded"
    if addendum.struck_out:
        return words.joined([was, "struck out"])
    if addendum.value is None:
        return "a remark; nothing of it is changed"
    return f"{was} before, {words.trial_value(spec, after)} as corrected"
