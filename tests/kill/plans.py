"""Which rounds are played: how the program is ended, where it begins, and at which instant."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from kill.hand import CLOSED, Instant
from kill.round import Plan, Stage

WAYS = ("SIGTERM", "SIGHUP", CLOSED)
"""The ways to end a program that lets it do the last things itself."""

_STAGES: tuple[tuple[Stage, bool, float], ...] = (
    # Stage, whether the note is written at once, and how many of the rounds.
    ("empty", False, 0.10),
    ("draft", False, 0.12),
    ("begun", False, 0.18),
    ("stance", False, 0.45),
    ("stance", True, 0.15),
)
_GOING_ON = 0.4
_AT_START, _AT_ANY_TIME, _AT_A_WRITE = 0.08, 0.37, 0.25
"""Shares of rounds by when they end; the others end soon after a key."""
_STARTING_S = 1.2
_A_KEY_S = 0.04
"""A key is handled, and what it changed is on disk, within about this time."""
_A_WRITE_S = 0.0004
_LONGEST_S = {"empty": 4.0, "draft": 3.0, "begun": 5.0, "stance": 7.0}
_MOST_KEYS = {"empty": 40, "draft": 18, "begun": 25, "stance": 35}
_NOTE_S, _NOTE_KEYS = 2.5, 14


def plans(seed: str, kills: int, others: int) -> Iterator[Plan]:
    """Give the rounds in order.

    Args:
        seed: The same seed gives the same rounds.
        kills: How many end with SIGKILL.
        others: How many end in each of the other ways.
    """
    ways = ["SIGKILL"] * kills + [way for way in WAYS for _ in range(others)]
    rng = Random(seed)
    for number, way in enumerate(ways, start=1):
        yield _plan(rng, f"{seed}-{number}", way)


def _plan(rng: Random, seed: str, way: str) -> Plan:
    stage, to_note, _ = rng.choices(_STAGES, [share for *_, share in _STAGES])[0]
    longest, keys = (_NOTE_S, _NOTE_KEYS) if to_note else (_LONGEST_S[stage], _MOST_KEYS[stage])
    (mark,) = rng.choices(
        ("start", "first screen", "write", "key"),
        [_AT_START, _AT_ANY_TIME, _AT_A_WRITE, 1 - _AT_START - _AT_ANY_TIME - _AT_A_WRITE],
    )
    instant = {
        "start": Instant("start", 0, rng.uniform(0.0, _STARTING_S)),
        "first screen": Instant("first screen", 0, rng.uniform(0.0, longest)),
        "write": Instant("write", rng.randint(1, keys // 2), rng.uniform(0.0, _A_WRITE_S)),
        "key": Instant("key", rng.randint(1, keys), rng.uniform(0.0, _A_KEY_S)),
    }[mark]
    return Plan(seed, way, stage, instant, to_note, goes_on=rng.random() < _GOING_ON)
