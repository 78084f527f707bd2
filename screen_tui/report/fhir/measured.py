"""The tests as observations: one for each test, side and number; what was seen; what was not done.

A hold that the clock stopped is "at least", a test not done has a reason and never a nought.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from screen_tui.engine.comparable import as_published
from screen_tui.engine.conditions import Seen
from screen_tui.engine.grade import NEEDS_BODY_SIZE
from screen_tui.engine.measures import HANDS_USED
from screen_tui.engine.observe import Key, Observation, sides_of
from screen_tui.engine.results import Assessment, LineUsed, Result, rounded
from screen_tui.fields import Side
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import Coded, ResultMeasure, TestSpec
from screen_tui.report.deidentify import OLDEST
from screen_tui.report.facts import (
    REPEAT,
    at_least,
    compared_facts,
    left_out,
    measured_by,
    repeats,
    scored_fact,
    times_seen,
    trials_behind,
)
from screen_tui.report.fhir.datatypes import (
    PAIN,
    Data,
    codings,
    concept,
    local,
    moment,
    quantity,
    standard,
)
from screen_tui.report.words import limit_words, sign_words, spaced, standing_words, with_side
from screen_tui.session.model import Trial

Keyed = tuple[str, Data]
"""The key of an observation within its session, and the observation."""

DECLINED = "does not want to"
"""The reason for leaving a test out that is the person's own."""

EXAM = concept("Exam", standard("observation-category", "exam", "Exam"))


def measured(seen: Seen, assessment: Assessment) -> Iterator[Keyed]:
    """Every observation of the tests, in the order of the protocol, then those not done.

    The repeats with a cue follow the usual trials, each as an observation of its own.
    """
    yield from _done(seen)
    for cue, repeat in repeats(seen):
        (repeated,) = repeat.observations.values()
        for key, made in _done(repeat):
            yield f"{key}/with-cue/{cue}", _with_cue(repeated.spec, cue, made)
    yield from _not_done(seen, assessment)


def _done(seen: Seen) -> Iterator[Keyed]:
    for result in seen.results.values():
        yield _key(result.test, result.side, result.measure), _result(seen, result)
    for (test, side), observation in seen.observations.items():
        if observation.signs or (observation.plain and not observation.spec.measures):
            yield _key(test, side, "signs"), _signs(seen.protocol, observation)
        if observation.worst_pain is not None:
            made = _about(observation.spec, side, "worst pain during it", "pain", PAIN)
            made["effectiveDateTime"] = _when((*observation.plain, *observation.cued))
            made["valueQuantity"] = quantity(observation.worst_pain, "of 10", PAIN.ucum)
            yield _key(test, side, "pain"), made


def _with_cue(spec: TestSpec, cue: str, made: Data) -> Data:
    """An observation of a repeat: a code of ours alone, since no published one has the cue."""
    name = f"{made['code']['text']}, {REPEAT}: {spaced(cue)}"
    own = made["code"]["coding"][-1]["code"]
    words = next((one.say for one in spec.cues if one.id == cue), spaced(cue))
    given = {
        "code": concept("Cue", local("cue", "Cue")),
        "valueCodeableConcept": concept(words, local(f"cue/{cue}", spaced(cue))),
    }
    return made | {
        "code": concept(name, local(f"{own}/with-cue/{cue}", name)),
        "component": [given, *made.get("component", [])],
    }


def _key(test: str, side: Side | None, what: str) -> str:
    return f"observation/{test}/{side or 'both'}/{what}"


def _result(seen: Seen, result: Result) -> Data:
    spec, measure = measured_by(seen.protocol, result)
    trials = trials_behind(seen, result)
    # A published code means a set-up as usual, and no hands.
    hands = spec.timer.zero_with_hands and any(HANDS_USED in one.signs for one in trials)
    fits = not hands and as_published(spec, measure, trials)
    observation = _about(spec, result.side, result.label, result.measure, measure, fits=fits)
    observation["effectiveDateTime"] = _when(trials)
    observation["method"] = concept(scored_fact(measure, result).text)
    value = rounded(result.value, result.decimals)
    if value is None:
        observation["dataAbsentReason"] = _absent("unknown", "Unknown", result.why_not)
    else:
        full = at_least(spec, measure, result.trials)
        observation["valueQuantity"] = quantity(value, result.unit, measure.ucum, at_least=full)
        observation["interpretation"] = [interpretation(result)]
    lines = [*([result.line] if result.line else []), *result.flags]
    observation["referenceRange"] = [_range(seen, result, line) for line in lines]
    observation["component"] = [*_trials(spec, measure, result), *_set_up(spec, trials)]
    observation["note"] = [{"text": text} for text in notes(seen.protocol, spec, result)]
    return observation


def _about(
    spec: TestSpec,
    side: Side | None,
    label: str,
    what: str,
    coded: Coded | None = None,
    *,
    fits: bool = True,
) -> Data:
    name = f"{spec.name}: {label}"
    return {
        "category": [EXAM],
        "code": concept(name, *codings(coded or Coded(), f"{spec.id}/{what}", name, fits=fits)),
        "bodySite": {"text": f"{side.capitalize()} leg" if side else None},
    }


def _when(trials: Sequence[Trial]) -> str | None:
    stamped = [trial.recorded for trial in trials if trial.recorded is not None]
    return moment(max(stamped)) if stamped else None


