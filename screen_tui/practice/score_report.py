"""After the commitment, as documents: three answers, the scores, and figures over the runs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from screen_tui.engine.safety import URGENCY
from screen_tui.practice.agreement import IN_WORDS, LEAST, Calibration, Counts, Limits
from screen_tui.practice.case import Case, TrueDriver, TrueTest
from screen_tui.practice.run import ChartLine, Level, PracticeRun, Progress
from screen_tui.practice.scoring import UNITS, Agreement, Commitment, Score, Unit, program_answers
from screen_tui.protocol.knowledge import Exercise, LeaveOut
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import words
from screen_tui.report.document import Bar, Bars, Document, Line, Role, Section
from screen_tui.report.words import NOT_A_DIAGNOSIS
from screen_tui.timing.kinds import reason_words
from screen_tui.trial.intake_questions import questions_of

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
IN_WORDS_TOO = (
    "They were put in words as well, so this does not count as seen; the level with the figure "
    "alone does."
)
INVENTED = "The patient is invented, and what the author wants is a judgement."
NO_RUNS = "No practice run is saved yet."
MOST_BARS = 8
"""Runs whose figures are drawn: the latest."""

_UNITS: dict[Unit, tuple[str, str, int]] = {
    "s": ("Times", "s", 2),
    "repetitions": ("Counts", "repetitions", 1),
}


def answers_document(
    protocol: ScreenProtocol, case: Case, given: Commitment, scored: Score
) -> Document:
    """The answers of the student, the author and the program, and the reasons."""
    author, engine = case.truth, program_answers(scored.engine_on_case, protocol)
    all_three = (given, author, engine)
    kind = "likely" if len(given.drivers) == 1 else "mixed"
    mine = OUTCOMES[kind if given.answer == "driver" else given.answer]
    kinds = (mine, OUTCOMES[author.outcome], OUTCOMES[engine.outcome])
    perfect, own = scored.engine_on_case.headline, scored.engine_on_record.headline
    of_program = [
        f"Of a record without errors: {perfect}",
        "Of your record: the same." if own == perfect else f"Of your record: {own}",
        *([case.truth.engine_differs] if case.truth.engine_differs else []),
    ]
    verdict = "As the author's." if scored.with_author.right else "Not as the author's."
    starts = [_names(protocol.exercises, one.start) for one in all_three]
    left_out = [_names(protocol.leave_out, one.leave_out) for one in all_three]
    return Document(
        (
            _section("", f"Your answer: {verdict}", role="verdict"),
            _three("Answer", kinds),
            _three("Driver", [_drivers(protocol, one.drivers) for one in all_three]),
            Section(_listed(case.truth.reasons), "Why, the author says"),
            Section(_listed(of_program), "Why, the program says"),
            _three("Test next", [_tests(protocol, one.next_tests) for one in all_three]),
            _three("Start", starts),
            _three("Leave out", left_out),
            _section("", f"{INVENTED} {NOT_A_DIAGNOSIS}", role="quiet"),
        )
    )


def scores_document(
    protocol: ScreenProtocol, case: Case, given: Commitment, scored: Score, level: Level
) -> Document:
    """How the run went: what could have hurt somebody first."""
    return Document(
        (
            _safety(protocol, scored),
            _interview(protocol, case, scored),
            _reasoning(protocol, scored),
            _numbers(protocol, scored),
            _signs(protocol, scored, level),
            _plan(given, scored),
        )
    )


def progress_document(progress: Progress) -> Document:
    """All runs together, and each figure over the latest of them."""
    if not progress.runs:
        return Document((_section("", NO_RUNS),))
    runs = "1 run" if progress.runs == 1 else f"{progress.runs} runs"
    return Document(
        (
            _section(
                "All runs",
                f"{runs}; the author's answer in {progress.right}.",
                f"Had to be referred first: {progress.must_refer}; missed: "
                f"{progress.refer_missed}. Tests begun unsafely: {progress.unsafe}.",
                *(_limits_words(unit, limits) for unit, limits in progress.limits),
                f"Signs, in runs with the figure alone: {_signs_words(progress.signs)}",
                f"Needed tests that were done: {progress.needed_done} of {progress.needed}.",
                _calibration_words(progress.calibration),
            ),
            *map(_figure, progress.lines),
        )
    )


def _figure(line: ChartLine) -> Section:
    title = f"{line.label}{f', {line.unit}' if line.unit else ''}; {line.better} is better"
    if all(value is None for value in line.values):
        return _section(title, "No run tells it.")
    latest = list(enumerate(line.values, start=1))[-MOST_BARS:]
    bars = [
        Bar(f"run {number}", line.share(value), "-" if value is None else f"{value:.2f}")
        for number, value in latest
    ]
    return Section((Bars(tuple(bars)),), title)


def runs_words(runs: Sequence[PracticeRun]) -> str:
    """How often a case was done, and how well."""
    if not runs:
        return "not done yet"
    times = "once" if len(runs) == 1 else f"{len(runs)} times"
    right = sum(run.result.right for run in runs)
    last = runs[-1].result
    safe = not last.refer_missed and not last.unsafe
    how = "right" if last.right else "not right"
    return f"done {times}, {right} right; last {how}, {'safe' if safe else 'NOT SAFE'}"


def _limits_words(unit: Unit, limits: Limits) -> str:
    label, name, decimals = _UNITS[unit]
    bias = f"{label} ({limits.n}): on average {limits.bias:+.{decimals}f} {name}"
    if limits.lower is None or limits.upper is None:
        return f"{bias}; limits of agreement need {LEAST} values."
    return (
        f"{bias}; 95 % limits of agreement {limits.lower:+.{decimals}f} to "
        f"{limits.upper:+.{decimals}f}."
    )


def _signs_words(counts: Counts) -> str:
    if not counts.n:
        return "No sign could be compared."
    kappa = "not defined" if counts.kappa is None else f"{counts.kappa:.2f}"
    return (
        f"Seen {counts.hits} of {counts.hits + counts.misses} that were there "
        f"({_share_words(counts.sensitivity)}); marked {counts.false_alarms} of "
        f"{counts.false_alarms + counts.rest} that were not "
        f"({_share_words(counts.false_alarm_rate)}). Kappa {kappa}; 1 is full agreement."
    )


def _share_words(share: float | None) -> str:
    return "-" if share is None else f"{share * 100:.0f} %"


def _calibration_words(found: Calibration | None) -> str:
    if found is None:
        return f"How sure against how right needs {LEAST} answers."
    way = "too sure" if found.overconfidence > 0 else "too modest"
    off = f"{abs(found.overconfidence) * 100:.0f} in 100 {way}" if found.overconfidence else "even"
    return f"Confidence: {off}; mean Brier score {found.brier:.2f}, 0 is best."


def _safety(protocol: ScreenProtocol, scored: Score) -> Section:
    safe = scored.safety
    parts: list[Line] = []
    if safe.refer_missed:
        parts.append(Line("MISSED: this person had to be referred first.", role="strong"))
    elif safe.must_refer:
        parts.append(Line("Referred first, as had to be."))
    elif safe.referred:
        parts.append(Line("Referred without need; nobody came to harm by it."))
    if safe.how_soon is not None and safe.soon_enough is not None:
        enough = "Soon enough" if safe.soon_enough else "NOT SOON ENOUGH"
        parts.append(Line(f"{enough}; needed {URGENCY[safe.how_soon]}."))
    short = {one.id: one.short for one in questions_of(protocol)}
    parts += _listed(
        [
            *(f"Safety question not ticked: {short[one]}." for one in safe.missed),
            *(f"Ticked without need: {short[one]}." for one in safe.raised_without_need),
            *(["UNSAFE: more load was ticked than this leg may bear."] if safe.more_load else []),
            *(
                f"UNSAFE: {words.short_on(protocol, one.test, one.side)} was begun. {one.why}"
                for one in safe.unsafe
            ),
        ]
    )
    if not safe.unsafe:
        parts.append(Line("No test was begun that should not have been."))
    return Section(tuple(parts), "Safety")


def _interview(protocol: ScreenProtocol, case: Case, scored: Score) -> Section:
    said = {one.question: one for one in case.said}
    short = {one.id: one.short for one in questions_of(protocol)}
    wrong = [f"{short[one]}: “{said[one].says}”" for one in scored.wrong_ticks]
    unasked = [f"{short[one]}: “{' '.join(said[one].only_when_asked)}”" for one in scored.unasked]
    return Section(
        (
            Line(f"Ticked otherwise than meant: {'' if wrong else 'none.'}"),
            *_listed(wrong),
            Line(f"Left unasked, with more behind it: {'' if unasked else f'{NOTHING}.'}"),
            *_listed(unasked),
        ),
        "Interview",
    )


def _reasoning(protocol: ScreenProtocol, scored: Score) -> Section:
    if not scored.needed:
        return _section("Reasoning", "No test was needed for the answer.")
    done = len(scored.needed) - len(scored.not_done)
    return _section(
        "Reasoning",
        f"Needed tests done: {done} of {len(scored.needed)}.",
        f"Needed and not done: {_tests(protocol, scored.not_done)}.",
    )


def _numbers(protocol: ScreenProtocol, scored: Score) -> Section:
    lines = [
        _limits_words(unit, limits) for unit in UNITS if (limits := scored.limits(unit)) is not None
    ]
    timed = (pair for pair in scored.pairs if pair.unit == "s")
    if worst := max(timed, key=lambda pair: abs(pair.error), default=None):
        name = words.short_on(protocol, worst.scene.test, worst.scene.side)
        lines.append(f"Furthest off: {name}, {worst.measured:.2f} s; true {worst.true:.2f} s.")
    for scene, there, recorded in scored.ends:
        name = words.short_on(protocol, scene.test, scene.side)
        ended = [reason_words(one) or "no reason" for one in (recorded, there)]
        lines.append(f"Why it ended: {name}, {ended[0]}; true {ended[1]}.")
    title = "Times and numbers, yours less the true"
    return _section(title, *(lines or ["Nothing was measured."]))


def _signs(protocol: ScreenProtocol, scored: Score, level: Level) -> Section:
    parts = [Line(_signs_words(scored.sign_counts))]
    if level == "words":
        parts.append(Line(IN_WORDS_TOO, role="quiet"))
    for label, there in (("Missed", True), ("Marked, but not there", False)):
        names = dict.fromkeys(
            f"{words.sign_words(protocol, one.sign)} "
            f"({words.short_on(protocol, one.scene.test, one.scene.side)})"
            for one in scored.signs
            if one.there is there and one.marked is not there
        )
        parts.append(Line(f"{label}: {'; '.join(names) or 'none'}."))
    return Section(tuple(parts), "Signs")


def _plan(given: Commitment, scored: Score) -> Section:
    right = "right" if scored.with_author.right else "not right"
    return _section(
        "Confidence and plan",
        f"Your confidence, {IN_WORDS[given.confidence]}. Your answer was {right}. Brier score "
        f"{scored.brier:.2f}; 0 is best, always saying 5 in 10 gives 0.25.",
        _in_common("the author", scored.with_author),
        _in_common("the program", scored.with_engine),
    )


def _in_common(who: str, found: Agreement) -> str:
    test = "the same" if found.next_test else "another"
    return (
        f"In common with {who}: {test} next test; {_share_words(found.start)} of what to start, "
        f"{_share_words(found.leave_out)} of what to leave out."
    )


def _drivers(protocol: ScreenProtocol, drivers: Sequence[TrueDriver]) -> str:
    named = (
        words.driver_name(protocol, one.driver) + (f", {one.side}" if one.side else "")
        for one in drivers
    )
    return " or ".join(named) or "none"


def _tests(protocol: ScreenProtocol, tests: Sequence[TrueTest]) -> str:
    named = (
        words.short_on(protocol, one.test, one.side)
        + (f" with the cue {words.spaced(one.cue)}" if one.cue else "")
        for one in tests
    )
    return "; ".join(named) or NOTHING


def _names(known: Sequence[Exercise | LeaveOut], ids: Sequence[str]) -> str:
    names = {one.id: one.name for one in known}
    return "; ".join(names.get(one, words.spaced(one)) for one in ids) or NOTHING


def _three(title: str, answers: Sequence[str]) -> Section:
    whose = zip(("you", "author", "program"), answers, strict=True)
    return Section(tuple(Line(text, label=who) for who, text in whose), title)


def _listed(texts: Iterable[str]) -> tuple[Line, ...]:
    return tuple(Line(text, mark="-") for text in texts)


def _section(title: str, *texts: str, role: Role = "plain") -> Section:
    return Section(tuple(Line(text, role=role) for text in texts), title)
