"""What the models of all files share: strictness, and the words the trade uses for people."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, StringConstraints

from screen_tui.files.reasons import FieldPath
from screen_tui.files.text import first_control_character

Sex = Literal["female", "male", "unspecified"]
Side = Literal["left", "right"]
LEGS: tuple[Side, ...] = ("left", "right")
Load = Literal["unloaded", "both-legs", "one-leg", "floor"]
Goal = Literal["walking", "chair", "floor", "stairs"]

Precaution = Literal["brace", "bend-limited", "no-kneeling", "no-active-extension"]
"""Limits of the surgeon or physician beside the weight the leg may bear."""

Surgery = Literal["replacement", "ligament", "meniscus", "bone", "extensor", "other"]
"""The kind of operation on the knee."""

SetUpId = Literal["seat_cm", "step_cm", "riser_cm", "aid", "footwear"]
"""What about a test's set-up changes its results and is noted with each trial."""


def _refuse(text: str) -> str:
    found = first_control_character(text)
    if found is not None:
        raise ValueError(f"holds the control character {found}; type it again as plain text")
    return text


refuse_control_characters = AfterValidator(_refuse)
"""Refuses what could steer a terminal; belongs on every field of text."""

Id = Annotated[str, StringConstraints(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*\Z", max_length=48)]
"""Lower case, digits and single hyphens: safe in file names and on the command line."""

Line = Annotated[str, StringConstraints(min_length=1, max_length=600), refuse_control_characters]
"""One paragraph of text, without control characters."""

ShortLabel = Annotated[
    str, StringConstraints(min_length=1, max_length=20), refuse_control_characters
]
"""A name that fits a key on a narrow screen."""

MaybeLine = Annotated[str, StringConstraints(max_length=600), refuse_control_characters]
"""The same as a line, or nothing."""

Look = Annotated[str, StringConstraints(max_length=120), refuse_control_characters]
"""How something looks in a few words, or nothing where it cannot be seen."""


class Strict(BaseModel):
    r"""A frozen model that refuses unknown fields and infinite numbers.

    Patterns are Python's, which compiles each once; the models' own engine would compile one anew
    for every field. They end in ``\Z``: ``$`` would let a line feed pass behind it.

    A model is built when it is first used. Most are only ever part of others, which are built as a
    whole; built at import, each would be built by itself as well.
    """

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        allow_inf_nan=False,
        regex_engine="python-re",
        defer_build=True,
    )


def same_leg(one: Side | None, other: Side | None) -> bool:
    """Whether two things are about one leg; what has no side is about both."""
    return one is None or other is None or one == other


def parts_of(model: BaseModel, place: FieldPath = ()) -> Iterator[tuple[FieldPath, BaseModel]]:
    """A model after all inside it, each with its place."""
    for name, value in vars(model).items():
        if isinstance(value, BaseModel):
            yield from parts_of(value, (*place, name))
        elif isinstance(value, tuple):
            for index, item in enumerate(value):
                if isinstance(item, BaseModel):
                    yield from parts_of(item, (*place, name, index))
    yield place, model


def ids_in(value: object, place: FieldPath = ()) -> Iterator[tuple[FieldPath, str]]:
    """The ids that a field holds, be it one, several or the names of a table, with their places."""
    if isinstance(value, str):
        yield place, value
    elif isinstance(value, Mapping):
        yield from (((*place, key), key) for key in value)
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from ids_in(item, (*place, index))
