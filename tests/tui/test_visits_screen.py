"""Visits on the screen: what truly changed comes first, and a re-test starts from there."""

from __future__ import annotations

import errno
import os
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from support import small_protocol as small

from screen_tui import written_papers
from screen_tui.files.places import demo_folder, protocols_folder
from screen_tui.protocol.loader import DEFAULT_BATTERY, load_protocol
from screen_tui.report.note import MOST_LINES
from screen_tui.session.file import session_text
from screen_tui.session.folder import NEWEST, SessionSummary
from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore
from screen_tui.tui.screens.before_testing import BeforeTestingScreen
from screen_tui.tui.screens.note import NoteScreen, SheetScreen
from screen_tui.tui.screens.result import PlanScreen, ResultScreen
from screen_tui.tui.screens.start import StartScreen
from screen_tui.tui.screens.test import TestScreen
from screen_tui.tui.screens.visits import ClientScreen, VisitsScreen, patients_of

SIZES = [(60, 20), (80, 24), (120, 40)]


def save(store: SessionStore, at: int, label: str = "K-7", **more: Any) -> Session:
    """Save a finished screen of some day, with a stance of each leg."""
    started = small.STARTED + timedelta(days=at)
    trials = more.pop("trials", [{"test": "stance", "side": "left", "value": 5.0 + at}])
    made = small.session(
        *trials,
        id=f"2026-03-02-0915-{at:04d}",
        started=started,
        finished=started + timedelta(minutes=20),
        client={"label": label},
        intake={"goals": ["walking"], "side": "left"},
        **more,
    )
    store.save(made)
    return made


async def test_clients_are_listed_the_one_seen_last_first(open_program, store) -> None:
    for at, label in ((0, "K-7"), (1, "M-2"), (3, "k-7 ")):
        save(store, at, label)
    async with open_program() as driver:
        await driver.press("v")
        assert isinstance(driver.app.screen, VisitsScreen)
        rows = [line for line in driver.text().splitlines() if "visit" in line and ":" in line]
        assert [row.strip(" >") for row in rows] == [
            "k-7 : 2 visits, 2026-03-02 to 2026-03-05",
            "M-2: 1 visit, 2026-03-03",
        ]


