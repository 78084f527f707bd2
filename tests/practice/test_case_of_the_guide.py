"""What the guide has an instructor write is a case the program takes."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest
from support.practice_case import PROTOCOL

from screen_tui.cli.main import main
from screen_tui.engine.results import Outcome
from screen_tui.files.places import own_cases_folder, practice_runs_folder
from screen_tui.guides import guide
from screen_tui.practice.run import COLUMNS
from screen_tui.trial.intake_questions import READY, questions_of

GUIDE = guide("teacher")


def test_the_example_of_the_guide_is_in_order_as_it_is_printed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (example,) = re.findall(r"```toml\n(practice_case = 1\n.*?)```", GUIDE, re.DOTALL)
    (named,) = re.findall(r"Saved as `(.*?)`", GUIDE)
    path = tmp_path / named
    path.write_text(example, encoding="utf-8")
    assert main(["check", str(path)]) == 0
    assert f"{path}: practice case, in order" in capsys.readouterr().err


def test_own_cases_lie_where_the_guide_says() -> None:
    assert own_cases_folder() == practice_runs_folder() / "cases"
    assert "practice/cases/" in GUIDE


def test_the_guide_says_where_every_id_of_a_question_is() -> None:
    in_files = {one.id for one in (*PROTOCOL.cautions, *PROTOCOL.history)}
    for question in questions_of(PROTOCOL):
        if question.id in in_files or question.doubt or question.clears:
            continue
        assert question.id in ("label", READY) or f"`{question.id}`" in GUIDE
    assert all(f"`{outcome}`" in GUIDE for outcome in get_args(Outcome))
    assert "`safety.toml`" in GUIDE
    assert "`history.toml`" in GUIDE


def test_the_guide_says_what_each_column_of_the_table_of_a_class_is() -> None:
    assert all(f"`{column}`" in guide("class") for column in COLUMNS)
