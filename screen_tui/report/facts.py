"""What the note and the screen both say of one screen, before either gives it a form."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from screen_tui.engine.answer import POSSIBLE
from screen_tui.engine.comparable import counting
from screen_tui.engine.conditions import Seen
from screen_tui.engine.observe import Key, Observation, observe
from screen_tui.engine.offered import covered_by, not_called_for, why_not_offered
from screen_tui.engine.results import (
    Assessment,
    DriverResult,
    Finding,
    LineUsed,
    Outcome,
    Pointer,
    ReferenceUsed,
    Result,
)
from screen_tui.engine.safety import LIMITS, PAIN_LIMIT, withheld_tests
from screen_tui.fields import Side
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import ResultMeasure, TestSpec
from screen_tui.report.words import (
    WEIGHT_BEARING,
    caution_name,
    caution_step,
    joined,
    limit_words,
    number,
    precaution_words,
    result_amount,
    standing_words,
    test_name,
    test_on,
    weeks_ago,
    with_side,
)
from screen_tui.session.model import Session, Trial


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing to tell.

    Attributes:
        label: What it is about; empty where the text stands alone.
        text: What there is to say, in words and numbers with their units.
        source: The id of the source the text rests on; None where it needs none.
    """

    label: str
    text: str
    source: str | None = None


FROM_ONE_TRIAL = "from one trial"
FROM_SIGNS = "from the signs of all trials"


def measure_of(spec: TestSpec | None, measure_id: str) -> ResultMeasure | None:
    """The measure of a result, or None where the protocol no longer has it."""
    return next((one for one in spec.measures if one.id == measure_id), None) if spec else None


def scored_fact(spec: TestSpec | None, result: Result) -> Fact:
    """Which trials the value is from; the source is that of the calculation, where it has one."""
    measure = measure_of(spec, result.measure)
    source = measure.source if measure is not None and result.value is not None else None
    return Fact("Value", _scored(measure, len(result.trials)), source)


def _scored(measure: ResultMeasure | None, trials: int) -> str:
    if measure is None or not trials:
        return ""
    if measure.taken_from == "points":
        return FROM_SIGNS
    if trials == 1:
        return FROM_ONE_TRIAL
    return f"{measure.over_trials} of {trials} trials"


def value_fact(spec: TestSpec | None, result: Result) -> Fact:
    """The value with its unit and how it was scored, or that there is none and why."""
    if result.value is None:
        why = result.why_not or "nothing was measured"
        return Fact(result.label, f"{result_amount(result)}; not judged: {why}")
    scored = scored_fact(spec, result)
    value = result_amount(result)
    told = f"{value} ({scored.text})" if scored.text else value
    return Fact(result.label, told, scored.source)


def _standing_fact(spec: TestSpec | None, result: Result) -> Fact:
    """How it stands; where it is near its line, within which error, and where that comes from."""
    words = standing_words(result)
    if result.standing != "near the line" or result.near_within is None:
        return Fact("Result", words)
    errors = [one for one in spec.errors if one.measure == result.measure] if spec else []
    source = next((one.source for one in errors if one.sem == result.near_within), None)
    within = f"within {result.near_within:.2g} {result.unit}, the measurement error"
    return Fact("Result", f"{words} ({within})", source)


def compared_facts(spec: TestSpec | None, result: Result) -> list[Fact]:
    """What a value is held against, in the order to read it; empty when there is no value."""
    if result.value is None:
        return []
    facts = [] if result.line is None else [Fact("Cut-off", *_line(result, result.line))]
    facts.append(_standing_fact(spec, result))
    facts += [Fact("Worse than a warning cut-off", *_line(result, flag)) for flag in result.flags]
    if result.reference is not None:
        provisional = ", provisional" if result.reference.provisional else ""
        told = _reference_words(result, result.reference)
        facts.append(Fact(f"Reference value{provisional}", told, result.reference.source))
    if result.symmetry_percent is not None:
        share = f"{number(result.symmetry_percent, 0)} % (worse side as a share of the better)"
        facts.append(Fact("Between sides", share))
    if result.slowing_percent is not None:
        pace = "Slowing" if round(result.slowing_percent) > 0 else "Pace"
        facts.append(Fact(pace, _slowing(result.slowing_percent)))
    return facts


