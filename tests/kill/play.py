"""Plays rounds one after the other."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from kill.plans import plans
from kill.round import Outcome, Rounds
from kill.tally import Tally


def play(
    below: Path,
    seed: str,
    kills: int,
    others: int,
    *,
    only: int | None = None,
    tell: Callable[[str], None],
) -> Tally:
    """Play rounds and add them up.

    Args:
        below: A folder for all they write.
        seed: The same seed gives the same rounds.
        kills: How many end with SIGKILL.
        others: How many end in each of the other ways.
        only: The number of the one round to play; None for all.
        tell: Takes a line on each round, and all that went wrong in it.
    """
    rounds, tally, before = Rounds(below), Tally(), Outcome()
    tell(f"seed {seed}")
    for number, plan in enumerate(plans(seed, kills, others), start=1):
        if only not in (None, number):
            continue
        # What a write that was cut short leaves must never keep anybody from going on.
        goes_on = before.can_go_on and (plan.goes_on or before.cut_short)
        plan = replace(plan, goes_on=goes_on)
        outcome = rounds.play(plan)
        tally.add(plan, outcome)
        before = outcome
        within = ", within a write" if outcome.cut_short else ""
        tell(f"{number:4} {plan}: {outcome.where}{within}, {outcome.trials} kept")
        for fault in outcome.faults:
            tell(f"     {fault.kind.upper()}: {fault.what}")
    return tally
