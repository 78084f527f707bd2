"""The patient's sheet: what is on it, in which order, and what never is."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len
from support.every_session import SESSION_FILES, judged
from support.hostile import possible_letters
from support.note_case import note_assessment, note_protocol, note_session, refer_first_assessment
from support.thorough import examples

from screen_tui.engine import Assessment, assess
from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_drawings
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.patient_sheet import write_patient_html, write_patient_sheet
from screen_tui.session.model import Session

DRAWINGS = load_drawings([protocols_folder()])
MOST_COLUMNS = 64
EXERCISE_LABELS = ("How to start:", "How much:", "What you should feel:", "When to stop:")
LINES_OF_A_PAGE = 60
"""Of an A4 page at 12 points, single spaced."""


def sheet(
    protocol: ScreenProtocol, session: Session, assessment: Assessment, **more: Any
) -> list[str]:
    return write_patient_sheet(protocol, session, assessment, **more).splitlines()


def flat(lines: list[str]) -> str:
    return " ".join(" ".join(lines).split())


@pytest.mark.parametrize("name", SESSION_FILES)
def test_every_session_gives_a_sheet_of_short_lines_that_names_nobody(name: str) -> None:
    protocol, session, assessment = judged(name)
    lines = sheet(protocol, session, assessment)
    assert max(len(line) for line in lines) <= MOST_COLUMNS
    assert all(line == line.rstrip() for line in lines)
    text = flat(lines)
    assert session.client.label not in text
    assert session.id not in text
    assert not session.intake.note or session.intake.note[:30] not in text
    told = text.lower()
    named = [one.name.lower() for one in (*protocol.drivers, *protocol.cautions)]
    assert [one for one in named if one in told] == []
    assert "This sheet is not a diagnosis." in text
    assert any(line.startswith("Date and time: ____") for line in lines)
    assert any(line.startswith("Our phone number: ____") for line in lines)
    assert len(lines) <= 2 * LINES_OF_A_PAGE
    assert "WHEN TO CALL" in lines


@pytest.mark.parametrize("name", SESSION_FILES)
def test_the_exercises_are_those_of_the_plan_in_their_order_and_whole(name: str) -> None:
    protocol, session, assessment = judged(name)
    lines = sheet(protocol, session, assessment)
    text = flat(lines)
    starts = assessment.plan.start
    places = []
    for number, start in enumerate(starts, start=1):
        words = next(one.for_patient for one in protocol.exercises if one.id == start.exercise)
        assert words is not None
        places.append(lines.index(f"{number}. {words.name.upper()}"))
        # Of six exercises what each should feel like would take a third page.
        feel = words.feel if len(starts) <= 5 else ""
        for part in (words.position, words.dose, feel, words.stop):
            assert part in text
        for step, how in enumerate(words.how, start=1):
            assert f"{step}) {how}" in text
    assert places == sorted(places)
    for label in EXERCISE_LABELS:
        shown = 0 if "feel" in label and len(starts) > 5 else len(starts)
        assert sum(line.startswith(label) for line in lines) == shown
    if not starts:
        assert "NO EXERCISES FOR NOW" in lines


@pytest.mark.parametrize(
    "name", [name for name in SESSION_FILES if judged(name)[2].outcome == "refer-first"]
)
def test_refer_first_says_so_before_anything_else_and_starts_nothing(name: str) -> None:
    protocol, session, assessment = judged(name)
    lines = sheet(protocol, session, assessment)
    headings = [line for line in lines if line.isupper()]
    soonest = {
        "now": "NOW: CALL THE EMERGENCY NUMBER",
        "today": "TODAY: SEE A DOCTOR",
        "days": "WITHIN A FEW DAYS: SEE A DOCTOR",
    }
    raised = assessment.cautions[0]
    first = [
        "FIRST: ONE MORE QUESTION" if raised.ask else soonest[raised.urgency],
        *(["YOUR TESTS WERE STOPPED"] if session.stopped else []),
    ]
    expected = [*first, "NO EXERCISES FOR NOW", "ABOUT THIS SHEET"]
    assert headings[: len(expected)] == expected
    text = flat(lines)
    for raised in assessment.cautions:
        asked_again = "Your therapist has one more question for you before you exercise."
        told = asked_again if raised.ask else protocol.caution(raised.id).for_patient
        assert (told or "?") in text
    assert "How to start:" not in text
    assert "Stop the exercises and call us if:" not in lines


def test_a_screen_that_was_stopped_has_no_exercises_and_keeps_the_reason_to_itself() -> None:
    protocol, session, _ = judged("runner-left-hip")
    stopped = session.model_copy(update={"stopped": "fainted after Mr Miller's joke"})
    lines = sheet(protocol, stopped, assess(protocol, stopped))
    assert lines.index("YOUR TESTS WERE STOPPED") < lines.index("NO EXERCISES FOR NOW")
    assert "How to start:" not in flat(lines)
    assert "Miller" not in flat(lines)


def test_which_leg_is_told_and_both_where_both_lead() -> None:
    one = note_assessment()
    assert "The leg to train: left." in sheet(note_protocol(), note_session(), one)
    plan = replace(one.plan, start=tuple(replace(s, both_legs=True) for s in one.plan.start))
    both = note_assessment(plan=plan)
    assert "The legs to train: left and right." in sheet(note_protocol(), note_session(), both)


def test_an_exercise_a_clinic_wrote_no_plain_words_for_is_told_in_its_own() -> None:
    lines = sheet(note_protocol(), note_session(), note_assessment())
    text = flat(lines)
    assert "1. SIDE LIFT" in lines
    for part in ("Lying on the side.", "1) Heel first.", "3 x 8", "Pain above 5 of 10."):
        assert part in text


def test_a_caution_without_plain_words_is_told_by_its_next_step() -> None:
    lines = sheet(note_protocol(), note_session(), refer_first_assessment())
    assert "Refer the same day, by local policy." in lines


def test_limits_are_told_before_the_exercises() -> None:
    session = note_session(
        intake={
            "weight_bearing": "partial",
            "precautions": ["brace", "no-kneeling"],
            "recent_surgery_weeks": 3,
        }
    )
    lines = sheet(note_protocol(), session, note_assessment())
    assert lines.index("YOUR LIMITS") < lines.index("1. SIDE LIFT")
    text = flat(lines)
    for told in ("only part of your weight", "Keep your brace on", "Do not kneel", "surgeon"):
        assert told in text


def test_invented_people_are_marked() -> None:
    told = "This is a demonstration. The person is invented."
    assert told in sheet(note_protocol(), note_session(), note_assessment())
    assert told not in sheet(note_protocol(), note_session(synthetic=False), note_assessment())


def test_the_same_session_gives_the_same_sheet() -> None:
    asked = note_protocol(), note_session(), note_assessment()
    assert write_patient_sheet(*asked) == write_patient_sheet(*asked)
    assert write_patient_html(*asked, DRAWINGS) == write_patient_html(*asked, DRAWINGS)


def test_the_ascii_form_spells_what_the_other_keeps() -> None:
    protocol = with_words(name="\u00dcbung f\u00fcr 5\u00b0")
    plain = write_patient_sheet(protocol, note_session(), note_assessment())
    assert "\u00dcBUNG F\u00dcR 5\u00b0" in plain
    folded = write_patient_sheet(protocol, note_session(), note_assessment(), ascii_only=True)
    assert "1. UBUNG FUR 5 DEG" in folded
    assert folded.isascii()


def with_words(**words: str) -> ScreenProtocol:
    """The small protocol with some plain words for its exercise."""
    data = note_protocol().model_dump()
    base = dict.fromkeys(("name", "position", "dose", "feel", "stop"), "Words.") | words
    data["exercises"][0]["for_patient"] = base | {"how": (words.get("name", "Words."),)}
    return ScreenProtocol.model_validate(data)


class Page(HTMLParser):
    """The tags, attributes and texts of a page."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.open: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in ("meta", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


