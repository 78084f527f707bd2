"""The facts of one session, each laid out once, for every document that has them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from screen_tui.engine.comparable import counting
from screen_tui.engine.conditions import Seen
from screen_tui.engine.grade import ResultKey, grade
from screen_tui.engine.observe import Observation, observe, sides_of
from screen_tui.engine.offered import covered_by, not_called_for, why_not_offered
from screen_tui.engine.results import Assessment, LineUsed, ReferenceUsed, Result
from screen_tui.engine.safety import withheld_tests
from screen_tui.fields import LEGS, Side
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import ResultMeasure, TestSpec
from screen_tui.report import words
from screen_tui.report.document import Line
from screen_tui.session.model import Session, Trial

FROM_ONE_TRIAL = "from one trial"
FROM_SIGNS = "from the signs of all trials"


def measured_by(protocol: ScreenProtocol, result: Result) -> tuple[TestSpec, ResultMeasure]:
    """The test and the measure of a result."""
    spec = protocol.test(result.test)
    return spec, spec.measure(result.measure)


def scored_fact(measure: ResultMeasure, result: Result) -> Line:
    """Which trials the value is from; the source is that of the calculation, where it has one."""
    source = measure.source if result.value is not None else None
    trials = len(result.trials)
    if not trials:
        text = ""
    elif measure.taken_from == "points":
        text = FROM_SIGNS
    else:
        text = FROM_ONE_TRIAL if trials == 1 else f"{measure.over_trials} of {trials} trials"
    return Line(text, "Value", source)


def _standing_fact(spec: TestSpec, result: Result) -> Line:
    text = words.standing_words(result)
    if result.standing != "near the line" or result.near_within is None:
        return Line(text, "Result")
    errors = (one for one in spec.errors if one.measure == result.measure)
    source = next((one.source for one in errors if one.sem == result.near_within), None)
    within = f"within {result.near_within:.2g} {result.unit}, the measurement error"
    return Line(f"{text} ({within})", "Result", source)


def compared_facts(spec: TestSpec, result: Result) -> list[Line]:
    """What a value is held against, in the order to read it; empty when there is no value."""
    if result.value is None:
        return []
    facts = [] if result.line is None else [_line("Cut-off", result, result.line)]
    facts.append(_standing_fact(spec, result))
    facts += [_line("Worse than a warning cut-off", result, flag) for flag in result.flags]
    if result.reference is not None:
        provisional = ", provisional" if result.reference.provisional else ""
        text = _reference_words(result, result.reference)
        facts.append(Line(text, f"Reference value{provisional}", result.reference.source))
    if result.symmetry_percent is not None:
        share = (
            f"{words.number(result.symmetry_percent, 0)} % (worse side as a share of the better)"
        )
        facts.append(Line(share, "Between sides"))
    if result.slowing_percent is not None:
        pace = "Slowing" if round(result.slowing_percent) > 0 else "Pace"
        facts.append(Line(_slowing(result.slowing_percent), pace))
    return facts


def _line(label: str, result: Result, line: LineUsed) -> Line:
    limit = words.limit_words(line, result)
    return Line(f"{limit} ({line.kind}) - {line.meaning}; {line.population}", label, line.source)


def _reference_words(result: Result, reference: ReferenceUsed) -> str:
    text = f"{reference.of} {reference.mean:g} {result.unit}".rstrip()
    text += f", SD {reference.sd:g}" if reference.sd is not None else ""
    if reference.percentile is not None:
        at = words.number(reference.percentile, 0)
        at = "below 1" if reference.percentile < 1 else at
        at = "above 99" if reference.percentile > 99 else at
        text += f", this value at percentile {at}"
    return f"{text}; {reference.population}"


def _slowing(percent: float) -> str:
    shown = words.number(abs(percent), 0)
    if shown == "0":
        return "the last third of the repetitions was as quick as the first"
    how = "slower" if percent > 0 else "quicker"
    return f"the last third of the repetitions was {shown} % {how} than the first"


def as_judged(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> Seen:
    """What was seen in a session, with the results of its assessment."""
    results: dict[ResultKey, Result] = {
        (one.test, one.side, one.measure): one for one in assessment.results
    }
    return Seen(protocol, session.as_amended, observe(protocol, session), results)


def trials_behind(seen: Seen, result: Result) -> tuple[Trial, ...]:
    """The trials that make a result, or, where none has a value, all that were done plainly."""
    observation = seen.observations.get((result.test, result.side))
    if observation is None:
        return ()
    return counting(observation, observation.spec.measure(result.measure)) or observation.plain


REPEAT = "repeat with a cue"
"""Why the numbers of one are not judged."""


def repeats(seen: Seen) -> Iterator[tuple[str, Seen]]:
    """The id of each cue that was tried in a test, with what was seen as if that were all of it.

    Its values are made by the usual rule of each measure, from the trials with that cue alone.
    """
    for place, observation in seen.observations.items():
        for cue in dict.fromkeys(trial.cue for trial in observation.cued):
            alone = {place: replace(observation, plain=observation.with_cue(cue), cued=())}
            graded = grade(seen.protocol, alone)
            results = {key: _not_judged(result) for key, result in graded.items()}
            yield cue, replace(seen, observations=alone, results=results)


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


def at_least(spec: TestSpec, measure: ResultMeasure, values: Sequence[float]) -> bool:
    """Whether a result is only known to be no less: the clock stopped a hold at its full time.

    ``values`` are those of the trials that make the result, in order.
    """
    cap = spec.timer.cap
    if cap is None or measure.taken_from != "value" or not values:
        return False
    if measure.over_trials in ("first", "last"):
        return values[0 if measure.over_trials == "first" else -1] >= cap
    # The best is full where any is, and a mean is too small where any was cut short.
    return max(values) >= cap


Place = tuple[str, Side | None]

ALL_DONE = "nothing; every test offered was done"
NO_REASON = "no reason recorded"


@dataclass(frozen=True, slots=True)
class Missing:
    """Why a test was not done on a side.

    Attributes:
        called_for: Whether the test set has it for this person.
        chosen: Whether somebody decided so, or gave no reason; else a rule of the test set did.
    """

    reason: str
    called_for: bool = True
    chosen: bool = True

    @property
    def words(self) -> str:
        return self.reason if self.chosen else f"not offered: {self.reason}"


def not_done_facts(
    protocol: ScreenProtocol, session: Session, assessment: Assessment, *, chosen: bool = False
) -> list[Line]:
    """Each reason once, under the tests it holds for; empty when every test was done.

    With ``chosen`` only those that somebody decided to leave out, or that have no reason.
    """
    by_reason: dict[str, list[Place]] = {}
    for place, missing in missing_tests(protocol, session, assessment).items():
        if missing.chosen or not chosen:
            by_reason.setdefault(missing.words, []).append(place)
    return [
        Line(reason, words.joined(names_on(protocol, places)))
        for reason, places in by_reason.items()
    ]


def not_tested_facts(
    protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> list[Line]:
    """What was offered for a leg that is complained of and not done, with the reason in short."""
    text: dict[Side, list[str]] = {leg: [] for leg in LEGS if session.intake.complains_of(leg)}
    for (test, side), missing in missing_tests(protocol, session, assessment).items():
        if side in text and missing.called_for:
            why = "" if missing.reason == NO_REASON else f" ({missing.reason.rstrip('.')})"
            text[side].append(f"{words.short_on(protocol, test, None)}{why}")
    if len(text) == 2 and text["left"] == text["right"]:
        return [Line(words.joined(text["left"]), "on both sides")] if text["left"] else []
    return [Line(words.joined(tests), f"on the {side}") for side, tests in text.items() if tests]


def names_on(protocol: ScreenProtocol, places: Iterable[Place]) -> list[str]:
    """Name each test once where it is of both its legs."""
    sides: dict[str, list[Side | None]] = {}
    for test, side in places:
        sides.setdefault(test, []).append(side)
    names = []
    for test, left_out in sides.items():
        name = words.short_on(protocol, test, None)
        if set(LEGS) <= set(left_out):
            names.append(f"{name}, both sides")
        else:
            names += [words.with_side(name, side) for side in left_out]
    return names


def left_out(
    protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> dict[Place, str]:
    """Every test the person should have had that was left out for a reason, with the reason."""
    return {
        place: missing.words
        for place, missing in missing_tests(protocol, session, assessment).items()
        if missing.called_for and missing.reason != NO_REASON
    }


def missing_tests(
    protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> dict[Place, Missing]:
    """Every test of the test set that was not done, with its side and why."""
    missing = {(test, side): Missing(reason) for test, side, reason in assessment.not_done}
    for skip in session.skipped:
        missing.setdefault((skip.test, skip.side), Missing(skip.reason))
    seen = as_judged(protocol, session, assessment)
    withheld = {**not_called_for(protocol, session.intake, seen), **withheld_tests(seen)}
    # The trials tell the story of what was begun, void ones too.
    tried = {(one.test, side) for one in session.trials for side in (one.side, None)}
    otherwise = "testing was stopped" if session.stopped else NO_REASON
    done = {trial.test for trial in session.trials if trial.counts}
    for item in protocol.battery.items:
        # What is done only when asked for, or covered by another test, is not missing.
        if item.waits(session.client.age) or covered_by(
            protocol, session.intake, item, session.client.age, chosen=done
        ):
            continue
        spec = protocol.known_test(item.test)
        sides = sides_of(spec) if spec else (None,)
        not_offered = why_not_offered(protocol, session.intake, item, session.client.age)
        for side in sides:
            place = item.test, side
            if {place, (item.test, None)} & missing.keys() or place in tried:
                continue
            if not_offered:
                missing[place] = Missing(not_offered, called_for=False, chosen=False)
            elif place in withheld:
                if withheld[place]:
                    missing[place] = Missing(withheld[place], chosen=False)
            else:
                missing[place] = Missing(otherwise)
    return missing


def times_seen(observation: Observation) -> dict[str, int]:
    """How often each sign was seen in trials without a cue, in the order of the test."""
    return {
        sign: sum(
            trial.sign_counts.get(sign, 1) for trial in observation.plain if sign in trial.signs
        )
        for sign in observation.spec.signs
        if sign in observation.signs
    }
