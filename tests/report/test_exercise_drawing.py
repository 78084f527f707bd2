"""The drawing of an exercise on a page: what it is made of, and that all of it is seen."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.hostile import possible_letters
from support.thorough import examples

from screen_tui.files.places import protocols_folder
from screen_tui.protocol.drawings import Drawing, Leg, Picture, Thing
from screen_tui.protocol.loader import load_drawings
from screen_tui.report.exercise_drawing import draw_exercise

DRAWINGS = load_drawings([protocols_folder()])
ALLOWED = {
    "svg": {
        "role", "aria-label", "viewbox", "width", "height", "stroke-linecap", "stroke-linejoin",
    },
    "title": set(),
    "polyline": {"points", "fill", "stroke", "stroke-width"},
    "polygon": {"points", "fill", "stroke", "stroke-width"},
    "circle": {"cx", "cy", "r", "fill", "stroke", "stroke-width"},
}  # fmt: skip
COLOURS = {"#000", "#fff", "none"}


class Parts(HTMLParser):
    """The elements of a drawing, each closed, with their attributes; and its texts."""

    def __init__(self, svg: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.texts: list[str] = []
        self.open: list[str] = []
        self.feed(svg)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {name: value or "" for name, value in attrs}))
        self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.texts.append(data)

    def spots(self) -> Iterator[tuple[float, float, float]]:
        """Each place that is drawn at, with what is drawn around it."""
        for tag, has in self.elements:
            around = float(has.get("stroke-width", 0)) / 2
            if tag == "circle":
                yield float(has["cx"]), float(has["cy"]), float(has["r"]) + around
            for pair in has.get("points", "").split():
                x, y = pair.split(",")
                yield float(x), float(y), around


def view_of(parts: Parts) -> tuple[float, float, float, float]:
    left, top, wide, high = map(float, parts.elements[0][1]["viewbox"].split())
    return left, top, left + wide, top + high


@pytest.mark.parametrize("name", sorted(DRAWINGS))
@pytest.mark.parametrize("left", [False, True])
def test_it_is_of_few_elements_in_black_and_white_and_all_of_it_is_seen(
    name: str, left: bool
) -> None:
    parts = Parts(draw_exercise(DRAWINGS[name], "An exercise", left=left))
    for tag, has in parts.elements:
        assert set(has) <= ALLOWED[tag]
        assert {has.get("fill", "none"), has.get("stroke", "none")} <= COLOURS
    least_x, least_y, most_x, most_y = view_of(parts)
    for x, y, around in parts.spots():
        assert least_x - 0.2 <= x - around <= x + around <= most_x + 0.2
        assert least_y - 0.2 <= y - around <= y + around <= most_y + 0.2


@pytest.mark.parametrize("name", sorted(DRAWINGS))
def test_it_is_small_enough_to_stand_beside_words(name: str) -> None:
    parts = Parts(draw_exercise(DRAWINGS[name], "An exercise"))
    svg = parts.elements[0][1]
    wide, high = (int(svg[one].removesuffix("mm")) for one in ("width", "height"))
    assert 10 <= wide <= 75
    assert 5 <= high <= 45


def test_pictures_of_one_drawing_do_not_overlap_and_go_from_left_to_right() -> None:
    standing = Picture(far_arm={"shoulder": 90})
    one = view_of(Parts(draw_exercise(Drawing(id="a", pictures=(standing,)), "A")))
    three = Drawing(id="a", pictures=(standing, standing, standing))
    many = view_of(Parts(draw_exercise(three, "A")))
    assert many[2] - many[0] > 3 * (one[2] - one[0])
    assert many[3] - many[1] == pytest.approx(one[3] - one[1])


@pytest.mark.parametrize("turned", [False, True])
def test_a_left_leg_is_the_mirror_image_with_the_start_still_first(turned: bool) -> None:
    sitting = Picture(hips=(-13, 29.5), near=Leg(foot=(4, 0)), far=Leg(foot=(4, 0)), turned=turned)
    alone = Drawing(id="a", pictures=(sitting,))
    facing = [list(Parts(draw_exercise(alone, "A", left=left)).spots()) for left in (False, True)]
    assert [y for _, y, _ in facing[0]] == [y for _, y, _ in facing[1]]
    assert [x for x, _, _ in facing[0]] != [x for x, _, _ in facing[1]]
    both = Drawing(id="a", pictures=(sitting, Picture()))
    for left in (False, True):
        heads = [
            (float(has["cx"]), float(has["cy"]))
            for tag, has in Parts(draw_exercise(both, "A", left=left)).elements
            if tag == "circle"
        ]
        (first_x, first_y), (second_x, second_y) = heads
        assert first_x < second_x
        assert first_y > second_y  # Who sits is lower.


def solid_lines(svg: str) -> int:
    """Wide black lines that no narrower white one is drawn into."""
    lines = re.findall(r'points="([^"]*)" fill="none" stroke="#(...)" stroke-width="([\d.]+)"', svg)
    white = {(points, float(width)) for points, colour, width in lines if colour == "fff"}
    black = [(points, float(width)) for points, colour, width in lines if colour == "000"]
    return sum(
        width > 5 and not any(points == other and less < width for other, less in white)
        for points, width in black
    )


@pytest.mark.parametrize(("trains", "solid"), [("none", 0), ("near", 1), ("far", 1), ("both", 2)])
def test_the_leg_that_does_the_exercise_is_solid(trains: str, solid: int) -> None:
    drawing = Drawing.model_validate(
        {"id": "a", "trains": trains, "pictures": ({"far": {"hip": 30}},)}
    )
    assert solid_lines(draw_exercise(drawing, "A")) == solid


def test_long_pictures_are_below_each_other() -> None:
    lying = Picture(lies="back", hips=(0, 5), near=Leg(hip=0), far=Leg(hip=0))
    bed = Thing(kind="bed", at=(-52, 0), to=62)
    one, two = (
        view_of(Parts(draw_exercise(Drawing(id="a", things=(bed,), pictures=(lying,) * n), "A")))
        for n in (1, 2)
    )
    assert two[2] - two[0] == pytest.approx(one[2] - one[0])
    assert two[3] - two[1] > 2 * (one[3] - one[1])


hostile = st.sampled_from(
    ['"><script>x</script>', "</title><b>", '" onload="x', "&lt; & '"]
) | st.text(possible_letters(), min_size=1, max_size=60)


@settings(max_examples=examples(40))
@given(hostile)
def test_its_name_is_text_whatever_it_holds(name: str) -> None:
    parts = Parts(draw_exercise(DRAWINGS["rise"], name))
    assert {tag for tag, _ in parts.elements} <= set(ALLOWED)
    assert parts.elements[0][1]["aria-label"] == name
    assert set(parts.elements[0][1]) <= ALLOWED["svg"]
    assert "".join(parts.texts) == name
