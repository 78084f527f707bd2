"""The repeats with a cue, for the exports: what was done with each, and never a judgement."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from screen_tui.engine.grade import grade
from screen_tui.engine.results import Result
from screen_tui.report.facts import ObservedSession

REPEAT = "repeat with a cue"
"""Why its numbers are not judged."""


def repeats(screen: ObservedSession) -> Iterator[tuple[str, ObservedSession]]:
    """The id of each cue that was tried in a test, with the session as if that were all of it.

    Its values are made by the usual rule of each measure, from the trials with that cue alone.
    """
    for place, observation in screen.seen.items():
        for cue in dict.fromkeys(trial.cue for trial in observation.cued):
            alone = {place: replace(observation, plain=observation.with_cue(cue), cued=())}
            results = tuple(map(_not_judged, grade(screen.protocol, alone).values()))
            yield (
                cue,
                replace(screen, assessment=replace(screen.assessment, results=results), seen=alone),
            )


def _not_judged(result: Result) -> Result:
    return replace(
        result,
        standing="not judged",
        short=False,
        why_not=REPEAT if result.value is not None else result.why_not,
        line=None,
        flags=(),
        reference=None,
        near_within=None,
    )
