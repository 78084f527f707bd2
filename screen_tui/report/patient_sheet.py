"""The sheet a patient takes home: the plan in plain words, when to stop and when to call.

It holds no name, no label, no diagnosis and nothing that was typed about the person. A page is made
once, and then written as text or as HTML.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from html import escape
from typing import Literal

from screen_tui.engine.results import Assessment, Start
from screen_tui.engine.safety import PAIN_LIMIT
from screen_tui.fields import Precaution, Side
from screen_tui.protocol.knowledge import ForPatient
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.text import fold, wrap
from screen_tui.session.model import Intake, Session, WeightBearing

TITLE = "Your knee: what to do at home"
INVENTED = "This is a demonstration. The person is invented."
NOT_A_DIAGNOSIS = (
    "This sheet is not a diagnosis.",
    "What your therapist tells you comes first.",
    "Show this sheet to your doctor if you see one.",
)
ABOUT_HEADING = "About this sheet"
PAIN_HEADING = "Pain in the exercises"
PAIN_SCALE = (
    "We count pain from 0 to 10.",
    "0 is no pain. 10 is the worst pain you can think of.",
    f"Up to {PAIN_LIMIT} of 10 is all right in an exercise. More is too much.",
)

FIRST = "First: see a doctor"
REFERRED = (
    "A doctor must look at you before you exercise.",
    "Your therapist will help you to get there.",
)
STOPPED_HEADING = "Your tests were stopped"
STOPPED = (
    "Your tests were stopped today to keep you safe.",
    "Ask your therapist what comes next.",
)
NO_EXERCISES_HEADING = "No exercises for now"
NO_EXERCISES_YET = (
    "Do no knee exercises until your therapist or doctor says that you may.",
    "This also means exercises from other sheets.",
)
NO_EXERCISES_HERE = (
    "This sheet has no exercises for you today.",
    "Your therapist will tell you what comes next.",
)
LIMITS_HEADING = "Your limits"

CALL_HEADING = "When to call"
CALL: dict[Literal["emergency", "same-day", "clinic"], str] = {
    "emergency": "Call the emergency number at once if:",
    "same-day": "See a doctor the same day if:",
    "clinic": "Stop the exercises and call us if:",
}
NEXT_HEADING = "Your next visit"
NEXT_VISIT, PHONE = "Date and time", "Our phone number"

_WEIGHT: dict[WeightBearing, str] = {
    "full": "",
    "as-tolerated": "Put only as much weight on the leg as feels all right.",
    "partial": "Put only part of your weight on the leg, as you were told.",
    "touch": "Only touch the floor with the leg. Put no weight on it.",
    "none": "Put no weight on the leg.",
}
_LIMIT_SENTENCES: dict[Precaution, str] = {
    "brace": "Keep your brace on, as you were told.",
    "bend-limited": "Do not bend the knee further than you were told.",
    "no-kneeling": "Do not kneel.",
    "no-active-extension": "Do not straighten the knee with your own muscles.",
}
_SURGERY = "What your surgeon told you comes first."
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def _day(at: datetime) -> str:
    """A day as people write it, ``18 March 2026``: figures alone are read two ways."""
    return f"{at.day} {_MONTHS[at.month - 1]} {at.year}"


def _limits(intake: Intake) -> tuple[str, ...]:
    """What the person may not do, as it was ordered."""
    found = [_WEIGHT[intake.weight_bearing], *(_LIMIT_SENTENCES[one] for one in intake.precautions)]
    if intake.recent_surgery_weeks is not None:
        found.append(_SURGERY)
    return tuple(one for one in found if one)


def _leg(sides: frozenset[Side | None]) -> str:
    """Which leg an exercise is for; empty when it is for the whole person."""
    if {"left", "right"} <= sides:
        return "The legs to train: left and right."
    return next((f"The leg to train: {side}." for side in sorted(sides - {None}, key=str)), "")


BlockKind = Literal["title", "heading", "text", "label", "steps", "bullets", "fill"]


@dataclass(frozen=True, slots=True)
class Block:
    """One part of a page.

    Attributes:
        kind: ``title`` and ``heading`` are headings; ``text`` is a paragraph; ``label`` is a small
            heading over what follows it; ``steps`` are numbered, ``bullets`` are not; ``fill`` is
            a line to be filled in by hand.
        lines: The texts: one of them, or one for each step, bullet or sentence of a paragraph.
    """

    kind: BlockKind
    lines: tuple[str, ...]


Page = tuple[Block, ...]
"""A page from top to bottom."""


def sentences(text: str) -> tuple[str, ...]:
    """A paragraph cut behind each full stop that a blank and a capital follow."""
    found: list[str] = []
    begun = 0
    for place in range(len(text) - 2):
        if text[place] in ".!?" and text[place + 1] == " " and text[place + 2].isupper():
            found.append(text[begun : place + 1])
            begun = place + 2
    return (*found, text[begun:]) if text[begun:] else tuple(found)


def write_patient_sheet(
    protocol: ScreenProtocol, session: Session, assessment: Assessment, *, ascii_only: bool = False
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


def write_patient_html(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> str:
    """The sheet as one HTML page in large type, for any browser to print.

    It asks for nothing from elsewhere: no script, no font, no picture, no address.
    """
    return page_as_html(patient_page(protocol, session, assessment))


def patient_page(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> Page:
    """What stands on the sheet, from top to bottom; what speaks against exercising first.

    Where a safety question was answered yes or the screen was stopped there are no exercises.
    """
    page = [
        _block("title", TITLE),
        _block("text", f"Day of your visit: {_day(session.started)}"),
    ]
    if session.synthetic:
        page.append(_block("text", INVENTED))
    page += _first(protocol, session, assessment)
    page += [_block("heading", ABOUT_HEADING), _block("text", *NOT_A_DIAGNOSIS)]
    limits = _limits(session.intake)
    if limits:
        page += [_block("heading", LIMITS_HEADING), _block("bullets", *limits)]
    starts = assessment.plan.start
    if starts:
        page += [_block("heading", PAIN_HEADING), _block("text", *PAIN_SCALE)]
    for place, start in enumerate(starts, start=1):
        page += _exercise(protocol, assessment, place, start)
    page += _when_to_call(protocol, exercising=bool(starts))
    page += [
        _block("heading", NEXT_HEADING),
        _block("fill", NEXT_VISIT),
        _block("fill", PHONE),
    ]
    return tuple(page)


def _block(kind: BlockKind, *lines: str) -> Block:
    return Block(kind, lines)


def _first(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> list[Block]:
    """What outranks every exercise: a doctor to see, a screen that was stopped, an empty plan."""
    page: list[Block] = []
    if assessment.cautions:
        page += [_block("heading", FIRST), _block("text", *REFERRED)]
        for raised in assessment.cautions:
            plain = protocol.caution(raised.id).for_patient or raised.next_step
            page.append(_block("text", *sentences(plain)))
    if session.stopped:
        page += [_block("heading", STOPPED_HEADING), _block("text", *STOPPED)]
    if not assessment.plan.start:
        waiting = bool(assessment.cautions or session.stopped)
        told = NO_EXERCISES_YET if waiting else NO_EXERCISES_HERE
        page += [_block("heading", NO_EXERCISES_HEADING), _block("text", *told)]
    return page


def _exercise(
    protocol: ScreenProtocol, assessment: Assessment, place: int, start: Start
) -> list[Block]:
    plain = _plain(protocol, start)
    leg = _leg(_sides(assessment, start))
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


def _plain(protocol: ScreenProtocol, start: Start) -> ForPatient:
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


def _when_to_call(protocol: ScreenProtocol, *, exercising: bool) -> list[Block]:
    page: list[Block] = []
    for urgency, told in CALL.items():
        if urgency == "clinic" and not exercising:
            continue
        rules = tuple(rule.text for rule in protocol.call_rules if rule.urgency == urgency)
        if rules:
            page += [_block("label", told), _block("bullets", *rules)]
    return [_block("heading", CALL_HEADING), *page] if page else []


WIDTH = 64
_INDENT = 4
_FILL = 28


def page_as_text(page: Page, *, ascii_only: bool = False) -> str:
    """Lines of at most 64 columns, without tabs or trailing blanks, ended by a line feed."""
    lines: list[str] = []
    above = None
    for block in page:
        if lines and above != "label":
            lines.append("")
        if block.kind == "heading":
            lines.append("")
        above = block.kind
        spelled = [fold(line) if ascii_only else line for line in block.lines]
        lines += _lines(block, spelled)
    return "\n".join(lines) + "\n"


def _lines(block: Block, spelled: list[str]) -> list[str]:
    match block.kind:
        case "title":
            return [*_wrapped(spelled, upper=True), "=" * WIDTH]
        case "heading":
            wrapped = _wrapped(spelled, upper=True)
            return [*wrapped, "-" * max(len(line) for line in wrapped)]
        case "label":
            return _wrapped([f"{text.removesuffix(':')}:" for text in spelled])
        case "steps":
            return [
                line
                for place, step in enumerate(spelled, start=1)
                for line in wrap(f"{place}) {step}", indent=_INDENT, hang=3, width=WIDTH)
            ]
        case "bullets":
            return [
                line
                for bullet in spelled
                for line in wrap(f"- {bullet}", indent=_INDENT, hang=2, width=WIDTH)
            ]
        case "fill":
            return [f"{label}:  {'_' * _FILL}" for label in _wrapped(spelled)]
        case "text":
            return _wrapped(spelled)


def _wrapped(texts: list[str], *, upper: bool = False) -> list[str]:
    """Each sentence on a line of its own, so that the eye finds it again."""
    return [line for text in texts for line in wrap(text.upper() if upper else text, width=WIDTH)]


# A page that may load nothing cannot be made to, whatever a text in it turns out to be.
_HEAD = """\
<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<title>{title}</title>
<style>
body {{ font: 20px/1.5 sans-serif; max-width: 34em; margin: 1em auto; padding: 0 1em;
  color: #000; background: #fff; }}
h1 {{ font-size: 1.6em; line-height: 1.2; }}
h2 {{ font-size: 1.3em; line-height: 1.2; margin: 0; padding-top: 1em; border-top: 2px solid; }}
h3 {{ font-size: 1em; margin: 1em 0 0; }}
section {{ margin: 1.5em 0 0; break-inside: avoid; }}
p, ol, ul {{ margin: 0.3em 0; }}
.fill {{ margin-top: 1.5em; }}
.fill span {{ display: inline-block; width: 14em; border-bottom: 2px solid; }}
@media print {{ body {{ font-size: 16pt; margin: 0; max-width: none; }} }}
@page {{ margin: 18mm; }}
</style>
</head>
<body>
"""

_TAIL = "</body>\n</html>\n"


def page_as_html(page: Page) -> str:
    """The page; every text in it is escaped."""
    title = next((block.lines[0] for block in page if block.kind == "title"), "")
    return _HEAD.format(title=escape(title)) + "\n".join(_body(page)) + "\n" + _TAIL


def _body(page: Page) -> Iterator[str]:
    """Each heading opens a section, which a printer keeps together where it can."""
    opened = False
    for block in page:
        if block.kind == "heading":
            yield "</section>\n<section>" if opened else "<section>"
            opened = True
        yield _element(block)
    if opened:
        yield "</section>"


def _element(block: Block) -> str:
    texts = [escape(line) for line in block.lines]
    match block.kind:
        case "title":
            return f"<h1>{' '.join(texts)}</h1>"
        case "heading":
            return f"<h2>{' '.join(texts)}</h2>"
        case "label":
            return f"<h3>{' '.join(texts)}</h3>"
        case "steps":
            return f"<ol>{_items(texts)}</ol>"
        case "bullets":
            return f"<ul>{_items(texts)}</ul>"
        case "fill":
            return f'<p class="fill">{" ".join(texts)}: <span>&nbsp;</span></p>'
        case "text":
            return f"<p>{'<br>'.join(texts)}</p>"


def _items(texts: list[str]) -> str:
    return "".join(f"<li>{text}</li>" for text in texts)
