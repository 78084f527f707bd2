"""What several commands do to leave out who it is."""

from __future__ import annotations

import argparse
from datetime import datetime

from screen_tui.files.text import tell
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.deidentify import Deidentified, deidentified
from screen_tui.session.model import Session
from screen_tui.trial.record import offered_words


def takes_deidentify(command: argparse.ArgumentParser) -> None:
    """Have a command leave out who it is where it is asked to."""
    command.add_argument(
        "--deidentify",
        action="store_true",
        help="without code, session id and own words; years for dates, 90+ for an age over 89",
    )


def without_identity(protocol: ScreenProtocol, session: Session, written: datetime) -> Deidentified:
    """A session without what could name its person; what was left out and left in is printed."""
    view = deidentified(session, written, offered_words(protocol))
    tell(f"screen-tui: left out: {', '.join(view.removed)}.")
    tell(
        f"screen-tui: left in: {', '.join(view.kept)}. Read it before you pass it on: "
        "a rare fact can show who it is."
    )
    return view
