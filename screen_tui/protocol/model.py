"""A protocol: a battery and everything it refers to, loaded and checked, in one value."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from functools import cached_property
from typing import Annotated, Protocol, TypeVar

from pydantic import Field

from screen_tui.fields import Goal, Id, Line, Strict
from screen_tui.protocol import knowledge
from screen_tui.protocol.evidence import Condition, InTest, Prior, PriorOdds
from screen_tui.protocol.tests import TestSpec


class OnlyIf(Strict):
    """A test that is no part of a visit before an earlier result on that leg calls for it.

    Attributes:
        any_of: The results; the first is of the test that decides.
        or_without_full_load: It is offered from the start to those who may not put full load on
            one leg: what would tell little about the others may be all that can be tested in them.
        otherwise: Why it is not offered once the test that decides was done and nothing called
            for it.
    """

    any_of: Annotated[tuple[InTest, ...], Field(min_length=1)]
    or_without_full_load: bool = False
    otherwise: Line
    source: Id


class BatteryItem(Strict):
    """One test of the battery; without goals it is for everybody.

    Attributes:
        or_below_age: It is also for people younger than this, whatever their goals.
        instead_of: Tests that are not offered where this one is, since they overlap with it; of
            two that name each other the earlier one is offered.
        to_age: Nobody older is led to it; it can be asked for.
        when_asked: It is no part of a visit unless somebody asks for it, but for those below
            ``or_below_age``.
    """

    test: Id
    goals: tuple[Goal, ...] = ()
    or_below_age: Annotated[int, Field(ge=1, le=110)] | None = None
    to_age: Annotated[int, Field(ge=1, le=120)] | None = None
    instead_of: tuple[Id, ...] = ()
    only_if: OnlyIf | None = None
    when_asked: bool = False

    def fits(self, goals: tuple[Goal, ...], age: int | None) -> bool:
        """Whether it is for a person; an age that is not known yet is below no other."""
        return self._below_age(age) or not self.goals or bool(set(self.goals) & set(goals))

    def waits(self, age: int | None) -> bool:
        """Whether somebody has to ask for it; without an age that is known, where most have to."""
        return self.when_asked and not self._below_age(age)

    def _below_age(self, age: int | None) -> bool:
        return self.or_below_age is not None and age is not None and age < self.or_below_age


class Gate(Strict):
    """A test that is withheld after the result of an earlier one.

    Where it is ``test_alone``, exercises of the same load are not.
    """

    withhold: Id
    after: Id
    when: Condition
    test_alone: bool = False
    reason: Line
    source: Id


class Battery(Strict):
    """The whole of a battery file such as ``chairside-knee.toml``.

    ``formerly`` are ids it had before; what names one of them means this battery.
    """

    id: Id
    name: Line
    formerly: tuple[Id, ...] = ()
    items: Annotated[tuple[BatteryItem, ...], Field(min_length=1)]
    gates: tuple[Gate, ...] = ()


class ScreenProtocol(Strict):
    """A battery with its tests and the clinical knowledge they refer to.

    ``tests`` stand in the order of the battery, then those no battery item names. For an id there
    is not ``known_test`` and its like give None, since a session may name one this protocol lacks;
    ``test`` and its like raise KeyError.
    """

    battery: Battery
    tests: tuple[TestSpec, ...]
    signs: tuple[knowledge.Sign, ...]
    cautions: tuple[knowledge.Caution, ...]
    contradictions: tuple[knowledge.ContradictionRule, ...] = ()
    limits: tuple[knowledge.LimitRule, ...] = ()
    precautions: tuple[knowledge.PrecautionRule, ...] = ()
    stop_rules: tuple[knowledge.StopRule, ...]
    call_rules: tuple[knowledge.CallRule, ...] = ()
    history: tuple[knowledge.HistoryQuestion, ...] = ()
    drivers: tuple[knowledge.Driver, ...]
    outside: tuple[knowledge.Outside, ...] = ()
    exercises: tuple[knowledge.Exercise, ...]
    companions: tuple[knowledge.Companion, ...] = ()
    leave_out: tuple[knowledge.LeaveOut, ...]
    sources: tuple[knowledge.Source, ...]
    priors: tuple[Prior, ...] = ()
    odds: tuple[PriorOdds, ...] = ()

    @cached_property
    def digest(self) -> str:
        """``sha256:`` and the hash of the contents; layout and comments do not change it."""
        return "sha256:" + hashlib.sha256(self.model_dump_json().encode()).hexdigest()

    def known_test(self, test_id: str) -> TestSpec | None:
        return _known(self.tests, test_id)

    def known_sign(self, sign_id: str) -> knowledge.Sign | None:
        return _known(self.signs, sign_id)

    def known_driver(self, driver_id: str) -> knowledge.Driver | None:
        return _known(self.drivers, driver_id)

    def known_exercise(self, exercise_id: str) -> knowledge.Exercise | None:
        return _known(self.exercises, exercise_id)

    def known_source(self, source_id: str) -> knowledge.Source | None:
        return _known(self.sources, source_id)

    def test(self, test_id: str) -> TestSpec:
        return _by_id(self.tests, test_id)

    def sign(self, sign_id: str) -> knowledge.Sign:
        return _by_id(self.signs, sign_id)

    def caution(self, caution_id: str) -> knowledge.Caution:
        return _by_id(self.cautions, caution_id)

    def question(self, question_id: str) -> knowledge.HistoryQuestion:
        return _by_id(self.history, question_id)

    def driver(self, driver_id: str) -> knowledge.Driver:
        return _by_id(self.drivers, driver_id)

    def source(self, source_id: str) -> knowledge.Source:
        return _by_id(self.sources, source_id)


class _HasId(Protocol):
    @property
    def id(self) -> str: ...


_Item = TypeVar("_Item", bound=_HasId)


def _known(items: Iterable[_Item], wanted: str) -> _Item | None:
    return next((item for item in items if item.id == wanted), None)


def _by_id(items: Iterable[_Item], wanted: str) -> _Item:
    item = _known(items, wanted)
    if item is None:
        raise KeyError(wanted)
    return item
