"""The drawing of an exercise as inline SVG: black on white, without scripts, styles or words.

A body is drawn as outlined limbs; a leg that does the exercise is solid. Pictures are in one scale
and on one floor, from start to end, side by side, or below each other where they are long.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from html import escape
from math import cos, radians, sin
from typing import NamedTuple

from screen_tui.protocol.drawings import Arrow, Drawing, Picture, Point, Thing, joints_of

MILLIMETRES = 0.3
"""On paper, for a hundredth of the height of the person."""

_LONG, _GAP = 100.0, 9.0
"""Width from which on pictures are below each other; what is between them."""

_LINE = 1.4
_LEG, _ARM, _TRUNK, _FOOT, _NECK, _HEAD = 7.0, 4.8, 10.5, 4.2, 5.0, 13.5
"""Widths of lines, and of what is drawn as a line."""

_FROM = {
    "side": (0, 0),
    "front": (90, 12),
    "between": (40, 14),
    "behind": (-78, 12),
    "above": (0, 28),
}
"""Degrees round the person, from the right side to the front, and upwards."""


class _Spot(NamedTuple):
    """A place on the page, y downwards."""

    x: float
    y: float


class _Shape(NamedTuple):
    """A line through spots, closed or not; a single spot is a disc of that width."""

    spots: tuple[_Spot, ...]
    width: float = _LINE
    line: str = "#000"
    fill: str = "none"
    closed: bool = False

    def moved(self, x: float, y: float, across: int = 1) -> _Shape:
        return self._replace(spots=tuple(_Spot(across * s.x + x, s.y + y) for s in self.spots))

    def svg(self) -> str:
        if len(self.spots) == 1:
            at = self.spots[0]
            name, place = "circle", f'cx="{at.x:.1f}" cy="{at.y:.1f}" r="{self.width / 2:.1f}"'
        else:
            name = "polygon" if self.closed else "polyline"
            place = f'points="{" ".join(f"{spot.x:.1f},{spot.y:.1f}" for spot in self.spots)}"'
        width = _LINE if name == "circle" else self.width
        return (
            f'<{name} {place} fill="{self.fill}" stroke="{self.line}" stroke-width="{width:.1f}"/>'
        )


def draw_exercise(drawing: Drawing, title: str, *, left: bool = False) -> str:
    """A drawing as one ``svg`` element.

    Args:
        drawing: What to draw; its near leg is a right one.
        title: What it shows, for those who do not see it.
        left: Whether the left leg does the exercise; each picture is then mirrored.
    """
    panels = [_picture(drawing, picture, picture.turned != left) for picture in drawing.pictures]
    edges = [_edges(panel) for panel in panels]
    below = any(most.x - least.x > _LONG for least, most in edges)
    shapes: list[_Shape] = []
    x = y = 0.0
    for panel, (least, most) in zip(panels, edges, strict=True):
        to = (-least.x, y - least.y) if below else (x - least.x, 0.0)
        shapes += (one.moved(*to) for one in panel)
        x, y = x + most.x - least.x + _GAP, y + most.y - least.y + _GAP
    least, most = _edges(shapes)
    wide, high = most.x - least.x, most.y - least.y
    name = escape(title)
    return (
        f'<svg role="img" aria-label="{name}" '
        f'viewBox="{least.x:.1f} {least.y:.1f} {wide:.1f} {high:.1f}" '
        f'width="{wide * MILLIMETRES:.0f}mm" height="{high * MILLIMETRES:.0f}mm" '
        f'stroke-linecap="round" stroke-linejoin="round"><title>{name}</title>'
        f"{''.join(one.svg() for one in shapes)}</svg>"
    )


def _edges(shapes: Iterable[_Shape]) -> tuple[_Spot, _Spot]:
    """The upper left and the lower right corner of what they cover."""
    covered = [(spot, (one.width + _LINE) / 2) for one in shapes for spot in one.spots]
    return (
        _Spot(min(s.x - half for s, half in covered), min(s.y - half for s, half in covered)),
        _Spot(max(s.x + half for s, half in covered), max(s.y + half for s, half in covered)),
    )


class _Camera(NamedTuple):
    """Where the viewer is, in radians."""

    around: float
    above: float

    def depth(self, at: Point) -> float:
        """How near a point is to the viewer."""
        return at.z * cos(self.around) + at.x * sin(self.around)

    def spot(self, at: Point) -> _Spot:
        across = at.x * cos(self.around) - at.z * sin(self.around)
        return _Spot(across, self.depth(at) * sin(self.above) - at.y * cos(self.above))

    def line(self, *points: Point, width: float = _LINE) -> _Shape:
        return _Shape(tuple(map(self.spot, points)), width)

    def face(self, *points: tuple[float, float, float]) -> _Shape:
        spots = tuple(self.spot(Point(*point)) for point in points)
        return _Shape(spots, fill="#fff", closed=True)

    def box(self, low: Point, high: Point) -> Iterator[_Shape]:
        """Its three faces that can be seen."""
        (a, b, c), (x, y, z) = low, high
        if self.around < 0:
            a, x = x, a
        yield self.face((a, b, z), (x, b, z), (x, y, z), (a, y, z))
        yield self.face((x, b, z), (x, b, c), (x, y, c), (x, y, z))
        yield self.face((a, y, z), (x, y, z), (x, y, c), (a, y, c))


def _picture(drawing: Drawing, picture: Picture, mirrored: bool) -> list[_Shape]:
    seen_from = drawing.seen_from if picture.body else "side"
    camera = _Camera(*map(radians, _FROM[seen_from]))
    things = [*(drawing.things if picture.body else ()), *picture.things]
    at = joints_of(picture)
    before = [_is_before(thing, camera) for thing in things]
    behind = (one for one, is_before in zip(things, before, strict=True) if not is_before)
    shapes = [shape for thing in behind for shape in _thing(thing, at, camera)]
    if picture.body:
        shapes += _body(at, camera, drawing.trains)
    for thing, is_before in zip(things, before, strict=True):
        if is_before:
            shapes += _thing(thing, at, camera)
    for arrow in picture.arrows:
        shapes += _arrow(arrow, camera.spot(at[arrow.joint] if arrow.joint else Point(0, 0, 0)))
    if picture.body and not picture.lies and all(thing.kind != "corner" for thing in things):
        least, most = _edges(shapes)
        floor = camera.spot(Point(picture.hips[0], 0, 0)).y + _LINE / 2
        shapes.insert(0, _Shape((_Spot(least.x - 2, floor), _Spot(most.x + 2, floor))))
    return [one.moved(0, 0, across=-1) for one in shapes] if mirrored else shapes


def _is_before(thing: Thing, camera: _Camera) -> bool:
    """Whether a thing hides a part of the body."""
    if thing.kind in ("bar", "ball"):
        return camera.depth(Point(thing.at[0], 0, 0)) > 1
    return thing.kind in ("weight", "band", "level", "roll")


def _body(at: Mapping[str, Point], camera: _Camera, trains: str) -> Iterator[_Shape]:
    """The parts of a body, the nearest last; each in white, black and white: edge, line, inside."""
    parts: list[tuple[float, list[_Shape]]] = []

    def add(solid: bool, *lines: tuple[float, bool, Sequence[str]]) -> None:
        """Add a part of lines, each with its width, whether it is closed, and its joints."""
        shapes = []
        for colour, more in (("#fff", _LINE), ("#000", 0.0), ("#fff", -1.7 * _LINE)):
            for width, closed, joints in lines:
                spots = tuple(camera.spot(at[joint]) for joint in joints)
                fill = colour if closed else "none"
                if more >= 0 or not solid:
                    shapes.append(_Shape(spots, width + more, colour, fill, closed))
        depths = [camera.depth(at[joint]) for _, _, joints in lines for joint in joints]
        parts.append((sum(depths) / len(depths), shapes))

    for side in ("far", "near"):
        leg = [f"{side}_{joint}" for joint in ("hip", "knee", "ankle", "heel", "toe", "ball")]
        add(trains in (side, "both"), (_LEG, False, leg[:3]), (_FOOT, True, leg[2:]))
        add(False, (_ARM, False, [f"{side}_{joint}" for joint in ("shoulder", "elbow", "hand")]))
    add(False, (_TRUNK, True, ["near_shoulder", "far_shoulder", "far_hip", "near_hip"]))
    add(False, (_NECK, False, ["chest", "head"]))
    if camera.depth(at["nose"]) > camera.depth(at["head"]) - 5:
        parts[-1][1].append(camera.line(at["head"], at["nose"], width=2.6))
    parts[-1][1].append(_Shape((camera.spot(at["head"]),), _HEAD, fill="#fff"))
    for _, shapes in sorted(parts, key=lambda part: round(part[0], 1)):
        yield from shapes


_HALF = {"step": 15, "bed": 14, "cushion": 8}
"""Half of how wide a thing is, across."""

_SOLE = (
    (-3, 0), (0, -1), (3, 0), (4.5, 4), (4.5, 10), (6.5, 17), (5.5, 22), (2, 25), (-2, 27),
    (-5, 26.5), (-6, 23), (-5, 17), (-3.5, 11), (-4.5, 4),
)  # fmt: skip
"""A right foot from above, toes up."""


def _thing(thing: Thing, at: Mapping[str, Point], camera: _Camera) -> Iterator[_Shape]:
    (x, y, z), to = thing.point, thing.to
    match thing.kind:
        case "chair":
            legs = [Point(x + across, 0, side) for side in (-9, 9) for across in (-20, -2)]
            yield from (camera.line(leg, leg._replace(y=y), width=2.2) for leg in legs[:2])
            yield from camera.box(Point(x - 23, y, -10), Point(x - 21, y + 26, 10))
            yield from (camera.line(leg, leg._replace(y=y), width=2.2) for leg in legs[2:])
            yield from camera.box(Point(x - 22, y - 2.5, -10), Point(x, y, 10))
        case "step" | "bed" | "cushion":
            half, low = _HALF[thing.kind], 0 if thing.kind == "step" else y - thing.deep
            yield from camera.box(Point(x, low, -half), Point(to, y, half))
        case "wall":
            yield camera.line(Point(x, 0, 0), Point(x, y, 0), width=2.2)
            for up in range(6, int(y), 12):
                yield camera.line(Point(x, up, 0), Point(x + 4, up + 4, 0), width=0.8)
        case "back-wall":
            yield camera.face((x, 0, z), (to, 0, z), (to, y, z), (x, y, z))
        case "corner":
            for end in (Point(x, y, z), Point(to, 0, z), Point(x, 0, z + 50)):
                yield camera.line(Point(x, 0, z), end, width=0.8)
        case "rail" | "bar":
            across = thing.kind == "bar"
            ends = (
                (Point(x, y, -18), Point(x, y, 18)) if across else (Point(x, y, z), Point(to, y, z))
            )
            yield from (camera.line(end, end._replace(y=0)) for end in ends)
            yield camera.line(*ends, width=2.8)
        case "roll" | "ball":
            spot = camera.spot(thing.point)
            for size in (2, 1) if thing.kind == "roll" else (2,):
                yield _Shape((spot,), size * thing.size, fill="#fff")
        case "band":
            held = at[thing.held or "near_knee"]
            yield camera.line(Point(x, y, held.z), held.plus(Point(-4, 0, 0)), width=2.0)
        case "weight":
            hand = camera.spot(at[thing.held or "near_hand"])
            discs = _Spot(hand.x - 6, hand.y), _Spot(hand.x + 6, hand.y)
            yield _Shape(discs, 2.6)
            yield from (_Shape((disc,), 6.0, fill="#fff") for disc in discs)
        case "level":
            hips = camera.spot(at["hips"])
            for off in (-21, -15, 12, 18):
                yield _Shape((_Spot(hips.x + off, hips.y), _Spot(hips.x + off + 3, hips.y)))
        case "right-sole" | "left-sole":
            wide = thing.size / 6
            turn = wide if thing.kind == "right-sole" else -wide
            yield camera.face(*((x + turn * a, y + wide * b, 0) for a, b in _SOLE))
        case "flat-foot" | "arched-foot":
            yield camera.line(Point(x - 22, y - 1.6, 0), Point(x + 56, y - 1.6, 0))
            outline = _foot(arched=thing.kind == "arched-foot")
            yield camera.face(*((x + a, y + b, 0) for a, b in outline))
        case "paper":
            yield camera.face((x, y, 0), (x + 28, y, 0), (x + 28, y - 38, 0), (x, y - 38, 0))
            for row in range(1, 6):
                yield camera.line(Point(x + 5, y - row * 6, 0), Point(x + 23, y - row * 6, 0))
        case "plus":
            yield camera.line(Point(x - 6, y, 0), Point(x + 6, y, 0), width=3.0)
            yield camera.line(Point(x, y - 6, 0), Point(x, y + 6, 0), width=3.0)
        case "week":
            for day, much in enumerate(thing.days):
                left, right, top = x + day * 9, x + day * 9 + 6, y + much
                bar = camera.face((left, y, 0), (right, y, 0), (right, top, 0), (left, top, 0))
                yield bar._replace(fill="#000")


def _foot(*, arched: bool) -> list[tuple[float, float]]:
    """A foot from its inner side, toes to the right; with its arch up it is shorter."""
    toe, arch = (45, 9) if arched else (49, 2)
    behind = [(-9, 40), (-9, 27), (-10, 21), (-14, 14), (-15, 8), (-13, 3), (-8, 0), (-2, 0)]
    sole = [(3, arch * 0.6), (9, arch), (16, arch), (toe - 21, arch / 2), (toe - 17, 0)]
    toes = [(toe - 4, 0), (toe, 2), (toe, 5), (toe - 4, 7), (toe - 11, 8), (toe - 20, 12)]
    instep = [(17, 17 + arch / 2), (11, 24), (9, 30), (9, 40)]
    return [*behind, *sole, *toes, *instep]


_WAYS = {"up": (0, -1), "down": (0, 1), "left": (-1, 0), "right": (1, 0)}


def _arrow(arrow: Arrow, joint: _Spot) -> Iterator[_Shape]:
    x, y = _WAYS[arrow.way]
    begin, end = (-21, -8) if arrow.push else (8, 21)

    def at(along: float, aside: float = 0.0) -> _Spot:
        return _Spot(
            joint.x + arrow.off[0] + along * x - aside * y,
            joint.y - arrow.off[1] + along * y + aside * x,
        )

    yield _Shape((at(begin), at(end - 5)), 2.4)
    yield _Shape((at(end), at(end - 6, 3.6), at(end - 6, -3.6)), 1.2, fill="#000", closed=True)
