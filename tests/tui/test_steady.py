"""What keeps the moment of a key exact is at work while the program is on, and given back after."""

from __future__ import annotations

import gc
import os
import sys
import threading
import weakref

import pytest

from screen_tui.tui import steady


def test_threads_wait_less_while_the_program_is_on() -> None:
    before = sys.getswitchinterval()
    with steady.quick_switches():
        assert sys.getswitchinterval() == pytest.approx(steady.SWITCH_S)
    assert sys.getswitchinterval() == before
    with pytest.raises(ZeroDivisionError), steady.quick_switches():
        raise ZeroDivisionError
    assert sys.getswitchinterval() == before


def test_nothing_is_collected_until_it_is_set_aside() -> None:
    with steady.uncollected():
        assert not gc.isenabled()
        steady.set_aside()
        assert gc.isenabled()
        assert gc.get_freeze_count() > 1000
    assert gc.isenabled()
    assert gc.get_freeze_count() < 1000


def test_what_was_never_set_aside_is_collected_again_too() -> None:
    with pytest.raises(ZeroDivisionError), steady.uncollected():
        raise ZeroDivisionError
    assert gc.isenabled()


class Left:
    """Something that only the collector can clear away."""

    def __init__(self) -> None:
        self.itself = self


def test_a_page_that_was_left_is_collected_once_all_is_set_aside() -> None:
    with steady.uncollected():
        steady.set_aside()
        gc.disable()
        gone = weakref.ref(Left())
        steady.tidy()
        assert gone() is None


def test_before_that_nothing_is_collected() -> None:
    with steady.uncollected():
        gone = weakref.ref(Left())
        steady.tidy()
        assert gone() is not None


def test_what_loading_left_behind_is_not_kept_for_good() -> None:
    with steady.uncollected():
        gone = weakref.ref(Left())
        steady.set_aside()
        assert gone() is None


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux knows this of a thread")
def test_who_draws_stands_back_alone() -> None:
    own = os.getpriority(os.PRIO_PROCESS, threading.get_native_id())
    found: list[int] = []

    def draw() -> None:
        steady.step_back()
        found.append(os.getpriority(os.PRIO_PROCESS, threading.get_native_id()))

    drawing = threading.Thread(target=draw)
    drawing.start()
    drawing.join()
    assert found == [max(own, steady.DRAWS_AT)]
    assert os.getpriority(os.PRIO_PROCESS, threading.get_native_id()) == own


def test_where_the_system_refuses_nothing_happens(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: int) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "setpriority", refuse, raising=False)
    steady.step_back()
