"""The suggested plan as the clinician edited it."""

from __future__ import annotations

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
    chosen = [one for one in plan.start if one.exercise not in edit.drop]
    place = {exercise: at for at, exercise in enumerate(edit.order)}
    chosen.sort(key=lambda one: place.get(one.exercise, len(place)))
    doses = [replace(one, dose=edit.doses.get(one.exercise, one.dose)) for one in chosen]
    return replace(plan, start=(*doses, *map(_own, edit.own)))


def _own(line: str) -> Start:
    return Start(
        exercise="",
        driver="",
        side=None,
        name=line,
        position="",
        dose="",
        cue="",
        feel="",
        stop="",
        progress_when="",
        progress_to="",
        source="",
        why=OWN,
    )
