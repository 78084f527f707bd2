"""The program in a window, set to any of its pages again and again."""

from __future__ import annotations

import errno
from collections.abc import Callable

from screen_tui.session.model import Session
from screen_tui.session.store import SessionStore
from screen_tui.timing.key_filter import KeyFilter
from screen_tui.tui.app import ScreenApp
from screen_tui.tui.screens.base import BaseScreen
from support.faulty_disk import FaultyDisk
from support.hands import Driver
from support.settled import settled


class Pages:
    """Brings pages on and types at them.

    The clock stands still, so that the same keys always lead to the same page. The program does
    not end when it is left; `left` says that it would have.

    Args:
        driver: The program.
        store: Where its sessions lie.
        disk: What they lie on.
        saved: What lies there each time a page is brought on.
    """

    def __init__(
        self, driver: Driver, store: SessionStore, disk: FaultyDisk, *saved: Session
    ) -> None:
        self.driver = driver
        self.app = driver.app
        self.store = store
        self.disk = disk
        for one in saved:
            store.save(one)
        # Keys are stamped before the present; one read before the first paint acts no more.
        driver.clock.advance(3600.0)
        self._saved = {path: path.read_bytes() for path in store.folder.glob("*.toml")}
        self.app.exit = self._exit  # type: ignore[method-assign]

    def _exit(self, *_: object, **__: object) -> None:
        self.app._exit = True

    @property
    def left(self) -> bool:
        """Whether the program was told to end since a page was brought on."""
        return self.app.is_leaving

    async def bring_on(
        self, base: Callable[[ScreenApp], None], keys: str = "", *, full: bool = False
    ) -> None:
        """Forget what was done, go to a page, and type what leads from it to the one wanted.

        Args:
            base: Goes to a page.
            keys: What is typed there, separated by blanks.
            full: Whether the disk is full once that page is on.
        """
        self.app._exit = False
        self.app.keys = KeyFilter()
        self.disk.heal()
        self.app.controller.save()
        self.app._end_practice()
        self.app.controller.let_go()
        for path in self.store.folder.glob("*.toml"):
            if path not in self._saved:
                path.unlink()
        for path, content in self._saved.items():
            path.write_bytes(content)
        base(self.app)
        await settled(self.app)
        if full:
            self.disk.fail("write", errno.ENOSPC)
        await self.type(*keys.split(), at=-60.0, between=2.0, ahead=True)

    async def type(self, *keys: str, at: float, between: float, ahead: bool = False) -> None:
        """Type keys, each once all is done that the one before it does, or all in one write.

        Args:
            keys: The keys.
            at: When the first of them is pressed, in seconds from the present.
            between: Seconds between two of them. They bear these times in either case.
            ahead: Whether all are read before any is handled.
        """
        for place, key in enumerate(keys):
            self.driver.post(key, self.driver.clock.monotonic() + at + place * between)
            if not ahead:
                await settled(self.app)
        await settled(self.app)

    @property
    def page(self) -> BaseScreen[object]:
        """The page that is on."""
        page = self.app.screen
        assert isinstance(page, BaseScreen)
        return page

    def seen(self) -> tuple[object, ...]:
        """What the page shows, which pages lie below it, and the session in hand."""
        session = self.app.controller.session if self.app.controller.is_open else None
        return self.left, self.names, dict(self.page._shown), session

    @property
    def names(self) -> list[str]:
        """What the pages are that lie on each other."""
        return [type(page).__name__ for page in self.app.screen_stack]

    def keys_here(self) -> tuple[str, ...]:
        """The keys of the page, a digit, and the one that ends the program from anywhere."""
        named = (hint.press for hint in self.page._all_hints())
        return tuple(dict.fromkeys(key for key in (*named, "1", "ctrl+c") if key))
