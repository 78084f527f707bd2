"""Hands on the keys of the installed command, until it is ended at a random instant."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
import time
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Literal, Self

from kill.ledger import Ledger
from kill.look import Look
from support.terminal import KEYS, PATIENCE_S, Terminal

COMMAND = Path(sys.executable).parent / "screen-tui"
CLOSED = "closed terminal"
"""The one way to end that is no signal: the window is closed."""
SIZE = (80, 24)
_LOOK_S = 0.0001
"""Between two looks for the temporary file of a write, which lasts some milliseconds."""
A_HAND_S = 0.2
"""Between two presses of the same key, longer than the gate of the keys waits for silence."""


class EndedError(Exception):
    """The program was ended, as it was meant to be."""


Mark = Literal["start", "first screen", "key", "write"]


@dataclass(frozen=True)
class Instant:
    """When the program is ended.

    Attributes:
        mark: What it is counted from: the start of the program, its first screen, a key, or the
            moment at which a write was seen to begin.
        number: The number of that key or write.
        delay_s: Seconds from there.
    """

    mark: Mark
    number: int
    delay_s: float

    def __str__(self) -> str:
        number = f" {self.number}" if self.number else ""
        return f"{self.mark}{number} + {self.delay_s * 1000:.1f} ms"


class Hand(Terminal):
    """A terminal whose program is ended at an instant, and whose screen is taken down in a ledger.

    Args:
        home: Where the program keeps its data.
        ledger: Takes all looks.
        rng: Decides how fast the keys come.
        way: The name of a signal, or `CLOSED`.
        instant: When; None for never.
    """

    def __init__(
        self, home: Path, ledger: Ledger, rng: Random, way: str, instant: Instant | None
    ) -> None:
        self.ledger = ledger
        self.rng = rng
        self.way = way
        self.instant = instant
        self.keys = 0
        self._sent: dict[str, float] = {}
        self.fired = threading.Event()
        self._once = threading.Lock()
        self._waiting: list[threading.Thread] = []
        self.look = Look("", "", frozenset(), None)
        super().__init__(COMMAND, home=home, size=SIZE)
        self._pid: int = self.child.pid
        self._arm("start")
        if instant is not None and instant.mark == "write":
            self._start(threading.Thread(target=self._end_at_write, args=(home, instant)))

    def __enter__(self) -> Self:
        """Give the hand itself."""
        return self

    def _arm(self, mark: Mark, number: int = 0) -> None:
        instant = self.instant
        if instant is not None and (instant.mark, instant.number) == (mark, number):
            self._start(threading.Timer(instant.delay_s, self._end))

    def _start(self, waiting: threading.Thread) -> None:
        # A thread of its own, so that reading and emulating the screen move nothing.
        waiting.daemon = True
        waiting.start()
        self._waiting.append(waiting)

    def _end(self) -> None:
        with self._once:
            if self.fired.is_set():
                return
            self.fired.set()
            if self.way != CLOSED and not self.child.terminated:
                os.kill(self._pid, signal.Signals[self.way])

    def _end_at_write(self, home: Path, instant: Instant) -> None:
        """Watch for temporary files, which are there for a moment in each write."""
        before = set(home.rglob("*.tmp"))
        seen: set[Path] = set()
        while not self.fired.is_set():
            for folder in ("sessions", "sessions/notes"):
                with contextlib.suppress(OSError):
                    seen.update(
                        home / folder / name
                        for name in os.listdir(home / folder)  # noqa: PTH208 (the fastest there is)
                        if name.endswith(".tmp")
                    )
            if len(seen - before) >= instant.number:
                time.sleep(instant.delay_s)
                self._end()
            time.sleep(_LOOK_S)

    def give_up(self) -> None:
        """End the program now; what waits for another instant need not wait any longer."""
        self.fired.set()
        self.child.kill(signal.SIGKILL)

    def ready(self) -> None:
        """Say that the first screen is there."""
        self._arm("first screen")

    def drain(self, seconds: float = 0.05) -> None:
        """Read on.

        Raises:
            EndedError: The program was ended meanwhile.
        """
        super().drain(seconds)
        self.look = self.ledger.take(self.text)
        if self.fired.is_set():
            self._take_the_rest()
            raise EndedError
        if self.instant is not None:
            assert not self.child.flag_eof, f"the program ended by itself:\n{self.text}"

    def _take_the_rest(self) -> None:
        """Read what had been drawn before the end."""
        if self.way == CLOSED:
            self.child.ptyproc.fileobj.close()
            return
        until = time.monotonic() + PATIENCE_S
        while not self.child.flag_eof:
            assert time.monotonic() < until, f"the program did not end:\n{self.text}"
            super().drain(0.02)
            self.look = self.ledger.take(self.text)

    def wait_for_any(self, *wanted: str) -> None:
        """Read until one of the texts is on the screen, line breaks aside."""
        self.wait_until(
            lambda: any(text in self.look.words for text in wanted), " or ".join(wanted)
        )

    def press(self, *keys: str) -> None:
        """Press keys one after the other, as fast as hands do."""
        for key in keys:
            character = KEYS.get(key, key)
            # Sooner, the same key would be taken for one that is held down.
            silence = time.monotonic() - self._sent.get(character, float("-inf"))
            if not self.on_questions and silence < A_HAND_S:
                self.drain(A_HAND_S - silence)
            self._sent[character] = time.monotonic()
            if self.ledger.form is not None and self.on_questions:
                self.ledger.form.press(character)
            self.child.send(character)
            self.keys += 1
            self._arm("key", self.keys)
            self.drain(self.rng.uniform(0.01, 0.07))

    @property
    def on_questions(self) -> bool:
        """Whether the keys go to the questions before testing."""
        return self.look.head.startswith("Before testing")

    def rest_until_ended(self) -> None:
        """Do nothing more; end the program here when its instant would never come."""
        if self.instant is not None and self.instant.mark in ("key", "write"):
            self._start(threading.Timer(self.instant.delay_s, self._end))
        while self.instant is not None:
            self.drain(0.05)

    def ending(self) -> str:
        """How the program ended: ``0``, another exit code, or the name of a signal.

        Raises:
            AssertionError: It lives on.
        """
        # Whoever still watches for the instant need not any more.
        self.fired.set()
        for waiting in self._waiting:
            waiting.join()
        return super().ending()
