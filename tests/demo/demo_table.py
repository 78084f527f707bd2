"""What each invented person who comes with the program must be read as.

Outcomes, drivers and reasons were written from the findings alone and are clinical judgement
without a published source.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from screen_tui.engine.results import Outcome
from screen_tui.fields import Side
from screen_tui.files.places import demo_folder
from screen_tui.session.file import load_session
from screen_tui.session.model import Session

Leading = tuple[str, Side | None]
Reason = tuple[str, str]


@dataclass(frozen=True)
class Expected:
    """What a demo session must be read as.

    Attributes:
        file: Its name, without the ending.
        outcome: The kind of answer.
        leading: The drivers it is about, with their sides; best first.
        reasons: (test, words) that must stand among what speaks for the first leading driver, or
            for the two together when mixed, and must count.
        cleared: Drivers that must not even be possible, on any side.
    """

    file: str
    outcome: Outcome
    leading: tuple[Leading, ...] = ()
    reasons: tuple[Reason, ...] = ()
    cleared: tuple[str, ...] = ()


EXPECTED = (
    Expected(
        "thigh-right-after-knee-replacement",
        "likely",
        (("quad-weakness", "right"),),
        (
            ("knee-extension", "extension lag"),
            ("straight-leg-raise-hold", "fewer than 7 good raises"),
        ),
        ("hip-control", "foot-ankle-control", "knee-extension", "balance"),
    ),
    Expected(
        "runner-left-hip",
        "likely",
        (("hip-control", "left"),),
        (
            ("single-leg-stance", "pelvic drop"),
            ("step-down", "with the cue pelvis level: pain eased"),
        ),
        ("foot-ankle-control", "quad-weakness", "balance", "deconditioning"),
    ),
    Expected(
        "shop-floor-right-foot",
        "possible",
        (("foot-ankle-control", "right"),),
        (
            ("single-leg-stance", "arch drop"),
            ("step-down", "knee valgus"),
        ),
        ("hip-control", "quad-weakness", "balance", "deconditioning"),
    ),
    Expected(
        "stiff-left-after-ligament-surgery",
        "likely",
        (("knee-extension", "left"),),
        (
            ("knee-extension", "6 degrees or more short"),
            ("walk-4m", "bent knee at contact"),
        ),
        ("quad-weakness", "hip-control", "movement-strategy", "balance"),
    ),
    Expected(
        "chair-and-floor-both-knees",
        "likely",
        (("movement-strategy", None),),
        (
            ("five-chair-stands", "trunk upright"),
            ("five-chair-stands", "with the cue feet back: pain eased"),
        ),
        ("quad-weakness", "knee-extension", "balance", "deconditioning"),
    ),
    Expected(
        "tired-after-a-winter-indoors",
        "likely",
        (("deconditioning", None),),
        (
            ("chair-stands-30s", "rises slow down by a fifth or more"),
            ("walk-4m", "usual speed 0.76 m/s: slow"),
        ),
        ("quad-weakness", "knee-extension", "hip-control", "balance"),
    ),
    Expected(
        "unsteady-at-home-88",
        "likely",
        (("balance", None),),
        (
            ("tandem-stance", "unsteady"),
            ("walk-4m", "unsteady"),
        ),
        ("quad-weakness", "knee-extension", "hip-control", "deconditioning"),
    ),
    Expected("fall-on-the-stairs-refer-first", "refer-first"),
    Expected(
        "four-weeks-after-bone-surgery-left",
        "unloaded-only",
        (("quad-weakness", "left"),),
        (
            ("knee-extension", "extension lag"),
            ("straight-leg-raise-hold", "fewer than 7 good raises"),
        ),
        ("knee-extension", "hip-control", "balance", "deconditioning"),
    ),
    Expected(
        "too-sore-to-tell-right",
        "undetermined",
        cleared=(
            "quad-weakness",
            "hip-control",
            "foot-ankle-control",
            "knee-extension",
            "movement-strategy",
            "deconditioning",
            "balance",
        ),
    ),
    Expected(
        "hill-walker-nothing-found",
        "nothing-found",
        cleared=(
            "quad-weakness",
            "hip-control",
            "foot-ankle-control",
            "knee-extension",
            "movement-strategy",
            "deconditioning",
            "balance",
        ),
    ),
    Expected(
        "frail-81-balance-or-stamina",
        "mixed",
        (("balance", None), ("deconditioning", None)),
        (
            ("chair-stands-30s", "rises slow down by a fifth or more"),
            ("tandem-stance", "unsteady"),
        ),
        ("quad-weakness", "hip-control", "knee-extension"),
    ),
)

every_demo = pytest.mark.parametrize("expected", EXPECTED, ids=lambda one: one.file)


def path_of(expected: Expected) -> Path:
    return demo_folder() / f"{expected.file}.toml"


def session_of(expected: Expected) -> Session:
    return load_session(path_of(expected))
