"""A page for a patient as plain text: short lines, much white, to be printed by any printer."""

from __future__ import annotations

from screen_tui.report.ascii import fold, wrap
from screen_tui.report.sheet_blocks import Block, Page

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
