"""After the commitment: three answers side by side, the scores, and figures over the runs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from screen_tui.engine.safety import URGENCY
from screen_tui.practice.agreement import IN_WORDS, LEAST, Calibration, Counts, Limits
from screen_tui.practice.case import Case, TrueDriver, TrueTest
from screen_tui.practice.run import ChartLine, Level, PracticeRun, Progress
from screen_tui.practice.scoring import UNITS, Agreement, Commitment, Score, Unit, Wanted
from screen_tui.protocol.knowledge import Exercise, LeaveOut
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import words
from screen_tui.report.words import NOT_A_DIAGNOSIS
from screen_tui.trial.intake_questions import questions_of
from screen_tui.tui.drawing.rows import BLANK, Row, Span, bulleted, paragraph, row, rule, stacked
from screen_tui.tui.drawing.words import test_name

OUTCOMES = {
    "likely": "a likely driver",
    "mixed": "two drivers that cannot be separated",
    "possible": "a possible driver",
    "undetermined": "undetermined",
    "nothing-found": "nothing found",
    "refer-first": "refer first",
    "unloaded-only": "only what is done without load can be answered",
}
"""Outcomes in words of the student's own question."""

NOTHING = "nothing"


def _drivers(protocol: ScreenProtocol, drivers: Sequence[TrueDriver]) -> str:
    named = ((words.driver_name(protocol, one.driver), one.side) for one in drivers)
    return " or ".join(f"{name}, {side}" if side else name for name, side in named) or "none"


def _tests(protocol: ScreenProtocol, tests: Sequence[TrueTest]) -> str:
    """Tests with their legs and cues; any of them will do."""
    named = ((test_name(protocol, one.test, one.side), words.spaced(one.cue)) for one in tests)
    return (
        "; ".join(f"{name} with the cue {cue}" if cue else name for name, cue in named) or NOTHING
    )


def _names(known: Sequence[Exercise | LeaveOut], ids: Sequence[str]) -> str:
    """Exercises, or what is left out for now."""
    names = {one.id: one.name for one in known}
    return "; ".join(names.get(one, words.spaced(one)) for one in ids) or NOTHING


def _kind(given: Commitment) -> str:
    """The kind of answer a student gave."""
    if given.answer != "driver":
        return OUTCOMES[given.answer]
    return OUTCOMES["likely" if len(given.drivers) == 1 else "mixed"]


def question_words(protocol: ScreenProtocol, question: str) -> str:
    """A question before testing in a few words."""
    known = {one.id: one.short for one in questions_of(protocol)}
    return known.get(question, words.spaced(question))


def runs_words(runs: Sequence[PracticeRun]) -> str:
    """How often a case was done, and how well."""
    if not runs:
        return "not done yet"
    times = "once" if len(runs) == 1 else f"{len(runs)} times"
    right = sum(run.result.right for run in runs)
    last = runs[-1]
    safe = not last.result.refer_missed and not last.result.unsafe
    how = "right" if last.result.right else "not right"
    return f"done {times}, {right} right; last {how}, {'safe' if safe else 'NOT SAFE'}"


_UNITS: dict[Unit, tuple[str, str, int]] = {
    "s": ("Times", "s", 2),
    "repetitions": ("Counts", "repetitions", 1),
}
_CHART_ROWS = 4
_AXIS = 7
_COLUMN = 3
NO_RUNS = "No practice run is saved yet."


def limits_words(unit: Unit, limits: Limits) -> str:
    """Bias and limits of agreement; above zero: too long or too many."""
    label, name, decimals = _UNITS[unit]
    bias = f"{label} ({limits.n}): on average {limits.bias:+.{decimals}f} {name}"
    if limits.lower is None or limits.upper is None:
        return f"{bias}; limits of agreement need {LEAST} values."
    return (
        f"{bias}; 95 % limits of agreement {limits.lower:+.{decimals}f} to "
        f"{limits.upper:+.{decimals}f}."
    )


def signs_words(counts: Counts) -> str:
    """What was seen of what was there, false alarms, and agreement beyond chance."""
    if not counts.n:
        return "No sign could be compared."
    kappa = "not defined" if counts.kappa is None else f"{counts.kappa:.2f}"
    return (
        f"Seen {counts.hits} of {counts.hits + counts.misses} that were there "
        f"({share_words(counts.sensitivity)}); marked {counts.false_alarms} of "
        f"{counts.false_alarms + counts.rest} that were not "
        f"({share_words(counts.false_alarm_rate)}). Kappa {kappa}; 1 is full agreement."
    )


