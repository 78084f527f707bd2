"""The guides on the command line, and what every guide must be."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from screen_tui import guides
from screen_tui.cli import main as cli
from screen_tui.guides import TOPICS, guide

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


def test_without_a_topic_all_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["help"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[2] for line in lines] == [*TOPICS]
    assert all(len(line) < 80 for line in lines)


def test_every_file_is_a_topic_and_the_readme_names_each() -> None:
    assert {path.stem for path in Path(guides.__file__).parent.glob("*.md")} == {*TOPICS}
    listed = README[README.index("## Guides") : README.index("## What it knows")]
    assert re.findall(r"`([a-z-]+)`", listed.split(":", 1)[1]) == [*TOPICS]


def test_a_topic_is_printed_as_it_is(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["help", "note"]) == 0
    assert capsys.readouterr().out == guide("note")


@pytest.mark.parametrize(
    ("typed", "near"), [("nots", 'did you mean "note"?'), ("qqq", ""), ("", ""), ("../note", "")]
)
def test_another_topic_is_not_found_and_the_nearest_is_named(
    typed: str, near: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["help", typed]) == 4
    refused = capsys.readouterr()
    assert refused.out == ""
    assert near in refused.err
    assert "screen-tui help lists them" in refused.err


@pytest.mark.parametrize("topic", TOPICS)
def test_a_guide_is_short_and_fits_a_terminal(topic: str) -> None:
    text = guide(topic)
    assert text.startswith("# ")
    assert text.endswith("\n")
    assert len(text.splitlines()) <= 120
    assert [line for line in text.splitlines() if len(line) > 79 and line[0] != "|"] == []
    for code in re.findall(r"```toml\n(.*?)```", text, re.DOTALL):
        assert tomllib.loads(code)


def test_readme_and_the_guide_for_contributors_stay_short() -> None:
    developers = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert len(README.splitlines()) <= 200
    assert len(developers.splitlines()) <= 200
