from collections.abc import Callable
from pathlib import Path

import pytest

from screen_tui.cli import check
from screen_tui.cli.check import Checked, check_paths
from screen_tui.errors import FileRefusedError, NotFoundError
from screen_tui.session.file import session_text
from screen_tui.session.model import Session, Trial


def test_checking_a_whole_folder_a_test_and_a_session(protocol, session: Session) -> None:
    file = protocol.write("saved/one.toml", session_text(session))
    test = protocol.path / "tests/one-leg.toml"
    paths = [protocol.path, test, protocol.path / "drivers.toml", file, file.parent]
    assert check_paths(paths, [protocol.path]) == (
        Checked(protocol.path, "protocol folder"),
        Checked(test, "test"),
        Checked(protocol.path / "drivers.toml", "drivers"),
        Checked(file, "session"),
        Checked(file, "session"),
    )


@pytest.mark.parametrize(
    ("kind", "table"),
    [
        ("history", "questions"), ("safety", "precautions"),
        ("exercises", "companions"), ("cells", "cells"),
    ],
)  # fmt: skip
def test_a_file_is_known_by_any_of_its_tables(protocol, clinic, kind: str, table: str) -> None:
    file = clinic.write(f"{kind}.toml", f"{table} = []\n")
    assert check_paths([file], [protocol.path]) == (Checked(file, kind),)


def test_checking_a_partial_folder_stands_on_the_protocols_in_use(protocol, clinic) -> None:
    text = (protocol.path / "tests/stairs.toml").read_text(encoding="utf-8")
    test = clinic.write("tests/ramp.toml", text.replace('id = "stairs"', 'id = "ramp"'))
    assert [item.kind for item in check_paths([clinic.path, test], [protocol.path])] == [
        "protocol folder",
        "test",
    ]
    clinic.replace("tests/ramp.toml", 'source = "judgement"', 'source = "nobody"')
    for path in (clinic.path, test, clinic.path / "tests"):
        with pytest.raises(FileRefusedError) as caught:
            check_paths([path], [protocol.path])
        assert [(p.path, p.field) for p in caught.value.problems] == [(test, "instructions.source")]


def test_checking_a_test_uses_its_own_folder_but_tells_only_its_own_problems(
    protocol, clinic
) -> None:
    text = (protocol.path / "tests/stairs.toml").read_text(encoding="utf-8")
    own = text.replace('id = "stairs"', 'id = "ramp"').replace('"judgement"', '"house"')
    test = clinic.write("tests/ramp.toml", own)
    clinic.write(
        "sources.toml",
        '[[sources]]\nid = "house"\nprovenance = "clinical judgement"\ntitle = "House rule"\n',
    )
    clinic.write("tests/broken.toml", "id =\n")
    assert check_paths([test], [protocol.path]) == (Checked(test, "test"),)


