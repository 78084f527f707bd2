"""The command that adds to a finished session: ``addendum``."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable

from screen_tui.errors import EntryRefusedError, NotFoundError
from screen_tui.protocol.model import Protocol
from screen_tui.session.append import addendum_text, append_to_file, refuse_unfinished
from screen_tui.session.file import load_session
from screen_tui.session.model import Session
from screen_tui.timing.clock import SystemClock
from screen_tui.trial.addendum import corrected_value, make_addendum, trial_at

Tell = Callable[[str], None]
"""Writes a message for the person, apart from the data."""

ProtocolOf = Callable[[str], Protocol]
"""Loads the protocol of a battery."""


def add_to_session(
    arguments: argparse.Namespace, tell: Tell, protocol_of: Callable[[], ProtocolOf]
) -> int:
    """Add an addendum to a session's file, and print what was added.

    Args:
        arguments: What was asked.
        tell: Takes messages.
        protocol_of: Gives what loads protocols; asked only where a value has to be understood.

    Raises:
        EntryRefusedError: It cannot be added like this, or the session is not finished.
        ScreenError: The file cannot be used or written.
    """
    session = load_session(arguments.file)
    refuse_unfinished(session)
    value = None
    if arguments.value is not None:
        value = _value(session, arguments, protocol_of()(session.protocol))
    addendum = make_addendum(
        session,
        SystemClock().wall().replace(microsecond=0),
        arguments.reason,
        text=arguments.text,
        trial=arguments.trial,
        value=value,
        strike=arguments.strike,
    )
    append_to_file(arguments.file, addendum)
    sys.stdout.write(addendum_text(addendum))
    tell(f"screen-tui: added to {arguments.file}; what stood in it stays as it was.")
    return 0


def _value(session: Session, arguments: argparse.Namespace, protocol: Protocol) -> float:
    if arguments.trial is None:
        raise EntryRefusedError("Say with --trial N which trial has that value.")
    trial = trial_at(session, arguments.trial)
    spec = protocol.known_test(trial.test)
    if spec is None:
        raise NotFoundError(f"The protocol in use has no test {trial.test}; add --protocols DIR.")
    return corrected_value(spec, trial, arguments.value, arguments.reason)
