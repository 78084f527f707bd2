"""The trials of one test on one leg, and what they mean for the next one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from screen_tui.fields import Side
from screen_tui.protocol.tests import ResultMeasure, TestSpec
from screen_tui.session.model import Trial
from screen_tui.timing.spec import CAP, Direction


@dataclass(frozen=True, slots=True)
class Series:
    """Trials of one test, one leg, and one cue or none; the void ones are among them."""

    spec: TestSpec
    cue: str
    trials: tuple[Trial, ...]

    @classmethod
    def of(cls, spec: TestSpec, side: Side | None, cue: str, trials: tuple[Trial, ...]) -> Series:
        """Pick the trials that belong from all trials of a session."""
        return cls(
            spec,
            cue,
            tuple(t for t in trials if (t.test, t.side, t.cue) == (spec.id, side, cue)),
        )

    def with_trial(self, trial: Trial | None) -> Series:
        return self if trial is None else replace(self, trials=(*self.trials, trial))

    @property
    def counting(self) -> tuple[Trial, ...]:
        return tuple(trial for trial in self.trials if trial.counts)

    @property
    def wanted(self) -> int:
        """How many trials make a full series; a cued repeat is one (for stairs, one each way)."""
        ways = len(self.spec.timer.directions) or 1
        return ways if self.cue else max(self.spec.trials, ways)

    @property
    def complete(self) -> bool:
        """Whether the series is full, or its best can no longer be bettered.

        A hold that reached its cap is the best there can be, so the others of a "best of"
        are not needed (as in the one-leg stance of Springer 2007, J Geriatr Phys Ther 30:8-15).
        """
        counting = self.counting
        if self.spec.timer.directions:
            return all_directions(self.spec, counting) and len(counting) >= self.wanted
        capped = any(trial.ended == CAP for trial in counting)
        best = self.measure is not None and self.measure.over_trials == "best"
        return len(counting) >= self.wanted or (capped and best)

    @property
    def direction(self) -> Direction | None:
        """The way the next trial goes on stairs: up first, then the other way than the last."""
        ways = self.spec.timer.directions
        if not ways:
            return None
        last = self.counting[-1].direction if self.counting else None
        return ways[0] if last is None else ways[(ways.index(last) + 1) % len(ways)]

    @property
    def steps(self) -> int | None:
        """The steps of the flight: as in the last trial, else as in the protocol."""
        if self.spec.timer.flight is None:
            return None
        known = [trial.steps for trial in self.trials if trial.steps is not None]
        return known[-1] if known else self.spec.timer.flight

    @property
    def measure(self) -> ResultMeasure | None:
        """The measure that is a trial's own value, or None."""
        return next((m for m in self.spec.measures if m.taken_from == "value"), None)

    @property
    def so_far(self) -> str:
        """What the trials before came to, such as ``best 8.4 s``; "" while nothing did."""
        values = [trial.value for trial in self.counting if trial.value is not None]
        if self.spec.timer.directions:
            ways = [trial.direction for trial in self.counting if trial.value is not None]
            return ", ".join(f"{way} {value:g} s" for way, value in zip(ways, values, strict=True))
        if not values:
            return ""
        measure = self.measure
        if measure is None or measure.over_trials != "best":
            word, value = "last", values[-1]
        else:
            word, value = "best", max(values) if measure.better == "higher" else min(values)
        decimals = 1 if measure is None else measure.decimals
        unit = "s" if measure is None else measure.unit
        return f"{word} {value:.{decimals}f} {unit}"


def all_directions(spec: TestSpec, trials: Iterable[Trial]) -> bool:
    """Whether there is a trial of each way in which a test is done."""
    return set(spec.timer.directions) <= {trial.direction for trial in trials}