def _line(result: Result, line: LineUsed) -> tuple[str, str]:
    limit = limit_words(line, result)
    return f"{limit} ({line.kind}) - {line.meaning}; {line.population}", line.source


def _reference_words(result: Result, reference: ReferenceUsed) -> str:
    spread = f", SD {reference.sd:g}" if reference.sd is not None else ""
    percentile = ""
    if reference.percentile is not None:
        percentile = f", this value at percentile {_percentile(reference.percentile)}"
    mean = f"{reference.of} {reference.mean:g} {result.unit}".rstrip()
    return f"{mean}{spread}{percentile}; {reference.population}"


def _percentile(percentile: float) -> str:
    if percentile < 1:
        return "below 1"
    if percentile > 99:
        return "above 99"
    return number(percentile, 0)


def _slowing(percent: float) -> str:
    shown = number(abs(percent), 0)
    if shown == "0":
        return "the last third of the repetitions was as quick as the first"
    how = "slower" if percent > 0 else "quicker"
    return f"the last third of the repetitions was {shown} % {how} than the first"


@dataclass(frozen=True, slots=True)
class ObservedSession:
    """A session with its meaning, and what is looked up in it again and again."""

    protocol: ScreenProtocol
    session: Session
    assessment: Assessment
    seen: Mapping[Key, Observation]

    @classmethod
    def of(
        cls, protocol: ScreenProtocol, session: Session, assessment: Assessment
    ) -> ObservedSession:
        """Observe a session that was judged by the protocol."""
        return cls(protocol, session, assessment, observe(protocol, session))

    def trials_behind(self, result: Result) -> tuple[Trial, ...]:
        """The trials that make a result, or, where none has a value, all that were done plainly."""
        observation = self.seen.get((result.test, result.side))
        if observation is None:
            return ()
        measure = measure_of(observation.spec, result.measure)
        if measure is None:
            return observation.plain
        return counting(observation, measure) or observation.plain


def at_least(spec: TestSpec | None, measure: ResultMeasure | None, values: Sequence[float]) -> bool:
    """Whether a result is only known to be no less: the clock stopped a hold at its full time.

    Args:
        spec: The test.
        measure: What was taken from it.
        values: The values of the trials that make the result, in order.
    """
    cap = None if spec is None else spec.timer.cap
    if measure is None or cap is None or measure.taken_from != "value" or not values:
        return False
    if measure.over_trials in ("first", "last"):
        return values[0 if measure.over_trials == "first" else -1] >= cap
    # The best is full where any is, and a mean is too small where any was cut short.
    return max(values) >= cap


_Place = tuple[str, Side | None]

NOT_OFFERED = "not offered"
ALL_DONE = "nothing; every test of the battery was done"


