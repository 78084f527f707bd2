"""The two pages of the result tell every fact that stands in O's results, A and P of the note.

Line by line of the note: what it cites and how it counts trials is the note's own; of all else the
text must stand on one of the pages, line breaks and sources aside.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from screen_tui.engine.assess import assess
from screen_tui.engine.results import Assessment
from screen_tui.files.places import demo_folder, protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.report import text as plain_text
from screen_tui.report.facts import telling
from screen_tui.report.note import write_note
from screen_tui.report.words import strength_words
from screen_tui.session.file import load_session
from screen_tui.session.model import Session
from screen_tui.tui.drawing.result import draw_answer, draw_plan
from screen_tui.tui.drawing.rows import plain

PROTOCOL = load_protocol([protocols_folder()])
DEMOS = sorted(demo_folder().glob("*.toml"))
CITED = re.compile(r" ?\[(\d+|no source given)[^\]]*\]")

NOTE_ALONE = re.compile(
    # Lists by standing, and the kind of answer, say once more what is said elsewhere.
    r"  (Worse than the cut-off|Near the cut-off|Meets the cut-off|Not judged): |Kind of answer: "
    # Headings.
    r"|[AP]: [A-Z]+$|What the numbers show:$|Most useful next tests:$"
    r"|Other drivers weighed:$|Drivers weighed:$|Refer first$"
    # The trials themselves, and tests without a number.
    r"|  Trial \d|  No cut-off for this test: "
    # Nothing in a form of its own.
    r"|  (For|Against): nothing found|Test again on "
)
FORMS = tuple(
    re.compile(form)
    for form in (
        r"Most useful next tests: (.*)",
        r"    Result: near the cut-off, (.*)",
        r"  (?:For|Against): (.*) \(.*; .*\)$",
        r"Leave out for now: (.*) - (.*)",
        # A number with its unit, without how many trials it is from.
        r"  [^:]*: (-?[\d.]+ [\w/ ]+) \((?:from|best|mean|first|last) .*\)$",
        r"  [^:]+: (tells .*) \(about .*\)",
        # Everything else: what stands behind its label.
        r" *(?:[^:]+: )?(.*)",
    )
)


def flat(text: str) -> str:
    return " ".join(text.split())


def bare(text: str) -> str:
    """Only the words, as the verdict says them in capitals."""
    return " ".join(re.findall(r"\w+", text.casefold()))


def note_lines(session: Session, assessment: Assessment) -> list[str]:
    """O, A and P of the note, each paragraph on one line, without what is cited."""
    note = write_note(PROTOCOL, session, assessment, session.started, ascii_only=False)
    seen, _, read = (
        note.partition("\nO: OBJECTIVE\n")[2].partition("\nSOURCES")[0].partition("\nA: ")
    )
    # What stands out in O are the names of the tests.
    lines = [line for line in seen.splitlines() if line.startswith(" ")] + read.splitlines()[1:]
    return [CITED.sub("", line) for line in lines if line.strip()]


def wanted(line: str) -> list[str]:
    """The pieces of a line that must stand on the screen, which may set them in rows apart."""
    if NOTE_ALONE.match(line):
        return []
    found = next(filter(None, (form.match(line) for form in FORMS)))
    return [piece for part in found.groups() for piece in re.split(r"; | \(within | \(for: ", part)]


@pytest.fixture
def unbroken(monkeypatch: pytest.MonkeyPatch) -> None:
    def wrap(text: str, *, indent: int = 0, hang: int = 0, width: int = 0) -> list[str]:
        del hang, width
        return [" " * indent + " ".join(text.split())] if text.strip() else []

    monkeypatch.setattr(plain_text, "wrap", wrap)


def screen(session: Session, assessment: Assessment, width: int) -> str:
    rows = draw_answer(PROTOCOL, session, assessment, width, 17)
    return flat(plain(rows)) + " " + flat(plain(draw_plan(PROTOCOL, session, assessment, width)))


@pytest.mark.usefixtures("unbroken")
@pytest.mark.parametrize("width", [58, 78])
@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
@pytest.mark.parametrize("stopped", ["", "chest pain"])
def test_every_line_of_the_note_has_its_counterpart(path: Path, width: int, stopped: str) -> None:
    session = load_session(path).model_copy(update={"stopped": stopped})
    assessment = assess(PROTOCOL, session)
    told = screen(session, assessment, width)
    without_sources = flat(re.sub(r" \([^()]*\)", "", told))
    missing = [
        (line, piece)
        for line in note_lines(session, assessment)
        for piece in wanted(line)
        if flat(piece).rstrip(".)") not in told
        and flat(piece).rstrip(".)") not in without_sources
        and bare(piece) not in bare(told)
    ]
    assert not missing


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_each_kind_of_fact_stands_on_its_page(path: Path) -> None:
    session = load_session(path)
    assessment = assess(PROTOCOL, session)
    answer = flat(plain(draw_answer(PROTOCOL, session, assessment, 78, 17)))
    plan = flat(plain(draw_plan(PROTOCOL, session, assessment, 78)))
    assert bare(assessment.headline) in bare(answer)
    for driver in assessment.leading:
        known = PROTOCOL.driver(driver.driver)
        assert flat(known.meaning) in answer
        assert flat(known.counts_against) in answer
        assert flat(known.retest or "") in plan
        for one in telling((*driver.speaks_for, *driver.speaks_against)):
            assert f"{one.words} ({strength_words(one)}; " in answer
    for result in assessment.results:
        for line in (*([result.line] if result.line else []), *result.flags):
            assert f"{line.meets} {line.limit:g}".rstrip("0.") in answer
            assert flat(line.population) in answer
    for effect in assessment.cue_effects:
        assert f"With the cue {effect.cue.replace('-', ' ')}: " in answer
        for sign in (*effect.cured, *effect.persists, *effect.appeared):
            assert PROTOCOL.sign(sign).label.lower() in answer
    for one in assessment.plan.start:
        for part in (one.name, one.dose, one.position, one.cue, one.feel, one.stop):
            assert flat(part) in plan
        assert flat(one.progress_when) in plan
        assert flat(one.progress_to) in plan
    for left in assessment.plan.leave_out:
        assert f"{left.name}: {flat(left.reason)}" in plan
    for _, _, reason in assessment.not_done:
        assert reason in plan
    for rule in PROTOCOL.stop_rules if session.trials else ():
        assert flat(rule.text) in plan
    for caution in assessment.cautions:
        assert flat(caution.means) in answer
        assert flat(caution.next_step) in answer
        assert flat(caution.next_step) in plan


def test_tests_withheld_and_not_offered_stand_on_the_plan_with_their_reasons() -> None:
    session = load_session(demo_folder() / "runner-left-hip.toml")
    plan = flat(plain(draw_plan(PROTOCOL, session, assess(PROTOCOL, session), 78)))
    assert "Straight-leg-raise hold, both sides: withheld: No lag and full load allowed" in plan
    assert "Rise from the floor: not offered: meant for the goals floor" in plan


def test_what_must_be_heeded_stands_on_the_plan() -> None:
    session = load_session(demo_folder() / "four-weeks-after-bone-surgery-left.toml")
    plan = flat(plain(draw_plan(PROTOCOL, session, assess(PROTOCOL, session), 58)))
    heeded = plan.partition("Precautions")[2].partition("Test again")[0]
    assert "- weight-bearing allowed: partial" in heeded
    assert "- surgery 4 weeks ago: local limits come first" in heeded
