"""Tell a key pressed from a key held.

A terminal reports no key release. A key held down looks like a press, a pause, and then a fast
train of presses; counted as they come, one long press would be thirty repetitions. The filter lets
one press through per hold, each with the time at which the key was really pressed.

How it decides, from the gap between an event and the event before it:

* longer than any keyboard waits before repeating: surely a new press, let through at once;
* too long for a train but not for that first wait: perhaps the first repeat of a held key. It waits
  as a candidate, and goes through with its own time once the key has stayed silent for a moment;
* shorter: part of a train, or a contact that bounces. Swallowed, and a waiting candidate with it.

What it cannot see: a train slower than `REPEAT_GAP_S` passes as presses; a hold just long enough
for exactly one repeat looks like two presses; a key whose contact bounces loses presses that follow
within `FIRST_DELAY_S` of one another. The smallest plausible repetition of a test and undo are
behind it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

Passed = tuple[tuple[str, float], ...]
"""Keys let through, each with the time at which it was pressed."""

REPEAT_GAP_S = 0.12
"""Events closer together than this are the train of a held key."""
FIRST_DELAY_S = 1.2
"""The longest time a keyboard waits before the first repeat."""
# One swallowed event is a contact that bounced; a held key gives more.
_EVENTS_OF_A_TRAIN = 2


@dataclass(frozen=True, slots=True)
class OneKey:
    """The filter of one key. Times are seconds of one monotonic clock.

    Attributes:
        candidate: Time of a press that still waits for silence.
        swallowed: Events swallowed in the train that is going on.
    """

    last_seen: float | None = None
    candidate: float | None = None
    swallowed: int = 0

    def press(self, t: float) -> tuple[OneKey, tuple[float, ...]]:
        """Take an event; give the filter afterwards and the presses let through, oldest first.

        A candidate whose silence had passed unnoticed comes before the press at `t`. An event
        earlier than the one before it is taken as simultaneous with that one, and swallowed.
        """
        if self.last_seen is None:
            return replace(self, last_seen=t), (t,)
        gap = max(t - self.last_seen, 0.0)
        if gap < REPEAT_GAP_S:
            more = 1 if self.candidate is None else 2
            swallowing = replace(
                self,
                last_seen=max(t, self.last_seen),
                candidate=None,
                swallowed=self.swallowed + more,
            )
            return swallowing, ()
        earlier = () if self.candidate is None else (self.candidate,)
        seen = replace(self, last_seen=t, candidate=None, swallowed=0)
        if gap > FIRST_DELAY_S:
            return seen, (*earlier, t)
        return replace(seen, candidate=t), earlier

    def poll(self, now: float) -> tuple[OneKey, tuple[float, ...]]:
        """Let a waiting candidate through when the key has been silent long enough.

        Every event stamped before `now` must have been handed to `press` first, or a held key may
        pass as a press. Poll before a timer is given the same `now`, so that a press
        shortly before a deadline reaches the timer before the deadline closes it.
        """
        if self.candidate is None or now - self.candidate < REPEAT_GAP_S:
            return self, ()
        return self.flush()

    def flush(self) -> tuple[OneKey, tuple[float, ...]]:
        """Let a waiting candidate through at once, because no more events are to come."""
        if self.candidate is None:
            return self, ()
        return replace(self, candidate=None), (self.candidate,)

    def seen(self, t: float) -> OneKey:
        """Take an event that was used at once: it does nothing later, nor do those of a held key.

        A candidate whose silence had passed unnoticed still waits.
        """
        after, passed = self.press(t)
        waits = self.candidate is not None and self.candidate in passed
        return replace(after, candidate=self.candidate if waits else None)

    def holding(self, now: float) -> bool:
        return (
            self.last_seen is not None
            and self.swallowed >= _EVENTS_OF_A_TRAIN
            and now - self.last_seen < REPEAT_GAP_S
        )


@dataclass(frozen=True, slots=True)
class KeyFilter:
    """All keys of the program, each let through once per press however long it is held.

    The key that times has a filter of its own. The others share one: whoever presses another key
    has let go of the repeat of the first, on every keyboard, so only the last needs watching.

    Attributes:
        closing_key: The key that may be the last of a trial; what waits comes before it.
    """

    time_key: str = "space"
    closing_key: str = "enter"
    time: OneKey = field(default_factory=OneKey)
    other_key: str = ""
    other: OneKey = field(default_factory=OneKey)

    def before(self, key: str, *, typed: bool = False) -> tuple[KeyFilter, Passed]:
        """Let through what waits and was pressed before a key, so that presses stay in order.

        A key that is ``typed`` acts however often it comes: all others have been let go.
        """
        if key == self.other_key and not typed:
            return self, ()
        time = self.time.flush() if typed or key == self.closing_key else (self.time, ())
        after, passed = self._both(time, self.other.flush())
        return replace(after, other_key="", other=OneKey()), passed

    def press(self, key: str, t: float) -> tuple[KeyFilter, Passed]:
        """Take an event of a key; give the filter afterwards and the presses it let through."""
        after, stamps = self._of(key).press(t)
        return self._with(key, after), tuple((key, at) for at in stamps)

    def seen(self, key: str, t: float) -> KeyFilter:
        """Take an event that was used at once; held on, the key does nothing more."""
        after = self if key == self.other_key else replace(self, other_key="", other=OneKey())
        return after._with(key, after._of(key).seen(t))

    def anew(self, key: str) -> KeyFilter:
        """Let the next event of a key be a press: it stands for the one that was used."""
        return self._with(key, OneKey())

    def poll(self, now: float) -> tuple[KeyFilter, Passed]:
        """Let through what has been silent long enough, oldest first."""
        return self._both(self.time.poll(now), self.other.poll(now))

    def flush(self) -> tuple[KeyFilter, Passed]:
        """Let through at once whatever waits, oldest first: no more keys are awaited."""
        return self._both(self.time.flush(), self.other.flush())

    @property
    def time_waits(self) -> bool:
        """Whether a press of the key that times waits until it is known whether it is held."""
        return self.time.candidate is not None

    def without_waiting(self) -> KeyFilter:
        """Forget what waits: it was taken back, or there is nothing any more that it could do."""
        time, other = (replace(one, candidate=None) for one in (self.time, self.other))
        return replace(self, time=time, other=other)

    def holding(self, now: float) -> bool:
        return self.time.holding(now) or self.other.holding(now)

    def _of(self, key: str) -> OneKey:
        if key == self.time_key:
            return self.time
        return self.other if key == self.other_key else OneKey()

    def _with(self, key: str, one: OneKey) -> KeyFilter:
        if key == self.time_key:
            return replace(self, time=one)
        return replace(self, other_key=key, other=one)

    def _both(
        self, time: tuple[OneKey, tuple[float, ...]], other: tuple[OneKey, tuple[float, ...]]
    ) -> tuple[KeyFilter, Passed]:
        passed = [(self.time_key, at) for at in time[1]] + [(self.other_key, at) for at in other[1]]
        passed.sort(key=lambda each: each[1])
        return replace(self, time=time[0], other=other[0]), tuple(passed)
