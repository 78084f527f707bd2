from pathlib import Path

import pytest

from screen_tui.errors import FileRefusedError, NotFoundError
from screen_tui.protocol import checks_of_test as checks
from screen_tui.protocol.loader import load_protocol
from screen_tui.session.model import Trial


def problems_in(*folders: Path, battery: str = "small") -> list[tuple[str, int | None, str, str]]:
    with pytest.raises(FileRefusedError) as caught:
        load_protocol(folders, battery)
    return [(p.path.name, p.line, p.field, p.reason) for p in caught.value.problems]


def test_a_sound_folder_loads_with_tests_in_the_order_of_the_battery(protocol) -> None:
    text = (protocol.path / "tests/one-leg.toml").read_text(encoding="utf-8")
    protocol.write("tests/a-spare.toml", text.replace('id = "one-leg"', 'id = "a-spare"'))
    loaded = load_protocol([protocol.path], "small")
    assert [test.id for test in loaded.tests] == ["one-leg", "stairs", "extension", "a-spare"]
    assert loaded.test("one-leg").graded[0].levels[1].instead[0].in_100 == {"none": 4}
    assert loaded.caution("clot").source == "judgement"
    assert len(loaded.stop_rules) == len(loaded.leave_out) == 1
    assert loaded.digest == load_protocol([protocol.path], "small").digest


def test_a_missing_folder_or_battery_is_not_found(protocol, tmp_path: Path) -> None:
    with pytest.raises(NotFoundError, match="no-such"):
        load_protocol([tmp_path / "no-such"], "small")
    with pytest.raises(NotFoundError, match="other-screen"):
        load_protocol([protocol.path], "other-screen")
    with pytest.raises(NotFoundError):
        load_protocol([])


def test_a_battery_is_found_under_a_name_it_had(protocol) -> None:
    text = (protocol.path / "small.toml").read_text(encoding="utf-8")
    protocol.write("small.toml", f'formerly = ["tiny"]\n{text}')
    assert load_protocol([protocol.path], "tiny") == load_protocol([protocol.path], "small")
    # A file of that name is meant before a name of old.
    protocol.write("tiny.toml", text.replace('id = "small"', 'id = "tiny"'))
    assert load_protocol([protocol.path], "tiny").battery.id == "tiny"


@pytest.mark.parametrize("kind", ["signs", "safety", "drivers", "priors", "exercises", "sources"])
def test_a_protocol_without_one_of_its_files_says_only_that(protocol, kind: str) -> None:
    (protocol.path / f"{kind}.toml").unlink()
    ((file, line, _field, reason),) = problems_in(protocol.path)
    assert (file, line) == (f"{kind}.toml", None)
    assert "is missing" in reason


def test_a_protocol_without_safety_questions_or_stop_rules_is_refused(protocol) -> None:
    protocol.write("safety.toml", "")
    assert [(file, field) for file, _, field, _ in problems_in(protocol.path)] == [
        ("safety.toml", "cautions"),
        ("safety.toml", "stop_rules"),
    ]


def test_hidden_files_and_other_kinds_of_files_are_not_read(protocol) -> None:
    protocol.write("tests/.one-leg.toml", "broken")
    protocol.write("tests/one-leg.toml~", "broken")
    protocol.write("notes.txt", "broken")
    assert len(load_protocol([protocol.path], "small").tests) == 3


def test_a_clinic_may_replace_a_test_and_single_entries(protocol, clinic) -> None:
    text = (protocol.path / "tests/one-leg.toml").read_text(encoding="utf-8")
    clinic.write("tests/one-leg.toml", text.replace("Lift one foot", "Raise one foot"))
    clinic.write(
        "signs.toml",
        '[[signs]]\nid = "unsteady"\nlabel = "sways"\ndigit = 6\nseen_as = "It sways."\n'
        '[[signs]]\nid = "limps"\nlabel = "limps"\ndigit = 7\nseen_as = "It limps."\n',
    )
    clinic.write("safety.toml", '[[stop_rules]]\ntext = "Dizzy."\nsource = "judgement"\n')
    loaded = load_protocol([protocol.path, clinic.path], "small")
    assert loaded.test("one-leg").instructions.say.startswith("Raise")
    assert [(sign.id, sign.label) for sign in loaded.signs] == [
        ("pelvis-drops", "pelvis drops"),
        ("unsteady", "sways"),
        ("limps", "limps"),
    ]
    assert [rule.text for rule in loaded.stop_rules] == ["Chest pain.", "Dizzy."]
    assert [caution.id for caution in loaded.cautions] == ["clot"]
    assert loaded.digest != load_protocol([protocol.path], "small").digest


def test_a_clinic_may_bring_its_own_battery(protocol, clinic) -> None:
    clinic.write("short.toml", 'id = "short"\nname = "Short"\n[[items]]\ntest = "stairs"\n')
    loaded = load_protocol([protocol.path, clinic.path], "short")
    assert [test.id for test in loaded.tests] == ["stairs", "extension", "one-leg"]


def test_a_replaced_test_is_checked_with_what_refers_to_it(protocol, clinic) -> None:
    text = (protocol.path / "tests/stairs.toml").read_text(encoding="utf-8")
    clinic.write("tests/one-leg.toml", text.replace('id = "stairs"', 'id = "one-leg"'))
    ((file, _, field, _),) = problems_in(protocol.path, clinic.path)
    assert (file, field) == ("small.toml", "gates[0].when.measure")


def test_the_limits_of_a_test_are_those_of_a_session_file() -> None:
    def limits(field: str) -> tuple[float, float]:
        text = repr(Trial.model_fields[field])
        assert "Ge(" in text
        schema = Trial.model_json_schema()["properties"][field]["anyOf"][0]
        return schema["minimum"], schema["maximum"]

    assert limits("value") == (checks.LOWEST_VALUE, checks.HIGHEST_VALUE)
    for field in ("passive_deg", "active_deg"):
        assert limits(field) == (checks.LOWEST_ANGLE, checks.HIGHEST_ANGLE)
