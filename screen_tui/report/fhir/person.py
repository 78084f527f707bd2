"""Who and what: the person by a local label alone, and the program."""

from __future__ import annotations

from collections.abc import Iterator

from screen_tui import __version__
from screen_tui.protocol.model import Protocol
from screen_tui.protocol.tests import Coded
from screen_tui.report.fhir.datatypes import (
    LOINC_SYSTEM,
    Data,
    concept,
    local,
    quantity,
    standard,
)
from screen_tui.session.model import Session

PAIN = Coded(
    loinc="72514-3",
    loinc_name="Pain severity - 0-10 verbal numeric rating [Score] - Reported",
    loinc_seen_at=(
        "https://www.healthassure.in/codes/"
        "loinc-72514-3-pain-severity-0-10-verbal-numeric-rating-score-reported"
    ),
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


def codings(coded: Coded, code: str, display: str, *, fits: bool = True) -> list[Data]:
    """The LOINC code, where there is one and it fits, and always our own."""
    own = local(code, display)
    if coded.loinc is None or not fits:
        return [own]
    return [{"system": LOINC_SYSTEM, "code": coded.loinc, "display": coded.loinc_name}, own]


def patient(session: Session) -> Data:
    """The person: no name, no date of birth, no sex; a label that means something here only."""
    return {
        "resourceType": "Patient",
        "identifier": [{"type": {"text": "local label"}, "value": session.client.label.strip()}],
    }


def device(protocol: Protocol) -> Data:
    """The program with its version, and the protocol with its digest, to derive it all again."""
    return {
        "resourceType": "Device",
        "deviceName": [{"name": "screen-tui", "type": "user-friendly-name"}],
        "type": concept("software that times tests and weighs findings by rules"),
        "version": [
            {"type": {"text": "program"}, "value": __version__},
            {"type": {"text": f"protocol {protocol.battery.id}"}, "value": protocol.digest},
        ],
    }


def about_person(session: Session) -> Iterator[tuple[str, Data]]:
    """What of the person a result is read by, as observations, each with its key."""
    client = session.client
    yield (
        "age",
        {
            "code": concept("Age on the day", local("person/age", "Age")),
            "valueQuantity": quantity(client.age, "years", "a"),
        },
    )
    yield (
        "sex",
        {
            "code": concept(
                "Sex, as used for the reference tables",
                local("person/table-sex", "Sex used for the reference tables"),
            ),
            "valueCodeableConcept": concept(
                client.sex, local(f"person/table-sex/{client.sex}", client.sex)
            ),
        },
    )
    vital = [concept("Vital signs", standard("observation-category", "vital-signs", "Vital Signs"))]
    for key, coded, name, value, unit in (
        ("height", HEIGHT, "Body height", client.height_cm, "cm"),
        ("mass", MASS, "Body weight", client.mass_kg, "kg"),
    ):
        if value is not None:
            yield (
                key,
                {
                    "category": vital,
                    "code": concept(name, *codings(coded, f"person/{key}", name)),
                    "valueQuantity": quantity(value, unit, coded.ucum),
                },
            )
