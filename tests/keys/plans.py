"""Which sessions are played."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from random import Random

from keys.sends import SIZES, Kind, Size
from keys.starts import STARTS

_SHARES: dict[Kind, float] = {
    "paste": 0.5,
    "mouse": 0.5,
    "resize": 0.5,
    "focus": 0.3,
    "stop": 0.2,
    "kitty keys": 0.2,
    "reports": 0.2,
    "broken sequences": 0.2,
    "odd bytes": 0.2,
}
"""How many of the sessions send each of them; a session with everything would always end by what
ends the program soonest."""
_GOES_ON, _BY_SIGNAL = 0.25, 0.2
_FEWEST, MOST = 15, 150


@dataclass(frozen=True)
class Plan:
    """What a session does; nothing in it depends on any other session.

    Attributes:
        seed: Of all sessions.
        number: Of this one; both together decide all that is random in it.
        size: Columns and rows it begins with.
        start: The name of the place it begins at.
        goes_on: Whether it goes on in the folder the session before has left.
        kinds: What is sent.
        sends: How many.
        by_signal: Whether it is ended by SIGTERM.
    """

    seed: str
    number: int
    size: Size
    start: str
    goes_on: bool
    kinds: frozenset[Kind]
    sends: int
    by_signal: bool

    def rng(self, what: object) -> Random:
        """What decides one thing of the session, whatever was decided before."""
        return Random(f"{self.seed}-{self.number}-{what}")

    def __str__(self) -> str:
        columns, rows = self.size
        others = ", ".join(sorted(self.kinds - {"keys"})) or "keys only"
        goes_on = ", goes on" if self.goes_on else ""
        ends = "SIGTERM" if self.by_signal else "Ctrl-Q"
        return f"{columns}x{rows}, {self.start}{goes_on}, {self.sends} sends ({others}), {ends}"


def chains(
    seed: str,
    sessions: int,
    *,
    size: Size | None = None,
    most: int = MOST,
    without: frozenset[Kind] = frozenset(),
) -> Iterator[list[Plan]]:
    """Give the sessions in order; one that goes on stands in a list with those before it.

    Args:
        seed: The same seed gives the same sessions.
        sessions: How many.
        size: Columns and rows of all of them; of each its own when left out.
        most: The most that is sent in one.
        without: Kinds that are not sent.
    """
    chain: list[Plan] = []
    for number in range(1, sessions + 1):
        plan = _plan(seed, number, size, most, without)
        if chain and not plan.goes_on:
            yield chain
            chain = []
        chain.append(plan)
    yield chain


def _plan(seed: str, number: int, size: Size | None, most: int, without: frozenset[Kind]) -> Plan:
    rng = Random(f"{seed}-{number}")
    goes_on = rng.random() < _GOES_ON and number > 1
    anywhere = [name for name, start in STARTS.items() if not start.prepare]
    among = anywhere if goes_on else list(STARTS)
    chosen = {kind for kind, share in _SHARES.items() if rng.random() < share}
    own_size = rng.choice(SIZES)
    return Plan(
        seed,
        number,
        size or own_size,
        rng.choice(among),
        goes_on,
        frozenset[Kind]({"keys", *chosen}) - without,
        rng.randint(_FEWEST, max(most, _FEWEST)),
        rng.random() < _BY_SIGNAL,
    )
