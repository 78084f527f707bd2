"""What was added to a finished screen, as the note tells it; the trials above it stay as kept."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from screen_tui.fields import Side
from screen_tui.protocol.model import Protocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.report.ascii import Sheet
from screen_tui.report.words import joined, leg_of, moment, test_name, trial_value, with_side
from screen_tui.session.model import Addendum, Session, Trial

JUDGED_AMENDED = (
    "The screen was finished when this was added. What is judged above is the screen as amended; "
    "the trials stand above as they were kept."
)


def write_addenda(sheet: Sheet, protocol: Protocol, session: Session) -> None:
    """Write each addendum with its time, its reason and what it changed; nothing without any."""
    if not session.addenda:
        return
    sheet.heading("Addendum")
    if any(one.changes_a_trial for one in session.addenda):
        sheet.text(JUDGED_AMENDED)
    trials = list(session.trials)
    places = _places(protocol, session)
    for number, addendum in enumerate(session.addenda, start=1):
        sheet.item(f"Addendum {number}, written", moment(addendum.written))
        sheet.item("Reason", addendum.reason, indent=2)
        if addendum.trial is not None:
            at = addendum.trial - 1
            amended = addendum.applied_to(trials[at])
            sheet.item(places[at], _change(protocol, addendum, trials[at], amended), indent=2)
            trials[at] = amended
        if addendum.text:
            sheet.item("Added", addendum.text, indent=2)


def amending(session: Session) -> Mapping[int, Sequence[int]]:
    """By the place of a trial, from 0 over all trials, the numbers of the addenda that amend it."""
    found: dict[int, list[int]] = {}
    for number, one in enumerate(session.addenda, start=1):
        if one.changes_a_trial and one.trial is not None:
            found.setdefault(one.trial - 1, []).append(number)
    return found


def amended_words(spec: TestSpec | None, amended: Trial, numbers: Sequence[int]) -> str:
    """That a trial is judged otherwise than as it was kept; empty when it is not.

    Args:
        spec: The test of the trial, where the protocol has it.
        amended: The trial as it should have been.
        numbers: The numbers of the addenda that say so.
    """
    if not numbers:
        return ""
    told = "struck out" if amended.void else trial_value(spec, amended)
    which = f"addend{'um' if len(numbers) == 1 else 'a'} {', '.join(map(str, numbers))}"
    return f"as amended: {told} ({which})"


def _places(protocol: Protocol, session: Session) -> list[str]:
    """Each trial by its place in its test on its leg, as above, and in the whole session."""
    places = []
    counts: Counter[tuple[str, Side | None]] = Counter()
    for number, trial in enumerate(session.trials, start=1):
        side = leg_of(protocol, trial)
        counts[trial.test, side] += 1
        name = with_side(test_name(protocol, trial.test), side)
        nth = counts[trial.test, side]
        places.append(f"{name}, trial {nth} (trial {number} of the screen)")
    return places


def _change(protocol: Protocol, addendum: Addendum, before: Trial, after: Trial) -> str:
    spec = protocol.known_test(before.test)
    was = trial_value(spec, before) or "no value recorded"
    if addendum.struck_out:
        return joined([was, "struck out"])
    if addendum.value is None:
        return "a remark; nothing of it is changed"
    return f"{was} before, {trial_value(spec, after)} as corrected"
