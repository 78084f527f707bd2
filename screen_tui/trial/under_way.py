"""A trial that is not kept yet, as the file holds it in case the program dies."""

from __future__ import annotations

from collections.abc import Hashable

from screen_tui.errors import EntryRefusedError
from screen_tui.session.model import Trial
from screen_tui.trial.actions import record_of
from screen_tui.trial.record import round_half_up
from screen_tui.trial.state import TrialState

WHILE_IT_RAN = "interrupted: the program ended while it was under way"
BEFORE_KEPT = "interrupted: the program ended before it was kept"
UNCONFIRMED = "interrupted: the program ended before its value was confirmed"


def under_way(state: TrialState) -> Trial | None:
    """The trial as the file has it if the program died now; None when nothing was begun.

    It is marked as struck out: who comes back decides whether it counts.
    """
    if not state.unsaved:
        return None
    unconfirmed = state.in_doubt and not state.input.timer.asking
    if state.ended or unconfirmed:
        try:
            return record_of(state, UNCONFIRMED if unconfirmed else BEFORE_KEPT)
        except EntryRefusedError:
            pass  # what is typed so far cannot be kept; the rest is noted below
    given = state.input
    return Trial(
        test=state.spec.id,
        side=state.side,
        signs=given.signs,
        sign_times={sign: round_half_up(seconds, 1) for sign, seconds in given.sign_times},
        sign_counts=given.sign_counts,
        sign_legs=dict(given.sign_legs),
        watched=given.watched,
        pain=given.pain,
        ended=given.ended,
        note=given.note,
        cue=state.series.cue,
        direction=given.direction,
        steps=given.steps,
        void=WHILE_IT_RAN,
    )


def what_tells(state: TrialState) -> Hashable:
    """What of a trial is worth a write: as long as it is equal, so is what `under_way` gives.

    The display asks ten times a second, and a clock that runs changes nothing of that.
    """
    given = state.input
    return (
        state.unsaved,
        given.phase,
        given.counting_in,
        given.timer.asking,
        state.in_doubt,
        given.confirmed,
        given.marks,
        given.sign_legs,
        given.watched,
        given.pain,
        given.ended,
        None if state.spec.timer.clocked else given.timer.snapshot(0.0).count,
        given.note,
        given.manual_value,
        given.direction,
        given.steps,
        state.entry.texts,
        tuple(state.set_up.items()),
    )
