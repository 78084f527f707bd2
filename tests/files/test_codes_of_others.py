"""Codes of others in a test's file: only such as somebody has read, and typed right."""

from __future__ import annotations

import pytest
from support.every_session import shipped_protocol
from support.fhir_rules import LOINC, UCUM

from screen_tui.errors import FileRefusedError
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.tests import loinc_check_digit

FILE = "tests/one-leg.toml"
MEASURE = 'id = "hold"\nlabel = "Best hold"\n'
CODE = 'loinc = "66247-8"\nloinc_name = "A name"\nloinc_seen_at = "https://loinc.org/66247-8"\n'


def refusal(protocol, added: str) -> tuple[str, str]:
    protocol.replace(FILE, MEASURE, MEASURE + added)
    with pytest.raises(FileRefusedError) as caught:
        load_protocol([protocol.path], "small")
    (problem,) = caught.value.problems
    assert problem.path.name == "one-leg.toml"
    return problem.field, problem.reason


def test_a_code_that_was_read_is_taken(protocol) -> None:
    protocol.replace(FILE, MEASURE, MEASURE + CODE + 'ucum = "s"\n')
    measure = load_protocol([protocol.path], "small").test("one-leg").measure("hold")
    assert (measure.loinc, measure.ucum) == ("66247-8", "s")


@pytest.mark.parametrize(
    ("added", "field", "told"),
    [
        (CODE.replace("loinc_seen_at", "#"), "measures[0]", "where it was read"),
        (CODE.replace("loinc_name", "#"), "measures[0]", "long common name"),
        (CODE.replace("66247-8", "66247-9"), "measures[0]", "check digit"),
        (CODE.replace("66247-8", "66274-8"), "measures[0]", "check digit"),
        (CODE.replace("loinc =", "#"), "measures[0]", "belong to a loinc"),
        (CODE.replace("https://", "see "), "measures[0].loinc_seen_at", "of the form"),
        (CODE.replace('"66247-8"', '"LA66247-8"'), "measures[0].loinc", "of the form"),
        ('ucum = "per second"\n', "measures[0].ucum", "of the form"),
    ],
)
def test_a_code_nobody_has_read_or_mistyped_is_refused(
    protocol, added: str, field: str, told: str
) -> None:
    where, reason = refusal(protocol, added)
    assert where == field
    assert told in reason


@pytest.mark.parametrize("code", sorted(LOINC))
def test_the_check_digit_is_that_of_published_codes(code: str) -> None:
    body, digit = code.split("-")
    assert loinc_check_digit(body) == digit


def test_the_shipped_codes_are_few_known_and_each_number_has_its_unit() -> None:
    measures = [one for test in shipped_protocol().tests for one in test.measures]
    assert {one.loinc for one in measures if one.loinc} == {"66247-8", "89423-8"}
    assert {one.ucum for one in measures} <= UCUM


def test_a_reason_to_call_names_its_source(protocol) -> None:
    rule = '[[call_rules]]\ntext = "It hurts."\nurgency = "clinic"\nsource = "nobody"\n'
    path = protocol.path / "safety.toml"
    protocol.write("safety.toml", f"{path.read_text(encoding='utf-8')}\n{rule}")
    with pytest.raises(FileRefusedError) as caught:
        load_protocol([protocol.path], "small")
    (problem,) = caught.value.problems
    assert problem.field == "call_rules[0].source"


def test_a_clinic_adds_reasons_to_call_to_ours(protocol, clinic) -> None:
    for folder, text in ((protocol, "Ours."), (clinic, "Theirs.")):
        path = folder.path / "safety.toml"
        rule = f'[[call_rules]]\ntext = "{text}"\nurgency = "clinic"\nsource = "judgement"\n'
        before = path.read_text(encoding="utf-8") if path.exists() else ""
        folder.write("safety.toml", f"{before}\n{rule}")
    loaded = load_protocol([protocol.path, clinic.path], "small")
    assert [rule.text for rule in loaded.call_rules] == ["Ours.", "Theirs."]