ALLOWED = {
    "html", "head", "meta", "title", "style", "body", "section", "h1", "h2", "p", "ol", "ul", "li",
    "strong",
}  # fmt: skip
IN_DRAWINGS = {"svg", "title", "polyline", "polygon", "circle"}
DRAWING = re.compile(r"<svg .*?</svg>\n")


@pytest.mark.parametrize("name", SESSION_FILES)
def test_the_page_says_what_the_text_says_and_asks_for_nothing(name: str) -> None:
    protocol, session, assessment = judged(name)
    html = write_patient_html(protocol, session, assessment, DRAWINGS)
    page = Page(html)
    assert page.open == []
    assert {tag for tag, _ in page.tags} <= ALLOWED | IN_DRAWINGS
    attributes = {
        attribute for tag, given in page.tags if tag not in IN_DRAWINGS for attribute in given
    }
    assert attributes <= {"lang", "charset", "name", "content", "http-equiv"}
    for asking in ("http:", "https:", "url(", "@import", "javascript", "<script", "src="):
        assert asking not in html
    said = "".join(" ".join(page.texts).split()).lower()
    for line in sheet(protocol, session, assessment):
        words = line.strip().removeprefix("- ")
        if words[:1].isdigit() and words[1:3] == ") ":
            words = words[3:]
        assert "".join(words.split()).lower() in said, line


