"""What a student is told after a run, in plain lines that any screen can show."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from screen_tui.practice.case import Case, TrueDriver, TrueTest
from screen_tui.practice.commitment import Commitment, Wanted
from screen_tui.practice.confidence import IN_WORDS
from screen_tui.practice.scoring import UNITS, Score, SignPair, Unit
from screen_tui.protocol.base import Side
from screen_tui.protocol.whole import Protocol

MOST_LISTED = 6
"""Single mistakes of a kind that are listed; more are counted."""

_MEASURED: dict[Unit, tuple[str, str]] = {
    "s": ("Times", "s"),
    "repetitions": ("Counts", "repetitions"),
    "deg": ("Angles", "degrees"),
}


@dataclass(frozen=True, slots=True)
class Section:
    """One part of what is told: a heading, and lines of plain text to be wrapped."""

    title: str
    lines: tuple[str, ...]


def debrief(
    case: Case, protocol: Protocol, commitment: Commitment, score: Score
) -> tuple[Section, ...]:
    """Say how a run went: what could have hurt somebody first, the answer last."""
    return (
        Section("Safety", tuple(_safety(protocol, score))),
        Section("Questions", tuple(_questions(case, score))),
        Section("Timing", tuple(_timing(score))),
        Section("Signs", tuple(_signs(protocol, score))),
        Section("Answer", tuple(_answer(protocol, commitment, score))),
        Section("The author", tuple(_author(case, protocol))),
        Section("The engine", tuple(_engine(case, score))),
    )


def driver_words(protocol: Protocol, drivers: Sequence[TrueDriver]) -> str:
    """Drivers with their sides, such as ``Hip control (left)``."""
    named = [
        protocol.driver(one.driver).name + (f" ({_side_words(one.side)})" if one.side else "")
        for one in drivers
    ]
    return " and ".join(named) or "no driver"


def test_words(protocol: Protocol, test: TrueTest) -> str:
    """A test with its leg and cue, such as ``Step-down, left, with the cue pelvis-level``."""
    parts = [protocol.test(test.test).short_name, test.side or ""]
    parts.append(f"with the cue {test.cue}" if test.cue else "")
    return ", ".join(part for part in parts if part)


test_words.__test__ = False  # type: ignore[attr-defined]


def _safety(protocol: Protocol, score: Score) -> Iterator[str]:
    safety = score.safety
    if safety.refer_missed:
        yield "This person had to be referred first, and was not."
    elif safety.must_refer:
        yield "Rightly referred first."
    elif safety.referred:
        yield "Referred without need. That is not unsafe, but it helps nobody."
    for caution in safety.missed:
        yield f"Missed: {protocol.caution(caution).name}."
    for caution in safety.raised_without_need:
        yield f"Ticked yes without need: {protocol.caution(caution).name}."
    if safety.more_load:
        yield "More load was ticked than the leg may bear."
    for one in safety.unsafe:
        yield f"Begun and should not have been: {_place(protocol, one.test, one.side)}. {one.why}"
    if safety.safe and not safety.missed:
        yield "Nobody was put at risk."


def _questions(case: Case, score: Score) -> Iterator[str]:
    said = {one.question: one for one in case.said}
    if not score.wrong_ticks:
        yield "Every answer was ticked as it was meant."
    for question in score.wrong_ticks:
        yield f"Not ticked as meant: {_question_words(question)}. Said was: {said[question].says}"
    for question in score.unasked:
        hidden = " ".join(said[question].only_when_asked)
        yield f"Left unasked: {_question_words(question)}. There was more: {hidden}"


def _timing(score: Score) -> Iterator[str]:
    for unit in UNITS:
        limits, (name, words) = score.limits(unit), _MEASURED[unit]
        if limits is None:
            continue
        line = f"{name}: {limits.n} compared, bias {limits.bias:+.2f} {words}"
        if limits.lower is not None and limits.upper is not None:
            line += f", 95 % limits {limits.lower:+.2f} to {limits.upper:+.2f}"
        yield f"{line}."
    if not score.pairs:
        yield "Nothing was measured that can be compared."


def _signs(protocol: Protocol, score: Score) -> Iterator[str]:
    counts = score.sign_counts
    if not counts.n:
        yield "No trial can be compared."
        return
    there = counts.hits + counts.misses
    yield f"Seen {counts.hits} of {there} that were there; {counts.false_alarms} false alarms."
    if counts.kappa is not None:
        yield f"Agreement beyond chance: kappa {counts.kappa:.2f} over {counts.n} signs of trials."
    missed = [pair for pair in score.signs if pair.there and not pair.marked]
    false = [pair for pair in score.signs if pair.marked and not pair.there]
    yield from _listed(protocol, "Missed", missed)
    yield from _listed(protocol, "Not there", false)


def _listed(protocol: Protocol, what: str, pairs: Sequence[SignPair]) -> Iterator[str]:
    counted = Counter(
        f"{protocol.sign(pair.sign).label} ({_place(protocol, pair.scene.test, pair.scene.side)})"
        for pair in pairs
    )
    for words, times in list(counted.items())[:MOST_LISTED]:
        yield f"{what}: {words}{f', {times} times' if times > 1 else ''}."
    if len(counted) > MOST_LISTED:
        yield f"{what}: {len(counted) - MOST_LISTED} more."


def _answer(protocol: Protocol, commitment: Commitment, score: Score) -> Iterator[str]:
    yield f"Yours: {_answer_words(protocol, commitment.answer, commitment.drivers)}."
    for who, found in (("author", score.with_author), ("engine", score.with_engine)):
        said = "the same as" if found.right else "not that of"
        near = " One of the drivers is." if not found.drivers and found.first_driver else ""
        side = " The side is another." if found.sides is False else ""
        yield f"It is {said} the {who}.{near}{side}"
        following = "The next test is one of theirs" if found.next_test else "The next test differs"
        yield (
            f"{following}; in common with the {who}: start {found.start:.0%}, "
            f"leave out {found.leave_out:.0%}."
        )
    yield (
        f"Confidence {commitment.confidence}, {IN_WORDS[commitment.confidence]}: "
        f"Brier score {score.brier:.2f} (0 is best)."
    )


def _author(case: Case, protocol: Protocol) -> Iterator[str]:
    wanted = Wanted.by_author(case.truth)
    yield f"{_answer_words(protocol, wanted.answer, wanted.drivers)} ({case.truth.outcome})."
    yield from case.truth.reasons
    if wanted.next_tests:
        following = "; ".join(test_words(protocol, test) for test in wanted.next_tests)
        yield f"Would test next: {following}."
    exercises = {one.id: one.name for one in protocol.exercises}
    left = {one.id: one.name for one in protocol.leave_out}
    if wanted.start:
        yield f"Would start: {'; '.join(exercises[one] for one in wanted.start)}."
    if wanted.leave_out:
        yield f"Would leave out: {'; '.join(left[one] for one in wanted.leave_out)}."


def _engine(case: Case, score: Score) -> Iterator[str]:
    yield f"On all there was to see: {score.engine_on_case.headline}"
    yield f"On what you recorded: {score.engine_on_record.headline}"
    if case.truth.engine_differs:
        yield f"Why it differs from the author: {case.truth.engine_differs}"


def _answer_words(protocol: Protocol, answer: str, drivers: Sequence[TrueDriver]) -> str:
    match answer:
        case "driver":
            return driver_words(protocol, drivers)
        case "refer-first":
            return "Refer first"
        case "nothing-found":
            return "Nothing found"
        case _:
            return "Not to be told"


def _place(protocol: Protocol, test: str, side: Side | None) -> str:
    name = protocol.test(test).short_name
    return f"{name}, {side}" if side else name


def _side_words(side: str) -> str:
    return "both sides" if side == "both" else side


def _question_words(question: str) -> str:
    return question.replace("_", " ").replace("-", " ")
