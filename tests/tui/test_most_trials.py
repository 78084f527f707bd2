"""A screen holds at most so many trials; one more is refused before it is begun."""

from __future__ import annotations

from support import small_protocol as small

from screen_tui.session.file import load_session
from screen_tui.session.model import MOST_TRIALS, Session
from screen_tui.session.store import SessionStore
from screen_tui.tui.screens.test import FULL

STANCE = {"test": "stance", "side": "right", "value": 6.0}


def saved(store: SessionStore, trials: int, **about: object) -> Session:
    """An unfinished session with that many trials, in the folder of the program."""
    session = small.session(*[STANCE] * trials, id="2026-03-02-0915-7f3a", **about)
    store.save(session)
    return session


def on_disk(store: SessionStore) -> Session:
    (summary,) = store.list()
    assert not summary.problem
    return load_session(summary.path)


async def test_the_last_trial_is_saved_and_one_more_refused(open_program, store) -> None:
    saved(store, MOST_TRIALS - 1)
    async with open_program() as driver:
        await driver.press("1")
        assert driver.app.screen.itinerary.item.test == "bend"
        await driver.press("1", "2", "enter")
        assert len(on_disk(store).trials) == MOST_TRIALS
        assert FULL not in driver.words()
        await driver.press("1")
        assert FULL in driver.words()
        assert on_disk(store).under_way is None
        await driver.press("enter")
        await driver.press("g")
        assert "Answer 1/3" in driver.text()
    assert len(on_disk(store).trials) == MOST_TRIALS


async def test_no_clock_starts_on_a_full_screen(open_program, store) -> None:
    saved(store, MOST_TRIALS)
    async with open_program() as driver:
        await driver.press("1", "n", "n", "space")
        assert FULL in driver.words()
        assert not driver.app.screen.trial.unsaved
        await driver.press("n")
        assert FULL not in driver.words()


async def test_a_trial_the_program_died_in_stays_in_a_full_file(open_program, store) -> None:
    saved(store, MOST_TRIALS, under_way={**STANCE, "void": "interrupted"})
    before = on_disk(store)
    async with open_program() as driver:
        await driver.press("1")
        assert "Stance, right was interrupted" in driver.words()
        await driver.press("space", "q")
    assert on_disk(store) == before
