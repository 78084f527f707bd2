"""A test done with a simulated patient: the ordinary keys, and somebody to watch."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from textual import events

from screen_tui.trial.battery import Item
from screen_tui.trial.keymap import Action
from screen_tui.tui.drawing.practice_run import BOTH_FROM, Place, draw_practice_test, patient_of
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.practice_stage import Stage, staged, without_count_in
from screen_tui.tui.practising import Practising
from screen_tui.tui.screens.base import Drawn
from screen_tui.tui.screens.practice import ask_to_leave_practice
from screen_tui.tui.screens.test import TestScreen

_OWN = {Action.RESULT: "answer", Action.LEAVE: "leave"}
"""What the ordinary screen calls otherwise."""


class PracticeTestScreen(TestScreen):
    """The ordinary screen of tests with the patient beside the number."""

    def __init__(self, practising: Practising, told: str = "") -> None:
        super().__init__(told=told)
        self.practising = practising
        self.place: Place = "front"
        self._stage: Stage | None = None

    @property
    def stage(self) -> Stage:
        """The patient in the trial at hand."""
        run, controller = self.practising, self.practising.controller
        self._stage = staged(
            self._stage,
            run.case,
            controller.protocol,
            controller.session,
            self.trial,
            run.seed,
            self.host.clock.monotonic(),
        )
        return self._stage

    def take_up(self, item: Item, cue: str = "") -> None:
        self._stage = None
        super().take_up(item, cue)
        self._trial = without_count_in(self.trial)

    def draw(self, width: int, height: int) -> Drawn:
        fields = self.trial.spec.timer.numbers
        stage, now = self.stage, self.host.clock.monotonic()
        patient = patient_of(
            stage.frame(self.trial, now),
            self.place,
            width,
            labels={field.id: field.label for field in fields},
            pain=stage.pain(self.trial, now) if self.trial.prompt == "pain" else None,
        )
        return Drawn(draw_practice_test(self.view, patient, width, height))

    @property
    def _asks(self) -> bool:
        """Whether Space asks the patient to begin."""
        now = self.host.clock.monotonic()
        return not self._must_warn and self.stage.can_be_asked(self.trial, now)

    def own_hints(self) -> Sequence[KeyHint]:
        words = {self.trial.keymap.key(action): words for action, words in _OWN.items()}
        ways = [
            KeyHint(hint.key, words.get(hint.key, hint.does), hint.rank)
            for hint in super().own_hints()
        ]
        asks = (self.hint(Action.TIME, "ask to begin", 0),) if self._asks else ()
        return (*asks, *ways)

    def hints(self) -> Sequence[KeyHint]:
        turned = "from the side" if self.place == "front" else "from the front"
        narrow = self.size.width - 2 < BOTH_FROM or self.host.settings.layout == "narrow"
        return (*super().hints(), *((self.hint(Action.PATIENT_SIDE, turned, 1),) if narrow else ()))

    def own_actions(self) -> Mapping[Action, Callable[[], object]]:
        leave = self._after_asking(lambda: ask_to_leave_practice(self.host))
        asks = {Action.TIME: self._ask_to_begin} if self._asks else {}
        return {**super().own_actions(), Action.LEAVE: leave, **asks}

    def take_key(self, key: str, event: events.Key) -> bool:
        if Action.PATIENT_SIDE in self.trial.keymap.actions(key):
            self.place = "side" if self.place == "front" else "front"
            return True
        return super().take_key(key, event)

    def _ask_to_begin(self) -> None:
        now = self.host.clock.monotonic()
        self._stage = self.stage.asked(now)
        self.said = ""
