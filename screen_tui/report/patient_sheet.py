"""The sheet a patient takes home: the plan in plain words, when to stop and when to call.

It holds no name, no code, no diagnosis and nothing that was typed about the person.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from screen_tui.engine.results import Assessment, Start
from screen_tui.fields import LEGS, Side
from screen_tui.protocol.drawings import Drawing
from screen_tui.protocol.knowledge import Exercise, ForPatient
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import patient_words as words
from screen_tui.report.document import TO_FILL_IN, Document, Line, Picture, Section
from screen_tui.report.html import write_html
from screen_tui.report.layout import Layout, write_text
from screen_tui.report.plan import next_visit
from screen_tui.report.words import for_each_leg
from screen_tui.session.model import Session

WIDTH = 64
"""Columns of the text, so that it can be printed in large type."""

LARGE, SMALL, MOST_IN_LARGE = 14, 12, 3
"""Points of the printed page; so many exercises fit on two sheets of A4 in large type."""

MOST_FELT = 5
"""Exercises up to which each says what it should feel like; more take a third page with it."""


def write_patient_sheet(
    protocol: ScreenProtocol,
    session: Session,
    assessment: Assessment,
    *,
    ascii_only: bool = False,
    width: int = WIDTH,
) -> str:
    """The sheet as plain text in lines of so many columns, ended by line feeds.

    The same arguments give the same text. ``ascii_only`` is for printers that know no more.
    """
    document = sheet_document(protocol, session, assessment)
    return write_text(document, Layout(width, ascii_only=ascii_only))


def write_patient_html(
    protocol: ScreenProtocol,
    session: Session,
    assessment: Assessment,
    drawings: Mapping[str, Drawing] | None = None,
) -> str:
    """The sheet as one HTML page for any browser to print, with drawings where they are given."""
    points = LARGE if len(assessment.plan.start) <= MOST_IN_LARGE else SMALL
    return write_html(sheet_document(protocol, session, assessment, drawings), points=points)


def sheet_document(
    protocol: ScreenProtocol,
    session: Session,
    assessment: Assessment,
    drawings: Mapping[str, Drawing] | None = None,
) -> Document:
    """What the sheet says, from top to bottom; what speaks against exercising first.

    Where a safety question was answered yes or testing was stopped there are no exercises.
    ``drawings`` are those exercises may have beside them, by id.
    """
    starts = assessment.plan.start
    head = [Line(f"Day of your visit: {words.day(session.started)}")]
    head += [Line(words.INVENTED)] if session.synthetic else []
    return Document(
        (
            Section(tuple(head)),
            *_first(protocol, session, assessment),
            _section(words.ABOUT_HEADING, [" ".join(words.NOT_A_DIAGNOSIS)]),
            _section(
                words.LIMITS_HEADING, words.limits(protocol, session.intake, assessment), mark="-"
            ),
            _section(words.HEED_HEADING, words.precautions(protocol, assessment), mark="-"),
            _section(words.ALWAYS_HEADING, _always(session, starts)),
            *(
                _exercise(protocol, place, start, drawings or {}, feel=len(starts) <= MOST_FELT)
                for place, start in enumerate(starts, start=1)
            ),
            _when_to_call(protocol, exercising=bool(starts)),
            Section(
                (Line(next_visit(session), words.NEXT_VISIT), Line(TO_FILL_IN, words.PHONE)),
                words.NEXT_HEADING,
            ),
        ),
        words.TITLE,
    )


def _always(session: Session, starts: Sequence[Start]) -> list[str]:
    if not starts:
        return []
    sides = {one.side for one in starts if one.side and not one.both_legs}
    other = [words.OTHER_LEG] if any(not session.intake.complains_of(one) for one in sides) else []
    return [" ".join(words.ALWAYS), *other]


def _section(heading: str, texts: Iterable[str], mark: str = "") -> Section:
    return Section(tuple(Line(text, mark=mark) for text in texts), heading)


def _first(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> Iterable[Section]:
    """What outranks every exercise: a doctor to see, tests that were stopped, an empty plan."""
    refers = [one for one in assessment.cautions if not one.ask]
    if refers:
        plain = [protocol.caution(one.id).for_patient or one.next_step for one in refers]
        yield _section(words.FIRST[refers[0].urgency], [" ".join(words.REFERRED), *plain])
    if len(refers) < len(assessment.cautions):
        yield _section(words.ASKED_AGAIN_HEADING, [" ".join(words.ASKED_AGAIN)])
    if session.stopped:
        yield _section(words.STOPPED_HEADING, [" ".join(words.STOPPED)])
    if not assessment.plan.start:
        waiting = bool(assessment.cautions or session.stopped)
        text = words.NO_EXERCISES_YET if waiting else words.NO_EXERCISES_HERE
        yield _section(words.NO_EXERCISES_HEADING, [" ".join(text)])


def _exercise(
    protocol: ScreenProtocol,
    place: int,
    start: Start,
    drawings: Mapping[str, Drawing],
    *,
    feel: bool,
) -> Section:
    if not start.exercise:
        return Section((Line(start.name),), f"{place}. {words.OWN_LINE}")
    known = protocol.known_exercise(start.exercise)
    plain = _plain(known, start)
    sides: frozenset[Side | None] = frozenset(LEGS if start.both_legs else {start.side})
    each = for_each_leg(start.dose)
    leg = words.leg(sides, each=each)
    lines = (
        *(Line(one) for one in (leg, words.WITH_HELPER if start.with_helper else "") if one),
        Line(plain.position, "How to start"),
        *(Line(step, mark=f"{nth})") for nth, step in enumerate(plain.how, start=1)),
        Line(plain.dose, "How much"),
        *([Line(plain.feel, "What you should feel")] if feel else []),
        Line(plain.stop, "When to stop"),
    )
    drawing = drawings.get(known.drawing or "") if known else None
    left = sides - {None} == {"left"} and not each
    picture = Picture(drawing, plain.name, left) if drawing else None
    return Section(lines, f"{place}. {plain.name}", picture=picture)


def _plain(known: Exercise | None, start: Start) -> ForPatient:
    """The exercise in plain words; where a clinic wrote none, in those of its file.

    A dose that the clinician changed is given as it was typed.
    """
    if known is not None and known.for_patient is not None:
        plain = known.for_patient
        doses = {known.dose: plain.dose, known.full_dose: plain.full_dose}
        return plain.model_copy(update={"dose": doses.get(start.dose, start.dose)})
    # Its texts were checked one by one; a dose with what makes it hard enough may be longer.
    return ForPatient.model_construct(
        name=start.name,
        position=start.position,
        how=(start.cue,),
        dose=start.dose,
        feel=start.feel,
        stop=start.stop,
    )


def _when_to_call(protocol: ScreenProtocol, *, exercising: bool) -> Section:
    lines: list[Line] = []
    for urgency, text in words.CALL.items():
        rules = [rule.text for rule in protocol.call_rules if rule.urgency == urgency]
        if rules and (exercising or urgency != "clinic"):
            lines += [Line(text, role="strong"), *(Line(rule, mark="-") for rule in rules)]
    return Section(tuple(lines), words.CALL_HEADING)
