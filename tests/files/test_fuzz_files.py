"""Files of every kind, made wrong on purpose, given to the command line: a sentence, no traceback.

``SCREEN_TUI_FUZZ=5000 .venv/bin/pytest tests/files/test_fuzz_files.py`` tries so many of each.
"""

from __future__ import annotations

import contextlib
import functools
import io
import os
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support.clock import FakeClock
from support.fuzzing import GIVEN, wrong_files
from support.thorough import examples

from screen_tui.cli import check, protocols
from screen_tui.cli import input as read_input
from screen_tui.cli import main as cli
from screen_tui.errors import ScreenError
from screen_tui.files.places import demo_folder, preferences_file, protocols_folder
from screen_tui.files.text import first_control_character
from screen_tui.files.toml_write import dump_toml
from screen_tui.preferences import new_file, preferred, protocol_to_open
from screen_tui.protocol.loader import load_protocol
from screen_tui.session.draft import Draft
from screen_tui.session.store import SessionStore
from screen_tui.trial.intake_questions import questions_digest
from screen_tui.tui.controller import SessionController

SMALL = Path(__file__).parent / "small_protocol"
SHIPPED = protocols_folder()
PROTOCOL = load_protocol([SHIPPED])
DEMOS = tuple(path.read_text(encoding="utf-8") for path in sorted(demo_folder().glob("*.toml")))
OLD = (Path(__file__).parents[1] / "vignettes" / "01-quad-lag-right.toml").read_text("utf-8")
SMALL_FILES = tuple(sorted(path.relative_to(SMALL) for path in SMALL.rglob("*.toml")))
SHIPPED_FILES = tuple(sorted(path.relative_to(SHIPPED) for path in SHIPPED.rglob("*.toml")))

AMENDED = f"""\
follows = "2026-01-05-0900-0000"
{DEMOS[0]}
[under_way]
test = "walk-4m"

[[addenda]]
written = 2026-03-09T08:00:00+01:00
reason = "typing mistake"
trial = 1
struck_out = true

[[addenda]]
written = 2026-03-10T08:00:00+01:00
reason = "forgotten"
text = "Came with a friend."
"""

SMALL_SESSION = """\
format = 3
id = "2026-03-02-0915-7f3a"
protocol = "small"
started = 2026-03-02T09:15:00+01:00
[client]
label = "K-014"
age = 67
sex = "female"
height_cm = 164.0
mass_kg = 70.0
[[trials]]
test = "one-leg"
side = "left"
value = 6.2
signs = ["pelvis-drops"]
[[trials]]
test = "one-leg"
side = "left"
value = 9.4
cue = "pelvis-level"
[[trials]]
test = "stairs"
direction = "up"
steps = 10
value = 8.1
splits = [0.8, 1.6]
[[trials]]
test = "extension"
side = "left"
passive_deg = 2.0
active_deg = 12.0
"""

DRAFT = dump_toml(
    Draft(
        protocol=PROTOCOL.battery.id,
        questions=questions_digest(PROTOCOL),
        begun=datetime(2026, 3, 2, 9, 15, tzinfo=UTC),
        at="age",
        accepted=("recent_surgery_weeks",),
        answers={
            **{caution.id: False for caution in PROTOCOL.cautions},
            "weight_bearing": "full",
            "complaints": ("pain",),
            "side": "left",
            "goals": ("walking", "stairs"),
            "label": "K-014",
            "age": "6",
        },
    ).model_dump()
)


@dataclass(frozen=True)
class Run:
    """What one command line came to."""

    code: int
    out: str
    err: str


def run(*arguments: object) -> Run:
    written, err = io.BytesIO(), io.StringIO()
    out = io.TextIOWrapper(written, encoding="utf-8", newline="\n")
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = cli.main([str(argument) for argument in arguments])
        out.flush()
    return Run(code, written.getvalue().decode(), err.getvalue())


def told_well(done: Run, *codes: int) -> None:
    """Hold that a run ended as it may, and that each refusal is a sentence with its place."""
    assert done.code in codes, done.err
    for mark in ("mistake of its own", "Traceback", "Error:"):
        assert mark not in done.err
    # What is shown of a file neither steers a terminal nor fills it.
    assert not any(first_control_character(line) for line in done.err.splitlines())
    assert all(len(line) < 2000 for line in done.err.splitlines())
    assert bool(done.err.strip()) or done.code == 0
    if done.code == 3:
        assert done.out == ""
        for line in done.err.splitlines():
            assert re.match(r"screen-tui: .+|/.+\.toml(:\d+)?: .{8,}|/.+: .{8,}", line), line


def counted(content: bytes, done: Run, path: Path) -> None:
    """Count the file; where it is no TOML, hold that the refusal tells the line."""
    GIVEN["refused" if done.code else "taken"] += 1
    try:
        text = content.decode("utf-8-sig")
        tomllib.loads(text)
    except UnicodeDecodeError:
        assert re.search(rf"{re.escape(str(path))}:\d+: ", done.err)
    except tomllib.TOMLDecodeError as error:
        if done.code == 3 and text.strip() and "end of document" not in str(error):
            assert re.search(rf"{re.escape(str(path))}:\d+: ", done.err), done.err
    except (ValueError, RecursionError):
        pass


@pytest.fixture(scope="module", autouse=True)
def _read_once() -> Iterator[None]:
    """The shipped protocol is not what is tried where a session is; it is read once."""
    with pytest.MonkeyPatch.context() as patch:
        cached = functools.lru_cache(maxsize=4)(load_protocol)

        def load(folders, battery="chairside-knee"):
            return (cached if tuple(folders) == (SHIPPED,) else load_protocol)(
                tuple(folders), battery
            )

        for module in (check, protocols, read_input):
            patch.setattr(module, "load_protocol", load)
        yield


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("fuzz")


