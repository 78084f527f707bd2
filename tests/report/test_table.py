"""The table: its rows, its numbers, and text that a spreadsheet must not run."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from support.every_session import SESSION_FILES, judged
from support.hostile import as_label, possible_letters
from support.note_case import note_assessment, note_protocol, note_session, refer_first_assessment
from support.note_case import result as graded
from support.thorough import examples

from screen_tui.engine import assess
from screen_tui.engine.results import PrecautionRaised
from screen_tui.guides import guide
from screen_tui.report.table import COLUMNS, harmless_cell, session_rows, write_table
from screen_tui.session.model import PlanEdit

NAMES = list(COLUMNS)
STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")
NUMBERS = {
    "age", "height_cm", "mass_kg", "surgery_weeks", "value", "near_within", "symmetry_percent",
    "slowing_percent", "trials", "line_limit", "reference_mean", "reference_sd", "percentile",
    "pain_max", "pain_now", "pain_worst", "seat_cm", "step_cm", "riser_cm", "steps",
}  # fmt: skip


def read(text: str) -> list[dict[str, str]]:
    """The rows as another program reads them, strictly."""
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert {len(row) for row in rows} == {len(NAMES)}
    return [dict(zip(rows[0], row, strict=True)) for row in rows[1:]]


def rows_of(session: Any = None, assessment: Any = None) -> list[dict[str, str]]:
    made = session_rows(note_protocol(), session or note_session(), assessment or note_assessment())
    return read(write_table(made))


def test_the_guide_lists_every_column_in_order_with_its_meaning() -> None:
    lines = guide("exports").splitlines()
    listed = [f"| `{name}` | {meaning} |" for name, meaning in COLUMNS.items()]
    begin = lines.index(listed[0])
    assert lines[begin : begin + len(listed)] == listed


@pytest.mark.parametrize("name", SESSION_FILES)
def test_every_session_has_a_row_for_each_result_with_its_numbers(name: str) -> None:
    protocol, session, assessment = judged(name)
    rows = read(write_table(session_rows(protocol, session, assessment)))
    results = [row for row in rows if row["measure"] and not row["cue"]]
    assert [(row["test"], row["side"], row["measure"]) for row in results] == [
        (one.test, one.side or "both", one.measure) for one in assessment.results
    ]
    for row, one in zip(results, assessment.results, strict=True):
        assert row["standing"] == one.standing
        assert row["unit"] == one.unit
        if one.value is None:
            assert row["value"] == ""
        else:
            assert float(row["value"]) == pytest.approx(one.value, abs=0.51 * 10**-one.decimals)
        values = json.loads(row["trial_values"] or "[]")
        assert len(values) == int(row["trials"]) == len(one.trials)
    assert rows
    assert {row["session"] for row in rows} == {session.id}
    assert {row["outcome"] for row in rows} == {assessment.outcome}


@pytest.mark.parametrize("name", SESSION_FILES)
def test_the_numbers_are_numbers(name: str) -> None:
    protocol, session, assessment = judged(name)
    for row in read(write_table(session_rows(protocol, session, assessment))):
        for column in NUMBERS:
            assert row[column] == "" or float(row[column]) is not None


def test_a_row_of_a_result_says_what_it_was_held_against() -> None:
    row = rows_of()[0]
    expected = {
        "session": "2026-03-02-0915-7f3a", "invented": "yes",
        "started": "2026-03-02T09:15:00+01:00", "label": "K-014", "age": "67", "sex": "female",
        "height_cm": "164.0", "mass_kg": "", "complaint_side": "left", "outcome": "likely",
        "leading": "hip-control left", "test": "stance", "side": "left", "measure": "value",
        "value": "6.2", "at_least": "no", "unit": "s", "standing": "short of the line",
        "short": "yes", "near_within": "1.5", "symmetry_percent": "13.8", "trials": "1",
        "trial_values": "[6.2]", "line_id": "line", "line_meets": "at least",
        "line_limit": "10.0", "line_source": "stance-study", "reference_mean": "",
        "pain_max": "3", "signs": "pelvis-drops",
        "sign_counts": "1", "protocol_changed": "no",
    }  # fmt: skip
    assert {name: row[name] for name in expected} == expected


def test_a_full_hold_is_at_least() -> None:
    row = rows_of()[1]
    assert (row["value"], row["at_least"], row["percentile"]) == ("45.0", "yes", "86.2")
    assert row["reference_source"] == "stance-study"


def test_every_row_has_the_answers_before_testing() -> None:
    cleared = {"caution": "heart", "by": "Zq", "when": "Zq", "words": "Zq"}
    intake = {
        "complaints": ["pain", "weakness"],
        "side": "left",
        "goals": ["stairs", "walking"],
        "weight_bearing": "as-tolerated",
        "one_leg_confirmed": True,
        "precautions": ["brace", "no-kneeling"],
        "surgery": "meniscus",
        "recent_surgery_weeks": 20,
        "pain_now": 2,
        "pain_worst": 6,
        "history": {"pain-site": ["front"], "worse-with": ["stairs-down", "rising"]},
        "cautions": ["clot"],
        "cleared": [cleared],
    }
    expected = {
        "complaints": "pain weakness", "goals": "stairs walking", "one_leg_confirmed": "yes",
        "limits": "brace no-kneeling", "surgery": "meniscus", "surgery_weeks": "20",
        "pain_now": "2", "pain_worst": "6", "cautions": "clot", "cleared": "heart",
        "history": "pain-site=front worse-with=stairs-down+rising",
    }  # fmt: skip
    for row in rows_of(note_session(intake=intake)):
        assert {name: row[name] for name in expected} == expected
        assert "Zq" not in row.values()
    without = rows_of(note_session(intake={"side": "left"}))[0]
    assert {without[name] for name in expected} == {""}


def of_urgency(*how_soon: str, precaution: str | None = None, ask: str = "") -> str:
    (caution,) = refer_first_assessment().cautions
    found = note_assessment(
        cautions=tuple(replace(caution, urgency=one, ask=ask) for one in how_soon),
        precautions=(PrecautionRaised("brace", "Brace on.", "judgement", precaution),),
    )
    return rows_of(assessment=found)[0]["urgency"]


def test_the_urgency_is_the_soonest_of_cautions_and_precautions() -> None:
    assert of_urgency() == ""
    assert of_urgency("days", "now", "today") == "now"
    assert of_urgency("days", precaution="today") == "today"
    assert of_urgency(precaution="days") == "days"
    assert of_urgency("now", ask="Ask again.") == "ask again"
    assert of_urgency("now", precaution="days", ask="Ask again.") == "days"


def test_the_plan_is_the_edited_one() -> None:
    protocol, session, plain = judged("runner-left-hip")
    first, second, *others = [one.exercise for one in plain.plan.start]
    edit = PlanEdit(drop=(first,), own=("Cycle 10 min.",), next_visit="25 March, 10:00")
    made = session.model_copy(update={"plan": edit})
    row = read(write_table(session_rows(protocol, made, assess(protocol, made))))[0]
    assert row["plan"].split() == [second, *others, "own"]
    assert row["next_visit"] == "25 March, 10:00"


def test_how_trials_were_watched_and_ended_and_the_legs_of_their_signs() -> None:
    rose = {"test": "rises", "value": 12.0, "watched": True}
    used, drops = {"signs": ["hands-used"]}, {"signs": ["drops-to-seat", "hands-used"]}
    trials = [
        rose | used | {"ended": "fatigue"},
        rose | drops | {"sign_legs": {"drops-to-seat": "left"}, "ended": "fatigue"},
        rose | {"ended": "unable", "void": "talked to"},
        {"test": "stance", "side": "left", "value": 3.0, "ended": "foot-down"},
        {"test": "stance", "side": "left", "ended": "unable", "watched": True},
    ]
    made = note_session(trials=trials)
    rises, stance = sorted(
        (row for row in rows_of(made, assess(note_protocol(), made)) if row["trials"]),
        key=lambda row: row["test"],
    )
    assert (rises["signs"], rises["sign_legs"]) == ("hands-used drops-to-seat", "unknown left")
    assert (rises["watched"], rises["ended"]) == ("yes", "fatigue")
    assert (stance["watched"], stance["ended"]) == ("no", "foot-down; unable")
    assert stance["sign_legs"] == ""


def test_what_was_watched_and_what_was_left_out_have_rows_of_their_own() -> None:
    rows = {(row["test"], row["side"]): row for row in rows_of() if not row["measure"]}
    watched = rows["step-down", "left"]
    assert (watched["standing"], watched["signs"]) == ("watched", "pelvis-drops")
    assert watched["pain_max"] == "6"
    left_out = rows["floor-rise", "both"]
    assert (left_out["standing"], left_out["why_not"]) == ("not done", "not safe today")


def test_what_was_not_offered_as_unsafe_has_its_row_with_the_reason() -> None:
    protocol, session, _ = judged("frail-81-balance-or-stamina")
    full = session.intake.model_copy(update={"weight_bearing": "full"})
    session = session.model_copy(update={"intake": full})
    rows = session_rows(protocol, session, assess(protocol, session))
    (left,) = [
        row for row in rows if (row.get("test"), row.get("side")) == ("single-leg-stance", "left")
    ]
    assert left["standing"] == "not done"
    assert str(left["why_not"]).startswith("not offered: Tandem stance was short")
    # A test that is not meant for this person is none that was left out.
    assert not any("meant for the goal" in str(row.get("why_not")) for row in rows)


def test_how_often_a_sign_was_seen_is_added_up_over_the_trials() -> None:
    rose = {"test": "rises", "value": 12.0}
    seen = ["drops-to-seat", "hands-used"]
    trials = [
        rose | {"signs": seen, "sign_counts": {"hands-used": 3}},
        rose | {"signs": ["hands-used"]},
        rose | {"signs": seen, "sign_counts": {"drops-to-seat": 9}, "cue": "slow"},
        rose,
    ]
    rows = [one for one in rows_of(note_session(trials=trials)) if one["test"] == "rises"]
    assert [(row["cue"], row["signs"], row["sign_counts"]) for row in rows] == [
        ("", "hands-used drops-to-seat", "4 1"),
        ("slow", "hands-used drops-to-seat", "1 9"),
    ]


def test_a_repeat_with_a_cue_has_rows_of_its_own_and_is_not_judged() -> None:
    repeat = {"test": "stance", "side": "left", "cue": "pelvis-level"}
    trials = [
        {"test": "stance", "side": "left", "value": 6.2, "signs": ["pelvis-drops"], "pain": 5},
        repeat | {"value": 9.4, "pain": 2},
        repeat | {"value": 44.0, "signs": ["pelvis-drops"], "sign_counts": {"pelvis-drops": 3}},
        repeat | {"value": 45.0, "void": "talked to"},
        {"test": "step-down", "side": "left", "cue": "slow", "signs": ["pelvis-drops"], "pain": 1},
    ]
    made = note_session(trials=trials)
    rows = [row for row in rows_of(made, assess(note_protocol(), made)) if row["cue"]]
    stance, step_down = rows
    expected = {
        "test": "stance", "side": "left", "cue": "pelvis-level", "measure": "value",
        "value": "44.0", "standing": "not judged", "short": "no", "why_not": "repeat with a cue",
        "line_id": "", "near_within": "", "reference_mean": "", "trials": "2",
        "trial_values": "[9.4, 44.0]", "pain_max": "2", "signs": "pelvis-drops",
        "sign_counts": "3",
    }  # fmt: skip
    assert {name: stance[name] for name in expected} == expected
    expected = {
        "test": "step-down", "cue": "slow", "measure": "", "standing": "watched",
        "pain_max": "1", "signs": "pelvis-drops",
    }  # fmt: skip
    assert {name: step_down[name] for name in expected} == expected


def test_a_session_without_results_keeps_its_outcome() -> None:
    session = note_session(trials=[], skipped=[])
    (row,) = rows_of(session, refer_first_assessment())
    assert (row["outcome"], row["test"], row["value"]) == ("refer-first", "", "")


def test_of_what_an_emergency_left_unasked_nothing_is_told() -> None:
    intake = {"cautions": ["clot"], "cut_short": True}
    session = note_session(trials=[], skipped=[], intake=intake)
    (row,) = rows_of(session, refer_first_assessment())
    assert row["weight_bearing"] == ""


def test_a_negative_number_is_a_number_and_a_list_of_them_is_no_sum() -> None:
    lag = graded(value=-2.0, decimals=0, unit="deg", trials=(-2.0, -1.0))
    row = rows_of(assessment=note_assessment(results=(lag,)))[0]
    assert row["value"] == "-2"
    assert row["trial_values"] == "[-2, -1]"


def test_the_set_up_is_told_where_it_was_noted() -> None:
    protocol, session, _ = judged("frail-81-balance-or-stamina")
    trials = tuple(
        trial.model_copy(update={"seat_cm": 46.5, "aid": "stick"})
        if trial.test == "timed-up-and-go"
        else trial
        for trial in session.trials
    )
    noted = session.model_copy(update={"trials": trials})
    rows = read(write_table(session_rows(protocol, noted, assess(protocol, noted))))
    row = next(row for row in rows if row["test"] == "timed-up-and-go")
    assert (row["seat_cm"], row["aid"]) == ("46.5", "stick")
    other = next(row for row in rows if row["test"] == "five-chair-stands")
    assert (other["seat_cm"], other["aid"]) == ("", "")


def test_a_set_up_that_differs_between_the_trials_is_left_open() -> None:
    protocol, session, _ = judged("frail-81-balance-or-stamina")
    one = next(trial for trial in session.trials if trial.test == "walk-4m")
    worn = [one.model_copy(update={"footwear": shoes}) for shoes in ("shoes", "socks")]
    mixed = session.model_copy(update={"trials": tuple(worn)})
    (row,) = [
        row
        for row in read(write_table(session_rows(protocol, mixed, assess(protocol, mixed))))
        if row["test"] == "walk-4m"
    ]
    assert (row["trials"], row["footwear"]) == ("2", "")


def test_a_session_recorded_under_another_protocol_is_marked() -> None:
    rows = rows_of(note_session(protocol_digest="sha256:" + "0" * 64))
    assert {row["protocol_changed"] for row in rows} == {"yes"}


def test_a_column_that_is_not_in_the_table_is_refused() -> None:
    with pytest.raises(ValueError, match="colour"):
        write_table([{"colour": "blue"}])


words = st.text(possible_letters(), min_size=1, max_size=40) | st.sampled_from(
    ["=1+1", "+1", "-1+2", "@SUM(A1)", "=HYPERLINK(\"http://x\")", 'a"b', "a,b", "'=1", " =1",
     "-2|-1", "\uff1d1", "\u00a0=1"]
)  # fmt: skip


@settings(max_examples=examples(200))
@given(words.map(as_label), words, words)
@example("=1+1", "@x", "-2+3")
def test_no_text_whatever_becomes_a_formula_or_another_cell(
    label: str, reason: str, stopped: str
) -> None:
    session = note_session(
        client={"label": label, "age": 67},
        stopped=stopped,
        skipped=[{"test": "floor-rise", "reason": reason}],
    )
    assessment = note_assessment(not_done=(("floor-rise", None, reason),))
    text = write_table(session_rows(note_protocol(), session, assessment))
    assert text.encode().decode("utf-8") == text
    rows = read(text)
    for row in rows:
        for name, cell in row.items():
            assert name in NUMBERS or not cell.lstrip(" \u00a0").startswith(STARTS_A_FORMULA)
    # Nothing but the apostrophe in front is changed.
    assert {row["label"].removeprefix("'") for row in rows} == {label.removeprefix("'")}
    told = [row["why_not"] for row in rows if row["standing"] == "not done"]
    never_reached = ["testing was stopped"] if session.stopped else []
    assert [one.removeprefix("'") for one in told] == [reason.removeprefix("'"), *never_reached]


@given(st.text(max_size=20))
@example("\t=1")
@example("\r=1")
def test_a_text_cell_never_starts_as_a_formula(text: str) -> None:
    cell = str(harmless_cell(text))
    assert not cell.startswith(STARTS_A_FORMULA)
    assert cell in (text, f"'{text}")


def test_numbers_are_left_alone_by_what_guards_texts() -> None:
    assert [harmless_cell(cell) for cell in (-2, -1.5, 0, None)] == [-2, -1.5, 0, ""]


def test_lines_end_as_the_format_has_it_and_a_quote_is_doubled() -> None:
    text = write_table([{"label": 'says "no", then\nyes'}])
    assert text.startswith(",".join(NAMES) + "\r\n")
    assert text.endswith("\r\n")
    assert '"says ""no"", then\nyes"' in text
    assert "\n" not in text.replace("\r\n", "").replace("then\nyes", "")
