"""Sessions with far more trials than anybody does, under the shipped protocol."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from random import Random
from typing import Any

from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Session
from support.every_session import shipped_protocol

_BEGUN = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)


def _trial(spec: TestSpec, random: Random) -> dict[str, Any]:
    """A trial with everything that can be noted of it."""
    trial: dict[str, Any] = {"test": spec.id, "note": "Held the rail at first."}
    if spec.sided:
        trial["side"] = random.choice(["left", "right"])
    low, high = spec.plausible.minimum, min(spec.plausible.maximum, 60)
    match spec.timer.kind:
        case "measure" if "value" not in {field.id for field in spec.timer.numbers}:
            trial |= {"passive_deg": random.uniform(-5, 20), "active_deg": random.uniform(18, 25)}
        case "quality":
            pass
        case _:
            trial["value"] = trial["raw_value"] = round(random.uniform((low + high) / 2, high), 1)
    if spec.timer.kind == "steps":
        trial |= {"direction": random.choice(["up", "down"]), "steps": 10}
    if spec.timer.kind in ("steps", "count-in-time", "time-for-count"):
        trial["splits"] = [round(0.9 * (n + 1), 2) for n in range(10)]
    trial["signs"] = random.sample(spec.signs, min(3, len(spec.signs)))
    trial["sign_times"] = {sign: float(at) for at, sign in enumerate(trial["signs"])}
    trial["ended"] = random.choice(["", "", "fatigue", "pain"])
    trial["pain"] = random.choice([None, 0, 3, 5])
    trial["cue"] = random.choice(["", "", *(cue.id for cue in spec.cues)])
    for item in spec.set_up:
        noted = item.choices or (item.usual, item.maximum)
        trial[item.id] = random.choice(noted)
    return trial


def _plain(spec: TestSpec, random: Random) -> dict[str, Any]:
    """The same, with nothing noted but its number."""
    noted = _trial(spec, random)
    wanted = ("test", "side", "value", "passive_deg", "active_deg", "direction", "steps")
    return {name: noted[name] for name in wanted if name in noted}


def _all_tests(random: Random, _n: int) -> dict[str, Any]:
    return _trial(random.choice(shipped_protocol().tests), random)


def _several(random: Random, n: int) -> dict[str, Any]:
    names = ("single-leg-stance", "step-down", "stair-steps", "chair-stands-30s")
    return _trial(shipped_protocol().test(names[n % 4]), random)


def _one_test(random: Random, _n: int) -> dict[str, Any]:
    return _plain(shipped_protocol().test("single-leg-stance"), random)


def _one_knee(random: Random, _n: int) -> dict[str, Any]:
    """Measured against the other leg, trial by trial."""
    return _plain(shipped_protocol().test("knee-extension"), random)


def _seats(random: Random, n: int) -> dict[str, Any]:
    """No two trials done in the same way."""
    return _plain(shipped_protocol().test("chair-stands-30s"), random) | {"seat_cm": 30 + n / 100}


def _risers(random: Random, n: int) -> dict[str, Any]:
    stairs = shipped_protocol().test("stair-steps")
    return _plain(stairs, random) | {"riser_cm": 12 + n / 200, "direction": "up"}


def _void(random: Random, n: int) -> dict[str, Any]:
    return _all_tests(random, n) | {"void": "wrong leg"}


def _impossible(random: Random, n: int) -> dict[str, Any]:
    return _one_test(random, n) | {"value": 900.0}


KINDS: dict[str, Callable[[Random, int], dict[str, Any]]] = {
    "all tests": _all_tests,
    "several tests": _several,
    "one test": _one_test,
    "one knee": _one_knee,
    "every seat another": _seats,
    "every riser another": _risers,
    "all struck out": _void,
    "none possible": _impossible,
}
AMENDED = "every trial amended"


def many_trials(kind: str, count: int) -> Session:
    """A session with that many trials, always the same.

    Args:
        kind: One of `KINDS`, or `AMENDED`: all tests, with an addendum to each trial.
        count: How many trials.
    """
    random = Random(count)
    make = KINDS.get(kind, _all_tests)
    trials = [make(random, n) for n in range(count)]
    for n, trial in enumerate(trials):
        trial["recorded"] = _BEGUN + timedelta(seconds=n)
    addenda: list[dict[str, Any]] = []
    if kind == AMENDED:
        for n, trial in enumerate(trials, start=1):
            about = {"struck_out": True} if "value" not in trial else {"value": trial["value"]}
            addenda.append(
                {"written": _BEGUN, "reason": "Read again.", "text": "x", "trial": n, **about}
            )
    return Session.model_validate(
        {
            "id": "many-trials",
            "protocol": shipped_protocol().battery.id,
            "started": _BEGUN,
            "finished": _BEGUN + timedelta(hours=9),
            "synthetic": True,
            "client": {
                "label": "DEMO",
                "age": 67,
                "sex": "female",
                "height_cm": 165,
                "mass_kg": 70,
            },
            "trials": trials,
            "addenda": addenda,
        }
    )
