"""The kinds of tests: each module here is one, and whoever adds a module has added a kind."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from inspect import isclass
from pkgutil import iter_modules

from screen_tui.timing.spec import CAP, TimingSpec
from screen_tui.timing.timer import FULL_TIME


def _kinds_of(module: str) -> tuple[type[TimingSpec], ...]:
    found = vars(import_module(f"{__name__}.{module}")).values()
    return tuple(
        one
        for one in found
        if isclass(one) and issubclass(one, TimingSpec) and one.__module__.endswith(f".{module}")
    )


KINDS: tuple[type[TimingSpec], ...] = tuple(
    kind for module in sorted(iter_modules(__path__), key=lambda m: m.name)
    for kind in _kinds_of(module.name)
)  # fmt: skip
"""All kinds, by the name of their module."""


def kinds_that_take(what: str) -> tuple[str, ...]:
    """The names of the kinds that have the numbers for a calculation of `ResultMeasure`."""
    return tuple(kind.name() for kind in KINDS if what in kind.takes)


REASONS: Mapping[str, str] = {
    **{reason: label for kind in KINDS for reason, label in kind.reasons.items()},
    CAP: FULL_TIME,
}
"""Why a trial of any kind may end, in words: as it is offered, and as every report says it."""


def reason_words(ended: str) -> str:
    """Why a trial ended: an id that no kind has is read aloud, free text is as it was typed."""
    is_id = ended == ended.lower() and " " not in ended
    return REASONS.get(ended, ended.replace("-", " ") if is_id else ended)
