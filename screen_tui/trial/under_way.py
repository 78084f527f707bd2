"""A trial that is not kept yet, as the file holds it in case the program dies."""

from __future__ import annotations

from collections.abc import Hashable

from screen_tui.errors import EntryRefusedError
from screen_tui.session.model import Trial
from screen_tui.trial.desk import Desk
from screen_tui.trial.desk_acts import record_of
from screen_tui.trial.kept import round_half_up

WHILE_IT_RAN = "interrupted: the program ended while it was under way"
BEFORE_KEPT = "interrupted: the program ended before it was kept"
UNCONFIRMED = "interrupted: the program ended before its value was confirmed"


def under_way(desk: Desk) -> Trial | None:
    """The trial as it would be told if the program died now; None when nothing was begun.

    It is marked as struck out: whoever comes back decides whether it counts.
    """
    if not desk.unsaved:
        return None
    unconfirmed = desk.in_doubt and not desk.made.asking
    if desk.ended or unconfirmed:
        try:
            return record_of(desk, UNCONFIRMED if unconfirmed else BEFORE_KEPT)
        except EntryRefusedError:
            pass  # what is typed so far cannot be kept; the rest is told below
    made = desk.made
    return Trial(
        test=desk.spec.id,
        side=desk.side,
        signs=made.signs,
        sign_times={sign: round_half_up(seconds, 1) for sign, seconds in made.sign_times},
        pain=made.pain,
        ended=made.ended,
        note=made.note,
        cue=desk.series.cue,
        direction=made.direction,
        steps=made.steps,
        void=WHILE_IT_RAN,
    )


def what_tells(desk: Desk) -> Hashable:
    """What of a trial is worth a write: as long as it is equal, so is what `under_way` gives.

    The display asks ten times a second, and a clock that runs changes nothing that is told.
    """
    made = desk.made
    return (
        desk.unsaved,
        made.phase,
        made.counting_in,
        made.asking,
        desk.in_doubt,
        made.confirmed,
        made.signs,
        made.pain,
        made.ended,
        None if desk.spec.timer.clocked else made.timer.snapshot(0.0).count,
        made.note,
        made.fixed,
        made.direction,
        made.steps,
        desk.entry.texts,
        tuple(desk.set_up.items()),
    )
