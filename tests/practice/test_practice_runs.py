"""A run is kept apart from every session, whole or not at all, and its figures add up."""

from __future__ import annotations

import errno
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from support.faulty_disk import STEPS, FaultyDisk
from support.practice_case import PROTOCOL, STANCE, case_of
from support.students import perfect_commitment, sloppy_commitment, sloppy_session

from screen_tui.cli.main import main
from screen_tui.errors import FileRefusedError, SaveFailedError
from screen_tui.files.places import practice_runs_folder, sessions_folder
from screen_tui.files.toml import parse_toml
from screen_tui.practice.case import Interview
from screen_tui.practice.files import RunStore, run_in, run_text
from screen_tui.practice.run import (
    PracticeRun,
    Progress,
    digest_of,
    finished_run,
    progress_of,
    series_of,
)
from screen_tui.practice.score_report import progress_document
from screen_tui.practice.scoring import score
from screen_tui.practice.staging import true_session
from screen_tui.report.document import Bars
from screen_tui.session.store import SessionStore

CASE = case_of(
    STANCE,
    {"test": "walk-4m", "ends_s": 3.0, "vary_s": 0.1, "pain": 2},
    {"test": "chair-stands-30s", "pace": {"count": 12, "first_s": 2.0, "last_s": 2.4}},
)
BEGUN = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)


def run(number: int = 1, *, sloppy: bool = False, student: str = "", **more: Any) -> PracticeRun:
    begun = BEGUN + timedelta(days=number)
    done = (sloppy_session if sloppy else true_session)(CASE, PROTOCOL, number)
    # The ids do not follow the dates: another computer, or a clock that was set back.
    session = done.model_copy(update={"id": f"2026-05-run-{9 - number}", "started": begun})
    commitment = (sloppy_commitment if sloppy else perfect_commitment)(CASE)
    interview = Interview(CASE).ask("clot").ask("clot")
    found = score(CASE, PROTOCOL, number, session, commitment, interview)
    now = begun + timedelta(minutes=12)
    return finished_run(CASE, number, session, interview, commitment, found, now, student, **more)


def test_a_run_is_read_back_as_it_was_written() -> None:
    for one in (run(), run(sloppy=True, student="S-07")):
        text = run_text(one)
        assert run_in(parse_toml(text.encode(), Path("run.toml"))) == one


def test_a_run_holds_what_is_needed_to_look_at_it_again() -> None:
    one = run(3)
    assert (one.case, one.case_digest, one.seed) == ("small-case", digest_of(CASE), 3)
    assert one.asked == {"clot": 2}
    session = true_session(CASE, PROTOCOL, one.seed).model_copy(
        update={"client": one.patient, "intake": one.intake, "trials": one.trials}
    )
    again = score(CASE, PROTOCOL, one.seed, session, one.commitment)
    assert [pair.error for pair in again.pairs] == pytest.approx(
        [*one.result.errors_s, *one.result.errors_repetitions], abs=1e-3
    )
    assert again.sign_counts == one.result.sign_counts


def test_a_saved_run_is_for_its_owner_alone_and_listed_by_date(tmp_path: Path) -> None:
    store = RunStore(tmp_path / "practice")
    assert store.found() == ((), ())
    paths = [store.save(run(number)) for number in (2, 1)]
    assert stat.S_IMODE(paths[0].stat().st_mode) == 0o600
    assert stat.S_IMODE(store.folder.stat().st_mode) == 0o700
    (store.folder / "broken.toml").write_text("practice_run = 1\n", encoding="utf-8")
    runs, (problem, *_) = store.found()
    assert runs == (run(1), run(2))
    assert "is missing" in problem


def test_saving_the_same_run_again_changes_nothing_and_another_is_never_replaced(
    tmp_path: Path,
) -> None:
    store = RunStore(tmp_path)
    path = store.save(run())
    before = path.stat()
    assert store.save(run()) == path
    assert path.stat().st_mtime_ns == before.st_mtime_ns
    with pytest.raises(SaveFailedError, match="was left as it is"):
        store.save(run(sloppy=True))
    assert run_in(parse_toml(path.read_bytes(), path)) == run()


def test_a_new_id_is_one_no_file_bears(tmp_path: Path) -> None:
    store = RunStore(tmp_path)
    (tmp_path / "2026-05-04-0900-aaaa.toml").touch()
    drawn = iter(["aaaa", "bbbb"])
    assert store.new_id(BEGUN, lambda: next(drawn)) == "2026-05-04-0900-bbbb"


