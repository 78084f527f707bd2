from pathlib import Path
from typing import Annotated, Literal

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from pydantic import AwareDatetime, Field, TypeAdapter, ValidationError, model_validator

from screen_tui.errors import FileRefusedError, ScreenError
from screen_tui.fields import Id, Line, Strict
from screen_tui.files.toml import read_toml, validate
from screen_tui.files.toml_write import dump_toml
from screen_tui.practice.case import QuestionId
from screen_tui.protocol.tests import Address, Loinc, Ucum
from screen_tui.session.model import Session, SessionId

SHARED_FOLDER = settings(suppress_health_check=[HealthCheck.function_scoped_fixture])


NO_LINE, NO_WORDS = BAD_ANSWERS = ("a key has no line", "refused without a word")

SPELLING = "is not a known field here; check the spelling"
NUMBER = "must be a number, written without quotes, but is "
WHOLE_NUMBER = "must be a whole number, written without quotes, but is "
YES_NO = "must be true or false, written without quotes, but is "
MOMENT = "must be a date and time such as 2026-03-02T09:15:00+01:00, but is "
ID = "must be lower-case letters, digits and single hyphens between them, but is "
TABLE = "must be a table with fields of its own, but is "
ORDINARY = "must be an ordinary number, but is "
OFFSET = "needs its offset from UTC, such as +01:00"
CONTROL = "holds the control character U+0007; type it again as plain text"


class Circle(Strict):
    kind: Literal["circle"]
    radius: Annotated[float, Field(gt=0, le=10)]


class Square(Strict):
    kind: Literal["square"]
    edge: Annotated[int, Field(ge=1, lt=5)]
    label: Line = "none"


class Figure(Strict):
    name: Id
    shape: Annotated[Circle | Square, Field(discriminator="kind")]
    drawn: AwareDatetime | None = None
    filled: bool = False
    mark: Literal[""] | Id = ""
    corners: dict[Id, int] | None = None
    code: Annotated[str, Field(min_length=3, max_length=5)] = "abc"

    @model_validator(mode="after")
    def _circle_has_no_corners(self) -> "Figure":
        if self.shape.kind == "circle" and self.corners:
            raise ValueError("a circle has no corners")
        return self


class Drawing(Strict):
    figures: Annotated[tuple[Figure, ...], Field(min_length=1)]


def problems_of(tmp_path: Path, text: str) -> dict[tuple[int | None, str], str]:
    path = tmp_path / "drawing.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileRefusedError) as caught:
        validate(read_toml(path), Drawing)
    assert all(problem.path == path for problem in caught.value.problems)
    found = {(problem.line, problem.field): problem.reason for problem in caught.value.problems}
    assert len(found) == len(caught.value.problems)
    return found


def read_as(path: Path, model: type[Drawing] | type[Session]) -> str:
    """Read and check a file; give the refusal, or nothing when it is accepted."""
    try:
        document = read_toml(path)
        if any(document.line_of((key,)) is None for key in document.data):
            return NO_LINE
        validate(document, model)
    except ScreenError as error:
        return str(error) or NO_WORDS
    return ""


def figure(fields: str) -> str:
    return f'[[figures]]\nname = "a"\nshape = {{ kind = "square", edge = 2 }}\n{fields}\n'


@SHARED_FOLDER
@given(st.binary(max_size=200))
@example(b"\xff\xfe\x00")
@example(b"a = 1e9999999\n")
@example(b"a = 00:00:00.0000000000001")
def test_no_bytes_whatever_cause_anything_but_a_refusal(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "bytes.toml"
    path.write_bytes(content)
    assert read_as(path, Drawing) not in BAD_ANSWERS


TOMLISH = st.text(st.sampled_from("ab1=.[]{}\"'#,\\\n\t -_:T+ué\x1b"), max_size=60)


@SHARED_FOLDER
@given(TOMLISH)
def test_no_text_whatever_causes_anything_but_a_refusal(tmp_path: Path, text: str) -> None:
    path = tmp_path / "text.toml"
    path.write_bytes(text.encode())
    message = read_as(path, Session)
    assert message not in BAD_ANSWERS
    assert "\x1b" not in message


KEYS = st.sampled_from(["figures", "name", "shape", "kind", "edge", "corners", "mark", "\x1b", ""])
VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=5)
    | st.sampled_from(["circle", "square"])
    | st.datetimes(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=5),
    max_leaves=12,
)


@SHARED_FOLDER
@given(st.dictionaries(KEYS, VALUES, max_size=4))
def test_any_contents_are_accepted_or_refused_in_words(
    tmp_path: Path, contents: dict[str, object]
) -> None:
    path = tmp_path / "contents.toml"
    try:
        path.write_bytes(dump_toml(contents).encode())
    except (TypeError, UnicodeEncodeError):
        return  # None inside an array, or half a character: no TOML can say it
    message = read_as(path, Drawing)
    assert message not in BAD_ANSWERS
    assert "\x1b" not in message


