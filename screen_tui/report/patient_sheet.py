"""The sheet a patient takes home: the plan in plain words, when to stop and when to call.

It holds no name, no label, no diagnosis and nothing that was typed about the person. A page is made
once, and then written as text or as HTML.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from html import escape
from typing import Literal

from screen_tui.engine.results import Assessment, Start
from screen_tui.protocol.knowledge import ForPatient
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import patient_words as words
from screen_tui.report.text import fold, wrap
from screen_tui.session.model import Session

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
    return _page_as_text(_patient_page(protocol, session, assessment), ascii_only=ascii_only)


def write_patient_html(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> str:
    """The sheet as one HTML page in large type, for any browser to print.

    It asks for nothing from elsewhere: no script, no font, no picture, no address.
    """
    return _page_as_html(_patient_page(protocol, session, assessment))


def _patient_page(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> Page:
    """What stands on the sheet, from top to bottom; what speaks against exercising first.

    Where a safety question was answered yes or the screen was stopped there are no exercises.
    """
    page = [
        Block("title", (words.TITLE,)),
        Block("text", (f"Day of your visit: {words.day(session.started)}",)),
    ]
    if session.synthetic:
        page.append(Block("text", (words.INVENTED,)))
    page += _first(protocol, session, assessment)
    page += _part(words.ABOUT_HEADING, "text", words.NOT_A_DIAGNOSIS)
    page += _part(words.LIMITS_HEADING, "bullets", words.limits(protocol, session.intake))
    page += _part(words.HEED_HEADING, "bullets", words.precautions(protocol, assessment))
    starts = assessment.plan.start
    page += _part(words.PAIN_HEADING, "text", words.PAIN_SCALE if starts else ())
    for place, start in enumerate(starts, start=1):
        page += _exercise(protocol, assessment, place, start)
    page += _when_to_call(protocol, exercising=bool(starts))
    page += _part(words.NEXT_HEADING, "fill", (words.NEXT_VISIT,))
    return (*page, Block("fill", (words.PHONE,)))


def _part(heading: str, kind: BlockKind, lines: tuple[str, ...]) -> list[Block]:
    """A heading and what stands under it; nothing where that is empty."""
    return [Block("heading", (heading,)), Block(kind, lines)] if lines else []


def _first(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> list[Block]:
    """What outranks every exercise: a doctor to see, a screen that was stopped, an empty plan."""
    page: list[Block] = []
    refers = [one for one in assessment.cautions if not one.ask]
    if refers:
        page += _part(words.FIRST[refers[0].urgency], "text", words.REFERRED)
        for raised in refers:
            plain = protocol.caution(raised.id).for_patient or raised.next_step
            page.append(Block("text", sentences(plain)))
    if len(refers) < len(assessment.cautions):
        page += _part(words.ASKED_AGAIN_HEADING, "text", words.ASKED_AGAIN)
    if session.stopped:
        page += _part(words.STOPPED_HEADING, "text", words.STOPPED)
    if not assessment.plan.start:
        waiting = bool(assessment.cautions or session.stopped)
        told = words.NO_EXERCISES_YET if waiting else words.NO_EXERCISES_HERE
        page += _part(words.NO_EXERCISES_HEADING, "text", told)
    return page


def _exercise(
    protocol: ScreenProtocol, assessment: Assessment, place: int, start: Start
) -> list[Block]:
    plain = _plain(protocol, start)
    # Both legs where its driver leads on both.
    leading = {entry.side for entry in assessment.leading if entry.driver == start.driver}
    leg = words.leg(frozenset({start.side} | leading))
    page = [Block("heading", (f"{place}. {plain.name}",))]
    if leg:
        page.append(Block("text", (leg,)))
    if start.with_helper:
        page.append(Block("text", (words.WITH_HELPER,)))
    for label, text in (
        ("How to start", plain.position),
        ("How to do it", plain.how),
        ("How much", plain.dose),
        ("What you should feel", plain.feel),
        ("When to stop", plain.stop),
    ):
        page.append(Block("label", (label,)))
        page.append(
            Block("text", sentences(text)) if isinstance(text, str) else Block("steps", text)
        )
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


def _when_to_call(protocol: ScreenProtocol, *, exercising: bool) -> list[Block]:
    page: list[Block] = []
    for urgency, told in words.CALL.items():
        if urgency == "clinic" and not exercising:
            continue
        rules = tuple(rule.text for rule in protocol.call_rules if rule.urgency == urgency)
        if rules:
            page += [Block("label", (told,)), Block("bullets", rules)]
    return [Block("heading", (words.CALL_HEADING,)), *page] if page else []


WIDTH = 64
_INDENT = 4
_FILL = 28


def _page_as_text(page: Page, *, ascii_only: bool = False) -> str:
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
            steps = [f"{place}) {step}" for place, step in enumerate(spelled, start=1)]
            return _wrapped(steps, indent=_INDENT, hang=3)
        case "bullets":
            return _wrapped([f"- {bullet}" for bullet in spelled], indent=_INDENT, hang=2)
        case "fill":
            return [f"{label}:  {'_' * _FILL}" for label in _wrapped(spelled)]
        case "text":
            return _wrapped(spelled)


def _wrapped(
    texts: Iterable[str], *, upper: bool = False, indent: int = 0, hang: int = 0
) -> list[str]:
    """Each text on a line of its own, so that the eye finds it again."""
    return [
        line
        for text in texts
        for line in wrap(text.upper() if upper else text, indent=indent, hang=hang, width=WIDTH)
    ]


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


def _page_as_html(page: Page) -> str:
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
