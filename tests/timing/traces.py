"""Trains of key events as keyboards send them, in seconds from the first event."""

import random
from dataclasses import dataclass


@dataclass(frozen=True)
class Keyboard:
    """How a system repeats a held key by default, in seconds."""

    name: str
    delay: float
    period: float


KEYBOARDS = (
    Keyboard("X11", 0.660, 0.040),
    Keyboard("GNOME", 0.500, 0.030),
    Keyboard("macOS default", 0.500, 0.083),
    Keyboard("macOS fastest", 0.225, 0.030),
    Keyboard("Windows", 0.500, 0.033),
    Keyboard("Linux console", 0.250, 0.092),
)

# Two bounces after the real contact.
CHATTER = (0.0, 0.008, 0.016)


def held(delay: float, period: float, seconds: float, start: float = 0.0) -> list[float]:
    """The press, then a repeat every `period` from `delay` on, while the key is down."""
    events = [start]
    repeat = 0
    while delay + repeat * period <= seconds:
        events.append(start + delay + repeat * period)
        repeat += 1
    return events


def held_unevenly(delay: float, period: float, seconds: float, seed: int) -> list[float]:
    """A held key read by a busy program: each event late by up to 12 ms, as measured."""
    jitter = random.Random(seed)
    return sorted(t + jitter.uniform(0.0, 0.012) for t in held(delay, period, seconds))


def taps(per_second: float, count: int, start: float = 0.0) -> list[float]:
    """Single presses at an even rate."""
    return [start + i / per_second for i in range(count)]
