"""What is seen of the answer without a key being pressed, from the smallest window on."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta

import pytest
from support.every_session import SESSION_FILES, judged

from screen_tui.engine.assess import assess
from screen_tui.engine.results import Assessment, DriverResult
from screen_tui.files.places import demo_folder
from screen_tui.report.answer import (
    MOST_SUGGESTED,
    VERDICTS,
    by_test,
    details_document,
    drivers_in_full,
    telling,
)
from screen_tui.report.document import Document
from screen_tui.report.visits import changes_in_short
from screen_tui.report.words import driver_on, short_on
from screen_tui.session.file import load_session
from screen_tui.session.model import Session
from screen_tui.tui.drawing.document import draw_answer, draw_document
from screen_tui.tui.drawing.rows import plain, row_cells

# Windows of 60x20, 80x24 and 120x40, less the head and two rows of keys.
SIZES = [(58, 17), (78, 21), (118, 37)]
every_session = pytest.mark.parametrize("name", SESSION_FILES)
every_size = pytest.mark.parametrize(("width", "height"), SIZES)


def flat(text: str) -> str:
    return " ".join(text.split())


def page(session: Session, assessment: Assessment, width: int = 78, height: int = 21) -> str:
    protocol, _, _ = judged("runner-left-hip")
    return plain(draw_answer(protocol, session, assessment, width, height))


def drawn(document: Document) -> str:
    protocol, _, _ = judged("runner-left-hip")
    return flat(plain(draw_document(protocol, document, 78)))


def tagged(text: str, tag: str) -> str:
    """What is beside a tag in the margin."""
    lines = text.split("\n")
    at = next((at for at, line in enumerate(lines) if line.startswith(f"{tag} ")), None)
    if at is None:
        return ""
    end = next((n for n in range(at + 1, len(lines)) if lines[n][:1].strip()), len(lines))
    return flat(" ".join([lines[at].removeprefix(tag), *lines[at + 1 : end]]))


@every_size
@every_session
def test_all_that_decides_is_on_one_page(name: str, width: int, height: int) -> None:
    protocol, session, assessment = judged(name)
    rows = draw_answer(protocol, session, assessment, width, height)
    text = plain(rows)
    assert len(rows) <= height
    assert max(map(row_cells, rows)) <= width
    first = text.startswith("TESTING STOPPED") and assessment.outcome != "refer-first"
    assert text.startswith(VERDICTS[assessment.outcome]) or first
    for driver in assessment.leading:
        assert driver_on(protocol, driver.driver, driver.side) in flat(text)
    for driver in drivers_in_full(assessment)[:1]:
        strongest = by_test(telling(driver.speaks_for))[0][0]
        assert short_on(protocol, strongest.test, strongest.side) in tagged(text, "For")
        assert tagged(text, "Against")
    for digit in range(1, min(len(assessment.next_tests), MOST_SUGGESTED) + 1):
        assert re.search(rf"^(Next| {{4}}) .* {digit}  ", text, re.MULTILINE)
    assert tagged(text, "Start")


@every_session
def test_a_referral_looks_like_one(name: str) -> None:
    _, session, assessment = judged(name)
    text = page(session, assessment)
    assert text.startswith("REFER FIRST") is (assessment.outcome == "refer-first")
    if assessment.outcome != "refer-first":
        return
    assert "=" not in text  # no ranking
    for caution in assessment.cautions:
        assert caution.name in text
    assert "Next step: " in text
    assert tagged(text, "Start") == "nothing; refer first"


def test_three_reasons_one_against_and_what_a_cue_changed_behind_the_cue() -> None:
    _, session, assessment = judged("runner-left-hip")
    text = page(session, assessment)
    assert "Single-leg stance, left: pelvic drop, trunk lean Step-down, left:" in tagged(
        text, "For"
    )
    assert "with the cue pelvis level: pain eased, knee valgus gone" in tagged(text, "For")
    none = replace(assessment, leading=(replace(assessment.leading[0], speaks_against=()),))
    assert tagged(page(session, none), "Against") == "nothing found"


def test_of_several_drivers_each_has_its_reasons_under_its_name() -> None:
    _, session, assessment = judged("frail-81-balance-or-stamina")
    reasons = tagged(page(session, assessment), "For")
    assert reasons.startswith("Balance Timed up and go: unsteady Tandem stance: unsteady ")
    assert "Deconditioning 30 s chair stand: rises slow down" in reasons


def test_the_ranking_has_words_beside_its_bars() -> None:
    _, session, assessment = judged("four-weeks-after-bone-surgery-left")
    text = page(session, assessment)
    assert re.search(r"^Quadriceps weakness, left +=+-*  likely$", text, re.MULTILINE)
    # Common in such a person, and no test showed it.
    assert re.search(r"^Missing knee extension, left +=+-+  not shown$", text, re.MULTILINE)


def test_what_was_not_tested_where_it_hurts_is_there_with_its_reason() -> None:
    _, session, assessment = judged("unsteady-at-home-88")
    missing = tagged(page(session, assessment, 118, 37), "Not done")
    assert missing.startswith("on the right: ")
    assert "Single-leg stance (Tandem stance was short" in missing
    assert "on the left" not in missing


def test_precautions_say_what_to_heed_without_what_made_them_arise() -> None:
    _, session, assessment = judged("unsteady-at-home-88")
    heeded = tagged(page(session, assessment, 118, 37), "Caution")
    assert "Fall risk: standing balance work only at a rail" in heeded
    assert "tandem stance under 10 s" not in heeded


def test_the_first_line_of_the_plan_says_how_many_more_there_are() -> None:
    _, session, assessment = judged("runner-left-hip")
    start = tagged(page(session, assessment), "Start")
    assert start.startswith("One-leg stance with the pelvis level: 5 holds of 10 s")
    assert start.endswith("(+ 1 more)")


def elsewhere(driver: DriverResult) -> DriverResult:
    return replace(driver, side="right", standing="possible")


def test_what_is_seen_on_the_leg_without_complaint_is_said_to_be_there() -> None:
    _, session, assessment = judged("runner-left-hip")
    found = replace(assessment, drivers=(*assessment.drivers, elsewhere(assessment.drivers[0])))
    text = flat(page(session, found))
    assert "On the leg without complaint: Hip control, right (possible)" in text


def test_an_answer_about_the_leg_without_complaint_says_so() -> None:
    _, session, assessment = judged("runner-left-hip")
    other = session.model_copy(
        update={"intake": session.intake.model_copy(update={"side": "right"})}
    )
    for width, height in SIZES:
        text = flat(page(other, assessment, width, height))
        assert text.startswith("LIKELY Hip control, left")
        assert "It is on the leg without complaint" in text


def test_a_stop_comes_before_everything_suggests_no_test_and_says_why() -> None:
    protocol, session, _ = judged("runner-left-hip")
    stopped = session.model_copy(update={"stopped": "The patient wants to stop."})
    text = page(stopped, assess(protocol, stopped))
    assert text.startswith("TESTING STOPPED The patient wants to stop.\n")
    assert tagged(text, "Next") == "no further test, because testing was stopped"
    assert tagged(text, "Start") == "nothing; testing was stopped"


def test_a_referral_comes_before_the_reason_of_a_stop() -> None:
    _, session, assessment = judged("81-refer-chest-on-stairs")
    text = page(session, assessment)
    assert text.index("REFER FIRST") < text.index("TESTING STOPPED chest tightness")


@pytest.mark.parametrize("later", ["week-6", "week-12"])
@every_size
def test_a_retest_opens_with_what_changed(later: str, width: int, height: int) -> None:
    protocol, first, _ = judged("tired-after-a-winter-indoors")
    name = f"tired-after-a-winter-indoors-{later}.toml"
    session = load_session(demo_folder() / "visits" / name)
    changed = changes_in_short(protocol, (first,), session, beyond=True)
    rows = draw_answer(protocol, session, assess(protocol, session), width, height, changed)
    assert len(rows) <= height
    opening = flat(plain(rows)).split(VERDICTS[assess(protocol, session).outcome])[0]
    assert opening.startswith("Change Better: 4 m walk 0.76 to ")
    assert "Not marked now: Timed up and go: hands used" in opening
    assert "Worst pain in testing: 2 then, " in opening


def test_where_nothing_changed_beyond_error_that_is_said() -> None:
    protocol, session, _ = judged("hill-walker-nothing-found")
    later = session.model_copy(
        update={"id": "later", "started": session.started + timedelta(weeks=4)}
    )
    line, pain = changes_in_short(protocol, (session,), later, beyond=True)
    assert line.text == "Change since 2026-03-05: nothing beyond error"
    assert pain.text == "0 then, 0 now, of 10"
    assert changes_in_short(protocol, (), later, beyond=True) == []


def test_left_and_right_are_beside_each_other_with_their_cut_off() -> None:
    protocol, session, assessment = judged("four-weeks-after-bone-surgery-left")
    text = plain(draw_document(protocol, details_document(protocol, session, assessment), 98))
    assert re.search(
        r"^Knee extension: Extension lag +10 deg, worse +0 deg, meets +less than 5 deg$",
        text,
        re.MULTILINE,
    )


def test_what_moved_the_answer_is_one_line_a_test() -> None:
    protocol, session, assessment = judged("runner-left-hip")
    text = drawn(details_document(protocol, session, assessment))
    assert "Step-down: Hip control, left from possible to likely" in text


def test_tests_not_offered_are_in_the_details_with_their_reasons() -> None:
    protocol, session, assessment = judged("runner-left-hip")
    text = drawn(details_document(protocol, session, assessment))
    assert "Straight-leg raise, both sides: not offered: No lag and full load allowed" in text
    assert "Rise from the floor: not offered: meant for the goal floor" in text
