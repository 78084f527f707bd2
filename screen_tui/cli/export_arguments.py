"""What the exporting commands may be asked; `export_commands` does it."""

from __future__ import annotations

import argparse
from collections.abc import Callable

from screen_tui.cli.argument_kinds import a_path, takes_session, writes

Add = Callable[[str, str], argparse.ArgumentParser]
"""Adds a command of that name that does that."""


def add_exports(add: Add) -> None:
    """Add the commands that write a session in another form."""
    sheet = add("sheet", "write the sheet a patient takes home")
    takes_session(sheet)
    sheet.add_argument("--html", action="store_true", help="one HTML page in large type")
    sheet.add_argument("--ascii", action="store_true", help="plain text in ASCII alone")
    writes(sheet)

    table = add("table", "write the results of a folder of sessions as one table")
    table.add_argument("folder", type=a_path, metavar="DIR", help="a folder of session files")
    table.add_argument(
        "--csv", action="store_true", required=True, help="as comma-separated values"
    )
    writes(table)

    export = add("export", "write a session in an open standard")
    takes_session(export)
    export.add_argument(
        "--fhir", action="store_true", required=True, help="as an HL7 FHIR R4 bundle (JSON)"
    )
    writes(export)
