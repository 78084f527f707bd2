"""What must be seen of a result without a key being pressed, from the smallest window on."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from screen_tui.engine.assess import assess
from screen_tui.engine.results import Assessment, DriverResult
from screen_tui.files.places import demo_folder, protocols_folder
from screen_tui.protocol.loader import load_protocol
from screen_tui.report.facts import NEXT_TESTS, by_test, telling
from screen_tui.report.words import seen_words
from screen_tui.session.file import load_session
from screen_tui.session.model import Session
from screen_tui.tui.drawing.result import OUTCOME_WORDS, draw_answer, draw_results
from screen_tui.tui.drawing.rows import Row, plain, row_cells
from screen_tui.tui.drawing.words import driver_name

PROTOCOL = load_protocol([protocols_folder()])
DEMOS = sorted(demo_folder().glob("*.toml"))
# 20 rows of 60 less the head and two rows of keys.
SMALLEST = (58, 17)
every_demo = pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)


def read(path: Path) -> tuple[Session, Assessment]:
    session = load_session(path)
    return session, assess(PROTOCOL, session)


def demo(name: str) -> tuple[Session, Assessment]:
    return read(demo_folder() / f"{name}.toml")


def flat(text: str) -> str:
    return " ".join(text.split())


def first_page(session: Session, assessment: Assessment) -> str:
    rows = draw_answer(PROTOCOL, session, assessment, *SMALLEST)
    return flat(plain(rows[: SMALLEST[1]]))


def must_be_seen(assessment: Assessment) -> list[str]:
    parts = [OUTCOME_WORDS[assessment.outcome]]
    for driver in assessment.leading:
        parts.append(driver_name(PROTOCOL, driver).upper())
        for findings in (driver.speaks_for, driver.speaks_against):
            parts += [flat(one.words) for one in telling(findings)[:1]]
    return parts


def contested(driver: DriverResult, words: str) -> DriverResult:
    """The driver with a finding against it, seen in pain."""
    finding = replace(driver.speaks_for[0], words=words, factor=0.15, in_pain=True)
    return replace(driver, speaks_against=(finding,))


@every_demo
def test_the_smallest_window_shows_answer_side_and_the_strongest_reasons(path: Path) -> None:
    session, assessment = read(path)
    page = first_page(session, assessment)
    ranked = [f"{driver_name(PROTOCOL, driver)} =" for driver in assessment.leading]
    missing = [part for part in (*must_be_seen(assessment), *ranked) if part not in page]
    assert missing == []


@every_demo
def test_at_80_by_24_all_that_speaks_for_it_is_seen_up_to_three_tests(path: Path) -> None:
    session, assessment = read(path)
    rows = draw_answer(PROTOCOL, session, assessment, 78, 22)
    page = flat(plain(rows[:22]))
    for driver in assessment.leading[:1]:
        for found in by_test(telling(driver.speaks_for))[:3]:
            assert seen_words(found) in page


LONG = "Slow to rise, to walk and to turn, which here speaks of caution rather than of weakness."


# Under a stop, two drivers need more rows than there are.
CONTESTED = [
    (path, stopped)
    for path in DEMOS
    for stopped in ("", "Chest pain, faintness or dizziness.")
    if not (stopped and path.stem == "frail-81-balance-or-stamina")
]


@pytest.mark.parametrize(
    ("path", "stopped"), CONTESTED, ids=[f"{path.stem}-{stop[:5]}" for path, stop in CONTESTED]
)
def test_so_it_does_when_something_speaks_against_and_when_the_screen_was_stopped(
    path: Path, stopped: str
) -> None:
    session, assessment = read(path)
    leading = tuple(contested(driver, LONG) for driver in assessment.leading)
    assessment = replace(assessment, leading=leading)
    session = session.model_copy(update={"stopped": stopped})
    page = first_page(session, assessment)
    assert [part for part in must_be_seen(assessment) if part not in page] == []
    assert "SCREEN STOPPED" in page or not stopped


def test_what_has_no_room_in_front_is_told_in_full_behind() -> None:
    session, assessment = demo("frail-81-balance-or-stamina")
    leading = tuple(contested(driver, LONG) for driver in assessment.leading)
    rows = draw_answer(PROTOCOL, session, replace(assessment, leading=leading), *SMALLEST)
    _, _, behind = flat(plain(rows)).partition("More on ")
    assert f"{LONG} (moderate, seen in pain; " in behind
    for driver in leading:
        for one in telling(driver.speaks_for):
            assert flat(one.words) in behind


def test_what_one_test_showed_is_one_reason_and_what_a_cue_changed_stands_behind_the_cue() -> None:
    page = first_page(*demo("runner-left-hip"))
    assert "+ Single-leg stance, left: pelvic drop, trunk lean +" in page
    assert "; with the cue pelvis level: pain eased, knee valgus gone ──" in page


def test_a_driver_that_is_common_and_that_no_test_showed_is_not_shown() -> None:
    page = first_page(*demo("four-weeks-after-bone-surgery-left"))
    assert re.search(r"Missing knee extension, left +=+-+ not shown", page)


def test_what_was_not_tested_where_it_hurts_and_what_to_heed_come_before_the_next_test() -> None:
    session, assessment = demo("unsteady-at-home-88")
    text = flat(plain(draw_answer(PROTOCOL, session, assessment, 78, 22)))
    reasons, not_tested, heeded, suggested = (
        text.index(label)
        for label in (
            "Speaks for",
            "Not tested on the right: ",
            "Precaution: Fall risk",
            NEXT_TESTS,
        )
    )
    assert reasons < not_tested < heeded < suggested
    assert "Single-leg stance; " in text[not_tested:heeded]
    assert "Not tested on the left" not in text


def test_what_moved_the_ranking_is_one_line_a_test() -> None:
    session, assessment = demo("runner-left-hip")
    text = flat(plain(draw_answer(PROTOCOL, session, assessment, 78, 22)))
    moved = text.partition("What moved it")[2].partition("More on")[0]
    assert "Step-down: Hip control, left from possible to likely" in moved


def column(rows: list[Row], left: int, right: int) -> str:
    """What stands between two columns of the page."""
    return flat("\n".join(line[left:right] for line in plain(rows).split("\n")))


def test_in_a_wide_window_for_and_against_stand_side_by_side() -> None:
    session, assessment = demo("runner-left-hip")
    assessment = replace(assessment, leading=(contested(assessment.leading[0], LONG),))
    wide = draw_answer(PROTOCOL, session, assessment, 98, 38)[:16]
    head = next(line for line in plain(wide).split("\n") if "Speaks for" in line)
    assert head.index("Speaks against") == 53
    assert max(map(row_cells, wide)) <= 98
    # Two columns of 48 with 2 between.
    assert "+ Single-leg stance, left: pelvic drop, trunk" in column(wide, 0, 48)
    assert LONG in column(wide, 50, 98)
    assert LONG not in column(wide, 0, 48)
    narrower = plain(draw_answer(PROTOCOL, session, assessment, 97, 38)).split("\n")
    assert not any("Speaks for" in line and "Speaks against" in line for line in narrower)


def result_rows(name: str, width: int) -> list[str]:
    _, assessment = demo(name)
    return plain(draw_results(PROTOCOL, assessment.results, width)).split("\n")


def test_each_result_is_a_row_with_its_bar_and_words_and_both_sides_share_a_scale() -> None:
    rows = result_rows("four-weeks-after-bone-surgery-left", 78)
    at = rows.index("Knee extension: Extension lag")
    # 10 deg and 0 deg against less than 5, error 1.77; 0 to 10 on 28 cells, 0.37 deg from one to
    # the next: the line is 13.5 steps on, the band goes from 8.7 to 18.3.
    assert rows[at + 1 : at + 3] == [
        "  left    10 deg  0 ---------=====|====........O 10  worse than the cut-off",
        "  right    0 deg  0 O--------=====|====......... 10  meets the cut-off",
    ]


def test_a_near_result_says_on_which_side_and_within_which_error() -> None:
    rows = result_rows("frail-81-balance-or-stamina", 78)
    at = rows.index("4 m walk")
    assert rows[at + 1].endswith("near, on its worse side")
    assert "|" in rows[at + 1]
    text = flat("\n".join(rows[at:]))
    assert "near the cut-off, on its worse side (within 0.086 m/s, the measurement error)" in text


def test_a_result_that_is_not_judged_has_no_line_and_says_why() -> None:
    rows = result_rows("runner-left-hip", 78)
    at = rows.index("Stair steps: Time up")
    assert rows[at + 1].endswith("not judged")
    assert "O" in rows[at + 1]
    assert not set("|=") & set(rows[at + 1])
    assert (
        "  not judged: no agreed norm: stairs and methods differ too much" in rows[at + 2 : at + 4]
    )


def test_a_floor_that_is_met_is_drawn_and_says_nothing() -> None:
    rows = result_rows("runner-left-hip", 78)
    at = rows.index("4 m walk")
    assert rows[at + 1].endswith("not judged")
    assert "|" in rows[at + 1]
    assert "not judged: a floor: meeting it says nothing" in flat("\n".join(rows[at + 2 : at + 8]))


def test_the_legend_stands_once_and_only_where_a_line_is_drawn() -> None:
    told = flat("\n".join(result_rows("runner-left-hip", 58)))
    assert told.count("O value, | cut-off") == 1
    _, assessment = demo("runner-left-hip")
    unjudged = [result for result in assessment.results if result.line is None]
    assert "O value" not in plain(draw_results(PROTOCOL, unjudged, 58))


WORDS = {
    "meets": ["meets the cut-off"],
    "near the line": ["near, on its worse side", "near, on its better side"],
    "short of the line": ["worse than the cut-off"],
    "not judged": ["not judged"],
}


@every_demo
def test_words_beside_the_bars_say_the_same_without_them(path: Path) -> None:
    _, assessment = read(path)
    rows = plain(draw_results(PROTOCOL, assessment.results, 118)).split("\n")
    told = [row for row in rows if re.match(r"  (left|right|     ) ", row)]
    assert len(told) == len(assessment.results)
    for standing, words in WORDS.items():
        expected = [result for result in assessment.results if result.standing == standing]
        assert sum(row.endswith(tuple(words)) for row in told) == len(expected)


def test_a_screen_that_was_stopped_suggests_no_test_and_says_why() -> None:
    session, assessment = demo("runner-left-hip")
    session = session.model_copy(update={"stopped": "The patient wants to stop."})
    text = flat(plain(draw_answer(PROTOCOL, session, assess(PROTOCOL, session), 78, 22)))
    assert "no further test is suggested, because the screen was stopped." in text
    assert "would move the ranking" not in text
    assert assessment.next_tests
