"""The invented sessions that come with the program are records as the program keeps them."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from demo_table import EXPECTED, Expected, every_demo, path_of, session_of

from screen_tui.files.places import demo_folder
from screen_tui.files.toml import read_toml
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.file import check_against
from screen_tui.session.store import SessionStore
from screen_tui.trial.battery import allowed_items, progress


def test_every_demo_file_is_expected_here_and_there_are_enough() -> None:
    files = {path.stem for path in demo_folder().glob("*.toml")}
    assert files == {one.file for one in EXPECTED}
    assert len(files) >= 8


def test_demos_differ_in_person_side_goals_and_load() -> None:
    sessions = [session_of(one) for one in EXPECTED]
    ages = [session.client.age for session in sessions]
    assert (min(ages), max(ages)) == (24, 88)
    assert len(set(ages)) == len(ages)
    assert {session.client.sex for session in sessions} == {"female", "male", "unspecified"}
    assert {session.intake.side for session in sessions} == {"left", "right", "both"}
    assert {goal for session in sessions for goal in session.intake.goals} == {
        "walking",
        "chair",
        "floor",
        "stairs",
    }
    assert {session.intake.weight_bearing for session in sessions} >= {
        "full",
        "as-tolerated",
        "partial",
    }
    assert len({session.intake.note for session in sessions}) == len(sessions)


def test_demos_show_cued_repeats_a_struck_out_trial_and_skips() -> None:
    sessions = [session_of(one) for one in EXPECTED]
    assert sum(any(trial.cue for trial in session.trials) for session in sessions) >= 2
    assert sum(bool(trial.void) for session in sessions for trial in session.trials) == 1
    assert sum(bool(session.skipped) for session in sessions) >= 2
    assert {trial.direction for session in sessions for trial in session.trials} >= {"up", "down"}


def test_demos_stand_in_the_list_in_the_order_of_their_labels() -> None:
    labels = [summary.label for summary in SessionStore(demo_folder()).list(links=True)]
    assert labels == [f"DEMO-{number:02d}" for number in range(1, len(EXPECTED) + 1)]


@every_demo
def test_demo_is_an_invented_finished_session_that_fits_the_protocol(
    protocol: ScreenProtocol, expected: Expected
) -> None:
    session = session_of(expected)
    assert session.synthetic
    assert session.finished is not None
    assert not session.protocol_digest  # read by today's protocol, whichever that is
    assert session.intake.note.endswith(".")
    check_against(session, protocol, read_toml(path_of(expected)))


@every_demo
def test_demo_trials_were_kept_one_after_the_other_within_the_screen(expected: Expected) -> None:
    session = session_of(expected)
    kept = [trial.recorded for trial in session.trials]
    assert session.finished is not None
    moments = [session.started, *(moment for moment in kept if moment), session.finished]
    assert len(moments) == len(kept) + 2
    assert all(earlier < later for earlier, later in pairwise(moments))


@every_demo
def test_demo_values_are_their_raw_values_as_the_trade_records_them(
    protocol: ScreenProtocol, expected: Expected
) -> None:
    for trial in session_of(expected).trials:
        if trial.value is None or trial.raw_value is None:
            continue
        # Hundredths only for the walk, whose speed needs them; tenths of a second otherwise.
        finest = 0.01 if protocol.test(trial.test).timer.kind == "walk" else 0.1
        assert abs(trial.value - trial.raw_value) <= finest / 2 + 1e-6
        assert round(trial.value / finest) * finest == pytest.approx(trial.value)


@every_demo
def test_the_height_of_a_step_or_seat_stands_in_the_set_up_and_in_no_note(
    expected: Expected,
) -> None:
    # What only a note says is judged as if the set-up had been the usual one.
    notes = [trial.note for trial in session_of(expected).trials]
    assert [note for note in notes if "cm step" in note or "cm seat" in note] == []


@every_demo
def test_demo_survives_being_saved_and_loaded_field_for_field(
    expected: Expected, tmp_path: Path
) -> None:
    session = SessionStore(demo_folder()).load(expected.file)
    store = SessionStore(tmp_path)
    saved = store.save(session)
    assert store.load(session.id) == session
    assert read_toml(saved.path).data == read_toml(path_of(expected)).data


@every_demo
def test_nothing_that_was_offered_is_left_open_in_a_demo(
    protocol: ScreenProtocol, expected: Expected
) -> None:
    session = session_of(expected)
    offered = allowed_items(protocol, session.intake)
    states = progress(protocol, session, offered)
    assert [state.item for state in states if state.state == "todo"] == []
    tested = dict.fromkeys((trial.test, trial.side) for trial in session.trials)
    in_order = [(item.test, item.side) for item in offered]
    assert list(tested) == [place for place in in_order if place in tested]
