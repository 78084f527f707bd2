"""Start: what can be begun, resumed and looked at."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from support import small_protocol as small
from support.protocol_folder import write_session

from screen_tui.session.store import SessionStore
from screen_tui.tui.screens.before_testing import BeforeTestingScreen
from screen_tui.tui.screens.result import ResultScreen
from screen_tui.tui.screens.start import MOST_RECENT
from screen_tui.tui.screens.test import TestScreen
from screen_tui.tui.screens.visits import ClientScreen


async def test_an_empty_start_offers_a_new_screen_help_and_quitting(open_program) -> None:
    async with open_program() as driver:
        text = driver.text()
        assert "New session" in text
        assert "Not a diagnosis" in text
        await driver.press("?")
        assert "Stop at once" in await driver.read_on()
        await driver.press("b", "q")
        assert driver.app.return_code == 0


async def test_an_unfinished_screen_is_listed_by_label_and_time_and_resumed(
    open_program, store: SessionStore
) -> None:
    kept = {"test": "stance", "side": "right", "value": 31.0}
    store.save(small.session(kept, intake={"side": "left", "goals": ["walking"]}))
    async with open_program() as driver:
        assert "K-001, begun 2026-03-02 09:15" in driver.text()
        await driver.press("1")
        assert isinstance(driver.app.screen, TestScreen)
        await driver.press("n")  # the knee of the other leg
        assert driver.app.controller.session.trials_of("stance", "right")[0].value == 31.0
        assert store.load("2026-03-02-0915-7f3a").trials == driver.app.controller.session.trials


async def test_a_patient_seen_lately_is_listed_and_shown(open_program, store: SessionStore) -> None:
    store.save(small.session(finished=small.STARTED))
    async with open_program() as driver:
        assert "begun" not in driver.text()
        assert "K-001: 1 visit, 2026-03-02" in driver.text()
        await driver.press("down", "enter")
        assert isinstance(driver.app.screen, ClientScreen)
        await driver.press("r")
        assert isinstance(driver.app.screen, BeforeTestingScreen)


async def test_the_patients_seen_last_come_first_and_a_search_finds_the_others(
    open_program, store: SessionStore
) -> None:
    for at in range(MOST_RECENT + 3):
        when = small.STARTED + timedelta(days=at)
        one = small.session(
            id=f"2026-03-{at + 1:02d}-0915-0000",
            started=when,
            finished=when,
            client={"label": f"K-{at}"},
        )
        store.save(one)
    async with open_program((80, 24)) as driver:
        lines = [line.strip(" >") for line in driver.text().splitlines() if "1 visit" in line]
        wanted = [f"K-{at}:" for at in range(MOST_RECENT + 2, 2, -1)]
        assert [line.split()[0] for line in lines] == wanted
        await driver.press("/", "0")
        assert "K-0" in driver.text()


@pytest.mark.parametrize("size", [(60, 20), (30, 6)])
async def test_enter_goes_on_with_the_latest_and_never_begins_anew_beside_it(
    open_program, store: SessionStore, size
) -> None:
    more = {"intake": {"side": "left", "goals": ["walking"]}}
    early, late = small.STARTED - timedelta(days=9), small.STARTED - timedelta(days=8)
    store.save(small.session(client={"label": "K-1"}, started=early, **more))
    store.save(small.session(id="2026-03-03-0915-0000", started=late, **more))
    async with open_program(size) as driver:
        await driver.press("enter")
        assert isinstance(driver.app.screen, TestScreen)
        assert driver.app.controller.session.started == late
    async with open_program(size) as driver:
        await driver.press("n", "2")
        assert isinstance(driver.app.screen, BeforeTestingScreen)
    async with open_program(size) as driver:
        await driver.press("enter")
        form = driver.app.screen.form
        assert form.answers == {"side": "right"}, "the answers were begun last"


async def test_what_another_window_has_is_not_under_the_cursor(
    open_program, store: SessionStore
) -> None:
    more = {"intake": {"side": "left", "goals": ["walking"]}}
    late = small.STARTED + timedelta(days=1)
    store.save(small.session(client={"label": "K-1"}, **more))
    store.save(small.session(id="2026-03-03-0915-0000", started=late, **more))
    other = SessionStore(store.folder)
    assert other.hold("2026-03-03-0915-0000")
    async with open_program() as driver:
        await driver.press("enter")
        assert driver.app.controller.session.client.label == "K-1"


async def test_a_broken_file_is_shown_and_left_alone(open_program, store: SessionStore) -> None:
    store.folder.mkdir()
    broken = store.folder / "2026-03-02-0915-aaaa.toml"
    broken.write_text("format = 1\nid = [", encoding="utf-8")
    async with open_program(size=(80, 24)) as driver:
        assert "cannot be used" in driver.text()
        assert "2026-03-02-0915-aaaa.toml:2" in "".join(driver.text().split())
    assert broken.read_text(encoding="utf-8") == "format = 1\nid = ["


async def test_a_demo_session_is_marked_invented_and_never_written(
    open_program, tmp_path: Path, store: SessionStore
) -> None:
    demos = tmp_path / "demos"
    demos.mkdir()
    demo = write_session(
        small.session(synthetic=True, finished=small.STARTED),
        demos / "2026-03-02-0915-7f3a.toml",
    )
    before = demo.read_bytes()
    async with open_program(demo_folder=demos) as driver:
        assert "invented" in driver.text()
        await driver.press("down", "enter")
        assert isinstance(driver.app.screen, ResultScreen)
        assert "INVENTED, read-only" in driver.text()
        await driver.press("enter", "enter", "enter")  # plan, note, and back to Start
        assert "New session" in driver.text()
    assert demo.read_bytes() == before
    assert not store.folder.exists()


async def test_a_session_of_another_protocol_is_refused_with_a_sentence(
    open_program, store: SessionStore
) -> None:
    store.save(small.session({"test": "unknown-test", "value": 1.0}))
    async with open_program() as driver:
        await driver.press("1")
        assert "is not a test of this protocol" in driver.words()


async def test_keys_without_a_meaning_do_nothing(open_program) -> None:
    async with open_program() as driver:
        before = driver.text()
        await driver.press("z", "7", "f5", "left", "%", "escape", "ctrl+t")
        assert driver.text() == before