def not_done_facts(
    protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> list[Fact]:
    """Each reason once, under the tests it holds for; empty when every test was done."""
    by_reason: dict[str, list[_Place]] = {}
    for place, reason in _reasons(protocol, session, assessment).items():
        by_reason.setdefault(reason, []).append(place)
    return [Fact(joined(_names(protocol, places)), reason) for reason, places in by_reason.items()]


def not_tested_facts(
    protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> list[Fact]:
    """What was offered for a leg that is complained of and not done; why, `not_done_facts` says."""
    sides: tuple[Side, ...] = ("left", "right")
    missing = {
        side: [
            test_name(protocol, test)
            for (test, place), reason in _reasons(protocol, session, assessment).items()
            if place == side and not reason.startswith(NOT_OFFERED)
        ]
        for side in sides
        if session.intake.complains_of(side)
    }
    return [
        Fact(f"Not tested on the {side}", joined(tests)) for side, tests in missing.items() if tests
    ]


def _names(protocol: ScreenProtocol, places: list[_Place]) -> list[str]:
    """Name each test once where both its legs were left out for the same reason."""
    sides: dict[str, list[Side | None]] = {}
    for test, side in places:
        sides.setdefault(test, []).append(side)
    names = []
    for test, left_out in sides.items():
        name = test_name(protocol, test)
        if {"left", "right"} <= set(left_out):
            names.append(f"{name}, both sides")
        else:
            names += [with_side(name, side) for side in left_out]
    return names


def _reasons(
    protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> dict[_Place, str]:
    reasons: dict[_Place, str] = {}
    for test, side, reason in assessment.not_done:
        reasons[test, side] = reason
    for skip in session.skipped:
        reasons.setdefault((skip.test, skip.side), skip.reason)
    seen = Seen.of(protocol, session)
    withheld = {
        **not_called_for(protocol, session.intake, seen),
        **withheld_tests(protocol, session, seen),
    }
    otherwise = "not done: the screen was stopped" if session.stopped else "no reason recorded"
    done = {trial.test for trial in session.trials if trial.counts}
    for item in protocol.battery.items:
        # What is done only when asked for, or covered by another test, is not missing.
        if item.when_asked or covered_by(
            protocol, session.intake, item, session.client.age, chosen=done
        ):
            continue
        spec = protocol.known_test(item.test)
        sides: tuple[Side | None, ...] = ("left", "right") if spec and spec.sided else (None,)
        not_offered = why_not_offered(protocol, session.intake, item, session.client.age)
        for side in sides:
            place = item.test, side
            if {place, (item.test, None)} & reasons.keys() or _tried(session, *place):
                continue
            if not_offered:
                reasons[place] = f"{NOT_OFFERED}: {not_offered}"
            elif place in withheld:
                if withheld[place]:
                    reasons[place] = f"withheld: {withheld[place]}"
            else:
                reasons[place] = otherwise
    return reasons


def _tried(session: Session, test: str, side: Side | None) -> bool:
    """Whether any trial was begun there, a struck-out one too: the trials above tell its story."""
    return any(t.test == test and (side is None or t.side == side) for t in session.trials)


SHOWN_WHEN_NONE_LEADS = 2
"""How many drivers are laid out in full when no driver leads."""

WHAT_FINDINGS_ARE = (
    "How much a finding says is judgement, not measured; it ranks, and is no probability of a "
    "disease."
)

_STANDINGS = {"likely": "likely", "possible": "possible", "not-supported": "not supported"}

TELLING = 1.25
"""A finding that moves the odds of a driver by less than this is not worth a line (judgement)."""

WORTH_A_LINE = 0.20
"""A driver at or above this chance is named beside those that lead (judgement)."""


def telling(findings: Sequence[Finding]) -> list[Finding]:
    """The findings worth a line, in their order."""
    return [one for one in findings if max(one.factor, 1 / one.factor) >= TELLING]


def by_test(findings: Sequence[Finding]) -> list[list[Finding]]:
    """The findings of each test on each side together, in the order of their first."""
    found: dict[_Place, list[Finding]] = {}
    for one in findings:
        found.setdefault((one.test, one.side), []).append(one)
    return list(found.values())


def drivers_in_full(assessment: Assessment) -> tuple[DriverResult, ...]:
    """The drivers to lay out in full: those that lead, or else the best of the rest."""
    best = [driver for driver in assessment.drivers if telling(driver.speaks_for)]
    return assessment.leading or tuple(best[:SHOWN_WHEN_NONE_LEADS])


def drivers_beside(assessment: Assessment) -> list[DriverResult]:
    """The drivers a line is enough for, and not told in full."""
    shown = drivers_in_full(assessment)
    return [
        driver
        for driver in assessment.drivers
        if driver not in shown and driver.chance >= WORTH_A_LINE
    ]


def driver_standing(driver: DriverResult) -> str:
    """How a driver stands, in words.

    One that is common in such a person and that no test showed, or none without pain, is not
    supported whatever its chance; that is said, since its bar is long.
    """
    if driver.standing == "not-supported" and driver.chance >= POSSIBLE:
        in_pain = any(one.in_pain for one in telling(driver.speaks_for))
        return "in pain only" if in_pain else "not shown"
    return _STANDINGS[driver.standing]


def outside_facts(pointers: Iterable[Pointer]) -> list[Fact]:
    """What is no driver here and may be behind the complaint, and what to examine then."""
    return [
        Fact(
            f"May also be: {one.name}" if one.because else one.name,
            one.examine + (f" (seen: {', '.join(one.because)})" if one.because else ""),
            one.source,
        )
        for one in pointers
    ]


def meaning_facts(protocol: ScreenProtocol, driver: DriverResult) -> list[Fact]:
    """What a driver means; nothing where the protocol has no such driver."""
    known = protocol.drivers
    return [Fact("Meaning", one.meaning, one.source) for one in known if one.id == driver.driver]


def counts_against_facts(protocol: ScreenProtocol, driver: DriverResult) -> list[Fact]:
    """What would speak against a driver; nothing where it does not even look possible."""
    known = protocol.drivers if can_stand(driver) else ()
    label = "Would count against it"
    return [Fact(label, one.counts_against) for one in known if one.id == driver.driver]


def rests_facts(protocol: ScreenProtocol, driver: DriverResult) -> list[Fact]:
    """The tests without any of which the answer would be weaker, where there is an answer."""
    if not can_stand(driver):
        return []
    places = [test_on(protocol, test, None) for test in driver.rests_on]
    without = "no single test; without any one of them the answer is the same"
    return [Fact("Rests on", joined(places) or without)]


def can_stand(driver: DriverResult) -> bool:
    """Whether it stands well enough to ask what it rests on."""
    return driver.standing in ("likely", "possible")


def why_nothing_settles(session: Session, assessment: Assessment) -> str:
    """Why no test is suggested, as the end of a sentence.

    Empty where tests are suggested, and where nothing was found, so that nothing is to settle.
    """
    if assessment.outcome == "refer-first":
        return "no further test is suggested, because a referral comes first."
    if session.stopped:
        return "no further test is suggested, because the screen was stopped."
    if assessment.next_tests or assessment.outcome == "nothing-found":
        return ""
    return "no test left in this protocol would move the ranking."


SUGGESTIONS = "Rule-based suggestions; the clinician takes, changes or drops each."
NOTHING_LEFT_OUT = "nothing is named by these findings"
NEXT_TESTS = "Most useful next tests"
NO_PRECAUTIONS = "none arose from what was recorded"
RETEST_DATE = "Test again on (date, set by the clinician)"
STOP_AT_ONCE = "End a test at once for"

_NO_START: dict[Outcome, str] = {
    "refer-first": "nothing; refer first",
    "nothing-found": "nothing; these tests found nothing to work on",
    "undetermined": "nothing yet; the findings do not settle on a driver",
    "unloaded-only": "nothing yet; only unloaded tests could be done",
}


def nothing_to_start(outcome: Outcome) -> str:
    """Why a plan without exercises has none."""
    return _NO_START.get(outcome, "nothing is suggested by these findings")


def precautions(session: Session, assessment: Assessment) -> list[str]:
    """What the plan must heed, from the questions, the orders and what was found."""
    cautions = [f"{caution_name(one)}: {caution_step(one)}" for one in assessment.cautions]
    return [*cautions, *limits(session, assessment)]


def limits(session: Session, assessment: Assessment) -> list[str]:
    """What must be heeded beside the cautions."""
    intake = session.intake
    found: list[str] = []
    if intake.weight_bearing != "full":
        found.append(f"weight-bearing allowed: {WEIGHT_BEARING[intake.weight_bearing]}")
    found += [LIMITS[one] for one in intake.precautions]
    if intake.recent_surgery_weeks is not None:
        found.append(f"surgery {weeks_ago(intake.recent_surgery_weeks)}: local limits come first")
    kept = [trial for trial in session.as_amended.trials if trial.counts]
    pains = [trial.pain for trial in kept if trial.pain is not None]
    if pains and max(pains) > PAIN_LIMIT:
        found.append(f"pain up to {max(pains)} of 10 during testing")
    return [*found, *map(precaution_words, assessment.precautions)]


def retest_facts(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> list[Fact]:
    """What to test again and when, for each leading driver, and how to keep it comparable."""
    if assessment.outcome == "refer-first":
        return [Fact("", "Only once the referral has been answered.")]
    leading = {driver.driver for driver in assessment.leading}
    facts = [
        Fact(driver.name, driver.retest, driver.source)
        for driver in protocol.drivers
        if driver.id in leading and driver.retest
    ]
    again = dict.fromkeys(
        test_on(protocol, result.test, result.side)
        for result in assessment.results
        if result.standing in ("short of the line", "near the line")
    )
    if again:
        facts.append(Fact("Tests to repeat", joined(list(again))))
    if session.trials:
        same = "Same side, same set-up, same use of hands, or it cannot be compared."
        facts.append(Fact("", same))
    return facts


def stop_rule_facts(
    protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> list[Fact]:
    """The reasons to end a test at once, where a test is to be repeated."""
    if assessment.outcome == "refer-first" or not session.trials:
        return []
    return [Fact("", rule.text, rule.source) for rule in protocol.stop_rules]
