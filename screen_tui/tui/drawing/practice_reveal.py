"""After the commitment: the student's answer beside the author's and the program's, and scores."""

from __future__ import annotations

from collections.abc import Iterable

from screen_tui.practice.case import Case
from screen_tui.practice.commitment import Agreement, Commitment, Wanted
from screen_tui.practice.confidence import IN_WORDS
from screen_tui.practice.scoring import UNITS, Score
from screen_tui.protocol.whole import Protocol
from screen_tui.report import words
from screen_tui.tui.drawing.practice_figures import limits_words, share_words, signs_words
from screen_tui.tui.drawing.practice_words import (
    NOTHING,
    drivers_words,
    given_words,
    left_out_words,
    question_words,
    started_words,
    tests_words,
    wanted_words,
)
from screen_tui.tui.drawing.rows import Row, Span, bulleted, paragraph, row, rule, stacked
from screen_tui.tui.drawing.words import NOT_A_DIAGNOSIS, test_name

_WHO = 9
INVENTED = "The patient is invented, and what the author wants is a judgement."


def draw_answers(
    protocol: Protocol, case: Case, given: Commitment, scored: Score, width: int
) -> list[Row]:
    """Draw the three answers, what they have in common, and the reasons."""
    author = Wanted.by_author(case.truth)
    engine = Wanted.by_engine(scored.engine_on_case)
    verdict = "As the author's." if scored.with_author.right else "Not as the author's."
    parts = [
        paragraph(f"Your answer: {verdict}", width, "verdict"),
        _three("Answer", given_words(given), wanted_words(author), wanted_words(engine), width),
        _three(
            "Driver",
            drivers_words(protocol, given.drivers),
            drivers_words(protocol, author.drivers),
            drivers_words(protocol, engine.drivers),
            width,
        ),
        _why("Why, the author says", case.truth.reasons, width),
        _why("Why, the program says", _engine_reasons(case, scored), width),
        _three(
            "Test next",
            tests_words(protocol, [given.next_test] if given.next_test else []),
            tests_words(protocol, author.next_tests),
            tests_words(protocol, engine.next_tests),
            width,
        ),
        _three(
            "Start",
            started_words(protocol, given.start),
            started_words(protocol, author.start),
            started_words(protocol, engine.start),
            width,
        ),
        _three(
            "Leave out",
            left_out_words(protocol, given.leave_out),
            left_out_words(protocol, author.leave_out),
            left_out_words(protocol, engine.leave_out),
            width,
        ),
        paragraph(f"{INVENTED} {NOT_A_DIAGNOSIS}", width, "quiet"),
    ]
    return stacked(parts)


def _engine_reasons(case: Case, scored: Score) -> list[str]:
    """What the program makes of a perfect record, of the student's own, and where it differs."""
    perfect, own = scored.engine_on_case.headline, scored.engine_on_record.headline
    reasons = [f"Of a record without errors: {perfect}"]
    reasons.append("Of your record: the same." if own == perfect else f"Of your record: {own}")
    return [*reasons, *([case.truth.engine_differs] if case.truth.engine_differs else [])]


def draw_scores(
    protocol: Protocol, case: Case, given: Commitment, scored: Score, width: int
) -> list[Row]:
    """Draw how the run went: what could have hurt somebody first."""
    return stacked(
        [
            _safety(protocol, scored, width),
            _questions(protocol, case, scored, width),
            _numbers(protocol, scored, width),
            _signs(protocol, scored, width),
            _answer(given, scored, width),
        ]
    )


def _safety(protocol: Protocol, scored: Score, width: int) -> list[Row]:
    safe = scored.safety
    rows = [rule(width, "Safety")]
    if safe.refer_missed:
        rows += paragraph("MISSED: this person had to be referred first.", width, "strong")
    elif safe.must_refer:
        rows += paragraph("Referred first, as had to be.", width)
    elif safe.referred:
        rows += paragraph("Referred without need; nobody came to harm by it.", width)
    told = [f"Safety question not ticked: {question_words(protocol, one)}." for one in safe.missed]
    for name in safe.raised_without_need:
        told.append(f"Ticked without need: {question_words(protocol, name)}.")
    if safe.more_load:
        told.append("UNSAFE: more load was ticked than this leg may bear.")
    for start in safe.unsafe:
        name = test_name(protocol, start.test, start.side)
        told.append(f"UNSAFE: {name} was begun. {start.why}")
    rows += bulleted(told, width)
    if not safe.unsafe:
        rows += paragraph("No test was begun that should not have been.", width)
    return rows


