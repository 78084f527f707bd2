"""The report of a client's visits, and the block of the note that tells what changed."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.hostile import as_label, possible_letters
from support.note_case import note_assessment
from support.thorough import examples
from support.visit_case import WRITTEN, rises, stance, three_visits, visit, visit_protocol

from screen_tui import __version__
from screen_tui.engine.change import compare
from screen_tui.engine.visits import history_of, visits_of
from screen_tui.report.layout import PAPER
from screen_tui.report.machine import changes_as_dict, history_as_dict
from screen_tui.report.note import MOST_LINES, write_note
from screen_tui.report.visits import change_fact, further_facts, write_visits
from screen_tui.session.model import Session

GOLDEN = Path(__file__).parent / "golden" / "visits.txt"
PROTOCOL = visit_protocol()


def report(*sessions: Session, **more: bool) -> str:
    (client,) = visits_of(sessions or three_visits())
    return write_visits(PROTOCOL, history_of(PROTOCOL, client), WRITTEN, **more)


def flat(text: str) -> str:
    return " ".join(text.split())


def test_the_whole_report_reads_as_agreed() -> None:
    settled = report().replace(f"screen-tui {__version__}", "screen-tui 0.0.0")
    assert settled == GOLDEN.read_text(encoding="ascii")


def test_one_visit_has_nothing_to_compare() -> None:
    text = report(three_visits()[0])
    assert "One visit: nothing to compare yet." in text
    assert "stance, left: Time held: 6.2 s at visit 1" in text
    assert "What moved it" not in text
    assert "WHAT WAS STARTED" not in text


def test_visits_without_a_test_are_told_of() -> None:
    text = report(visit(1), visit(2))
    assert text.count("no trial") == 2
    assert "No measure has two numbers yet." in text


def test_a_visit_without_a_trial_that_counts_is_not_compared_with() -> None:
    done = visit(1, stance(20.0, "pelvis-drops")), visit(2, stance(12.0))
    begun = visit(3, stance(3.0, void="interrupted"), finished=None)
    text = report(*done, begun)
    assert text.split("\nVISITS\n")[0] == report(*done).split("\nVISITS\n")[0]
    assert "STARTED AT VISIT 1, SEEN AT VISIT 2" in text
    assert "WHAT MOVED IT, VISIT 1 TO 2" in text
    assert "not finished; every trial void" in text
    (both,), (two,) = (visits_of(some) for some in ((*done, begun), done))
    data, without = (history_as_dict(PROTOCOL, history_of(PROTOCOL, one)) for one in (both, two))
    for key in ("moved", "plan_of_visit", "progress"):
        assert data[key] == without[key]
    assert "One visit alone has a trial that counts" in report(done[0], begun)
    # Nor does its own note, or that of a later visit, name a change since then.
    for earlier, now in ((done, begun), ((begun,), visit(4, stance(12.0)))):
        assert "Change since" not in write_note(
            PROTOCOL, now, note_assessment(), WRITTEN, earlier=earlier
        )


def test_what_is_left_out_of_many_visits_is_said() -> None:
    many = [visit(number, stance(5.0 + number)) for number in range(1, 15)]
    assert "- 2 visits after the first not shown" in report(*many)


def test_twelve_visits_fit() -> None:
    words = {"seat_cm": 50.0}
    visits = [
        visit(number, stance(5.0 + number), rises(10.0 + number, **(words if number % 2 else {})))
        for number in range(1, 13)
    ]
    text = report(*visits)
    assert max(map(len, text.splitlines())) <= PAPER
    assert "\n12  2027-" in text


def test_findings_nobody_looked_for_again_are_not_called_gone() -> None:
    text = flat(report(visit(1, stance(6.2, "pelvis-drops")), visit(2, rises(12.0))))
    assert "Not looked for now: pelvis drops" in text
    assert "Gone:" not in text
    turned = flat(report(visit(1, rises(12.0)), visit(2, stance(6.2, "pelvis-drops"))))
    assert "New, and not looked for then: pelvis drops" in turned


def test_a_referral_leaves_nothing_to_say_on_drivers() -> None:
    first, _, third = three_visits()
    referred = third.model_copy(
        update={"intake": third.intake.model_copy(update={"cautions": ("clot",)})}
    )
    text = flat(report(first, referred))
    assert re.search(r"\b2 2026-\d\d-\d\d REFER FIRST", text)
    assert "a safety question was answered yes at one of the two" in text


def test_nothing_that_moved_is_said_as_well() -> None:
    same = [visit(number, stance(6.2, "pelvis-drops")) for number in (1, 2)]
    assert "no finding came or went" in report(*same)


def test_a_number_corrected_by_hand_is_marked_in_the_table() -> None:
    put_right = stance(8.0, corrected_from=80.0, correction="slip of the key")
    text = report(visit(1, put_right), visit(2, stance(9.0)))
    assert "8.0 s, corrected by hand\n" in text


def test_a_step_down_names_the_easier_exercise() -> None:
    text = flat(report(visit(1, stance(20.0, "pelvis-drops")), visit(2, stance(12.0))))
    assert "Next step: down (time held worse beyond error): Side lift" in text


words = st.text(possible_letters(), min_size=1, max_size=40)


@settings(max_examples=examples(40))
@given(words.map(as_label), words, st.lists(st.floats(0, 3600), min_size=1, max_size=6))
def test_whatever_was_typed_the_report_is_plain(
    label: str, reason: str, values: list[float]
) -> None:
    client = {"label": label, "age": 67}
    visits = [
        visit(
            number,
            stance(value, ended=reason),
            client=client,
            stopped=reason,
            skipped=[{"test": "rises", "reason": reason}],
        )
        for number, value in enumerate(values, start=1)
    ]
    text = report(*visits)
    assert all(character == "\n" or " " <= character <= "~" for character in text)
    lines = text.split("\n")
    assert max(map(len, lines)) <= PAPER
    assert all(line == line.rstrip() for line in lines)
    assert text.endswith("\n")
    assert not text.endswith("\n\n")


def test_letters_stay_where_they_may() -> None:
    client = {"label": "Kn\u00e4-1", "age": 60}
    sessions = [visit(n, stance(5.0), client=client) for n in (1, 2)]
    assert "Patient code: Kna-1" in report(*sessions)
    assert "Patient code: Kn\u00e4-1" in report(*sessions, ascii_only=False)


# ------------------------------------------------------------------ two visits in words


def changed(then: dict[str, Any], now: dict[str, Any]) -> str:
    (change,) = compare(PROTOCOL, visit(1, then), visit(2, now))
    return change_fact(change).text


@pytest.mark.parametrize(
    ("then", "now", "said"),
    [
        (6.2, 14.0, "6.2 to 14.0 s (+7.8 s): better beyond error (MDC95 4.2 s, from SEM 1.5; "),
        (14.0, 6.2, "14.0 to 6.2 s (-7.8 s): worse beyond error ("),
        (6.2, 9.0, "6.2 to 9.0 s (+2.8 s): within measurement error ("),
        (9.0, 9.0, "9.0 to 9.0 s (0.0 s): within measurement error ("),
        (30.0, 45.0, "30.0 to >= 45.0 s (at least +15.0 s): better beyond error ("),
        (45.0, 30.0, ">= 45.0 to 30.0 s (at least -15.0 s): worse beyond error ("),
    ],
)
def test_a_change_is_told_in_numbers_and_words(then: float, now: float, said: str) -> None:
    assert changed(stance(then), stance(now)).startswith(said)


def test_what_cannot_be_compared_or_judged_is_told_in_words() -> None:
    assert changed(rises(14.0), rises(12.5)) == (
        "14.0 to 12.5 s (-1.5 s): not judged: no published error for this age"
    )
    assert changed(rises(14.0, "hands-used"), rises(12.5)) == (
        "14.0 to 12.5 s: not comparable: hands used then"
    )
    (change,) = compare(PROTOCOL, visit(1), visit(2, rises(12.5)))
    assert change_fact(change).text == "- to 12.5 s: not comparable: not tested then"
    assert change.difference is None


def test_another_error_that_says_otherwise_stands_beside_the_change() -> None:
    data = PROTOCOL.model_dump()
    more = {"measure": "value", "kind": "MDC90", "value": 10.0, "population": "others",
            "between": "visits", "from_age": 18, "to_age": 90, "source": "judgement"}  # fmt: skip
    data["tests"][0]["errors"] = [*data["tests"][0]["errors"], more]
    protocol = type(PROTOCOL).model_validate(data)
    (change,) = compare(protocol, visit(1, stance(6.2)), visit(2, stance(14.0)))
    (beside,) = further_facts(change)
    assert beside.label == "Another published error"
    # 10 / 2.326 * 2.772 = 11.9
    assert beside.text == ("by it the change is within error (MDC95 11.9 s, from MDC90 10; others)")
    assert beside.source == "judgement"


def test_two_visits_side_by_side_name_their_days_and_sources() -> None:
    first, _, third = three_visits()
    text = report(first, third)
    assert re.search(r"^1 +2026-03-02 .*\n2 +2026-05-11 ", text, re.MULTILINE)
    assert "\nSOURCES\n[1] Invented for tests [clinical judgement]\n[2] Invented A" in text
    assert max(map(len, text.splitlines())) <= PAPER


# ------------------------------------------------------------------ for other programs


def test_history_and_changes_are_plain_data_without_the_label() -> None:
    (client,) = visits_of(three_visits())
    told = history_as_dict(PROTOCOL, history_of(PROTOCOL, client))
    text = json.dumps(told, allow_nan=False)
    assert "K-014" not in text
    assert [one["number"] for one in told["visits"]] == [1, 2, 3]
    assert told["visits"][1]["marks"] == ["not finished"]
    left = told["results"][0]
    assert [one["value"] for one in left["visits"]] == [6.2, 9.0, 14.0]
    assert left["visits"][2]["since_first"]["verdict"] == "better"
    assert left["visits"][2]["since_first"]["in_words"] == "better beyond error"
    assert left["error"]["mdc95"] == 4.16
    assert [one["how"] for one in told["moved"]] == ["gone"]
    assert told["plan_of_visit"] == 2
    assert [one["step"] for one in told["progress"]] == ["ask", "up"]
    assert told["progress"][1]["criteria"][0]["status"] == "met"
    pair = changes_as_dict(PROTOCOL, *three_visits()[:2])
    assert "K-014" not in json.dumps(pair, allow_nan=False)
    assert pair["changes"][0]["difference"] == 2.8


# ------------------------------------------------------------------ the block of the note


def note(session: Session, *earlier: Session) -> str:
    return write_note(PROTOCOL, session, note_assessment(), WRITTEN, full=True, earlier=earlier)


def test_the_full_note_has_all_that_the_visits_show() -> None:
    first, second, third = three_visits()
    text = note(third, second, first)
    block = text.split("BETTER, BEYOND MEASUREMENT ERROR\n")[1]
    block = flat(block.split("\nTRIALS\n")[0])
    assert "stance, left: Time held: 6.2 to 14.0 s (+7.8 s)" in block
    assert "rises: Time for five: 14.8 to 13.0 s: not comparable: hands used" in block
    assert "2026-03-02 POSSIBLE: hip control" in block
    missing = flat(note(second, first))
    assert "- stance, right: Time held: not tested (short of time)" in missing


def test_the_short_note_of_a_retest_opens_with_what_changed() -> None:
    first, second, third = three_visits()
    text = write_note(PROTOCOL, third, note_assessment(), WRITTEN, earlier=(second, first))
    opening = flat(text.split("\nS ")[0])
    then, better = "Change since 2026-03-02 Answer then: ", " Better: stance, left 6.2 to 14.0 s"
    assert then in opening
    assert better in opening.split(then)[1]
    assert opening.index("Worst pain") < opening.index("Not comparable")
    assert (
        "Not comparable: stance, right (full time both times); rises (hands used then)" in opening
    )
    assert "Not marked now: stance, left: pelvis drops; rises: hands used" in opening
    assert "Worst pain in testing: 3 then, 1 now, of 10" in opening
    assert text.count("\n") <= MOST_LINES


def test_the_note_without_an_earlier_visit_is_as_it_was() -> None:
    first, second, _ = three_visits()
    plain = write_note(PROTOCOL, first, note_assessment(), WRITTEN, full=True)
    assert "Change since" not in plain
    # Neither itself nor a later visit is an earlier one.
    assert note(first, first, second) == plain


def test_each_number_is_a_bar_from_nought_beside_its_cut_off() -> None:
    text = report(*three_visits()).split("STANCE, LEFT")[1].split("\n")
    bars = [(line.count("="), line.split("  ")[-1]) for line in text[1:5]]
    # Of 30 cells for 14.0 s, the most: 6.2 / 14 is 13.3, 9 / 14 is 19.3, 10 / 14 is 21.4.
    assert bars == [
        (13, "6.2 s"),
        (19, "9.0 s, within error"),
        (30, "14.0 s, better"),
        (21, "at least 10.0 s"),
    ]


def test_a_sign_is_gone_only_where_it_was_watched_for() -> None:
    first, second, third = three_visits()
    watched = [trial.model_copy(update={"watched": True}) for trial in third.trials]
    third = third.model_copy(update={"trials": tuple(watched)})
    text = flat(report(first, second, third))
    assert "Signs gone: stance, left: pelvis drops; rises: hands used" in text
    assert "Not marked now" not in text
