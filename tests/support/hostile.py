"""Words meant to break a screen or a terminal, and a protocol and a session full of them."""

from __future__ import annotations

import copy
from functools import lru_cache
from typing import Any

from hypothesis import strategies as st
from pydantic import ValidationError

from screen_tui.files.text import first_control_character
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Session, what_it_tells
from support import small_protocol as small

MARKUP = (
    "[/]",
    "[/b]",
    "[b]bold[/b]",
    "[link=http://x]y[/link]",
    "[@click=app.quit]quit[/]",
    "[not a tag]",
    "knee [L] 3/10",
    "[[/]]",
    "\\[/]",
    "[bold red on blue",
    "[$primary]",
    "$primary",
    ":smile:",
    "K{0}%s%n",
    "&amp;<b>",
)
"""What a framework might read as more than text."""

LETTERS = (
    "\u05d1\u05e8\u05da",  # read from right to left, and a letter of a word nevertheless
    "\u6f22\u5b57",  # two columns each
    "e\u0301",
    "\u0301",  # a mark with nothing to stand on
    "\U0001f9b5",
    "\U0001f469\U0001f467",
    "x" * 80,
    "\ufdfd",
    "\u0130",
)
"""Letters that take no column, two, or more than anybody thinks."""

STEERING = (
    "\x1b[2J",
    "\x1b]0;title\x07",
    "\x1b]52;c;eA==\x07",
    "\x9b31m",
    "\r\n",
    "\t",
    "\x00",
    "\x7f",
    "\u2028",
    "\u202e",
    "\u2066",
    "\u200f",
    "\u061c",
    "\u206a",
    "\ufff9",
    "\U000e0041",
    "\u200b",
    "\u200c",  # joiners and their opposite, which some scripts and pictures are written with
    "\u200d",
    "\ufeff",
    "\u00ad",
    "\u034f",
    "\u180e",
    "\u2060",
    "\u2064",
    "\u3164",
    "\u115f",
    "\uffa0",
    "\ufe0f",
    "\U000e0100",
    "\U0001d173",
)
"""What must never reach a screen: refused where it is typed or read."""


def possible_letters() -> st.SearchStrategy[str]:
    """Each character that the models let pass."""
    return st.characters(exclude_categories=["Cc", "Cs"]).filter(_possible_letter)


def _possible_letter(letter: str) -> bool:
    return first_control_character(letter) is None


def as_label(text: str) -> str:
    """As much of a text as a label may hold; a bracket where that tells who somebody is."""
    label = text[:40]
    return label if label.strip() and not what_it_tells(label) else "[/]"


def _possible(text: str) -> bool:
    return bool(text.strip()) and first_control_character(text) is None


def words(most: int = 600) -> st.SearchStrategy[str]:
    """Text that the models let pass, as hostile as that may be."""
    pieces = st.sampled_from([*MARKUP, *LETTERS, " "]) | st.text(max_size=8)
    return (
        st.lists(pieces, min_size=1, max_size=12)
        .map(lambda some: "".join(some)[:most])
        .filter(_possible)
    )


def text_places(model: type[Any], data: Any) -> list[tuple[tuple[Any, ...], int]]:
    """Where free text stands in the data of a model, and how long it may be there.

    Found by trying: a place that takes a bracket holds text, whatever the model calls it.
    """
    found = []
    for path in _leaves(data):
        for most in (400, 40, 20):
            probe = "[/]" + "x" * (most - 3)
            if _accepts(model, _with(data, path, probe)):
                found.append((path, most))
                break
    return found


def filled(data: Any, places: list[tuple[tuple[Any, ...], int]], text: str) -> Any:
    """The data with a text in all those places, cut where it must be short."""
    for path, most in places:
        cut = text[:most]
        data = _with(data, path, cut if cut.strip() else "[/]")
    return data


def _accepts(model: type[Any], data: Any) -> bool:
    try:
        model.model_validate(data)
    except ValidationError:
        return False
    return True


