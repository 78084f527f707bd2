"""Practice on the screen: the interview, the tests, the answer, and what is shown only then."""

from __future__ import annotations

from pathlib import Path

import pytest
from support.form_keys import SHIPPED_NOT_ASKED
from support.hands import Driver
from support.practice_case import PROTOCOL, STANCE, case_data, load_case, write_case
from support.practice_hands import (
    answer_rightly,
    commit,
    do_rightly,
    only_run,
    open_case,
)

from screen_tui.files.places import (
    demo_folder,
    practice_cases_folder,
    practice_runs_folder,
    preferences_file,
)
from screen_tui.practice.drawn import drawn_case
from screen_tui.practice.files import assignment_text
from screen_tui.practice.run import Assignment, ToDraw
from screen_tui.preferences import preferred
from screen_tui.session.store import SessionStore
from screen_tui.tui.screens import practice
from screen_tui.tui.screens.practice import (
    CommitScreen,
    PracticeQuestionsScreen,
    PracticeScreen,
    ReplayScreen,
    RevealScreen,
    StoryScreen,
)
from screen_tui.tui.screens.start import StartScreen
from screen_tui.tui.screens.test import TestScreen

UNLOADED, REFER = "four-weeks-on-crutches", "back-from-far-away"
SMALL_STANCE = {**STANCE, "vary_s": 0.0, "pain": 3}


