"""The keys of the Test screen, each let through once per press however long it is held.

Space keeps a gate of its own, since it times. The other keys share one: whoever presses another
key has let go of the repeat of the first, on every keyboard, so only the last one needs watching.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from screen_tui.timing import KeyGate

Passed = tuple[tuple[str, float], ...]
"""Keys let through, each with the time at which it was pressed."""


@dataclass(frozen=True, slots=True)
class KeyRing:
    """The gates, with the key the second of them is about at present."""

    space: KeyGate = field(default_factory=KeyGate)
    other: str = ""
    other_gate: KeyGate = field(default_factory=KeyGate)

    def press(self, name: str, t: float) -> tuple[KeyRing, Passed]:
        """Take an event of a key; give the ring afterwards and what comes through, in order.

        A press of the other key that was held back comes through first, so that the order of what
        was done is kept. Before Enter, so does one of Space: Enter may be the last key there is.
        """
        if name == "space":
            ring, earlier = self.flush_other()
            space, stamps = ring.space.press(t)
            return replace(ring, space=space), (*earlier, *(("space", at) for at in stamps))
        if name == self.other:
            gate, stamps = self.other_gate.press(t)
            return replace(self, other_gate=gate), tuple((name, at) for at in stamps)
        ring, earlier = self.flush_other()
        if name == "enter":
            space, stamps = ring.space.flush()
            ring = replace(ring, space=space)
            earlier = (*earlier, *(("space", at) for at in stamps))
        gate, stamps = KeyGate().press(t)
        passed = (*earlier, *((name, at) for at in stamps))
        return replace(ring, other=name, other_gate=gate), passed

    def saw(self, name: str, t: float) -> KeyRing:
        """Take an event of a key that was used elsewhere: it acts here neither now nor later."""
        ring, _ = self.press(name, t)
        if name == "space":
            return ring.without_waiting_space()
        return replace(ring, other_gate=replace(ring.other_gate, candidate=None))

    def poll(self, now: float) -> tuple[KeyRing, Passed]:
        """Let through what has been silent long enough, oldest first."""
        space, stamps = self.space.poll(now)
        gate, others = self.other_gate.poll(now)
        passed = [*(("space", at) for at in stamps), *((self.other, at) for at in others)]
        passed.sort(key=lambda each: each[1])
        return replace(self, space=space, other_gate=gate), tuple(passed)

    def flush(self) -> tuple[KeyRing, Passed]:
        """Let through at once whatever is held back, oldest first: no more keys are awaited."""
        ring, others = self.flush_other()
        space, stamps = ring.space.flush()
        passed = [*(("space", at) for at in stamps), *others]
        passed.sort(key=lambda each: each[1])
        return replace(ring, space=space), tuple(passed)

    @property
    def space_waits(self) -> bool:
        """Whether a press of Space is held back until it is known whether the key is held."""
        return self.space.candidate is not None

    def without_waiting_space(self) -> KeyRing:
        """Forget the press of Space that waits: it was taken back."""
        return replace(self, space=replace(self.space, candidate=None))

    def holding(self, now: float) -> bool:
        """Whether a held key is being ignored."""
        return self.space.holding(now) or self.other_gate.holding(now)

    def flush_other(self) -> tuple[KeyRing, Passed]:
        """Let through at once a key other than Space that is held back: another one follows."""
        _, stamps = self.other_gate.flush()
        return (
            replace(self, other="", other_gate=KeyGate()),
            tuple((self.other, at) for at in stamps),
        )