def share_words(share: float | None) -> str:
    """A share in percent; a dash where there is none."""
    return "-" if share is None else f"{share * 100:.0f} %"


def draw_progress(progress: Progress, most: int, width: int) -> list[Row]:
    """Draw all runs together, then each figure run by run.

    Args:
        progress: The figures.
        most: Runs a chart shows at most, the latest ones; fewer where there is less room.
        width: Columns there are.
    """
    if not progress.runs:
        return paragraph(NO_RUNS, width)
    runs = "1 run" if progress.runs == 1 else f"{progress.runs} runs"
    lines = [
        f"{runs}; the author's answer in {progress.right}.",
        f"Had to be referred first: {progress.must_refer}; missed: {progress.refer_missed}. "
        f"Tests begun unsafely: {progress.unsafe}.",
        *(limits_words(unit, limits) for unit, limits in progress.limits),
        f"Signs, in runs with the figure alone: {signs_words(progress.signs)}",
        f"Needed tests that were done: {progress.needed_done} of {progress.needed}.",
        _calibrated(progress.calibration)
        if progress.calibration
        else f"How sure against how right needs {LEAST} answers.",
    ]
    rows = [rule(width, "All runs"), *(r for one in lines for r in paragraph(one, width, indent=2))]
    shown = min(most, (width - _AXIS - 2) // _COLUMN)
    for line in progress.lines:
        rows += [BLANK, *draw_chart(line, shown, width)]
    return rows


def _calibrated(found: Calibration) -> str:
    way = "too sure" if found.overconfidence > 0 else "too modest"
    off = f"{abs(found.overconfidence) * 100:.0f} in 100 {way}" if found.overconfidence else "even"
    return f"Confidence: {off}; mean Brier score {found.brier:.2f}, 0 is best."


def draw_chart(line: ChartLine, most: int, width: int) -> list[Row]:
    """One figure over the latest runs, oldest at the left; a run without it has no mark."""
    points = line.points[-most:]
    unit = f", {line.unit}" if line.unit else ""
    rows = paragraph(f"{line.label}{unit}; {line.better} is better", width, "strong")
    if all(point.value is None for point in points):
        return [*rows, *paragraph("No run tells it.", width, "quiet")]
    marks = [_row_of(line.share(point)) for point in points]
    for at in range(_CHART_ROWS):
        end = line.high if at == 0 else line.low if at == _CHART_ROWS - 1 else None
        axis = "" if end is None else f"{end:.2f}"
        drawn = "".join(("*" if mark == at else "").center(_COLUMN) for mark in marks)
        rows.append(row(f"{axis:>{_AXIS - 1}} |", Span(drawn, "first")))
    first = len(line.points) - len(points) + 1
    numbers = "".join(str(first + place).center(_COLUMN) for place in range(len(points)))
    rows.append(row(Span(f"{'run':>{_AXIS - 1}}  {numbers}", "quiet")))
    last = _values([point.value for point in points])
    return [*rows, *paragraph(f"Latest: {last}", width, "quiet", first=row(" " * (_AXIS + 1)))]


def _row_of(share: float | None) -> int | None:
    return None if share is None else round((1 - share) * (_CHART_ROWS - 1))


def _values(values: Sequence[float | None]) -> str:
    shown = ["-" if value is None else f"{value:.2f}" for value in values[-3:]]
    return ", ".join(shown)


_WHO = 9
IN_WORDS_TOO = (
    "They were put in words as well, so this does not count as seen; the level with the figure "
    "alone does."
)
INVENTED = "The patient is invented, and what the author wants is a judgement."


def draw_answers(
    protocol: ScreenProtocol, case: Case, given: Commitment, scored: Score, width: int
) -> list[Row]:
    """Draw the three answers, what they have in common, and the reasons."""
    author = Wanted.by_author(case.truth)
    engine = Wanted.by_engine(scored.engine_on_case, protocol)
    verdict = "As the author's." if scored.with_author.right else "Not as the author's."
    kinds = (_kind(given), OUTCOMES[author.outcome], OUTCOMES[engine.outcome])
    tests = ([given.next_test] if given.next_test else [], author.next_tests, engine.next_tests)
    all_three = (given, author, engine)
    starts = [_names(protocol.exercises, one.start) for one in all_three]
    left_out = [_names(protocol.leave_out, one.leave_out) for one in all_three]
    parts = [
        paragraph(f"Your answer: {verdict}", width, "verdict"),
        _three("Answer", kinds, width),
        _three("Driver", [_drivers(protocol, one.drivers) for one in all_three], width),
        _why("Why, the author says", case.truth.reasons, width),
        _why("Why, the program says", _engine_reasons(case, scored), width),
        _three("Test next", [_tests(protocol, one) for one in tests], width),
        _three("Start", starts, width),
        _three("Leave out", left_out, width),
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
    protocol: ScreenProtocol,
    case: Case,
    given: Commitment,
    scored: Score,
    level: Level,
    width: int,
) -> list[Row]:
    """Draw how the run went: what could have hurt somebody first."""
    return stacked(
        [
            _safety(protocol, scored, width),
            _questions(protocol, case, scored, width),
            _reasoning(protocol, scored, width),
            _numbers(protocol, scored, width),
            _signs(protocol, scored, level, width),
            _answer(given, scored, width),
        ]
    )


def _safety(protocol: ScreenProtocol, scored: Score, width: int) -> list[Row]:
    safe = scored.safety
    rows = [rule(width, "Safety")]
    if safe.refer_missed:
        rows += paragraph("MISSED: this person had to be referred first.", width, "strong")
    elif safe.must_refer:
        rows += paragraph("Referred first, as had to be.", width)
    elif safe.referred:
        rows += paragraph("Referred without need; nobody came to harm by it.", width)
    if safe.how_soon is not None and safe.soon_enough is not None:
        enough = "Soon enough" if safe.soon_enough else "NOT SOON ENOUGH"
        rows += paragraph(f"{enough}; needed {URGENCY[safe.how_soon]}.", width)
    lines = [f"Safety question not ticked: {question_words(protocol, one)}." for one in safe.missed]
    for name in safe.raised_without_need:
        lines.append(f"Ticked without need: {question_words(protocol, name)}.")
    if safe.more_load:
        lines.append("UNSAFE: more load was ticked than this leg may bear.")
    for start in safe.unsafe:
        name = test_name(protocol, start.test, start.side)
        lines.append(f"UNSAFE: {name} was begun. {start.why}")
    rows += bulleted(lines, width)
    if not safe.unsafe:
        rows += paragraph("No test was begun that should not have been.", width)
    return rows


def _questions(protocol: ScreenProtocol, case: Case, scored: Score, width: int) -> list[Row]:
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


def _reasoning(protocol: ScreenProtocol, scored: Score, width: int) -> list[Row]:
    """Which tests the answer rests on, and which of them were left out."""
    rows = [rule(width, "Reasoning")]
    if not scored.needed:
        return [*rows, *paragraph("No test was needed for the answer.", width, indent=2)]
    done = len(scored.needed) - len(scored.not_done)
    left = _tests(protocol, scored.not_done)
    rows += paragraph(f"Needed tests done: {done} of {len(scored.needed)}.", width, indent=2)
    return [*rows, *paragraph(f"Needed and not done: {left}.", width, indent=2)]


def _numbers(protocol: ScreenProtocol, scored: Score, width: int) -> list[Row]:
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
            text = f"Furthest off: {name}, {pair.measured:.2f} s; true {pair.true:.2f} s."
            rows += paragraph(text, width, indent=2)
    return rows


def _signs(protocol: ScreenProtocol, scored: Score, level: Level, width: int) -> list[Row]:
    rows = [rule(width, "Signs"), *paragraph(signs_words(scored.sign_counts), width, indent=2)]
    if level == "words":
        rows += paragraph(IN_WORDS_TOO, width, "quiet", indent=2)
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
    text = (
        f"Your confidence, {IN_WORDS[given.confidence]}. Your answer was {right}. Brier score "
        f"{scored.brier:.2f}; 0 is best, always saying 5 in 10 gives 0.25."
    )
    return [
        rule(width, "Confidence and plan"),
        *paragraph(text, width, indent=2),
        *paragraph(_plan_words("the author", with_author), width, indent=2),
        *paragraph(_plan_words("the program", scored.with_engine), width, indent=2),
    ]


def _plan_words(who: str, found: Agreement) -> str:
    test = "the same" if found.next_test else "another"
    return (
        f"In common with {who}: {test} next test; {share_words(found.start)} of what to start, "
        f"{share_words(found.leave_out)} of what to leave out."
    )


def _three(label: str, answers: Sequence[str], width: int) -> list[Row]:
    rows = [row(Span(label, "strong"))]
    for who, text in zip(("you", "author", "program"), answers, strict=True):
        rows += paragraph(text, width, first=row(Span(f"  {who:<{_WHO}}", "quiet")))
    return rows


def _why(label: str, reasons: Iterable[str], width: int) -> list[Row]:
    return [row(Span(label, "strong")), *bulleted(reasons, width)]
