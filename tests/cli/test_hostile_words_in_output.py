"""Words meant to break a terminal, a page or a table, in all that the commands write."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import tempfile
from collections.abc import Callable
from datetime import timedelta
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from support.hostile import (
    MARKUP,
    STEERING,
    hostile_protocol,
    hostile_session,
    told_protocol,
    told_session,
    words,
)
from support.protocol_folder import write_protocol, write_session
from support.thorough import examples

from screen_tui.cli import input as read_input
from screen_tui.cli import main as cli
from screen_tui.engine.assess import assess
from screen_tui.files.places import demo_folder, preferences_file
from screen_tui.files.text import first_control_character
from screen_tui.report.layout import PAPER
from screen_tui.report.machine import assessment_as_dict


def printed(*arguments: object) -> str:
    """What a command writes to standard output, read as UTF-8; it must succeed."""
    written, told = io.BytesIO(), io.StringIO()
    out = io.TextIOWrapper(written, encoding="utf-8", newline="\n")
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(told):
        code = cli.main([str(argument) for argument in arguments])
        out.flush()
    assert code == 0, told.getvalue()
    assert steers(told.getvalue()) is None
    return written.getvalue().decode("utf-8")


def steers(text: str) -> str | None:
    """The first character that is no line end and could steer a terminal."""
    return first_control_character(text.replace("\r\n", "").replace("\n", ""))


def is_plain(text: str) -> None:
    assert text.isascii()
    assert [line for line in text.split("\n") if len(line) > PAPER] == []
    assert "Traceback" not in text


def is_json(text: str) -> None:
    assert text.isascii() or steers(text) is None
    assert json.loads(text)


STEERING_ARGUMENTS = [text for text in STEERING if "\x00" not in text]
"""No command line can hold a zero."""

OUR_ELEMENTS = {
    *("html", "head", "meta", "title", "style", "body", "section"),
    *("h1", "h2", "p", "ol", "ul", "li", "strong"),
}


def is_our_page(text: str) -> None:
    """A page with our own elements alone: no text has become one."""
    found: set[str] = set()

    class Reader(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            found.add(tag)
            assert not {name for name, _ in attrs} & {"href", "src", "onclick"}

    Reader().feed(text)
    assert found <= OUR_ELEMENTS
    assert steers(text) is None


def is_a_table(text: str) -> None:
    """A table of one width, in which no text would be run as a formula."""
    header, *rows = csv.reader(io.StringIO(text, newline=""))
    assert rows
    for row in rows:
        assert len(row) == len(header)
        for cell in row:
            if cell.lstrip().startswith(("=", "+", "-", "@")):
                float(cell)


def is_harmless(text: str) -> None:
    assert steers(text) is None


COMMANDS: dict[str, Callable[[str], None]] = {
    "addendum FILE --reason=TEXT --text=TEXT": is_harmless,
    "addendum FILE --reason=TEXT --trial=1 --strike": is_harmless,
    "assess FILE": is_plain,
    "assess FILE --json": is_json,
    "explain FILE": is_plain,
    "note FILE": is_plain,
    "note FILE --deidentify": is_plain,
    "sheet FILE": is_harmless,
    "sheet FILE --ascii": is_plain,
    "sheet FILE --html": is_our_page,
    "export FILE --fhir": is_json,
    "table DIR --csv": is_a_table,
    "change FILE OTHER": is_plain,
    "change FILE OTHER --json": is_json,
    "visits --list": is_harmless,
    "visits --list --json": is_json,
    "visits LABEL": is_plain,
    "visits LABEL --json": is_json,
    "check DIR": is_harmless,
    "practice new --seed 1": is_harmless,
    "protocols": is_harmless,
    "protocols --json": is_json,
    "paths": is_harmless,
    "help": is_harmless,
}


@given(words(390))
@example(" ".join(MARKUP)[:390])
@example('=HYPERLINK("http://x","y")')
@example("<script>alert(1)</script></p>")
@settings(max_examples=examples(12))
def test_whatever_is_let_pass_is_only_text_in_all_that_is_written(text: str) -> None:
    with tempfile.TemporaryDirectory() as home, pytest.MonkeyPatch.context() as patch:
        patch.setenv("SCREEN_TUI_HOME", home)
        folder = write_protocol(hostile_protocol(told_protocol(), text), Path(home) / "protocols")
        patch.setattr(read_input, "protocols_folder", lambda: folder)
        preferences_file().write_text('protocol = "small"\n', encoding="utf-8")
        sessions = Path(home) / "sessions"
        sessions.mkdir()
        kept = hostile_session(told_session(), text)
        kept = kept.model_copy(update={"finished": kept.started + timedelta(minutes=26)})
        other = kept.model_copy(update={"id": "2026-03-09-0915-0000"})
        places = {
            "FILE": write_session(kept, sessions / f"{kept.id}.toml"),
            "OTHER": write_session(other, sessions / f"{other.id}.toml"),
            "DIR": sessions,
            "LABEL": f" {kept.client.label}",  # a label that begins with a hyphen is no option
        }
        for command, holds in COMMANDS.items():
            line = (str(places.get(word, word)) for word in command.split())
            holds(printed(*(word.replace("TEXT", text) for word in line)))


@pytest.mark.parametrize("text", [*STEERING_ARGUMENTS, "x" * 10_000], ids=ascii)
def test_a_topic_nobody_knows_is_quoted_without_obeying_it(
    text: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["help", f"a{text}b"]) == 4
    refused = capsys.readouterr().err
    assert steers(refused) is None
    assert len(refused) < 200


@pytest.mark.parametrize("text", [*STEERING_ARGUMENTS, "x" * 10_000], ids=ascii)
def test_an_addendum_takes_no_words_that_could_steer_a_terminal_or_never_end(
    tmp_path: Path, text: str, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "runner-left-hip.toml"
    file.write_bytes((demo_folder() / file.name).read_bytes())
    before = file.read_bytes()
    for words_given in ([f"--reason=a{text}b", "--text=x"], ["--reason=x", f"--text=a{text}b"]):
        assert cli.main(["addendum", str(file), *words_given]) in (1, 2)
        told = capsys.readouterr()
        assert steers(told.err) is None
        assert "mistake of its own" not in told.err
        assert file.read_bytes() == before


def test_every_command_is_among_them(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        cli.main(["nonsense"])
    offered = set(capsys.readouterr().err.split("choose from ")[1].split(")")[0].split(", "))
    tried = {command.split()[0] for command in COMMANDS}
    assert {name.strip("'") for name in offered} == tried


def test_json_gives_the_words_back_as_they_were_typed() -> None:
    text = " ".join(MARKUP)[:390]
    protocol = hostile_protocol(told_protocol(), text)
    session = hostile_session(told_session(), text)
    told = json.dumps(assessment_as_dict(protocol, session, assess(protocol, session)))
    assert json.loads(told)["not_tested"][0]["reason"] == text
