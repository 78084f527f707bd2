"""What was asked before testing, as a questionnaire that was answered."""

from __future__ import annotations

from typing import Literal

from screen_tui.engine.safety import LIMITS
from screen_tui.protocol.model import Protocol
from screen_tui.report.fhir.datatypes import Data, local, moment
from screen_tui.report.safety_answers import safety_answer, went_on
from screen_tui.report.words import WEIGHT_BEARING, spaced
from screen_tui.session.model import Session

_SAID: dict[Literal["yes", "denied", "not recorded"], bool | None] = {
    "yes": True,
    "denied": False,
    "not recorded": None,
}


def questionnaire_response(protocol: Protocol, session: Session) -> Data:
    """The safety questions word for word, then the intake; what was not answered has no answer."""
    return {
        "resourceType": "QuestionnaireResponse",
        "status": "completed" if went_on(session) else "in-progress",
        "authored": moment(session.started),
        "item": [_safety(protocol, session), _intake(session)],
    }


def _safety(protocol: Protocol, session: Session) -> Data:
    items = []
    for caution in protocol.cautions:
        said = _SAID[safety_answer(session, caution.id)]
        items.append(
            {
                "linkId": f"safety/{caution.id}",
                "text": caution.question,
                "answer": [{"valueBoolean": said}],
            }
        )
    return {"linkId": "safety", "text": "Safety questions", "item": items}


def _intake(session: Session) -> Data:
    intake = session.intake
    items = [
        _chosen("complaints", "Complaint", {one: spaced(one) for one in intake.complaints}),
        _chosen("side", "Side of the complaint", {intake.side: intake.side}),
        _chosen("goals", "Goals", {one: spaced(one) for one in intake.goals}),
        _chosen(
            "weight-bearing",
            "Weight-bearing allowed",
            {intake.weight_bearing: WEIGHT_BEARING[intake.weight_bearing]},
        ),
        _chosen("precautions", "Other limits", {one: LIMITS[one] for one in intake.precautions}),
    ]
    if intake.weight_bearing == "as-tolerated":
        items.append(
            {
                "linkId": "intake/one-leg-confirmed",
                "text": "Full load on one leg confirmed",
                "answer": [{"valueBoolean": intake.one_leg_confirmed}],
            }
        )
    if intake.recent_surgery_weeks is not None:
        items.append(
            {
                "linkId": "intake/surgery-weeks",
                "text": "Weeks since surgery",
                "answer": [{"valueInteger": intake.recent_surgery_weeks}],
            }
        )
    if intake.note:
        items.append(
            {
                "linkId": "intake/note",
                "text": "In addition",
                "answer": [{"valueString": intake.note}],
            }
        )
    return {"linkId": "intake", "text": "Before testing", "item": items}


def _chosen(name: str, text: str, answers: dict[str, str]) -> Data:
    """A question answered with some of its choices, each with its id as our code."""
    return {
        "linkId": f"intake/{name}",
        "text": text,
        "answer": [
            {"valueCoding": local(f"intake/{name}/{one}", display)}
            for one, display in answers.items()
        ],
    }
