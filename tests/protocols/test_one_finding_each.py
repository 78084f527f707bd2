"""What one finding says in a session that is clean otherwise, as a therapist expects it.

Which driver a finding points to is common practice, no source; how strongly is judgement.
"""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from shipped_protocol import shipped

from screen_tui.engine import assess
from screen_tui.session.model import Client, Intake, Session, Trial

SIDES = ("left", "right")
CLEAN = (
    *(Trial(test="knee-extension", side=side, passive_deg=0, active_deg=0) for side in SIDES),
    *(Trial(test="straight-leg-raise-hold", side=side, value=10) for side in SIDES),
    *(Trial(test="single-leg-stance", side=side, value=30) for side in SIDES),
    *(Trial(test="step-down", side=side) for side in SIDES),
    Trial(test="tandem-stance", value=10, ended="cap"),
    Trial(test="walk-4m", value=3.2),
    Trial(test="timed-up-and-go", value=8),
    Trial(test="chair-stands-30s", value=16),
)


def odds(trials: tuple[Trial, ...]) -> dict[str, float]:
    """The odds of each driver, on the left leg where it belongs to a leg."""
    made = Session(
        id="2026-01-01-0900-0000",
        protocol="chairside-knee",
        started=datetime(2026, 1, 1, 9, tzinfo=UTC),
        client=Client(label="T-1", age=55, sex="female"),
        intake=Intake(side="left"),
        trials=tuple(one.model_copy(update={"watched": True}) for one in trials),
    )
    return {
        one.driver: one.chance / (1 - one.chance)
        for one in assess(shipped(), made).drivers
        if one.side != "right"
    }


def moved(test: str, **change: object) -> dict[str, float]:
    """By how much the odds move when one trial is not clean, on the left leg if it has a leg."""
    with_it = tuple(
        one.model_copy(update=change) if one.test == test and one.side != "right" else one
        for one in CLEAN
    )
    assert with_it != CLEAN
    before, after = odds(CLEAN), odds(with_it)
    return {driver: after[driver] / before[driver] for driver in before}


SIGNS = {
    "hip-control": [
        ("single-leg-stance", "pelvis-drops"),
        ("single-leg-stance", "trunk-leans"),
        ("single-leg-stance", "hip-hikes"),
        ("step-down", "pelvis-drops"),
        ("step-down", "trunk-leans"),
        ("step-down", "hip-hikes"),
        ("walk-4m", "pelvis-drops"),
        ("walk-4m", "trunk-leans"),
    ],
    "foot-ankle-control": [
        ("single-leg-stance", "arch-collapses"),
        ("step-down", "arch-collapses"),
        ("walk-4m", "arch-collapses"),
    ],
    "knee-extension": [
        ("walk-4m", "bent-knee-contact"),
        ("timed-up-and-go", "bent-knee-contact"),
        ("chair-stands-30s", "short-stand"),
    ],
    "quad-weakness": [
        ("knee-extension", "no-contraction"),
        ("straight-leg-raise-hold", "extension-lag"),
        ("chair-stands-30s", "hands-used"),
        ("chair-stands-30s", "shifts-to-one-side"),
        ("chair-stands-30s", "drops-to-seat"),
    ],
    "movement-strategy": [
        ("chair-stands-30s", "feet-forward"),
        ("chair-stands-30s", "trunk-upright"),
        ("timed-up-and-go", "feet-forward"),
        ("timed-up-and-go", "trunk-upright"),
        ("walk-4m", "over-stride"),
    ],
    "balance": [
        ("tandem-stance", "unsteady"),
        ("single-leg-stance", "unsteady"),
        ("step-down", "unsteady"),
        ("walk-4m", "unsteady"),
        ("timed-up-and-go", "unsteady"),
        ("chair-stands-30s", "unsteady"),
    ],
}


@pytest.mark.parametrize(
    ("driver", "test", "sign"),
    [(driver, test, sign) for driver, found in SIGNS.items() for test, sign in found],
)
def test_a_sign_points_most_to_its_driver(driver: str, test: str, sign: str) -> None:
    legs = {} if shipped().test(test).sided else {sign: "left"}
    factors = moved(test, signs=(sign,), sign_legs=legs)
    assert max(factors, key=factors.__getitem__) == driver
    assert factors[driver] > 2


@pytest.mark.parametrize(
    ("test", "sign"),
    [
        ("single-leg-stance", "knee-moves-in"),
        ("step-down", "knee-moves-in"),
        ("step-down", "knee-past-foot"),
    ],
)
def test_a_knee_that_goes_in_points_to_hip_and_foot_alike(test: str, sign: str) -> None:
    factors = moved(test, signs=(sign,))
    first, second, third, *_ = sorted(factors, key=lambda driver: -factors[driver])
    assert {first, second} == {"hip-control", "foot-ankle-control"}
    assert factors[second] > 2
    assert factors[second] > 1.5 * factors[third]


SLOWING = (1.4, 2.8, 4.2, 5.6, 7.0, 8.5, 10.0, 11.6, 13.2, 15.0, 16.9, 18.9, 21.1, 23.5, 26.2, 29.2)


@pytest.mark.parametrize(
    ("driver", "test", "change"),
    [
        ("knee-extension", "knee-extension", {"passive_deg": 8, "active_deg": 8}),
        ("quad-weakness", "knee-extension", {"active_deg": 11}),
        ("quad-weakness", "straight-leg-raise-hold", {"value": 4}),
        ("balance", "tandem-stance", {"value": 4.0, "ended": "foot-down"}),
        ("deconditioning", "walk-4m", {"value": 4.8}),
        ("deconditioning", "chair-stands-30s", {"splits": SLOWING}),
    ],
)
def test_a_number_points_most_to_its_driver(
    driver: str, test: str, change: dict[str, object]
) -> None:
    factors = moved(test, **change)
    assert max(factors, key=factors.__getitem__) == driver
    assert factors[driver] > 2


@pytest.mark.parametrize(
    ("test", "drivers"),
    [
        ("knee-extension", ("knee-extension", "quad-weakness")),
        ("straight-leg-raise-hold", ("quad-weakness",)),
        ("single-leg-stance", ("hip-control", "foot-ankle-control", "balance")),
        ("step-down", ("hip-control", "foot-ankle-control", "quad-weakness")),
        ("tandem-stance", ("balance",)),
        ("walk-4m", ("deconditioning", "knee-extension", "balance")),
        ("timed-up-and-go", ("balance", "movement-strategy", "knee-extension")),
        ("chair-stands-30s", ("movement-strategy", "deconditioning", "quad-weakness")),
    ],
)
def test_a_clean_test_speaks_against_what_it_would_show(
    test: str, drivers: tuple[str, ...]
) -> None:
    without, before = odds(tuple(one for one in CLEAN if one.test != test)), odds(CLEAN)
    assert {driver: before[driver] < without[driver] for driver in drivers} == dict.fromkeys(
        drivers, True
    )