def _trials(spec: TestSpec, measure: ResultMeasure, result: Result) -> list[Data]:
    if measure.taken_from == "points":
        return []
    return [
        {
            "code": concept(f"Trial {place}", local(f"trial/{place}", f"Trial {place}")),
            "valueQuantity": quantity(
                rounded(value, result.decimals) or 0,
                result.unit,
                measure.ucum,
                at_least=at_least(spec, measure, [value]),
            ),
        }
        for place, value in enumerate(result.trials, start=1)
    ]


def _set_up(spec: TestSpec, trials: Sequence[Trial]) -> list[Data]:
    """How the test was set up, where it was noted and is the same for all its trials."""
    components = []
    for known in spec.set_up:
        ways = {trial.set_up(known.id) for trial in trials}
        way = ways.pop() if len(ways) == 1 else None
        code = concept(known.label, local(f"set-up/{known.id}", known.label))
        if isinstance(way, str):
            components.append({"code": code, "valueString": way})
        elif way is not None:
            unit = known.unit or "cm"
            value = quantity(way, unit, unit if unit == "cm" else None)
            components.append({"code": code, "valueQuantity": value})
    return components


def _signs(protocol: ScreenProtocol, observation: Observation) -> Data:
    """What was seen in trials without a cue; a sign that was not ticked is not called absent."""
    made = _about(observation.spec, observation.side, "signs seen", "signs")
    made["effectiveDateTime"] = _when(observation.plain)
    counts = times_seen(observation)
    if not counts:
        made["valueString"] = "No sign was ticked."
    seen = [
        {
            "code": concept(sign_words(protocol, one), local(f"sign/{one}", one)),
            "valueBoolean": True,
        }
        for one in counts
    ]
    for one, times in counts.items():
        if times > 1:
            words = f"{sign_words(protocol, one)}, times seen"
            code = concept(words, local(f"sign/{one}/count", words))
            seen.append({"code": code, "valueInteger": times})
    return made | {"component": seen}


def _not_done(seen: Seen, assessment: Assessment) -> Iterator[Keyed]:
    done = {(test, side) for test, side, _ in seen.results}
    done |= {key for key, observation in seen.observations.items() if observation.plain}
    reasons: dict[Key, str] = {}
    for (test, side), reason in left_out(seen.protocol, seen.session, assessment).items():
        spec = seen.protocol.known_test(test)
        for leg in sides_of(spec) if spec is not None and side is None else (side,):
            reasons.setdefault((test, leg), reason)
    for (test, side), reason in reasons.items():
        spec = seen.protocol.known_test(test)
        if spec is None or (test, side) in done:
            continue
        code, display = "not-performed", "Not Performed"
        if reason == DECLINED:
            code, display = "asked-declined", "Asked But Declined"
        text = f"{with_side(spec.name, side)} was not done: {reason}"
        absent = _absent(code, display, text)
        numbers: list[tuple[str, str, Coded | None]] = [
            (one.label, one.id, one)
            for one in spec.measures
            if one.taken_from not in NEEDS_BODY_SIZE
        ]
        for label, what, coded in numbers or [("signs seen", "signs", None)]:
            made = _about(spec, side, label, what, coded)
            yield _key(test, side, what), made | {"dataAbsentReason": absent}


def _absent(code: str, display: str, text: str) -> Data:
    return concept(text or display, standard("data-absent-reason", code, display))


_IN_RANGES = ("Cut-off", "Result", "Worse than a warning cut-off")
"""The facts that stand in the reference ranges and the interpretation."""

_NUMBER_BELOW, _NUMBER_ABOVE = ("L", "Low"), ("H", "High")


def interpretation(result: Result) -> Data:
    """How it stands, in words; low or high, which speak of the number, only where it is short."""
    words = standing_words(result)
    if result.standing != "short of the line" or result.line is None:
        return concept(words)
    low = result.line.meets in ("at least", "more than")
    code, display = _NUMBER_BELOW if low else _NUMBER_ABOVE
    return concept(words, standard("v3-ObservationInterpretation", code, display))


def _range(seen: Seen, result: Result, line: LineUsed) -> Data:
    client = seen.session.client
    spec, measure = measured_by(seen.protocol, result)
    limit = quantity(line.limit, result.unit, measure.ucum)
    side = "low" if line.meets in ("at least", "more than") else "high"
    words = limit_words(line, result)
    source = _source_words(seen.protocol, line.source)
    made: Data = {side: limit, "text": f"{words}: {line.meaning}; {line.population}.{source}"}
    known = next((one for one in spec.lines if one.id == line.id), None)
    bands = known.limits if known is not None else ()
    band = next((one for one in bands if one.holds(client.age, client.sex)), None)
    # Of one who may be older than is said, the band of ages is not known, nor to be.
    if band is not None and client.age <= OLDEST:
        made["age"] = {
            "low": quantity(band.from_age, "years", "a"),
            "high": quantity(band.to_age, "years", "a"),
        }
        if band.sex != "any":
            made["appliesTo"] = [concept(band.sex)]
    return made


def notes(protocol: ScreenProtocol, spec: TestSpec, result: Result) -> list[str]:
    """The comparisons that are no range: reference mean, sides, slowing, each with its source."""
    return [
        f"{fact.label}: {fact.text}.{_source_words(protocol, fact.source)}"
        for fact in compared_facts(spec, result)
        if fact.label not in _IN_RANGES
    ]


def _source_words(protocol: ScreenProtocol, source_id: str | None) -> str:
    source = protocol.known_source(source_id or "")
    return f" Source: {source.citation}" if source else ""
