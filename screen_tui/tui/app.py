"""The app: which screen follows which, and what holds for all of them."""

from __future__ import annotations

import asyncio
import os
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import ClassVar

from rich.text import Text
from textual.app import App
from textual.binding import Binding, BindingType
from textual.driver import Driver

from screen_tui.clock import Clock
from screen_tui.errors import ScreenError
from screen_tui.flow.battery import Item
from screen_tui.flow.intake import IntakeForm
from screen_tui.harmless import harmless
from screen_tui.preferences import Preferred, save_value
from screen_tui.protocol.whole import Protocol
from screen_tui.resources import preferences_file
from screen_tui.session.store import SessionStore
from screen_tui.tomledit import Value
from screen_tui.tui import lifecycle, theme
from screen_tui.tui.controller import Keeper
from screen_tui.tui.driver import lasting
from screen_tui.tui.screens.before_testing import BeforeTestingPage
from screen_tui.tui.screens.note import NotePage
from screen_tui.tui.screens.page import Page
from screen_tui.tui.screens.result import PlanPage, ResultPage
from screen_tui.tui.screens.save_trouble import LEAVE, TRY_AGAIN, save_trouble_page
from screen_tui.tui.screens.start import StartPage
from screen_tui.tui.screens.stop_screen import stop_screen_page
from screen_tui.tui.screens.test import TestPage
from screen_tui.tui.settings import Settings, settings_after

_PAGES_OF_ITS_OWN = 2
"""The framework's own first screen, and the page that is on; further ones stand on top of it."""