def fuzz(usual: int) -> settings:
    return settings(
        max_examples=examples(usual),
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )


@given(content=wrong_files(*DEMOS, OLD, AMENDED))
@fuzz(80)
def test_a_session_is_judged_or_refused_in_sentences(folder: Path, content: bytes) -> None:
    path = folder / "2026-01-12-0902-5c1a.toml"
    path.write_bytes(content)
    done = run("assess", path, "--json")
    counted(content, done, path)
    told_well(done, 0, 3, 4)
    for command in (
        ["explain", path],
        ["note", path, "--deidentify"],
        ["sheet", path],
        ["export", path, "--fhir"],
        ["check", path],
    ):
        again = run(*command)
        told_well(again, 0, 3, 4)
        # A protocol that does not exist is not found; for a file that is checked it is a mistake.
        assert (again.code == 0) == (done.code == 0) or command[0] == "check"
    # On Start every file of the folder is listed, or told as a problem.
    (one,) = SessionStore(folder).list()
    assert bool(one.problem) or done.code != 3


def _of_protocol(folder: Path, names: tuple[Path, ...]) -> st.SearchStrategy[tuple[Path, bytes]]:
    """A file of a protocol and what it wrongly holds."""
    return st.sampled_from(names).flatmap(
        lambda name: st.tuples(
            st.just(name), wrong_files((folder / name).read_text(encoding="utf-8"))
        )
    )


@given(one=_of_protocol(SMALL, SMALL_FILES))
@fuzz(80)
def test_a_protocol_is_used_or_refused_in_sentences(folder: Path, one: tuple[Path, bytes]) -> None:
    name, content = one
    mine, session = folder / "protocol", folder / "small-session.toml"
    shutil.rmtree(mine, ignore_errors=True)
    shutil.copytree(SMALL, mine)
    (mine / name).write_bytes(content)
    session.write_text(SMALL_SESSION, encoding="utf-8")
    preferences_file().write_text('protocol = "small"\n', encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(read_input, "protocols_folder", lambda: mine)
        checked = run("check", mine)
        counted(content, checked, mine / name)
        told_well(checked, 0, 3)
        told_well(run("check", mine / name), 0, 3, 4)
        told_well(run("protocols"), 0, 3, 4)
        # What was found in order must carry a session to the end.
        for command in ("note", "explain", "assess"):
            told_well(run(command, session), 0, 3, 4)


@given(one=_of_protocol(SHIPPED, SHIPPED_FILES))
@fuzz(10)
def test_a_clinics_own_file_is_used_or_refused_in_sentences(
    folder: Path, one: tuple[Path, bytes]
) -> None:
    name, content = one
    clinic, session = folder / "clinic", folder / "demo.toml"
    shutil.rmtree(clinic, ignore_errors=True)
    (clinic / "tests").mkdir(parents=True)
    (clinic / name).write_bytes(content)
    session.write_text(DEMOS[0], encoding="utf-8")
    checked = run("check", clinic / name)
    counted(content, checked, clinic / name)
    told_well(checked, 0, 3, 4)
    told_well(run("--protocols", clinic, "note", session), 0, 3, 4)


@given(content=wrong_files(new_file(), 'protocols = ["/tmp"]\ncount_in_s = 3\n'))
@fuzz(80)
def test_preferences_hold_or_are_refused_in_sentences(content: bytes) -> None:
    path = preferences_file()
    path.write_bytes(content)
    done = run("check", path)
    counted(content, done, path)
    told_well(done, 0, 3, 4)
    # Where they are refused, the usual ones hold, and that is said.
    shown = run("paths", "--json")
    told_well(shown, 0)
    assert bool(shown.err) or done.code in (0, 3)
    with contextlib.suppress(ScreenError):
        protocol_to_open(SHIPPED, preferred(path), [])


@given(content=wrong_files(DRAFT))
@fuzz(80)
def test_a_draft_is_gone_on_with_or_refused_in_sentences(folder: Path, content: bytes) -> None:
    drafts = folder / "drafts"
    drafts.mkdir(exist_ok=True)
    path = drafts / "draft.toml"
    path.write_bytes(content)
    done = run("check", path)
    counted(content, done, path)
    told_well(done, 0, 3)
    controller = SessionController(PROTOCOL, SessionStore(drafts), FakeClock())
    usable, problems = controller.answers_left()
    assert len(usable) + len(problems) == 1
    if usable:
        controller.go_on_with_answers(path.stem)
        controller.close()


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (DEMOS[0].encode("utf-8-sig"), 0),
        (DEMOS[0].encode("utf-16"), 3),
        (DEMOS[0].encode()[:700], 3),
        (bytes(range(256)), 3),
        (b"a = " + b"[" * 100_000, 3),
        (None, 4),
    ],
    ids=["mark", "UTF-16", "cut", "bytes", "deep", "nothing"],
)
def test_a_process_of_its_own_ends_the_same_way(
    tmp_path: Path, content: bytes | None, code: int
) -> None:
    path = tmp_path / "session.toml"
    if content is not None:
        path.write_bytes(content)
    done = subprocess.run(
        [sys.executable, "-m", "screen_tui", "note", str(path)],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
        timeout=60,
        check=False,
    )
    told_well(Run(done.returncode, done.stdout, done.stderr), code)
    assert str(path) in done.stderr or code == 0
