"""The note: a session and its meaning as plain text for the record, in SOAP order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from screen_tui import __version__
from screen_tui.engine.measures import HANDS_USED
from screen_tui.engine.results import Assessment, Counted, DriverWeight, Result, Standing
from screen_tui.engine.safety import LIMITS
from screen_tui.fields import Side
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.report.facts import (
    ALL_DONE,
    NO_PRECAUTIONS,
    NOTHING_LEFT_OUT,
    RETEST_DATE,
    STOP_AT_ONCE,
    SUGGESTIONS,
    WHAT_WEIGHTS_ARE,
    Fact,
    again_words,
    can_stand,
    compared_facts,
    counted_and_again,
    counts_against_facts,
    driver_standing,
    drivers_beside,
    drivers_in_full,
    has_say,
    meaning_facts,
    not_done_facts,
    nothing_to_start,
    precautions,
    retest_facts,
    stop_rule_facts,
    value_fact,
    why_nothing_settles,
)
from screen_tui.report.text import TextWriter
from screen_tui.report.visits import write_change_since_first
from screen_tui.report.words import (
    INVENTED,
    OUTCOMES,
    WEIGHT_BEARING,
    cautions,
    correction_words,
    counted_words,
    cue_effect_words,
    cue_label,
    driver_on,
    ended_words,
    how_long,
    joined,
    leg_of,
    moment,
    next_place,
    number,
    quantity,
    safety_answer,
    set_up_words,
    short_digest,
    sign_time_words,
    sign_words,
    spaced,
    test_on,
    trial_value,
    weeks_ago,
)
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

_STANDINGS: tuple[Standing, ...] = ("short of the line", "near the line", "meets", "not judged")

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
        started=moment(session.started),
        finished="" if finished is None else moment(finished) + how_long(session),
        written=moment(written),
        session=session.id,
    )


def _write_head(out: TextWriter, protocol: ScreenProtocol, session: Session, head: Head) -> None:
    client = session.client
    out.text("Knee screen note")
    out.text("Draft - not signed")
    if session.synthetic:
        out.text(INVENTED)
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
    out.item("Protocol", f"{protocol.battery.id} ({short_digest(protocol.digest)})")
    tested = {trial.side for trial in session.as_amended.trials if trial.counts}
    names = {"left": "left", "right": "right", None: "both legs together"}
    sides = ", ".join(name for side, name in names.items() if side in tested)
    out.item("Sides tested", sides or "none")


def _write_said(out: TextWriter, protocol: ScreenProtocol, session: Session) -> None:
    """Write S: complaint, goals, limits, and each safety question with its answer."""
    intake = session.intake
    out.heading("S: Subjective")
    out.item("Complaint", joined([spaced(complaint) for complaint in intake.complaints]))
    out.item("Side of the complaint", intake.side)
    out.item("Goals", joined([spaced(goal) for goal in intake.goals]))
    weeks = intake.recent_surgery_weeks
    out.item("Recent surgery", "" if weeks is None else weeks_ago(weeks))
    allowed = WEIGHT_BEARING[intake.weight_bearing]
    if intake.weight_bearing == "as-tolerated":
        confirmed = "confirmed" if intake.one_leg_confirmed else "not confirmed"
        allowed += f"; full load on one leg {confirmed}"
    out.item("Weight-bearing allowed", allowed)
    if intake.precautions:
        out.item("Other limits", ", ".join(LIMITS[one] for one in intake.precautions))
    if intake.note:
        out.item("In addition", intake.note)
    out.blank()
    out.text("Safety questions:")
    for caution in protocol.cautions:
        out.item(caution.name, safety_answer(session, caution.id), indent=2)
    known = {caution.id for caution in protocol.cautions}
    for caution_id in intake.cautions:
        if caution_id not in known:
            out.item(spaced(caution_id), "yes (a question this protocol does not have)", indent=2)


def _write_measured(
    out: TextWriter, protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> None:
    """Write O: trials, scores, comparisons, and what was not done and why."""
    out.heading("O: Objective")
    by_place: dict[_Place, list[int]] = {}
    for at, trial in enumerate(session.trials):
        by_place.setdefault((trial.test, leg_of(protocol, trial)), []).append(at)
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
        out.text(test_on(protocol, test_id, side) + missing)
        for nth, at in enumerate(by_place.get((test_id, side), ()), start=1):
            trial = session.trials[at]
            told = [
                _trial_words(protocol, spec, trial),
                _amended_words(spec, amended[at], amended_by.get(at, ())),
            ]
            out.item(_trial_label(nth, trial), joined(told), indent=2)
        for result in assessment.results:
            if (result.test, result.side) == (test_id, side):
                out.facts([value_fact(spec, result)], indent=2)
                out.facts(compared_facts(spec, result), indent=4)
        for effect in assessment.cue_effects:
            if (effect.test, effect.side) == (test_id, side):
                out.item(cue_label(effect), cue_effect_words(protocol, effect), indent=2)
        if spec is not None and spec.not_judged_because:
            out.item("No line for this test", spec.not_judged_because, indent=2)
    not_done = not_done_facts(protocol, session, assessment)
    out.blank()
    out.text("Not done, and why:" if not_done else f"Not done: {ALL_DONE}.")
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
        f"cued ({spaced(trial.cue)})" if trial.cue else "",
        f"struck out ({trial.void})" if trial.void else "",
    ]
    return ", ".join(part for part in parts if part)


def _trial_words(protocol: ScreenProtocol, spec: TestSpec | None, trial: Trial) -> str:
    without_value = "no value recorded" if spec is None else spec.timer.without_value
    # A hold ends for a reason; a count or a flight of stairs that has none ended as planned.
    no_reason = "ended: not recorded" if spec and spec.timer.ends_for_a_reason else ""
    return joined(
        [
            trial_value(spec, trial) or without_value,
            correction_words(trial),
            f"ended: {ended_words(trial.ended)}" if trial.ended else no_reason,
            "pain: not recorded" if trial.pain is None else f"pain: {trial.pain} of 10",
            *_signs_and_hands(protocol, spec, trial),
            set_up_words(trial),
            *(f"timing: {TRUST.get(flag, spaced(flag))}" for flag in trial.trust),
            f"note: {trial.note}" if trial.note else "",
        ]
    )


def _signs_and_hands(
    protocol: ScreenProtocol, spec: TestSpec | None, trial: Trial
) -> tuple[str, str]:
    """What was marked; where nothing was, that is said of what the test looks for."""
    looked_for = set(spec.signs) if spec else set()
    seen = ", ".join(
        sign_words(protocol, sign) + sign_time_words(trial, sign)
        for sign in trial.signs
        if sign != HANDS_USED
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
    out.item("Rule-based suggestion, not a diagnosis", assessment.headline)
    out.item("Kind of answer", OUTCOMES[assessment.outcome])
    for remark in assessment.remarks:
        out.item("Remark", remark)
    if assessment.outcome == "refer-first" or assessment.cautions:
        _write_referral(out, assessment)
    if assessment.outcome != "refer-first":
        _write_drivers(out, protocol, assessment)
    why_none = why_nothing_settles(session, assessment)
    if why_none:
        out.blank()
        out.text(f"What would settle it: {why_none}")
    elif assessment.next_tests:
        out.blank()
        out.text("What would settle it, most per minute first:")
        for item in assessment.next_tests:
            told = f"{item.reason} (about {number(item.minutes, 1)} min)"
            out.item(next_place(protocol, item), told, indent=2)


def _write_numbers(out: TextWriter, protocol: ScreenProtocol, results: tuple[Result, ...]) -> None:
    out.text("What the numbers show:")
    if not results:
        out.text("Nothing was measured.", indent=2)
    for standing in _STANDINGS:
        places = [_result_place(protocol, one) for one in results if one.standing == standing]
        if places:
            label = "meets the line" if standing == "meets" else standing
            out.item(label.capitalize(), joined(places), indent=2)


def _result_place(protocol: ScreenProtocol, result: Result) -> str:
    told = result.label
    if result.value is not None:
        told += f" {quantity(result.value, result.decimals, result.unit)}"
    if result.standing == "not judged" and result.why_not:
        told += f", {result.why_not}"
    return f"{test_on(protocol, result.test, result.side)} ({told})"


def _write_referral(out: TextWriter, assessment: Assessment) -> None:
    """Write what a yes to a safety question means; the words come first in every such note."""
    out.blank()
    out.text("Refer first")
    if not assessment.cautions:
        out.text("The reason stands in the suggestion above.", indent=2)
    for caution in assessment.cautions:
        out.item(caution.name, f"{caution.means} {out.cite(caution.source)}", indent=2)
        out.item("Next step", caution.next_step, indent=4)


def _write_drivers(out: TextWriter, protocol: ScreenProtocol, assessment: Assessment) -> None:
    shown, others = drivers_in_full(assessment), drivers_beside(assessment)
    for driver in shown:
        _write_driver(out, protocol, driver)
    out.blank()
    if others:
        out.text("Other drivers weighed:" if shown else "Drivers weighed:")
    for driver in others:
        name = driver_on(protocol, driver.driver, driver.side)
        out.item(name, driver_standing(driver), indent=2)
    if any(has_say(driver) for driver in assessment.drivers):
        out.text(WHAT_WEIGHTS_ARE)


def _write_driver(out: TextWriter, protocol: ScreenProtocol, driver: DriverWeight) -> None:
    out.blank()
    out.item(driver_on(protocol, driver.driver, driver.side), driver_standing(driver))
    out.facts(meaning_facts(protocol, driver), indent=2)
    _write_findings(out, protocol, "For", driver.speaks_for)
    _write_findings(out, protocol, "Against", driver.speaks_against)
    if can_stand(driver):
        nothing = "no single finding; without any one of them it would stand the same"
        places = dict.fromkeys(test_on(protocol, one.test, one.side) for one in driver.rests_on)
        out.item("Rests on", joined(places) or nothing, indent=2)
    out.facts(counts_against_facts(protocol, driver), indent=2)


def _write_findings(
    out: TextWriter, protocol: ScreenProtocol, label: str, findings: tuple[Counted, ...]
) -> None:
    if not findings:
        out.item(label, "nothing found", indent=2)
    told, again = counted_and_again(findings)
    for counted in told:
        finding = counted.finding
        place = test_on(protocol, finding.test, finding.side)
        why = f"{finding.reason} ({place}; {counted_words(counted)})"
        out.facts([Fact(label, why, finding.source)], indent=2)
    if again:
        out.item(f"{label}, not counted again", joined(again_words(protocol, again)), indent=2)


def _write_plan(
    out: TextWriter, protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> None:
    """Write P as suggestions for the clinician to take, change or drop."""
    plan = assessment.plan
    out.heading("P: Plan")
    out.text(SUGGESTIONS)
    out.blank()
    if not plan.start:
        out.item("Start", nothing_to_start(assessment.outcome))
    for place, start in enumerate(plan.start, start=1):
        driver = driver_on(protocol, start.driver, start.side)
        out.facts([Fact(f"Start {place}", f"{start.name} (for: {driver})", start.source)])
        out.item("Position", start.position, indent=2)
        out.item("Dose", start.dose, indent=2)
        out.item("Cue", start.cue, indent=2)
        out.item("Should feel", start.feel, indent=2)
        out.item("Stop when", start.stop, indent=2)
        out.item("Progress when", start.progress_when, indent=2)
        out.item("Progress to", start.progress_to, indent=2)
    out.blank()
    if not plan.leave_out:
        out.item("Leave out for now", NOTHING_LEFT_OUT)
    for left in plan.leave_out:
        out.facts([Fact("Leave out for now", f"{left.name} - {left.reason}", left.source)])
    out.blank()
    heeded = precautions(session, assessment)
    if not heeded:
        out.item("Precautions", NO_PRECAUTIONS)
    for line in heeded:
        out.item("Precaution", line)
    out.blank()
    out.item(RETEST_DATE, "______________")
    out.facts(retest_facts(protocol, session, assessment), indent=2)
    stops = [out.cited(fact) for fact in stop_rule_facts(protocol, session, assessment)]
    if stops:
        out.item(STOP_AT_ONCE, joined(stops), indent=2)


def _write_tail(out: TextWriter, protocol: ScreenProtocol, session: Session) -> None:
    """Write sources cited above, program, protocol, cautions, addenda and an empty signature."""
    out.sources("None was needed for this note.")
    out.heading("Program and protocol")
    out.item("Program", f"screen-tui {__version__}")
    out.item("Protocol", protocol.battery.id)
    kind, _, value = protocol.digest.partition(":")
    out.item(f"Protocol digest ({kind})", value)
    out.heading("Cautions")
    for caution in cautions("note"):
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
        out.item(f"Addendum {place}, written", moment(addendum.written))
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
    told = "struck out" if amended.void else trial_value(spec, amended)
    which = f"addend{'um' if len(numbers) == 1 else 'a'} {', '.join(map(str, numbers))}"
    return f"as amended: {told} ({which})"


def _trial_places(protocol: ScreenProtocol, session: Session) -> list[str]:
    """Each trial by its place in its test on its leg, as above, and in the whole session."""
    places = []
    counts: Counter[_Place] = Counter()
    for place, trial in enumerate(session.trials, start=1):
        side = leg_of(protocol, trial)
        counts[trial.test, side] += 1
        nth = counts[trial.test, side]
        name = test_on(protocol, trial.test, side)
        places.append(f"{name}, trial {nth} (trial {place} of the screen)")
    return places


def _amendment(protocol: ScreenProtocol, addendum: Addendum, before: Trial, after: Trial) -> str:
    spec = protocol.known_test(before.test)
    was = trial_value(spec, before) or "no value recorded"
    if addendum.struck_out:
        return joined([was, "struck out"])
    if addendum.value is None:
        return "a remark; nothing of it is changed"
    return f"{was} before, {trial_value(spec, after)} as corrected"
