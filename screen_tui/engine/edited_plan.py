"""The suggested plan as the clinician edited it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from screen_tui.engine.results import Plan, Start
from screen_tui.session.model import PlanEdit

OWN = "added by the clinician"


def edited(plan: Plan, edit: PlanEdit | None) -> Plan:
    """The plan without what was dropped, in another order, with other doses and own lines.

    What is suggested only since it was edited comes behind what was put in order.
    """
    if edit is None:
        return plan
    chosen = [one for one in in_order(plan.start, edit) if one.exercise not in edit.drop]
    doses = [replace(one, dose=edit.doses.get(one.exercise, one.dose)) for one in chosen]
    own = (Start(exercise="", driver="", side=None, name=line, why=OWN) for line in edit.own)
    return replace(plan, start=(*doses, *own))


def in_order(start: Iterable[Start], edit: PlanEdit) -> list[Start]:
    """Exercises as the clinician put them in order, those dropped among them; others behind."""
    place = {exercise: at for at, exercise in enumerate(edit.order)}
    return sorted(start, key=lambda one: place.get(one.exercise, len(place)))