@pytest.mark.parametrize("step", STEPS)
def test_a_disk_that_refuses_is_named_and_leaves_no_half_run(
    step: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = RunStore(tmp_path)
    disk = FaultyDisk(monkeypatch)
    disk.fail(step, errno.ENOSPC)
    with pytest.raises(SaveFailedError, match="the disk is full"):
        store.save(run())
    disk.heal()
    assert store.save(run()).exists()
    assert store.found() == ((run(),), ())


def test_a_newer_or_foreign_file_is_refused_and_left(tmp_path: Path) -> None:
    newer = run_text(run()).replace("practice_run = 2", "practice_run = 3")
    with pytest.raises(FileRefusedError, match="comes from a newer version"):
        run_in(parse_toml(newer.encode(), tmp_path / "run.toml"))
    with pytest.raises(FileRefusedError, match="not a practice run"):
        run_in(parse_toml(b"x = 1\n", tmp_path / "run.toml"))


def test_check_knows_a_run(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = RunStore(tmp_path).save(run())
    assert main(["check", str(path)]) == 0
    assert "practice run, in order" in capsys.readouterr().err


def test_runs_lie_apart_from_sessions(tmp_path: Path) -> None:
    assert practice_runs_folder().parent == sessions_folder().parent
    assert practice_runs_folder() != sessions_folder()
    own = practice_runs_folder(tmp_path)
    RunStore(own).save(run())
    assert SessionStore(tmp_path).list() == ()


def figure(number: int, *, sloppy: bool = False) -> PracticeRun:
    """A run at the level of the figure alone."""
    return run(number, sloppy=sloppy, level="figure")


@pytest.fixture(scope="module")
def progress() -> Progress:
    return progress_of([figure(3), figure(1, sloppy=True), figure(2, sloppy=True)])


def test_progress_is_in_order_of_time_and_rises(progress: Progress) -> None:
    assert progress.runs == 3
    lines = {line.id: line for line in progress.lines}
    for line in progress.lines:
        values = [value for value in line.values if value is not None]
        first, last = values[0], values[-1]
        assert last >= first if line.better == "higher" else last <= first, line.id
    assert lines["right"].values == (0, 0, 1)
    assert lines["seen"].values == (0, 0, 1)


def test_a_line_says_where_a_point_lies_on_its_scale(progress: Progress) -> None:
    for line in progress.lines:
        assert line.low < line.high
        assert len(line.label) <= 34
        for value in line.values:
            share = line.share(value)
            assert share is None or 0 <= share <= 1
    seen = next(line for line in progress.lines if line.id == "seen")
    assert [seen.share(value) for value in seen.values] == [0, 0, 1]


def test_each_figure_is_drawn_over_the_latest_runs() -> None:
    document = progress_document(progress_of([figure(n, sloppy=n < 9) for n in range(1, 11)]))
    (right,) = [one for one in document.sections if one.title.startswith("Answer as the author's")]
    (drawn,) = right.parts
    assert isinstance(drawn, Bars)
    assert [bar.label for bar in drawn.bars] == [f"run {n}" for n in range(3, 11)]
    assert [bar.words for bar in drawn.bars] == ["0.00"] * 6 + ["1.00"] * 2
    assert [bar.share for bar in drawn.bars] == [0.0] * 6 + [1.0] * 2


def test_all_runs_are_summed_up_together(progress: Progress) -> None:
    errors = [error for n in (1, 2) for error in run(n, sloppy=True).result.errors_s]
    errors += run(3).result.errors_s
    limits = dict(progress.limits)["s"]
    assert limits.n == len(errors)
    assert limits.bias == pytest.approx(sum(errors) / len(errors))
    assert progress.signs.n == sum(
        one.result.sign_counts.n for one in (run(1, sloppy=True), run(2, sloppy=True), run(3))
    )
    assert (progress.right, progress.must_refer, progress.refer_missed) == (1, 0, 0)
    # Three answers are too few for how sure against how right.
    assert progress.calibration is None


def test_ten_answers_are_enough_for_how_sure_against_how_right() -> None:
    found = progress_of([run(n, sloppy=n % 2 == 0) for n in range(1, 11)]).calibration
    assert found is not None
    assert found.n == 10
    # Ten answers with full confidence, five of them right: (5 * .01 + 5 * .81) / 10.
    assert found.brier == pytest.approx(0.41)
    assert found.overconfidence == pytest.approx(0.9 - 0.5)


def test_signs_that_were_put_in_words_do_not_count_as_seen() -> None:
    told, seen = run(1), figure(2)
    together = progress_of([told, seen])
    assert together.signs == seen.result.sign_counts
    line = next(line for line in together.lines if line.id == "kappa")
    assert [value is None for value in line.values] == [True, False]


def test_a_run_that_is_changed_by_hand_is_refused(tmp_path: Path) -> None:
    text = run_text(run(sloppy=True, student="S-07"))
    for before, after in (
        ("right = false", "right = true"),
        ('student = "S-07"', 'student = "S-08"'),
        ("hits = 0", "hits = 1"),
    ):
        assert before in text
        changed = text.replace(before, after).encode()
        with pytest.raises(FileRefusedError, match="changed by hand"):
            run_in(parse_toml(changed, tmp_path / "run.toml"))


def test_a_run_of_the_first_format_is_read_without_what_was_read_off(tmp_path: Path) -> None:
    lines = run_text(run()).splitlines()
    gone = ("seal", "series", "level", "needed", "soon_enough")
    old = [line for line in lines if not line.startswith(gone)]
    text = "\n".join(old).replace("practice_run = 2", "practice_run = 1")
    text = text.replace("[result]", "[result]\nerrors_deg = [1.0]")
    read = run_in(parse_toml(text.encode(), tmp_path / "run.toml"))
    assert read.result.errors_s == run().result.errors_s
    assert not read.seal


def test_the_series_of_a_student_is_the_first_run_with_the_code() -> None:
    first = run(1, student="S-01")
    later = run(2, student="S-01", series=series_of([first, run(3)], "S-01"))
    assert (first.series, later.series) == (first.id, first.id)
    assert series_of([run(3)], "S-01") == ""


def test_each_student_has_their_own_progress() -> None:
    runs = [run(1, student="S-01"), run(2, student="S-02"), run(3, student="S-01")]
    assert progress_of(runs, "S-01").runs == 2
    assert progress_of(runs).runs == 3


def test_without_runs_there_is_nothing_to_say() -> None:
    empty = progress_of([])
    assert (empty.runs, empty.limits, empty.calibration, empty.signs.kappa) == (0, (), None, None)
    assert all(line.values == () and line.low < line.high for line in empty.lines)
