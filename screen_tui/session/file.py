"""One session as one TOML file: reading, migrating, adding to, checking against its protocol."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from screen_tui.errors import (
    EntryRefusedError,
    FileRefusedError,
    OpenElsewhereError,
    SaveFailedError,
)
from screen_tui.files.lock import take_lock
from screen_tui.files.reasons import FieldPath, Mismatch, shown
from screen_tui.files.toml import (
    MOST_VALUES,
    TomlDocument,
    parse_toml,
    read_own,
    read_toml,
    validate,
    versioned,
)
from screen_tui.files.toml_write import dump_toml
from screen_tui.files.write import changed_since, why_refused, write_whole
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import FORMAT, MOST_TRIALS, Addendum, Intake, Session, Trial


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


def check_against(session: Session, protocol: ScreenProtocol, document: TomlDocument) -> None:
    """Check that a protocol knows everything a session, which the document holds, speaks of.

    Raises:
        FileRefusedError: With every test, sign, cue and safety question that is unknown, every
            trial whose side or direction does not fit its test, and every addendum that corrects
            a value where there is none.
    """
    document.refuse_where(_mismatches(session, protocol))


def format_of(document: TomlDocument) -> int:
    """The format a session file was written in.

    Raises:
        FileRefusedError: It names none, or one that this program cannot read.
    """
    if "format" not in document.data:
        reason = "is missing, so this is not a session file of this program"
        raise FileRefusedError.at(document.path, reason, field="format")
    written = document.data["format"]
    # To Python true and 1.0 equal the number 1.
    if type(written) is int and written in READABLE:
        return written
    versioned(document, "format", FORMAT)
    known = f"{', '.join(str(number) for number in READABLE[:-1])} or {FORMAT}"
    reason = f"must be {known}, written as a whole number without quotes"
    raise FileRefusedError((document.problem(("format",), reason),))


def _mismatches(session: Session, protocol: ScreenProtocol) -> Iterator[Mismatch]:
    if session.protocol not in (protocol.battery.id, *protocol.battery.formerly):
        yield ("protocol",), f"is not {shown(protocol.battery.id)}, the protocol in use"
    yield from _mismatches_of_intake(session.intake, protocol)
    tests = {test.id: test for test in protocol.tests}
    signs = {sign.id for sign in protocol.signs}
    cues = {cue.id for test in protocol.tests for cue in test.cues}
    placed: list[tuple[FieldPath, Trial]] = [
        (("trials", index), trial) for index, trial in enumerate(session.trials)
    ]
    if session.under_way is not None:
        placed.append((("under_way",), session.under_way))
    for place, trial in placed:
        yield from _unknown((*place, "test"), trial.test, tests, "a test")
        if trial.test in tests:
            for field, reason in _mismatches_of_trial(trial, tests[trial.test], signs, cues):
                yield (*place, *field), reason
    for index, skip in enumerate(session.skipped):
        yield from _unknown(("skipped", index, "test"), skip.test, tests, "a test")
    for index, addendum in enumerate(session.addenda):
        if addendum.value is None or addendum.trial is None:
            continue
        test = tests.get(session.trials[addendum.trial - 1].test)
        if test is not None and not test.timer.one_value:
            reason = f"corrects a trial of {test.id}, which has no one value; void it instead"
            yield ("addenda", index, "value"), reason


def _mismatches_of_intake(intake: Intake, protocol: ScreenProtocol) -> Iterator[Mismatch]:
    cautions = {caution.id for caution in protocol.cautions}
    for index, caution in enumerate(intake.cautions):
        yield from _unknown(("intake", "cautions", index), caution, cautions, "a safety question")
    for index, one in enumerate(intake.cleared):
        place: FieldPath = ("intake", "cleared", index, "caution")
        yield from _unknown(place, one.caution, cautions, "a safety question")
    questions = {question.id: question for question in protocol.history}
    for asked, answers in intake.history.items():
        place = ("intake", "history", asked)
        question = questions.get(asked)
        if question is None:
            yield place, f"{shown(asked)} is not a question of this protocol's history"
            continue
        if len(answers) > 1 and not question.several:
            yield place, "has several answers, and only one can be given"
        known = {answer.id for answer in question.answers}
        for index, answer in enumerate(answers):
            if answer not in known:
                yield (*place, index), f"{shown(answer)} is not an answer to {shown(asked)}"


def _mismatches_of_trial(
    trial: Trial, test: TestSpec, signs: set[str], cues: set[str]
) -> Iterator[Mismatch]:
    for index, sign in enumerate(trial.signs):
        yield from _unknown(("signs", index), sign, signs, "a sign")
    if trial.cue:
        yield from _unknown(("cue",), trial.cue, cues, "a cue")
    if test.sided and trial.side is None:
        yield ("side",), f'is missing; {test.id} is done with each leg: "left" or "right"'
    if test.timer.directions and trial.direction is None:
        yield ("direction",), 'is missing; a flight of stairs is timed "up" or "down"'


def _unknown(
    place: FieldPath, wanted: str, known: Collection[str], what: str
) -> Iterator[Mismatch]:
    if wanted not in known:
        yield place, f"{shown(wanted)} is not {what} of this protocol"


_ASKED_BEFORE_3 = (
    "fracture-rule",
    "joint-infection",
    "clot",
    "locked-knee",
    "extensor-mechanism",
    "neurovascular",
    "night-pain-or-illness",
    "heart-or-dizziness",
)
"""The safety questions of the program until its files had format 3."""

Step = Callable[[Mapping[str, Any]], Mapping[str, Any]]


def _from_2(data: Mapping[str, Any]) -> Mapping[str, Any]:
    """Format 3 lets the intake hold more answers, and a trial the legs and the counts of its signs.

    All of it may be missing, which means that it was not asked or not noted. What was asked of
    safety is noted since then; before, these questions were.
    """
    intake = data.get("intake")
    if not isinstance(intake, Mapping) or "safety_asked" in intake:
        return data
    return {**data, "intake": {**intake, "safety_asked": list(_ASKED_BEFORE_3)}}


_STEPS: Mapping[int, Step] = {1: dict, 2: _from_2}
"""The step away from each earlier format. All that format 2 has more than 1 may be missing."""

READABLE = tuple(range(min(_STEPS), FORMAT + 1))
"""The formats that can be read, oldest first."""


def migrated(
    data: Mapping[str, Any], written: int, steps: Mapping[int, Step] = _STEPS, present: int = FORMAT
) -> dict[str, Any]:
    """What a file of a readable format would hold in the present one; `data` is not changed."""
    for earlier in range(written, present):
        data = {**steps[earlier](data), "format": earlier + 1}
    return dict(data)


PATIENCE_S = 5.0
"""Seconds to wait for another addendum, which takes a fraction of one."""

_CHANGED = "was changed meanwhile, so nothing was added to it. Look at it again first"


def addendum_text(addendum: Addendum) -> str:
    """An addendum as the block of TOML that is put at the end of a session's file."""
    return dump_toml({"addenda": [addendum.model_dump(exclude_defaults=True)]})


