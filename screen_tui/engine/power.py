"""Power of rising from a chair and of climbing stairs, from body size and time."""

from __future__ import annotations

GRAVITY = 9.81
"""Metres per second squared."""

SHARE_LIFTED = 0.9
"""Of body mass: the feet and shanks stay down."""

LEG_OF_HEIGHT = 0.5
"""Length of the leg as a share of height."""

RISING_SHARE = 0.5
"""Of the time of a cycle: the other half goes into sitting down."""

LEAST_LIFT_M = 0.20
"""With a shorter way up, a centimetre of seat height would decide the result (judgement)."""


def rise_power_watts(
    mass_kg: float, height_cm: float, seat_cm: float, seconds: float, rises: float
) -> float | None:
    """Mean power of the rising phase over a number of whole cycles, in watts.

    P = 0.9 m g (0.5 height - seat) / (0.5 time / rises). The form is that of Alcazar and others
    2018, Exp Gerontol 112:38-43 (its three assumptions seen, the equation from memory).

    Args:
        mass_kg: Body mass.
        height_cm: Body height.
        seat_cm: Height of the seat.
        seconds: Time of all cycles.
        rises: Number of cycles, ended in sitting.

    Returns:
        Watts, or None where the way up is below 20 cm or nothing was done.
    """
    lift_m = (LEG_OF_HEIGHT * height_cm - seat_cm) / 100
    if lift_m < LEAST_LIFT_M or rises <= 0 or seconds <= 0:
        return None
    return mass_kg * SHARE_LIFTED * GRAVITY * lift_m / (RISING_SHARE * seconds / rises)


def stair_power_watts(mass_kg: float, riser_cm: float, steps: int, seconds: float) -> float | None:
    """Mean power of climbing a flight, in watts: weight times height climbed over time.

    Args:
        mass_kg: Body mass.
        riser_cm: Height of one step.
        steps: Number of steps.
        seconds: Time up.

    Returns:
        Watts, or None where there is no time.
    """
    if seconds <= 0:
        return None
    return mass_kg * GRAVITY * riser_cm / 100 * steps / seconds
