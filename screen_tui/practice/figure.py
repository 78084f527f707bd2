"""The stick figure: a body from the front and from the side, what signs change in it, its drawing.

The sheet is plain ASCII: x counts columns to the right, y rows downwards, both from 0; a cell
reaches from its number to the next. Lengths are rows; across, a row counts two columns. A body
stands 7 rows high on row 7. The front view looks at the patient, so that the patient's left leg
stands on the right of the picture. Heads are ``O``, knees ``o``; feet begin with ``n`` from the
front and with ``L`` from the side.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import cos, radians, sin
from typing import Any, Literal, NamedTuple

WIDTH, HEIGHT = 12, 8
"""Columns and rows of one view; two of them side by side are as wide as a timer leaves free."""

_STEEP = 0.6
"""Columns per row up to which a line is drawn row by row."""


class Point(NamedTuple):
    """A place on the sheet, in cells."""

    x: float
    y: float


class Canvas:
    """The sheet; what is drawn later covers what was there."""

    def __init__(self) -> None:
        self._rows = [[" "] * WIDTH for _ in range(HEIGHT)]

    def put(self, at: Point, text: str) -> None:
        """Write a text beginning in that cell; what falls off the sheet is lost."""
        row, column = int(at.y // 1), int(at.x // 1)
        for place, character in enumerate(text, start=column):
            if 0 <= row < HEIGHT and 0 <= place < WIDTH and character != " ":
                self._rows[row][place] = character

    def lines(self) -> tuple[str, ...]:
        return tuple("".join(row).rstrip() for row in self._rows)

    def line(self, begin: Point, end: Point) -> None:
        if abs(end.x - begin.x) > abs(end.y - begin.y) * 2.5:
            self._flat(*sorted((begin, end)))
        else:
            self._steep(*sorted((begin, end), key=lambda point: point.y))

    def _steep(self, upper: Point, lower: Point) -> None:
        down = lower.y - upper.y
        slope = (lower.x - upper.x) / down if down else 0.0
        character = "|" if abs(slope) < _STEEP else "\\" if slope > 0 else "/"
        first, last = int(upper.y // 1), int(lower.y // 1)
        for row in range(first, last + 1):
            # A row that is only touched at its edge belongs to the joint beyond it.
            top, bottom = max(upper.y, row), min(lower.y, row + 1)
            if bottom - top >= 0.3 or last == first:
                middle = (top + bottom) / 2
                self.put(Point(upper.x + slope * (middle - upper.y), row), character)

    def _flat(self, left: Point, right: Point) -> None:
        slope = (right.y - left.y) / (right.x - left.x)
        for column in range(int(left.x // 1), int(right.x // 1) + 1):
            y = left.y + slope * (min(max(column + 0.5, left.x), right.x) - left.x)
            self.put(Point(column, y), "'" if y % 1 < 0.3 else "-" if y % 1 < 0.7 else "_")


FLOOR = 7.0
SHIN = THIGH = 1.75
TRUNK, NECK = 2.5, 0.6
HIP = SHIN + THIGH
"""Height of the hip over the floor in standing."""
PALM = "="
"""A hand that pushes."""
SHOWS = 0.5
"""Strength from which on that shows which is either there or not."""

_STANDS = 0.5
"""Rows over the floor up to which a foot is drawn on it."""
_NOT_DEEP = 0.55
"""The share of the way down that is missing when it stops early."""


@dataclass(frozen=True, slots=True)
class Front:
    """A body from the front, standing on the leg at the right of the picture.

    Attributes:
        low: Rows by which the hips are lower than in standing.
        lift: Rows by which the other foot is off the floor.
        tilt: Rows by which the other side of the pelvis is up (below zero: down).
        lean: Columns by which the shoulders are over the stance leg.
        sway: Columns by which the whole upper body has moved.
        knee_in: Columns by which the stance knee has moved in; ``other_in``, the other one.
        flat_foot: The arch of the stance foot is down.
    """

    low: float = 0.0
    lift: float = 0.0
    tilt: float = 0.0
    lean: float = 0.0
    sway: float = 0.0
    knee_in: float = 0.0
    other_in: float = 0.0
    flat_foot: bool = False
    feet_ahead: bool = False
    arms_out: bool = False
    hands_low: bool = False
    narrow: bool = False
    support: Literal["", "rail", "furniture", "person"] = ""
    stick: bool = False
    step: bool = False
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Leg:
    """A leg from the side: angles of thigh and shin in degrees from hanging down, forward up."""

    thigh: float = 0.0
    shin: float = 0.0
    heel_up: bool = False
    flat_foot: bool = False


@dataclass(frozen=True, slots=True)
class Profile:
    """A body from the side, facing right.

    Attributes:
        trunk: Degrees by which the trunk leans forward; -90 lies on the back.
        arm: Degrees of the arm from hanging down, forward up; None where it is crossed.
        stair: Where the ground in front is, if there are stairs.
        scale: Size beside that of a standing body; somebody lying has more length than the sheet.
    """

    hip: Point
    trunk: float = 0.0
    near: Leg = Leg()
    far: Leg | None = None
    arm: float | None = 5.0
    pushes: bool = False
    chair: float | None = None
    stair: Literal["", "up", "down"] = ""
    posts: tuple[float, ...] = ()
    stick: bool = False
    knot: str = ""
    bulge: bool = False
    mark: str = ""
    faces_left: bool = False
    scale: float = 1.0


def hip_over(ankle: Point, near: Leg) -> Point:
    """Where the hip is when that leg stands on its foot."""
    knee = _off(ankle, -near.shin + 180, SHIN)
    return _off(knee, near.thigh + 180, THIGH) if near.thigh else Point(knee.x, knee.y - THIGH)


def draw_front(body: Front, *, mirrored: bool = False) -> tuple[str, ...]:
    """Draw a body from the front; mirrored it stands on the leg at the left of the picture."""
    sheet = Canvas()
    foot, other = (6.0, 5.5) if body.narrow else (7.5, 3.5)
    hips = Point((foot + other) / 2 + (0.8 if body.lift > 0.2 else 0.0) + body.sway, 3.5 + body.low)
    stance = Point(hips.x + 1.2, hips.y)
    free = Point(hips.x - 1.2, hips.y - body.tilt)
    toe = FLOOR - body.lift - body.tilt * 0.6
    other_knee = Point(other + 0.3 + body.other_in, min(5.2 + body.low / 2, 6.4) - body.lift * 0.1)
    sheet.line(free, other_knee)
    if toe - other_knee.y > 0.3:
        sheet.line(other_knee, Point(other + 0.1, toe))
    toes = "U" if body.feet_ahead else "n"
    sheet.put(Point(other - 0.5, toe), "_" if body.lift > 0.2 else f"_{toes}")
    knee = Point(foot - body.knee_in, min(5.3 + body.low / 2, 6.4))
    sheet.line(stance, knee)
    sheet.line(knee, Point(foot, FLOOR))
    shoulders = Point(hips.x + body.lean, hips.y - TRUNK)
    sheet.line(hips, shoulders)
    _arms_from_front(sheet, body, hips, shoulders)
    slope = body.tilt * 0.4
    sheet.line(Point(free.x - 1, free.y - slope), Point(stance.x + 1, stance.y + slope))
    for joint in (other_knee, knee):
        sheet.put(joint, "o")
    sheet.put(Point(shoulders.x, shoulders.y - NECK), "O" + body.mark)
    sheet.put(Point(foot, FLOOR), "__" if body.flat_foot else f"{toes}_")
    if body.step:
        sheet.put(Point(foot - 1, FLOOR), "[")
        sheet.put(Point(foot + 2, FLOOR), "]")
    lines = sheet.lines()
    return tuple(turned(line) for line in lines) if mirrored else lines


def draw_side(body: Profile) -> tuple[str, ...]:
    """Draw a body from the side."""
    sheet = Canvas()
    _ground(sheet, body)
    shoulder = _off(body.hip, 180 - body.trunk, TRUNK * body.scale)
    if body.far is not None:
        _leg(sheet, body.hip, body.far, body)
    knee = _leg(sheet, body.hip, body.near, body)
    sheet.line(body.hip, shoulder)
    if body.arm is not None:
        hand = _off(shoulder, body.arm, 1.6)
        sheet.line(shoulder, hand)
        if body.pushes:
            sheet.put(hand, PALM)
    head = _off(shoulder, 180 - body.trunk, NECK)
    sheet.put(head, "O" + body.mark)
    if body.bulge:
        sheet.put(Point((body.hip.x + knee.x) / 2 - 1, (body.hip.y + knee.y) / 2 - 1), "^^")
    if body.knot:
        sheet.put(knee, body.knot)
    if body.stick:
        sheet.line(Point(shoulder.x + 2.5, shoulder.y + 2.2), Point(shoulder.x + 3.2, FLOOR))
    lines = sheet.lines()
    return tuple(turned(line) for line in lines) if body.faces_left else lines


def turned(line: str) -> str:
    """A line seen from the other side."""
    mirror = str.maketrans("/\\()[]<>", "\\/)(][><")
    return line.ljust(WIDTH)[::-1].translate(mirror).rstrip()


def _off(begin: Point, degrees: float, rows: float) -> Point:
    """The point that many rows away, at an angle from straight down, forward up."""
    angle = radians(degrees)
    return Point(begin.x + 2 * rows * sin(angle), begin.y + rows * cos(angle))


def _leg(sheet: Canvas, hip: Point, leg: Leg, body: Profile) -> Point:
    knee = _off(hip, leg.thigh, THIGH * body.scale)
    ankle = _off(knee, leg.shin, SHIN * body.scale)
    sheet.line(hip, knee)
    sheet.line(knee, ankle)
    if abs(body.trunk) > 60:  # lying
        sheet.put(Point(ankle.x, ankle.y - 0.6), "|")
    else:
        row = FLOOR if ankle.y > FLOOR - _STANDS else ankle.y
        sheet.put(Point(ankle.x, row), "'_" if leg.heel_up else "__" if leg.flat_foot else "L_")
    sheet.put(knee, "o")
    return knee


_CHAIR = ((3, "|"), (4, "|"), (5, "|____"), (6, "|   |"), (7, "|   |"))
_STEP_UP = ((7, 6, "|"), (8, 5, "____"), (7, 7, "|"))
_STEP_DOWN = ((0, 6, "_____"), (5, 7, "|______"))


def _ground(sheet: Canvas, body: Profile) -> None:
    things: list[tuple[float, float, str]] = [(post, FLOOR, "|") for post in body.posts]
    if body.chair is not None:
        things += [(body.chair - 4, row, text) for row, text in _CHAIR]
    if body.stair:
        things += _STEP_UP if body.stair == "up" else _STEP_DOWN
    for x, y, text in things:
        sheet.put(Point(x, y), text)


def _arms_from_front(sheet: Canvas, body: Front, hips: Point, shoulders: Point) -> None:
    for way in (-1, 1):
        if body.arms_out or (body.support and way == 1):
            height = shoulders.y // 1 + 0.5
            hand = Point(shoulders.x + way * 4, height if body.arms_out else height + 1.0)
            sheet.line(Point(shoulders.x + way, height), hand)
            continue
        sheet.put(Point(shoulders.x + way, shoulders.y), "/" if way < 0 else "\\")
        side, down = (1.2, 1.2) if body.hands_low else (2.2, -0.6)
        hand = Point(hips.x + body.lean * 0.4 + way * side, hips.y + down)
        sheet.line(Point(shoulders.x + way * 1.9, shoulders.y + 1), hand)
        if body.hands_low:
            sheet.put(hand, PALM)
    if body.support:
        for row in range(5 if body.support == "furniture" else 2, 8):
            sheet.put(Point(WIDTH - 1, row), "|")
        if body.support == "furniture":
            sheet.put(Point(WIDTH - 2, 4), "__")
        elif body.support == "person":
            sheet.put(Point(WIDTH - 1, 1), "O")
    if body.stick:
        for row in range(3, 8):
            sheet.put(Point(hips.x + 3.6, row), "!")


_FRONT_SHIFTS: Mapping[str, Mapping[str, float]] = {
    "pelvis-drops": {"tilt": -0.8},
    "hip-hikes": {"tilt": 0.8},
    "trunk-leans": {"lean": 2.6},
    "knee-moves-in": {"knee_in": 2.0},
    "knee-past-foot": {"knee_in": 3.5},
    "knees-together": {"knee_in": 1.4, "other_in": 1.4},
    "shifts-to-one-side": {"sway": 1.8, "lean": 0.8},
    "unsteady": {"sway": 1.2},
    "short-stand": {"low": 0.7},
}
"""By how much, at full strength."""

_FRONT_SWITCHES: Mapping[str, Mapping[str, Any]] = {
    "arch-collapses": {"flat_foot": True},
    "arms-move": {"arms_out": True},
    "hands-used": {"hands_low": True},
    "feet-forward": {"feet_ahead": True},
    "handrail": {"support": "rail"},
    "furniture-used": {"support": "furniture"},
    "helped-by-person": {"support": "person"},
    "step-to": {"lift": 0.0},
    "walking-aid": {"stick": True},
    "heel-stays-out": {"flat_foot": True},
    "pain-limits": {"mark": "!"},
    "groin-pain": {"mark": "!"},
}

_SIDE_SWITCHES: Mapping[str, Mapping[str, Any]] = {
    "hands-used": {"arm": -25.0, "pushes": True},
    "arms-move": {"arm": 70.0},
    "handrail": {"arm": 55.0},
    "furniture-used": {"arm": 60.0},
    "helped-by-person": {"arm": 80.0},
    "step-to": {"far": None},
    "walking-aid": {"stick": True},
    "no-contraction": {"bulge": False},
    "knee-swollen": {"knot": "0"},
    "pain-limits": {"mark": "!"},
    "groin-pain": {"mark": "!"},
}


def seen_from_front(sign: str, body: Front, strength: float, t: float) -> Front:
    """The body with what a sign changes in it; who is unsteady goes to and fro."""
    weight = strength * sin(7 * t) if sign == "unsteady" else strength
    if sign == "shallow":
        body = replace(body, low=body.low * (1 - _NOT_DEEP * weight))
    for name, amount in _FRONT_SHIFTS.get(sign, {}).items():
        body = replace(body, **{name: getattr(body, name) + amount * weight})
    return replace(body, **_FRONT_SWITCHES.get(sign, {})) if strength > SHOWS else body


def seen_from_side(sign: str, body: Profile, strength: float, t: float) -> Profile:
    """The same from the side."""
    weight = strength * sin(7 * t) if sign == "unsteady" else strength
    if sign in _SIDE_BENDS:
        body = _SIDE_BENDS[sign](body, weight)
    return replace(body, **_SIDE_SWITCHES.get(sign, {})) if strength > SHOWS else body


def _feet_forward(body: Profile, weight: float) -> Profile:
    """The foot is well in front of the knee for as long as the thigh is low, as in rising."""
    low = min(max(body.near.thigh, 0.0) / 45, 1.0)
    return replace(body, near=_bent(body.near, 0.0, 45 * weight * low))


def _heel_up(body: Profile, weight: float) -> Profile:
    up = weight > SHOWS
    far = None if body.far is None else replace(body.far, heel_up=up or body.far.heel_up)
    return replace(body, near=replace(body.near, heel_up=up or body.near.heel_up), far=far)


def _leading_leg(body: Profile, thigh: float, shin: float) -> Profile:
    if body.far is not None and body.far.thigh > body.near.thigh:
        return replace(body, far=_bent(body.far, thigh, shin))
    return replace(body, near=_bent(body.near, thigh, shin))


def _sagging(body: Profile, weight: float) -> Profile:
    """The knee of somebody lying is up from the couch, or the shin hangs from a lifted thigh."""
    up = 0.0 if body.near.thigh > 100 else 30 * weight
    return replace(body, near=_bent(body.near, up, up - 60 * weight))


def _not_straight(body: Profile, weight: float) -> Profile:
    thigh, shin = max(body.near.thigh, 24 * weight), min(body.near.shin, -16 * weight)
    bent = replace(body.near, thigh=thigh, shin=shin)
    return replace(body, near=bent, trunk=max(body.trunk, 14 * weight))


def _shallow(body: Profile, weight: float) -> Profile:
    near, left = body.near, 1 - _NOT_DEEP * weight
    ankle = _off(_off(body.hip, near.thigh, THIGH), near.shin, SHIN)
    less = replace(near, thigh=near.thigh * left, shin=near.shin * left)
    return replace(body, near=less, hip=hip_over(ankle, less), trunk=body.trunk * left)


def _bent(leg: Leg, thigh: float, shin: float) -> Leg:
    return replace(leg, thigh=leg.thigh + thigh, shin=leg.shin + shin)


_SIDE_BENDS: Mapping[str, Callable[[Profile, float], Profile]] = {
    "arch-collapses": lambda body, by: replace(body, near=replace(body.near, flat_foot=by > SHOWS)),
    "feet-forward": _feet_forward,
    "trunk-upright": lambda body, by: replace(body, trunk=body.trunk * (1 - by)),
    "drops-to-seat": lambda body, by: replace(body, trunk=body.trunk * (1 - by) - 14 * by),
    "short-stand": _not_straight,
    "shallow": _shallow,
    "unsteady": lambda body, by: replace(body, trunk=body.trunk + 9 * by),
    "forefoot-only": _heel_up,
    "heels-rise": _heel_up,
    "over-stride": lambda body, by: _leading_leg(body, 16 * by, 16 * by),
    "bent-knee-contact": lambda body, by: _leading_leg(body, 18 * by, -30 * by),
    "extension-lag": _sagging,
}