def test_a_test_file_outside_any_folder_is_checked_alone(
    protocol, make_folder: Callable, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = (protocol.path / "tests/stairs.toml").read_text(encoding="utf-8")
    loose = make_folder("downloads")
    loose.write("stairs.toml", text)
    monkeypatch.chdir(loose.path)
    path = Path("stairs.toml")
    assert check_paths([path], [protocol.path]) == (Checked(path, "test"),)
    loose.replace("stairs.toml", 'taken_from = "time-up"', 'taken_from = "speed"')
    with pytest.raises(FileRefusedError, match=r"^stairs\.toml:\d+: measures\[0\]\.taken_from"):
        check_paths([path], [protocol.path])


def test_checking_tells_the_problems_of_all_paths(protocol, make_folder: Callable) -> None:
    loose = make_folder("loose")
    first = loose.write("first.toml", "x = 1\n")
    second = loose.write("second.toml", "x =\n")
    newer = loose.write("newer.toml", 'format = 4\nid = "a"\n')
    with pytest.raises(FileRefusedError) as caught:
        check_paths([first, second, newer, loose.path], [protocol.path])
    assert [(p.path, p.line) for p in caught.value.problems] == [
        (first, None),
        (second, 1),
        (newer, 1),
    ]


def test_checking_what_does_not_exist_or_an_empty_folder(protocol, clinic, tmp_path) -> None:
    with pytest.raises(NotFoundError, match="nowhere"):
        check_paths([protocol.path, tmp_path / "nowhere"], [protocol.path])
    with pytest.raises(FileRefusedError, match="no TOML files"):
        check_paths([clinic.path], [protocol.path])


def test_a_session_of_an_unknown_protocol_is_shown_at_its_field(
    protocol, make_folder: Callable, session: Session
) -> None:
    other = session.model_copy(update={"protocol": "hip-screen"})
    path = make_folder("saved").write("a.toml", session_text(other))
    with pytest.raises(FileRefusedError) as caught:
        check_paths([path], [protocol.path])
    ((problem),) = caught.value.problems
    assert (problem.field, problem.line) == ("protocol", 3)
    assert "hip-screen" in problem.reason


def test_a_value_that_nothing_reads_is_refused_at_its_line(
    protocol, make_folder: Callable, session: Session
) -> None:
    def with_trial(**more: object) -> Session:
        trial = Trial.model_validate({"test": "extension", "side": "left", **more})
        return session.model_copy(update={"trials": (*session.trials, trial)})

    saved = make_folder("saved")
    read = saved.write("read.toml", session_text(with_trial(passive_deg=0, active_deg=4)))
    assert check_paths([read], [protocol.path]) == (Checked(read, "session"),)
    text = session_text(with_trial(value=4))
    unread = saved.write("unread.toml", text)
    with pytest.raises(FileRefusedError) as caught:
        check_paths([unread], [protocol.path])
    ((problem),) = caught.value.problems
    assert problem.field == "trials[3].value"
    assert problem.line == text.splitlines().index("value = 4.0") + 1
    assert "extension has no value of its own" in problem.reason


DRIVER = """
[[drivers]]
id = "grip"
name = "Grip"
meaning = "The hand."
sided = true
counts_against = "A firm hand."
source = "judgement"
"""
PRIOR = '[[priors]]\ndriver = "grip"\ncomplaint_side = 5\nother_side = 5\nsource = "judgement"\n'


def test_what_is_likely_an_oversight_in_a_protocol_is_remarked_on(protocol, clinic) -> None:
    def remarks(*paths: Path) -> tuple[str, ...]:
        return tuple(one for item in check_paths(paths, [protocol.path]) for one in item.remarks)

    assert remarks(protocol.path) == ()
    drivers = clinic.write("drivers.toml", DRIVER)
    clinic.write("priors.toml", PRIOR)
    (told,) = remarks(clinic.path)
    assert told.startswith(f"{drivers}:3: drivers[0].id: no row of any test has a cell for")
    test = protocol.replace("tests/one-leg.toml", '"steadiness"', '"pelvis-contro"')
    at = protocol.line("tests/one-leg.toml", '"pelvis-contro"')
    for path in (test, protocol.path):
        assert (
            f'{test}:{at}: findings[1].trait: "pelvis-contro" is the trait of no other row; '
            'did you mean "pelvis-control"?'
        ) in remarks(path)
    text = (protocol.path / "exercises.toml").read_text(encoding="utf-8")
    own = clinic.write("exercises.toml", text[: text.index("[exercises.for_patient]")])
    assert remarks(own) == (
        f"{own}:1: exercises[0].for_patient: is missing, "
        "so the patient reads the words meant for the clinic",
    )


def test_preferences_may_name_only_a_protocol_there_is(protocol, make_folder: Callable) -> None:
    mine = make_folder("mine")
    file = mine.write("mine.toml", 'protocol = "small"\n')
    assert check_paths([file], [protocol.path]) == (Checked(file, "preferences"),)
    mine.write("mine.toml", '# mine\nprotocol = "smal"\n')
    with pytest.raises(FileRefusedError) as caught:
        check_paths([file], [protocol.path])
    ((problem),) = caught.value.problems
    assert (problem.line, problem.field) == (2, "protocol")
    assert problem.reason.endswith('did you mean "small"?')


def test_a_link_is_said_to_be_one(protocol, make_folder: Callable, session: Session) -> None:
    saved = make_folder("saved")
    file = make_folder("elsewhere").write("one.toml", session_text(session))
    link = saved.path / "link.toml"
    link.symlink_to(file)
    (checked,) = check_paths([saved.path], [protocol.path])
    assert (checked.path, checked.remarks) == (link, (f"is a link to {file}",))
    linked = protocol.path / "tests/again.toml"
    linked.symlink_to(protocol.path / "nothing.toml")
    for paths in ([linked], [protocol.path]):
        with pytest.raises(NotFoundError, match=r"again\.toml is a link to .*nothing\.toml, "):
            check_paths(paths, [protocol.path])


def test_sessions_of_one_protocol_load_it_once(
    protocol, make_folder: Callable, session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    saved, loaded = make_folder("saved"), []
    for name in ("a", "b", "c"):
        saved.write(f"{name}.toml", session_text(session))
    load = check.load_protocol
    monkeypatch.setattr(check, "load_protocol", lambda *how: loaded.append(how) or load(*how))
    assert len(check_paths([saved.path, saved.path], [protocol.path])) == 6
    assert len(loaded) == 1
