"""``sheet``: the sheet a patient takes home."""

from __future__ import annotations

import argparse

from screen_tui.cli.arguments import takes_session, writes_file
from screen_tui.cli.input import judged, protocol_folders
from screen_tui.cli.output import put
from screen_tui.errors import EntryRefusedError
from screen_tui.files.places import preferences_file
from screen_tui.files.text import tell
from screen_tui.preferences import preferred
from screen_tui.protocol.loader import load_drawings
from screen_tui.report.patient_sheet import write_patient_html, write_patient_sheet
from screen_tui.report.text import characters_lost


def add_arguments(command: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    takes_session(command)
    command.add_argument(
        "--html", action="store_true", help="one HTML page with drawings, to print"
    )
    command.add_argument("--ascii", action="store_true", help="plain text in ASCII alone")
    writes_file(command)


def run(arguments: argparse.Namespace) -> int:
    """Write the sheet, in UTF-8 whatever the terminal speaks.

    Raises:
        EntryRefusedError: Both HTML and ASCII text were asked for.
    """
    asked = judged(arguments)
    if arguments.html and arguments.ascii:
        raise EntryRefusedError("Give --html or --ascii, and not both: one page has one form.")
    if arguments.html:
        drawings = load_drawings(protocol_folders(arguments, preferred(preferences_file())))
        text = write_patient_html(*asked, drawings)
    else:
        text = write_patient_sheet(*asked)
    if arguments.ascii:
        if characters_lost(text):
            tell("screen-tui: what cannot be spelled in plain ASCII is ? in the sheet.")
        text = write_patient_sheet(*asked, ascii_only=True)
    put(text.encode(), arguments, "the sheet", [arguments.file])
    return 0
