"""The stick figure: a body as seen from the front and from the side, and how it is drawn.

Lengths are rows; across, a row counts two columns. A body stands 7 rows high on row 7. The front
view looks at the patient, so that the patient's left leg stands on the right of the picture.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

from screen_tui.practice.canvas import WIDTH, Canvas, Point

FLOOR = 7.0
SHIN = THIGH = 1.75
TRUNK, NECK = 2.5, 0.6
HIP = SHIN + THIGH
"""Height of the hip over the floor in standing."""

_STANDS = 0.5
"""Rows over the floor up to which a foot is drawn on it."""

MIRROR = str.maketrans("/\\()[]<>", "\\/)(][><")


@dataclass(frozen=True, slots=True)
class Front:
    """A body from the front, standing on the leg at the right of the picture.

    Attributes:
        low: Rows by which the hips are lower than in standing.
        lift: Rows by which the other foot is off the floor.
        tilt: Rows by which the other side of the pelvis is up (below zero: down).
        lean: Columns by which the shoulders are over the stance leg.
        sway: Columns by which the whole upper body has moved.
        knee_in: Columns by which the stance knee has moved in.
        other_in: The same for the other knee.
        flat_foot: The arch of the stance foot is down.
        arms_out: The arms are away from the body.
        hands_low: The hands push down on something.
        narrow: The feet stand in one line.
        rail: A hand is on a rail.
        stick: A stick is in the hand.
        step: The stance foot is on the edge of a step.
        mark: A character beside the head, or "".
    """

    low: float = 0.0
    lift: float = 0.0
    tilt: float = 0.0
    lean: float = 0.0
    sway: float = 0.0
    knee_in: float = 0.0
    other_in: float = 0.0
    flat_foot: bool = False
    arms_out: bool = False
    hands_low: bool = False
    narrow: bool = False
    rail: bool = False
    stick: bool = False
    step: bool = False
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Leg:
    """A leg from the side: angles of thigh and shin in degrees from hanging down, forward up."""

    thigh: float = 0.0
    shin: float = 0.0
    heel_up: bool = False


@dataclass(frozen=True, slots=True)
class Profile:
    """A body from the side, facing right.

    Attributes:
        hip: Where the hip is.
        trunk: Degrees by which the trunk leans forward; -90 lies on the back.
        near: The leg that is tested or leads.
        far: The other leg; None where it is hidden behind the first.
        arm: Degrees of the arm from hanging down, forward up; None where it is crossed.
        chair: Column of the chair's front edge, or None.
        stair: Rows by which the ground in front is higher (below zero: lower); 0 without stairs.
        posts: Columns of marks on the floor.
        stick: A stick in front of the body.
        knot: A character on the near knee, or "".
        bulge: The near thigh is tight.
        mark: A character beside the head, or "".
        faces_left: The body is turned to the left.
        scale: Size beside that of a standing body; somebody lying has more length than the sheet.
    """

    hip: Point
    trunk: float = 0.0
    near: Leg = Leg()
    far: Leg | None = None
    arm: float | None = 5.0
    chair: float | None = None
    stair: float = 0.0
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
    sheet.put(Point(other - 0.5, toe), "_" if body.lift > 0.2 else "_n")
    knee = Point(foot - body.knee_in, min(5.3 + body.low / 2, 6.4))
    sheet.line(stance, knee)
    sheet.line(knee, Point(foot, FLOOR))
    shoulders = Point(hips.x + body.lean, hips.y - TRUNK)
    sheet.line(hips, shoulders)
    _arms_from_front(sheet, body, hips, shoulders)
    slope = body.tilt * 0.4
    sheet.line(Point(free.x - 1, free.y - slope), Point(stance.x + 1, stance.y + slope))
    sheet.put(Point(shoulders.x, shoulders.y - NECK), "O" + body.mark)
    sheet.put(Point(foot, FLOOR), "__" if body.flat_foot else "n_")
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
        sheet.line(shoulder, _off(shoulder, body.arm, 1.6))
    head = _off(shoulder, 180 - body.trunk, NECK)
    sheet.put(head, "O" + body.mark)
    if body.bulge:
        middle = Point((body.hip.x + knee.x) / 2, (body.hip.y + knee.y) / 2 - 1)
        sheet.put(middle, "^^")
    if body.knot:
        sheet.put(knee, body.knot)
    if body.stick:
        sheet.line(Point(shoulder.x + 2.5, shoulder.y + 2.2), Point(shoulder.x + 3.2, FLOOR))
    lines = sheet.lines()
    return tuple(turned(line) for line in lines) if body.faces_left else lines


def turned(line: str) -> str:
    """A line seen from the other side."""
    return line.ljust(WIDTH)[::-1].translate(MIRROR).rstrip()


def _off(begin: Point, degrees: float, rows: float) -> Point:
    """The point that many rows away, at an angle from straight down, forward up."""
    angle = radians(degrees)
    return Point(begin.x + 2 * rows * sin(angle), begin.y + rows * cos(angle))


def _leg(sheet: Canvas, hip: Point, leg: Leg, body: Profile) -> Point:
    """Draw a leg from the hip down, and give its knee."""
    knee = _off(hip, leg.thigh, THIGH * body.scale)
    ankle = _off(knee, leg.shin, SHIN * body.scale)
    sheet.line(hip, knee)
    sheet.line(knee, ankle)
    lying = abs(body.trunk) > 60
    if lying:
        sheet.put(Point(ankle.x, ankle.y - 0.6), "|")
    else:
        row = FLOOR if ankle.y > FLOOR - _STANDS else ankle.y
        sheet.put(Point(ankle.x, row), "'_" if leg.heel_up else "L_")
    return knee


def _ground(sheet: Canvas, body: Profile) -> None:
    for post in body.posts:
        sheet.put(Point(post, FLOOR), "|")
    if body.chair is not None:
        back = body.chair - 4
        for row in (3, 4):
            sheet.put(Point(back, row), "|")
        sheet.put(Point(back, 5), "|____")
        for row in (6, 7):
            sheet.put(Point(back, row), "|   |")
    if body.stair > 0:
        sheet.put(Point(7, 6), "|")
        sheet.put(Point(8, 5.9), "____")
        sheet.put(Point(7, 7), "|")
    elif body.stair < 0:
        sheet.put(Point(0, 6), "_____")
        sheet.put(Point(5, 7), "|______")


def _arms_from_front(sheet: Canvas, body: Front, hips: Point, shoulders: Point) -> None:
    for way in (-1, 1):
        hand_on_rail = body.rail and way == 1
        if body.arms_out or hand_on_rail:
            height = int(shoulders.y // 1) + 0.5
            begin, down = Point(shoulders.x + way, height), 0.0 if body.arms_out else 1.0
            sheet.line(begin, Point(shoulders.x + way * 4, height + down))
            continue
        sheet.put(Point(shoulders.x + way, shoulders.y), "/" if way < 0 else "\\")
        reach = hips.y + 1.2 if body.hands_low else hips.y - 0.6
        side = 1.2 if body.hands_low else 2.2
        begin = Point(shoulders.x + way * 1.9, shoulders.y + 1)
        sheet.line(begin, Point(hips.x + body.lean * 0.4 + way * side, reach))
    if body.rail:
        for row in range(2, 8):
            sheet.put(Point(WIDTH - 1, row), "|")
    if body.stick:
        for row in range(3, 8):
            sheet.put(Point(hips.x + 3.6, row), "!")
