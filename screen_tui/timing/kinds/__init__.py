"""The kinds of tests: each module here is one, and whoever adds a module has added a kind."""

from __future__ import annotations

from importlib import import_module
from inspect import isclass
from pkgutil import iter_modules

from screen_tui.timing.spec import TimingSpec


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


def reason_labels() -> dict[str, str]:
    """Every reason for which a trial may end, of any kind, with its label."""
    return {reason: label for kind in KINDS for reason, label in kind.reasons.items()}
