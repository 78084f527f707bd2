"""Tell a key pressed from a key held.

A terminal reports no key release. A key held down looks like a press, a pause, and then a fast
train of presses; counted as they come, one long press would be thirty repetitions. The gate lets
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

from dataclasses import dataclass, replace

# One swallowed event is a contact that bounced; a held key gives more.
_EVENTS_OF_A_TRAIN = 2


@dataclass(frozen=True, slots=True)
class KeyGate:
    """The gate of one key. Times are seconds of one monotonic clock.

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
                f"a gate needs 0 < repeat_gap <= first_delay, "
                f"not {self.repeat_gap} and {self.first_delay}"
            )

    def press(self, t: float) -> "tuple[KeyGate, tuple[float, ...]]":
        """Take an event of the key.

        Args:
            t: The stamp of the event. One earlier than the event before it is taken as
                simultaneous with that one, and so is swallowed.

        Returns:
            The gate afterwards, and the times of the presses this let through, oldest first: a
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

    def poll(self, now: float) -> "tuple[KeyGate, tuple[float, ...]]":
        """Let a waiting candidate through when the key has been silent long enough.

        Every event stamped before `now` must have been handed to `press` first, or a held key may
        pass as a press. Poll the gate before a timer is told the same `now`, so that a press
        shortly before a deadline reaches the timer before the deadline closes it.

        Args:
            now: The present.

        Returns:
            The gate afterwards, and the time of the candidate, or nothing.
        """
        if self.candidate is None or now - self.candidate < self.repeat_gap:
            return self, ()
        return self.flush()

    def flush(self) -> "tuple[KeyGate, tuple[float, ...]]":
        """Let a waiting candidate through at once, because no more events are to come.

        Returns:
            The gate afterwards, and the time of the candidate, or nothing.
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
