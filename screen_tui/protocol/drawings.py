"""Drawings of exercises as data: where a body is, what it touches, and what is around it.

Lengths are in hundredths of the height of the person: ``x`` forward, ``y`` up from the floor or
bed, ``z`` towards the viewer, who sees the right side of somebody facing to the right. Of two
limbs the near one is on that side.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import acos, atan2, cos, degrees, radians, sin, sqrt
from typing import Annotated, Literal, NamedTuple

from pydantic import Field, model_validator

from screen_tui.fields import Id, Strict
from screen_tui.files.reasons import Mismatch

Number = Annotated[float, Field(ge=-200, le=200)]
Place = Annotated[tuple[Number, ...], Field(min_length=2, max_length=3)]
"""Forward, up and, where it matters, towards the viewer."""

Joint = Literal[
    "head", "chest", "hips",
    "near_knee", "near_ankle", "near_heel", "near_toe", "near_elbow", "near_hand",
    "far_knee", "far_ankle", "far_heel", "far_toe", "far_elbow", "far_hand",
]  # fmt: skip
Kind = Literal[
    "chair", "step", "bed", "cushion", "wall", "back-wall", "corner", "rail", "bar", "roll", "ball",
    "band", "weight", "level", "right-sole", "left-sole", "flat-foot", "arched-foot", "paper",
    "plus", "week",
]  # fmt: skip


class _Limb(Strict):
    @model_validator(mode="after")
    def _place_or_angles(self) -> _Limb:
        place = getattr(self, "foot", None) or getattr(self, "hand", None)
        if place and self.model_fields_set - {"foot", "heel", "hand"}:
            raise ValueError("has a place, so its angles follow from it: leave one of them out")
        if not place and "heel" in self.model_fields_set:
            raise ValueError("heel belongs to a foot that has a place; give foot, or ankle instead")
        return self


class Leg(_Limb):
    """A leg: the place its foot has, or the angles of one that is free, in degrees.

    Attributes:
        foot: The place under the ankle of the foot, when it is flat.
        heel: By how much the heel is up from the toes; below zero the toes from the heel.
        hip: Of the thigh from the line of the body, forward.
        out: Of the leg away from the other.
        knee: Of bending; below zero it is bent backwards.
        ankle: Of the toes pulled up; below zero they point down.
    """

    foot: Place | None = None
    heel: Annotated[float, Field(ge=-40, le=60)] = 0.0
    hip: Annotated[float, Field(ge=-30, le=130)] = 0.0
    out: Annotated[float, Field(ge=-30, le=60)] = 0.0
    knee: Annotated[float, Field(ge=-10, le=150)] = 0.0
    ankle: Annotated[float, Field(ge=-60, le=40)] = 0.0


def _standing() -> Leg:
    return Leg(foot=(0.0, 0.0))


class Arm(_Limb):
    """An arm: the place its hand has, or its angles from hanging down, in degrees."""

    hand: Place | None = None
    shoulder: Annotated[float, Field(ge=-60, le=180)] = 4.0
    out: Annotated[float, Field(ge=-30, le=170)] = 4.0
    elbow: Annotated[float, Field(ge=-10, le=150)] = 10.0


class Thing(Strict):
    """Something around the body.

    Attributes:
        at: Where it is. A chair: the front edge of its seat; a step, bed or cushion: its upper
            edge at the back; a wall, corner, rail or bar: its top; what is round: its middle.
        to: How far forward it goes.
        deep: How thick a bed or cushion is.
        size: The radius of what is round; half the width of a sole.
        held: The joint a weight or band is at.
        days: How much is done on each day of a week.
    """

    kind: Kind
    at: Place = (0.0, 0.0)
    to: Number = 0.0
    deep: Annotated[float, Field(gt=0, le=60)] = 3.0
    size: Annotated[float, Field(gt=0, le=30)] = 3.0
    held: Joint | None = None
    days: tuple[Annotated[float, Field(ge=0, le=60)], ...] = ()

    @property
    def point(self) -> Point:
        return _point(self.at, 0.0)


class Arrow(Strict):
    """Which way a joint moves or, as a push, is pressed.

    ``off`` shifts it in the picture; without a joint it is where the arrow begins.
    """

    joint: Joint | None = None
    way: Literal["up", "down", "left", "right"]
    push: bool = False
    off: Place = (0.0, 0.0)


class Picture(Strict):
    """One picture of a body with things around it, or of things alone.

    Attributes:
        lies: On what the body lies; None where it is upright.
        turned: Whether the picture is mirrored, so that the body faces the other way.
        hips: Where the middle between the hips is.
        lean: Degrees by which the trunk leans forward.
        tilt: Degrees by which it leans to the near side.
    """

    body: bool = True
    lies: Literal["back", "front", "side"] | None = None
    turned: bool = False
    hips: Place = (0.0, 52.4)
    lean: Annotated[float, Field(ge=-60, le=110)] = 0.0
    tilt: Annotated[float, Field(ge=-40, le=40)] = 0.0
    near: Leg = Field(default_factory=_standing)
    far: Leg = Field(default_factory=_standing)
    near_arm: Arm = Field(default_factory=Arm)
    far_arm: Arm = Field(default_factory=Arm)
    things: tuple[Thing, ...] = ()
    arrows: tuple[Arrow, ...] = ()


class Drawing(Strict):
    """The drawing of an exercise: one picture, or up to four from start to end.

    Attributes:
        seen_from: The right side, the front, between them, behind, or the side and above.
        trains: The leg that does the exercise, which is drawn solid.
        things: What is there in all pictures of a body.
    """

    id: Id
    seen_from: Literal["side", "front", "between", "behind", "above"] = "side"
    trains: Literal["near", "far", "both", "none"] = "near"
    things: tuple[Thing, ...] = ()
    pictures: Annotated[tuple[Picture, ...], Field(min_length=1, max_length=4)]


class Point(NamedTuple):
    """A point or a direction: forward, up, towards the viewer."""

    x: float
    y: float
    z: float

    def plus(self, way: Point, times: float = 1.0) -> Point:
        return Point(self.x + times * way.x, self.y + times * way.y, self.z + times * way.z)

    def to(self, other: Point) -> Point:
        return other.plus(self, -1.0)

    def dot(self, other: Point) -> float:
        return self.x * other.x + self.y * other.y + self.z * other.z

    @property
    def length(self) -> float:
        return sqrt(self.dot(self))

    @property
    def unit(self) -> Point:
        return _times(self, 1 / (self.length or 1.0))

    def turned(self, other: Point, degrees_: float) -> Point:
        """This direction, turned towards another that is at right angles to it."""
        return _times(self, cos(radians(degrees_))).plus(other, sin(radians(degrees_)))


def _times(way: Point, times: float) -> Point:
    return Point(0, 0, 0).plus(way, times)


def _point(place: Place, z: float) -> Point:
    return Point(place[0], place[1], place[2] if len(place) > 2 else z)


THIGH, SHANK, TRUNK, NECK, UPPER_ARM, FOREARM = 25.0, 24.0, 29.0, 12.5, 16.0, 18.0
HIP, SHOULDER = 4.5, 9.0
"""Half of what is between the hips, and between the shoulders."""

ANKLE, HEEL, BALL, TOE = 3.5, 3.5, 8.0, 11.0
"""Height of the ankle over the sole; how far heel, ball and toes of the foot are from under it."""

_FRAMES: Mapping[str | None, tuple[Point, Point, Point]] = {
    None: (Point(1, 0, 0), Point(0, 1, 0), Point(0, 0, 1)),
    "back": (Point(0, 1, 0), Point(-1, 0, 0), Point(0, 0, 1)),
    "front": (Point(0, -1, 0), Point(1, 0, 0), Point(0, 0, 1)),
    "side": (Point(0, 0, 1), Point(1, 0, 0), Point(0, 1, 0)),
}
"""Where the front of a body faces, where its head is, and its near side."""


def joints_of(picture: Picture) -> dict[str, Point]:
    """Where each joint is; a limb that cannot reach its place points at it."""
    front, up, near = _FRAMES[picture.lies]
    hips = _point(picture.hips, 0.0)
    trunk = up.turned(front, picture.lean).turned(near, picture.tilt)
    chest = hips.plus(trunk, TRUNK)
    at = {"hips": hips, "chest": chest, "head": chest.plus(trunk, NECK)}
    at["nose"] = at["head"].plus(front.turned(up, -picture.lean), 7.5)
    for name, side in (("near", near), ("far", _times(near, -1))):
        hip, shoulder = hips.plus(side, HIP), chest.plus(side, SHOULDER)
        leg = _leg(getattr(picture, name), hip, front, _times(up, -1), side)
        arm = _arm(getattr(picture, f"{name}_arm"), shoulder, front, _times(trunk, -1), side)
        joints = {"hip": hip, "shoulder": shoulder} | leg | arm
        at |= {f"{name}_{joint}": place for joint, place in joints.items()}
    return at


def _arm(arm: Arm, shoulder: Point, front: Point, down: Point, side: Point) -> dict[str, Point]:
    if arm.hand:
        bends_to = down.plus(front, -0.6).plus(side, 0.5)
        hand = _point(arm.hand, shoulder.z)
        elbow, hand = _reach(shoulder, hand, UPPER_ARM, FOREARM, bends_to)
    else:
        upper = down.turned(front, arm.shoulder).turned(side, arm.out)
        lower = down.turned(front, arm.shoulder + arm.elbow).turned(side, arm.out)
        elbow = shoulder.plus(upper, UPPER_ARM)
        hand = elbow.plus(lower, FOREARM)
    return {"elbow": elbow, "hand": hand}


def _leg(leg: Leg, hip: Point, front: Point, down: Point, side: Point) -> dict[str, Point]:
    if leg.foot:
        level, above = front.plus(down)._replace(y=0.0).unit, Point(0, 1, 0)
        along, upright = level.turned(above, -leg.heel), above.turned(level, leg.heel)
        stays = BALL if leg.heel > 0 else -HEEL
        under = _point(leg.foot, hip.z)
        ankle = under.plus(level, stays).plus(along, -stays).plus(upright, ANKLE)
        knee, ankle = _reach(hip, ankle, THIGH, SHANK, front)
        toes = level if leg.heel > 0 else along
    else:
        shank = leg.hip - leg.knee
        knee = hip.plus(down.turned(front, leg.hip).turned(side, leg.out), THIGH)
        ankle = knee.plus(down.turned(front, shank).turned(side, leg.out), SHANK)
        along = toes = down.turned(front, shank + 90 + leg.ankle)
        upright = down.turned(front, shank + 180 + leg.ankle)
    sole = ankle.plus(upright, -ANKLE)
    ball = sole.plus(along, BALL)
    heel, toe = sole.plus(along, -HEEL), ball.plus(toes, TOE - BALL)
    return {"knee": knee, "ankle": ankle, "heel": heel, "ball": ball, "toe": toe}


def _reach(
    begin: Point, end: Point, first: float, second: float, bends_to: Point
) -> tuple[Point, Point]:
    """The middle joint of two segments from one place to another, and the end they come to."""
    way = begin.to(end)
    far = min(max(way.length, abs(first - second)), first + second)
    along = way.unit
    across = bends_to.plus(along, -bends_to.dot(along)).unit
    lengthwise = (first**2 - second**2 + far**2) / (2 * far)
    height = sqrt(max(first**2 - lengthwise**2, 0.0))
    return begin.plus(along, lengthwise).plus(across, height), begin.plus(along, far)


_NEIGHBOURS = {
    "hip": ("chest", "knee"),
    "knee": ("hip", "ankle"),
    "ankle": ("knee", "toe"),
    "elbow": ("shoulder", "hand"),
}
_ANKLE_AT_REST = 90 + degrees(atan2(ANKLE, TOE))
_RANGES = {"hip": (0, 135), "knee": (0, 150), "ankle": (-65, 45), "elbow": (0, 150)}
"""Degrees by which joints can be bent, wherever that comes from; common practice, no source."""

_OF_A_LEG, _OF_AN_ARM = ("knee", "ankle", "heel", "toe"), ("elbow", "hand")
_BELOW = -0.5
"""The floor, with what a rounded number may be under it."""


def bend_of(at: Mapping[str, Point], side: str, joint: str) -> float:
    """Degrees by which a joint is bent from straight; of an ankle, the toes pulled up."""
    first, second = (
        at[f"{side}_{joint}"].to(at["chest" if one == "chest" else f"{side}_{one}"]).unit
        for one in _NEIGHBOURS[joint]
    )
    inner = degrees(acos(min(max(first.dot(second), -1.0), 1.0)))
    return (_ANKLE_AT_REST if joint == "ankle" else 180) - inner


def mismatches_in_drawing(drawing: Drawing) -> Iterator[Mismatch]:
    """What no body can do in a drawing, with its field."""
    for index, picture in enumerate(drawing.pictures):
        if picture.body:
            for path, reason in _impossible(picture):
                yield ("pictures", index, *path), reason


def _impossible(picture: Picture) -> Iterator[Mismatch]:
    at = joints_of(picture)
    for name in ("head", "hips"):
        if at[name].y < _BELOW:
            yield ("hips",), f"would put the {name} below the floor"
    for side in ("near", "far"):
        leg: Leg = getattr(picture, side)
        arm: Arm = getattr(picture, f"{side}_arm")
        shoulder = at[f"{side}_shoulder"]
        if leg.foot and bend_of(at, side, "knee") < 0.5:
            yield (side, "foot"), "is out of reach: lower the hips or bring the foot closer"
        if arm.hand and shoulder.to(_point(arm.hand, shoulder.z)).length > UPPER_ARM + FOREARM:
            yield (f"{side}_arm", "hand"), "is out of reach: bring the hand closer"
        for field, joints in ((side, _OF_A_LEG), (f"{side}_arm", _OF_AN_ARM)):
            lowest = min(joints, key=lambda joint: at[f"{side}_{joint}"].y)
            if at[f"{side}_{lowest}"].y < _BELOW:
                yield (field,), f"would put the {lowest} below the floor"
        for joint, (least, most) in _RANGES.items():
            bend = bend_of(at, side, joint)
            if not least <= bend <= most:
                field = f"{side}_arm" if joint == "elbow" else side
                reason = f"would bend the {joint} by {bend:.0f} degrees; it goes"
                yield (field,), f"{reason} from {least} to {most}"
