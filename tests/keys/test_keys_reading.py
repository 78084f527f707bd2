"""The harness itself: what it offers and sends, and that it reports whatever goes wrong."""

from __future__ import annotations

import sys
from pathlib import Path
from random import Random

import pytest
from keys.plans import Plan, chains
from keys.play import Player
from keys.sends import BEGIN_OF_PASTE, END_OF_PASTE, OTHERS, Kind, Send, next_send, offered
from keys.shrink import shrunk
from keys.tally import Tally, told

FAKE = """\
import os, signal, sys, termios, tty
from pathlib import Path

what, home = sys.argv[1], Path(os.environ["SCREEN_TUI_HOME"])
before = termios.tcgetattr(0)
tty.setraw(0)
sys.stdout.write("\\x1b[?1049h\\x1b[?1000;1006h\\x1b[>1u\\x1b[?25lNothing  here")
sys.stdout.flush()
if what == "hangs":
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
if what == "deaf":
    signal.pause()
while b"\\x11" not in os.read(0, 1000) or what == "hangs":
    if what == "quits":
        break
if what == "broken file":
    (home / "sessions").mkdir()
    (home / "sessions" / "draft.toml").write_text("answers = ")
if what == "set aside":
    (home / "draft.toml.unusable-1").touch()
if what == "crash report":
    report = "builtins.KeyError\\n  /a/b/c.py:7 in one\\nbuiltins.OSError\\n"
    (home / "crash-1.txt").write_text(report)
if what != "raw":
    termios.tcsetattr(0, termios.TCSANOW, before)
mouse = "" if what == "mouse" else "\\x1b[?1000l\\x1b[?1006l"
sys.stdout.write(mouse + "\\x1b[<u\\x1b[?1049l\\x1b[?25h")
sys.stdout.flush()
if what == "traceback":
    raise OSError
sys.exit(what == "quits")
"""
SENDS = [Send("keys", b"a"), Send("paste", BEGIN_OF_PASTE + b"b" * 100_000 + END_OF_PASTE)]


def plan_of(start: str = "at once", *, by_signal: bool = False) -> Plan:
    return Plan("fake", 1, (60, 20), start, False, frozenset({"keys"}), 2, by_signal)


@pytest.mark.parametrize(
    ("what", "faults"),
    [
        ("well", []),
        ("quits", ["ended with 1"]),
        ("hangs", ["hangs: it does not end when asked"]),
        ("deaf", ["hangs: not all bytes are read"]),
        ("broken file", ["unreadable: sessions/draft.toml:1: the value is missing"]),
        ("set aside", ["set aside: draft.toml.unusable-1"]),
        ("crash report", ["crash: KeyError at b/c.py:7 in one"]),
        ("mouse", ["left behind: the mouse"]),
        ("raw", ["left behind: keys read one by one"]),
        ("traceback", ["traceback: OSError at fake.py:30", "ended with 1"]),
    ],
)
def test_what_goes_wrong_is_reported(tmp_path: Path, what: str, faults: list[str]) -> None:
    fake = tmp_path / "fake.py"
    fake.write_text(FAKE)
    player = Player(tmp_path, (sys.executable, str(fake), what), patience_s=1.0)
    plan = plan_of()
    outcome = player.play(plan, player.folder(), SENDS)
    assert len(outcome.faults) == len(faults)
    assert all(map(str.startswith, outcome.faults, faults)), outcome.faults
    assert outcome.pages == {"Nothing"}
    tally = Tally()
    tally.add(plan, outcome)
    assert tally.exit_code == bool(faults)
    assert all(fault in told(plan, outcome) for fault in faults)


def test_a_signal_must_be_answered_too(tmp_path: Path) -> None:
    fake = tmp_path / "fake.py"
    fake.write_text(FAKE)
    player = Player(tmp_path, (sys.executable, str(fake), "hangs"), patience_s=1.0)
    outcome = player.play(plan_of(by_signal=True), player.folder(), SENDS)
    assert outcome.faults == ["hangs: it does not end when asked"]
    assert "Nothing  here" in outcome.screen


def test_keys_are_read_from_the_last_lines() -> None:
    screen = (
        "  y  yes, above\n\n\n\n  Enter  open   1-3  resume   ↑↓  choose\n  /  search   q  quit\n"
    )
    assert offered(screen) == [b"\r", b"1", b"2", b"3", b"\x1b[A", b"\x1b[B", b"/"]
    assert offered("1  Bell ..... on\n\n\n\n\n") == [b"1"]
    assert offered("Nothing is offered here.\n") == []


@pytest.mark.parametrize("kind", ["keys", *OTHERS])
def test_the_same_is_sent_again_and_never_what_would_stop_the_terminal(kind: Kind) -> None:
    kinds = frozenset[Kind]({"keys", kind})
    for number in range(300):
        one, again = (next_send(Random(number), kinds, "", (80, 24)) for _ in range(2))
        assert one == again
        assert one.kind in kinds
        # Ctrl-Z and Ctrl-\ act on a program that is leaving; a slash would lead out of its folder.
        assert not {0x1A, 0x1C, ord("/")} & {*one.data}
    assert any(next_send(Random(n), kinds, "", (80, 24)).kind == kind for n in range(50))


def test_a_session_is_the_same_however_many_there_are() -> None:
    some, many = list(chains("word", 12)), list(chains("word", 40))
    plans = [plan for chain in many for plan in chain]
    assert [plan.number for plan in plans] == list(range(1, 41))
    assert [plan for chain in some for plan in chain] == plans[:12]
    assert all(plan.goes_on == (place > 0) for chain in many for place, plan in enumerate(chain))
    assert {plan.seed for plan in plans} == {"word"}
    others = [
        plan.kinds for chain in chains("word", 12, without=frozenset({"paste"})) for plan in chain
    ]
    assert others == [plan.kinds - {"paste"} for plan in plans[:12]]


def test_only_what_is_needed_to_fail_is_left() -> None:
    sends = [Send("keys", bytes([code])) for code in b"abcdefghijklmnopqrstuvwxyz"]
    few = shrunk(lambda fewer: {b"c", b"q"} <= {send.data for send in fewer}, sends)
    assert [send.data for send in few] == [b"c", b"q"]
