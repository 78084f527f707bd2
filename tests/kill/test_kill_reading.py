"""The harness itself: it reads a screen rightly, and finds what is missing from a folder."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from kill.check import Folder, faults_of
from kill.ledger import Ledger
from kill.look import look_at
from kill.round import protocol

from screen_tui.session.model import Client, Session, Skip, Trial

RUNNING = """\
 Single-leg stance                                    8/17  12 min left  K-92
               up to 45 s  trial 1 of 3   >> RUNNING <<    RIGHT LEG >> 
 pain 3 of 10
  1 PELVIC DROP x2    2 Trunk lean        3 Knee valgus
 Safety: Stop above pain 5 of 10.
"""
KEPT = """\
 Single-leg stance                                    8/17  12 min left  K-92
                      up to 45 s  trial 1 of 3  READY   RIGHT LEG >> 
 Saved: Tandem stance, 1.6 s,
 unsteady. Space starts.
"""
SKIPPED = KEPT.replace("Saved: Tandem stance, 1.6 s,\n unsteady.", "Skipped: Step-down, left, why.")
TANDEM = Trial(test="tandem-stance", value=1.6, signs=("unsteady",))
STANCE = Trial(test="single-leg-stance", side="right", signs=("pelvis-drops",), pain=3, void="x")
STEP_DOWN = Skip(test="step-down", side="left", reason="why")


def left(**what: object) -> Folder:
    about = {
        "id": "a",
        "protocol": "chairside-knee",
        "started": datetime(2026, 3, 2, 9, 15, tzinfo=UTC),
        "client": Client(label="K-92", age=60),
    }
    return Folder([Session(**about, **what)], [], {}, 0, [])


def after(*screens: str) -> Ledger:
    ledger = Ledger(protocol())
    for screen in screens:
        ledger.take(screen)
    return ledger


def test_a_screen_is_read() -> None:
    shown = look_at(RUNNING, protocol()).shown
    assert shown is not None
    assert (shown.test, shown.side, shown.state) == ("single-leg-stance", "right", "RUNNING")
    assert shown.pain == 3
    assert shown.signs == {"pelvis-drops"}
    assert look_at(KEPT, protocol()).said == {"Saved: Tandem stance, 1.6 s, unsteady."}


@pytest.mark.parametrize(
    ("screen", "there", "missing"),
    [
        (KEPT, {"trials": (TANDEM,)}, {}),
        (SKIPPED, {"skipped": (STEP_DOWN,)}, {"trials": (TANDEM,)}),
        (RUNNING, {"under_way": STANCE}, {"under_way": STANCE.model_copy(update={"pain": None})}),
        (RUNNING, {"trials": (STANCE,)}, {}),
    ],
    ids=["kept", "skipped", "running", "struck-out-in-the-last-moment"],
)
def test_what_was_told_must_be_there(
    screen: str, there: dict[str, object], missing: dict[str, object]
) -> None:
    ledger = after(screen)
    assert faults_of(ledger, left(**there), in_order=False) == []
    (fault,) = faults_of(ledger, left(**missing), in_order=False)
    assert fault.kind == "lost"


def test_an_unfinished_session_without_a_file_is_lost() -> None:
    nothing = Folder([], [], {}, 0, [])
    assert [fault.kind for fault in faults_of(after(KEPT), nothing, in_order=False)] == ["lost"]
