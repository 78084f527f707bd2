"""After the scores: each trial once more, with every sign named as it shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from screen_tui.practice.player import at
from screen_tui.practice.staging import Scene, timeline_of
from screen_tui.practice.timeline import Timeline
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.session.model import Trial
from screen_tui.tui.drawing.rows import BLANK, Row, Span, paragraph, row
from screen_tui.tui.drawing.words import test_name
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.practising import Practising
from screen_tui.tui.screens.base import BaseScreen, Drawn, screen_head

TICK_S = 0.1
JUMP_S = 2.0
AFTER_S = 1.0
"""Seconds the end of a trial stays in sight."""


@dataclass(frozen=True)
class Replay:
    """One trial as it happened, and as it was recorded."""

    protocol: ScreenProtocol
    trial: Trial
    timeline: Timeline

    def rows(self, t: float, width: int) -> list[Row]:
        """The figure at a moment, and every sign with its times and whether it was marked."""
        frame = at(self.timeline, t)
        drawn = [row(Span(line, "strong")) for line in frame.both]
        over = self.timeline.over_s
        drawn += paragraph(f"{min(max(t, 0.0), over):.1f} of {over:.1f} s", width, "second")
        labels = {sign.id: sign.label for sign in self.protocol.signs}
        for sign in self.timeline.first_seen:
            times = [sight for sight in self.timeline.sights if sight.sign == sign]
            now = any(one.at_s <= t < one.at_s + one.lasts_s for one in times)
            seconds = ", ".join(f"{one.at_s:.1f}" for one in times)
            marked = "you marked it" if sign in self.trial.signs else "you did not mark it"
            head = row(Span(" > " if now else "   ", "first"))
            name = labels.get(sign, sign).upper() if now else labels.get(sign, sign)
            text = f"{name}, from {seconds} s; {marked}"
            drawn += paragraph(text, width, "verdict" if now else "plain", first=head)
        false = [
            labels.get(one, one) for one in self.trial.signs if one not in self.timeline.first_seen
        ]
        if false:
            drawn += [BLANK, *paragraph(f"Marked, but not there: {', '.join(false)}.", width)]
        return drawn


def replays_of(practising: Practising) -> tuple[Replay, ...]:
    """Every trial of a run that the case shows, in order."""
    protocol, played = practising.controller.protocol, dict[Scene, int]()
    found: list[Replay] = []
    for trial in practising.controller.session.trials:
        scene = Scene.of(trial)
        attempt = played.get(scene, 0)
        played[scene] = attempt + 1
        timeline = timeline_of(practising.case, protocol, scene, attempt, practising.seed)
        if timeline is not None:
            found.append(Replay(protocol, trial, timeline))
    return tuple(found)


class ReplayScreen(BaseScreen[None]):
    """Plays one trial after the other; Space halts, the arrows go to and fro in it."""

    GUIDE = "practice"
    STOPPABLE = False

    def __init__(self, replays: Sequence[Replay]) -> None:
        super().__init__()
        self.replays = tuple(replays)
        self.at = 0
        self.t = 0.0
        self.halted = False
        self._last: float | None = None

    def on_mount(self) -> None:
        super().on_mount()
        self.set_interval(TICK_S, self.tick)

    def tick(self) -> None:
        """Go on by the time that has passed."""
        now = self.host.controller.clock.monotonic()
        passed = 0.0 if self._last is None else now - self._last
        self._last = now
        if self.halted or not self.replays or not passed:
            return
        self.t = min(self.t + passed, self._end)
        self.redraw()

    @property
    def _end(self) -> float:
        return self.replays[self.at].timeline.over_s + AFTER_S

    def head(self) -> tuple[Row, Row]:
        count = f"{self.at + 1} of {len(self.replays)}" if self.replays else ""
        return screen_head("Replay", count)

    def draw(self, width: int, height: int) -> Drawn:
        del height
        if not self.replays:
            return Drawn(paragraph("No trial of this run was part of the case.", width))
        shown = self.replays[self.at]
        name = test_name(shown.protocol, shown.trial.test, shown.trial.side)
        cue = f", with a cue: {shown.trial.cue.replace('-', ' ')}" if shown.trial.cue else ""
        title = paragraph(f"{name}{cue}", width, "strong")
        return Drawn([*title, *shown.rows(self.t, width)])

    def hints(self) -> Sequence[KeyHint]:
        return (
            KeyHint("Space", "continue" if self.halted else "halt", 0, self._halt),
            KeyHint("n", "next trial", 0, lambda: self._go(1), also=("enter",)),
            KeyHint("p", "trial before", 1, lambda: self._go(-1)),
            KeyHint("→", "2 s on", 1, lambda: self._jump(JUMP_S), also=("right",)),
            KeyHint("←", "2 s back", 1, lambda: self._jump(-JUMP_S), also=("left",)),
            KeyHint("b", "scores", 0, self.go_back, also=("backspace",)),
        )

    def _halt(self) -> None:
        self.halted = not self.halted

    def _jump(self, by: float) -> None:
        if self.replays:
            self.t = min(max(self.t + by, 0.0), self._end)

    def _go(self, by: int) -> None:
        if self.replays:
            self.at, self.t = (self.at + by) % len(self.replays), 0.0
