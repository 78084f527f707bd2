"""What we ask of a library is no less than what the framework asks of it."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from importlib.metadata import requires
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.version import Version

ROOT = Path(__file__).parents[2]


def least(requirements: Iterable[str]) -> dict[str, Version]:
    """The least version each library may have."""
    return {
        needed.name: Version(bound.version)
        for needed in map(Requirement, requirements)
        for bound in needed.specifier
        if bound.operator == ">="
    }


OURS = least(
    tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
)
FRAMEWORK = least(requires("textual") or ())


def test_libraries_are_shared_with_the_framework() -> None:
    assert {"rich", "platformdirs"} <= OURS.keys() & FRAMEWORK.keys()


@pytest.mark.parametrize("name", sorted(OURS.keys() & FRAMEWORK.keys()))
def test_a_library_the_framework_uses_too_is_asked_for_as_new_as_it_asks(name: str) -> None:
    assert OURS[name] >= FRAMEWORK[name]
