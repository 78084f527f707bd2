"""The result: the answer and what it stands on, each number with its bar, the plan, the note."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from screen_tui.engine.answer import path_of
from screen_tui.engine.results import (
    Assessment,
    DriverResult,
    Finding,
    Outcome,
    Pointer,
    Result,
    Start,
)
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.report import facts, words
from screen_tui.report.facts import Fact
from screen_tui.session.model import Session
from screen_tui.tui.drawing.bar import LEGEND, Scale, draw_bar, end_labels, scale_for
from screen_tui.tui.drawing.rows import (
    BLANK,
    Row,
    Span,
    TextRole,
    bulleted,
    cells,
    column_width,
    labelled,
    paragraph,
    row,
    rule,
    section,
    side_by_side,
    stacked,
)
from screen_tui.tui.drawing.words import (
    NOT_A_DIAGNOSIS,
    driver_name,
    facts_rows,
    minutes,
    short_source,
    sourced,
    test_name,
)

OUTCOME_WORDS: dict[Outcome, str] = {
    "likely": "LIKELY DRIVER",
    "mixed": "MIXED: MORE THAN ONE DRIVER",
    "possible": "POSSIBLE DRIVER",
    "undetermined": "UNDETERMINED",
    "nothing-found": "NOTHING FOUND",
    "refer-first": "REFER FIRST",
    "unloaded-only": "UNLOADED TESTS ONLY",
}

MOST_SUGGESTED = 9


def draw_answer(
    protocol: ScreenProtocol,
    session: Session,
    assessment: Assessment,
    width: int,
    height: int,
    *,
    startable: bool = True,
) -> list[Row]:
    """Draw the first page of the result; longer than a window, it is scrolled.

    What is to be seen without a key comes first: the answer, the ranking, and the reasons, as many
    as the rows in sight (``height``) have room for. ``startable``: the suggested tests can be
    started with their digits.
    """
    parts: list[list[Row]] = [
        _glance(protocol, session, assessment, width, height),
        _outside(protocol, [one for one in assessment.outside if one.because], width),
        _limits(protocol, session, assessment, width),
        _settles(protocol, session, assessment, width, "key" if startable else "strong"),
        _outside(protocol, [one for one in assessment.outside if not one.because], width),
        _moved(protocol, assessment, width),
        *(_more(protocol, one, width) for one in facts.drivers_in_full(assessment)),
        _cues(protocol, assessment, width),
        draw_results(protocol, assessment.results, width),
        _mind(assessment, width),
    ]
    return stacked(parts)


def _glance(
    protocol: ScreenProtocol, session: Session, assessment: Assessment, width: int, height: int
) -> list[Row]:
    """The answer, the ranking and what speaks for and against, within a window where that can be.

    Where there is no room, first the ranking gives up those that are out of question, then the
    drivers their second and third reason; then what does not fit comes behind.
    """
    stopped = _stopped(session.stopped, width) if session.stopped else []
    cautions = _cautions(protocol, assessment, width) if assessment.cautions else []
    verdict = _verdict(protocol, assessment, width)
    fits = paragraph(f"{words.FITS_BEST}. {words.NO_PROOF}", width) if assessment.leading else []
    shown, beside = facts.drivers_in_full(assessment), facts.drivers_beside(assessment)
    asked = [one for one in assessment.drivers if one in shown or one in beside]
    filled = [
        [one for place, one in enumerate(assessment.drivers) if place < least or one in asked]
        for least in (RANKED, FEW_RANKED, 0)
    ]
    brief = [line for one in shown for line in _argument(protocol, one, width, most=0)]
    layouts: list[tuple[Sequence[DriverResult], list[Row]]] = [
        (ranked, stacked(_argument(protocol, one, width, most=most) for one in shown))
        for most in range(MOST_FOR, 0, -1)
        for ranked in filled
    ]
    layouts += [(ranked, brief) for ranked in (*filled, shown)]
    for ranked, told in layouts:
        ranking = _ranking(protocol, ranked, width)
        rows = stacked([stopped, [*verdict, *fits], cautions, ranking, told])
        if len(rows) <= height:
            behind = [one for one in asked if one not in ranked]
            return stacked([rows, _ranking(protocol, behind, width)])
    return stacked([stopped, verdict, cautions, brief, fits, _ranking(protocol, asked, width)])


def _verdict(protocol: ScreenProtocol, assessment: Assessment, width: int) -> list[Row]:
    head = [row(Span(OUTCOME_WORDS[assessment.outcome], "verdict"))]
    for driver in assessment.leading:
        head += paragraph(driver_name(protocol, driver).upper(), width, "first")
    if assessment.outcome == "likely" and len(assessment.leading) == 1:
        # Word and name have said what the headline says.
        return head
    return [*head, *paragraph(assessment.headline, width)]


def _stopped(reason: str, width: int) -> list[Row]:
    return [
        row(Span("SCREEN STOPPED", "verdict")),
        *paragraph(reason, width, "first"),
        *paragraph(
            "Settle this before any exercise or further test. What follows is what was seen until "
            "then; the plan is left empty.",
            width,
        ),
    ]


def _cautions(protocol: ScreenProtocol, assessment: Assessment, width: int) -> list[Row]:
    rows = [rule(width, "Why")]
    for caution in assessment.cautions:
        rows += paragraph(words.caution_name(caution), width, "strong")
        source = short_source(protocol, caution.source)
        rows += paragraph(f"{words.caution_means(caution)} ({source})", width)
        rows += labelled("Usual next step", words.caution_step(caution), width)
    return rows


def _settles(
    protocol: ScreenProtocol, session: Session, assessment: Assessment, width: int, role: TextRole
) -> list[Row]:
    why_none = facts.why_nothing_settles(session, assessment)
    if why_none:
        return labelled(facts.NEXT_TESTS, why_none, width)
    if not assessment.next_tests:
        return []
    rows = [rule(width, facts.NEXT_TESTS)]
    for digit, suggested in enumerate(assessment.next_tests[:MOST_SUGGESTED], start=1):
        name = words.next_place(protocol, suggested)
        text = f"{name} ({minutes(suggested.minutes)}): {words.between_words(protocol, suggested)}"
        rows += paragraph(text, width, first=row(Span(f" {digit} ", role), " "))
    return rows


def _cues(protocol: ScreenProtocol, assessment: Assessment, width: int) -> list[Row]:
    rows: list[Row] = []
    for effect in assessment.cue_effects:
        place = test_name(protocol, effect.test, effect.side)
        told = words.cue_effect_words(protocol, effect)
        rows += labelled(f"{place}. {words.cue_label(effect)}", told, width)
    return section("Repeated with a cue", rows, width)


RANKED, FEW_RANKED = 5, 3
"""Drivers of the ranking that are shown where there is room, or where there is little."""

BAR_CELLS = 30


def _ranking(protocol: ScreenProtocol, drivers: Sequence[DriverResult], width: int) -> list[Row]:
    """Each driver with a bar as long as its chance, and how it stands."""
    names = [driver_name(protocol, driver) for driver in drivers]
    column = max(map(len, names), default=0)
    standing = max((len(facts.driver_standing(driver)) for driver in drivers), default=0)
    length = max(0, min(BAR_CELLS, width - column - standing - 4))
    rows: list[Row] = []
    for name, driver in zip(names, drivers, strict=True):
        filled = round(length * driver.chance)
        rows.append(
            row(
                Span(f"{name:<{column}}", "strong" if facts.can_stand(driver) else "plain"),
                f"  {'=' * filled}{'-' * (length - filled)}  {facts.driver_standing(driver)}",
            )
        )
    return rows


def _limits(
    protocol: ScreenProtocol, session: Session, assessment: Assessment, width: int
) -> list[Row]:
    """What was not tested where it hurts, and what must be heeded."""
    not_tested = facts.not_tested_facts(protocol, session, assessment)
    heeded = [Fact("Precaution", one) for one in facts.limits(session, assessment)]
    return facts_rows(protocol, [*not_tested, *heeded], width)


def _outside(protocol: ScreenProtocol, pointers: Sequence[Pointer], width: int) -> list[Row]:
    return facts_rows(protocol, facts.outside_facts(pointers), width)


def _moved(protocol: ScreenProtocol, assessment: Assessment, width: int) -> list[Row]:
    """After which test which driver came up or went down."""
    steps = path_of(assessment.drivers)
    rows: list[Row] = []
    for test in dict.fromkeys(step.test for step in steps):
        told = [words.step_words(protocol, step) for step in steps if step.test == test]
        rows += labelled(test_name(protocol, test, None), words.joined(told), width)
    return section("What moved it", rows, width)


def _mind(assessment: Assessment, width: int) -> list[Row]:
    rows = [rule(width, "Mind"), *bulleted(assessment.remarks, width)]
    if facts.drivers_in_full(assessment):
        rows += paragraph(facts.WHAT_FINDINGS_ARE, width)
    return [*rows, *paragraph(NOT_A_DIAGNOSIS, width)]


MOST_FOR = 3
"""Tests with findings for a driver that are shown at a glance, where there is room."""

_SIDE_BY_SIDE = 98
"""Columns of the body, in a window of 100, from which for and against stand in two columns."""


def _argument(
    protocol: ScreenProtocol, driver: DriverResult, width: int, *, most: int
) -> list[Row]:
    """What speaks most for and against a driver, side by side in a window of 100 columns.

    What ``most`` tests showed for it and one against it is named; strengths and sources are left
    to `_more`. With 0 only the strongest finding of either kind is.
    """
    if not most:
        return _brief(protocol, driver, width)
    wide = width >= _SIDE_BY_SIDE
    column = column_width(width) if wide else width
    # One that does not lead is shown as the best of the rest, and says so.
    standing = "" if facts.can_stand(driver) else f" ({facts.driver_standing(driver)})"
    speaks_for = [
        rule(column, f"Speaks for {driver_name(protocol, driver)}{standing}"),
        *_reasons(protocol, driver.speaks_for, "+", column, most),
    ]
    against = section(
        "Speaks against", _reasons(protocol, driver.speaks_against, "-", column, 1), column
    )
    if wide:
        nothing = [rule(column, "Speaks against"), row("nothing found")]
        return side_by_side(speaks_for, against or nothing, width)
    return [*speaks_for, *(against or labelled("Speaks against", "nothing found", width))]


def _reasons(
    protocol: ScreenProtocol, findings: Sequence[Finding], mark: str, width: int, most: int
) -> list[Row]:
    """What each test showed, the test that says most first."""
    rows: list[Row] = []
    for found in facts.by_test(facts.telling(findings))[:most]:
        text = f"{test_name(protocol, found[0].test, found[0].side)}: {words.seen_words(found)}"
        rows += paragraph(text, width, first=row(Span(f"{mark} ", "strong")))
    return rows


def _brief(protocol: ScreenProtocol, driver: DriverResult, width: int) -> list[Row]:
    rows = [rule(width, f"For (+) and against (-) {driver_name(protocol, driver)}")]
    for mark, findings in (("+", driver.speaks_for), ("-", driver.speaks_against)):
        rows += _reasons(protocol, facts.telling(findings)[:1], mark, width, 1)
    if not facts.telling(driver.speaks_against):
        rows += labelled("Speaks against", "nothing found", width)
    return rows


def _more(protocol: ScreenProtocol, driver: DriverResult, width: int) -> list[Row]:
    """What a driver is, every finding for and against it, and what it rests on."""
    rows = [rule(width, f"More on {driver_name(protocol, driver)}")]
    rows += facts_rows(protocol, facts.meaning_facts(protocol, driver), width)
    for mark, findings in (("+", driver.speaks_for), ("-", driver.speaks_against)):
        for found in facts.telling(findings):
            told = f"{words.strength_words(found)}; {short_source(protocol, found.source)}"
            text = f"{test_name(protocol, found.test, found.side)}: {found.words} ({told})"
            rows += paragraph(text, width, first=row(Span(f"{mark} ", "strong")))
    rows += facts_rows(protocol, facts.rests_facts(protocol, driver), width)
    return [*rows, *facts_rows(protocol, facts.counts_against_facts(protocol, driver), width)]


_INDENT = 2
_SIDE = 6
_GAP = 2
_MOST_CELLS = 36
_WORDS = 25
_WORDS_NARROW = 17
"""Columns of the words beside a bar: of all of them, or of the longest but one."""

_NARROW = 76


@dataclass(frozen=True, slots=True)
class _Group:
    """The results of one number, of each side tested."""

    spec: TestSpec | None
    results: tuple[Result, ...]
    scale: Scale | None


@dataclass(frozen=True, slots=True)
class _Layout:
    """What all rows share, so that values, bars and words stand in columns.

    Attributes:
        width: Columns there are.
        amount: Columns of the values.
        before: Columns of the number before a bar, and ``after`` of that after it.
        cells: Cells of each bar.
    """

    width: int
    amount: int
    before: int
    after: int
    cells: int

    @classmethod
    def of(cls, groups: Sequence[_Group], width: int) -> _Layout:
        amount = max(cells(words.result_amount(one)) for group in groups for one in group.results)
        labels = [end_labels(group.scale) for group in groups if group.scale]
        before = max((len(one) for one, _ in labels), default=0)
        after = max((len(one) for _, one in labels), default=0)
        words_cells = _WORDS_NARROW if width < _NARROW else _WORDS
        used = _INDENT + _SIDE + amount + _GAP + before + after + _GAP + words_cells
        return cls(width, amount, before, after, min(width - used, _MOST_CELLS))


def draw_results(protocol: ScreenProtocol, results: Sequence[Result], width: int) -> list[Row]:
    """Draw all results, the sides of one number under each other and on the same scale."""
    rows = [rule(width, "Results")]
    if not results:
        return [*rows, row("Nothing was measured.")]
    if any(result.line for result in results):
        rows += paragraph(f"Bar: {LEGEND}", width, "quiet", indent=2)
    groups = _groups(protocol, results)
    layout = _Layout.of(groups, width)
    for group in groups:
        rows += paragraph(_name(protocol, group), width, "strong")
        for result in group.results:
            rows += _one(group, result, layout)
        for text in _details(protocol, group):
            rows += paragraph(text, width, "quiet", first=row(" " * _INDENT), indent=2 * _INDENT)
    return rows


def _groups(protocol: ScreenProtocol, results: Sequence[Result]) -> list[_Group]:
    found: dict[tuple[str, str], list[Result]] = {}
    for result in results:
        found.setdefault((result.test, result.measure), []).append(result)
    return [
        _Group(spec, tuple(group), _scale(spec, group))
        for (test, _), group in found.items()
        for spec in [protocol.known_test(test)]
    ]


def _name(protocol: ScreenProtocol, group: _Group) -> str:
    """The test, and which of its numbers where it yields several."""
    result = group.results[0]
    name = test_name(protocol, result.test, None)
    several = group.spec is not None and len(group.spec.measures) > 1
    return f"{name}: {result.label}" if several else name


def _scale(spec: TestSpec | None, group: Sequence[Result]) -> Scale | None:
    values = [result.value for result in group if result.value is not None]
    if not values:
        return None
    judged = next((result for result in group if result.line), group[0])
    limit = judged.line.limit if judged.line else None
    return scale_for(values, limit, judged.near_within, _most(spec, judged))


def _most(spec: TestSpec | None, result: Result) -> float | None:
    """The most the number can be: the cap of a hold, or the N of a score out of N."""
    measure = facts.measure_of(spec, result.measure)
    cap = spec.timer.cap if spec and measure and measure.taken_from == "value" else None
    if cap is not None:
        return cap
    out_of = result.unit.removeprefix("of ")
    return float(out_of) if out_of != result.unit and out_of.isdecimal() else None


def _one(group: _Group, result: Result, layout: _Layout) -> list[Row]:
    side = f"{result.side or '':<{_SIDE}}"
    value = words.result_amount(result)
    padding = " " * (layout.amount - cells(value))
    head = row(" " * _INDENT, side, padding, Span(value, "strong"), " " * _GAP)
    bar = _bar(group, result, layout)
    if bar:
        head = (*head, Span(bar), Span(" " * _GAP))
    role: TextRole = "second" if result.short else "plain"
    indent = None if bar else 2 * _INDENT
    return paragraph(_beside(result), layout.width, role, first=head, indent=indent)


def _bar(group: _Group, result: Result, layout: _Layout) -> str:
    measure = facts.measure_of(group.spec, result.measure)
    if group.scale is None or measure is None or result.value is None:
        return ""
    limit = result.line.limit if result.line else None
    before, after = end_labels(group.scale)
    width = len(before) + layout.cells + len(after)
    bar = draw_bar(result.value, limit, result.near_within, measure.better, group.scale, width)
    padded = " " * (layout.before - len(before)) + bar + " " * (layout.after - len(after))
    return padded if bar else ""


def _beside(result: Result) -> str:
    """How a result stands, short enough to stand beside its bar."""
    if result.standing == "near the line":
        return f"near, on its {'worse' if result.short else 'better'} side"
    return "not judged" if result.standing == "not judged" else words.standing_words(result)


def _details(protocol: ScreenProtocol, group: _Group) -> list[str]:
    """What the results of a group are held against; told once where it holds for both sides."""
    sides: dict[Fact, list[str]] = {}
    for result in group.results:
        for fact in _facts(group.spec, result):
            sides.setdefault(fact, []).append(result.side or "")
    return [
        _told(protocol, fact, "" if len(of) == len(group.results) else ", ".join(of))
        for fact, of in sides.items()
    ]


def _facts(spec: TestSpec | None, result: Result) -> list[Fact]:
    if result.value is None:
        return [Fact("Result", words.standing_words(result))]
    scored = facts.scored_fact(spec, result)
    # These go without saying, unless the number was calculated in a way to be cited.
    usual = scored.text in ("", facts.FROM_ONE_TRIAL, facts.FROM_SIGNS) and scored.source is None
    # How it stands is said beside the bar; here, why it is not judged or what counts as near.
    told_beside = result.standing in ("meets", "short of the line")
    return [
        *([] if usual else [scored]),
        *(
            fact
            for fact in facts.compared_facts(spec, result)
            if fact.label != "Result" or not told_beside
        ),
    ]


def _told(protocol: ScreenProtocol, fact: Fact, side: str) -> str:
    label = "" if fact.label == "Result" else fact.label
    leads = [part for part in (side, label) if part]
    told = sourced(protocol, fact)
    return f"{', '.join(leads)}: {told}" if leads else told


_LABEL = 10


def draw_plan(
    protocol: ScreenProtocol, session: Session, assessment: Assessment, width: int
) -> list[Row]:
    """Draw the second page of the result: the plan; longer than a window, it is scrolled."""
    stops = facts.stop_rule_facts(protocol, session, assessment)
    left_out = [
        f"{one.name}: {one.reason} ({short_source(protocol, one.source)})"
        for one in assessment.plan.leave_out
    ]
    not_done = [
        f"{one.label}: {one.text}" for one in facts.not_done_facts(protocol, session, assessment)
    ]
    heeded = facts.precautions(session, assessment)
    parts = [
        section("Start", _starts(protocol, assessment, width), width),
        section("Leave out for now", bulleted(left_out or [facts.NOTHING_LEFT_OUT], width), width),
        section("Precautions", bulleted(heeded or [facts.NO_PRECAUTIONS], width), width),
        [
            rule(width, facts.RETEST_DATE),
            *facts_rows(protocol, facts.retest_facts(protocol, session, assessment), width),
            *([row(Span(f"{facts.STOP_AT_ONCE}:", "strong"))] if stops else []),
            *bulleted((sourced(protocol, fact) for fact in stops), width),
        ],
        section("Not done, and why", bulleted(not_done or [facts.ALL_DONE], width), width),
        section(
            "Mind",
            [*paragraph(facts.SUGGESTIONS, width), *paragraph(NOT_A_DIAGNOSIS, width)],
            width,
        ),
    ]
    return stacked(parts)


def _starts(protocol: ScreenProtocol, assessment: Assessment, width: int) -> list[Row]:
    if not assessment.plan.start:
        return paragraph(facts.nothing_to_start(assessment.outcome), width)
    return [line for one in assessment.plan.start for line in _exercise(protocol, one, width)]


def _exercise(protocol: ScreenProtocol, one: Start, width: int) -> list[Row]:
    rows = paragraph(f"{one.name} ({words.start_for(protocol, one)})", width, "strong")
    # The dose first: with the name it is what is looked for at a glance.
    for label, text in (
        ("Dose", one.dose),
        ("Position", one.position),
        ("Cue", one.cue),
        ("Feel", one.feel),
        ("Stop when", one.stop),
        ("Go on if", one.progress_when),
        ("Go on to", one.progress_to),
        ("Source", short_source(protocol, one.source)),
    ):
        rows += paragraph(text, width, first=row(Span(f"  {label:<{_LABEL}}", "quiet")))
    return rows


def draw_note(text: str, width: int) -> list[Row]:
    """Draw each line of the note; one that is too long goes on below, a little further in."""
    rows: list[Row] = []
    for line in text.rstrip("\n").split("\n"):
        if not line.strip():
            rows.append(BLANK)
        elif cells(line) <= width:
            rows.append(row(line))
        else:
            inset = " " * min(len(line) - len(line.lstrip()), width // 3)
            rows += paragraph(line.strip(), width, first=row(inset), indent=len(inset) + 2)
    return rows
