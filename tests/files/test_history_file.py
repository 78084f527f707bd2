"""The history of a protocol: what its file may hold, and which answers fit it."""

from __future__ import annotations

from pathlib import Path

import pytest

from screen_tui.errors import FileRefusedError
from screen_tui.files.places import protocols_folder
from screen_tui.files.toml import parse_toml
from screen_tui.protocol.loader import load_protocol
from screen_tui.session.file import check_against, session_text
from screen_tui.session.model import Cleared, Session

HISTORY = """\
[[questions]]
id = "site"
label = "Where it hurts"

[[questions.answers]]
id = "front"
label = "front"
key = "f"
odds = { hip-control = 1.2 }
source = "judgement"

[[questions.answers]]
id = "inner"
label = "inner side"
key = "i"
outside = "The hip: turn it in."

[[questions]]
id = "worse"
label = "Worse with"
several = true

[[questions.answers]]
id = "stairs"
label = "stairs"
key = "1"

[[questions.answers]]
id = "chair"
label = "rising"
key = "2"
"""

MISTAKES = {
    "driver of odds": (
        "hip-control = 1.2", "hop-control = 1.2", "hop-control",
        "questions[0].answers[0].odds.hop-control", 'did you mean "hip-control"?',
    ),
    "odds too high": (
        "hip-control = 1.2", "hip-control = 11", "hip-control = 11",
        "questions[0].answers[0].odds.hip-control", "10",
    ),
    "source": (
        'source = "judgement"', 'source = "nobody"', "nobody", "questions[0].answers[0].source",
        "no source in sources.toml",
    ),
    "key twice": (
        'key = "i"', 'key = "f" #', "#", "questions[0].answers[1].key",
        '"f" is that of "front" already',
    ),
    "key that leaves": (
        'key = "i"', 'key = "q"', '"q"', "questions[0].answers[1].key", "",
    ),
    "answer twice": (
        'id = "inner"', 'id = "front" #', "#", "questions[0].answers[1].id",
        '"front" is that of "front" already',
    ),
    "question twice": ('id = "worse"', 'id = "site" #', "#", "questions[1].id", "twice"),
    "name of another question": (
        'id = "site"', 'id = "side"', '"side"', "questions[0].id",
        "what another question before testing is called",
    ),
    "name of a safety question": (
        'id = "site"', 'id = "clot"', '"clot"', "questions[0].id", "a safety question too",
    ),
    "one answer": (
        '[[questions.answers]]\nid = "chair"\nlabel = "rising"\nkey = "2"\n', "",
        '[[questions.answers]]\nid = "stairs"', "questions[1].answers", "2",
    ),
}  # fmt: skip


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_mistake_is_refused_with_file_line_field_and_reason(protocol, mistake: str) -> None:
    old, new, on_line, field, words = MISTAKES[mistake]
    assert old in HISTORY
    text = HISTORY.replace(old, new)
    protocol.write("history.toml", text)
    with pytest.raises(FileRefusedError) as caught:
        load_protocol([protocol.path], "small")
    (problem,) = caught.value.problems
    line = 1 + text[: text.index(on_line)].count("\n")
    assert (problem.path.name, problem.line, problem.field) == ("history.toml", line, field)
    assert words in problem.reason


def test_a_protocol_has_the_history_of_its_file_or_none(protocol) -> None:
    assert load_protocol([protocol.path], "small").history == ()
    protocol.write("history.toml", HISTORY)
    loaded = load_protocol([protocol.path], "small")
    assert [question.id for question in loaded.history] == ["site", "worse"]
    assert loaded.question("site").answer("front").odds == {"hip-control": 1.2}
    assert loaded.question("site").answer("inner").source is None
    with pytest.raises(KeyError):
        loaded.question("site").answer("back")


def test_a_clinic_replaces_one_question_and_keeps_the_others(protocol, clinic) -> None:
    protocol.write("history.toml", HISTORY)
    clinic.write(
        "history.toml",
        HISTORY.split('[[questions]]\nid = "worse"')[0].replace('"front"\nkey', '"kneecap"\nkey'),
    )
    loaded = load_protocol([protocol.path, clinic.path], "small")
    assert [question.id for question in loaded.history] == ["site", "worse"]
    assert loaded.question("site").answer("front").label == "kneecap"


def test_what_a_session_answers_must_be_asked_by_its_protocol(protocol, session: Session) -> None:
    protocol.write("history.toml", HISTORY)
    loaded = load_protocol([protocol.path], "small")

    def mismatches(**intake: object) -> list[tuple[str, str]]:
        changed = session.model_copy(update={"intake": session.intake.model_copy(update=intake)})
        document = parse_toml(session_text(changed).encode(), Path("a.toml"))
        try:
            check_against(changed, loaded, document)
        except FileRefusedError as refusal:
            return [(one.field, one.reason) for one in refusal.problems]
        return []

    assert mismatches(history={"site": ("front",), "worse": ("chair", "stairs")}) == []
    assert mismatches(history={"sight": ("front",)}) == [
        ("intake.history.sight", '"sight" is not a question of this protocol\'s history')
    ]
    assert mismatches(history={"site": ("back",)}) == [
        ("intake.history.site[0]", '"back" is not an answer to "site"')
    ]
    assert mismatches(history={"site": ("front", "inner")}) == [
        ("intake.history.site", "has several answers, and only one can be given")
    ]
    cleared = Cleared(caution="nobody", by="the surgeon", when="last week")
    assert mismatches(cleared=(cleared,)) == [
        ("intake.cleared[0].caution", '"nobody" is not a safety question of this protocol')
    ]


def test_in_the_questions_that_come_with_the_program_none_is_0_and_nothing_else_is() -> None:
    history = load_protocol([protocols_folder()]).history
    assert len(history) == 10
    for question in history:
        for answer in question.answers:
            assert (answer.key == "0") == (answer.id == "none")
