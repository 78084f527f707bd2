"""Edit the plan: which exercises, in which order, in which dose, own lines, and the next visit."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from screen_tui.engine.assess import assess
from screen_tui.engine.plan import in_order
from screen_tui.engine.results import Start
from screen_tui.report.document import TO_FILL_IN
from screen_tui.report.words import exercise_name
from screen_tui.session.model import PlanEdit
from screen_tui.tui.drawing.rows import Choice
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.screens.dialogs import TypeInDialog
from screen_tui.tui.screens.list import ListScreen

OWN, NEXT = "Own lines", "Next visit"


class EditPlanScreen(ListScreen[None]):
    """Lists what was suggested; every change is saved at once and can be taken back."""

    GUIDE = "answer"
    does = "in or out"

    def __init__(self) -> None:
        super().__init__("Edit the plan")
        self.suggested: tuple[Start, ...] = ()

    def on_mount(self) -> None:
        """Look up what is suggested without any edit."""
        session = self.host.controller.session.model_copy(update={"plan": None})
        self.suggested = assess(self.host.protocol, session).plan.start
        super().on_mount()

    @property
    def edit(self) -> PlanEdit:
        return self.host.controller.session.plan or PlanEdit()

    @property
    def exercises(self) -> list[Start]:
        """The suggestions in the order they are in now, those that were dropped too."""
        return in_order(self.suggested, self.edit)

    def lines(self) -> Sequence[Choice]:
        edit = self.edit
        chosen = [
            Choice(
                "Exercises",
                "",
                f"[{' ' if one.exercise in edit.drop else 'x'}] {exercise_name(one)}: "
                f"{edit.doses.get(one.exercise, one.dose)}",
            )
            for one in self.exercises
        ]
        own = [Choice(OWN, "", line) for line in edit.own]
        return (*chosen, *own, Choice(NEXT, "", edit.next_visit or TO_FILL_IN))

    def choose(self) -> None:
        exercise, own = self._at_exercise(), self._at_own()
        if exercise is not None:
            dropped = [one for one in self.edit.drop if one != exercise.exercise]
            if len(dropped) == len(self.edit.drop):
                dropped.append(exercise.exercise)
            self._change(drop=tuple(dropped))
        elif own is not None:
            self._ask_for_a_line(own)
        else:
            self._ask_for_the_day()

    def hints(self) -> Sequence[KeyHint]:
        exercise = self._at_exercise()
        does = "in or out" if exercise else "edit" if self._at_own() is not None else "set"
        return (
            KeyHint("Enter", does, 0),
            *(
                (KeyHint("d", "dose", 0, self._ask_for_a_dose), KeyHint("u", "up", 0, self._up))
                if exercise
                else ()
            ),
            KeyHint("o", "own line", 0, self._ask_for_a_line),
            KeyHint("v", "next visit", 1, self._ask_for_the_day),
            KeyHint("↑↓", "move", 2),
            KeyHint("b", "plan", 0, self.host.go_plan),
        )

    def _at_exercise(self) -> Start | None:
        exercises = self.exercises
        return exercises[self.at] if self.at < len(exercises) else None

    def _at_own(self) -> int | None:
        at = self.at - len(self.suggested)
        return at if 0 <= at < len(self.edit.own) else None

    def _up(self) -> None:
        if 0 < self.at < len(self.suggested):
            order = [one.exercise for one in self.exercises]
            order.insert(self.at - 1, order.pop(self.at))
            self.at -= 1
            self._change(order=tuple(order))

    def _ask_for_a_dose(self) -> None:
        exercise = self._at_exercise()
        if exercise is not None:
            name, doses = exercise.exercise, self.edit.doses

            def take(typed: str) -> None:
                others = {one: dose for one, dose in doses.items() if one != name}
                self._change(doses=others | ({name: typed} if typed else {}))

            lead = "Sets, repetitions, how often, how hard; note and sheet follow. "
            lead += "Empty: as suggested."
            self._ask(f"Dose of {exercise.name}", lead, take, doses.get(name, exercise.dose))

    def _ask_for_a_line(self, at: int | None = None) -> None:
        """Ask for an own line, or for what one of them is to say."""
        own = self.edit.own
        before, behind = (own, ()) if at is None else (own[:at], own[at + 1 :])

        def take(typed: str) -> None:
            self._change(own=(*before, *([typed] if typed else []), *behind))

        lead = "An exercise or advice, with its dose. It is on the patient's sheet as you type it."
        empty = "" if at is None else " Empty: it is removed."
        self._ask("A line of your own", lead + empty, take, "" if at is None else own[at])

    def _ask_for_the_day(self) -> None:
        lead = "The day and time, such as 25 March, 10:00."
        now = self.edit.next_visit
        self._ask("Next visit", lead, lambda typed: self._change(next_visit=typed), now)

    def _ask(self, title: str, lead: str, take: Callable[[str], None], text: str) -> None:
        self.host.ask(TypeInDialog(title, lead, text=text, clears=True), take)

    def _change(self, **changed: object) -> None:
        controller, plan = self.host.controller, self.edit.model_copy(update=changed)
        controller.change(controller.session.model_copy(update={"plan": plan}))
        self.redraw()
        self.host.ask_about_trouble()
