"""Invented cases written apart from the rows, with what an expert would say of each.

The expert is one therapist's judgement: agreement shows that the program says what a therapist
would, not that either is right.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from screen_tui.engine.results import Assessment, DriverResult
from screen_tui.files.places import protocols_folder
from screen_tui.files.toml import read_toml
from screen_tui.protocol.loader import load_protocol
from screen_tui.session.file import check_against, load_session
from screen_tui.session.model import Session

FOLDER = Path(__file__).parent
EXPECTED: dict[str, dict[str, Any]] = tomllib.loads(
    (FOLDER / "expected.toml").read_text(encoding="utf-8")
)
PROTOCOL = load_protocol([protocols_folder()])


def session_of(case: str) -> Session:
    path = FOLDER / f"{case}.toml"
    session = load_session(path)
    check_against(session, PROTOCOL, read_toml(path))
    return session


def outcome_right(case: str, found: Assessment) -> bool:
    """Whether it is one of the outcomes that the expert accepts."""
    return found.outcome in EXPECTED[case]["outcome_accepted"]


def drivers_right(case: str, found: Assessment) -> bool:
    """Whether the drivers that the expert names are named, on their sides, and no other.

    What the expert would not object to may be named beside them. Where an outcome is accepted that
    names no driver, none may be named.
    """
    expected = EXPECTED[case]
    wanted = dict(zip(expected["driver"], expected["side"], strict=True))
    named = {one.driver for one in found.leading}
    if not named:
        unnamed = found.outcome in ("undetermined", "nothing-found")
        return not wanted or (unnamed and outcome_right(case, found))
    if named - wanted.keys() - set(expected.get("also", ())):
        return False
    if wanted and found.leading[0].driver not in wanted:
        return False
    if wanted.keys() - named and found.outcome == "mixed":
        return False
    return all(
        _side_right(one, wanted[one.driver]) for one in found.leading if one.driver in wanted
    )


def _side_right(driver: DriverResult, side: str) -> bool:
    return driver.side is None or side in ("both", driver.side)


def confidently_wrong(case: str, found: Assessment) -> bool:
    """Whether one driver is called likely that the expert does not name."""
    return found.outcome == "likely" and found.leading[0].driver not in EXPECTED[case]["driver"]
