"""The person by a local label alone, what was asked before testing, and the program."""

from __future__ import annotations

from collections.abc import Iterator

from screen_tui import __version__
from screen_tui.engine.safety import LIMITS
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import Coded
from screen_tui.report.fhir.datatypes import (
    LOINC_SYSTEM,
    Data,
    concept,
    local,
    moment,
    quantity,
    standard,
)
from screen_tui.report.words import (
    WEIGHT_BEARING,
    safety_answer,
    safety_words,
    spaced,
    went_on,
)
from screen_tui.session.model import Session

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
        "identifier": [{"type": {"text": "patient code"}, "value": session.client.label.strip()}],
    }


def device(protocol: ScreenProtocol) -> Data:
    """The program with its version, and the protocol with its digest, to derive it all again."""
    return {
        "resourceType": "Device",
        "deviceName": [{"name": "screen-tui", "type": "user-friendly-name"}],
        "type": concept("software that times tests and ranks findings by rules"),
        "version": [
            {"type": {"text": "program"}, "value": __version__},
            {"type": {"text": f"protocol {protocol.battery.id}"}, "value": protocol.digest},
        ],
    }


def about_person(session: Session) -> Iterator[tuple[str, Data]]:
    """What of the person a result is read by, as observations, each with its key."""
    client = session.client
    age = concept("Age on the day", local("person/age", "Age"))
    yield "age", {"code": age, "valueQuantity": quantity(client.age, "years", "a")}
    table_sex = local("person/table-sex", "Sex used for the reference tables")
    code = concept("Sex, as used for the reference tables", table_sex)
    used = concept(client.sex, local(f"person/table-sex/{client.sex}", client.sex))
    yield "sex", {"code": code, "valueCodeableConcept": used}
    vital = concept("Vital signs", standard("observation-category", "vital-signs", "Vital Signs"))
    for key, coded, name, value, unit in (
        ("height", HEIGHT, "Body height", client.height_cm, "cm"),
        ("mass", MASS, "Body weight", client.mass_kg, "kg"),
    ):
        if value is not None:
            code = concept(name, *codings(coded, f"person/{key}", name))
            number = quantity(value, unit, coded.ucum)
            yield key, {"category": [vital], "code": code, "valueQuantity": number}


def questionnaire_response(protocol: ScreenProtocol, session: Session) -> Data:
    """The safety questions word for word, then the intake; what was not answered has no answer."""
    safety = []
    for one in protocol.cautions:
        answer = safety_answer(session, one.id)
        heard = None if answer == "not recorded" else answer != "denied"
        safety.append(_item(f"safety/{one.id}", one.question, heard))
    for cleared in session.intake.cleared:
        words = safety_words(session, cleared.caution)
        safety.append(_item(f"safety/{cleared.caution}/cleared", "Known and cleared", words))
    history = []
    for question in protocol.history:
        given = session.intake.history.get(question.id)
        if given is not None:
            chosen = {one.id: one.label for one in question.answers if one.id in given}
            history.append(_item(f"history/{question.id}", question.label, chosen))
    return {
        "resourceType": "QuestionnaireResponse",
        "status": "completed" if went_on(session) else "in-progress",
        "authored": moment(session.started),
        "item": [
            {"linkId": "safety", "text": "Safety questions", "item": safety},
            {"linkId": "intake", "text": "Before testing", "item": _intake(session)},
            *([{"linkId": "history", "text": "History", "item": history}] if history else []),
        ],
    }


def _intake(session: Session) -> list[Data]:
    intake = session.intake
    load, surgery = intake.weight_bearing, intake.surgery
    confirmed = intake.one_leg_confirmed if load == "as-tolerated" else None
    given: tuple[tuple[str, str, _Given | None], ...] = (
        ("complaints", "Complaint", {one: spaced(one) for one in intake.complaints}),
        ("side", "Side of the complaint", {intake.side: intake.side}),
        ("goals", "Goals", {one: spaced(one) for one in intake.goals}),
        ("weight-bearing", "Weight-bearing allowed", {load: WEIGHT_BEARING[load]}),
        ("precautions", "Other limits", {one: LIMITS[one] for one in intake.precautions}),
        ("one-leg-confirmed", "Full load on one leg confirmed", confirmed),
        ("surgery-weeks", "Weeks since surgery", intake.recent_surgery_weeks),
        ("surgery", "Kind of surgery", {surgery: spaced(surgery)} if surgery else None),
        ("pain-now", "Pain now, of 10", intake.pain_now),
        ("pain-worst", "Pain at its worst in the last week, of 10", intake.pain_worst),
        ("alone-at-home", "Alone at home", intake.alone_at_home),
        ("note", "In addition", intake.note or None),
    )
    return [
        _item(f"intake/{name}", text, answer) for name, text, answer in given if answer is not None
    ]


_Given = dict[str, str] | bool | int | str
"""The choices with their words, or the answer itself."""


def _item(link: str, text: str, given: _Given | None) -> Data:
    """A question with its answer; None where there is none."""
    answers: list[Data] = []
    match given:
        case dict():
            answers = [{"valueCoding": local(f"{link}/{one}", given[one])} for one in given]
        case bool():
            answers = [{"valueBoolean": given}]
        case int():
            answers = [{"valueInteger": given}]
        case str():
            answers = [{"valueString": given}]
    return {"linkId": link, "text": text, "answer": answers}
