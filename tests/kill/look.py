"""What a person sees on the screen, read from its text."""

from __future__ import annotations

import re
from dataclasses import dataclass

from screen_tui.fields import Side
from screen_tui.protocol.knowledge import Sign
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.protocol.tests import TestSpec

STATES = (
    "READY",
    "COUNT-IN",
    "RUNNING",
    "FULL TIME",
    "DONE",
    "REST",
    "ASKING",
    "STOPPED",
    "TYPE NUMBERS",
    "SIGNS",
    "WATCH",
)
BEGUN = ("COUNT-IN", "RUNNING", "FULL TIME", "DONE", "ASKING", "STOPPED")
"""States in which something was done that is not kept yet."""
HAVE_ENDED = ("FULL TIME", "DONE", "STOPPED")

_STATE = re.compile("|".join(STATES))
_SIDE: dict[str, Side] = {"LEFT LEG": "left", "RIGHT LEG": "right"}
_FIELD = re.compile(r"(Passive|Active), degrees short of straight: (-?[0-9.]+)")
# A part of a line of its own; safety rules name pain scores too.
_PAIN = re.compile(r"(?:^ |· )pain (\d+) of 10\s*(?:·|$)", re.MULTILINE)
_NOTE = re.compile(r"comment: (\w+)")
# A full stop ends the sentence only before a blank, so that 2.1 s does not.
_SAID = re.compile(r"\b(Saved|Void|Skipped): (.+?\.)(?=\s|$)")
_AMENDED = re.compile(r"\bComment added\.(?=\s|$)")


@dataclass(frozen=True)
class ShownTrial:
    """A trial on the screen of its test.

    Attributes:
        test: The id of the test.
        side: The leg, None for a test of both.
        state: One of `STATES`.
        signs: Ids of the signs marked.
        pain: The pain score that is shown, or None.
        note: The words of a note that are shown, or "".
        typed: Degrees as far as they are typed, by the name of their field.
    """

    test: str
    side: Side | None
    state: str
    signs: frozenset[str]
    pain: int | None
    note: str
    typed: tuple[tuple[str, str], ...]

    @property
    def begun(self) -> bool:
        """Whether there is something on the screen that is not kept yet."""
        noted = self.signs or self.note or self.typed or self.pain is not None
        return bool(noted) or self.state in BEGUN


@dataclass(frozen=True)
class Look:
    """The screen at one moment.

    Attributes:
        text: All of it.
        words: The same with all white space made one blank.
        said: Sentences about what was kept, struck out, skipped or noted.
        shown: The trial, where the screen is that of a test.
    """

    text: str
    words: str
    said: frozenset[str]
    shown: ShownTrial | None

    @property
    def head(self) -> str:
        """The first line."""
        return self.text.partition("\n")[0].strip()


def look_at(text: str, protocol: ScreenProtocol) -> Look:
    """Read a screen."""
    # What the emulator makes of the sequence with which the program takes leave of the keyboard.
    text = re.sub(r"^u(?=[A-Z0-9 ])", " ", text)
    words = " ".join(text.split())
    said = {f"{kind}: {what}" for kind, what in _SAID.findall(words)}
    if _AMENDED.search(words):
        said.add("Comment added.")
    return Look(text, words, frozenset(said), _shown_trial(text, words, protocol))


def spec_at(head: str, protocol: ScreenProtocol) -> TestSpec | None:
    """The test whose name stands at the head of a screen; None for any other screen."""
    by_length = sorted(protocol.tests, key=lambda one: -len(one.name))
    return next(
        (one for one in by_length if head.startswith((one.name, f"{one.short_name}  "))), None
    )


def _marked(sign: Sign, body: str) -> bool:
    """Whether a sign stands beside its digit in capitals; the end of a long label may be cut."""
    return re.search(rf"^.* {sign.digit} {sign.label[:4].upper()}", body, re.MULTILINE) is not None


def _shown_trial(text: str, words: str, protocol: ScreenProtocol) -> ShownTrial | None:
    first, _, body = text.partition("\n")
    spec = spec_at(first.strip(), protocol)
    state = _STATE.search(body.partition("\n")[0])
    if spec is None or state is None:
        return None
    second = body.partition("\n")[0]
    pain, note = _PAIN.search(body), _NOTE.search(words)
    return ShownTrial(
        test=spec.id,
        side=next((side for word, side in _SIDE.items() if word in second), None),
        state=state.group(),
        signs=frozenset(sign.id for sign in map(protocol.sign, spec.signs) if _marked(sign, body)),
        pain=int(pain.group(1)) if pain else None,
        note=note.group(1) if note else "",
        typed=tuple(_FIELD.findall(body)),
    )
