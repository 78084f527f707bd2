"""A page for a patient as HTML: one file, large type, nothing fetched, nothing that runs."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from screen_tui.report.sheet_blocks import Block, Page

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