@pytest.mark.parametrize("name", SESSION_FILES)
def test_each_exercise_has_its_drawing_and_the_words_stay_as_they_are(name: str) -> None:
    protocol, session, assessment = judged(name)
    html = write_patient_html(protocol, session, assessment, DRAWINGS)
    assert len(DRAWING.findall(html)) == len(assessment.plan.start)
    assert DRAWING.sub("", html) == write_patient_html(protocol, session, assessment, {})


def test_the_drawing_is_of_the_leg_to_train() -> None:
    protocol, session, assessment = judged("01-quad-lag-right")
    (first, *_) = assessment.plan.start
    drawn = set()
    for side in ("left", "right"):
        plan = replace(assessment.plan, start=(replace(first, side=side),))
        one_sided = replace(assessment, plan=plan, leading=())
        html = write_patient_html(protocol, session, one_sided, DRAWINGS)
        assert f"The leg to train: {side}." in html
        drawn |= set(DRAWING.findall(html))
    assert len(drawn) == 2


hostile = st.sampled_from(
    [
        "<script>alert(1)</script>",
        "</style><script>x</script>",
        '" onload="x',
        "&lt;b&gt; & <b>",
        "]]> <!-- -->",
        "{title} {0} %s",
    ]
) | st.text(possible_letters(), min_size=1, max_size=60)


@settings(max_examples=examples(60))
@given(hostile, hostile)
def test_whatever_a_file_holds_is_text_on_the_page(name: str, stop: str) -> None:
    protocol = with_words(name=name, stop=stop)
    html = write_patient_html(protocol, note_session(), note_assessment(), {})
    page = Page(html)
    assert page.open == []
    assert {tag for tag, _ in page.tags} <= ALLOWED
    assert f"1. {name}" in page.texts
    assert [tag for tag, _ in page.tags].count("style") == 1


@settings(max_examples=examples(60))
@given(hostile)
def test_whatever_a_file_holds_the_text_stays_in_its_columns(words: str) -> None:
    protocol = with_words(name=words, stop=(words * 20)[:600])
    for ascii_only in (False, True):
        text = write_patient_sheet(
            protocol, note_session(), note_assessment(), ascii_only=ascii_only
        )
        assert max(map(cell_len, text.split("\n"))) <= MOST_COLUMNS
        assert text.isascii() or not ascii_only


@pytest.mark.parametrize(
    ("name", "points"), [("runner-left-hip", 14), ("frail-81-balance-or-stamina", 12)]
)
def test_paper_is_in_large_type_where_two_sheets_hold_it(name: str, points: int) -> None:
    protocol, session, assessment = judged(name)
    assert (len(assessment.plan.start) <= 3) is (points == 14)
    assert f"body {{ font: {points}pt" in write_patient_html(protocol, session, assessment)