def _leaves(data: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    if isinstance(data, str):
        return [path]
    items = data.items() if isinstance(data, dict) else ()
    if isinstance(data, list | tuple):
        items = enumerate(data)  # type: ignore[assignment]
    return [leaf for key, value in items for leaf in _leaves(value, (*path, key))]


def _with(data: Any, path: tuple[Any, ...], value: Any) -> Any:
    """The data with one value changed; what is not on the way to it is shared."""
    if not path:
        return value
    key, *rest = path
    if isinstance(data, dict):
        return {**data, key: _with(data[key], tuple(rest), value)}
    changed = list(data)
    changed[key] = _with(data[key], tuple(rest), value)
    return tuple(changed)


@lru_cache
def _places(protocol_json: str) -> tuple[dict[str, Any], list[tuple[tuple[Any, ...], int]]]:
    data = ScreenProtocol.model_validate_json(protocol_json).model_dump()
    return data, text_places(ScreenProtocol, data)


def hostile_protocol(protocol: ScreenProtocol, text: str) -> ScreenProtocol:
    """A protocol in which every free text is that one."""
    data, places = _places(protocol.model_dump_json())
    return ScreenProtocol.model_validate(filled(copy.deepcopy(data), places, text))


def hostile_session(session: Session, text: str) -> Session:
    """A session in which every free text that holds something is that one."""
    data = session.model_dump()
    data["client"]["label"] = as_label(text)
    data["intake"]["note"] = text[:400]
    data["stopped"] = data["stopped"] and text[:400]
    for trial in data["trials"]:
        for name in ("note", "ended", "void", "correction"):
            trial[name] = trial[name] and text[:400]
    for skip in data["skipped"]:
        skip["reason"] = text[:400] if text[:400].strip() else "[/]"
    return Session.model_validate(data)


def told_protocol() -> ScreenProtocol:
    """A battery with something of everything that is shown."""
    signs = ["pelvis-drops", "arch-collapses", "unsteady"]
    stance = small.test_spec(
        "stance",
        trials=2,
        signs=signs,
        measures=[small.measure()],
        lines=[small.line("value", "at least", 10, from_age=18, to_age=99)],
        cues=[{"id": "pelvis-level", "say": "Keep it level."}],
        set_up=[
            {
                "id": "step_cm",
                "label": "Step",
                "usual": 20,
                "unit": "cm",
                "minimum": 5,
                "maximum": 40,
            },
            {"id": "aid", "label": "Aid", "usual": "none", "choices": ["none", "cane"]},
        ],
        findings=[
            small.finding("pelvis-drops", none=3, hip=60),
            small.finding("unsteady", none=10, foot=20),
        ],
        not_judged_because="It is only watched.",
    )
    rises = small.test_spec("rises", sides="both", load="both-legs", measures=[small.measure()])
    bend = small.test_spec(
        "bend",
        load="unloaded",
        timer={
            "kind": "measure",
            "fields": [
                {"id": "value", "label": "Degrees", "minimum": -30, "maximum": 120, "hint": "0"}
            ],
        },
        plausible={"minimum": -30, "maximum": 120},
        measures=[small.measure()],
    )
    return small.protocol(
        bend,
        stance,
        rises,
        signs=[
            {"id": sign, "label": sign, "digit": at, "seen_as": "It is seen."}
            for at, sign in enumerate(signs, start=1)
        ],
        stop_rules=[{"text": "Chest pain.", "source": "judgement"}],
        exercises=[small.exercise("side-lift", "hip-control")],
        gates=[
            {
                "withhold": "rises",
                "after": "stance",
                "when": {"signs_any": ["pelvis-drops"]},
                "reason": "Not safe.",
                "source": "judgement",
            }
        ],
        leave_out=[
            {
                "id": "jumps",
                "name": "Jumping",
                "when": "always",
                "reason": "Later.",
                "source": "judgement",
            }
        ],
    )


def told_session() -> Session:
    """Trials of every state, and a test that was skipped."""
    stance = {"test": "stance", "side": "left", "value": 6.2, "signs": ["pelvis-drops"]}
    return small.session(
        {**stance, "note": "x", "ended": "x", "pain": 3},
        {**stance, "void": "x"},
        {**stance, "value": 7.0, "corrected_from": 6.0, "correction": "x"},
        {"test": "bend", "side": "left", "value": 4.0},
        skipped=[{"test": "bend", "side": "right", "reason": "x"}],
        intake={"goals": ["walking"], "side": "left"},
    )
