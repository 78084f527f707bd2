"""Every bundle, read by independent models of FHIR.

``fhir.resources`` has models of R4B and not of R4; for the resources used here they agree (from
memory). Needs the dependency group ``oracle``; skipped where the library is not installed.
"""

from __future__ import annotations

import json
from decimal import Decimal
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
