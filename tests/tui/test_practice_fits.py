"""Of all shipped cases nothing that is said or seen is cut in the smallest window."""

from __future__ import annotations

from dataclasses import replace

import pytest
from support.practice_case import PROTOCOL
from support.trial_hands import TrialHands

from screen_tui.files.places import practice_cases_folder
from screen_tui.practice.case import Case, Shown
from screen_tui.practice.files import load_cases
from screen_tui.practice.interview import Interview
from screen_tui.practice.player import at
from screen_tui.practice.staging import Scene, timeline_of
from screen_tui.timing.kinds.measure import Measure
from screen_tui.tui.drawing.practice_run import draw_interview, draw_practice_test, seen_of
from screen_tui.tui.drawing.rows import Row, plain, row_cells
from screen_tui.tui.practising import form_of

WIDTH, HEIGHT = 58, 16
"""Of the body of a window of 60 columns and 20 rows, with two rows of keys and a notice."""

CASES = [one.case for one in load_cases(practice_cases_folder(), PROTOCOL) if one.case]
LABELS = {sign.id: sign.label for sign in PROTOCOL.signs}
SHOWN = [(case, shown) for case in CASES for shown in case.shown]


def one_line(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.id)
def test_all_a_patient_says_stands_below_the_whole_question(case: Case) -> None:
    form = form_of(PROTOCOL, case)
    for question in form.questions:
        if question.id == "note" or not question.asked(form.answers):
            continue
        interview = Interview(case)
        while interview.may_know_more(question.id):
            interview = interview.ask(question.id)
            heard = interview.heard(question.id)
            rows, words = draw_interview(
                replace(form, at=question.id).rows(), heard, WIDTH, WIDTH, HEIGHT
            )
            text = one_line(plain([*rows, *words]))
            assert len(rows) + len(words) <= HEIGHT
            for wanted in (question.text, *heard, *(label for _, label in question.options)):
                assert one_line(wanted) in text, (question.id, wanted)


@pytest.mark.parametrize(
    ("case", "shown"), SHOWN, ids=[f"{case.id}-{n}" for n, (case, _) in enumerate(SHOWN)]
)
def test_all_that_can_be_seen_is_told_whole_beside_the_number(case: Case, shown: Shown) -> None:
    spec = PROTOCOL.test(shown.test)
    scene = Scene(shown.test, shown.side, shown.cue, shown.direction)
    timeline = timeline_of(case, PROTOCOL, scene, 0, seed=1)
    view = TrialHands.at(spec, shown.side, LABELS, (), shown.cue).view(0.0)
    fields = spec.timer.fields if isinstance(spec.timer, Measure) else ()
    wanted: set[str] = set()
    told: set[str] = set()
    for tenths in range(-40, round(timeline.over_s * 10) + 20, 10):
        frame = at(timeline, tenths / 10)
        for place in ("front", "side"):
            patient = seen_of(
                frame, place, WIDTH, labels={one.id: one.label for one in fields}, pain=None
            )
            rows = draw_practice_test(view, patient, WIDTH, HEIGHT)
            assert len(rows) <= HEIGHT
            assert max(map(row_cells, rows)) <= WIDTH
            text = one_line("\n".join(line[: WIDTH - 14] for line in plain(rows).split("\n")))
            wanted |= set(patient.texts)
            told |= {one for one in patient.texts if one in text}
            assert all(_drawn(line, rows) for line in patient.picture)
            assert all(sign.label in plain(rows) for sign in view.signs)
    assert wanted == told


def _drawn(line: str, rows: list[Row]) -> bool:
    return any(span.text == line for drawn in rows for span in drawn)
