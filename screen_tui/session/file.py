"""One session as one TOML file: reading, writing as text, and checking against its protocol."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from screen_tui.errors import FileRefusedError, Problem
from screen_tui.files.reasons import shown
from screen_tui.files.toml import MOST_VALUES, TomlDocument, dump_toml, read_toml, validate
from screen_tui.files.toml_places import FieldPath
from screen_tui.protocol.model import Protocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.migrate import READABLE, migrated
from screen_tui.session.model import FORMAT, MOST_TRIALS, Session, Trial


def load_session(path: Path) -> Session:
    """Read a session file. It is not changed.

    Raises:
        NotFoundError: There is nothing at the path.
        FileRefusedError: It is no session, is broken, or was written by a newer program.
    """
    return session_in(read_toml(path))


def session_in(document: TomlDocument) -> Session:
    """The session a document holds; one of an earlier format is brought to the present one.

    Raises:
        FileRefusedError: As for :func:`load_session`.
    """
    written = format_of(document)
    trials = document.data.get("trials")
    if isinstance(trials, list) and len(trials) > MOST_TRIALS:
        reason = f"is one too many: a session holds at most {MOST_TRIALS:,} trials"
        raise FileRefusedError((document.problem(("trials", MOST_TRIALS), reason),))
    document = replace(document, data=migrated(document.data, written))
    return validate(document, Session, MOST_VALUES)


def session_text(session: Session) -> str:
    """A session as TOML; empty fields are left out. Reading it back gives an equal session."""
    return dump_toml(session.model_dump())


def check_against(session: Session, protocol: Protocol, document: TomlDocument) -> None:
    """Check that a protocol knows everything a session speaks of.

    Args:
        session: The session read from the document.
        protocol: The protocol it is to be judged by.
        document: Gives the places.

    Raises:
        FileRefusedError: With every test, sign, cue and safety question that is unknown, every
            trial whose side or direction does not fit its test, and every addendum that corrects
            a value where there is none.
    """
    document.refuse_where(_misfits(session, protocol))


def format_of(document: TomlDocument) -> int:
    """The format a session file was written in.

    Raises:
        FileRefusedError: It names none, or one that this program cannot read.
    """
    if "format" not in document.data:
        reason = "is missing, so this is not a session file of this program"
        raise FileRefusedError((Problem(document.path, None, "format", reason),))
    written = document.data["format"]
    # To Python true and 1.0 equal the number 1.
    whole = type(written) is int
    if whole and written in READABLE:
        return int(written)
    if whole and written > FORMAT:
        reason = (
            f"is {shown(written)}, and this program reads up to {FORMAT}: the file comes from a "
            "newer version. Update this program; the file has not been changed"
        )
    else:
        known = " or ".join(str(number) for number in READABLE)
        reason = f"must be {known}, written as a whole number without quotes"
    raise FileRefusedError((document.problem(("format",), reason),))


def _misfits(session: Session, protocol: Protocol) -> Iterator[tuple[FieldPath, str]]:
    if session.protocol != protocol.battery.id:
        yield ("protocol",), f"is not {shown(protocol.battery.id)}, the protocol in use"
    cautions = {caution.id for caution in protocol.cautions}
    for index, caution in enumerate(session.intake.cautions):
        if caution not in cautions:
            yield (
                ("intake", "cautions", index),
                f"{shown(caution)} is not a safety question of this protocol",
            )
    tests = {test.id: test for test in protocol.tests}
    signs = {sign.id for sign in protocol.signs}
    cues = {cue.id for test in protocol.tests for cue in test.cues}
    placed: list[tuple[FieldPath, Trial]] = [
        (("trials", index), trial) for index, trial in enumerate(session.trials)
    ]
    if session.under_way is not None:
        placed.append((("under_way",), session.under_way))
    for place, trial in placed:
        if trial.test not in tests:
            yield (*place, "test"), _unknown_test(trial.test)
            continue
        for field, reason in _misfits_of_trial(trial, tests[trial.test], signs, cues):
            yield (*place, *field), reason
    for index, skip in enumerate(session.skipped):
        if skip.test not in tests:
            yield ("skipped", index, "test"), _unknown_test(skip.test)
    for index, addendum in enumerate(session.addenda):
        if addendum.value is None or addendum.trial is None:
            continue
        test = tests.get(session.trials[addendum.trial - 1].test)
        if test is not None and not test.timer.one_value:
            reason = f"corrects a trial of {test.id}, which has no one value; strike it out instead"
            yield ("addenda", index, "value"), reason


def _misfits_of_trial(
    trial: Trial, test: TestSpec, signs: set[str], cues: set[str]
) -> Iterator[tuple[FieldPath, str]]:
    for index, sign in enumerate(trial.signs):
        if sign not in signs:
            yield ("signs", index), f"{shown(sign)} is not a sign of this protocol"
    if trial.cue and trial.cue not in cues:
        yield ("cue",), f"{shown(trial.cue)} is not a cue of this protocol"
    if test.sided and trial.side is None:
        yield ("side",), f'is missing; {test.id} is done with each leg: "left" or "right"'
    if test.timer.directions and trial.direction is None:
        yield ("direction",), 'is missing; a flight of stairs is timed "up" or "down"'


def _unknown_test(test: str) -> str:
    return f"{shown(test)} is not a test of this protocol"
