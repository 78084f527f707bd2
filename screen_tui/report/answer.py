"""The answer: a page to decide by, and the details behind it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from screen_tui.engine.answer import POSSIBLE, path_of
from screen_tui.engine.results import Assessment, DriverResult, Finding, NextTest, Outcome, Result
from screen_tui.fields import Side
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import facts, plan, words
from screen_tui.report.document import Bar, Bars, Document, Line, Section, Table
from screen_tui.session.model import Session

VERDICTS: dict[Outcome, str] = {
    "likely": "LIKELY",
    "mixed": "MIXED",
    "possible": "POSSIBLE",
    "undetermined": "UNDETERMINED",
    "nothing-found": "NOTHING FOUND",
    "refer-first": "REFER FIRST",
    "unloaded-only": "UNLOADED TESTS ONLY",
}

WHAT_FINDINGS_ARE = (
    "How much a finding says is judgement, not measured; it ranks, and is no probability of a "
    "disease."
)
NEXT_TESTS = "Most useful next tests"
NOTHING_AGAINST = "nothing found"

WITHOUT_COMPLAINT = "It is on the leg without complaint; whether it explains the complaint is open."

SHOWN_WHEN_NONE_LEADS = 2
"""How many drivers have their reasons shown when no driver leads."""

MOST_SUGGESTED = 3
"""Next tests on the page."""

MARGIN = 10

TELLING = 1.25
"""A finding that moves the odds of a driver by less than this is not worth a line (judgement)."""


@dataclass(frozen=True, slots=True)
class Size:
    """How much there is room for.

    Attributes:
        bars: Drivers that are ranked, and have their reasons named.
        reasons: Tests whose findings for the answer are named.
        most: Lines a paragraph may take; None for all.
        spaced: Whether blank lines part the blocks.
        joined: Whether all precautions are one paragraph.
    """

    bars: int = 20
    reasons: int = 3
    most: int | None = None
    spaced: bool = True
    joined: bool = False


SIZES = (
    Size(),
    Size(bars=6, most=3),
    Size(bars=5, most=2),
    Size(bars=4, most=2),
    Size(bars=4, most=2, spaced=False),
    Size(bars=4, most=1),
    Size(bars=4, most=1, spaced=False),
    Size(bars=3, most=1, spaced=False),
    Size(bars=3, reasons=2, most=2, spaced=False, joined=True),
    Size(bars=3, reasons=2, most=1, spaced=False, joined=True),
    Size(bars=2, reasons=1, most=1, spaced=False, joined=True),
    Size(bars=1, reasons=1, most=1, spaced=False, joined=True),
)
"""From the largest; a page takes the first that fits."""


# ------------------------------------------------------------------ drivers and findings


def noticeable(findings: Sequence[Finding]) -> list[Finding]:
    """The findings that move a driver by more than a little, in their order."""
    return [one for one in findings if max(one.factor, 1 / one.factor) >= TELLING]


def telling(findings: Sequence[Finding]) -> list[Finding]:
    """Those of them that are a reason to read."""
    return [one for one in noticeable(findings) if one.direct]


def by_test(findings: Sequence[Finding]) -> list[list[Finding]]:
    """The findings of each test on each side together, in the order of their first."""
    found: dict[tuple[str, Side | None], list[Finding]] = {}
    for one in findings:
        found.setdefault((one.test, one.side), []).append(one)
    return list(found.values())


def drivers_in_full(assessment: Assessment) -> tuple[DriverResult, ...]:
    """The drivers to give reasons for: those that lead, or else the best of the rest."""
    if assessment.outcome == "nothing-found":
        return ()
    best = [driver for driver in assessment.drivers if telling(driver.speaks_for)]
    return assessment.leading or tuple(best[:SHOWN_WHEN_NONE_LEADS])


def can_stand(driver: DriverResult) -> bool:
    """Whether it is at least possible."""
    return driver.standing in ("likely", "possible")


def driver_standing(driver: DriverResult) -> str:
    """How likely a driver is, in words.

    One that is common in such a person and that no test showed, or none without pain, is not
    supported whatever its chance; that is said, since its bar is long. What no test said anything
    about is not excluded.
    """
    if not (driver.speaks_for or driver.speaks_against):
        return "not tested"
    if driver.standing == "not-supported" and driver.chance >= POSSIBLE:
        in_pain = any(one.in_pain for one in telling(driver.speaks_for))
        return "in pain only" if in_pain else "not shown"
    return driver.standing.replace("-", " ")


def reasons(protocol: ScreenProtocol, findings: Sequence[Finding], most: int) -> list[Line]:
    """What each test showed, the test that says most first."""
    lines = []
    for found in by_test(telling(findings))[:most]:
        place = words.short_on(protocol, found[0].test, found[0].side)
        lines.append(Line(f"{place}: {words.seen_words(found)}"))
    return lines


def why_nothing_settles(session: Session, assessment: Assessment) -> str:
    """Why no test is suggested, as a sentence.

    Empty where tests are suggested, and where nothing was found, so that nothing is to settle.
    """
    if assessment.outcome == "refer-first":
        return "no further test, because a referral comes first"
    if session.stopped:
        return "no further test, because testing was stopped"
    if assessment.next_tests or assessment.outcome == "nothing-found":
        return ""
    return "no test left in this test set would change the ranking"


# ------------------------------------------------------------------ the page


def answer_document(
    protocol: ScreenProtocol,
    session: Session,
    assessment: Assessment,
    size: Size = SIZES[0],
    changed: Sequence[Line] = (),
) -> Document:
    """The page: verdict, ranking, reasons, what is missing, what to heed, what to do next.

    What changed since an earlier visit comes first of all.
    """
    bars = [_bar(protocol, one) for one in assessment.drivers[: size.bars]]
    missing = facts.not_tested_facts(protocol, session, assessment)
    also = words.joined(one.name for one in assessment.outside if one.because)
    heeded = [Line(one) for one in plan.in_short(protocol, session, assessment)]
    if size.joined and heeded:
        heeded = [Line(words.joined(one.text for one in heeded))]
    start = assessment.plan.start
    more = f" (+ {len(start) - 1} more)" if len(start) > 1 else ""
    first = f"{words.with_dose(start[0])}{more}" if start else ""
    return Document(
        (
            Section(tuple(changed), tag="Change"),
            Section(tuple(opening(protocol, session, assessment))),
            Section((Bars(tuple(bars)),) if bars else ()),
            *_argument(protocol, assessment, size),
            Section(tuple(missing), tag="Not done", apart=not drivers_in_full(assessment)),
            Section(tuple(heeded), tag="Caution", apart=False),
            Section((Line(f"may be {also}"),) if also else (), tag="Also", apart=False),
            Section(tuple(_next(protocol, session, assessment)), tag="Next", apart=False),
            Section(
                (Line(first or plan.nothing_to_start(session, assessment)),),
                tag="Start",
                apart=False,
            ),
        ),
        margin=MARGIN,
        spaced=size.spaced,
    )


def assessed_document(
    protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> Document:
    """The page with the results below it."""
    page = answer_document(protocol, session, assessment)
    table, *_ = results_sections(protocol, assessment.results)
    return replace(page, sections=(*page.sections, table, plan.mind()))


def opening(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> Iterator[Line]:
    """What it comes to, and before that what outranks it."""
    refer = assessment.outcome == "refer-first"
    stop = Line(session.stopped, mark="TESTING STOPPED", role="verdict")
    if session.stopped and not refer:
        yield from (stop, Line("Settle this before any exercise or further test."))
    yield from _verdict(protocol, session, assessment)
    yield from _cautions(assessment)
    if session.stopped and refer:
        yield stop


def _verdict(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> list[Line]:
    word = VERDICTS[assessment.outcome]
    names = words.joined(words.driver_on(protocol, *_place(one)) for one in assessment.leading)
    if assessment.leading:
        found = names
    elif assessment.outcome == "refer-first" and assessment.cautions:
        found = words.how_soon(assessment.cautions[0])
    else:
        text = assessment.headline.partition(" Also seen on ")[0]
        found = text.removeprefix(word.capitalize()).removeprefix(":").strip()
    lines = [Line(found, mark=word, role="verdict")]
    if assessment.leading:
        lines.append(Line(words.FITS_BEST, role="quiet"))
    return [*lines, *elsewhere(protocol, session, assessment)]


def elsewhere(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> list[Line]:
    """What was seen on the leg that is not complained of, or that the answer itself is about it."""
    if without_complaint(session, assessment):
        return [Line(WITHOUT_COMPLAINT, role="second", cut=False)]
    names = [
        f"{words.driver_on(protocol, *_place(one))} ({driver_standing(one)})"
        for one in assessment.drivers
        if can_stand(one) and not session.intake.complains_of(one.side)
    ]
    return [Line(words.joined(names), "On the leg without complaint")] if names else []


def without_complaint(session: Session, assessment: Assessment) -> bool:
    """Whether the answer is about the leg that is not complained of."""
    return any(not session.intake.complains_of(one.side) for one in assessment.leading)


def _place(one: DriverResult) -> tuple[str, Side | None]:
    return one.driver, one.side


def _cautions(assessment: Assessment) -> Iterator[Line]:
    soonest = words.how_soon(assessment.cautions[0]) if assessment.cautions else ""
    for one in assessment.cautions:
        same = words.how_soon(one) == soonest
        yield Line(one.name if same else words.caution_name(one), role="strong", cut=False)
        yield Line(words.caution_step(one), "Next step", level=1, cut=False)
        yield Line(words.caution_means(one), source=one.source, level=1)


def _bar(protocol: ScreenProtocol, one: DriverResult) -> Bar:
    name = words.driver_on(protocol, one.driver, one.side)
    return Bar(name, one.chance, driver_standing(one), strong=can_stand(one))


def _argument(protocol: ScreenProtocol, assessment: Assessment, size: Size) -> Iterator[Section]:
    """The reasons that weigh most, and the one against; the more drivers, the fewer for each."""
    shown = drivers_in_full(assessment)
    several = len(shown) > 1 or not assessment.leading
    shown = shown[: size.bars]
    each = max(size.reasons - len(shown) + 1, 1)
    speaks_for: list[Line] = []
    against: list[Line] = []
    for one in shown:
        name = [Line(words.driver_on(protocol, *_place(one)), role="strong")] if several else []
        found = reasons(protocol, one.speaks_for, each)
        opposed = reasons(protocol, one.speaks_against, 1)
        speaks_for += [*name, *found] if found else []
        against += [*(name if several and len(shown) > 1 else []), *opposed] if opposed else []
    if shown:
        yield Section(tuple(speaks_for), tag="For")
        yield Section(tuple(against or [Line(NOTHING_AGAINST)]), tag="Against", apart=False)


def _next(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> list[Line]:
    why_none = why_nothing_settles(session, assessment)
    if why_none:
        return [Line(why_none)]
    lines = next_lines(protocol, assessment.next_tests[:MOST_SUGGESTED])
    return [replace(one, mark=str(digit), press=True) for digit, one in enumerate(lines, start=1)]


def next_lines(protocol: ScreenProtocol, tests: Sequence[NextTest]) -> Iterator[Line]:
    """Each next test, and between which drivers it decides; said once where the next does too."""
    before = ""
    for one in tests:
        between = words.between_words(protocol, one)
        place = f"{words.next_place(protocol, one)} ({words.number(one.minutes, 1)} min)"
        yield Line("the same" if between == before else between, place)
        before = between


# ------------------------------------------------------------------ the details


def details_document(
    protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> Document:
    """Everything the answer rests on."""
    return Document(
        (*details_sections(protocol, session, assessment), plan.mind(WHAT_FINDINGS_ARE))
    )


def details_sections(
    protocol: ScreenProtocol, session: Session, assessment: Assessment
) -> tuple[Section, ...]:
    """Drivers with every finding, what moved the answer, results, cues, what was not done."""
    not_done = facts.not_done_facts(protocol, session, assessment)
    remarks = tuple(Line(one, mark="-") for one in assessment.remarks)
    shown = drivers_in_full(assessment)
    others = tuple(_bar(protocol, one) for one in assessment.drivers if one not in shown)
    return (
        *(_driver(protocol, one) for one in shown),
        Section((Bars(others),) if others else (), "Other drivers"),
        Section(outside_lines(assessment), "Outside these drivers"),
        Section(moved_lines(protocol, assessment), "What moved the answer"),
        *results_sections(protocol, assessment.results),
        Section(cue_lines(protocol, assessment), "Repeated with a cue"),
        Section(tuple(not_done) or (Line(facts.ALL_DONE),), "Not done, and why"),
        Section(remarks, "Remarks"),
    )


def _driver(protocol: ScreenProtocol, one: DriverResult) -> Section:
    known = protocol.known_driver(one.driver)
    lines = [Line(known.meaning, "Meaning", known.source)] if known else []
    for mark, findings in (("+", one.speaks_for), ("-", one.speaks_against)):
        for found in telling(findings):
            place = words.short_on(protocol, found.test, found.side)
            text = f"{place}: {found.words} ({words.strength_words(found)})"
            lines.append(Line(text, source=found.source, mark=mark))
    if not telling(one.speaks_against):
        lines.append(Line(NOTHING_AGAINST, mark="-"))
    if can_stand(one):
        places = [words.test_on(protocol, test, None) for test in one.rests_on]
        without = "no single test; without any one of them the answer is the same"
        lines.append(Line(words.joined(places) or without, "Rests on"))
        if known:
            lines.append(Line(known.counts_against, "Would count against it"))
    name = words.driver_on(protocol, one.driver, one.side)
    return Section(tuple(lines), f"{name}: {driver_standing(one)}")


def outside_lines(assessment: Assessment) -> tuple[Line, ...]:
    """What is no driver here and may be behind the complaint, and what to examine then."""
    return tuple(
        Line(
            one.examine + (f" (seen: {', '.join(one.because)})" if one.because else ""),
            f"May also be {one.name}" if one.because else one.name,
            one.source,
        )
        for one in assessment.outside
    )


def moved_lines(protocol: ScreenProtocol, assessment: Assessment) -> tuple[Line, ...]:
    """After which test which driver came up or went down, from where to where."""
    by_test: dict[str, list[str]] = {}
    for one in path_of(assessment.drivers):
        name = words.driver_on(protocol, one.driver, one.side)
        before, after = words.spaced(one.before), words.spaced(one.after)
        by_test.setdefault(one.test, []).append(f"{name} from {before} to {after}")
    return tuple(
        Line(words.joined(moved), words.short_on(protocol, test, None))
        for test, moved in by_test.items()
    )


def cue_lines(protocol: ScreenProtocol, assessment: Assessment) -> tuple[Line, ...]:
    """What each cue changed."""
    return tuple(
        Line(
            words.cue_effect_words(protocol, effect),
            f"{words.short_on(protocol, effect.test, effect.side)}, {words.spaced(effect.cue)}",
        )
        for effect in assessment.cue_effects
    )


# ------------------------------------------------------------------ the numbers


def results_sections(protocol: ScreenProtocol, results: Sequence[Result]) -> tuple[Section, ...]:
    """Each number with left and right beside each other, and what it is held against."""
    if not results:
        return (Section((Line("Nothing was measured."),), "Results"),)
    by_number: dict[tuple[str, str], list[Result]] = {}
    for result in results:
        by_number.setdefault((result.test, result.measure), []).append(result)
    groups = by_number.values()
    rows = []
    for group in groups:
        of = {one.side: result_words(one) for one in group}
        # What is of both legs together is at the left.
        left = f"both: {of[None]}" if of.get(None) else of.get("left", "")
        limits = [words.limit_words(one.line, one) for one in group if one.line is not None]
        name = _number_name(protocol, group)
        rows.append((name, left, of.get("right", ""), limits[0] if limits else ""))
    table = Table(("Test", "Left", "Right", "Cut-off"), tuple(rows))
    held = [line for group in groups for line in _held_against(protocol, group)]
    return (
        Section((table,), "Results"),
        Section(tuple(held), "What the results are held against"),
    )


def result_words(result: Result) -> str:
    """A number and how it compares with its cut-off, in few words."""
    short = {
        "meets": "meets",
        "short of the line": "worse",
        "near the line": f"near, on its {'worse' if result.short else 'better'} side",
        "not judged": "",
    }[result.standing]
    warned = "warning" if result.flags and not short else ""
    return ", ".join(part for part in (words.result_amount(result), short or warned) if part)


def _number_name(protocol: ScreenProtocol, group: Sequence[Result]) -> str:
    spec = protocol.test(group[0].test)
    return f"{spec.short_name}: {group[0].label}" if len(spec.measures) > 1 else spec.short_name


def _held_against(protocol: ScreenProtocol, group: Sequence[Result]) -> list[Line]:
    of: dict[Line, list[str]] = {}
    for result in group:
        for line in _compared(protocol, result):
            of.setdefault(line, []).append(result.side or "")
    lines = [Line(_number_name(protocol, group), role="strong")] if of else []
    for line, on in of.items():
        where = "" if len(on) == len(group) else ", ".join(on)
        label = ", ".join(part for part in (where, line.label) if part)
        lines.append(Line(line.text, label, line.source, level=1))
    return lines


def _compared(protocol: ScreenProtocol, result: Result) -> list[Line]:
    if result.value is None:
        return [Line(words.standing_words(result))]
    spec, measure = facts.measured_by(protocol, result)
    scored = facts.scored_fact(measure, result)
    # These go without saying, unless the number was calculated in a way to be cited.
    usual = scored.text in ("", facts.FROM_ONE_TRIAL, facts.FROM_SIGNS) and scored.source is None
    # The table has said how it compares; here, why it is not judged or what counts as near.
    text = result.standing in ("meets", "short of the line")
    compared = facts.compared_facts(spec, result)
    return [
        *([] if usual else [scored]),
        *(line for line in compared if line.label != "Result" or not text),
    ]
