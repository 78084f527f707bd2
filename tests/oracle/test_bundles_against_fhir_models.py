"""Every bundle, and the official examples of the standard, read by independent models of FHIR.

``fhir.resources`` has models of R4B and not of R4; for the resources used here they agree, as the
official examples of R4 show: those of the package ``hl7.fhir.r4.examples`` 4.0.1 (HL7, CC0-1.0,
https://hl7.org/fhir/R4/downloads.html), unpacked into the folder that ``SCREEN_TUI_FHIR_EXAMPLES``
names; without it they are skipped. Needs the dependency group ``oracle``; skipped where the library
is not installed.
"""

from __future__ import annotations

import json
import os
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from support.every_session import SESSION_FILES, judged
from support.note_case import note_assessment, note_protocol, note_session, refer_first_assessment

from screen_tui.report.fhir.bundle import write_bundle

models = pytest.importorskip("fhir.resources.R4B.bundle")


def plain(value: Any) -> Any:
    """What was read, with numbers and times as they were written."""
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [plain(item) for item in value]
    return float(value) if isinstance(value, Decimal) else value


@pytest.mark.parametrize("name", SESSION_FILES)
def test_the_models_read_every_bundle_and_give_it_back(name: str) -> None:
    text = write_bundle(*judged(name))
    bundle = models.Bundle.model_validate_json(text)
    kinds = [entry.resource.get_resource_type() for entry in bundle.entry]
    assert kinds == [entry["resource"]["resourceType"] for entry in json.loads(text)["entry"]]
    assert plain(json.loads(bundle.model_dump_json())) == plain(json.loads(text))


@pytest.mark.parametrize("assessment", [note_assessment(), refer_first_assessment()])
def test_the_models_read_a_case_with_everything_in_it(assessment: Any) -> None:
    models.Bundle.model_validate_json(write_bundle(note_protocol(), note_session(), assessment))


@pytest.mark.parametrize("field", ["status", "code"])
def test_the_models_refuse_an_observation_without_what_it_needs(field: str) -> None:
    bundle = json.loads(write_bundle(*judged("runner-left-hip")))
    observation = next(
        entry["resource"]
        for entry in bundle["entry"]
        if entry["resource"]["resourceType"] == "Observation"
    )
    del observation[field]
    with pytest.raises(ValueError, match=field):
        models.Bundle.model_validate(bundle)


KINDS = {
    "Patient": "",
    "Device": "",
    "Observation": "status",
    "QuestionnaireResponse": "status",
    "ClinicalImpression": "subject",
    "Provenance": "agent",
}
"""The resources in our bundles, each with a field it cannot be without, where there is one."""
FOLDER = os.environ.get("SCREEN_TUI_FHIR_EXAMPLES", "")
EXAMPLES = [path for kind in KINDS for path in sorted(Path(FOLDER).glob(f"{kind}-*.json"))]

official = pytest.mark.skipif(not FOLDER, reason="SCREEN_TUI_FHIR_EXAMPLES names no folder")


def holding(resource: Any) -> Any:
    return {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": resource}]}


@official
def test_there_is_an_official_example_of_each_resource() -> None:
    assert {path.name.partition("-")[0] for path in EXAMPLES} == set(KINDS)


@official
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_the_models_read_the_official_examples_and_refuse_them_broken(path: Path) -> None:
    example = json.loads(path.read_text("utf-8"))
    read = models.Bundle.model_validate_json(json.dumps(holding(example)))
    assert json.loads(read.model_dump_json())["entry"][0]["resource"].keys() == example.keys()
    broken = {"colour": example | {"colour": "blue"}, "language": example | {"language": ["en"]}}
    needed = KINDS[example["resourceType"]]
    if needed:
        broken[needed] = {key: value for key, value in example.items() if key != needed}
    for field, wrong in broken.items():
        with pytest.raises(ValueError, match=rf"\b{field}\b"):
            models.Bundle.model_validate_json(json.dumps(holding(wrong)))
