"""The note: short enough to paste, in SOAP order; everything else is in its appendix."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.every_session import SESSION_FILES, judged, shipped_protocol
from support.hostile import as_label, possible_letters
from support.many_trials import KINDS, many_trials
from support.note_case import (
    WRITTEN,
    driver,
    finding,
    note_assessment,
    note_protocol,
    note_session,
    refer_first_assessment,
    result,
)
from support.small_protocol import protocol, test_spec
from support.thorough import examples

from screen_tui import __version__
from screen_tui.engine import assess
from screen_tui.engine.results import Assessment, Plan
from screen_tui.report.answer import answer_document
from screen_tui.report.layout import PAPER, write_text
from screen_tui.report.note import MOST_LINES, write_note
from screen_tui.session.model import Cleared, Session, Trial

GOLDEN = Path(__file__).parent / "golden"


def note(session: Session | None = None, assessment: Assessment | None = None, **more: Any) -> str:
    return write_note(
        note_protocol(),
        session or note_session(),
        assessment or note_assessment(),
        WRITTEN,
        **more,
    )


def in_full(session: Session | None = None, assessment: Assessment | None = None) -> str:
    return note(session, assessment, full=True)


def flat(text: str) -> str:
    """The note without its line breaks, to look for sentences in."""
    return " ".join(text.split())


def block(text: str, heading: str) -> str:
    """What is under a heading in capitals, up to the next."""
    after = text.split(f"\n{heading}\n", 1)[1]
    return re.split(r"\n\n(?=[A-Z0-9][A-Z0-9:, -]+\n)", after, maxsplit=1)[0]


def part(text: str, letter: str) -> str:
    """One of S, O, A and P."""
    after = re.split(rf"^{letter} ", text, maxsplit=1, flags=re.MULTILINE)[1]
    return re.split(r"^[A-Z] |^Appendix", after, maxsplit=1, flags=re.MULTILINE)[0]


@pytest.mark.parametrize("full", [False, True])
def test_the_whole_note_reads_as_agreed(full: bool) -> None:
    golden = GOLDEN / ("note-full.txt" if full else "note.txt")
    settled = note(full=full).replace(f"screen-tui {__version__}", "screen-tui 0.0.0")
    assert settled == golden.read_text(encoding="ascii")


def test_between_which_drivers_several_next_tests_decide_is_said_once() -> None:
    (one,) = note_assessment().next_tests
    other = replace(one, test="stance", cue="")
    further = replace(one, test="walk", cue="", between=(("hip-control", "left"),))
    several = note_assessment(next_tests=(one, other, further))
    page = answer_document(note_protocol(), note_session(), several)
    for text in (write_text(page), block(in_full(assessment=several), "MOST USEFUL NEXT TESTS")):
        assert flat(text).count("hip control or foot ankle control?") == 1
        assert "stance, left (0.5 min): the same" in flat(text)
        assert "walk, left (0.5 min): hip control?" in flat(text)


def test_the_same_session_gives_the_same_note() -> None:
    assert note() == note()


# ------------------------------------------------------------------ short and plain


def fits(text: str) -> bool:
    lines = text.removesuffix("\n").split("\n")
    return len(lines) <= MOST_LINES and max(map(len, lines)) <= PAPER


@pytest.mark.parametrize("name", SESSION_FILES)
def test_the_note_of_every_session_is_short_and_whole(name: str) -> None:
    protocol, session, assessment = judged(name)
    text = write_note(protocol, session, assessment, WRITTEN)
    assert fits(text)
    for one in assessment.plan.start:
        assert f"{one.name}" in flat(part(text, "P"))
    for one in assessment.cautions:
        assert one.name in flat(part(text, "A"))
        assert flat(one.next_step) in flat(part(text, "A"))
    tests = {trial.test for trial in session.trials}
    assert [one for one in tests if protocol.test(one).short_name not in flat(text)] == []


@pytest.mark.parametrize("name", SESSION_FILES)
def test_nothing_of_the_program_s_own_workings_is_in_the_record(name: str) -> None:
    protocol, session, assessment = judged(name)
    text = flat(write_note(protocol, session, assessment, WRITTEN, full=True)).lower()
    for banned in ("from memory", "authors not", "sha256", "likelihood", " odds "):
        assert banned not in text


@pytest.mark.parametrize("kind", KINDS)
def test_the_note_of_two_hundred_trials_is_short(kind: str) -> None:
    session = many_trials(kind, 200)
    shipped = shipped_protocol()
    assert fits(write_note(shipped, session, assess(shipped, session), WRITTEN))


def one_test(**trial: Any) -> str:
    base = {"test": "single-leg-stance", "side": "left", "value": 6.2}
    session = note_session(protocol="chairside-knee", trials=[base | trial], skipped=[], follows="")
    return write_note(shipped_protocol(), session, assess(shipped_protocol(), session), WRITTEN)


def test_a_stopped_note_keeps_its_remarks_whatever_the_reason_says() -> None:
    shipped = shipped_protocol()
    too_long = {"test": "single-leg-stance", "side": "left", "value": 60.0}
    session = note_session(
        protocol="chairside-knee", trials=[too_long], skipped=[], follows="", stopped="stance"
    )
    text = flat(write_note(shipped, session, assess(shipped, session), WRITTEN))
    assert "Remarks: Trial 1 (Single-leg stance, left) was not used" in text
    assert "stopped before its end" not in text


def test_a_single_trial_gives_a_single_row() -> None:
    text = one_test()
    assert fits(text)
    assert "Single-leg stance  6.2, worse than 10.0 s (warning)" in text
    assert part(text, "O").split("Not done")[0].strip().count("\n") == 1


def test_trials_that_are_all_void_are_named_with_their_reason_and_give_no_number() -> None:
    text = one_test(void="false start")
    assert fits(text)
    assert "Single-leg stance  void (false start)" in text
    assert "6.2" not in text


def test_a_session_of_another_test_set_is_read_with_a_remark() -> None:
    session = note_session(protocol="another-set")
    text = write_note(note_protocol(), session, assess(note_protocol(), session), WRITTEN)
    assert fits(text)
    assert "Remarks: The session was made with the" in flat(part(text, "O"))


words = st.text(possible_letters(), min_size=1, max_size=40)


@settings(max_examples=examples(60))
@given(words.map(as_label), words, words, words, st.floats(0, 3600), st.integers(5, 110))
def test_whatever_was_typed_the_note_is_plain_and_short(
    label: str, said: str, ended: str, reason: str, value: float, age: int
) -> None:
    long = (said * 400)[:400]
    session = note_session(
        client={"label": label, "age": age},
        intake={"note": long},
        stopped=reason,
        trials=[
            {
                "test": "stance",
                "side": "left",
                "value": value,
                "ended": ended,
                "void": reason,
                "note": long,
            }
        ],
        skipped=[{"test": "rises", "reason": long}],
        # Blanks alone are no text, and are refused.
        addenda=[{"written": WRITTEN, "reason": long, "text": long}] if said.strip() else [],
    )
    assert fits(note(session))
    text = in_full(session)
    assert all(character == "\n" or " " <= character <= "~" for character in text)
    lines = text.split("\n")
    assert max(len(line) for line in lines) <= PAPER
    assert all(line == line.rstrip() for line in lines)
    assert text.endswith("\n")
    assert not text.endswith("\n\n")


def test_what_is_cut_in_the_short_note_is_whole_in_the_full_one() -> None:
    words = "The knee aches after the stairs. " * 12
    session = note_session(intake={"note": words.strip()})
    assert flat(words) in flat(in_full(session))
    assert fits(note(session))


# ------------------------------------------------------------------ the parts


def test_the_head_says_what_it_is_for_whom_and_when() -> None:
    head = note().split("\nS ")[0]
    assert head.startswith("Knee note - draft, not signed\n")
    for words in (
        "K-014, 67 years, female, 164 cm; 2026-03-02 09:15; 26 min\n",
        "Invented demonstration data: this is not a real person.",
    ):
        assert words in head


def test_only_invented_people_are_called_invented() -> None:
    assert "Invented demonstration" not in note(note_session(synthetic=False))


def test_none_is_none_and_what_was_not_asked_is_not_asked() -> None:
    asked = flat(part(note(note_session(intake={"side": "left"})), "S"))
    assert "Complaint: none named (left); goals: none" in asked
    assert "weight-bearing full; no surgery" in asked
    assert "Safety questions: no to all 1" in asked
    begun = note_session(trials=[], skipped=[], finished=None)
    unasked = flat(part(note(begun, note_assessment(results=(), not_done=())), "S"))
    assert "surgery not asked" in unasked
    assert "Safety questions: not asked: Possible clot" in unasked


def test_safety_questions_that_are_no_plain_no_are_named() -> None:
    yes = note_session(intake={"cautions": ["clot", "gone-since"]})
    text = note(yes, refer_first_assessment())
    assert "Safety questions: yes: Possible clot, gone since" in flat(part(text, "S"))
    listed = block(in_full(yes, refer_first_assessment()), "SAFETY QUESTIONS")
    assert "Possible clot: yes\n" in listed
    assert "gone since: yes (a question this test set does not have)" in listed


def test_left_and_right_are_beside_each_other_with_the_worst_sign_and_pain() -> None:
    rows = flat(part(note(), "O"))
    assert "stance 6.2, worse than 10.0 s, pelvis drops, pain 3 >= 45.0 s" in rows
    assert "rises both: 14.8, worse than 14.0 s (warning) [unverified], hands used" in rows
    assert "step-down pelvis drops, pain 6" in rows
    assert "1.0 s" not in rows  # a void trial


def test_every_sign_is_named_the_one_seen_most_often_first() -> None:
    trial = {
        "test": "stance",
        "side": "left",
        "value": 6.2,
        "signs": ["unsteady", "pelvis-drops"],
        "sign_counts": {"pelvis-drops": 4},
    }
    assert "pelvis drops x4, unsteady" in flat(part(note(note_session(trials=[trial])), "O"))


def test_surgery_and_limits_are_never_cut_however_long_the_note() -> None:
    protocol, session, assessment = judged("frail-81-balance-or-stamina")
    text = write_note(protocol, session, assessment, WRITTEN)
    assert "Limits: weight-bearing as tolerated, one leg not confirmed; no surgery" in flat(text)
    assert "..." in text


def test_a_number_worked_out_from_another_stands_behind_it_with_its_name() -> None:
    protocol, session, _ = judged("hill-walker-nothing-found")
    bends = [
        Trial(test="knee-flexion", side=side, value=value)
        for side, value in (("left", 72), ("right", 128))
    ]
    session = session.model_copy(update={"trials": tuple(bends)})
    text = write_note(protocol, session, assess(protocol, session), WRITTEN)
    assert "72 deg; deficit 56" in flat(text)


def test_the_words_a_question_was_cleared_with_are_among_the_precautions() -> None:
    cleared = Cleared(caution="heart-clearance", by="the cardiologist", when="May", words="70 %")
    session = note_session(intake={"cleared": [cleared.model_dump()]})
    assert "cleared, heart clearance: 70 %" in flat(part(note(session), "P"))


def test_what_somebody_left_out_is_in_the_short_note_and_the_rest_in_the_appendix() -> None:
    assert "Not done: floor-rise (not safe today); step-down, right" in flat(part(note(), "O"))
    assert "walk: not offered: meant for the goal walking, which was not named" in flat(in_full())


def test_the_answer_has_both_sides_of_the_argument_and_defers() -> None:
    reading = flat(part(note(), "A"))
    assert reading.startswith("LIKELY hip control, left The movement finding that fits best; no ")
    assert "For: stance, left: pelvis drops; time held 6.2 s: short for the age" in reading
    assert "Against: step-down, left: trunk leans not seen" in reading
    assert "Not a diagnosis. Rule-based; the licensed clinician and local policy decide." in reading


def test_where_nothing_speaks_against_it_that_is_said_once() -> None:
    two = (driver(speaks_for=(finding(),)), driver(side="right", speaks_for=(finding(),)))
    reading = flat(part(note(assessment=note_assessment(leading=two, drivers=two)), "A"))
    assert "For hip control, left: " in reading
    assert "For hip control, right: " in reading
    assert reading.count("Against") == 1


def test_what_is_seen_on_the_leg_without_complaint_is_said_to_be_there() -> None:
    right = driver(side="right", standing="possible", chance=0.5, speaks_for=(finding(),))
    assessment = note_assessment(drivers=(*note_assessment().drivers, right))
    reading = flat(part(note(assessment=assessment), "A"))
    assert "On the leg without complaint: hip control, right (possible)" in reading


def test_refer_first_comes_before_any_driver_says_how_soon_and_starts_nothing() -> None:
    session = note_session(
        intake={"cautions": ["clot"]}, trials=[], skipped=[], stopped="safety question"
    )
    text = note(session, refer_first_assessment())
    reading = flat(part(text, "A"))
    assert "TESTING STOPPED safety question" in reading
    assert reading.startswith(
        "REFER FIRST today: a doctor sees this person Possible clot "
        "Next step: Refer the same day, by local policy. A clot must be ruled out."
    )
    assert "hip control" not in text
    assert "Start: nothing" in part(text, "P")
    assert "Possible clot" not in part(text, "P")  # the answer has said so


def test_the_plan_is_a_line_for_each_exercise_then_what_to_heed_and_the_date() -> None:
    lines = [line.strip() for line in part(note(), "P").splitlines()]
    assert lines[:4] == [
        "1. Side lift, left: 3 x 8",
        "Leave out for now: Jumping",
        "Precautions: pain up to 6 of 10 during testing",
        "Next visit: ____________________ Signed: ____________________",
    ]


@pytest.mark.parametrize("outcome", ["undetermined", "nothing-found", "unloaded-only", "mixed"])
def test_an_empty_plan_says_that_nothing_is_started(outcome: str) -> None:
    empty = note_assessment(outcome=outcome, plan=Plan(), leading=())
    assert "Start: nothing" in part(note(assessment=empty), "P")
    assert "LEAVE OUT FOR NOW\nnothing is named" in in_full(assessment=empty)


def test_accents_are_dropped_unless_asked_to_stay() -> None:
    assert "Comment: Genou genant - worse on stairs; bends to 110 deg." in note()
    assert "Genou g\u00eanant \u2014 worse on stairs; bends to 110\u00b0." in note(ascii_only=False)


def test_remarks_on_the_protocol_are_in_the_note() -> None:
    remark = "The protocol has changed since this session was made; it is read by today's."
    assert f"Remarks: {remark}" in flat(note(assessment=note_assessment(remarks=(remark,))))


# ------------------------------------------------------------------ the appendix


def test_every_trial_is_there_with_what_was_seen() -> None:
    measured = flat(block(in_full(), "TRIALS"))
    assert "Trial 1: 6.2 s; ended: foot down; pain: 3 of 10; signs: pelvis drops" in measured
    assert "Trial 2, void (talked to): 1.0 s; ended: not recorded" in measured
    assert "timing: the window did not have the keys for a moment" in measured
    assert "Trial 3, cued (pelvis level): 9.4 s" in measured
    assert "Trial 4: >= 45.0 s; ended: full time" in measured
    assert "Trial 5: 14.8 s; pain: 0 of 10; signs: none marked; hands: used" in measured
    assert "Trial 6: watched, not timed; pain: 6 of 10; signs: pelvis drops" in measured


def test_a_result_is_beside_its_cut_off_in_words_with_its_source() -> None:
    held = block(in_full(), "WHAT THE RESULTS ARE HELD AGAINST")
    for line in (
        "  Cut-off: at least 10.0 s (percentile) - below it falls are more common;\n",
        "  Result: not judged: hands were used\n",
        "  Reference value, provisional: mean 12.1 s; invented adults [3, unverified]\n",
        "  Between sides: 14 % (worse side as a share of the better)\n",
    ):
        assert line in held
    assert "SD 16.6, this value at percentile 86;" in flat(held)
    assert "21 % slower than the first" in flat(held)


def test_a_result_near_its_cut_off_says_on_which_side_and_within_what() -> None:
    near = result(standing="near the line", value=9.4)
    text = flat(in_full(assessment=note_assessment(results=(near,))))
    words = "near the cut-off, on its worse side (within 1.5 s, the measurement error) [2]"
    assert f"Result: {words}" in text


def test_tests_that_may_not_be_loaded_say_so() -> None:
    session = note_session(intake={"weight_bearing": "none"}, trials=[], skipped=[])
    text = flat(in_full(session, note_assessment(results=(), not_done=())))
    assert (
        "stance, both sides; step-down, both sides: not offered: needs full load on "
        "one leg; weight-bearing is none" in text
    )


@pytest.mark.parametrize(
    ("factor", "size"),
    [(10, "strong"), (9.9, "moderate"), (5, "moderate"), (4.9, "slight"), (1.25, "slight")],
)
def test_how_much_a_finding_says_is_in_words(factor: float, size: str) -> None:
    told = driver(
        speaks_for=(finding(factor=factor),), speaks_against=(finding(factor=1 / factor),)
    )
    text = flat(in_full(assessment=note_assessment(leading=(told,), drivers=(told,))))
    assert f"+ stance, left: pelvis drops ({size})" in text
    assert f"- stance, left: pelvis drops ({size})" in text


def test_what_hardly_moves_a_driver_is_left_out() -> None:
    assert "unsteady" not in in_full().split("HIP CONTROL")[1]


def test_a_finding_in_pain_and_a_cue_that_was_undone_are_marked() -> None:
    found = (finding(in_pain=True), finding(what="unsteady", words="unsteady", undone=True))
    told = driver(standing="possible", speaks_for=found, rests_on=())
    text = flat(in_full(assessment=note_assessment(leading=(told,), drivers=(told,))))
    assert "+ stance, left: pelvis drops (moderate, seen in pain)" in text
    assert "+ stance, left: unsteady (moderate, undone)" in text
    assert "- nothing found" in text
    assert "Rests on: no single test; without any one of them the answer is the same" in text


@pytest.mark.parametrize(
    ("chance", "in_pain", "stands"),
    [(0.3, False, "not supported"), (0.6, True, "in pain only"), (0.6, False, "not shown")],
)
def test_a_driver_that_is_not_supported_rests_on_nothing(
    chance: float, in_pain: bool, stands: str
) -> None:
    found = (finding(in_pain=True),) if in_pain else (finding(factor=1.1),)
    told = driver(standing="not-supported", chance=chance, speaks_for=found, rests_on=())
    text = in_full(assessment=note_assessment(outcome="undetermined", leading=(), drivers=(told,)))
    assert re.search(rf"hip control, left[: ].*{stands}", text, re.IGNORECASE)
    assert "Rests on" not in text


def test_the_plan_has_dose_cue_feel_stop_and_progress() -> None:
    text = in_full()
    assert "Side lift (for: hip control, left) [1, clinical judgement]" in text
    for line in (
        "  Position: Lying on the side.",
        "  Dose: 3 x 8",
        "  Cue: Heel first.",
        "  Feel: The side of the hip.",
        "  Stop when: Pain above 5 of 10.",
        "  Progress when: 3 x 12 are easy.",
        "  Progress to: Standing.",
        "Tests to repeat: stance, left",
    ):
        assert line in text.splitlines()
    assert "- Jumping: Control comes first. [1, clinical judgement]" in text


def test_sources_are_numbered_as_first_cited_and_only_those_cited_are_listed() -> None:
    text = in_full()
    listed = block(text, "SOURCES")
    assert re.findall(r"^\[(\d+)\]", listed, flags=re.MULTILINE) == ["1", "2", "3"]
    assert "[2] Invented A, Invented B 2001. A study that does not exist." in listed
    assert "Table 1" not in listed  # the story of a source is in its file
    assert "[3] A table somebody remembers [unverified]" in listed
    assert "Not used" not in text
    cited = [int(n) for n in re.findall(r"\[(\d+)[\],]", text.split("\nSOURCES\n")[0])]
    assert list(dict.fromkeys(cited)) == [1, 2, 3]


def test_a_trial_of_a_test_the_protocol_no_longer_has_is_still_written() -> None:
    session = note_session(trials=[{"test": "old-test", "side": "left", "value": 3.0}])
    text = flat(in_full(session, note_assessment(results=())))
    assert "old test, left Trial 1: 3.0 (unit not known: the test is not in this protocol)" in text


def test_an_angle_that_was_asked_for_and_not_given_says_so() -> None:
    fields = [
        {"id": name, "label": name, "minimum": -30, "maximum": 120, "hint": "0 is straight"}
        for name in ("passive_deg", "active_deg")
    ]
    knee = test_spec("knee", timer={"kind": "measure", "fields": fields}, measures=[], signs=[])
    trials = [{"test": "knee", "side": "left", "passive_deg": 2.5}]
    text = write_note(
        protocol(knee),
        note_session(trials=trials, skipped=[]),
        note_assessment(results=(), not_done=()),
        WRITTEN,
        full=True,
    )
    assert "  Trial 1: passive 2.5 deg, active not recorded\n" in text


def test_a_correction_and_the_times_of_signs_are_in_the_appendix() -> None:
    trial = {
        "test": "single-leg-stance",
        "side": "left",
        "value": 4.5,
        "raw_value": 5.9,
        "corrected_from": 5.9,
        "correction": "timed with another watch",
        "signs": ("pelvis-drops", "trunk-leans"),
        "sign_times": {"pelvis-drops": 2.3},
        "sign_counts": {"trunk-leans": 2},
        "ended": "foot-down",
    }
    made = note_session().model_copy(update={"trials": (Trial.model_validate(trial),)})
    text = flat(in_full(made))
    assert "corrected by hand, 5.9 before (timed with another watch); ended: " in text
    assert "signs: pelvis drops (at 2.3 s), trunk leans 2 times" in text
