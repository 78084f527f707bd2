"""Figures as a table for people and as JSON for machines, and the exit code they come to."""

from __future__ import annotations

import json
from collections.abc import Mapping

from benchmarks.figures import Figure, Figures

DONE, MISSED = 0, 1

_WORDS = {True: "met", False: "MISSED", None: "-"}
_HEAD = ("what", "value", "goal", "met")


def exit_code(found: Mapping[str, Figures]) -> int:
    """1 when a goal was missed; what could not be measured is not a miss."""
    missed = any(figure.met is False for each in found.values() for figure in each)
    return MISSED if missed else DONE


def as_table(found: Mapping[str, Figures]) -> str:
    """One line for each figure."""
    figures = [figure for each in found.values() for figure in each]
    lines = [_HEAD, *(_line(figure) for figure in figures)]
    widths = [max(len(line[column]) for line in lines) for column in range(len(_HEAD))]
    notes = ["", *(figure.note for figure in figures)]
    shown = [
        "  ".join(
            (
                line[0].ljust(widths[0]),
                line[1].rjust(widths[1]),
                line[2].rjust(widths[2]),
                line[3].ljust(widths[3]),
                note,
            )
        ).rstrip()
        for line, note in zip(lines, notes, strict=True)
    ]
    return "\n".join(shown) + "\n"


def as_json(found: Mapping[str, Figures], machine: Mapping[str, object], *, quick: bool) -> str:
    """The same for another program; values are not rounded."""
    figures = [
        {
            "measurement": name,
            "what": figure.what,
            "value": figure.value,
            "unit": figure.unit,
            "goal": figure.goal,
            "met": figure.met,
            "note": figure.note,
        }
        for name, each in found.items()
        for figure in each
    ]
    whole = {"machine": machine, "quick": quick, "figures": figures}
    return json.dumps(whole, indent=2) + "\n"


def _line(figure: Figure) -> tuple[str, str, str, str]:
    value = "not measured" if figure.value is None else _number(figure.value, figure.unit)
    goal = "" if figure.goal is None else f"<= {_number(figure.goal, figure.unit)}"
    return figure.what, value, goal, _WORDS[figure.met]


def _number(value: float, unit: str) -> str:
    digits = f"{value:.0f}" if abs(value) >= 100 else f"{value:.2f}"
    return f"{digits} {unit}".rstrip()
