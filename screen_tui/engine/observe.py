"""What was seen in one test on one side: the trials that count, with their signs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from screen_tui.engine.contradictions import contradiction
from screen_tui.protocol.base import Side
from screen_tui.protocol.tests import TestSpec
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Session, Trial

Key = tuple[str, Side | None]
"""A test and a side; None for a two-legged test."""


@dataclass(frozen=True, slots=True)
class Observation:
    """The trials of one test on one side that were not struck out.

    Attributes:
        plain: Trials without a cue, in order.
        cued: Trials repeated with a cue, in order.
    """

    spec: TestSpec
    side: Side | None
    plain: tuple[Trial, ...]
    cued: tuple[Trial, ...]

    @property
    def signs(self) -> frozenset[str]:
        """Everything seen in the plain trials."""
        return frozenset(sign for trial in self.plain for sign in trial.signs)

    @property
    def signs_without_pain(self) -> frozenset[str]:
        """What was seen in plain trials that pain did not limit."""
        return frozenset(s for trial in self.plain if not trial.pain_limited for s in trial.signs)

    @property
    def ended(self) -> frozenset[str]:
        """Why the plain trials ended."""
        return frozenset(trial.ended for trial in self.plain if trial.ended)

    @property
    def pain_limited(self) -> bool:
        """Whether pain limited every plain trial, so that none says anything on strength."""
        return bool(self.plain) and all(trial.pain_limited for trial in self.plain)

    @property
    def worst_pain(self) -> int | None:
        """The worst pain given during any trial, or None when it was not asked."""
        given = [t.pain for t in (*self.plain, *self.cued) if t.pain is not None]
        return max(given, default=None)

    def with_cue(self, cue: str) -> tuple[Trial, ...]:
        """The trials repeated with that cue."""
        return tuple(trial for trial in self.cued if trial.cue == cue)


def observe(protocol: Protocol, session: Session) -> Mapping[Key, Observation]:
    """Sort the trials that count by test and side, in the order of the protocol.

    Trials that contradict themselves are left out; `assess` remarks on them. A two-legged test
    has one observation, whatever side its trials name.
    """
    seen: dict[Key, Observation] = {}
    for spec in protocol.tests:
        for side in sides_of(spec):
            trials = tuple(
                trial
                for trial in session.trials
                if trial.test == spec.id
                and trial.counts
                and (side is None or trial.side == side)
                and not contradiction(spec, trial)
            )
            if trials:
                seen[spec.id, side] = Observation(
                    spec,
                    side,
                    plain=tuple(trial for trial in trials if not trial.cue),
                    cued=tuple(trial for trial in trials if trial.cue),
                )
    return seen


def sides_of(spec: TestSpec) -> tuple[Side | None, ...]:
    """Left and right for a one-legged test; only None for a two-legged one."""
    return ("left", "right") if spec.sided else (None,)


def other(side: Side | None) -> Side | None:
    """The other leg; None for None."""
    return {"left": "right", "right": "left"}[side] if side else None  # type: ignore[return-value]
