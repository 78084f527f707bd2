"""Trials that cannot be as they stand: said aloud, and not used."""

from __future__ import annotations

from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Trial

DEGREES = 3.0
"""By how much active extension may seem better than passive before the two contradict each other.

One rater's error with a goniometer on one visit is of that size (clinical judgement).
"""


def contradiction(spec: TestSpec, trial: Trial) -> str:
    """Why a trial cannot be as it stands, in words; empty when it can.

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
