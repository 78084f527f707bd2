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
from screen_tui.report.note import write_note
from screen_tui.session.file import load_session
from screen_tui.session.model import Session
from screen_tui.trial.intake import IntakeForm
from screen_tui.trial.view import TrialView
from screen_tui.tui.drawing.before_testing import draw_questions, in_sight
from screen_tui.tui.drawing.result import OUTCOME_WORDS, draw_answer, draw_note, draw_plan
from screen_tui.tui.drawing.rows import Row, plain, row_cells
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
def test_every_demo_result_fits_and_says_its_outcome_first(path: Path, width: int) -> None:
    session = load_session(path)
    assessment = assess(PROTOCOL, session)
    answer = draw_answer(PROTOCOL, session, assessment, width, 17)
    plan = draw_plan(PROTOCOL, session, assessment, width)
    assert not too_wide([*answer, *plan], width)
    assert plain(answer[:1]).strip() == OUTCOME_WORDS[assessment.outcome]
    assert plain(plan[:1]).startswith("── Start ")
    for rows in (answer, plan):
        assert "Not a diagnosis." in told(rows)


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_every_demo_note_keeps_all_its_words_in_the_smallest_window(path: Path) -> None:
    session: Session = load_session(path)
    note = write_note(PROTOCOL, session, assess(PROTOCOL, session), session.started)
    rows = draw_note(note, 58)
    assert not too_wide(rows, 58)
    # Only where a line breaks differs: a long digest has no blank to break at.
    assert "".join(plain(rows).split()) == "".join(note.split())


@pytest.mark.parametrize("width", WIDTHS)
def test_help_on_every_test_fits(width: int) -> None:
    for spec in PROTOCOL.tests:
        rows = draw_test_help(PROTOCOL, spec, width)
        assert not too_wide(rows, width)
        for part in (*spec.instructions.setup, spec.instructions.say, spec.instructions.safety):
            assert " ".join(part.split()) in told(rows)


@pytest.mark.parametrize("width", [48, 58, 90])
def test_every_question_fits_whole_when_it_is_asked_and_the_others_take_a_line(width: int) -> None:
    form = IntakeForm.blank(PROTOCOL)
    # The smallest window has 16 rows between its head and two rows of keys and a notice.
    height = 16
    for question in form.questions:
        rows, focus = draw_questions(form.rows(), width, height)
        assert not too_wide(rows, width)
        assert focus[1] - focus[0] < height
        shown = in_sight(rows, focus, height)
        assert len(shown) == height
        text = told(shown)
        assert " ".join(form.current.text.split()) in text
        for part in (*form.current.details, *(label for _, label in form.current.options)):
            assert " ".join(part.split()) in text
        if form.current.kind in ("number", "text"):
            assert "▏" in text
        others = [row for row in form.rows() if not row.current]
        for other in others:
            (line,) = [
                one for one in plain(rows).split("\n") if one.startswith(f"  {other.short} .")
            ]
            assert "--" in line
        form = form.key("down", None)
        assert question.short


def test_details_move_together_when_a_sentence_on_trouble_takes_their_room() -> None:
    form = IntakeForm.restored(PROTOCOL, {}, (), "fracture-rule")
    width, _ = SMALLEST
    _, (_, last) = draw_questions(form.rows(), width, 40)
    height = last - 2  # the question stands first, two neighbours follow; one row is missing
    rows, focus = draw_questions(form.rows(), width, height)
    text = told(in_sight(rows, focus, height))
    for part in (form.current.text, *form.current.details, "y [ ] yes n [ ] no"):
        assert " ".join(part.split()) in text


def test_a_long_note_is_seen_to_its_last_letter_while_it_is_typed() -> None:
    form = IntakeForm.restored(PROTOCOL, {"note": "so much  to say " * 25}, (), "note")
    rows, focus = draw_questions(form.rows(), *SMALLEST)
    assert not too_wide(rows, SMALLEST[0])
    shown = plain(in_sight(rows, focus, SMALLEST[1]))
    assert "> A note" in shown
    letters = "".join(line.strip() for line in shown.split("> A note")[1].split("\n"))
    assert letters.replace(" ", "").startswith("somuchtosay" * 25 + "▏")


@pytest.mark.parametrize("width", [48, 58, 90])
def test_an_answer_that_needs_a_look_says_so_in_words(width: int) -> None:
    answers = {"night-pain-or-illness": True, "age": "300", "side": "left"}
    form = IntakeForm.restored(PROTOCOL, answers, (), "note")
    rows, _ = draw_questions(form.rows(), width, 16)
    text = plain(rows)
    assert not too_wide(rows, width)
    assert "YES - REFER FIRST" in text
    assert "300 years, refused" in text
    assert re.search(r"Knee \.+ left", text)


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
