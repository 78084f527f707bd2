"""What Linux tells about a running process; elsewhere nothing is told."""

from __future__ import annotations

import os
from pathlib import Path

_PROC = Path("/proc")
_READER = 2

ONLY_LINUX = "needs /proc, so Linux only"


def tells() -> bool:
    """Whether this system tells it."""
    return (_PROC / "self" / "schedstat").exists()


def processor_seconds(pid: int) -> float:
    """Seconds of a core that all threads of a process have used so far, system calls included."""
    stat = (_PROC / str(pid) / "stat").read_text(encoding="ascii")
    # The name may hold blanks and brackets; the fields are counted behind it.
    fields = stat.rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def reader_waited_ms(pid: int) -> float:
    """Milliseconds in which the thread that reads the keys could have run but had no core.

    The framework starts the thread that writes first and the one that reads next; 0 where the
    system does not tell, or before there are both.
    """
    threads = sorted((_PROC / str(pid) / "task").glob("*"), key=lambda one: int(one.name))
    if len(threads) <= _READER:
        return 0.0
    stat = (threads[_READER] / "schedstat").read_text(encoding="ascii")
    return int(stat.split()[1]) / 1e6