class ScreenApp(App[None], inherit_bindings=False):
    """The program on the screen.

    Args:
        protocol: What is tested.
        store: Where sessions are saved.
        clock: The two clocks; its monotonic one has the same zero as the stamps of key events.
        demo_folder: The invented sessions; None when there are none.
        settings: The look.
        preferred: What the person prefers; what usually holds when left out.
        environ: The environment variables; those of the process when left out.
        tick: Whether the display runs by itself; tests switch it off and call `tick` of a screen.
    """

    TITLE = "Knee screen"
    CSS_PATH = "styles/page.tcss"
    ENABLE_COMMAND_PALETTE = False
    ALLOW_SELECT = False
    BINDINGS: ClassVar[list[BindingType]] = [Binding("ctrl+q,ctrl+c", "ask_to_leave", show=False)]

    def __init__(
        self,
        protocol: Protocol,
        store: SessionStore,
        clock: Clock,
        demo_folder: Path | None = None,
        settings: Settings | None = None,
        *,
        preferred: Preferred | None = None,
        environ: Mapping[str, str] | None = None,
        tick: bool = True,
    ) -> None:
        self.settings = settings or Settings()
        self.preferred = preferred or Preferred(preferences_file())
        self.environ = os.environ if environ is None else environ
        mode = self.settings.colour_mode
        super().__init__(ansi_color=theme.leaves_colours_to_terminal(mode))
        for look in theme.THEMES:
            self.register_theme(look)
        self.theme = theme.theme_name(mode)
        self.protocol = protocol
        self.clock = clock
        self.keeper = Keeper(protocol, store, clock)
        self.demo_folder = demo_folder
        self.ticking = tick
        self.crash_sentence = ""
        self._asked_to_leave = False
        self.last_key: tuple[str, float] | None = None
        self._terminal: lifecycle.TerminalWatch | None = None

    def get_driver_class(self) -> type[Driver]:
        """The platform's driver, so that a terminal that is gone does not hold the program."""
        return lasting(super().get_driver_class())

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """The variables of our own looks, so that the style file is valid under any."""
        return dict(theme.THEMES[0].variables)

    # Where to go. Each replaces the screen that is on.

    def go_start(self, notice: str = "") -> None:
        """Show Start; the session in hand is on disk, or waits in memory until it is."""
        self.keeper.let_go()
        self._go(StartPage(notice))

    def go_before_testing(self, form: IntakeForm | None = None) -> None:
        """Show the questions of a new screen, or those that were begun."""
        if form is None:
            self.keeper.answers.let_go()
        self._go(BeforeTestingPage(form))

    def go_test(self, item: Item | None = None, cue: str = "", told: str = "") -> None:
        """Show a test: the given one, or the first that is still to do; and say something first."""
        self._go(TestPage(item, cue, told))

    def go_result(self) -> None:
        """Show what the session means."""
        self._go(ResultPage())

    def go_plan(self) -> None:
        """Show what to do with it."""
        self._go(PlanPage())

    def go_note(self) -> None:
        """Show the note."""
        self._go(NotePage())

    def _go(self, page: Page[None]) -> None:
        self.switch_screen(page)

    def prefer(self, name: str, value: Value) -> str:
        """Take a changed preference, save it, and say what became of it."""
        now = self.preferred.now.model_copy(update={name: value})
        self.preferred = replace(self.preferred, now=now)
        self.settings, later = settings_after(self.settings, now, name, self.environ)
        self.theme = theme.theme_name(self.settings.colour_mode)
        try:
            save_value(self.preferred.path, name, value)
        except ScreenError as error:
            return f"Not saved, so only until the program ends: {error}"
        return f"Saved. {later}".strip()

    def ask_to_stop(self) -> None:
        """Ask why the whole screen is stopped for safety, from wherever one is."""
        self.push_screen(stop_screen_page(self.protocol), self._stop)

    def _stop(self, reason: str | None) -> None:
        if reason is None:
            return
        for page in self.screen_stack:
            if isinstance(page, TestPage):
                page.strike_out("the screen was stopped")
        self.keeper.stop(reason)
        while len(self.screen_stack) > _PAGES_OF_ITS_OWN:
            self.pop_screen()
        self.go_result()
        self.ask_about_trouble()

    def ask_about_trouble(self) -> None:
        """When the last change could not be saved, say so and offer what can be done."""
        # Asked by the app itself: an answer to a screen that was just replaced would be dropped.
        self.call_later(self._ask_about_trouble)

    def _ask_about_trouble(self) -> None:
        if self.keeper.trouble:
            self.push_screen(save_trouble_page(self.keeper), self._answer_trouble)

    def _answer_trouble(self, answer: str | None) -> None:
        self._asked_to_leave = False
        if answer is None:
            return
        if answer == LEAVE:
            self.action_leave()
            return
        if answer == TRY_AGAIN:
            self.keeper.save()
        else:
            self.keeper.save_in(Path(answer))
        self.ask_about_trouble()

    # The life of the program.

    def on_mount(self) -> None:
        """Set up signals and the watch for a lost terminal, then show Start."""
        lifecycle.leave_on_signals(asyncio.get_running_loop(), self.action_leave)
        if self.ticking:
            self._terminal = lifecycle.TerminalWatch()
            self.set_interval(lifecycle.ORPHAN_CHECK_S, self._leave_when_orphaned)
        self.push_screen(StartPage())

    def on_unmount(self) -> None:
        """Take the signal handlers back, and let other windows have what was open."""
        lifecycle.forget_signals(asyncio.get_running_loop())
        self.keeper.close()

    def action_ask_to_leave(self) -> None:
        """Leave; where something would be lost, ask first, and leave at the second time."""
        self.keeper.save()
        if self.keeper.saved or self._asked_to_leave:
            self.action_leave()
            return
        self._asked_to_leave = True
        self.push_screen(save_trouble_page(self.keeper, leaving=True), self._answer_trouble)

    def action_leave(self) -> None:
        """Save and leave; a trial under way is kept as struck out."""
        for page in self.screen_stack:
            if isinstance(page, TestPage):
                page.strike_out("the program was ended")
        self.keeper.save()
        told = Text(harmless(self.keeper.trouble)) if self.keeper.trouble else None
        self.exit(return_code=0 if self.keeper.saved else 1, message=told)

    def _leave_when_orphaned(self) -> None:
        if self._terminal is not None and self._terminal.orphaned():
            self.action_leave()

    def _handle_exception(self, error: Exception) -> None:
        # What fails after the program was told to end is of no use to anybody.
        if not self._exit:
            super()._handle_exception(error)

    def _fatal_error(self) -> None:
        # The framework would print the values of local variables, patient data among them.
        self.keeper.save()
        report = None
        if self._exception is not None:
            folder = self.keeper.store.folder.parent
            report = lifecycle.write_crash_report(folder, self._exception, self.clock.wall())
        self.crash_sentence = lifecycle.crash_sentence(report, session_saved=self.keeper.saved)
        self._close_messages_no_wait()
