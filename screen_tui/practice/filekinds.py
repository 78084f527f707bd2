"""The kinds of files practice has, for whoever checks files."""

from __future__ import annotations

from collections.abc import Callable

from screen_tui.practice import case_file, run_file
from screen_tui.protocol.whole import Protocol
from screen_tui.session.checking import FurtherKind


def practice_kinds(protocol: Callable[[], Protocol]) -> tuple[FurtherKind, ...]:
    """Practice cases and practice runs, each known by a key that no other file has.

    Args:
        protocol: Gives the protocol a case is to be played with; asked only where there is one.
    """
    return (
        FurtherKind(
            "practice case",
            "",
            frozenset({case_file.KEY}),
            lambda document: case_file.case_in(document, protocol()),
        ),
        FurtherKind("practice run", "", frozenset({run_file.KEY}), run_file.run_in),
    )
