"""One trial of one test, from ready to kept: the state machine behind the Test screen.

What the keys do:

* Space starts, counts and stops, always with the time at which it was pressed; a held key counts
  once. In a test that is only watched it counts repetitions.
* Enter stops a running trial of any kind at the time it was pressed: a hold is over whenever it
  is over, and whoever hits the wrong key while catching somebody must not have the clock run on.
  Everything else that is stopped so is incomplete. On an ended trial Enter keeps it.
* 1 to 9 put a sign on or off, also while the clock runs. p and then 0 to 9, or t for ten, note the
  pain. e goes through the reasons why it ended. y and n answer the question at the end.
* x and then a digit strike the trial out: it is kept, marked void, with the reason.
* Where the computer stood still in the trial, y and n answer first whether its value is right; n
  strikes it out.
* Backspace takes the last thing back. For stairs, d turns the direction, + and - set the steps.

Typed digits, + and -, and the keys that move between fields are taken as they come; every other
key goes through a gate, so a second press within about a second is acted on with the next ticks.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

from screen_tui.engine.measures import HANDS_USED
from screen_tui.fields import Side
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Trial
from screen_tui.timing import Phase, TrustWatch
from screen_tui.timing.key_ring import KeyRing, Passed
from screen_tui.trial.desk_acts import (
    ACTIONS,
    Prompt,
    act,
    strike_at,
    with_steps,
    with_value,
    with_words,
)
from screen_tui.trial.desk_bell import rung
from screen_tui.trial.desk_draw import draw
from screen_tui.trial.desk_view import DeskView
from screen_tui.trial.desk_watch import fresh_watch, in_doubt, watched
from screen_tui.trial.entry import TYPED, Entry
from screen_tui.trial.keys import action_key
from screen_tui.trial.made import Made
from screen_tui.trial.series import Series
from screen_tui.trial.set_up import Noted

_MOVES = {"tab": 1, "down": 1, "shift+tab": -1, "up": -1}


@dataclass(frozen=True)
class Desk:
    """A trial. The screen hands it keys and ticks, and draws its `view`; nothing else.

    Attributes:
        spec: The test.
        side: The leg, None for a two-legged test.
        labels: (id, label) of the signs that can be toggled, in the order of the keys.
        series: The trials before this one.
        count_in: Seconds counted down before the start; 0 for none.
        made: What hands have done.
        entry: Numbers that are typed.
        set_up: What was noted on the set-up; it is recorded with the trial.
        history: What `made` was before each thing done by hand.
        ring: The gates of the keys.
        watch: What may have disturbed the timing.
        clocks: Wall and monotonic time, read together just before the start; None until read.
        prompt: What the next key chooses.
        question: A doubt that a second Enter overrules.
        error: Why the last key was refused.
        hint: A remark about the last key.
        bell: The target or the end was reached by the last key or tick.
        rang_at: When that was.
        kept: The finished trial, once it was kept or struck out (`Trial.void`). The screen adds it
            to the session, with the date and time, and goes on with `again`.
    """

    spec: TestSpec
    side: Side | None
    labels: tuple[tuple[str, str], ...]
    series: Series
    count_in: float
    made: Made
    entry: Entry
    set_up: Noted = field(default_factory=dict)
    history: tuple[Made, ...] = ()
    ring: KeyRing = field(default_factory=KeyRing)
    watch: TrustWatch = field(default_factory=TrustWatch)
    clocks: tuple[datetime, float] | None = None
    prompt: Prompt = ""
    question: str = ""
    error: str = ""
    hint: str = ""
    bell: bool = False
    rang_at: float | None = None
    kept: Trial | None = None

    @classmethod
    def at(
        cls,
        spec: TestSpec,
        side: Side | None,
        labels: Mapping[str, str],
        trials_before: tuple[Trial, ...] = (),
        cue: str = "",
        *,
        count_in: float = 0.0,
        ring: KeyRing | None = None,
        set_up: Noted | None = None,
    ) -> Desk:
        """Give a trial that is ready.

        Args:
            spec: The test.
            side: The leg, None for a two-legged test.
            labels: Sign id to label; a sign that is missing there is shown by its id.
            trials_before: Trials of the session so far; those of other tests are left out.
            cue: The id of the cue when this is a cued repeat.
            count_in: Seconds counted down between the start key and the start; 0 for none.
            ring: The gates of the trial before, so that a key still held down does not act here.
            set_up: What was noted on the set-up so far.
        """
        series = Series.of(spec, side, cue, trials_before)
        steps = series.steps
        fields = spec.timer.numbers
        return cls(
            spec=spec,
            side=side,
            labels=tuple((sign, labels.get(sign, sign)) for sign in spec.signs),
            series=series,
            count_in=count_in,
            made=Made(
                spec.timer.timer(steps), spec.timer.clocked, direction=series.direction, steps=steps
            ),
            entry=Entry.of(fields, with_signs=bool(fields and spec.signs)),
            ring=ring or KeyRing(),
            set_up=set_up or {},
        )

    def again(self) -> Desk:
        """Give the next trial of the same test, after this one was kept."""
        before = self.series.trials if self.kept is None else (*self.series.trials, self.kept)
        return Desk.at(
            self.spec,
            self.side,
            dict(self.labels),
            before,
            self.series.cue,
            count_in=self.count_in,
            ring=self.ring,
            set_up=self.set_up,
        )

    def with_set_up(self, noted: Noted) -> Desk:
        """Give the same trial with another set-up noted; nothing else on the desk changes."""
        return replace(self, set_up=noted)

    def with_words(self, words: str) -> Desk:
        """Give the same trial with words added to its note."""
        return with_words(self, words)

    def with_value(self, typed: str, reason: str) -> Desk:
        """Give the same trial with another value, as it was typed, and why it is corrected."""
        return with_value(self, typed, reason)

    @property
    def undoable(self) -> bool:
        """Whether Backspace has something to take back."""
        waiting = self.ring.space_waits or bool(self.prompt) or bool(self.entry.text)
        return self.kept is None and (waiting or bool(self.history))

    @property
    def busy(self) -> bool:
        """Whether a trial is counting in, running or asking: the screen must not be left now."""
        made = self.made
        return self.kept is None and (
            made.counting_in or made.running or made.asking or self.in_doubt
        )

    @property
    def in_doubt(self) -> bool:
        """Whether it has to be said whether the value is right: the computer stood still."""
        return in_doubt(self)

    @property
    def unsaved(self) -> bool:
        """Whether anything was entered that is not kept yet; the flight of stairs aside."""
        return self.kept is None and (self.made.begun or self.entry.touched)

    @property
    def series_complete(self) -> bool:
        """Whether the trials that count, with the kept one, make a full series."""
        return self.series.with_kept(self.kept).complete

    @property
    def ended(self) -> bool:
        """Whether Enter would keep the trial, as far as the timer is concerned."""
        return self.made.timer.over and not self.in_doubt

    @property
    def stopped_without_reason(self) -> bool:
        """Whether it was stopped early and nobody has said why, so that it cannot be kept yet."""
        made = self.made
        excused = made.ended or made.fixed or HANDS_USED in made.signs
        return self.ended and made.incomplete and not excused

    def key(
        self,
        key: str,
        character: str | None,
        t: float,
        handled_at: float,
        wall: datetime | None = None,
    ) -> Desk:
        """Take a key press; a key without a meaning here changes nothing.

        Args:
            key: Its name.
            character: Its character, or None.
            t: Its stamp, in monotonic seconds.
            handled_at: Monotonic seconds at which it is handled.
            wall: The date and time then, to notice that the computer slept.
        """
        action = action_key(key, character)
        if self.kept is not None:
            return self
        edited = self._edit(action)
        if edited is not None:
            return replace(edited, bell=False, error="", hint="", question="")
        if action not in ACTIONS:
            return replace(self, bell=False)
        # Before the key acts: it may be the last thing there is of the trial.
        ring, passed = self.ring.press(action, t)
        desk = watched(replace(self, ring=ring, bell=False), handled_at, wall)._act_all(passed)
        if self.made.running or desk.made.running:
            desk = replace(desk, watch=desk.watch.press(t, handled_at))
        return rung(self, desk, t)

    def before(self, key: str, character: str | None) -> Desk:
        """Let what waits at its gate come before a key that is taken as it comes.

        Whoever types has let go of the key before, so it was a press. It may have kept the trial:
        then what is typed is for the next one.
        """
        if self.kept is not None or self._edit(action_key(key, character)) is None:
            return self
        ring, passed = self.ring.flush()
        return replace(self, ring=ring)._act_all(passed) if passed else self

    def settled(self) -> Desk:
        """Let a key other than Space that waits come at once: one follows that is no trial's."""
        ring, passed = self.ring.flush_other()
        return replace(self, ring=ring)._act_all(passed) if passed else self

    def tick(self, now: float, wall: datetime | None = None) -> Desk:
        """Let time pass: keys held back come through, deadlines close; 10 times a second.

        Args:
            now: Monotonic seconds.
            wall: The date and time with its offset, to notice that the computer slept.
        """
        if self.kept is not None:
            return self
        ring, passed = self.ring.poll(now)
        desk = watched(replace(self, ring=ring, bell=False), now, wall)._act_all(passed)
        if desk.kept is not None:
            return desk
        desk = fresh_watch(desk, replace(desk, made=desk.made.started_if_due(now)))
        desk = replace(desk, made=desk.made.with_timer(desk.made.timer.tick(now)))
        return rung(self, desk, now)

    def saw(self, key: str, t: float) -> Desk:
        """Note a press that was used elsewhere, so that the key does not act here while held."""
        return replace(self, ring=self.ring.saw(key, t))

    def blur(self) -> Desk:
        """Note that the terminal lost the keyboard."""
        timing = self.busy and not self.in_doubt
        return replace(self, watch=self.watch.blur()) if timing else self

    def struck_out(self, reason: str, t: float) -> Desk:
        """Strike out what was begun, for a reason from outside: the screen is left or stopped.

        Keys that wait at their gate come through first, so that nothing pressed is lost.

        Args:
            reason: Why, in words; it stands in the record.
            t: Monotonic seconds; a running trial is stopped there.

        Returns:
            The desk with `kept`, or as it was when nothing was begun.
        """
        ring, passed = self.ring.flush()
        return strike_at(replace(self, ring=ring)._act_all(passed), reason, t)

    def kept_now(self, t: float) -> Desk:
        """Keep an ended trial as Enter does, without the wait of a key at its gate.

        Args:
            t: Monotonic seconds.

        Returns:
            The desk with `kept`, or with the reason why it cannot be kept yet.
        """
        ring, passed = self.ring.flush()
        desk = replace(self, ring=ring)._act_all(passed)
        return desk if desk.kept is not None else act(desk, "enter", t)

    def view(self, now: float) -> DeskView:
        """Give what there is to draw at `now`."""
        return draw(self, now)

    def _edit(self, action: str) -> Desk | None:
        """Take a key that is not gated; None when it is not such a key now."""
        if self.entry.fields:
            if action in _MOVES:
                return replace(self, entry=self.entry.go(_MOVES[action]), prompt="")
            if self.entry.on_field and not self.prompt:
                if action in TYPED:
                    return replace(self, entry=self.entry.type(action))
                if action == "backspace" and self.entry.text:
                    return replace(self, entry=self.entry.take_back())
        flight = self.made.steps is not None and self.made.phase is Phase.READY
        if flight and not self.prompt and action in ("+", "-"):
            return with_steps(self, 1 if action == "+" else -1)
        return None

    def _act_all(self, passed: Passed) -> Desk:
        desk = self
        for name, t in passed:
            if desk.kept is None:
                due = replace(desk, made=desk.made.started_if_due(t))
                desk = act(fresh_watch(desk, due), name, t)
        return desk
