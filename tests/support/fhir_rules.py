"""Rules of FHIR R4 that libraries of its models do not hold a bundle to.

The names in brackets are those of the specification's invariants, https://hl7.org/fhir/R4 (the
codes of statuses and of absent data were read there; the rest from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime
from typing import Any

Json = Any

STATUSES = {
    "Observation": {
        "registered", "preliminary", "final", "amended", "corrected", "cancelled",
        "entered-in-error", "unknown",
    },
    "QuestionnaireResponse": {
        "in-progress", "completed", "amended", "entered-in-error", "stopped",
    },
    # Of the allowed ones, the only one before a clinician has accepted it.
    "ClinicalImpression": {"in-progress"},
}  # fmt: skip
NEEDS_STATUS = set(STATUSES)
ABSENT = {
    "unknown", "asked-unknown", "temp-unknown", "not-asked", "asked-declined", "masked",
    "not-applicable", "unsupported", "as-text", "error", "not-a-number", "negative-infinity",
    "positive-infinity", "not-performed", "not-permitted",
}  # fmt: skip
UCUM = {"s", "deg", "m/s", "W/kg", "cm", "kg", "a", "{hold}", "{score}", "{#}/(30.s)",
        "{grade}", "{raise}", "{rise}"}  # fmt: skip
LOINC = {"66247-8", "93125-3", "89423-8", "72514-3", "29463-7", "8302-2"}
LOCAL = "urn:uuid:c4306bdd-a4db-43f5-a480-a3216d3c7cbe"
"""Written out here, so that a change of it, which receivers would not survive, is noticed."""
SYSTEMS = {
    "http://loinc.org",
    "http://unitsofmeasure.org",
    LOCAL,
    "http://terminology.hl7.org/CodeSystem/observation-category",
    "http://terminology.hl7.org/CodeSystem/data-absent-reason",
    "http://terminology.hl7.org/CodeSystem/v3-ObservationInterpretation",
    "http://terminology.hl7.org/CodeSystem/v3-ActReason",
    "http://terminology.hl7.org/CodeSystem/provenance-participant-type",
}
TIMES = {"effectiveDateTime", "authored", "recorded", "timestamp"}
_MOMENT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]+)?(Z|[+-][0-9]{2}:[0-9]{2})"
)
_CODE = re.compile(r"[^\s]+(\s[^\s]+)*")


def broken_rules(bundle: Json) -> list[str]:
    """Every rule a bundle breaks, each with where."""
    entries = bundle["entry"]
    urls = [entry["fullUrl"] for entry in entries]
    found = [f"fullUrl twice: {url}" for url in set(urls) if urls.count(url) > 1]
    found += [
        f"not a urn: {url}" for url in urls if not re.fullmatch(r"urn:uuid:[0-9a-f-]{36}", url)
    ]
    if bundle["type"] != "collection":
        found.append("bundle: not a collection")
    found += _walk(bundle, "bundle", set(urls))
    for entry in entries:
        found += _resource(entry["resource"])
    return found


def _walk(value: Json, where: str, urls: set[str]) -> Iterator[str]:
    """What holds of every element, wherever it stands."""
    if value is None or value in ("", [], {}) or (isinstance(value, str) and not value.strip()):
        yield f"{where}: empty"
    if isinstance(value, list):
        for place, item in enumerate(value):
            yield from _walk(item, f"{where}[{place}]", urls)
    if not isinstance(value, dict):
        return
    for key, item in value.items():
        here = f"{where}.{key}"
        yield from _walk(item, here, urls)
        if key in TIMES and not _is_moment(item):
            yield f"{here}: not a moment with its offset: {item}"
        if key == "reference" and item not in urls:
            yield f"{here}: leads nowhere"
        if key == "system" and item not in SYSTEMS:
            yield f"{here}: a system that may not be used: {item}"
        if key == "code" and isinstance(item, str) and not _CODE.fullmatch(item):
            yield f"{here}: blanks in a code"
    if value.get("system") == "http://loinc.org" and value.get("code") not in LOINC:
        yield f"{where}: a LOINC code nobody has read: {value.get('code')}"
    if "value" in value and "unit" in value:
        yield from _quantity(value, where)


def _quantity(quantity: Json, where: str) -> Iterator[str]:
    if isinstance(quantity["value"], bool) or not isinstance(quantity["value"], int | float):
        yield f"{where}: not a number"
    if "code" in quantity and "system" not in quantity:
        yield f"{where}: a unit code without its system [qty-3]"
    if "system" in quantity and quantity.get("code") not in UCUM:
        yield f"{where}: not a known UCUM unit: {quantity.get('code')}"


def _is_moment(text: Json) -> bool:
    if not isinstance(text, str) or not _MOMENT.fullmatch(text):
        return False
    try:
        return datetime.fromisoformat(text).utcoffset() is not None
    except ValueError:
        return False


def _resource(resource: Json) -> Iterator[str]:
    kind = resource["resourceType"]
    if kind in NEEDS_STATUS and resource.get("status") not in STATUSES[kind]:
        yield f"{kind}: status {resource.get('status')}"
    if kind == "Observation":
        yield from _observation(resource)
    if kind == "Patient" and set(resource) != {"resourceType", "identifier"}:
        yield "Patient: more than a label"
    if kind == "ClinicalImpression":
        for field in ("description", "summary"):
            if "not a diagnosis" not in resource.get(field, ""):
                yield f"ClinicalImpression: {field} does not say that it is not a diagnosis"
    if kind == "Provenance" and not (resource.get("target") and resource.get("agent")):
        yield "Provenance: of nothing, or by nobody"


def _observation(resource: Json) -> Iterator[str]:
    name = resource.get("code", {}).get("text")
    if not name:
        yield "Observation: a code without its words"
    values = [key for key in resource if key.startswith("value")]
    if len(values) > 1:
        yield f"{name}: more than one value"
    absent = resource.get("dataAbsentReason")
    if absent and values:
        yield f"{name}: a value and why there is none [obs-6]"
    if not (values or absent or resource.get("component")):
        yield f"{name}: neither value nor reason"
    if absent:
        codes = {coding.get("code") for coding in absent.get("coding", [])}
        if not codes or not codes <= ABSENT or not absent.get("text"):
            yield f"{name}: no known reason in code and words"
    for reference_range in resource.get("referenceRange", []):
        if not {"low", "high", "text"} & set(reference_range):
            yield f"{name}: a range that says nothing [obs-3]"
    for component in resource.get("component", []):
        if component["code"].get("coding") == resource["code"].get("coding"):
            yield f"{name}: a component with the code of the whole [obs-7]"
