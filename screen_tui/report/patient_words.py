"""What the patient's sheet says of its own: plain words, no name, no diagnosis."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from screen_tui.engine.results import Assessment
from screen_tui.engine.safety import PAIN_LIMIT, limits_of
from screen_tui.fields import Precaution, Side
from screen_tui.protocol.knowledge import Urgency
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report.plan import EARLY_SURGERY
from screen_tui.session.model import Intake, WeightBearing

TITLE = "Your knee: what to do at home"
INVENTED = "This is a demonstration. The person is invented."
NOT_A_DIAGNOSIS = (
    "This sheet is not a diagnosis.",
    "What your therapist tells you comes first.",
    "Show this sheet to your doctor if you see one.",
)
ABOUT_HEADING = "About this sheet"
ALWAYS_HEADING = "In all exercises"
ALWAYS = (
    "We count pain from 0 to 10.",
    "0 is no pain. 10 is the worst pain you can think of.",
    f"Up to {PAIN_LIMIT} of 10 is all right in an exercise. More is too much.",
    "If you have a brace, keep it on as you were told.",
    "Stay within any limits you were given.",
)

FIRST: dict[Urgency, str] = {
    "now": "Now: call the emergency number",
    "today": "Today: see a doctor",
    "days": "Within a few days: see a doctor",
}
REFERRED = (
    "A doctor must look at you before you exercise.",
    "Your therapist will help you to get there.",
)
ASKED_AGAIN_HEADING = "First: one more question"
ASKED_AGAIN = (
    "Your therapist has one more question for you before you exercise.",
    "Do not load the knee until it is answered.",
)
OWN_LINE = "From your therapist"
WITH_HELPER = "Only do this with somebody next to you."
STOPPED_HEADING = "Your tests were stopped"
STOPPED = (
    "Your tests were stopped today to keep you safe.",
    "Ask your therapist what comes next.",
)
NO_EXERCISES_HEADING = "No exercises for now"
NO_EXERCISES_YET = (
    "Do no knee exercises until your therapist or doctor says that you may.",
    "This also means exercises from other sheets.",
)
NO_EXERCISES_HERE = (
    "This sheet has no exercises for you today.",
    "Your therapist will tell you what comes next.",
)
LIMITS_HEADING = "Your limits"
HEED_HEADING = "Please take care"

CALL_HEADING = "When to call"
CALL: dict[Literal["emergency", "same-day", "clinic"], str] = {
    "emergency": "Call the emergency number at once if:",
    "same-day": "See a doctor the same day if:",
    "clinic": "Stop the exercises and call us if:",
}
NEXT_HEADING = "Your next visit"
NEXT_VISIT, PHONE = "Date and time", "Our phone number"

_WEIGHT: dict[WeightBearing, str] = {
    "full": "",
    "as-tolerated": "Put only as much weight on the leg as feels all right.",
    "partial": "Put only part of your weight on the leg, as you were told.",
    "touch": "Only touch the floor with the leg. Put no weight on it.",
    "none": "Put no weight on the leg.",
}
_LIMITS: dict[Precaution, str] = {
    "brace": "Keep your brace on, as you were told.",
    "bend-limited": "Do not bend the knee further than you were told.",
    "no-kneeling": "Do not kneel.",
    "no-active-extension": "Do not straighten the knee with your own muscles.",
}
_SURGERY = "What your surgeon told you comes first."
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def day(at: datetime) -> str:
    """A day as people write it, ``18 March 2026``: figures alone are read two ways."""
    return f"{at.day} {_MONTHS[at.month - 1]} {at.year}"


def limits(protocol: ScreenProtocol, intake: Intake, assessment: Assessment) -> tuple[str, ...]:
    """What the person may not do, as it was ordered or as it is for a time after surgery."""
    found = [_WEIGHT[intake.weight_bearing], *(_LIMITS[one] for one in limits_of(protocol, intake))]
    early = any(one.id == EARLY_SURGERY for one in assessment.precautions)
    if intake.recent_surgery_weeks is not None and not early:
        found.append(_SURGERY)
    return tuple(one for one in found if one)


def precautions(protocol: ScreenProtocol, assessment: Assessment) -> tuple[str, ...]:
    """What the person should heed; the more urgent ones first."""
    raised = {one.id for one in assessment.precautions}
    rules = [rule for rule in protocol.precautions if rule.id in raised]
    rules.sort(key=lambda rule: rule.urgency is None)
    return tuple(rule.for_patient for rule in rules if rule.for_patient)


OTHER_LEG = (
    "The leg to train is not always the one that hurts. What we found at your other leg can load "
    "the sore knee. Ask us if that is not clear."
)


def leg(sides: frozenset[Side | None], *, each: bool) -> str:
    """Which leg an exercise for these sides trains; empty when it is for the whole person.

    ``each``: its dose is for each leg.
    """
    if (each and sides - {None}) or {"left", "right"} <= sides:
        return "The legs to train: left and right."
    return next((f"The leg to train: {side}." for side in sorted(sides - {None}, key=str)), "")
