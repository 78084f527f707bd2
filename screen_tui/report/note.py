"""The note: a session and its meaning as plain text for the record, in SOAP order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from screen_tui import __version__
from screen_tui.engine.assess import assess
from screen_tui.engine.change import Change, compare, digest_remarks
from screen_tui.engine.measures import HANDS_USED
from screen_tui.engine.offer import LIMITS
from screen_tui.engine.results import Assessment, Counted, DriverWeight, Result, Standing, Start
from screen_tui.engine.visits import Visits, history_of
from screen_tui.fields import Side
from screen_tui.protocol.tests import TestSpec
from screen_tui.protocol.whole import Protocol
from screen_tui.report.facts import (
    ALL_DONE,
    NO_PRECAUTIONS,
    NOTHING_LEFT_OUT,
    RETEST_DATE,
    STOP_AT_ONCE,
    SUGGESTIONS,
    WHAT_WEIGHTS_ARE,
    Citations,
    again_words,
    can_stand,
    compared_facts,
    counted_and_again,
    counts_against_fact,
    driver_standing,
    drivers_beside,
    drivers_in_full,
    has_say,
    meaning_fact,
    not_done_facts,
    nothing_to_start,
    places_rested_on,
    precautions,
    retest_facts,
    stop_rule_facts,
    value_fact,
    why_nothing_settles,
)
from screen_tui.report.text import TextWriter
from screen_tui.report.visit_facts import (
    WHAT_IS_A_CHANGE,
    change_fact,
    further_facts,
    series_chart,
    series_name,
)
from screen_tui.report.words import (
    OUTCOMES,
    WEIGHT_BEARING,
    correction_words,
    counted_words,
    cue_effect_words,
    cue_label,
    driver_name,
    ended_words,
    finding_place,
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
    test_name,
    trial_value,
    weeks_ago,
    with_side,
)
from screen_tui.session.model import Addendum, Session, Trial


def write_note(
    protocol: Protocol,
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
    out = TextWriter(ascii_only=ascii_only)
    cited = Citations(protocol)
    write_head(out, protocol, session, head or head_of(session, written))
    write_said(out, protocol, session)
    write_measured(out, protocol, session, assessment, cited)
    if earlier:
        write_change(out, protocol, session, earlier, cited)
    write_reading(out, protocol, session, assessment, cited)
    write_plan(out, protocol, session, assessment, cited)
    write_tail(out, protocol, session, cited)
    return str(out)


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


def write_head(out: TextWriter, protocol: Protocol, session: Session, head: Head) -> None:
    """Write who, when, by which protocol, and that nobody has signed it yet."""
    client = session.client
    out.text("Knee screen note")
    out.text("Draft - not signed")
    if session.synthetic:
        out.text("Invented demonstration data: this is not a real person.")
    if head.said:
        out.text(head.said)
    out.blank()
    if head.label:
        out.item("Client label", head.label)
    out.item("Age", head.age)
    out.item("Sex (for the reference tables)", _sex(client.sex))
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
    out.item("Sides tested", _sides_tested(session))


def _sex(sex: str) -> str:
    return "unspecified; lines that differ by sex do not judge" if sex == "unspecified" else sex


def _sides_tested(session: Session) -> str:
    tested = {trial.side for trial in session.as_amended.trials if trial.counts}
    names: list[str] = [side for side in ("left", "right") if side in tested]
    if None in tested:
        names.append("both legs together")
    return ", ".join(names) or "none"


def write_said(out: TextWriter, protocol: Protocol, session: Session) -> None:
    """Write S: complaint, goals, limits, and each safety question with its answer."""
    intake = session.intake
    out.heading("S: Subjective")
    out.item("Complaint", joined([spaced(complaint) for complaint in intake.complaints]))
    out.item("Side of the complaint", intake.side)
    out.item("Goals", joined([spaced(goal) for goal in intake.goals]))
    weeks = intake.recent_surgery_weeks
    out.item("Recent surgery", "" if weeks is None else weeks_ago(weeks))
    out.item("Weight-bearing allowed", _weight_bearing(session))
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


def _weight_bearing(session: Session) -> str:
    intake = session.intake
    allowed = WEIGHT_BEARING[intake.weight_bearing]
    if intake.weight_bearing == "as-tolerated":
        confirmed = "confirmed" if intake.one_leg_confirmed else "not confirmed"
        return f"{allowed}; full load on one leg {confirmed}"
    return allowed


TRUST = {
    "stall": "the computer stood still for a moment",
    "suspend": "the computer slept, or its clock was set",
    "lost-focus": "the window did not have the keys for a moment",
    "implausible-split": "a repetition was faster than seems possible",
}

_Place = tuple[str, Side | None]


def write_measured(
    out: TextWriter, protocol: Protocol, session: Session, assessment: Assessment, cited: Citations
) -> None:
    """Write O: trials, scores, comparisons, and what was not done and why."""
    out.heading("O: Objective")
    places = _places(protocol, session, assessment)
    by_place: dict[_Place, list[int]] = {}
    for at, trial in enumerate(session.trials):
        by_place.setdefault(_place(protocol, trial), []).append(at)
    amended, amended_by = session.as_amended.trials, amending(session)
    if not places:
        out.text("No test was done.")
    for index, (test_id, side) in enumerate(places):
        if index:
            out.blank()
        spec = protocol.known_test(test_id)
        missing = ", side not recorded" if spec and spec.sided and side is None else ""
        out.text(with_side(test_name(protocol, test_id), side) + missing)
        for nth, at in enumerate(by_place.get((test_id, side), ()), start=1):
            trial = session.trials[at]
            told = [
                _trial_words(protocol, spec, trial),
                amended_words(spec, amended[at], amended_by.get(at, ())),
            ]
            out.item(_trial_label(nth, trial), joined(told), indent=2)
        for result in assessment.results:
            if (result.test, result.side) == (test_id, side):
                _write_result(out, spec, result, cited)
        for effect in assessment.cue_effects:
            if (effect.test, effect.side) == (test_id, side):
                out.item(cue_label(effect), cue_effect_words(protocol, effect), indent=2)
        if spec is not None and spec.not_judged_because:
            out.item("No line for this test", spec.not_judged_because, indent=2)
    write_not_done(out, protocol, session, assessment)


def _places(protocol: Protocol, session: Session, assessment: Assessment) -> list[_Place]:
    """Each test and side that has a trial or a result, in the order of the protocol."""
    found: dict[_Place, None] = {}
    for trial in session.trials:
        found[_place(protocol, trial)] = None
    for result in assessment.results:
        if result.value is not None:
            found[result.test, result.side] = None
    order = {test.id: index for index, test in enumerate(protocol.tests)}
    sides = ("left", "right", None)
    return sorted(found, key=lambda place: (order.get(place[0], len(order)), sides.index(place[1])))


def _place(protocol: Protocol, trial: Trial) -> _Place:
    return trial.test, leg_of(protocol, trial)


def _trial_label(place: int, trial: Trial) -> str:
    parts = [f"Trial {place}"]
    if trial.direction:
        parts.append(trial.direction)
    if trial.steps is not None:
        parts.append(f"{trial.steps} step{'' if trial.steps == 1 else 's'}")
    if trial.cue:
        parts.append(f"cued ({spaced(trial.cue)})")
    if trial.void:
        parts.append(f"struck out ({trial.void})")
    return ", ".join(parts)


def _trial_words(protocol: Protocol, spec: TestSpec | None, trial: Trial) -> str:
    return joined(
        [
            trial_value(spec, trial) or _without_number(spec),
            correction_words(trial),
            _ending(spec, trial),
            "pain: not recorded" if trial.pain is None else f"pain: {trial.pain} of 10",
            _signs(protocol, spec, trial),
            _hands(spec, trial),
            set_up_words(trial),
            *(f"timing: {TRUST.get(flag, spaced(flag))}" for flag in trial.trust),
            f"note: {trial.note}" if trial.note else "",
        ]
    )


def _without_number(spec: TestSpec | None) -> str:
    return "no value recorded" if spec is None else spec.timer.without_value


def _ending(spec: TestSpec | None, trial: Trial) -> str:
    if trial.ended:
        return f"ended: {ended_words(trial.ended)}"
    # A hold ends for a reason; a count or a flight of stairs that has none ended as planned.
    reason = spec is not None and spec.timer.ends_for_a_reason
    return "ended: not recorded" if reason else ""


def _signs(protocol: Protocol, spec: TestSpec | None, trial: Trial) -> str:
    seen = [
        sign_words(protocol, sign) + sign_time_words(trial, sign)
        for sign in trial.signs
        if sign != HANDS_USED
    ]
    if seen:
        return "signs: " + ", ".join(seen)
    looked_for = spec is not None and any(sign != HANDS_USED for sign in spec.signs)
    return "signs: none marked" if looked_for else ""


def _hands(spec: TestSpec | None, trial: Trial) -> str:
    if HANDS_USED in trial.signs:
        return "hands: used"
    looked_for = spec is not None and HANDS_USED in spec.signs
    return "hands: use not marked" if looked_for else ""


def _write_result(out: TextWriter, spec: TestSpec | None, result: Result, cited: Citations) -> None:
    value = value_fact(spec, result)
    out.item(value.label, cited.told(value), indent=2)
    for fact in compared_facts(spec, result):
        out.item(fact.label, cited.told(fact), indent=4)


def write_not_done(
    out: TextWriter, protocol: Protocol, session: Session, assessment: Assessment
) -> None:
    """Write each reason once, with the tests it holds for."""
    facts = not_done_facts(protocol, session, assessment)
    out.blank()
    if not facts:
        out.text(f"Not done: {ALL_DONE}.")
        return
    out.text("Not done, and why:")
    for fact in facts:
        out.item(fact.label, fact.text, indent=2)


CHART_WIDTH = 60


def write_change(
    out: TextWriter,
    protocol: Protocol,
    session: Session,
    earlier: Sequence[Session],
    cited: Citations,
) -> None:
    """Write each result of this visit against the first one; nothing where there was none.

    Args:
        out: Takes the lines.
        protocol: Both visits are read by it.
        session: This visit.
        earlier: Sessions of the same client; what did not start before this one is passed over.
        cited: Gives the sources their numbers.
    """
    before = [one for one in earlier if one.started < session.started and one.id != session.id]
    if not before:
        return
    first = min(before, key=lambda one: (one.started, one.id))
    changes = compare(protocol, first, session)
    out.blank()
    out.text(f"Change since the first visit ({moment(first.started)}):")
    out.text(WHAT_IS_A_CHANGE, indent=2)
    for remark in digest_remarks(protocol, first, session):
        out.item("Remark", remark, indent=2)
    for change in changes:
        if change.now.done:
            fact = change_fact(change)
            out.item(
                f"{_changed_place(protocol, change)}, {fact.label}", cited.told(fact), indent=2
            )
            for more in further_facts(change):
                out.item(more.label, cited.told(more), indent=4)
    _write_charts(out, protocol, (*before, session), changes)
    left = dict.fromkeys(_changed_place(protocol, one) for one in changes if not one.now.done)
    if left:
        out.item("Tested then and not now", joined(list(left)), indent=2)
    out.item("The answer then", assess(protocol, first).headline, indent=2)


def _write_charts(
    out: TextWriter, protocol: Protocol, sessions: Sequence[Session], changes: Sequence[Change]
) -> None:
    """Draw what changed beyond error over all visits, the line and the error band with it."""
    told = [one for one in changes if one.verdict in ("better", "worse")]
    if not told:
        return
    in_order = tuple(sorted(sessions, key=lambda one: (one.started, one.id)))
    label, synthetic = in_order[-1].client.label, in_order[-1].synthetic
    history = history_of(protocol, Visits(label, synthetic, in_order))
    for series in history.series:
        if any((one.test, one.side, one.measure) == series.place for one in told):
            out.text(series_name(protocol, series), indent=2)
            drawn = series_chart(history, series, width=CHART_WIDTH, ascii=out.ascii_only)
            out.drawn(drawn, indent=4)


def _changed_place(protocol: Protocol, change: Change) -> str:
    return with_side(test_name(protocol, change.test), change.side)


_STANDINGS: tuple[Standing, ...] = ("short of the line", "near the line", "meets", "not judged")


def write_reading(
    out: TextWriter, protocol: Protocol, session: Session, assessment: Assessment, cited: Citations
) -> None:
    """Write A: the facts first, then the suggestion, marked as one."""
    out.heading("A: Assessment")
    _write_numbers(out, protocol, assessment.results)
    out.blank()
    out.item("Rule-based suggestion, not a diagnosis", assessment.headline)
    out.item("Kind of answer", OUTCOMES[assessment.outcome])
    for remark in assessment.remarks:
        out.item("Remark", remark)
    _write_referral(out, assessment, cited)
    if assessment.outcome != "refer-first":
        _write_drivers(out, protocol, assessment, cited)
    _write_next(out, protocol, session, assessment)


def _write_numbers(out: TextWriter, protocol: Protocol, results: tuple[Result, ...]) -> None:
    out.text("What the numbers show:")
    if not results:
        out.text("Nothing was measured.", indent=2)
    for standing in _STANDINGS:
        places = [
            _result_place(protocol, result) for result in results if result.standing == standing
        ]
        if places:
            label = "meets the line" if standing == "meets" else standing
            out.item(label.capitalize(), joined(places), indent=2)


def _result_place(protocol: Protocol, result: Result) -> str:
    place = with_side(test_name(protocol, result.test), result.side)
    told = [result.label]
    if result.value is not None:
        told[0] += f" {quantity(result.value, result.decimals, result.unit)}"
    if result.standing == "not judged" and result.why_not:
        told.append(result.why_not)
    return f"{place} ({', '.join(told)})"


def _write_referral(out: TextWriter, assessment: Assessment, cited: Citations) -> None:
    """Write what a yes to a safety question means; the words come first in every such note."""
    if assessment.outcome != "refer-first" and not assessment.cautions:
        return
    out.blank()
    out.text("Refer first")
    if not assessment.cautions:
        out.text("The reason stands in the suggestion above.", indent=2)
    for caution in assessment.cautions:
        out.item(caution.name, f"{caution.means} {cited.cite(caution.source)}", indent=2)
        out.item("Next step", caution.next_step, indent=4)


def _write_drivers(
    out: TextWriter, protocol: Protocol, assessment: Assessment, cited: Citations
) -> None:
    shown = drivers_in_full(assessment)
    for driver in shown:
        _write_driver(out, protocol, driver, cited)
    others = drivers_beside(assessment)
    out.blank()
    if others:
        out.text("Other drivers weighed:" if shown else "Drivers weighed:")
    for driver in others:
        name = with_side(driver_name(protocol, driver.driver), driver.side)
        out.item(name, driver_standing(driver), indent=2)
    if any(has_say(driver) for driver in assessment.drivers):
        out.text(WHAT_WEIGHTS_ARE)


def _write_driver(
    out: TextWriter, protocol: Protocol, driver: DriverWeight, cited: Citations
) -> None:
    out.blank()
    name = with_side(driver_name(protocol, driver.driver), driver.side)
    out.item(name, driver_standing(driver))
    if (meaning := meaning_fact(protocol, driver)) is not None:
        out.item(meaning.label, cited.told(meaning), indent=2)
    _write_findings(out, protocol, "For", driver.speaks_for, cited)
    _write_findings(out, protocol, "Against", driver.speaks_against, cited)
    if can_stand(driver):
        out.item(
            "Rests on",
            joined(places_rested_on(protocol, driver))
            or "no single finding; without any one of them it would stand the same",
            indent=2,
        )
    if (against := counts_against_fact(protocol, driver)) is not None:
        out.item(against.label, cited.told(against), indent=2)


def _write_findings(
    out: TextWriter,
    protocol: Protocol,
    label: str,
    findings: tuple[Counted, ...],
    cited: Citations,
) -> None:
    if not findings:
        out.item(label, "nothing found", indent=2)
    told, again = counted_and_again(findings)
    for counted in told:
        finding = counted.finding
        out.item(
            label,
            f"{finding.reason} ({finding_place(protocol, finding)}; {counted_words(counted)}) "
            f"{cited.cite(finding.source)}",
            indent=2,
        )
    if again:
        out.item(f"{label}, not counted again", joined(again_words(protocol, again)), indent=2)


def _write_next(
    out: TextWriter, protocol: Protocol, session: Session, assessment: Assessment
) -> None:
    why_none = why_nothing_settles(session, assessment)
    if why_none:
        out.blank()
        out.text(f"What would settle it: {why_none}")
    elif assessment.next_tests:
        out.blank()
        out.text("What would settle it, most per minute first:")
        for item in assessment.next_tests:
            out.item(
                next_place(protocol, item),
                f"{item.reason} (about {number(item.minutes, 1)} min)",
                indent=2,
            )


def write_plan(
    out: TextWriter, protocol: Protocol, session: Session, assessment: Assessment, cited: Citations
) -> None:
    """Write P as suggestions for the clinician to take, change or drop."""
    out.heading("P: Plan")
    out.text(SUGGESTIONS)
    out.blank()
    if not assessment.plan.start:
        out.item("Start", nothing_to_start(assessment.outcome))
    for place, start in enumerate(assessment.plan.start, start=1):
        _write_start(out, protocol, place, start, cited)
    out.blank()
    if not assessment.plan.leave_out:
        out.item("Leave out for now", NOTHING_LEFT_OUT)
    for left in assessment.plan.leave_out:
        value = f"{left.name} - {left.reason} {cited.cite(left.source)}"
        out.item("Leave out for now", value)
    _write_precautions(out, session, assessment)
    _write_retest(out, protocol, session, assessment, cited)


def _write_start(
    out: TextWriter, protocol: Protocol, place: int, start: Start, cited: Citations
) -> None:
    driver = with_side(driver_name(protocol, start.driver), start.side)
    out.item(f"Start {place}", f"{start.name} (for: {driver}) {cited.cite(start.source)}")
    out.item("Position", start.position, indent=2)
    out.item("Dose", start.dose, indent=2)
    out.item("Cue", start.cue, indent=2)
    out.item("Should feel", start.feel, indent=2)
    out.item("Stop when", start.stop, indent=2)
    out.item("Progress when", start.progress_when, indent=2)
    out.item("Progress to", start.progress_to, indent=2)


def _write_precautions(out: TextWriter, session: Session, assessment: Assessment) -> None:
    lines = precautions(session, assessment)
    out.blank()
    if not lines:
        out.item("Precautions", NO_PRECAUTIONS)
    for line in lines:
        out.item("Precaution", line)


def _write_retest(
    out: TextWriter, protocol: Protocol, session: Session, assessment: Assessment, cited: Citations
) -> None:
    out.blank()
    out.item(RETEST_DATE, "______________")
    for fact in retest_facts(protocol, session, assessment):
        if fact.label:
            out.item(fact.label, cited.told(fact), indent=2)
        else:
            out.text(cited.told(fact), indent=2)
    stops = [cited.told(fact) for fact in stop_rule_facts(protocol, session, assessment)]
    if stops:
        out.item(STOP_AT_ONCE, joined(stops), indent=2)


CAUTIONS = (
    "This note holds measurements and rule-based suggestions. It is not a diagnosis.",
    "The judgement of the licensed clinician and local policy come first.",
    "A published line describes the group it was measured in; it decides nothing about one person.",
)


def write_tail(out: TextWriter, protocol: Protocol, session: Session, cited: Citations) -> None:
    """Write sources cited above, program, protocol, cautions, addenda and an empty signature."""
    write_sources(out, cited)
    out.heading("Program and protocol")
    out.item("Program", f"screen-tui {__version__}")
    out.item("Protocol", protocol.battery.id)
    kind, _, value = protocol.digest.partition(":")
    out.item(f"Protocol digest ({kind})", value)
    out.heading("Cautions")
    for caution in CAUTIONS:
        out.text(caution)
    write_addenda(out, protocol, session)
    out.heading("Signature")
    for field in ("Name", "Credential", "Date", "Time"):
        out.item(field, "______________________________")
    out.item("Co-signature, where local policy asks for one", "____________________")


def write_sources(out: TextWriter, cited: Citations) -> None:
    """Write the sources cited above, each with its number."""
    out.heading("Sources")
    listed = cited.listed()
    if not listed:
        out.text("None was needed for this note.")
    for nth, entry in listed:
        out.text(f"[{nth}] {entry}", hang=4)


JUDGED_AMENDED = (
    "The screen was finished when this was added. What is judged above is the screen as amended; "
    "the trials stand above as they were kept."
)


def write_addenda(out: TextWriter, protocol: Protocol, session: Session) -> None:
    """Write each addendum with its time, its reason and what it changed; nothing without any."""
    if not session.addenda:
        return
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


def amending(session: Session) -> Mapping[int, Sequence[int]]:
    """By the place of a trial, from 0 over all trials, the numbers of the addenda that amend it."""
    found: dict[int, list[int]] = {}
    for place, one in enumerate(session.addenda, start=1):
        if one.changes_a_trial and one.trial is not None:
            found.setdefault(one.trial - 1, []).append(place)
    return found


def amended_words(spec: TestSpec | None, amended: Trial, numbers: Sequence[int]) -> str:
    """That a trial is judged otherwise than as it was kept; empty when it is not.

    Args:
        spec: The test of the trial, where the protocol has it.
        amended: The trial as it should have been.
        numbers: The numbers of the addenda that say so.
    """
    if not numbers:
        return ""
    told = "struck out" if amended.void else trial_value(spec, amended)
    which = f"addend{'um' if len(numbers) == 1 else 'a'} {', '.join(map(str, numbers))}"
    return f"as amended: {told} ({which})"


def _trial_places(protocol: Protocol, session: Session) -> list[str]:
    """Each trial by its place in its test on its leg, as above, and in the whole session."""
    places = []
    counts: Counter[tuple[str, Side | None]] = Counter()
    for place, trial in enumerate(session.trials, start=1):
        side = leg_of(protocol, trial)
        counts[trial.test, side] += 1
        name = with_side(test_name(protocol, trial.test), side)
        nth = counts[trial.test, side]
        places.append(f"{name}, trial {nth} (trial {place} of the screen)")
    return places


def _amendment(protocol: Protocol, addendum: Addendum, before: Trial, after: Trial) -> str:
    spec = protocol.known_test(before.test)
    was = trial_value(spec, before) or "no value recorded"
    if addendum.struck_out:
        return joined([was, "struck out"])
    if addendum.value is None:
        return "a remark; nothing of it is changed"
    return f"{was} before, {trial_value(spec, after)} as corrected"