def refuse_unfinished(session: Session) -> None:
    """Refuse an addendum to a session that is simply gone on with.

    Raises:
        EntryRefusedError: It is not finished.
    """
    if session.finished is None:
        raise EntryRefusedError(
            "This session is not finished, so nothing is added to it: open it in the program and "
            "correct it there. An addendum is for a session whose note is written."
        )


def append_to_file(path: Path, addendum: Addendum) -> Session:
    """Add an addendum to a session's file, wherever it lies and whatever it is called.

    Another one that is just being added is waited for.

    Raises:
        OpenElsewhereError: The program has the session open, or adding to it goes on for long.
        ScreenError: As for :func:`append_held`.
    """
    session_id = session_in(read_own(path)).id
    try:
        lock = take_lock(path.parent / f".{session_id}.lock", PATIENCE_S)
    except BlockingIOError:
        raise OpenElsewhereError(
            f"The session in {path} is busy: it is open in a window of the program, or something "
            "else is being added to it. Leave it there, or try again in a moment."
        ) from None
    except OSError:
        lock = None  # there can be none here, such as on a file system that knows none
    try:
        return append_held(path, addendum)[0]
    finally:
        if lock is not None:
            lock.release()


def append_held(path: Path, addendum: Addendum, known: Collection[str] = ()) -> tuple[Session, str]:
    """Add an addendum to a session's file that nobody else has meanwhile.

    Args:
        known: SHA-256, in hexadecimal, of the contents that the addendum was written for; empty
            when it was written for whatever is there.

    Returns:
        The session with the addendum, and the SHA-256 of its file.

    Raises:
        NotFoundError: There is nothing at the path.
        FileRefusedError: It is no session that can be used, or nothing can be added at its end.
        EntryRefusedError: The screen is not finished, or has no such trial.
        SaveFailedError: The file was changed meanwhile, or the disk refused; it is as it was.
    """
    document = read_own(path)
    session = session_in(document)
    refuse_unfinished(session)
    if addendum.trial is not None and addendum.trial > len(session.trials):
        raise EntryRefusedError(
            f"There is no trial {addendum.trial}: the session has {len(session.trials)}."
        )
    if known and document.digest not in known:
        raise SaveFailedError(f"{path} {_CHANGED}.")
    try:
        before = path.read_bytes()
        between = b"\n" if before.endswith(b"\n") else b"\n\n"
        after = before + between + addendum_text(addendum).encode()
        longer = _session_of(after, path)
        if longer != session.model_copy(update={"addenda": (*session.addenda, addendum)}):
            raise _cannot_be_added(path, "the file would say something else")
        # As late as can be: what respects no lock may write at any time.
        if _digest(before) != document.digest or changed_since(path, {document.digest}):
            raise SaveFailedError(f"{path} {_CHANGED}.")
        write_whole(path, after)
    except OSError as error:
        cause, _ = why_refused(error)
        raise SaveFailedError(
            f"Nothing could be added to {path}: {cause}. The file is as it was."
        ) from error
    return longer, _digest(after)


def _session_of(content: bytes, path: Path) -> Session:
    try:
        return session_in(parse_toml(content, path))
    except FileRefusedError as refusal:
        raise _cannot_be_added(path, refusal.problems[0].reason) from None


def _cannot_be_added(path: Path, why: str) -> FileRefusedError:
    return FileRefusedError.at(path, f"nothing can be added at the end of this file: {why}")


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
