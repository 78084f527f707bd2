"""Every step from trial to verdict, to check by hand."""

from __future__ import annotations

from collections.abc import Iterator

from screen_tui.engine.answer import ENOUGH_TESTS, LIKELY, NOTHING, POSSIBLE, RIVAL, STAYS, TIE
from screen_tui.engine.results import Assessment, DriverResult
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import words
from screen_tui.report.answer import (
    TELLING,
    cue_lines,
    driver_standing,
    moved_lines,
    noticeable,
    opening,
    outside_lines,
    results_sections,
)
from screen_tui.report.document import Document, Line, Section
from screen_tui.report.layout import PAPER, Layout, write_text
from screen_tui.report.plan import plan_sections
from screen_tui.report.trials import trials_section
from screen_tui.session.model import Session


def write_explanation(protocol: ScreenProtocol, session: Session, assessment: Assessment) -> str:
    """Every step the engine took, in printable ASCII ended by one line feed."""
    client = session.client
    answer = (
        *(Line(step) for step in _answer_steps(protocol, assessment)),
        *opening(protocol, session, assessment),
        *outside_lines(assessment),
        *(Line(one, "Remark") for one in assessment.remarks),
    )
    document = Document(
        (
            trials_section(protocol, session),
            *results_sections(protocol, assessment.results),
            Section(cue_lines(protocol, assessment), "Repeated with a cue"),
            *_chances(protocol, assessment),
            Section(answer, "Answer"),
            Section(tuple(_next(protocol, assessment)), "Next tests"),
            *plan_sections(protocol, session, assessment),
        ),
        f"Session {session.id}: age {client.age}, sex {client.sex}",
    )
    layout = Layout(PAPER, cite=lambda source_id: f"({source_id})", ascii_only=True)
    return write_text(document, layout)


_WEIGHED = (
    "Chance of each driver in 100, which is judgement: before any test, and after all. Behind each "
    "finding, by how much it moved the odds given everything else; in brackets its discount, where "
    "it was seen in pain, not marked, or shows what another shows. Findings of less than "
    f"{TELLING:g} are left out. Then the chance after each test, in the order done, and without "
    "each test."
)


def _chances(protocol: ScreenProtocol, assessment: Assessment) -> Iterator[Section]:
    heading = "Chances"
    if assessment.cautions:
        names = ", ".join(map(words.caution_name, assessment.cautions))
        text = f"Not ranked: a safety answer comes first ({names})."
        yield Section((Line(text),), heading)
        return
    yield Section((Line(_WEIGHED),), heading)
    for driver in assessment.drivers:
        yield Section(tuple(_driver(protocol, driver)))
    # By the chance alone, before any test is taken away.
    yield Section(moved_lines(protocol, assessment), "What moved it, in the order of testing")


def _driver(protocol: ScreenProtocol, driver: DriverResult) -> list[Line]:
    name = words.driver_on(protocol, driver.driver, driver.side)
    before, after = _in_100(driver.before), _in_100(driver.chance)
    lines = [Line(f"{before} before, {after} after: {driver_standing(driver)}", name)]
    for finding in noticeable((*driver.speaks_for, *driver.speaks_against)):
        place = words.test_on(protocol, finding.test, finding.side)
        discount = f" [{words.number(finding.weight, 2)}]" if finding.weight < 1 else ""
        factor = words.number(finding.factor, 2)
        text = f"{place}: {finding.words} ({finding.source})"
        lines.append(Line(text, f"x {factor}{discount}", level=1))
    for label, by_test in {"After": driver.after, "Without": driver.without}.items():
        chances = (
            f"{protocol.test(test).short_name} {_in_100(at)}" for test, at in by_test.items()
        )
        if text := ", ".join(chances):
            lines.append(Line(text, f"{label} each test", level=1))
    return lines


def _in_100(chance: float) -> str:
    return words.number(100 * chance, 0)


def _answer_steps(protocol: ScreenProtocol, assessment: Assessment) -> list[str]:
    if assessment.outcome == "refer-first":
        return ["What is unsafe outranks every chance: refer first."]
    steps = []
    if assessment.outcome == "unloaded-only":
        steps.append("The order on weight-bearing allows unloaded tests only.")
    if not assessment.leading:
        return [
            *steps,
            f"No driver reaches {_in_100(POSSIBLE)}.",
            f"Nothing found is the answer only after {ENOUGH_TESTS} tests, the leg complained of "
            "loaded alone among them, with no short result, trial limited by pain or sign seen "
            f"twice on that side, and with no driver above {_in_100(NOTHING)}.",
        ]
    for driver in assessment.leading:
        name = words.driver_on(protocol, driver.driver, driver.side)
        steps.append(
            f"{name}: {_in_100(driver.chance)}, and {_in_100(driver.least)} without the test that "
            f"matters most to it: {driver_standing(driver)}."
        )
    steps.append(
        f"Likely asks for {_in_100(LIKELY)}, {_in_100(STAYS)} without any one test, and support "
        "from two tests or a cue that worked and was undone; possible for "
        f"{_in_100(POSSIBLE)}; another driver from {_in_100(RIVAL)} beside a likely one, or two "
        f"of one leg within {_in_100(TIE)}, make it mixed."
    )
    return steps


def _next(protocol: ScreenProtocol, assessment: Assessment) -> Iterator[Line]:
    for one in assessment.next_tests:
        bits, minutes = words.number(one.expected_bits, 2), words.number(one.minutes, 1)
        text = f"{words.between_words(protocol, one)} {bits} bits in {minutes} min"
        yield Line(text, words.next_place(protocol, one))
