"""Each sign is told from the drawn figure alone, by where its parts are, and so is its absence."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from statistics import fmean

import pytest
from practice.test_player import SHIPPED, timeline
from support.practice_case import PROTOCOL

from screen_tui.practice.drawn import drawn_case
from screen_tui.practice.figure import HEIGHT, turned
from screen_tui.practice.player import Frame, Timeline, at
from screen_tui.practice.staging import Scene, timeline_of

View = Sequence[str]
IN_MOST = 0.9
"""The share of the frames that must show what is said of them."""

WITHIN_ROW = {"'": 0.15, "-": 0.5, "_": 0.85}
"""How far below the top of its row a flat stroke is."""


def places(view: View, letter: str) -> list[tuple[int, int]]:
    """(row, column) of each such character."""
    return [(r, c) for r, line in enumerate(view) for c, one in enumerate(line) if one == letter]


def head(view: View) -> tuple[int, int]:
    return places(view, "O")[0]


def knees(view: View) -> list[int]:
    return sorted(column for _, column in places(view, "o"))


def foot(view: View) -> int:
    """The column at which the foot at the right of the picture begins."""
    floor = view[HEIGHT - 1].replace("]", " ").rstrip(" |!")
    return len(floor) - 2


def pelvis(view: View) -> list[tuple[float, int]]:
    """(height, column) of the strokes of the pelvis, the left one first."""
    strokes = [(r + WITHIN_ROW[one], c) for one in WITHIN_ROW for r, c in places(view, one)]
    over_feet = [one for one in strokes if 2 <= one[0] < 6]
    # Of somebody on the floor the pelvis is the lowest stroke but the feet.
    return sorted(over_feet or [one for one in strokes if one[0] < 7], key=lambda one: one[1])


def middle(view: View) -> float:
    return fmean(column for _, column in pelvis(view))


def mostly(shows: Callable[[Frame], bool]) -> Callable[[Sequence[Frame]], bool]:
    return lambda frames: fmean(shows(frame) for frame in frames) >= IN_MOST


def seen_once(shows: Callable[[Frame], bool]) -> Callable[[Sequence[Frame]], bool]:
    return lambda frames: any(shows(frame) for frame in frames)


def low(frames: Sequence[Frame]) -> list[Frame]:
    """Those in which the body is not upright."""
    return [frame for frame in frames if any(row > 0 for row, _ in places(frame.side, "O")[:1])]


def tilted(view: View, way: int) -> bool:
    """Whether the free side, at the left, is lower (1) or higher (-1) than the other."""
    strokes = pelvis(view)
    return bool(strokes) and way * (strokes[0][0] - strokes[-1][0]) >= 0.3


def sways(frames: Sequence[Frame]) -> bool:
    columns = [head(frame.front)[1] for frame in frames]
    return max(columns) - min(columns) >= 2


def arms_away(frame: Frame) -> bool:
    row, column = head(frame.front)
    cells = [c for r in range(row, row + 3) for c, one in enumerate(frame.front[r]) if one != " "]
    return min(cells) <= column - 3 and max(cells) >= column + 3


def palms_low(frame: Frame) -> bool:
    return any(row >= head(frame.front)[0] + 3 for row, _ in places(frame.front, "="))


def holds(top: int) -> Callable[[Frame], bool]:
    """Whether something to hold on to is at the edge, from that row down to the floor."""

    def shows(frame: Frame) -> bool:
        edge = [row for row, line in enumerate(frame.front) if line[11:12] not in ("", " ")]
        return edge == [*range(top, HEIGHT)]

    return shows


def upright(frames: Sequence[Frame]) -> bool:
    """Whether in rising the head never comes over the knees."""
    return all(head(one.side)[1] < max(knees(one.side)) for one in low(frames) if knees(one.side))


def foot_before_knee(frame: Frame) -> int:
    """Columns by which the foremost foot is before the foremost knee; 0 where none is drawn."""
    feet = [column for _, column in places(frame.side, "L")]
    return max(feet) - max(knees(frame.side)) if feet and knees(frame.side) else 0


def foot_before_head(frame: Frame) -> int:
    return max(column for _, column in places(frame.side, "L")) - head(frame.side)[1]


def walks(frames: Sequence[Frame]) -> list[Frame]:
    """Frames of somebody walking to the right, all of whom is in the picture."""
    return [
        one
        for one in frames
        if head(one.front)[0] == 0
        and len(places(one.side, "L")) == 2
        and not any("_L" in line for line in one.side)
        and places(one.side, "O")
        and knees(one.side)
    ]


def bent_at_contact(frames: Sequence[Frame]) -> bool:
    """Whether the foot lands under the knee, and not before it."""
    seen = walks(frames)
    if not seen:
        return False
    reach = max(foot_before_head(one) for one in seen)
    return all(foot_before_knee(one) <= 0 for one in seen if foot_before_head(one) == reach)


def bent_lying(frames: Sequence[Frame]) -> bool:
    """Whether a tight thigh leaves the knee over the couch, or the shin sinking from it."""

    def bent(view: View) -> bool:
        row, column = places(view, "o")[0]
        return row < head(view)[0] or "_" in view[row][column:]

    tight = [frame.side for frame in frames if places(frame.side, "^")]
    return bool(tight) and fmean(map(bent, tight)) >= IN_MOST


RECOGNISED: Mapping[str, Callable[[Sequence[Frame]], bool]] = {
    "pelvis-drops": mostly(lambda one: tilted(one.front, 1)),
    "hip-hikes": mostly(lambda one: tilted(one.front, -1)),
    "trunk-leans": mostly(lambda one: head(one.front)[1] - middle(one.front) >= 1.5),
    "knee-moves-in": mostly(lambda one: knees(one.front)[-1] < foot(one.front)),
    "knee-past-foot": mostly(lambda one: knees(one.front)[-1] <= foot(one.front) - 3),
    "knees-together": mostly(lambda one: knees(one.front)[-1] - knees(one.front)[0] <= 1),
    "arch-collapses": mostly(lambda one: "n" not in one.front[HEIGHT - 1][6:]),
    "heel-stays-out": mostly(lambda one: "n" not in one.front[HEIGHT - 1][6:]),
    "arms-move": mostly(arms_away),
    "unsteady": sways,
    "hands-used": mostly(palms_low),
    "feet-forward": lambda frames: any(foot_before_knee(one) >= 2 for one in low(frames)),
    "trunk-upright": upright,
    "shifts-to-one-side": mostly(lambda one: middle(one.front) - 5.5 >= 0.8),
    "drops-to-seat": seen_once(lambda one: head(one.side)[1] <= 3 and head(one.front)[0] > 0),
    "short-stand": mostly(lambda one: head(one.front)[0] > 0),
    "handrail": mostly(holds(2)),
    "furniture-used": mostly(holds(4)),
    "helped-by-person": mostly(holds(1)),
    "step-to": mostly(lambda one: foot(one.front) - one.front[HEIGHT - 1].find("_") >= 3),
    "forefoot-only": seen_once(lambda one: any("'_" in line for line in one.side[5:])),
    "heels-rise": mostly(lambda one: any("'_" in line for line in one.side[5:])),
    "over-stride": lambda frames: max(map(foot_before_head, walks(frames)), default=0) >= 4,
    "bent-knee-contact": bent_at_contact,
    "extension-lag": bent_lying,
    "no-contraction": mostly(lambda one: not places(one.side, "^")),
    "pain-limits": mostly(lambda one: any("O!" in line for line in (*one.front, *one.side))),
    "groin-pain": mostly(lambda one: any("O!" in line for line in one.side)),
    "walking-aid": mostly(lambda one: len(places(one.front, "!")) >= 4),
    "knee-swollen": mostly(lambda one: bool(places(one.side, "0"))),
    "shallow": lambda frames: max(head(one.side)[0] for one in frames) < 2,
}
"""How each sign is told from the frames of a trial of the leg at the right of the picture."""


def frames(of: Timeline) -> list[Frame]:
    last = int(min(of.over_s, 12.0) * 10)
    return [at(of, moment / 10) for moment in range(3, last)]


def with_sign(test: str, sign: str) -> Timeline:
    looks = {"from_front": "Something.", "from_side": "Something."}
    return timeline(test, signs=[{"sign": sign, "at_s": [0.0], "lasts_s": 60.0, **looks}])


PAIRS = [(test.id, sign) for test in PROTOCOL.tests for sign in test.signs]


def test_every_sign_can_be_recognised() -> None:
    assert {sign.id for sign in PROTOCOL.signs} == set(RECOGNISED)


@pytest.mark.parametrize(("test", "sign"), PAIRS)
def test_a_sign_is_recognised_in_the_figure_and_not_without_it(test: str, sign: str) -> None:
    assert RECOGNISED[sign](frames(with_sign(test, sign)))
    assert not RECOGNISED[sign](frames(timeline(test)))


ALIKE: Mapping[tuple[str, str], str] = {
    ("knee-past-foot", "knee-moves-in"): "the same sign, further",
    ("shallow", "trunk-upright"): "who stops early never leans far forward",
    ("drops-to-seat", "trunk-upright"): "here the fall lasts for the whole trial; else a moment",
    ("unsteady", "drops-to-seat"): "who rocks is behind the hips at times",
    ("trunk-leans", "unsteady"): "the step of a walk adds to the lean; the lean does not go back",
    ("handrail", "pelvis-drops"): "the arm to the rail is a flat stroke beside the pelvis",
    ("furniture-used", "shifts-to-one-side"): "the arm to the chair lengthens the pelvis",
    ("helped-by-person", "unsteady"): "the helper's head is one more in the picture",
}
"""(shown, also recognised): what geometry alone does not tell apart, and why."""


def test_the_figure_of_a_sign_is_that_of_no_other_sign_of_the_test() -> None:
    alike = set()
    for spec in PROTOCOL.tests:
        for sign in spec.signs:
            drawn = frames(with_sign(spec.id, sign))
            others = [one for one in spec.signs if one != sign]
            alike |= {(sign, other) for other in others if RECOGNISED[other](drawn)}
    assert alike == set(ALIKE)


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize(
    ("sign", "inside"), [("knee-moves-in", (1, 2)), ("knee-past-foot", (3, 4))]
)
def test_the_knee_is_inside_the_foot_at_the_lowest_point_of_a_step_down(
    side: str, sign: str, inside: tuple[int, int]
) -> None:
    looks = {"lasts_s": 1.6, "from_front": "The knee turns to the other leg."}
    bottoms = [1.5, 4.5, 7.5, 10.5, 13.5]
    signs = [{"sign": sign, "at_s": [bottom - 0.8 for bottom in bottoms], **looks}]
    shown = timeline("step-down", side=side, signs=signs)
    said = [one for n in range(1500) if (one := at(shown, n / 100)).seen_from_front]
    assert len(said) == pytest.approx(5 * 160, abs=5)
    views = [[turned(line) for line in f.front] if side == "right" else f.front for f in said]
    columns = [foot(view) - knees(view)[-1] for view in views]
    assert fmean(inside[0] <= one <= inside[1] for one in columns) >= IN_MOST
    lowest = [column for frame, column in zip(said, columns, strict=True) if deep(frame)]
    assert len(lowest) > 300
    assert all(column >= 1 for column in lowest)
    # At any other time it stays over the foot.
    plain = timeline("step-down", side="left")
    assert not any(
        foot(at(plain, n / 10).front) > knees(at(plain, n / 10).front)[-1] for n in range(150)
    )


def deep(frame: Frame) -> bool:
    """Whether a step-down is within a third of a second of its lowest point."""
    return abs(frame.t % 3.0 - 1.5) < 0.34


def test_shipped_and_drawn_patients_show_the_knee_that_moves_in_whenever_it_is_said() -> None:
    shares = []
    drawn = [drawn_case(PROTOCOL, "easy", seed, "foot-ankle-control") for seed in range(3)]
    for case in (*SHIPPED, *drawn):
        for one in case.shown:
            if not any(s.sign == "knee-moves-in" and s.from_front for s in one.signs):
                continue
            scene = Scene(one.test, one.side, one.cue, one.direction)
            found = timeline_of(case, PROTOCOL, scene, 0, 3)
            assert found is not None
            texts = {s.from_front for s in found.sights if s.sign == "knee-moves-in"}
            moments = [at(found, n / 20) for n in range(int(found.over_s * 20))]
            said = [frame for frame in moments if texts & {*frame.seen_from_front}]
            for frame in said:
                view = [turned(x) for x in frame.front] if one.side == "right" else frame.front
                shares.append(knees(view)[-1] < foot(view))
    assert len(shares) > 100
    assert fmean(shares) >= IN_MOST
