"""People drawn from the rows of the network, and what is found in them.

This tries the arithmetic, not the judgement in the rows: the people are as the rows say.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import UTC, datetime
from math import log

from screen_tui.engine.answer import prior_chances
from screen_tui.engine.findings import NOT_MARKED, Causes, Evidence, discounted, level_shares
from screen_tui.engine.network import Shares, at_level, found, not_found, singly, unseen
from screen_tui.engine.observe import sides_of
from screen_tui.fields import Side
from screen_tui.protocol.evidence import Row
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Client, Intake, Session

MARKED = 0.85
"""How many of the signs that are there are marked while eyes and hands are on the patient."""

WATCHED = 0.5
"""In how many tests it is said that what is not marked was not there."""

READ_WRONG = 0.1
"""How many numbers are read or timed one level off."""

DONE = 0.8
"""How many of the tests are done."""


def drawn(protocol: ScreenProtocol, draw: random.Random) -> tuple[Session, int]:
    """Somebody with a complaint, and which drivers they have, as a state of the network."""
    session = Session(
        id="drawn",
        protocol=protocol.battery.id,
        started=datetime(2026, 1, 1, tzinfo=UTC),
        client=Client(label="D-1", age=draw.randint(18, 90), sex=draw.choice(("female", "male"))),
        intake=Intake(
            complaints=(draw.choice(("pain", "pain", "giving-way", "weakness", "stiffness")),),
            side=draw.choice(("left", "right")),
            recent_surgery_weeks=draw.choice((None, None, None, 8, 30)),
        ),
    )
    causes = Causes.of(protocol)
    state = sum(
        1 << number
        for number, chance in enumerate(prior_chances(protocol, session, causes))
        if draw.random() < chance
    )
    return session, state


def found_in(
    protocol: ScreenProtocol, session: Session, state: int, draw: random.Random
) -> tuple[Evidence, ...]:
    """What a therapist records of that person, tagging incompletely and reading with error."""
    causes = Causes.of(protocol)
    items = {item.test for item in protocol.battery.items}
    evidence = [
        one
        for spec in protocol.tests
        if spec.id in items and draw.random() < DONE
        for side in sides_of(spec)
        for one in _of_test(protocol, causes, spec.id, side, session, state, draw)
    ]
    return discounted(causes, evidence)


def _of_test(
    protocol: ScreenProtocol,
    causes: Causes,
    test: str,
    side: Side | None,
    session: Session,
    state: int,
    draw: random.Random,
) -> Iterator[Evidence]:
    spec, client = protocol.test(test), session.client
    about = causes.about(side)
    own = sum(1 << place for place, number in enumerate(about) if state >> number & 1)
    watched = draw.random() < WATCHED
    for row in spec.findings:
        shares = causes.shares(row, client.age, ())
        there = draw.random() > unseen(shares, about)[own]
        marked = there and (row.sign is None or draw.random() < MARKED)
        joint = found(shares, about) if marked else None
        alone = not_found(shares, about) if joint is None else singly(joint)
        weight = 1.0 if marked or watched or row.sign is None else NOT_MARKED
        what = row.sign or row.words
        yield _evidence(test, side, what, row, row.trait, marked, weight, about, alone, joint)
    for graded in spec.graded:
        levels = level_shares(causes, graded, client)
        if levels:
            reached = _level(levels, about, own, draw)
            if reached or not graded.levels[0].floor:
                table = [log(one) for one in at_level(levels, reached, about)]
                row = graded.levels[max(0, reached - 1)]
                yield _evidence(
                    test, side, graded.measure, row, graded.trait, reached > 0, 1.0, about,
                    singly(table), table,
                )  # fmt: skip


def _level(levels: list[Shares], about: tuple[int, ...], own: int, draw: random.Random) -> int:
    chance = draw.random()
    reached = sum(chance < 1 - unseen(level, about)[own] for level in levels)
    if draw.random() < READ_WRONG:
        reached += draw.choice((-1, 1))
    return min(len(levels), max(0, reached))


def _evidence(
    test: str,
    side: Side | None,
    what: str,
    row: Row,
    trait: str,
    there: bool,
    weight: float,
    about: tuple[int, ...],
    alone: list[float],
    joint: list[float] | None,
) -> Evidence:
    return Evidence(
        test=test,
        side=side,
        leg=side,
        what=what,
        trait=trait,
        words=what,
        there=there,
        weight=weight,
        about=about,
        alone=alone,
        joint=joint,
        source=row.source,
    )
