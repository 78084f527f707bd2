"""A document as one HTML page to print; it asks for nothing from elsewhere."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from itertools import groupby

from screen_tui.report.document import Bars, Document, Line, Part, Section, Table
from screen_tui.report.exercise_drawing import draw_exercise
from screen_tui.report.layout import Layout

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
body {{ font: 20px/1.4 sans-serif; max-width: 34em; margin: 1em auto; padding: 0 1em;
  color: #000; background: #fff; }}
h1 {{ font-size: 1.5em; line-height: 1.2; }}
h2 {{ font-size: 1.2em; line-height: 1.2; margin: 0; padding-top: .6em; border-top: 2px solid;
  break-after: avoid; }}
section {{ margin: .9em 0 0; }}
p, ol, ul {{ margin: .25em 0; }}
p, li {{ break-inside: avoid; }}
svg {{ float: right; max-width: 50%; height: auto; margin: .6em 0 .4em .8em; }}
table {{ border-collapse: collapse; }}
th, td {{ text-align: left; vertical-align: top; padding: .1em .8em .1em 0; }}
@media print {{
  body {{ font: {points}pt/1.22 sans-serif; margin: 0; max-width: none; padding: 0; }}
  h1, p, ol, ul {{ margin: .12em 0; }}
  h2 {{ padding-top: .3em; }}
  section {{ margin-top: .4em; }}
}}
@page {{ margin: 10mm 14mm; }}
</style>
</head>
<body>
"""
_TAIL = "</body>\n</html>\n"


def write_html(document: Document, *, points: int = 12) -> str:
    """A document as a page, so many points large on paper; every text in it is escaped."""
    title = escape(document.title)
    body = [f"<h1>{title}</h1>", *(_section(one) for one in document.sections if one.parts)]
    return _HEAD.format(title=title, points=points) + "\n".join(body) + "\n" + _TAIL


def _section(section: Section) -> str:
    title = section.title or section.tag
    heading = [f"<h2>{escape(title)}</h2>"] if title else []
    shown = section.picture
    picture = [draw_exercise(shown.drawing, shown.name, left=shown.left)] if shown else []
    return "\n".join(["<section>", *picture, *heading, *_parts(section.parts), "</section>"])


def _list_of(part: Part) -> str:
    if not isinstance(part, Line) or not part.mark:
        return ""
    return "ol" if part.mark[0].isdigit() else "ul" if part.mark == "-" else ""


def _parts(parts: Sequence[Part]) -> Iterator[str]:
    for kind, group in groupby(parts, _list_of):
        if kind:
            yield f"<{kind}>{''.join(f'<li>{_told(one)}</li>' for one in group)}</{kind}>"
        else:
            yield from map(_alone, group)


def _alone(part: Part) -> str:
    match part:
        case Line():
            return f"<p>{_told(part)}</p>"
        case Table():
            rows = (_row(row, "td") for row in part.rows)
            return f"<table>{_row(part.titles, 'th')}{''.join(rows)}</table>"
        case Bars():
            drawn = ("".join(piece.text for piece in line) for line in Layout().part(part))
            return f"<pre>{escape(chr(10).join(drawn))}</pre>"


def _row(row: Sequence[str], cell: str) -> str:
    return f"<tr>{''.join(f'<{cell}>{escape(text)}</{cell}>' for text in row)}</tr>"


def _told(part: Part) -> str:
    if not isinstance(part, Line):
        return ""
    text = escape(part.text)
    text = f"<strong>{text}</strong>" if part.role in ("strong", "verdict") else text
    if part.mark and not _list_of(part):
        text = f"<strong>{escape(part.mark)}</strong> {text}"
    return f"<strong>{escape(part.label)}:</strong> {text}" if part.label else text
