"""A student is told how it went, what could have hurt first, in plain lines."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from support.practice_case import PROTOCOL
from support.students import (
    perfect_commitment,
    perfect_session,
    sloppy_commitment,
    sloppy_session,
    thorough_interview,
)

from screen_tui.practice.case import Case
from screen_tui.practice.casefile import load_cases
from screen_tui.practice.debrief import debrief, driver_words
from screen_tui.practice.interview import Interview
from screen_tui.practice.scoring import score
from screen_tui.resources import practice_cases_folder

CASES = {
    found.case.id: found.case
    for found in load_cases(practice_cases_folder(), PROTOCOL)
    if found.case
}
every_case = pytest.mark.parametrize("case", CASES.values(), ids=list(CASES))


def told(case: Case, *, sloppy: bool) -> dict[str, str]:
    session = (sloppy_session if sloppy else perfect_session)(case, PROTOCOL, 2)
    commit: Callable[[Case], object] = sloppy_commitment if sloppy else perfect_commitment
    commitment = commit(case)
    interview = Interview(case) if sloppy else thorough_interview(case)
    found = score(case, PROTOCOL, 2, session, commitment, interview)  # type: ignore[arg-type]
    sections = debrief(case, PROTOCOL, commitment, found)  # type: ignore[arg-type]
    return {section.title: "\n".join(section.lines) for section in sections}


@every_case
@pytest.mark.parametrize("sloppy", [False, True])
def test_every_section_says_something_in_plain_sentences(case: Case, sloppy: bool) -> None:
    for title, text in told(case, sloppy=sloppy).items():
        assert text, title
        for line in text.splitlines():
            assert line[-1] in ".!?)", line
            assert line.isprintable()


@every_case
def test_a_perfect_run_is_praised_for_what_it_is(case: Case) -> None:
    text = told(case, sloppy=False)
    assert "Missed" not in text["Safety"] + text["Signs"]
    assert text["Questions"] == "Every answer was ticked as it was meant."
    assert "It is the same as the author." in text["Answer"]
    if case.truth.outcome == "refer-first":
        assert text["Safety"].startswith("Rightly referred first.")


def test_a_missed_referral_stands_first_and_says_what_was_left_unasked() -> None:
    text = told(CASES["back-from-far-away"], sloppy=True)
    assert text["Safety"].startswith("This person had to be referred first, and was not.")
    assert "Missed: Clot in a deep vein." in text["Safety"]
    assert "Begun and should not have been: Quad set, left. Refer first" in text["Safety"]
    assert (
        "Left unasked: clot. There was more: Well, yes, that calf is thicker."
        in (text["Questions"])
    )


def test_figures_come_with_their_limits() -> None:
    text = told(CASES["hill-runner"], sloppy=True)
    assert "Times: " in text["Timing"]
    assert "95 % limits +" in text["Timing"]
    assert "kappa -" in text["Signs"]
    assert "Missed: Pelvis drops (Step-down, left), 2 times." in text["Signs"]
    assert "Brier score 0.81" in text["Answer"]
    assert "Hip control (left)" in text["The author"]


def test_where_author_and_engine_differ_the_reason_is_told() -> None:
    text = told(CASES["armchair-short-visit"], sloppy=False)
    assert "Why it differs from the author: Everything" in text["The engine"]


def test_drivers_are_named_with_their_sides() -> None:
    case = CASES["dancer-on-landing"]
    assert driver_words(PROTOCOL, case.truth.drivers) == (
        "Hip control (right) and Foot and ankle control (right)"
    )
    assert driver_words(PROTOCOL, ()) == "no driver"
