"""What was seen in one test on one side: the trials that count, with their signs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from statistics import fmean

from screen_tui.fields import LEGS, Side
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Client, Session, Trial

DEGREES = 3.0
"""By how much active extension may seem better than passive before the two contradict each other.

One rater's error with a goniometer on one visit is of that size (clinical judgement).
"""


def contradiction(spec: TestSpec, trial: Trial) -> str:
    """Why a trial cannot be as it was noted, in words; empty when it can.

    A muscle cannot take a knee further than it goes, no test gives a value outside what its file
    calls plausible, such as a hold longer than its cap, and nobody does repetitions or steps
    faster than the shortest that the file calls possible.
    """
    value = trial.value
    if value is not None and not spec.plausible.minimum <= value <= spec.plausible.maximum:
        return (
            f"{value:g} is outside {spec.plausible.minimum:g} to {spec.plausible.maximum:g}, "
            "all that the test can give"
        )
    fastest = spec.timer.fastest(trial.steps)
    if value is not None and fastest is not None and value < fastest:
        return f"{value:g} s is less than {fastest:g} s, the least it can take"
    if trial.passive_deg is not None and trial.active_deg is not None:
        gain = trial.passive_deg - trial.active_deg
        if gain > DEGREES:
            return f"active extension is {gain:g} degrees better than passive"
    return ""


WALKING_AID, NO_AID = "walking-aid", "none"
"""The sign that an aid was used, and the choice of the set-up that says there was none."""

Key = tuple[str, Side | None]
"""A test and a side; None for a two-legged test."""


@dataclass(frozen=True)
class Observation:
    """The trials of one test on one side that were not struck out.

    Attributes:
        places: The place of each plain trial among all trials of the session, from 0.
        opposite: The plain trials of the other leg.
    """

    spec: TestSpec
    side: Side | None
    client: Client
    plain: tuple[Trial, ...]
    cued: tuple[Trial, ...]
    places: tuple[int, ...]
    opposite: tuple[Trial, ...] = ()

    @property
    def signs(self) -> frozenset[str]:
        return frozenset(sign for trial in self.plain for sign in trial.signs)

    @property
    def ended(self) -> frozenset[str]:
        return frozenset(trial.ended for trial in self.plain if trial.ended)

    @property
    def pain_limited(self) -> bool:
        """Whether pain limited every plain trial, so that none says anything on strength."""
        return bool(self.plain) and all(trial.pain_limited for trial in self.plain)

    @cached_property
    def worst_pain(self) -> int | None:
        """The worst pain given during any trial, or None when it was not asked."""
        given = [t.pain for t in (*self.plain, *self.cued) if t.pain is not None]
        return max(given, default=None)

    @property
    def other_passive(self) -> tuple[float, ...]:
        """Passive extension of the other knee, in degrees."""
        return tuple(one.passive_deg for one in self.opposite if one.passive_deg is not None)

    @cached_property
    def aim(self) -> float:
        """The passive extension this knee falls short of: the other's, or straight if that is more.

        A knee that overextends sets the aim for its fellow, so 0 degrees can be a deficit; two
        stiff knees do not excuse each other. A knee straighter than the aim has none.
        """
        return min(0.0, fmean(self.other_passive or (0.0,)))

    def with_cue(self, cue: str) -> tuple[Trial, ...]:
        return tuple(trial for trial in self.cued if trial.cue == cue)


def done_to_the_end(spec: TestSpec, trials: Sequence[Trial]) -> list[Trial]:
    """The trials in which a sign could have shown itself: neither broken off nor cut short."""

    def cut_short(trial: Trial) -> bool:
        wanted = spec.timer.wanted(trial.steps)
        return bool(wanted and trial.repetitions and trial.repetitions < wanted)

    return [one for one in trials if not (one.broken_off or one.pain_limited or cut_short(one))]


def was_watched(spec: TestSpec, trials: Sequence[Trial]) -> bool:
    """Whether a sign not marked was not there: all that was done to its end was watched."""
    done = done_to_the_end(spec, trials)
    return bool(done) and all(trial.watched for trial in done)


def observe(protocol: ScreenProtocol, session: Session) -> Mapping[Key, Observation]:
    """Sort the trials that count by test and side, in the order of the protocol.

    Trials that contradict themselves are left out; `assess` remarks on them. A two-legged test
    has one observation, whatever side its trials name. Addenda are applied here, so that whatever
    is graded, weighed or compared is as they say.
    """
    specs = {spec.id: spec for spec in protocol.tests}
    found: dict[Key, list[tuple[int, Trial]]] = {
        (spec.id, side): [] for spec in protocol.tests for side in sides_of(spec)
    }
    for place, trial in enumerate(session.as_amended.trials):
        spec = specs.get(trial.test)
        if spec is None or not trial.counts or contradiction(spec, trial):
            continue
        key = (spec.id, trial.side if spec.sided else None)
        if key in found:
            found[key].append((place, as_seen(spec, trial)))
    plain = {key: tuple(t for _, t in trials if not t.cue) for key, trials in found.items()}
    return {
        (test, side): Observation(
            specs[test],
            side,
            session.client,
            plain=plain[test, side],
            cued=tuple(trial for _, trial in trials if trial.cue),
            places=tuple(place for place, trial in trials if not trial.cue),
            opposite=plain[test, other(side)] if side else (),
        )
        for (test, side), trials in found.items()
        if trials
    }


def as_seen(spec: TestSpec, trial: Trial) -> Trial:
    """The trial as the rules read it.

    A corrected value may be that of another ending: a hold as long as its cap ended there. That
    an aid was used is said in two places, tied here alone: a noted aid gives the sign, where the
    test has it, and the sign without a named aid leaves open which one it was (`aid_of`).
    """
    if trial.correction and trial.value is not None:
        ended = spec.timer.ending_of(trial.value, trial.ended)
        trial = trial.model_copy(update={"ended": ended})
    named = trial.aid not in ("", NO_AID)
    if not named or WALKING_AID not in spec.signs or WALKING_AID in trial.signs:
        return trial
    return trial.model_copy(update={"signs": (*trial.signs, WALKING_AID)})


def aid_of(trial: Trial, usual: str | None) -> str | None:
    """The aid of a trial: as noted, else as usual; None when the sign says that there was one.

    The sign is ticked as the person walks, so it outweighs a note that there was none.
    """
    if trial.aid in ("", NO_AID) and WALKING_AID in trial.signs:
        return None
    return trial.aid or usual


def sides_of(spec: TestSpec) -> tuple[Side | None, ...]:
    """Left and right for a one-legged test; only None for a two-legged one."""
    return LEGS if spec.sided else (None,)


def other(side: Side | None) -> Side | None:
    """The other leg; None for None."""
    return {"left": "right", "right": "left"}[side] if side else None  # type: ignore[return-value]
