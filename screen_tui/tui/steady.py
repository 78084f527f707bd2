"""Keeping the moment of a key press exact: nothing of our own may hold up who reads the keys.

A key is stamped in a thread of its own as it is read, and that thread has to wait while another one
holds the interpreter or the core. Three things held it for long, measured on two cores with Python
3.11:

- A full garbage collection cannot be interrupted. Over all that is loaded once the program is open
  it takes 66 to 85 ms. What is left of that after one collection stays as long as the program is
  open, so it is set aside; then it takes 0.1 to 2 ms.
- The system lets a thread that has a core go on for up to 4 ms before another that wakes. Where one
  core was busy otherwise, who draws held up who reads; now it steps back. Of 120 holds, 17 to 19
  had a key that waited for a core, and now 8 or 9 have; the p99 of the error was 0.2 to 2.1 ms and
  is 0.6 to 0.9.
- The interpreter passes from one thread to another 5 ms after it is asked to, and a redraw of a
  running clock, ten times a second, takes about 4 ms. Beside a thread that never rests a key waited
  5.2 ms in the median; now it waits 0.3 ms.

This module imports nothing heavy: it is at work before the framework is.
"""

from __future__ import annotations

import gc
import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress

SWITCH_S = 0.0001
DRAWS_AT = 5
"""How nice the thread that draws is to others: 0 is usual, and 19 the most."""


@contextmanager
def uncollected() -> Iterator[None]:
    """Collect no garbage until all is loaded and `set_aside`.

    Nearly all that is made until then stays. Looking through it again and again meanwhile took
    10 ms until the first page was painted, and 80 ms until the program was open.
    """
    before = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        gc.unfreeze()
        if before:
            gc.enable()


def set_aside() -> None:
    """Spare the garbage collector everything that is loaded now; from now on it is at work.

    What loading left behind is collected first; kept for good, it would take half a MiB.
    """
    gc.collect()
    gc.freeze()
    gc.enable()


def tidy() -> None:
    """Collect what a page or a test left behind, while nobody's time is measured.

    Left to itself the collector waits until four or five pages lie about, 1 MiB of them, and then
    sets in at any moment. This takes 1 ms, and 3 ms once practice was opened. Before all is
    `set_aside` it would take too long.
    """
    if gc.get_freeze_count():
        gc.collect()


def step_back() -> None:
    """Have the thread that calls this, which draws, go after the one that reads keys.

    Only Linux knows this of a single thread. Threads that are begun later inherit it.
    """
    if sys.platform == "linux":
        this = threading.get_native_id()
        with suppress(OSError):
            as_it_is = os.getpriority(os.PRIO_PROCESS, this)
            os.setpriority(os.PRIO_PROCESS, this, max(as_it_is, DRAWS_AT))


@contextmanager
def quick_switches() -> Iterator[None]:
    """Have threads wait for each other a fiftieth of what is usual."""
    before = sys.getswitchinterval()
    sys.setswitchinterval(SWITCH_S)
    try:
        yield
    finally:
        sys.setswitchinterval(before)
