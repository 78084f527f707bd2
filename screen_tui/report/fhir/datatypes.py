"""The small pieces FHIR resources are made of, as plain dictionaries."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any
from uuid import UUID, uuid5

from screen_tui.protocol.tests import Coded
from screen_tui.session.model import Session

Data = dict[str, Any]

LOINC_SYSTEM = "http://loinc.org"
UCUM_SYSTEM = "http://unitsofmeasure.org"
TERMINOLOGY = "http://terminology.hl7.org/CodeSystem"

LOCAL_SYSTEM = "urn:uuid:c4306bdd-a4db-43f5-a480-a3216d3c7cbe"
"""Names our own codes. It never changes: a receiver knows them by it."""

_NAMESPACE = UUID("0fa95b87-3ad8-47f5-b5be-e9170bcde212")


PAIN = Coded(
    loinc="72514-3",
    loinc_name="Pain severity - 0-10 verbal numeric rating [Score] - Reported",
    loinc_seen_at="https://loinc.org/72514-3",
    ucum="{score}",
)
MASS = Coded(
    loinc="29463-7",
    loinc_name="Body weight",
    loinc_seen_at="https://hl7.org/fhir/2021May/bodyweight.html",
    ucum="kg",
)
HEIGHT = Coded(
    loinc="8302-2",
    loinc_name="Body height",
    loinc_seen_at="https://hl7.org/fhir/r4/bodyheight.html",
    ucum="cm",
)
"""What belongs to the person rather than to a test, under the same rule as the tests' files."""


def full_url(session: Session, key: str) -> str:
    """The name of a resource: the same for the same session and key, whenever it is written."""
    return f"urn:uuid:{uuid5(_NAMESPACE, f'{session.id} {moment(session.started)} {key}')}"


def reference(url: str, display: str = "") -> Data:
    """A reference to a resource of the same bundle."""
    return {"reference": url, "display": display}


def moment(at: datetime) -> str:
    """A date and time with seconds and its offset, which FHIR allows in whole minutes only."""
    offset = at.utcoffset()
    if offset is None or offset.total_seconds() % 60:
        at = at.astimezone(UTC)
    return at.isoformat()


def local(code: str, display: str) -> Data:
    """A code of our own."""
    return {"system": LOCAL_SYSTEM, "code": code, "display": display}


def standard(kind: str, code: str, display: str) -> Data:
    """A code of HL7's own code systems."""
    return {"system": f"{TERMINOLOGY}/{kind}", "code": code, "display": display}


def concept(text: str, *codings: Data) -> Data:
    """A concept in words, with the codes it is known by."""
    return {"coding": list(codings), "text": text}


def codings(coded: Coded, code: str, display: str, *, fits: bool = True) -> list[Data]:
    """The LOINC code, where there is one and it fits, and always our own."""
    own = local(code, display)
    if coded.loinc is None or not fits:
        return [own]
    return [{"system": LOINC_SYSTEM, "code": coded.loinc, "display": coded.loinc_name}, own]


def quantity(value: float | int, unit: str, ucum: str | None, *, at_least: bool = False) -> Data:
    """A number with its unit; without a UCUM unit that is in words only."""
    return {
        "value": value,
        "comparator": ">=" if at_least else None,
        "unit": unit,
        "system": UCUM_SYSTEM if ucum else None,
        "code": ucum,
    }


def pruned(value: Any) -> Any:
    """The same without what is None, blank or empty: FHIR knows no empty text, array or object."""
    if isinstance(value, Mapping):
        full = {key: pruned(item) for key, item in value.items()}
        return {key: item for key, item in full.items() if not _is_empty(item)}
    if isinstance(value, list | tuple):
        return [item for item in map(pruned, value) if not _is_empty(item)]
    return value


def _is_empty(value: Any) -> bool:
    if isinstance(value, str):
        return not value.strip()
    return value is None or (isinstance(value, list | dict) and not value)