async def test_a_visit_that_may_no_longer_be_looked_at_is_not_added_to(
    open_program, store, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = save(store, 0)
    really = os.stat

    def refuse(path: object, *args: Any, **more: Any) -> os.stat_result:
        if made.id in str(path):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
        return really(path, *args, **more)

    async with open_program() as driver:
        await driver.press("v", "enter")
        assert "addendum" in driver.text()
        monkeypatch.setattr(os, "stat", refuse)
        monkeypatch.setattr(os, "lstat", refuse)
        driver.app.screen.redraw()
        await driver.settle()
        assert "addendum" not in driver.text()


async def test_the_list_is_narrowed_by_label_and_by_date(open_program, store) -> None:
    for at, label in ((0, "K-7"), (40, "M-2")):
        save(store, at, label)
    async with open_program() as driver:
        await driver.press("/", "m")
        assert "M-2" in driver.text()
        assert "K-7" not in driver.text()
        assert "1 of 2 patients" in driver.text()
        await driver.fill("2026-03")
        assert "K-7" in driver.text()
        assert "M-2" not in driver.text()
        await driver.fill("zzz")
        assert "No patient code and no date holds zzz" in driver.words()
        await driver.press("enter", "end", "ctrl+u", "backspace")
        assert "2 of 2 patients" in driver.text()
        await driver.press("/", "k", "enter")
        assert isinstance(driver.app.screen, ClientScreen)
        await driver.press("b", "backspace", "backspace", "b")
        assert isinstance(driver.app.screen, StartScreen)


async def test_without_sessions_it_says_so(open_program) -> None:
    async with open_program() as driver:
        await driver.press("v")
        assert "No session that can be read is saved here" in driver.words()
        await driver.press("enter", "down")
        assert isinstance(driver.app.screen, VisitsScreen)


@pytest.mark.parametrize("size", SIZES)
async def test_what_changed_beyond_error_stands_first(open_program, size) -> None:
    protocol = load_protocol([protocols_folder()], DEFAULT_BATTERY)
    async with open_program(size=size, protocol=protocol, demo_folder=demo_folder()) as driver:
        await driver.press("v", "enter")
        assert isinstance(driver.app.screen, ClientScreen)
        first = driver.words()
        assert "Better, beyond measurement error" in first
        # Beyond 4.52 s, the error between visits that the file of the test names.
        assert "Five chair stands: Time: 15.6 to 10.6 s (-5.0 s)" in first
        told = await driver.read_on()
        for text in (
            "Within measurement error",
            "8 to 13 stands",
            "Not comparable",
            "full time both times",
            "1 2026-03-12 LIKELY: deconditioning",
            "What moved it, visit 1 to 3",
            "Started at visit 1, seen at visit 3",
            "lower is better",
            "Not a diagnosis",
        ):
            assert text in told, text


async def test_a_single_visit_has_nothing_to_compare(open_program, store) -> None:
    save(store, 0)
    async with open_program() as driver:
        await driver.press("v", "enter")
        assert "One visit: nothing to compare yet" in driver.words()


async def test_a_session_that_does_not_fit_is_told_and_the_others_are_shown(
    open_program, store
) -> None:
    save(store, 0)
    save(store, 1, trials=[{"test": "unheard-of", "value": 3.0}])
    async with open_program() as driver:
        await driver.press("v", "enter")
        assert isinstance(driver.app.screen, ClientScreen)
        assert "unheard-of" in driver.words()
        assert "at least 1 visit " in driver.text()


async def to_the_first_test(driver) -> None:
    """Leave open whatever may stay open."""
    for _ in range(20):
        if isinstance(driver.app.screen, TestScreen):
            return
        await driver.press("enter")
    raise AssertionError(driver.text())


async def retest(driver) -> None:
    """Begin a re-test of the client seen last, and answer what is asked anew."""
    await driver.press("v", "enter", "r")
    assert isinstance(driver.app.screen, BeforeTestingScreen)
    assert "K-7" in driver.text()
    await driver.press("n")
    await to_the_first_test(driver)


async def test_a_retest_asks_safety_anew_and_starts_with_what_was_tested(
    open_program, store
) -> None:
    earlier = save(store, 0, trials=[{"test": "rises", "value": 9.0}])
    async with open_program() as driver:
        await retest(driver)
        session = driver.app.controller.session
        assert session.follows == earlier.id
        assert session.client == earlier.client
        assert driver.app.screen.itinerary.item.test == "rises"


async def test_a_retest_follows_the_latest_visit_with_a_trial_that_counts(
    open_program, store
) -> None:
    usable = save(store, 0)
    begun = {"test": "stance", "side": "left", "value": 2.0, "void": "interrupted"}
    later = save(store, 9, trials=[begun])
    store.save(later.model_copy(update={"finished": None}))
    async with open_program() as driver:
        await driver.press("v", "enter", "r")
        assert driver.app.screen.earlier == usable


async def test_a_retest_that_was_not_begun_is_left_without_a_question(open_program, store) -> None:
    save(store, 0)
    async with open_program() as driver:
        await driver.press("v", "enter", "r", "q")
        assert isinstance(driver.app.screen, StartScreen)
        assert "Go on with" not in driver.text()
        await driver.press("v", "enter", "r", "n", "q")
        assert "the answers stay" in driver.text()


async def test_the_last_value_is_shown_only_where_it_is_wanted(open_program, store) -> None:
    save(store, 0, trials=[{"test": "stance", "side": "right", "value": 6.2}])
    async with open_program() as driver:
        await retest(driver)
        assert driver.app.screen.itinerary.item.test == "stance"
        assert "6.2" not in driver.text()
        await driver.press("h")
        assert "On 2026-03-02: value 6.2 s" in driver.words()
        await driver.press("h")
        assert "6.2" not in driver.text()


async def test_a_resumed_retest_still_knows_what_it_follows(open_program, store) -> None:
    save(store, 0, trials=[{"test": "rises", "value": 9.0}])
    async with open_program() as driver:
        await retest(driver)
        await driver.press("q", "1")
        assert driver.app.controller.earlier is not None
        assert driver.app.screen.itinerary.item.test == "rises"


async def test_a_retest_killed_among_its_questions_still_knows_what_it_follows(
    open_program, store
) -> None:
    earlier = save(store, 0, trials=[{"test": "rises", "value": 9.0}])
    async with open_program() as driver:
        await driver.press("v", "enter", "r", "n", "4")
    async with open_program() as driver:
        await driver.press("1")
        assert isinstance(driver.app.screen, BeforeTestingScreen)
        await to_the_first_test(driver)
        assert driver.app.controller.session.follows == earlier.id
        assert driver.app.controller.earlier is not None
        assert driver.app.screen.itinerary.item.test == "rises"


async def test_an_earlier_visit_that_cannot_be_read_stops_nobody_and_is_not_forgotten(
    open_program, store
) -> None:
    earlier = save(store, 0, trials=[{"test": "rises", "value": 9.0}])
    async with open_program() as driver:
        await driver.press("v", "enter", "r", "n", "4")
    content = store.path_of(earlier.id).read_bytes()
    store.path_of(earlier.id).unlink()
    async with open_program() as driver:
        await driver.press("1")
        assert driver.app.screen.form.answers["label"] == "K-7"
        assert "The findings of the earlier visit cannot be shown:" in driver.words()
        await to_the_first_test(driver)
        assert driver.app.controller.session.follows == earlier.id
        assert driver.app.controller.earlier is None
    store.path_of(earlier.id).write_bytes(content)
    async with open_program() as driver:
        await driver.press("1")
        assert driver.app.controller.earlier is not None


async def test_the_note_of_a_retest_tells_what_changed(open_program, store) -> None:
    save(store, -100, trials=[{"test": "stance", "side": "right", "value": 6.2}])
    async with open_program() as driver:
        await retest(driver)
        await driver.press("space", "space", "enter", "g", "enter", "enter")
        assert "Change since" in await driver.read_on()


def test_real_and_invented_people_of_one_label_stay_apart(store) -> None:
    save(store, 0)
    save(store, 1, synthetic=True)
    assert [len(one) for one in patients_of(store.list())] == [1, 1]


async def test_a_correction_is_added_to_a_finished_screen_and_counts(open_program, store) -> None:
    made = save(store, 0, trials=[{"test": "stance", "side": "left", "value": 5.0}])
    before = store.path_of(made.id).read_bytes()
    async with open_program() as driver:
        await driver.press("v", "enter", "a", "down", "enter", "1")
        await driver.type("8.5")
        await driver.press("enter")
        await driver.type("read off wrongly")
        await driver.press("enter")
        assert "Added" in driver.words()
        assert "8.5" in await driver.read_on()
    after = store.path_of(made.id).read_bytes()
    assert after.startswith(before)
    added = store.load(made.id)
    assert (added.trials[0].value, added.as_amended.trials[0].value) == (5.0, 8.5)
    assert added.addenda[0].reason == "read off wrongly"


async def test_what_was_changed_while_the_addendum_was_typed_is_not_added_to(
    open_program, store
) -> None:
    made = save(store, 0)
    path = store.path_of(made.id)
    async with open_program() as driver:
        await driver.press("v", "enter", "a", "down", "enter", "1")
        await driver.type("8.5")
        await driver.press("enter")
        other = path.read_bytes().replace(b"value = 5.0", b"value = 4.0")
        path.write_bytes(other)
        await driver.type("read off wrongly")
        await driver.press("enter")
        assert "was changed meanwhile, so nothing was added to it" in driver.words()
        assert path.read_bytes() == other
        # What is in the file now is what is shown, and added to.
        await driver.press("b", "a")
        assert "trial 1: 4.0 s" in driver.words()


async def test_words_are_added_with_their_reason(open_program, store) -> None:
    made = save(store, 0)
    async with open_program() as driver:
        await driver.press("v", "enter", "a", "w")
        await driver.type("wore a brace")
        await driver.press("enter")
        await driver.type("told later")
        await driver.press("enter")
        assert "Added" in driver.words()
    (added,) = store.load(made.id).addenda
    assert (added.text, added.reason) == ("wore a brace", "told later")


async def test_a_demo_is_not_added_to(open_program) -> None:
    protocol = load_protocol([protocols_folder()], DEFAULT_BATTERY)
    async with open_program(protocol=protocol, demo_folder=demo_folder()) as driver:
        await driver.press("v", "enter", "a")
        assert isinstance(driver.app.screen, ClientScreen)
        assert "addendum" not in driver.text()


def fill(store: SessionStore, *, oldest: Session) -> None:
    """Have so many sessions after one that a list does not read it."""
    store.save(oldest)
    for number in range(NEWEST):
        started = small.STARTED + timedelta(hours=number)
        made = small.session(
            {"test": "stance", "side": "left", "value": 5.0},
            id=f"{started:%Y-%m-%d-%H%M}-{number:04x}",
            started=started,
            finished=started,
            client={"label": f"M-{number % 7}"},
        )
        store.path_of(made.id).write_text(session_text(made), encoding="utf-8")


async def test_a_visit_older_than_the_list_is_found_by_a_search(open_program, store) -> None:
    begun = small.STARTED - timedelta(days=300)
    old = small.session(
        {"test": "stance", "side": "left", "value": 6.2},
        id=f"{begun:%Y-%m-%d-%H%M}-0000",
        started=begun,
        client={"label": "m-3"},
        intake={"goals": ["walking"], "side": "left"},
    )
    fill(store, oldest=old)
    async with open_program(size=(80, 24)) as driver:
        assert "M-3: at least 29 visits" in driver.words()
        await driver.press("v")
        assert "The newest 200 sessions are listed; / also searches 1 older." in driver.words()
        assert "7 of 7 patients, newest 200 sessions" in driver.words()
        assert "M-3: at least 29 visits" in driver.words()
        assert "2025" not in driver.text()
        await driver.press("/")
        await driver.type("2025")
        assert "Enter searches 1 older." in driver.words()
        await driver.press("enter")
        assert "m-3" in driver.text().lower()
        assert "1 of 7 patients" in driver.text()
        await driver.press("enter")
        assert " 30 visits" in driver.words()
        assert "at least 30" not in driver.words()
        await driver.press("b")
        # Another patient has no older visit.
        await driver.fill("m-4")
        await driver.press("enter", "enter")
        assert "2025" not in await driver.read_on()


async def test_the_visits_of_a_client_are_all_shown_and_an_old_one_is_gone_on_with(
    open_program, store
) -> None:
    begun = small.STARTED - timedelta(days=300)
    old = small.session(
        id=f"{begun:%Y-%m-%d-%H%M}-0000",
        started=begun,
        client={"label": "Z-9"},
        intake={"goals": ["walking"], "side": "left"},
    )
    fill(store, oldest=old)
    async with open_program(size=(80, 24)) as driver:
        assert "Z-9" not in driver.text()
        await driver.press("v", "/")
        await driver.type("z-")
        await driver.press("enter", "enter")
        assert isinstance(driver.app.screen, ClientScreen)
        assert "resume it" in driver.text()
        await driver.press("g")
        assert isinstance(driver.app.screen, TestScreen)
        assert driver.app.controller.session.id == old.id
        assert len(driver.app.screen_stack) == 2


async def test_what_another_window_has_is_not_gone_on_with(open_program, store) -> None:
    made = save(store, 0)
    store.save(made.model_copy(update={"finished": None}))
    other = SessionStore(store.folder)
    assert other.hold(made.id)
    async with open_program(size=(80, 24)) as driver:
        await driver.press("v", "enter", "g")
        assert isinstance(driver.app.screen, ClientScreen)
        assert "open in another window" in driver.words()
    other.release_all()


async def test_a_finished_visit_and_a_demo_are_not_gone_on_with(open_program, store) -> None:
    save(store, 0)
    async with open_program(demo_folder=demo_folder()) as driver:
        await driver.press("v", "/")
        await driver.type("k-7")
        await driver.press("enter", "g")
        assert isinstance(driver.app.screen, ClientScreen)
        assert "resume it" not in driver.text()


async def test_each_page_of_a_past_visit_opens_from_the_patient_and_leads_back(
    open_program, store
) -> None:
    save(store, 0)
    save(store, 9)
    before = {path: path.read_bytes() for path in store.folder.iterdir() if path.is_file()}
    async with open_program() as driver:
        await driver.press("v", "enter")
        patient, below = driver.app.screen, len(driver.app.screen_stack)
        for keys, page in (
            ("b", ResultScreen),
            ("enter b b", PlanScreen),
            ("w enter", NoteScreen),
            ("p b enter", SheetScreen),
        ):
            # The latest visit stands first; each has its number for a key.
            await driver.press("o")
            assert "2026-03-11" in driver.text()
            await driver.press("1")
            assert isinstance(driver.app.screen, ResultScreen)
            assert driver.app.controller.session.started == small.STARTED
            way = keys.split()
            if page is not ResultScreen:
                await driver.press(way.pop(0))
            assert isinstance(driver.app.screen, page)
            assert "read-only" in driver.text()
            await driver.press(*way)
            assert driver.app.screen is patient
            assert len(driver.app.screen_stack) == below
            assert not driver.app.controller.is_open
        await driver.press("b", "b")
        assert isinstance(driver.app.screen, StartScreen)
    after = {path: path.read_bytes() for path in store.folder.iterdir() if path.is_file()}
    assert after == before


async def test_a_single_visit_opens_at_once_and_a_new_session_begins_after_it(
    open_program, store
) -> None:
    save(store, 0)
    async with open_program() as driver:
        await driver.press("v", "enter", "o")
        assert isinstance(driver.app.screen, ResultScreen)
        assert "b visits" in driver.words()
        await driver.press("b", "r")
        assert isinstance(driver.app.screen, BeforeTestingScreen)
        assert len(driver.app.screen_stack) == 2


async def test_a_past_visit_says_what_changed_since_the_one_it_follows(open_program, store) -> None:
    first = save(store, 0, trials=[{"test": "stance", "side": "right", "value": 6.2}])
    save(
        store,
        90,
        trials=[{"test": "stance", "side": "right", "value": 8.2}],
        follows=first.id,
    )
    async with open_program() as driver:
        await driver.press("v", "enter", "o", "enter", "w")
        assert "Change since" in await driver.read_on()
        await driver.press("enter", "o", "1", "w")
        assert "Change since" not in await driver.read_on()


async def test_a_visit_that_is_not_finished_is_not_opened_to_read(open_program, store) -> None:
    made = save(store, 0)
    store.save(made.model_copy(update={"finished": None}))
    async with open_program() as driver:
        await driver.press("v", "enter")
        assert "open a visit" not in driver.text()
        await driver.press("o")
        assert isinstance(driver.app.screen, ClientScreen)
        assert not driver.app.controller.is_open


async def test_a_demo_visit_opens_from_its_patient(open_program) -> None:
    protocol = load_protocol([protocols_folder()], DEFAULT_BATTERY)
    async with open_program(protocol=protocol, demo_folder=demo_folder()) as driver:
        await driver.press("v", "enter", "o", "3")
        assert isinstance(driver.app.screen, ResultScreen)
        assert driver.app.controller.session.synthetic
        assert driver.app.controller.session.follows
        assert len(driver.app.controller.earlier_visits) == 2
        # Against the first of all visits, wherever their files are.
        assert "Better: 4 m walk 0.76 to 1.13 m/s" in driver.words()
        await driver.press("w", "enter")
        assert isinstance(driver.app.screen, ClientScreen)


async def add_words(driver, words: str) -> None:
    """Add words to the latest visit, from the page of its patient."""
    await driver.press("a", "w")
    await driver.type(words)
    await driver.press("enter")
    await driver.type("told later")
    await driver.press("enter")


@pytest.mark.parametrize("keys", [(), ("f",)])
async def test_an_addendum_writes_a_written_note_anew_and_the_old_one_stays(
    open_program, store, keys
) -> None:
    made = save(store, 0)
    notes = store.folder / "notes"
    async with open_program() as driver:
        await driver.press("v", "enter", "o", "w", *keys, "w", "1", "enter")
        old = (notes / f"{made.id}.txt").read_text("utf-8")
        await add_words(driver, "wore a brace")
        assert "the note written anew" in driver.words()
        await add_words(driver, "and new shoes")
    now = (notes / f"{made.id}.txt").read_text("utf-8")
    between = (notes / f"{made.id}-before-addendum-2.txt").read_text("utf-8")
    assert (notes / f"{made.id}-before-addendum-1.txt").read_text("utf-8") == old
    assert len(list(notes.iterdir())) == 3
    assert [("brace" in one, "shoes" in one) for one in (old, between, now)] == [
        (False, False),
        (True, False),
        (True, True),
    ]
    # The appendix is there again where it was.
    assert all((one.count("\n") > MOST_LINES) is bool(keys) for one in (old, between, now))


async def test_an_addendum_that_changes_the_sheet_writes_it_anew_too(open_program, store) -> None:
    made = save(store, 0)
    notes = store.folder / "notes"
    async with open_program(size=(120, 40)) as driver:
        await driver.press("v", "enter", "o", "w", "w", "1", "p", "w", "1")
        sheet = notes / f"{made.id}-patient.txt"
        text = sheet.read_text("utf-8")
        sheet.write_text("a plan of yesterday")
        await driver.press("b", "enter")
        await add_words(driver, "wore a brace")
        assert "the note and the sheet written anew; the old ones are beside" in driver.words()
    assert sheet.read_text("utf-8") == text
    old = notes / f"{made.id}-patient-before-addendum-1.txt"
    assert old.read_text() == "a plan of yesterday"


async def test_a_second_correction_says_which_addendum_it_replaces(open_program, store) -> None:
    made = save(store, 0)
    async with open_program(size=(120, 40)) as driver:
        await driver.press("v", "enter")
        for value, replaces in (("3", False), ("4", True)):
            await driver.press("a", "down", "enter", "1")
            await driver.type(value)
            await driver.press("enter")
            assert f"becomes {value}." in driver.words()
            assert ("It replaces what addendum 1 says of trial 1." in driver.words()) is replaces
            await driver.type("late")
            await driver.press("enter")
    assert [one.value for one in store.load(made.id).addenda] == [3.0, 4.0]


async def test_an_addendum_writes_no_note_where_none_is(open_program, store) -> None:
    save(store, 0)
    async with open_program() as driver:
        await driver.press("v", "enter")
        await add_words(driver, "wore a brace")
        assert "Added; the note of that visit says so." in driver.words()
    assert not (store.folder / "notes").exists()


async def test_an_old_note_that_is_there_already_is_not_written_over(open_program, store) -> None:
    made = save(store, 0)
    notes = store.folder / "notes"
    notes.mkdir()
    for name, text in ((made.id, "signed"), (f"{made.id}-before-addendum-1", "my own")):
        (notes / f"{name}.txt").write_text(text)
    async with open_program() as driver:
        await driver.press("v", "enter")
        await add_words(driver, "wore a brace")
    assert (notes / f"{made.id}-before-addendum-1.txt").read_text() == "my own"
    assert (notes / f"{made.id}-before-addendum-2.txt").read_text() == "signed"
    assert "brace" in (notes / f"{made.id}.txt").read_text("utf-8")


async def test_a_note_that_cannot_be_written_anew_stays_and_the_addendum_is_added(
    open_program, store, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = save(store, 0)
    note = store.folder / "notes" / f"{made.id}.txt"
    note.parent.mkdir()
    note.write_text("signed")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(written_papers, "write_whole", full)
    async with open_program(size=(120, 40)) as driver:
        await driver.press("v", "enter")
        await add_words(driver, "wore a brace")
        assert "could not be written anew: the disk is full." in driver.words()
    assert note.read_text() == "signed"
    assert store.load(made.id).addenda[0].text == "wore a brace"


def test_the_patient_seen_last_is_first_whatever_the_zone_of_the_clock() -> None:
    begun = (
        datetime(2026, 3, 2, 10, tzinfo=timezone(timedelta(hours=2))),
        datetime(2026, 3, 2, 9, tzinfo=UTC),
    )
    earlier, later = (
        SessionSummary(f"s-{at.hour}", f"K-{at.hour}", at, None, Path("a.toml")) for at in begun
    )
    assert patients_of([earlier, later]) == [(later,), (earlier,)]
