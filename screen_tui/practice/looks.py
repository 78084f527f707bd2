"""What each sign changes in the picture, as far as a stick figure can show it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from math import sin
from typing import Any

from screen_tui.practice.body import Front, Leg, Profile

SHOWS = 0.5
"""Strength from which on that shows which is either there or not."""

_SWAYING = frozenset({"unsteady"})
"""Signs that go to and fro as long as they last."""

_FRONT_SHIFTS: Mapping[str, Mapping[str, float]] = {
    "pelvis-drops": {"tilt": -0.7},
    "hip-hikes": {"tilt": 0.7},
    "trunk-leans": {"lean": 2.0},
    "knee-moves-in": {"knee_in": 1.0},
    "knee-past-foot": {"knee_in": 2.0},
    "knees-together": {"knee_in": 1.4, "other_in": 1.4},
    "shifts-to-one-side": {"sway": 1.2, "lean": 0.8},
    "unsteady": {"sway": 1.2},
    "short-stand": {"low": 0.6},
}
"""By how much, at full strength."""

_FRONT_SWITCHES: Mapping[str, Mapping[str, Any]] = {
    "arch-collapses": {"flat_foot": True},
    "arms-move": {"arms_out": True},
    "hands-used": {"hands_low": True},
    "handrail": {"rail": True},
    "furniture-used": {"rail": True},
    "helped-by-person": {"rail": True},
    "step-to": {"lift": 0.0},
    "walking-aid": {"stick": True},
    "pain-limits": {"mark": "!"},
}

_SIDE_SWITCHES: Mapping[str, Mapping[str, Any]] = {
    "hands-used": {"arm": -25.0},
    "arms-move": {"arm": 70.0},
    "handrail": {"arm": 55.0},
    "furniture-used": {"arm": 60.0},
    "helped-by-person": {"arm": 80.0},
    "step-to": {"far": None},
    "walking-aid": {"stick": True},
    "no-contraction": {"bulge": False},
    "knee-swollen": {"knot": "0"},
    "pain-limits": {"mark": "!"},
}


def seen_from_front(sign: str, body: Front, strength: float, t: float) -> Front:
    """The body with what a sign changes in it.

    Args:
        sign: The id of the sign; one that a stick figure cannot show changes nothing.
        body: Without it.
        strength: From 0, not there, to 1.
        t: The time, for what moves by itself.
    """
    weight = _weight(sign, strength, t)
    for name, amount in _FRONT_SHIFTS.get(sign, {}).items():
        body = replace(body, **{name: getattr(body, name) + amount * weight})
    return replace(body, **_FRONT_SWITCHES.get(sign, {})) if strength > SHOWS else body


def seen_from_side(sign: str, body: Profile, strength: float, t: float) -> Profile:
    """The same from the side."""
    bend = _SIDE_BENDS.get(sign)
    if bend is not None:
        body = bend(body, _weight(sign, strength, t))
    return replace(body, **_SIDE_SWITCHES.get(sign, {})) if strength > SHOWS else body


def _weight(sign: str, strength: float, t: float) -> float:
    return strength * sin(7 * t) if sign in _SWAYING else strength


def _feet_forward(body: Profile, weight: float) -> Profile:
    """The foot stands further in front; the hip stays where it is."""
    return replace(body, near=_bent(body.near, 0.0, 28 * weight))


def _heel_up(body: Profile, weight: float) -> Profile:
    up = weight > SHOWS
    far = None if body.far is None else replace(body.far, heel_up=up or body.far.heel_up)
    return replace(body, near=replace(body.near, heel_up=up or body.near.heel_up), far=far)


def _long_step(body: Profile, weight: float) -> Profile:
    return _leading_leg(body, 16 * weight, 16 * weight)


def _bent_at_contact(body: Profile, weight: float) -> Profile:
    return _leading_leg(body, 18 * weight, -22 * weight)


def _leading_leg(body: Profile, thigh: float, shin: float) -> Profile:
    """Bend whichever leg is in front."""
    if body.far is not None and body.far.thigh > body.near.thigh:
        return replace(body, far=_bent(body.far, thigh, shin))
    return replace(body, near=_bent(body.near, thigh, shin))


def _sagging(body: Profile, weight: float) -> Profile:
    return replace(body, near=_bent(body.near, 0.0, -24 * weight))


def _not_straight(body: Profile, weight: float) -> Profile:
    near = body.near
    bent = replace(near, thigh=max(near.thigh, 24 * weight), shin=min(near.shin, -16 * weight))
    return replace(body, near=bent, trunk=max(body.trunk, 14 * weight))


def _falling_back(body: Profile, weight: float) -> Profile:
    return replace(body, trunk=body.trunk * (1 - weight) - 14 * weight)


def _upright(body: Profile, weight: float) -> Profile:
    return replace(body, trunk=body.trunk * (1 - weight))


def _swaying(body: Profile, weight: float) -> Profile:
    return replace(body, trunk=body.trunk + 9 * weight)


def _bent(leg: Leg, thigh: float, shin: float) -> Leg:
    return replace(leg, thigh=leg.thigh + thigh, shin=leg.shin + shin)


_SIDE_BENDS: Mapping[str, Callable[[Profile, float], Profile]] = {
    "feet-forward": _feet_forward,
    "trunk-upright": _upright,
    "drops-to-seat": _falling_back,
    "short-stand": _not_straight,
    "unsteady": _swaying,
    "forefoot-only": _heel_up,
    "over-stride": _long_step,
    "bent-knee-contact": _bent_at_contact,
    "extension-lag": _sagging,
}