@pytest.mark.parametrize(
    ("fields", "line", "field", "reason"),
    [
        ("colour = 1", 4, "figures[0].colour", SPELLING),
        ('name2 = "\\u001b"', 4, "figures[0].name2", SPELLING),
        ('filled = "yes"', 4, "figures[0].filled", YES_NO + '"yes"'),
        ("drawn = 2026-03-02T09:15:00", 4, "figures[0].drawn", OFFSET),
        ("drawn = 5", 4, "figures[0].drawn", MOMENT + "5"),
        ('mark = "A B"', 4, "figures[0].mark", ID + '"A B"'),
        ("corners = 3", 4, "figures[0].corners", TABLE + "3"),
        ("corners = { a = 1.5 }", 4, "figures[0].corners.a", WHOLE_NUMBER + "1.5"),
        ('code = ""', 4, "figures[0].code", "must not be empty"),
        ('code = "ab"', 4, "figures[0].code", "must have at least 3 characters"),
        ('code = "abcdef"', 4, "figures[0].code", "must have at most 5 characters"),
    ],
)  # fmt: skip
def test_a_wrong_field_is_named_with_its_line_and_what_is_allowed(
    tmp_path: Path, fields: str, line: int, field: str, reason: str
) -> None:
    assert problems_of(tmp_path, figure(fields)) == {(line, field): reason}


@pytest.mark.parametrize(
    ("shape", "field", "reason"),
    [
        ('{ kind = "oval" }', "shape.kind", 'must be one of "circle", "square", but is "oval"'),
        ("{ edge = 2 }", "shape.kind", "is missing; it says which fields belong here"),
        ('{ kind = "circle" }', "shape.radius", "is missing; it must be given"),
        ('{ kind = "circle", radius = 0 }', "shape.radius", "must be more than 0 but is 0"),
        ('{ kind = "circle", radius = 11.5 }', "shape.radius", "must be at most 10 but is 11.5"),
        ('{ kind = "circle", radius = inf }', "shape.radius", ORDINARY + "inf"),
        ('{ kind = "circle", radius = "1" }', "shape.radius", NUMBER + '"1"'),
        ('{ kind = "circle", radius = true }', "shape.radius", NUMBER + "true"),
        ('{ kind = "square", edge = -3 }', "shape.edge", "must be at least 1 but is -3"),
        ('{ kind = "square", edge = 5 }', "shape.edge", "must be less than 5 but is 5"),
        ('{ kind = "square", edge = 2, circle = 1 }', "shape.circle", SPELLING),
        ('{ kind = "square", edge = 2, label = "a\\u0007" }', "shape.label", CONTROL),
        ("[]", "shape", TABLE + "an array"),
    ],
)  # fmt: skip
def test_a_field_of_one_of_several_kinds_is_named_without_the_kind(
    tmp_path: Path, shape: str, field: str, reason: str
) -> None:
    text = f'[[figures]]\nname = "a"\nshape = {shape}\n'
    assert problems_of(tmp_path, text) == {(3, f"figures[0].{field}"): reason}


def test_a_rule_over_several_fields_points_at_their_table(tmp_path: Path) -> None:
    text = (
        figure("")
        + '[[figures]]\nname = "b"\ncorners = { a = 1 }\n'
        + '[figures.shape]\nkind = "circle"\nradius = 1\n'
    )
    assert problems_of(tmp_path, text) == {(5, "figures[1]"): "a circle has no corners"}


def test_all_wrong_fields_are_shown_at_once_and_no_field_twice(tmp_path: Path) -> None:
    text = figure('mark = "A B"\ncode = 7') + '[[figures]]\nshape = { kind = "square", edge = 9 }\n'
    assert set(problems_of(tmp_path, text)) == {
        (4, "figures[0].mark"),
        (5, "figures[0].code"),
        (6, "figures[1].name"),
        (7, "figures[1].shape.edge"),
    }


def test_a_missing_table_is_shown_for_the_whole_file(tmp_path: Path) -> None:
    assert problems_of(tmp_path, "") == {(None, "figures"): "is missing; it must be given"}
    assert problems_of(tmp_path, "figures = []") == {(1, "figures"): "must have at least 1 in it"}


def test_names_from_a_file_cannot_steer_the_terminal(tmp_path: Path) -> None:
    found = problems_of(tmp_path, figure('"a\\u001b[2Jb" = 1'))
    assert list(found) == [(4, 'figures[0]."a<U+001B>[2Jb"')]


def test_a_problem_reads_file_line_field_reason(tmp_path: Path) -> None:
    path = tmp_path / "drawing.toml"
    path.write_text(figure("colour = 1"), encoding="utf-8")
    with pytest.raises(FileRefusedError) as caught:
        validate(read_toml(path), Drawing)
    assert str(caught.value) == (
        f"{path}:4: figures[0].colour: is not a known field here; check the spelling"
    )


@pytest.mark.parametrize(
    ("kind", "good"),
    [
        (Id, "step-down"),
        (SessionId, "2026-03-02-0915-7f3a"),
        (Loinc, "8302-2"),
        (Address, "https://example.org/x"),
        (Ucum, "cm"),
        (QuestionId, "weight_bearing"),
    ],
)
def test_nothing_may_stand_behind_a_name_or_code(kind: object, good: str) -> None:
    """Such a name becomes that of a file, or a line of a table."""
    adapter: TypeAdapter[str] = TypeAdapter(kind, config=Strict.model_config)
    assert adapter.validate_python(good) == good
    for bad in (f"{good}\n", f"{good}\r\n", f"\n{good}", f"{good}\n{good}", f"{good} ", ""):
        with pytest.raises(ValidationError):
            adapter.validate_python(bad)
