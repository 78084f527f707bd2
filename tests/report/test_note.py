"""The plain-text note, from assessments written by hand."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
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

from screen_tui import __version__
from screen_tui.engine.results import Assessment, Plan
from screen_tui.report.note import write_note
from screen_tui.session.model import Session, Trial

GOLDEN = Path(__file__).parent / "golden" / "note.txt"


def note(session: Session | None = None, assessment: Assessment | None = None, **more: bool) -> str:
    return write_note(
        note_protocol(),
        session or note_session(),
        assessment or note_assessment(),
        WRITTEN,
        **more,
    )


def flat(text: str) -> str:
    """The note without its line breaks, to look for sentences in."""
    return " ".join(text.split())


def block(text: str, heading: str) -> str:
    """What stands under a heading in capitals, up to the next."""
    after = text.split(f"\n{heading}\n", 1)[1]
    return re.split(r"\n\n(?=[A-Z][A-Z: ]+\n)", after, maxsplit=1)[0]


def test_the_whole_note_reads_as_agreed() -> None:
    # The digest follows the contents of the protocol and the version the release; both stand
    # in the golden file as noughts.
    digest = note_protocol().digest.removeprefix("sha256:")
    settled = note().replace(digest, "0" * 64).replace(digest[:12], "0" * 12)
    settled = settled.replace(f"screen-tui {__version__}", "screen-tui 0.0.0")
    assert settled == GOLDEN.read_text(encoding="ascii")


def test_the_same_screen_gives_the_same_note() -> None:
    assert note() == note()


def test_the_blocks_stand_in_soap_order_under_headings_in_capitals() -> None:
    headings = re.findall(r"^[A-Z][A-Z: ]+$", note(), flags=re.MULTILINE)
    assert headings == [
        "S: SUBJECTIVE",
        "O: OBJECTIVE",
        "A: ASSESSMENT",
        "P: PLAN",
        "SOURCES",
        "PROGRAM AND PROTOCOL",
        "CAUTIONS",
        "SIGNATURE",
    ]


def test_the_head_says_what_it_is_for_whom_and_when() -> None:
    head = note().split("\n\nS: SUBJECTIVE")[0].splitlines()
    assert head[:3] == [
        "Knee screen note",
        "Draft - not signed",
        "Invented demonstration data: this is not a real person.",
    ]
    assert "Client label: K-014" in head
    assert "Age: 67 years" in head
    assert "Screen started: 2026-03-02 09:15 +01:00" in head
    assert "Note written: 2026-03-02 09:47 +01:00" in head
    assert re.search(r"Protocol: small \(sha256:[0-9a-f]{12}\)", "\n".join(head))


def test_only_invented_people_are_called_invented() -> None:
    assert "Invented demonstration" not in note(note_session(synthetic=False))


def test_what_was_not_asked_reads_not_recorded_and_never_as_normal() -> None:
    bare = Session.model_validate(
        {
            "id": "a",
            "protocol": "small",
            "started": note_session().started,
            "client": {"label": "K-1", "age": 50},
        }
    )
    text = note(bare, note_assessment(results=(), not_done=()))
    for label in ("Complaint", "Goals", "Recent surgery"):
        assert f"{label}: not recorded" in text
    assert "Sex (for the reference tables): unspecified; lines that differ by sex" in text
    assert "  Possible clot: not recorded" in text
    assert "No test was done." in text


def test_safety_questions_are_listed_item_by_item() -> None:
    assert "  Possible clot: denied\n" in note()
    yes = note_session(intake={"cautions": ["clot", "gone-since"]})
    text = note(yes, refer_first_assessment())
    assert "  Possible clot: yes\n" in text
    assert "  gone since: yes (a question this protocol does not have)" in text


def test_every_trial_stands_there_with_what_was_seen() -> None:
    measured = flat(block(note(), "O: OBJECTIVE"))
    assert "Trial 1: 6.2 s; ended: foot down; pain: 3 of 10; signs: pelvis drops" in measured
    assert "Trial 2, struck out (talked to): 1.0 s; ended: not recorded" in measured
    assert "timing: the window did not have the keys for a moment" in measured
    assert "Trial 3, cued (pelvis level): 9.4 s" in measured
    assert "Trial 1: >= 45.0 s; ended: the time limit was reached" in measured
    assert "Trial 1: 14.8 s; pain: 0 of 10; signs: none marked; hands: used" in measured
    assert "Trial 1: watched, not timed; pain: 6 of 10; signs: pelvis drops" in measured


def test_a_result_stands_beside_its_line_in_words_with_its_source() -> None:
    measured = block(note(), "O: OBJECTIVE")
    assert "  Time held: 6.2 s (from one trial)\n" in measured
    assert "    Cut-off: at least 10.0 s (percentile) - below it falls are more\n" in measured
    assert "    Result: worse than the cut-off\n" in measured
    assert "    Result: not judged: hands were used\n" in measured
    assert "    Reference value, provisional: mean 12.1 s; invented adults" in measured
    assert "SD 16.6, this value at percentile 86;" in flat(measured)
    assert "    Between sides: 14 % (worse side as a share of the better)" in measured
    assert "21 % slower than the first" in flat(measured)


def test_a_result_near_its_line_says_on_which_side_and_within_what() -> None:
    near = result(standing="near the line", value=9.4)
    text = flat(note(assessment=note_assessment(results=(near,))))
    words = "near the cut-off, on its worse side (within 1.5 s, the measurement error) [1]"
    assert f"Result: {words}" in text


def test_what_was_left_out_is_named_with_its_reason() -> None:
    measured = flat(block(note(), "O: OBJECTIVE"))
    assert "Floor rise: not safe today" in measured
    assert (
        "Walk over 4 m: not offered: meant for the goals walking, none of which was named"
        in measured
    )
    assert "Step-down, right: no reason recorded" in measured


def test_tests_that_may_not_be_loaded_say_so() -> None:
    session = note_session(intake={"weight_bearing": "none"}, trials=[], skipped=[])
    text = flat(note(session, note_assessment(results=(), not_done=())))
    assert (
        "Single-leg stance, both sides; Step-down, both sides: not offered: needs full load on "
        "one leg; weight-bearing is none" in text
    )


def test_the_suggestion_is_labelled_and_shows_both_sides_of_the_argument() -> None:
    reading = flat(block(note(), "A: ASSESSMENT"))
    assert "Rule-based suggestion, not a diagnosis: Likely driver: hip control (left)." in reading
    assert "The movement finding that fits best Rule-based suggestion" in reading
    assert "(left). It does not prove where the pain comes from." in reading
    assert "hip control, left: likely Meaning" in reading
    assert "weight" not in reading
    assert "likelihood" not in reading
    assert "For: pelvis drops (Single-leg stance, left; moderate) [3, clinical" in reading
    assert (
        "For: time held 6.2 s: short for the age (Single-leg stance, left; slight) [1]" in reading
    )
    assert "For: pelvis drops (Step-down, left; slight) [3, clinical" in reading
    assert "For: with the cue pelvis level: pelvis drops gone (Single-leg" in reading
    assert "Against: trunk leans not seen (Step-down, left; slight) [3, clinical" in reading
    assert "Rests on: Single-leg stance; Step-down" in reading
    assert "Step-down, left, repeated with the cue pelvis level: " in reading
    assert "foot ankle control, left: not supported" in reading


def test_what_hardly_moves_a_driver_is_not_told() -> None:
    assert "unsteady" not in block(note(), "A: ASSESSMENT")


@pytest.mark.parametrize(
    ("factor", "size"),
    [(10, "strong"), (9.9, "moderate"), (5, "moderate"), (4.9, "slight"), (1.25, "slight")],
)
def test_how_much_a_finding_says_is_told_in_words(factor: float, size: str) -> None:
    told = driver(
        speaks_for=(finding(factor=factor),), speaks_against=(finding(factor=1 / factor),)
    )
    text = flat(note(assessment=note_assessment(leading=(told,), drivers=(told,))))
    assert f"For: pelvis drops (Single-leg stance, left; {size})" in text
    assert f"Against: pelvis drops (Single-leg stance, left; {size})" in text


def settles(session: Session | None = None, assessment: Assessment | None = None) -> str:
    """What the note says would settle the answer, up to the plan."""
    reading = flat(block(note(session, assessment), "A: ASSESSMENT"))
    return reading.partition("Most useful next tests")[2]


def test_where_no_test_would_move_the_ranking_the_note_says_so() -> None:
    assert settles(assessment=note_assessment(next_tests=())) == (
        ": no test left in this protocol would move the ranking."
    )


@pytest.mark.parametrize("outcome", ["likely", "undetermined", "nothing-found"])
def test_a_screen_that_was_stopped_suggests_no_further_test_for_that_reason(outcome: str) -> None:
    stopped = note_session(stopped="chest pain")
    assert settles(stopped, note_assessment(outcome=outcome, next_tests=())) == (
        ": no further test is suggested, because the screen was stopped."
    )


def test_a_referral_suggests_no_further_test_for_that_reason() -> None:
    told = ": no further test is suggested, because a referral comes first."
    for stopped in ("", "safety question"):
        assert settles(note_session(stopped=stopped), refer_first_assessment()) == told


def test_where_nothing_was_found_there_is_nothing_to_settle() -> None:
    assert settles(assessment=note_assessment(outcome="nothing-found", next_tests=())) == ""


def test_a_finding_in_pain_and_a_cue_that_was_undone_are_marked() -> None:
    found = (finding(in_pain=True), finding(what="unsteady", words="unsteady", undone=True))
    told = driver(standing="possible", speaks_for=found, rests_on=())
    text = flat(note(assessment=note_assessment(leading=(told,), drivers=(told,))))
    assert "For: pelvis drops (Single-leg stance, left; moderate, seen in pain)" in text
    assert "For: unsteady (Single-leg stance, left; moderate, undone)" in text
    assert "Against: nothing found" in text
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
    text = note(assessment=note_assessment(outcome="undetermined", leading=(), drivers=(told,)))
    assert f"hip control, left: {stands}" in text
    assert "Rests on" not in text


def test_refer_first_comes_before_any_driver_and_starts_nothing() -> None:
    session = note_session(
        intake={"cautions": ["clot"]}, trials=[], skipped=[], stopped="safety question"
    )
    text = note(session, refer_first_assessment())
    reading = block(text, "A: ASSESSMENT")
    assert "Refer first Possible clot - today: a doctor sees this person today: A clot" in flat(
        reading
    )
    assert "    Next step: Refer the same day, by local policy." in reading
    assert "hip control" not in text
    assert "Start: nothing; refer first" in text
    assert "Screen stopped: safety question" in text


def test_the_plan_tells_dose_cue_feel_stop_and_progress() -> None:
    plan = block(note(), "P: PLAN")
    assert "Start 1: Side lift (for: hip control, left) [3, clinical judgement]" in plan
    for line in (
        "  Position: Lying on the side.",
        "  Dose: 3 x 8",
        "  Cue: Heel first.",
        "  Should feel: The side of the hip.",
        "  Stop when: Pain above 5 of 10.",
        "  Progress when: 3 x 12 are easy.",
        "  Progress to: Standing.",
        "Precaution: pain up to 6 of 10 during testing",
        "  Tests to repeat: Single-leg stance, left",
    ):
        assert line in plan.splitlines()
    assert "Leave out for now: Jumping - Control comes first. [3," in plan


@pytest.mark.parametrize("outcome", ["undetermined", "nothing-found", "unloaded-only", "mixed"])
def test_an_empty_plan_says_that_nothing_is_started(outcome: str) -> None:
    text = note(assessment=note_assessment(outcome=outcome, plan=Plan(), leading=()))
    assert re.search(r"^Start: nothing", text, flags=re.MULTILINE)
    assert "Leave out for now: nothing is named" in text


def test_sources_are_numbered_as_first_cited_and_only_those_cited_are_listed() -> None:
    text = note()
    listed = block(text, "SOURCES")
    assert re.findall(r"^\[(\d+)\]", listed, flags=re.MULTILINE) == ["1", "2", "3"]
    assert "[1] Invented A, Invented B 2001. A study that does not exist." in listed
    assert "[published]" in listed
    assert "[2] A table somebody remembers [from memory]" in listed
    assert "Not used" not in text
    cited = [int(n) for n in re.findall(r"\[(\d+)[\],]", text.split("\nSOURCES\n")[0])]
    assert list(dict.fromkeys(cited)) == [1, 2, 3]


def test_the_tail_defers_to_the_clinician_and_leaves_the_signature_blank() -> None:
    text = note()
    assert "The judgement of the licensed clinician and local policy come first." in text
    assert "It is not a diagnosis." in flat(text)
    signature = text.split("\nSIGNATURE\n")[1].splitlines()
    assert [line.split(":")[0] for line in signature[:4]] == ["Name", "Credential", "Date", "Time"]
    assert all(set(line.split(": ")[1]) == {"_"} for line in signature)


def test_remarks_on_the_protocol_are_in_the_note() -> None:
    remark = "The protocol has changed since this session was made; it is read by today's."
    assert f"Remark: {remark}" in flat(note(assessment=note_assessment(remarks=(remark,))))


def test_accents_are_dropped_unless_asked_to_stay() -> None:
    assert "In addition: Genou genant - worse on stairs; bends to 110 deg." in note()
    assert "Genou g\u00eanant \u2014 worse on stairs; bends to 110\u00b0." in note(ascii_only=False)


def test_a_trial_of_a_test_the_protocol_no_longer_has_is_still_written() -> None:
    session = note_session(trials=[{"test": "old-test", "side": "left", "value": 3.0}])
    text = flat(note(session, note_assessment(results=())))
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
    )
    assert "  Trial 1: passive 2.5 deg, active not recorded; pain: not recorded\n" in text


def test_a_correction_and_the_times_of_signs_stand_in_the_note() -> None:
    trial = {
        "test": "single-leg-stance",
        "side": "left",
        "value": 4.5,
        "raw_value": 5.9,
        "corrected_from": 5.9,
        "correction": "timed with another watch",
        "signs": ("pelvis-drops",),
        "sign_times": {"pelvis-drops": 2.3},
        "ended": "foot-down",
    }
    made = note_session().model_copy(update={"trials": (Trial.model_validate(trial),)})
    text = " ".join(write_note(note_protocol(), made, note_assessment(), WRITTEN).split())
    assert "corrected by hand, 5.9 before (timed with another watch); ended: " in text
    assert "(at 2.3 s)" in text


def test_how_often_a_sign_was_seen_stands_in_the_note() -> None:
    trial = {
        "test": "single-leg-stance",
        "side": "left",
        "value": 4.5,
        "signs": ("pelvis-drops", "trunk-leans"),
        "sign_times": {"pelvis-drops": 2.3},
        "sign_counts": {"pelvis-drops": 3, "trunk-leans": 2},
        "ended": "foot-down",
    }
    made = note_session().model_copy(update={"trials": (Trial.model_validate(trial),)})
    text = " ".join(write_note(note_protocol(), made, note_assessment(), WRITTEN).split())
    assert "signs: pelvis drops 3 times (first at 2.3 s), trunk leans 2 times" in text
