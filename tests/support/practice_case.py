"""A simulated patient small enough to follow by hand, played with the shipped protocol."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import tomli_w

from screen_tui.files.places import protocols_folder
from screen_tui.files.toml import read_toml
from screen_tui.practice.case import Case
from screen_tui.practice.files import case_in
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.model import ScreenProtocol

PROTOCOL: ScreenProtocol = load_protocol([protocols_folder()])

PATIENT = {"label": "CASE-X", "age": 40, "sex": "female"}

STANCE: dict[str, Any] = {
    "test": "single-leg-stance",
    "side": "left",
    "vary_s": 0.4,
    "ends_s": 12.0,
    "ended": "foot-down",
    "signs": [
        {"sign": "pelvis-drops", "at_s": [3.0, 8.0], "from_front": "The hip sinks at the right."}
    ],
    "told": [{"at_s": 6.0, "says": "This is hard."}],
}


def said(**other_truths: Any) -> list[dict[str, Any]]:
    """An answer to every question, all safety questions no; others by the id of the question."""
    truths: dict[str, Any] = {caution.id: False for caution in PROTOCOL.cautions}
    truths |= {
        "weight_bearing": "full",
        "recent_surgery_weeks": None,
        "complaints": ["pain"],
        "side": "left",
        "goals": ["walking"],
    }
    truths |= {name.replace("__", "-"): truth for name, truth in other_truths.items()}
    return [
        {"question": question, "says": f"What I say to {question}."}
        | ({} if truth is None else {"truth": truth})
        for question, truth in truths.items()
    ]


def case_data(*shown: dict[str, Any], **more: Any) -> dict[str, Any]:
    """What a case file holds: valid as it stands."""
    base: dict[str, Any] = {
        "practice_case": 1,
        "id": "small-case",
        "title": "A small case",
        "story": "Somebody comes in.",
        "patient": PATIENT,
        "said": said(),
        "shown": list(shown) or [STANCE],
        "truth": {"outcome": "undetermined", "reasons": ["Nothing points anywhere."]},
    }
    return base | more


def case_of(*shown: dict[str, Any], **more: Any) -> Case:
    """The same as a case."""
    return Case.model_validate(case_data(*shown, **more))


def write_case(data: dict[str, Any], folder: Path) -> Path:
    """A case file named by its id."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{data['id']}.toml"
    path.write_text(tomli_w.dumps(data), encoding="utf-8")
    return path


def load_case(path: Path, protocol: ScreenProtocol) -> Case:
    """The case of a file, refused as the program refuses it."""
    return case_in(read_toml(path), protocol)
