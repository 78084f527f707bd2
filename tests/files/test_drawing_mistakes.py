"""What no body can do, and what no drawing has: refused by `check`, with file, line and field."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from screen_tui.cli.check import check_paths
from screen_tui.errors import FileRefusedError
from screen_tui.files.places import protocols_folder
from screen_tui.protocol.loader import load_drawings, load_protocol

DRAWING = """\
[[drawings]]
id = "stand"
things = [{ kind = "rail", at = [-14, 56, -14], to = 26 }]

[[drawings.pictures]]
near = { foot = [0, 0] }
far = { hip = 35, knee = 50 }
far_arm = { hand = [10, 57] }
"""
EXERCISE = """\
[[exercises]]
id = "own-one"
name = "Our own"
load = "unloaded"
order = 50
position = "Standing."
dose = "10."
cue = "Up."
feel = "Warm."
stop = "Pain."
progress_when = "Easy."
progress_to = "More."
source = "common-practice"

[exercises.for_patient]
name = "Our own"
position = "Stand."
how = ["Go up."]
dose = "10 times."
feel = "Warm."
stop = "Stop if it hurts."
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A clinic's own folder with one exercise and its drawing."""
    (tmp_path / "drawings.toml").write_text(DRAWING, encoding="utf-8")
    text = EXERCISE.replace("source", 'drawing = "stand"\nsource')
    (tmp_path / "exercises.toml").write_text(text, encoding="utf-8")
    return tmp_path


def problems_in(folder: Path) -> list[tuple[str, int | None, str, str]]:
    with pytest.raises(FileRefusedError) as caught:
        check_paths([folder], [protocols_folder()])
    return [(p.path.name, p.line, p.field, p.reason) for p in caught.value.problems]


def test_an_own_exercise_with_an_own_drawing_is_in_order(folder: Path) -> None:
    (checked,) = check_paths([folder], [protocols_folder()])
    assert checked.remarks == ()
    assert "stand" in load_drawings([protocols_folder(), folder])


def test_an_own_exercise_may_have_one_of_ours(folder: Path) -> None:
    (folder / "drawings.toml").unlink()
    text = EXERCISE.replace("source", 'drawing = "heel-raise"\nsource')
    (folder / "exercises.toml").write_text(text, encoding="utf-8")
    (checked,) = check_paths([folder], [protocols_folder()])
    assert checked.remarks == ()


def test_an_own_exercise_without_a_drawing_works_and_is_remarked_on(folder: Path) -> None:
    file = folder / "exercises.toml"
    file.write_text(EXERCISE, encoding="utf-8")
    (checked,) = check_paths([folder], [protocols_folder()])
    assert checked.remarks == (
        f"{file}:1: exercises[0].drawing: is missing, so the printed sheet has words alone",
    )
    (ours,) = check_paths([protocols_folder()], [protocols_folder()])
    assert ours.remarks == ()


MISTAKES = {
    "a knee bent backwards": (
        "knee = 50", "knee = -11", "drawings[0].pictures[0].far.knee", "must be at least -10",
    ),
    "a knee bent too far": (
        "knee = 50", "knee = 151", "drawings[0].pictures[0].far.knee", "must be at most 150",
    ),
    "an elbow bent backwards": (
        "hand = [10, 57]", "elbow = -20", "drawings[0].pictures[0].far_arm.elbow", "at least -10",
    ),
    "an ankle": (
        "knee = 50", "ankle = 50", "drawings[0].pictures[0].far.ankle", "must be at most 40",
    ),
    "an unknown thing": (
        '"rail"', '"trampoline"', "drawings[0].things[0].kind", 'but is "trampoline"',
    ),
    "an unknown joint": (
        "far_arm", 'arrows = [{ joint = "tail", way = "up" }]\nfar_arm',
        "drawings[0].pictures[0].arrows[0].joint", 'but is "tail"',
    ),
    "an unknown field": (
        "far_arm", "third_arm", "drawings[0].pictures[0].third_arm", "not a known field",
    ),
    "a foot out of reach": (
        "foot = [0, 0]", "foot = [30, 0]", "drawings[0].pictures[0].near.foot", "is out of reach",
    ),
    "a hand out of reach": (
        "[10, 57]", "[60, 57]", "drawings[0].pictures[0].far_arm.hand", "is out of reach",
    ),
    "a foot below the floor": (
        "far = {", "hips = [0, 45]\nfar = {", "drawings[0].pictures[0].far",
        "would put the toe below the floor",
    ),
    "an ankle that follows from places": (
        "foot = [0, 0] }", "foot = [-25, 0] }\nhips = [0, 30]", "drawings[0].pictures[0].near",
        "would bend the ankle by",
    ),
    "a body below the floor": (
        "far = {", "hips = [0, -3]\nfar = {", "drawings[0].pictures[0].hips",
        "would put the hips below the floor",
    ),
    "a place and angles": (
        "foot = [0, 0]", "foot = [0, 0], knee = 20", "drawings[0].pictures[0].near",
        "so its angles follow from it",
    ),
    "a heel without a place": (
        "far = { hip = 35", "far = { heel = 20, hip = 35", "drawings[0].pictures[0].far",
        "heel belongs to a foot that has a place",
    ),
    "no picture": (DRAWING[DRAWING.index("[[drawings.p"):], "", "drawings[0].pictures", "missing"),
    "the same drawing twice": (
        DRAWING, DRAWING + DRAWING, "drawings[1].id", '"stand" is given twice in this file',
    ),
}  # fmt: skip


@pytest.mark.parametrize("mistake", sorted(MISTAKES))
def test_a_mistake_in_a_drawing_is_named(folder: Path, mistake: str) -> None:
    old, new, field, reason = MISTAKES[mistake]
    file = folder / "drawings.toml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new), encoding="utf-8")
    found = [one for one in problems_in(folder) if one[2] == field]
    assert [one[0] for one in found] == ["drawings.toml"]
    assert found[0][1] is not None
    assert reason in found[0][3]
    with pytest.raises(FileRefusedError):
        load_drawings([protocols_folder(), folder])


def test_an_unknown_drawing_is_named_with_the_likeliest(folder: Path) -> None:
    (folder / "drawings.toml").write_text(DRAWING.replace("stand", "stands"), encoding="utf-8")
    assert problems_in(folder) == [
        (
            "exercises.toml", 13, "exercises[0].drawing",
            '"stand" is no drawing in drawings.toml; did you mean "stands"?',
        )
    ]  # fmt: skip


def test_a_mistake_in_a_drawing_stops_no_test(folder: Path) -> None:
    (folder / "drawings.toml").write_text("[[drawings]]\nid = 3\n", encoding="utf-8")
    protocol = load_protocol([protocols_folder(), folder])
    assert "own-one" in [one.id for one in protocol.exercises]


def test_a_protocol_without_drawings_has_none(tmp_path: Path) -> None:
    bare = shutil.copytree(protocols_folder(), tmp_path / "bare")
    (bare / "drawings.toml").unlink()
    assert load_drawings([bare]) == {}
    assert load_protocol([bare]).exercises
