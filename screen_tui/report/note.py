"""The note: a session and its meaning for the record, in SOAP order, short enough to paste."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from screen_tui import __version__
from screen_tui.engine.assess import stopped_remark
from screen_tui.engine.results import Assessment, Result
from screen_tui.engine.safety import LIMITS
from screen_tui.fields import Side
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.report import answer, facts, plan, words
from screen_tui.report.cite import Numbered
from screen_tui.report.document import TO_FILL_IN, Document, Line, Part, Section, Table
from screen_tui.report.layout import PAPER, Layout, write_text
from screen_tui.report.trials import addenda_lines, trials_section
from screen_tui.report.visits import change_sections, changes_in_short
from screen_tui.session.model import Session, Trial
from screen_tui.timing.kinds import reason_words

MOST_LINES = 35
"""Lines of a note that is pasted into a record."""

DRAFT = "Knee note - draft, not signed"
MOST_NAMED = 3
"""Safety questions that were not asked and are named; of more, the number is given."""

MOST_DRIVERS = 3
"""Drivers whose reasons are named."""

PAIN_LIMITS = "pain-limits"
NO_SIGN = "no sign"
_MARGIN = 2


@dataclass(frozen=True, slots=True)
class Head:
    """Who and when, each in words; what is empty is left out. ``said`` is of the whole note."""

    label: str
    age: str
    when: str
    written: str
    session: str
    said: str = ""


@dataclass(frozen=True, slots=True)
class _Fit:
    """How a note is made to fit.

    Attributes:
        folded: Which tests go on one line below the table: none, those without sign and pain that
            are not worse than a cut-off, or all. Where any do, a test names two signs.
        spaced: Whether blank lines part its blocks.
        most: Lines a paragraph may take that may be cut; None for all.
        most_of_all: Lines the others may take.
        lean: Whether it is left out what is not started for now, and that nothing is against.
        bare: Whether exercises are named without their doses, and drivers without what is against.
    """

    folded: Literal["none", "plain", "all"] = "none"
    spaced: bool = False
    most: int | None = None
    most_of_all: int | None = None
    lean: bool = False
    bare: bool = False


SHORTENED = Line("Shortened: the full note holds all results and addenda.", cut=False)

_FITS = (
    _Fit(spaced=True),
    _Fit(),
    _Fit("plain"),
    _Fit("plain", most=3),
    _Fit("plain", most=2),
    _Fit("plain", most=2, lean=True),
    _Fit("plain", most=1, lean=True),
    _Fit("all", most=2, lean=True),
    _Fit("all", most=1, lean=True),
    *(_Fit("all", most=1, most_of_all=n, lean=True, bare=True) for n in (None, 8, 4, 2, 1)),
)


def head_of(session: Session, written: datetime) -> Head:
    """Who and when, in full."""
    return Head(
        label=session.client.label,
        age=f"{session.client.age}",
        when=words.joined([f"{session.started:%Y-%m-%d %H:%M}", words.how_long(session)]),
        written=words.moment(written),
        session=session.id,
    )


def write_note(
    protocol: ScreenProtocol,
    session: Session,
    assessment: Assessment,
    written: datetime,
    *,
    full: bool = False,
    width: int = PAPER,
    ascii_only: bool = True,
    head: Head | None = None,
    earlier: tuple[Session, ...] = (),
) -> str:
    """Write the note of one session.

    Args:
        written: When the note is written, with its offset from UTC.
        head: Who and when, where it is not given in full.
        earlier: Sessions of the same patient; what changed since then comes first.

    Returns:
        At most `MOST_LINES` lines on a paper's width, and the appendix where it is asked for;
        without tabs or trailing blanks. The same arguments always give the same text.
    """
    head = head or head_of(session, written)
    before = tuple(one for one in earlier if one.started < session.started and one.id != session.id)
    changes = Section(tuple(changes_in_short(protocol, before, session)))
    text, built = "", dict[tuple[str, bool, bool], Document]()
    for fit in _FITS[:1] if full else _FITS:
        kind = fit.folded, fit.lean, fit.bare
        if kind not in built:
            built[kind] = _short(protocol, session, assessment, head, before, changes, fit)
        document = shown = replace(built[kind], spaced=fit.spaced)
        if fit.bare:
            shown = replace(document, sections=(*document.sections, Section((SHORTENED,))))
        layout = Layout(PAPER, most=fit.most, most_of_all=fit.most_of_all, ascii_only=ascii_only)
        text = write_text(shown, layout)
        if text.count("\n") <= MOST_LINES:
            break
    if width != PAPER:
        # What a paper has room for, laid out anew; a page that is scrolled need not be cut.
        text = write_text(document, Layout(width, ascii_only=ascii_only))
    if not full:
        return text
    numbered = Numbered(protocol)
    layout = Layout(width, cite=numbered, ascii_only=ascii_only)
    appendix = Document(_appendix(protocol, session, assessment, head, before), "Appendix")
    body = write_text(appendix, layout)
    sources = write_text(Document((numbered.section(),)), layout)
    return "\n".join((text, body, sources))


# ------------------------------------------------------------------ the short note


def _short(
    protocol: ScreenProtocol,
    session: Session,
    assessment: Assessment,
    head: Head,
    before: tuple[Session, ...],
    changes: Section,
    fit: _Fit,
) -> Document:
    return Document(
        (
            Section(_head(session, head)),
            changes,
            Section(tuple(_subjective(protocol, session, before)), tag="S"),
            Section(tuple(_objective(protocol, session, assessment, fit.folded)), tag="O"),
            Section(tuple(_assessment(protocol, session, assessment, fit)), tag="A"),
            Section(tuple(_plan(protocol, session, assessment, fit)), tag="P"),
        ),
        DRAFT,
        _MARGIN,
    )


def _head(session: Session, head: Head) -> tuple[Line, ...]:
    client = session.client
    who = [
        head.label,
        f"{head.age} years",
        "sex not specified" if client.sex == "unspecified" else client.sex,
        f"{client.height_cm:g} cm" if client.height_cm is not None else "",
        f"{client.mass_kg:g} kg" if client.mass_kg is not None else "",
    ]
    when = words.joined([", ".join(filter(None, who)), head.when])
    invented = words.INVENTED if session.synthetic else ""
    return tuple(Line(one) for one in (when, invented, head.said) if one)


def _subjective(
    protocol: ScreenProtocol, session: Session, before: Sequence[Session]
) -> list[Line]:
    intake = session.intake
    pain = {"now": intake.pain_now, "worst": intake.pain_worst}
    scores = [f"{when} {score}" for when, score in pain.items() if score is not None]
    side = "both knees" if intake.side == "both" else intake.side
    none = "not asked" if intake.cut_short else "none"
    complaint = [
        f"{', '.join(map(words.spaced, intake.complaints)) or 'none named'} ({side})",
        f"goals: {', '.join(map(words.spaced, intake.goals)) or none}",
        f"pain 0-10: {', '.join(scores)}" if scores else "",
    ]
    history = _history(protocol, session, before)
    return [
        Line(words.joined(complaint), "Complaint", cut=False),
        Line(words.joined(_limits(session)), "Limits", cut=False),
        *([Line(words.joined(history), "History")] if history else []),
        Line(safety_in_short(protocol, session), "Safety questions", cut=False),
        *([Line(intake.note, "Comment")] if intake.note else []),
    ]


def _limits(session: Session) -> list[str]:
    intake = session.intake
    weeks, kind = intake.recent_surgery_weeks, f"{intake.surgery} " if intake.surgery else ""
    surgery = f"{kind}surgery {words.weeks_ago(weeks)}" if weeks is not None else "no surgery"
    if weeks is None and (intake.cut_short or not words.went_on(session)):
        surgery = "surgery not asked"
    borne = words.WEIGHT_BEARING[intake.load_asked] if intake.load_asked else "not asked"
    load = f"weight-bearing {borne}"
    if intake.weight_bearing == "as-tolerated":
        load += f", one leg {'confirmed' if intake.one_leg_confirmed else 'not confirmed'}"
    alone = {None: "", True: "alone at home", False: "not alone at home"}[intake.alone_at_home]
    return [load, surgery, *(LIMITS[one] for one in intake.precautions), alone]


def _history(protocol: ScreenProtocol, session: Session, before: Sequence[Session]) -> list[str]:
    """Each answer of the history; those that a retest took over come last, with their date."""
    taken_over = _taken_over(protocol, session, before)
    answers = words.history_words(protocol, session.intake)
    asked = [text for question, text in answers.items() if question not in taken_over]
    by_day: dict[str, list[str]] = {}
    for question, day in taken_over.items():
        by_day.setdefault(day, []).append(answers[question])
    earlier = [f"as on {day}: {words.joined(texts)}" for day, texts in sorted(by_day.items())]
    return [*asked, *earlier]


def _taken_over(
    protocol: ScreenProtocol, session: Session, before: Sequence[Session]
) -> dict[str, str]:
    """Of each question of the history that a retest did not put, the day of its answer."""
    visits = {one.id: one for one in before}
    asked_anew = {one.id for one in protocol.history if one.at_retest == "asked"}
    found = {}
    for question, given in session.intake.history.items():
        at = session
        while (
            (earlier := visits.get(at.follows))
            # Two files may follow each other.
            and earlier.started < at.started
            and earlier.intake.history.get(question) == given
        ):
            at = earlier
        if at is not session and question not in asked_anew:
            found[question] = at.started.date().isoformat()
    return found


def safety_in_short(protocol: ScreenProtocol, session: Session) -> str:
    """The safety questions that were not a plain no, and what holds for the others."""
    names = {caution.id: caution.name for caution in protocol.cautions}
    unknown = [one for one in session.intake.cautions if one not in names]
    by_answer: dict[str, list[str]] = {}
    for caution_id, name in names.items():
        by_answer.setdefault(words.safety_words(session, caution_id), []).append(name)
    for one in unknown:
        by_answer.setdefault("yes", []).append(words.spaced(one))
    denied, unasked = by_answer.pop("denied", []), by_answer.pop("not asked", [])
    text = [f"{answer}: {', '.join(of)}" for answer, of in by_answer.items()]
    if denied:
        text.append(
            f"no to the other {len(denied)}" if text or unasked else f"no to all {len(denied)}"
        )
    if unasked:
        few = len(unasked) <= MOST_NAMED
        text.append(f"not asked: {', '.join(unasked)}" if few else f"{len(unasked)} not asked")
    return words.joined(text) or "none in this test set"


def _objective(
    protocol: ScreenProtocol, session: Session, assessment: Assessment, folded: str
) -> list[Part]:
    rows = _test_rows(protocol, session, assessment, every_sign=folded == "none")
    shown = [row for row in rows if folded == "none" or (row.remarkable and folded == "plain")]
    remarkable = [row for row in rows if row.remarkable and row not in shown]
    plain = [row for row in rows if not row.remarkable and row not in shown]
    parts: list[Part] = []
    if shown:
        cells = tuple((one.name, one.left, one.right) for one in shown)
        parts.append(Table(("Test", "Left", "Right"), cells))
    for label, others in (("", remarkable), ("No sign or pain noted", plain)):
        if others:
            parts.append(Line(words.joined(row.in_short for row in others), label, cut=False))
    if not rows:
        parts.append(Line("No test was done."))
    effects = [f"{one.label}: {one.text}" for one in answer.cue_lines(protocol, assessment)]
    not_done = [
        one.label if one.text == facts.NO_REASON else f"{one.label} ({one.text.rstrip('.')})"
        for one in facts.not_done_facts(protocol, session, assessment, chosen=True)
    ]
    added = [
        f"{number}, {words.moment(one.written)}: {words.joined([one.reason, one.text])}"
        for number, one in enumerate(session.addenda, start=1)
        if one.text or session.holds(number)
    ]
    # Why it was stopped is said of the answer.
    remarks = [one for one in assessment.remarks if one != stopped_remark(session)]
    said = [" ".join(remarks)] if remarks else []
    named = {"With a cue": effects, "Not done": not_done, "Remarks": said, "Addendum": added}
    return parts + [
        # What corrects a number counts as much as the number.
        Line(words.joined(texts), label, cut=not session.addenda or texts is effects)
        for label, texts in named.items()
        if texts
    ]


@dataclass(frozen=True, slots=True)
class _TestRow:
    name: str
    left: str
    right: str
    remarkable: bool

    @property
    def in_short(self) -> str:
        text = self.left or self.right
        if self.left and self.right and self.left != self.right:
            text = f"{self.left} / {self.right}"
        elif not text.startswith("both: "):
            where = "both" if self.left == self.right else "left" if self.left else "right"
            if text == NO_SIGN:
                return f"{self.name}, {where}"
            text = f"{text}, {where}"
        return f"{self.name} {text.replace('; ', ', ')}"


def _test_rows(
    protocol: ScreenProtocol, session: Session, assessment: Assessment, *, every_sign: bool
) -> list[_TestRow]:
    trials: dict[str, dict[Side | None, list[Trial]]] = {}
    for trial in session.as_amended.trials:
        of = trials.setdefault(trial.test, {})
        of.setdefault(words.leg_of(protocol, trial), []).append(trial)
    results: dict[str, dict[Side | None, list[Result]]] = {}
    for result in assessment.results:
        results.setdefault(result.test, {}).setdefault(result.side, []).append(result)
    tested = [*trials, *(test for test in results if test not in trials)]
    order = [spec.id for spec in protocol.tests]
    tested.sort(key=lambda test: order.index(test) if test in order else len(order))
    return [
        _test_row(
            protocol, test, trials.get(test, {}), results.get(test, {}), every_sign=every_sign
        )
        for test in tested
    ]


def _test_row(
    protocol: ScreenProtocol,
    test: str,
    trials: Mapping[Side | None, Sequence[Trial]],
    results: Mapping[Side | None, Sequence[Result]],
    *,
    every_sign: bool,
) -> _TestRow:
    spec = protocol.known_test(test)
    text: dict[Side | None, str] = {}
    remarkable = False
    for side in dict.fromkeys((*trials, *results)):
        of, mine = trials.get(side, ()), results.get(side, ())
        done = [trial for trial in of if trial.counts and not trial.cue]
        # How far a test came is said with why it was stopped.
        reasons = dict.fromkeys(reason_words(one.ended) for one in done if one.broken_off)
        said = any("stopped" in one.in_words for one in mine)
        ended = f"ended: {', '.join(reasons)}" if reasons and not said else ""
        pain = max((trial.pain for trial in done if trial.pain is not None), default=0)
        signs = _signs(protocol, done)
        remarks = [
            ", ".join(signs if every_sign else signs[:1]),
            f"pain {pain}" if pain else "",
            ended,
        ]
        remarkable |= any(remarks) or not done or any(one.short or one.flags for one in mine)
        amounts = _amounts(protocol, spec, mine, done, of)
        parts = [part for part in (amounts, *remarks) if part]
        text[side] = ", ".join(parts) or NO_SIGN
    both = text.get(None, "")
    return _TestRow(
        name=words.short_on(protocol, test, None),
        left=f"both: {both}" if both else text.get("left", ""),
        right=text.get("right", ""),
        remarkable=remarkable,
    )


def _amounts(
    protocol: ScreenProtocol,
    spec: TestSpec | None,
    results: Sequence[Result],
    done: Sequence[Trial],
    of: Sequence[Trial],
) -> str:
    """The numbers of a test on a side: each judged one, else those of a kind; or what was done."""
    if not done and of:
        return f"void ({of[-1].void})" if of[-1].void else "with a cue only"
    numbers = [one for one in results if one.value is not None or one.in_words]
    judged = [one for one in numbers if one.standing != "not judged"]
    shown = judged or [one for one in numbers if one.unit == numbers[0].unit]
    # What is worked out from the number of a test is not to be taken for that number.
    first = numbers[:1] if shown and numbers[0] not in shown else []
    labels = words.short_labels([one.label for one in (*first, *shown)])
    labels[: len(first)] = [""] * len(first)
    text = []
    for label, one in zip(labels, (*first, *shown), strict=True):
        full = facts.at_least(*facts.measured_by(protocol, one), one.trials)
        parts = (label, ">=" if full else "", _result_words(protocol, one))
        text.append(" ".join(part for part in parts if part))
    if text:
        return "; ".join(text)
    measured = dict.fromkeys(words.trial_value(spec, trial) for trial in done)
    without = "done" if spec is None else spec.timer.words.without_value
    return "; ".join(one for one in measured if one) or ("" if done else without)


def _result_words(protocol: ScreenProtocol, result: Result) -> str:
    """A number, and the cut-off it is worse than or near; that it meets one goes without saying."""
    verdict = {"short of the line": "worse than", "near the line": "near"}.get(result.standing)
    line, kind = result.line, ""
    if verdict is None and result.flags:
        verdict, line, kind = "worse than", result.flags[0], " (warning)"
    if verdict is None or line is None:
        return words.result_amount(result)
    amount = words.result_amount(result)
    if result.value is not None and not result.in_words:
        amount = words.number(result.value, result.decimals)
    limit = words.limit_words(line, result).removeprefix(line.meets).strip()
    known = protocol.known_source(line.source)
    memory = known is not None and known.provenance == "from memory"
    source = f" [{words.UNVERIFIED}]" if memory else ""
    return f"{amount}, {verdict} {limit}{kind}{source}"


def _signs(protocol: ScreenProtocol, done: Sequence[Trial]) -> list[str]:
    count: Counter[str] = Counter()
    for trial in done:
        # That pain ended it is said beside it.
        for sign in trial.signs if trial.ended != "pain" else set(trial.signs) - {PAIN_LIMITS}:
            count[sign] += trial.sign_counts.get(sign, 1)
    text = []
    for sign, times in count.most_common():
        legs = {trial.sign_legs.get(sign) for trial in done} - {None}
        leg = f" {legs.pop()}" if len(legs) == 1 else ""
        often = f" x{times}" if times > 1 else ""
        text.append(f"{words.sign_words(protocol, sign)}{leg}{often}")
    return text


def _assessment(
    protocol: ScreenProtocol, session: Session, assessment: Assessment, fit: _Fit
) -> list[Line]:
    lines = [
        line
        for line in answer.opening(protocol, session, assessment)
        if not fit.bare or line.text != words.FITS_BEST
    ]
    shown = answer.drivers_in_full(assessment)[:MOST_DRIVERS]
    several = len(shown) > 1 or not assessment.leading
    for one in shown:
        name = f" {words.driver_on(protocol, one.driver, one.side)}" if several else ""
        against = () if fit.bare else one.speaks_against
        for label, findings in (("For", one.speaks_for), ("Against", against)):
            text = words.joined(line.text for line in answer.reasons(protocol, findings, 3))
            lines += [Line(text, f"{label}{name}")] if text else []
    if shown and not fit.lean and not any(answer.telling(one.speaks_against) for one in shown):
        lines.append(Line(answer.NOTHING_AGAINST, "Against"))
    others = [
        f"{words.driver_on(protocol, one.driver, one.side)} ({answer.driver_standing(one)})"
        for one in assessment.drivers
        if answer.can_stand(one) and one not in shown and session.intake.complains_of(one.side)
    ]
    if others:
        lines.append(Line(words.joined(others), "Also"))
    pointers = [one.name for one in assessment.outside if one.because]
    if pointers:
        lines.append(Line(words.joined(pointers), "May also be"))
    return [*lines, Line(words.NOT_A_DIAGNOSIS, cut=False)]


def _plan(
    protocol: ScreenProtocol, session: Session, assessment: Assessment, fit: _Fit
) -> list[Line]:
    typed = session.plan.doses if session.plan else {}
    start = []
    for place, one in enumerate(assessment.plan.start, start=1):
        dose = one.dose
        if one.exercise not in typed:
            # How hard it is to be goes without saying where sets and days are given.
            short, _, _ = dose.partition(";")
            dose = (short if any(letter.isdecimal() for letter in short) else dose).rstrip(".")
        start.append(Line(words.with_dose(one, dose), mark=f"{place}.", cut=False))
    if fit.bare and start:
        names = words.joined(map(words.exercise_name, assessment.plan.start))
        start = [Line(names, "Start", cut=False)]
    left_out = [] if fit.lean else [one.name for one in assessment.plan.leave_out]
    heeded = plan.in_short(protocol, session, assessment)
    nothing = plan.nothing_to_start(session, assessment)
    return [
        *(start or [Line(nothing, "Start")]),
        *([Line(words.joined(left_out), "Leave out for now")] if left_out else []),
        Line(words.joined(heeded) or "none", "Precautions", cut=False),
        Line(f"{plan.next_visit(session)}   Signed: {TO_FILL_IN}", "Next visit"),
    ]


# ------------------------------------------------------------------ the appendix


def _appendix(
    protocol: ScreenProtocol,
    session: Session,
    assessment: Assessment,
    head: Head,
    before: tuple[Session, ...],
) -> tuple[Section, ...]:
    tested = {trial.side for trial in session.as_amended.trials if trial.counts}
    names = {"left": "left", "right": "right", None: "both legs together"}
    about = [
        *([Line(head.session, "Session")] if head.session else []),
        Line(head.written, "Note written"),
        Line(f"screen-tui {__version__}, test set {protocol.battery.id}", "Program"),
        Line(", ".join(names[side] for side in names if side in tested) or "none", "Sides tested"),
    ]
    known = {one.id: one.label or one.name for one in protocol.cautions}
    safety = [Line(words.safety_words(session, one), name) for one, name in known.items()]
    unknown = "yes (a question this test set does not have)"
    safety += [
        Line(unknown, words.spaced(one)) for one in session.intake.cautions if one not in known
    ]
    return (
        Section(tuple(about), "Session"),
        Section(tuple(safety), "Safety questions"),
        *change_sections(protocol, before, session),
        trials_section(protocol, session),
        *answer.details_sections(protocol, session, assessment),
        Section(tuple(answer.next_lines(protocol, assessment.next_tests)), answer.NEXT_TESTS),
        *plan.plan_sections(protocol, session, assessment),
        Section(tuple(addenda_lines(protocol, session)), "Addenda"),
        Section(
            (
                Line(answer.WHAT_FINDINGS_ARE),
                Line(
                    "A published cut-off describes the group it was measured in; it decides "
                    "nothing about one person."
                ),
            ),
            "To the reader",
        ),
    )
