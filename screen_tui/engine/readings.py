"""One number of one visit, with all that decides whether another may be held against it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from screen_tui.engine.alike import Way, way_of
from screen_tui.engine.conditions import Seen
from screen_tui.engine.counting import counting
from screen_tui.engine.grade import ResultKey
from screen_tui.engine.measures import HANDS_USED, set_up_of
from screen_tui.engine.observe import Key, Observation, other, sides_of
from screen_tui.fields import SetUpId, Side
from screen_tui.protocol.tests import ResultMeasure, TestSpec
from screen_tui.protocol.whole import Protocol
from screen_tui.session.model import Session, Trial

NOT_TESTED, NO_VALUE, UNABLE = "not tested", "no value was recorded", "could not be done"
"""Why a visit has no number."""

CUT_SHORT = "cap"
"""Why a hold ended that could have gone on."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What one visit has to say of one measure on one side.

    Attributes:
        value: The result, in the measure's unit; None where there is none.
        missing: Why there is none; empty where there is one.
        full: A hold that reached its full time: the person could have gone on.
        pain_limited: Pain limited every trial.
        hands: Hands were used in rising.
        way: How the test was set up; None without a value.
        unknown: What of the set-up is not known, though the test asks for it.
        other_knee: For a deficit against the other knee, whether that knee was measured.
        trials: How many trials made the value.
        corrected: A trial that made it was corrected by hand, then or in an addendum.
        footwear: What was worn; empty where it does not matter to the test.
        worst_pain: The worst pain of any trial of that test and leg, 0 to 10; None if not asked.
    """

    value: float | None = None
    missing: str = NOT_TESTED
    full: bool = False
    pain_limited: bool = False
    hands: bool = False
    way: Way | None = None
    unknown: tuple[SetUpId, ...] = ()
    other_knee: bool = True
    trials: int = 0
    corrected: bool = False
    footwear: str = ""
    worst_pain: int | None = None

    @property
    def done(self) -> bool:
        """Whether there was at least one trial, even one without a number."""
        return not self.missing.startswith(NOT_TESTED)


Readings = Mapping[ResultKey, Reading]
"""By test, side and measure; what a visit has nothing to say of is not in it."""


def readings_of(protocol: Protocol, session: Session) -> Readings:
    """Read every measure of a session that was tested, or that was left out for a reason."""
    seen = Seen.of(protocol, session)
    found: dict[ResultKey, Reading] = {}
    for spec in protocol.tests:
        for side in sides_of(spec):
            for measure in spec.measures:
                reading = _reading(session, seen, spec, side, measure)
                if reading is not None:
                    found[spec.id, side, measure.id] = reading
    return found


def _reading(
    session: Session, seen: Seen, spec: TestSpec, side: Side | None, measure: ResultMeasure
) -> Reading | None:
    key: Key = (spec.id, side)
    observation = seen.observations.get(key)
    if observation is None or not observation.plain:
        reasons = [skip.reason for skip in session.skipped if skip.covers(*key)]
        return Reading(missing=f"{NOT_TESTED} ({reasons[0]})") if reasons else None
    result = seen.results.get((spec.id, side, measure.id))
    if result is None or result.value is None:
        unable = "unable" in observation.ended
        return Reading(missing=UNABLE if unable else NO_VALUE, worst_pain=observation.worst_pain)
    opposite = seen.observations.get((spec.id, other(side))) if side else None
    made_of = counting(session.client, observation, opposite, measure)
    way = _way(spec, made_of)
    asked = {condition.id for condition in spec.set_up}
    return Reading(
        value=result.value,
        missing="",
        full=_full(spec, measure, made_of, result.value),
        pain_limited=observation.pain_limited,
        hands=spec.timer.rises and any(HANDS_USED in trial.signs for trial in made_of),
        way=way,
        unknown=tuple(one for one, noted in way.set_up if noted is None and one in asked),
        other_knee=measure.taken_from != "deficit" or _measured(opposite),
        trials=len(made_of),
        corrected=any(trial.correction for trial in made_of),
        footwear=_footwear(spec, made_of),
        worst_pain=observation.worst_pain,
    )


def _full(spec: TestSpec, measure: ResultMeasure, made_of: tuple[Trial, ...], value: float) -> bool:
    """Whether the clock, and not the person, ended what makes the value."""
    cap = spec.timer.cap
    if cap is None or measure.taken_from != "value":
        return False
    best = measure.over_trials == "best"
    ended = [trial for trial in made_of if not best or trial.value == value]
    return any(one.ended == CUT_SHORT or (one.value or 0) >= cap for one in ended)


def _way(spec: TestSpec, made_of: tuple[Trial, ...]) -> Way:
    """The one way of the trials; a riser noted at any of these flights is that of all."""
    return way_of(spec, max(made_of, key=lambda trial: trial.riser_cm is not None))


def _measured(opposite: Observation | None) -> bool:
    return opposite is not None and any(one.passive_deg is not None for one in opposite.plain)


def _footwear(spec: TestSpec, made_of: tuple[Trial, ...]) -> str:
    if not any(condition.id == "footwear" for condition in spec.set_up):
        return ""
    worn = dict.fromkeys(str(set_up_of(spec, trial, "footwear")) for trial in made_of)
    return " and ".join(sorted(worn))