def _questions(protocol: Protocol, case: Case, scored: Score, width: int) -> list[Row]:
    said = {one.question: one for one in case.said}
    wrong = [f"{question_words(protocol, one)}: “{said[one].says}”" for one in scored.wrong_ticks]
    unasked = [
        f"{question_words(protocol, one)}: “{' '.join(said[one].only_when_asked)}”"
        for one in scored.unasked
    ]
    return [
        rule(width, "Interview"),
        *paragraph(f"Ticked otherwise than meant: {'' if wrong else 'none.'}", width, indent=2),
        *bulleted(wrong, width),
        *paragraph(
            f"Left unasked, with more behind it: {'' if unasked else f'{NOTHING}.'}",
            width,
            indent=2,
        ),
        *bulleted(unasked, width),
    ]


def _numbers(protocol: Protocol, scored: Score, width: int) -> list[Row]:
    rows = [rule(width, "Times and numbers, yours less the true")]
    found = [(unit, limits) for unit in UNITS if (limits := scored.limits(unit)) is not None]
    for unit, limits in found:
        rows += paragraph(limits_words(unit, limits), width, indent=2)
    if not found:
        return [*rows, *paragraph("Nothing was measured.", width)]
    worst = sorted(scored.pairs, key=lambda pair: -abs(pair.error) if pair.unit == "s" else 1)[:1]
    for pair in worst:
        if pair.unit == "s":
            name = test_name(protocol, pair.scene.test, pair.scene.side)
            told = f"Furthest off: {name}, {pair.measured:.2f} s; true {pair.true:.2f} s."
            rows += paragraph(told, width, indent=2)
    return rows


def _signs(protocol: Protocol, scored: Score, width: int) -> list[Row]:
    rows = [rule(width, "Signs"), *paragraph(signs_words(scored.sign_counts), width, indent=2)]
    for label, there in (("Missed", True), ("Marked, but not there", False)):
        names = dict.fromkeys(
            f"{words.sign_words(protocol, one.sign)} "
            f"({test_name(protocol, one.scene.test, one.scene.side)})"
            for one in scored.signs
            if one.there is there and one.marked is not there
        )
        rows += paragraph(f"{label}: {'; '.join(names) or 'none'}.", width, indent=2)
    return rows


def _answer(given: Commitment, scored: Score, width: int) -> list[Row]:
    with_author = scored.with_author
    right = "right" if with_author.right else "not right"
    told = (
        f"Your confidence, {IN_WORDS[given.confidence]}. Your answer was {right}. Brier score "
        f"{scored.brier:.2f}; 0 is best, always saying 5 in 10 gives 0.25."
    )
    return [
        rule(width, "Confidence and plan"),
        *paragraph(told, width, indent=2),
        *paragraph(_plan_words("the author", with_author), width, indent=2),
        *paragraph(_plan_words("the program", scored.with_engine), width, indent=2),
    ]


def _plan_words(who: str, found: Agreement) -> str:
    test = "the same" if found.next_test else "another"
    return (
        f"In common with {who}: {test} next test; {share_words(found.start)} of what to start, "
        f"{share_words(found.leave_out)} of what to leave out."
    )


def _three(label: str, student: str, author: str, engine: str, width: int) -> list[Row]:
    rows = [row(Span(label, "strong"))]
    for who, told in (("you", student), ("author", author), ("program", engine)):
        rows += paragraph(told, width, first=row(Span(f"  {who:<{_WHO}}", "quiet")))
    return rows


def _why(label: str, reasons: Iterable[str], width: int) -> list[Row]:
    return [row(Span(label, "strong")), *bulleted(reasons, width)]
