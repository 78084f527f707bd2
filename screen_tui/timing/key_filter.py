"""Tell a key pressed from a key held.

A terminal reports no key release. A key held down looks like a press, a pause, and then a fast
train of presses; counted as they come, one long press would be thirty repetitions. The filter lets
one press through per hold, each with the time at which the key was really pressed.

How it decides, from the gap between an event and the event before it:

* longer than any keyboard waits before repeating: surely a new press, let through at once;
* too long for a train but not for that first wait: perhaps the first repeat of a held key. It waits
  as a candidate, and goes through with its own time once the key has stayed silent for a moment;
* shorter: part of a train, or a contact that bounces. Swallowed, and a waiting candidate with it.

What it cannot see: a train slower than `repeat_gap` passes as presses; a hold just long enough for
exactly one repeat looks like two presses; a key whose contact bounces loses presses that follow
within `first_delay` of one another. The smallest plausible repetition of a test and undo stand
behind it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

Passed = tuple[tuple[str, float], ...]
"""Keys let through, each with the time at which it was pressed."""

# One swallowed event is a contact that bounced; a held key gives more.
_EVENTS_OF_A_TRAIN = 2


@dataclass(frozen=True, slots=True)
class OneKey:
    """The filter of one key. Times are seconds of one monotonic clock.

    Attributes:
        repeat_gap: Events closer together than this are the train of a held key.
        first_delay: The longest time a keyboard waits before the first repeat.
        last_seen: Time of the last event of the key, let through or not.
        candidate: Time of a press that still waits for silence.
        swallowed: Events swallowed in the train that is going on.

    Raises:
        ValueError: If not 0 < repeat_gap <= first_delay.
    """

    repeat_gap: float = 0.12
    first_delay: float = 1.2
    last_seen: float | None = None
    candidate: float | None = None
    swallowed: int = 0

    def __post_init__(self) -> None:
        if not 0 < self.repeat_gap <= self.first_delay:
            raise ValueError(
                f"a filter needs 0 < repeat_gap <= first_delay, "
                f"not {self.repeat_gap} and {self.first_delay}"
            )

    def press(self, t: float) -> tuple[OneKey, tuple[float, ...]]:
        """Take an event of the key.

        Args:
            t: The stamp of the event. One earlier than the event before it is taken as
                simultaneous with that one, and so is swallowed.

        Returns:
            The filter afterwards, and the times of the presses this let through, oldest first: a
            candidate whose silence had passed unnoticed comes before the press at `t`.
        """
        if self.last_seen is None:
            return replace(self, last_seen=t), (t,)
        gap = max(t - self.last_seen, 0.0)
        if gap < self.repeat_gap:
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
        if gap > self.first_delay:
            return seen, (*earlier, t)
        return replace(seen, candidate=t), earlier

    def poll(self, now: float) -> tuple[OneKey, tuple[float, ...]]:
        """Let a waiting candidate through when the key has been silent long enough.

        Every event stamped before `now` must have been handed to `press` first, or a held key may
        pass as a press. Poll before a timer is told the same `now`, so that a press
        shortly before a deadline reaches the timer before the deadline closes it.

        Args:
            now: The present.

        Returns:
            The filter afterwards, and the time of the candidate, or nothing.
        """
        if self.candidate is None or now - self.candidate < self.repeat_gap:
            return self, ()
        return self.flush()

    def flush(self) -> tuple[OneKey, tuple[float, ...]]:
        """Let a waiting candidate through at once, because no more events are to come.

        Returns:
            The filter afterwards, and the time of the candidate, or nothing.
        """
        if self.candidate is None:
            return self, ()
        return replace(self, candidate=None), (self.candidate,)

    def holding(self, now: float) -> bool:
        """Tell whether a held key is being swallowed, so that the screen can say so.

        Args:
            now: The present.
        """
        return (
            self.last_seen is not None
            and self.swallowed >= _EVENTS_OF_A_TRAIN
            and now - self.last_seen < self.repeat_gap
        )


@dataclass(frozen=True, slots=True)
class KeyFilter:
    """The keys of the Test screen, each let through once per press however long it is held.

    Space has a filter of its own, since it times. The other keys share one: whoever presses another
    key has let go of the repeat of the first, on every keyboard, so only the last needs watching.

    Attributes:
        space: The filter of Space.
        other: The key that `other_filter` is about at present.
        other_filter: The filter of the last other key.
    """

    space: OneKey = field(default_factory=OneKey)
    other: str = ""
    other_filter: OneKey = field(default_factory=OneKey)

    def press(self, name: str, t: float) -> tuple[KeyFilter, Passed]:
        """Take an event of a key; give the filter afterwards and what comes through, in order.

        A press of the other key that was held back comes through first, so that the order of what
        was done is kept. Before Enter, so does one of Space: Enter may be the last key there is.
        """
        if name == "space":
            after, earlier = self.flush_other()
            space, stamps = after.space.press(t)
            return replace(after, space=space), (*earlier, *(("space", at) for at in stamps))
        if name == self.other:
            one, stamps = self.other_filter.press(t)
            return replace(self, other_filter=one), tuple((name, at) for at in stamps)
        after, earlier = self.flush_other()
        if name == "enter":
            space, stamps = after.space.flush()
            after = replace(after, space=space)
            earlier = (*earlier, *(("space", at) for at in stamps))
        one, stamps = OneKey().press(t)
        passed = (*earlier, *((name, at) for at in stamps))
        return replace(after, other=name, other_filter=one), passed

    def saw(self, name: str, t: float) -> KeyFilter:
        """Take an event of a key that was used elsewhere: it acts here neither now nor later."""
        after, _ = self.press(name, t)
        if name == "space":
            return after.without_waiting_space()
        return replace(after, other_filter=replace(after.other_filter, candidate=None))

    def poll(self, now: float) -> tuple[KeyFilter, Passed]:
        """Let through what has been silent long enough, oldest first."""
        space, stamps = self.space.poll(now)
        one, others = self.other_filter.poll(now)
        passed = [*(("space", at) for at in stamps), *((self.other, at) for at in others)]
        passed.sort(key=lambda each: each[1])
        return replace(self, space=space, other_filter=one), tuple(passed)

    def flush(self) -> tuple[KeyFilter, Passed]:
        """Let through at once whatever is held back, oldest first: no more keys are awaited."""
        after, others = self.flush_other()
        space, stamps = after.space.flush()
        passed = [*(("space", at) for at in stamps), *others]
        passed.sort(key=lambda each: each[1])
        return replace(after, space=space), tuple(passed)

    @property
    def space_waits(self) -> bool:
        """Whether a press of Space is held back until it is known whether the key is held."""
        return self.space.candidate is not None

    def without_waiting_space(self) -> KeyFilter:
        """Forget the press of Space that waits: it was taken back."""
        return replace(self, space=replace(self.space, candidate=None))

    def holding(self, now: float) -> bool:
        """Whether a held key is being ignored."""
        return self.space.holding(now) or self.other_filter.holding(now)

    def flush_other(self) -> tuple[KeyFilter, Passed]:
        """Let through at once a key other than Space that is held back: another one follows."""
        _, stamps = self.other_filter.flush()
        return (
            replace(self, other="", other_filter=OneKey()),
            tuple((self.other, at) for at in stamps),
        )
