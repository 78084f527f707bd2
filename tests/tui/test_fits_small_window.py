"""Nothing is cut off, from 60 columns and 20 rows on: the shipped protocol and demo sessions."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

import pytest
from support.trial_hands import TrialHands

from screen_tui.engine.assess import assess
from screen_tui.files.places import demo_folder, protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.tests import TestSpec
from screen_tui.report.answer import answer_document, details_document
from screen_tui.report.note import write_note
from screen_tui.report.plan import plan_document
from screen_tui.session.file import load_session
from screen_tui.session.model import Session
from screen_tui.trial.intake import IntakeForm
from screen_tui.trial.intake_questions import CLEARED, READY
from screen_tui.trial.view import TrialView
from screen_tui.tui.drawing.before_testing import BESIDE_FROM, QUESTION, draw_questions
from screen_tui.tui.drawing.document import draw_document
from screen_tui.tui.drawing.rows import Row, paragraph, plain, row_cells, whole_sentences
from screen_tui.tui.drawing.test import draw_test
from screen_tui.tui.screens.help import draw_test_help

PROTOCOL = load_protocol([protocols_folder()])
DEMOS = sorted(demo_folder().glob("*.toml"))
WIDTHS = [58, 78, 118]
# 20 rows less the head, a row of notice and two rows of keys.
SMALLEST = (58, 16)


def too_wide(rows: Iterable[Row], width: int) -> list[str]:
    return [plain([line]) for line in rows if row_cells(line) > width]


def told(rows: Iterable[Row]) -> str:
    return " ".join(plain(rows).split())


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_every_demo_result_fits(path: Path, width: int) -> None:
    session = load_session(path)
    assessment = assess(PROTOCOL, session)
    for build in (answer_document, details_document, plan_document):
        rows = draw_document(PROTOCOL, build(PROTOCOL, session, assessment), width)
        assert not too_wide(rows, width)


def test_a_long_sentence_on_a_saved_trial_ends_with_a_whole_one() -> None:
    saved = "Saved: Step-down, left, pelvic drop 4 of 5, trunk lean."
    after = [
        "Knee valgus 1 of 6; meets the cut-off, at most 2.",
        "Not offered: ten raises, no lag.",
    ]
    assert whole_sentences(" ".join([saved, *after]), 58, 4) == " ".join([saved, *after])
    shorter = whole_sentences(" ".join([saved, *after * 3]), 58, 4)
    assert shorter.startswith(saved)
    assert shorter.endswith(".")
    assert len(paragraph(shorter, 58)) == 4
    assert whole_sentences(saved, 8, 1) == saved


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_every_demo_note_has_all_its_tests_in_the_smallest_window(path: Path) -> None:
    session: Session = load_session(path)
    note = write_note(PROTOCOL, session, assess(PROTOCOL, session), session.started, width=58)
    assert max(map(len, note.splitlines())) <= 58
    flat = " ".join(note.split())
    names = {PROTOCOL.test(trial.test).short_name for trial in session.trials}
    assert [name for name in names if name not in flat] == []


@pytest.mark.parametrize("width", WIDTHS)
def test_help_on_every_test_fits(width: int) -> None:
    for spec in PROTOCOL.tests:
        rows = draw_test_help(PROTOCOL, spec, width)
        assert not too_wide(rows, width)
        for part in (*spec.instructions.setup, spec.instructions.say, spec.instructions.safety):
            assert " ".join(part.split()) in told(rows)


@pytest.mark.parametrize("width", [58, 78, 98, 118])
def test_every_question_fits_whole_when_it_is_asked_and_each_has_one_line(width: int) -> None:
    form = IntakeForm.blank(PROTOCOL)
    # The smallest window has 16 rows between its head and two rows of keys and a notice.
    height = 16
    for question in form.questions:
        form = form.go_to(question.id)
        if form.at != question.id or question.id == READY:
            continue
        rows = draw_questions(form.page(), width, height)
        assert not too_wide(rows, width)
        assert len(rows) <= height
        text = told([row[4:] for row in rows] if width >= BESIDE_FROM else rows)
        for part in (form.current.text, *(label for _, label in form.current.options)):
            assert " ".join(part.split()) in text or (question.caution and part in ("yes", "no"))
        if form.current.kind in ("number", "text"):
            assert "▏" in text
        lines = plain(rows).split("\n")
        (line,) = [one for one in lines if one.startswith(f"> {question.short} ·")]
        assert "open" in line or " -" in line


@pytest.mark.parametrize("height", [2, 3, 4, 8, 9, 16, 20])
@pytest.mark.parametrize("width", [28, 58, 118])
def test_the_line_in_hand_is_seen_in_any_window(width: int, height: int) -> None:
    form = IntakeForm.blank(PROTOCOL)
    for _ in form.questions:
        rows = draw_questions(form.page(), width, height, tests=lambda _: ())
        assert len(rows) <= height
        assert not too_wide(rows, width)
        assert any(line.startswith("> ") for line in plain(rows).split("\n"))
        form = form.key("down", None)


@pytest.mark.parametrize("height", [4, 8, 12, 16])
def test_lines_that_were_not_in_sight_come_together(height: int) -> None:
    """One press for each page of lines, so that each was read."""
    form, seen, presses = IntakeForm.blank(PROTOCOL), set[str](), 0
    while form.may_be_silent() and form.part == "safety":
        rows = draw_questions(form.page(), 58, height)
        seen |= {span.press.removeprefix(QUESTION) for row in rows for span in row if span.press}
        form = form.nothing_else(seen)
        presses += 1
    asked = len(PROTOCOL.cautions)
    assert sum(form.answers.get(one.id) is False for one in PROTOCOL.cautions) == asked
    in_sight = sum(plain([row])[:2] in ("> ", "  ") for row in rows if row and row[0].press)
    assert presses <= 2 + asked // max(in_sight, 1)


def test_a_long_comment_is_seen_at_its_end_while_it_is_typed() -> None:
    form = IntakeForm.restored(PROTOCOL, {"note": "so much  to say " * 25}, (), "note")
    rows = draw_questions(form.page(), *SMALLEST)
    assert len(rows) <= SMALLEST[1]
    assert not too_wide(rows, SMALLEST[0])
    assert "to say ▏" in plain(rows)


@pytest.mark.parametrize("width", [58, 78, 118])
def test_an_answer_that_needs_a_look_says_so_in_words(width: int) -> None:
    answers = {"night-pain-or-illness": True, "clot": CLEARED, "age": "300", "side": "left"}
    form = IntakeForm.restored(PROTOCOL, answers, (), "note")
    assert "300 years, refused" in plain(draw_questions(form.page(), width, 24))
    text = plain(draw_questions(form.go_to("fracture-rule").page(), width, 24))
    assert re.search(r"cancer history ·+ YES, REFER", text)
    assert re.search(r"Deep vein thrombosis ·+ cleared", text)
    assert re.search(r"Septic arthritis ·+ open", text)
    assert re.search(r"Knee of the complaint ·+ left", text)


def states(spec: TestSpec, cue: str = "") -> dict[str, TrialView]:
    """A trial in each state that draws differently, as full as it gets."""
    side = "left" if spec.sided else None
    ready = TrialHands.at(spec, side, PROTOCOL.signs, cue=cue)
    now = 100.0
    signs = ready
    for sign in ready.signs:
        now += 2
        signs = signs.key(str(sign.digit), str(sign.digit), now, now)
    running = signs.key("space", " ", now + 2, now + 2)
    ended = running.key("enter", None, now + 9, now + 9)
    reasoned = ended.key("e", "e", now + 12, now + 12).key("p", "p", now + 15, now + 15)
    scored = reasoned.key("3", "3", now + 18, now + 18)
    struck = scored.key("x", "x", now + 21, now + 21)
    named = {
        "ready": ready,
        "running": running,
        "ended": ended,
        "asking for pain": reasoned,
        "with pain and reason": scored,
        "striking out": struck,
    }
    return {name: state.view(now + 21) for name, state in named.items()}


@pytest.mark.parametrize("spec", PROTOCOL.tests, ids=lambda spec: spec.id)
def test_every_test_shows_all_that_matters_in_the_smallest_window(spec: TestSpec) -> None:
    cues = ["", *(cue.id for cue in spec.cues)]
    for cue in cues:
        for name, view in states(spec, cue).items():
            width, height = SMALLEST
            rows = draw_test(view, width, height)
            text = told(rows)
            assert len(rows) <= height, name
            assert not too_wide(rows, width), name
            if view.before is None and not view.question and view.big and view.big != "-":
                assert sum("█" in plain([line]) for line in rows) >= 5, name
            if view.choices:
                assert all(f"{one.key} {one.label}" in text for one in view.choices), name
            # What was seen is in capitals.
            for one in view.signs:
                assert f"{one.key} {one.label.upper() if one.on else one.label}" in text, name
            assert view.state in text, name
            assert all(field.label in text for field in view.fields), name
            for part in (view.target, view.trial, view.pain, view.ended, view.progress):
                assert part in text, name


@pytest.mark.parametrize("size", [SMALLEST, (78, 20), (28, 5)])
@pytest.mark.parametrize("spec", PROTOCOL.tests, ids=lambda spec: spec.id)
def test_all_that_is_read_before_the_start_can_be_read_and_is_gone_once_it_runs(
    spec: TestSpec, size: tuple[int, int]
) -> None:
    for cue in ("", *(cue.id for cue in spec.cues)):
        view = states(spec, cue)["ready"]
        told = view.before
        assert told is not None
        pages = [draw_test(view, *size, page) for page in range(40)]
        assert all(len(page) <= size[1] and not too_wide(page, size[0]) for page in pages)
        words = set(re.findall(r"\w+", " ".join(plain(page) for page in pages)))
        for part in (told.say, told.cue, told.safety, *told.setup, *told.ends_when):
            assert set(re.findall(r"\w+", part)) <= words, (cue, part)
        if spec.timer.clocked:
            running = plain(draw_test(states(spec, cue)["running"], *size))
            assert told.safety[:20] not in running
            assert told.say[:20] not in running