@pytest.fixture(autouse=True)
def runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of practice runs, beside that of the sessions."""
    monkeypatch.setenv("SCREEN_TUI_HOME", str(tmp_path))
    return tmp_path / "practice"


@pytest.fixture
def small_case(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """One case alone: a stance on the left leg that lasts 12 s, with one sign."""
    path = write_case(case_data(SMALL_STANCE), tmp_path / "cases")
    monkeypatch.setattr(practice, "practice_cases_folder", lambda: path.parent)
    return path


def shipped(case_id: str):
    return load_case(practice_cases_folder() / f"{case_id}.toml", PROTOCOL)


async def to_the_stance(driver: Driver, path: Path) -> TestScreen:
    await open_case(driver, "small-case")
    await answer_rightly(driver, load_case(path, PROTOCOL))
    await driver.press("j")
    await driver.click("Single-leg stance, left")
    await driver.press("enter")
    page = driver.app.screen
    assert isinstance(page, TestScreen)
    assert page.itinerary.item.test == "single-leg-stance"
    assert page.itinerary.item.side == "left"
    return page


async def the_patient_starts(driver: Driver, page: TestScreen) -> float:
    """Ask the patient to begin; gives the time at which the foot will leave the floor."""
    await driver.press("space")
    return driver.clock.monotonic() + page.patient.stage(page.trial).timeline.lead_in_s


async def test_who_errs_in_nothing_has_a_run_without_error(
    open_program, runs: Path, store: SessionStore
) -> None:
    case = shipped(UNLOADED)
    async with open_program(protocol=PROTOCOL) as driver:
        await open_case(driver, UNLOADED)
        await answer_rightly(driver, case)
        await do_rightly(driver)
        # Quadriceps, left, no second one, sure; nothing to test next.
        await commit(driver, "1", "1", "1", "1", "5", "1", *"12", "enter", "enter")
        assert isinstance(driver.app.screen, RevealScreen)
        answers = await driver.read_on()
        assert "As the author's." in answers
        assert "A lag of 10 degrees on the left" in answers
        await driver.press("enter")
        scores = await driver.read_on()
        assert "No test was begun that should not have been." in scores
        assert "Ticked otherwise than meant: none." in scores
        assert "Left unasked, with more behind it: nothing." in scores
    run = only_run(runs)
    assert run.case == UNLOADED
    assert run.result.right
    assert len(run.result.errors_repetitions) == 2
    assert set(run.result.errors_repetitions) == {0.0}
    assert (run.result.misses, run.result.false_alarms) == (0, 0)
    assert run.result.hits >= 2
    assert run.result.wrong_ticks == ()
    assert run.result.unsafe == 0
    assert not store.folder.exists() or not list(store.folder.glob("*.toml"))


async def test_who_is_late_blind_and_sure_reads_so(
    open_program, runs: Path, small_case: Path
) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        page = await to_the_stance(driver, small_case)
        off = await the_patient_starts(driver, page)
        await driver.press_at("space", off + 0.2)
        driver.pass_time(off + 13.0 - driver.clock.monotonic())
        driver.tick()
        await driver.press_at("space", off + 13.0)  # the foot was down at 12 s
        await driver.press("5", "p")
        assert 'Pain: "3 of 10"' in driver.words()
        await driver.press("2", "e", "enter", "g")
        await commit(driver, "1", "7", "1", "5", "1", "enter", "enter")
        assert "Not as the author's." in await driver.read_on()
        await driver.press("enter")
        scores = await driver.read_on()
        assert "Times (1): on average +0.80 s" in scores
        assert "Furthest off: Single-leg stance, left, 12.80 s; true 12.00 s." in scores
        assert "Seen 0 of 1 that were there (0 %); marked 1 of 7" in scores
        assert "Missed: pelvic drop (Single-leg stance, left)" in scores.replace("Pelvis", "pelvis")
        assert "Your answer was not right. Brier score 0.81" in scores
    result = only_run(runs).result
    assert result.errors_s == (0.8,)
    assert (result.hits, result.misses, result.false_alarms) == (0, 1, 1)
    assert not result.right


async def test_the_patient_moves_and_speaks_beside_the_number_and_never_names_a_sign(
    open_program, small_case: Path
) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        page = await to_the_stance(driver, small_case)
        assert "ask to begin" in driver.text()
        assert "Gets ready, both feet down." in driver.text()
        await driver.wait(20.0)
        assert "Gets ready" in driver.text(), "nobody has asked the patient to begin"
        off = await the_patient_starts(driver, page)
        standing = driver.text()
        assert "start" in standing
        driver.pass_time(off + 0.5 - driver.clock.monotonic())
        await driver.wait(0.0)
        assert "The foot leaves the floor." in driver.text()
        await driver.press_at("space", driver.clock.monotonic())
        await driver.wait(3.0)
        assert "The hip sinks at the right." in driver.text()
        assert "[x]" not in driver.text()
        await driver.press("w")
        assert "The hip sinks" not in driver.text(), "it cannot be seen from the side"
        assert "from the front" in driver.text()
        await driver.press("w")
        driver.pass_time(off + 8.5 - driver.clock.monotonic())
        await driver.wait(0.0)
        assert '"This is hard."' in driver.text()
        driver.pass_time(off + 12.5 - driver.clock.monotonic())
        await driver.wait(0.0)
        assert "The foot is down." in driver.text()


async def test_a_start_that_was_missed_can_be_asked_for_again(
    open_program, small_case: Path
) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        page = await to_the_stance(driver, small_case)
        await the_patient_starts(driver, page)
        assert "ask to begin" not in driver.text()
        await driver.wait(40.0)
        assert "ask to begin" in driver.text()
        await driver.press("space")
        assert "Gets ready" in driver.text()
        assert not page.trial.unsaved


async def test_both_views_are_beside_the_number_where_there_is_room(
    open_program, small_case: Path
) -> None:
    async with open_program(protocol=PROTOCOL, size=(80, 24)) as driver:
        page = await to_the_stance(driver, small_case)
        assert "from the side" not in driver.text()
        frame = page.patient.stage(page.trial).frame(page.trial, driver.clock.monotonic())
        for line in frame.both:
            assert line.strip() in driver.text()


async def test_somebody_who_must_be_referred_is_referred_without_a_test(
    open_program, runs: Path
) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await open_case(driver, REFER)
        await answer_rightly(driver, shipped(REFER))
        await commit(driver, "4", "2", "5")
        assert "As the author's." in await driver.read_on()
        await driver.press("enter")
        scores = await driver.read_on()
        assert "Referred first, as had to be." in scores
        assert "Soon enough; needed today: a doctor sees this person." in scores
        await driver.press("enter")
        assert "done once, 1 right; last right, safe" in driver.words()
        await driver.press("p")
        assert "Had to be referred first: 1; missed: 0." in driver.words()
    assert only_run(runs).commitment.answer == "refer-first"


async def test_nothing_in_practice_promises_a_note(open_program, small_case: Path) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await open_case(driver, "small-case")
        await driver.press("1", "down", "down", "y")
        assert "then to your answer." in driver.words()
        assert "note" not in driver.words()
        await driver.press("enter")
        tests = driver.app.screen.tests(80)
        assert "Enter ends the session with your answer." in [line[-1].text for line in tests]
    async with open_program(protocol=PROTOCOL) as driver:
        await to_the_stance(driver, small_case)
        await driver.press("s")
        assert "why is it not done?" in driver.words()
        assert "note" not in driver.words()


async def test_a_referral_that_was_missed_is_named(open_program, runs: Path) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await open_case(driver, REFER)
        await driver.press("2", *["n"] * len(PROTOCOL.cautions))
        await driver.press("1", "enter", "1", "enter", "1", "enter", *SHIPPED_NOT_ASKED)
        await driver.press(*["enter"] * 2)
        assert isinstance(driver.app.screen, TestScreen)
        await driver.type("3")
        await driver.press("enter", "5", "enter", "enter", "g")
        await commit(driver, "3", "3", "1", "enter", "enter")
        await driver.press("enter")
        scores = await driver.read_on()
        assert "MISSED: this person had to be referred first." in scores
        assert "UNSAFE: Knee extension, left was begun. Refer first" in scores
        assert "Left unasked, with more behind it" in scores
    assert only_run(runs).result.refer_missed


@pytest.mark.parametrize("way", ["g", "!"])
async def test_no_way_leads_to_a_result_before_the_answer(
    open_program, runs: Path, small_case: Path, way: str
) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await to_the_stance(driver, small_case)
        await driver.press(way)
        if way == "!":
            # No note is written of a simulated patient.
            assert "The trials done so far count, and your answer is next." in driver.words()
            await driver.press("1")
        assert isinstance(driver.app.screen, CommitScreen)
        for leads_on in (driver.app.go_result, driver.app.go_plan, driver.app.go_note):
            leads_on()
            await driver.settle()
            assert isinstance(driver.app.screen, CommitScreen)
        assert "author" not in driver.text()
    assert not runs.exists()


async def test_leaving_keeps_nothing_and_lets_the_session_go(
    open_program, runs: Path, small_case: Path, store: SessionStore
) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await to_the_stance(driver, small_case)
        assert driver.app.controller.session.synthetic
        await driver.press("q", "1")
        assert isinstance(driver.app.screen, PracticeScreen)
        assert not driver.app.controller.is_open
        assert driver.app.controller.unsaved == ()
        assert "nothing of it was saved" in driver.words()
        await driver.press("b")
        assert isinstance(driver.app.screen, StartScreen)
        assert "Unfinished" not in driver.text()
    assert not runs.exists()
    assert not store.folder.exists() or not list(store.folder.iterdir())


async def test_a_run_that_cannot_be_saved_can_be_saved_again(open_program, runs: Path) -> None:
    runs.write_text("in the way", encoding="utf-8")
    async with open_program(protocol=PROTOCOL) as driver:
        # The list tells it too, and practice goes on without its runs.
        await driver.press("p")
        runs.unlink()
        await driver.press("b")
        await open_case(driver, REFER)
        await answer_rightly(driver, shipped(REFER))
        runs.write_text("in the way", encoding="utf-8")
        await commit(driver, "4", "2", "5")
        assert "could not be saved" in driver.words()
        # Neither the way to the cases nor the end of the program loses it unasked.
        await driver.press("enter", "enter")
        assert "leave, and lose this run" in driver.words()
        await driver.press("b", "ctrl+q")
        assert "leave, and lose what is not saved" in driver.words()
        await driver.press("b")
        assert isinstance(driver.app.screen, RevealScreen)
        runs.unlink()
        await driver.press("s")
        assert "could not be saved" not in driver.words()
    assert only_run(runs).case == REFER


async def test_the_answer_can_be_clicked_and_taken_back(open_program, small_case: Path) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await to_the_stance(driver, small_case)
        await driver.press("g")
        await driver.click("nothing found")
        assert "Answer: nothing found that limits the person" in driver.words()
        await driver.click("Backspace")
        assert "What is the answer?" in driver.text()
        await driver.press("b")
        assert isinstance(driver.app.screen, TestScreen)


async def test_cases_of_ones_own_are_listed_and_a_broken_one_is_named(
    open_program, runs: Path
) -> None:
    write_case(case_data(SMALL_STANCE), runs / "cases")
    (runs / "cases" / "broken.toml").write_text("practice_case = 1\n", encoding="utf-8")
    async with open_program(protocol=PROTOCOL, size=(80, 24)) as driver:
        await driver.press("p")
        assert "1 file or folder cannot be used; f says why." in driver.words()
        await driver.press("up")
        assert "A small case: not done yet" in driver.words()
        await driver.press("f")
        # The path may be wrapped anywhere; how long it is depends on the machine.
        assert "broken.toml" in "".join(driver.text().split())


async def test_a_new_patient_is_drawn_by_difficulty_and_seed(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await driver.press("p", "n", "1", "0")
        await driver.type("12")
        await driver.press("enter")
        drawn = drawn_case(PROTOCOL, "easy", 12)
        assert isinstance(driver.app.screen, StoryScreen)
        assert driver.app.screen.case == drawn
        text = driver.words().lower()
        assert drawn.patient.label.lower() in text
        assert not [one.name for one in PROTOCOL.drivers if one.name.lower() in text]
        await driver.press("enter")
        assert isinstance(driver.app.screen, PracticeQuestionsScreen)


@pytest.mark.parametrize("typed", ["1000000", "seven"])
async def test_a_seed_that_is_none_stays_with_a_sentence_to_be_mended(
    open_program, typed: str
) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await driver.press("p", "n", "2", "0")
        await driver.type(typed)
        await driver.press("enter")
        assert "A seed is a whole number from 0 to 999999" in driver.words()
        assert f"> {typed}" in driver.text()
        await driver.press(*["backspace"] * len(typed))
        assert "A seed is" not in driver.words()
        await driver.type("12")
        await driver.press("enter")
        assert driver.app.screen.case == drawn_case(PROTOCOL, "middle", 12)


async def test_what_is_assigned_comes_first_and_is_drawn_when_it_is_opened(
    open_program, runs: Path
) -> None:
    folder = runs / "cases"
    folder.mkdir(parents=True)
    listed = Assignment(title="Week", drawn=(ToDraw(difficulty="easy", seed=12),))
    (folder / "week.toml").write_text(assignment_text(listed), encoding="utf-8")
    async with open_program(protocol=PROTOCOL) as driver:
        await driver.press("p")
        assert "Drawn patient, easy, seed 12: not done yet" in driver.words()
        await driver.press("enter")
        assert driver.app.screen.case == drawn_case(PROTOCOL, "easy", 12)


async def test_the_code_and_the_level_are_in_the_run_and_stay_for_the_next(
    open_program, runs: Path, small_case: Path
) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await driver.press("p", "c")
        await driver.type("S-07")
        await driver.press("enter", "v")
        assert "code S-07" in driver.words()
        assert "figure only" in driver.words()
        await driver.press("enter", "enter")
        await answer_rightly(driver, load_case(small_case, PROTOCOL))
        await driver.press("g")
        await commit(driver, "3", "3", "1", "enter", "enter")
        await driver.press("enter", "enter")
        assert "code S-07" in driver.words()
        assert "figure only" in driver.words()
    run = only_run(runs)
    assert (run.student, run.level, run.series) == ("S-07", "figure", run.id)
    assert run.unchanged


async def test_a_code_that_was_set_without_a_run_is_there_after_the_next_start(
    open_program,
) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await driver.press("p", "c")
        await driver.type("S-07")
        await driver.press("enter")
        assert "Code S-07. Saved." in driver.words()
    async with open_program(protocol=PROTOCOL, preferred=preferred(preferences_file())) as driver:
        await driver.press("p")
        assert "code S-07" in driver.words()


async def test_a_name_is_refused_as_a_code(open_program) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await driver.press("p", "c")
        await driver.type("anna.smith@example.org")
        await driver.press("enter")
        assert "no name, no date" in driver.words()


async def test_with_the_figure_alone_nothing_that_is_seen_is_put_in_words(
    open_program, small_case: Path
) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        await driver.press("p", "v", "b")
        await driver.press("p", "v")
        page = driver.app.screen
        page.at = 0
        await driver.press("enter", "enter")
        await answer_rightly(driver, load_case(small_case, PROTOCOL))
        await driver.press("j")
        await driver.click("Single-leg stance, left")
        await driver.press("enter")
        page = driver.app.screen
        assert "Gets ready, both feet down." in driver.text()
        off = await the_patient_starts(driver, page)
        driver.pass_time(off + 0.5 - driver.clock.monotonic())
        await driver.wait(0.0)
        assert "The foot leaves the floor." not in driver.text()
        await driver.press_at("space", driver.clock.monotonic())
        await driver.wait(3.0)
        assert "The hip sinks" not in driver.text()
        driver.pass_time(off + 8.5 - driver.clock.monotonic())
        await driver.wait(0.0)
        assert '"This is hard."' in driver.text(), "what is said is heard"
        driver.pass_time(off + 12.5 - driver.clock.monotonic())
        await driver.wait(0.0)
        assert "The foot is down." not in driver.text(), "when it ends is for the student to see"
        await driver.press_at("space", driver.clock.monotonic())
        await driver.wait(0.0)
        assert "The foot is down." in driver.text()


async def test_a_replay_names_each_sign_as_it_shows(open_program, small_case: Path) -> None:
    async with open_program(protocol=PROTOCOL) as driver:
        page = await to_the_stance(driver, small_case)
        off = await the_patient_starts(driver, page)
        await driver.press_at("space", off)
        driver.pass_time(off + 12.0 - driver.clock.monotonic())
        driver.tick()
        await driver.press_at("space", off + 12.0)
        await driver.press("5", "e", "enter", "g")
        await commit(driver, "3", "3", "1", "enter", "enter")
        await driver.press("enter", "r")
        replay = driver.app.screen
        assert isinstance(replay, ReplayScreen)
        assert "Single-leg stance, left" in driver.words()
        sink = replay.replays[0][1].first_seen["pelvis-drops"]
        replay.tick()
        driver.pass_time(sink + 0.5)
        replay.tick()
        await driver.settle()
        assert "> PELVIC DROP" in driver.words()
        assert "you did not mark it" in driver.words()
        assert "Marked, but not there: Arms move." in driver.words()
        await driver.press("space")
        at = replay.t
        driver.pass_time(3.0)
        replay.tick()
        assert replay.t == at, "it halts"
        await driver.press("left", "left", "left")
        assert replay.t == max(at - 6.0, 0.0)
        assert "> PELVIC DROP" not in driver.words()
        await driver.press("b")
        assert isinstance(driver.app.screen, RevealScreen)


async def test_a_run_of_a_demonstration_is_saved_for_good_when_asked(
    open_program, store: SessionStore, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SCREEN_TUI_HOME", str(tmp_path / "own"))
    own = tmp_path / "own" / "practice"
    async with open_program(protocol=PROTOCOL, demo_folder=demo_folder()) as driver:
        await open_case(driver, REFER)
        await answer_rightly(driver, shipped(REFER))
        await commit(driver, "4", "2", "5")
        await driver.press("enter")
        assert not own.exists()
        assert "save for good" in driver.words()
        await driver.press("f")
        assert "as well" in driver.words()
        assert "save for good" not in driver.words()
    assert only_run(own) == only_run(practice_runs_folder(store.folder))
