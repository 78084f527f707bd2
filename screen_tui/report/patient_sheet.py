"""The sheet a patient takes home: the plan in plain words, when to stop and when to call.

It holds no name, no label, no diagnosis and nothing that was typed about the person.
"""

from __future__ import annotations

from screen_tui.engine.results import Assessment, Start
from screen_tui.fields import Side
from screen_tui.protocol.knowledge import ForPatient
from screen_tui.protocol.model import Protocol
from screen_tui.report import patient_words as words
from screen_tui.report.patient_html import page_as_html
from screen_tui.report.patient_text import page_as_text
from screen_tui.report.sheet_blocks import Block, BlockKind, Page, sentences
from screen_tui.session.model import Session


def write_patient_sheet(
    protocol: Protocol, session: Session, assessment: Assessment, *, ascii_only: bool = False
) -> str:
    """The sheet as plain text.

    Args:
        protocol: The protocol the session was judged by.
        session: What happened.
        assessment: What it means: ``assess(protocol, session)``.
        ascii_only: Fold everything to printable ASCII, for printers that know no more.

    Returns:
        Lines of at most 64 columns ended by line feeds. The same arguments give the same text.
    """
    return page_as_text(patient_page(protocol, session, assessment), ascii_only=ascii_only)


def write_patient_html(protocol: Protocol, session: Session, assessment: Assessment) -> str:
    """The sheet as one HTML page in large type, for any browser to print.

    It asks for nothing from elsewhere: no script, no font, no picture, no address.
    """
    return page_as_html(patient_page(protocol, session, assessment))


def patient_page(protocol: Protocol, session: Session, assessment: Assessment) -> Page:
    """What stands on the sheet, from top to bottom; what speaks against exercising first.

    Where a safety question was answered yes or the screen was stopped there are no exercises.
    """
    page = [
        _block("title", words.TITLE),
        _block("text", f"Day of your visit: {words.day(session.started)}"),
    ]
    if session.synthetic:
        page.append(_block("text", words.INVENTED))
    page += _first(protocol, session, assessment)
    page += [_block("heading", words.ABOUT_HEADING), _block("text", *words.NOT_A_DIAGNOSIS)]
    limits = words.limits(session.intake)
    if limits:
        page += [_block("heading", words.LIMITS_HEADING), _block("bullets", *limits)]
    starts = assessment.plan.start
    if starts:
        page += [_block("heading", words.PAIN_HEADING), _block("text", *words.PAIN_SCALE)]
    for place, start in enumerate(starts, start=1):
        page += _exercise(protocol, assessment, place, start)
    page += _when_to_call(protocol, exercising=bool(starts))
    page += [
        _block("heading", words.NEXT_HEADING),
        _block("fill", words.NEXT_VISIT),
        _block("fill", words.PHONE),
    ]
    return tuple(page)


def _block(kind: BlockKind, *lines: str) -> Block:
    return Block(kind, lines)


def _first(protocol: Protocol, session: Session, assessment: Assessment) -> list[Block]:
    """What outranks every exercise: a doctor to see, a screen that was stopped, an empty plan."""
    page: list[Block] = []
    if assessment.cautions:
        page += [_block("heading", words.FIRST), _block("text", *words.REFERRED)]
        for raised in assessment.cautions:
            plain = protocol.caution(raised.id).for_patient or raised.next_step
            page.append(_block("text", *sentences(plain)))
    if session.stopped:
        page += [_block("heading", words.STOPPED_HEADING), _block("text", *words.STOPPED)]
    if not assessment.plan.start:
        waiting = bool(assessment.cautions or session.stopped)
        told = words.NO_EXERCISES_YET if waiting else words.NO_EXERCISES_HERE
        page += [_block("heading", words.NO_EXERCISES_HEADING), _block("text", *told)]
    return page


def _exercise(protocol: Protocol, assessment: Assessment, place: int, start: Start) -> list[Block]:
    plain = _plain(protocol, start)
    leg = words.leg(_sides(assessment, start))
    page = [_block("heading", f"{place}. {plain.name}")]
    if leg:
        page.append(_block("text", leg))
    for label, text in (("How to start", plain.position), ("How to do it", plain.how)):
        page.append(_block("label", label))
        page.append(
            _block("text", *sentences(text)) if isinstance(text, str) else _block("steps", *text)
        )
    for label, text in (
        ("How much", plain.dose),
        ("What you should feel", plain.feel),
        ("When to stop", plain.stop),
    ):
        page += [_block("label", label), _block("text", *sentences(text))]
    return page


def _plain(protocol: Protocol, start: Start) -> ForPatient:
    """The exercise in plain words; where a clinic wrote none, in those of its file."""
    written = (one.for_patient for one in protocol.exercises if one.id == start.exercise)
    return next(written, None) or ForPatient(
        name=start.name,
        position=start.position,
        how=(start.cue,),
        dose=start.dose,
        feel=start.feel,
        stop=start.stop,
    )


def _sides(assessment: Assessment, start: Start) -> frozenset[Side | None]:
    """The legs an exercise is for: both where its driver leads on both."""
    leading = {entry.side for entry in assessment.leading if entry.driver == start.driver}
    return frozenset({start.side} | leading)


def _when_to_call(protocol: Protocol, *, exercising: bool) -> list[Block]:
    page: list[Block] = []
    for urgency, told in words.CALL.items():
        if urgency == "clinic" and not exercising:
            continue
        rules = tuple(rule.text for rule in protocol.call_rules if rule.urgency == urgency)
        if rules:
            page += [_block("label", told), _block("bullets", *rules)]
    return [_block("heading", words.CALL_HEADING), *page] if page else []
