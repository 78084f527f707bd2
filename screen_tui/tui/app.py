"""The app: which screen follows which, and what holds for all of them.

Its first page needs neither the models nor the other pages. They are imported once that page is
painted; see `paint_first`.
"""

from __future__ import annotations

import asyncio
import os
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from rich.text import Text
from textual.driver import Driver

from screen_tui.clock import Clock
from screen_tui.errors import ScreenError
from screen_tui.harmless import harmless
from screen_tui.tui import lifecycle, theme
from screen_tui.tui.driver import lasting
from screen_tui.tui.paint_first import PaintsFirst
from screen_tui.tui.screens.opening import OpeningPage
from screen_tui.tui.settings import Settings, settings_after, settings_once_read
from screen_tui.tui.steady import tidy

if TYPE_CHECKING:
    from screen_tui.flow.battery import Item
    from screen_tui.flow.intake import IntakeForm
    from screen_tui.opening import Opened
    from screen_tui.preferences import Preferred
    from screen_tui.session.model import Session
    from screen_tui.tomledit import Value
    from screen_tui.tui.practising import Practising
    from screen_tui.tui.screens.page import Page

_PAGES_OF_ITS_OWN = 2
"""The framework's own first screen, and the page that is on; further ones stand on top of it."""


class ScreenApp(PaintsFirst, inherit_bindings=False):
    """The program on the screen.

    Args:
        load: Gives what the program works with; called once the first page is painted.
        clock: The two clocks; its monotonic one has the same zero as the stamps of key events.
        settings: The look of the first page; preferences hold once they are read.
        environ: The environment variables; those of the process when left out.
        tick: Whether the display runs by itself; tests switch it off and call `tick` of a screen.

    Attributes:
        protocol: What is tested. It is there once the program is open, as are the next three.
        preferred: What the person prefers.
        demo_folder: The invented sessions; None when there are none.
        keeper: The session in hand.
        practising: The practice run in hand, whose keeper `keeper` is then; None for none.
    """

    preferred: Preferred

    TITLE = "Knee screen"
    CSS_PATH = "styles/page.tcss"
    ENABLE_COMMAND_PALETTE = False
    ALLOW_SELECT = False

    def __init__(
        self,
        load: Callable[[], Opened],
        clock: Clock,
        settings: Settings | None = None,
        *,
        environ: Mapping[str, str] | None = None,
        tick: bool = True,
    ) -> None:
        self.settings = settings or Settings()
        self.environ = os.environ if environ is None else environ
        mode = self.settings.colour_mode
        super().__init__(load, ansi_color=theme.leaves_colours_to_terminal(mode))
        for look in theme.THEMES:
            self.register_theme(look)
        self.theme = theme.theme_name(mode)
        self.clock = clock
        self.ticking = tick
        self.crash_sentence = ""
        self.last_key: tuple[str, float] | None = None
        self.practising: Practising | None = None
        self._terminal: lifecycle.TerminalWatch | None = None

    def get_driver_class(self) -> type[Driver]:
        """The platform's driver, so that a terminal that is gone does not hold the program."""
        return lasting(super().get_driver_class())

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """The variables of our own looks, so that the style file is valid under any."""
        return dict(theme.THEMES[0].variables)

    # Where to go. Each replaces the page that is on, and whatever stands on top of it.

    def go_start(self, notice: str = "") -> None:
        """Show Start; the session in hand is on disk, or waits in memory until it is."""
        from screen_tui.tui.pages import StartPage

        self._end_practice()
        self.keeper.let_go()
        self._go(StartPage(notice))

    def go_practice(self, notice: str = "") -> None:
        """Show the simulated patients; a practice run in hand is over."""
        from screen_tui.tui.screens.practice import PracticePage

        self._end_practice()
        self._go(PracticePage(notice))

    def _end_practice(self) -> None:
        if self.practising is not None:
            self.keeper, self.practising = self.practising.keeper.outside, None

    def go_retest(self, earlier: Session) -> None:
        """Show the questions of a screen that follows an earlier one."""
        from screen_tui.flow.retest import form_again

        self.keeper.answers.let_go()
        self.go_before_testing(form_again(self.protocol, earlier), earlier)

    def go_before_testing(
        self, form: IntakeForm | None = None, earlier: Session | None = None, told: str = ""
    ) -> None:
        """Show the questions of a new screen, or those that were begun; and say something first."""
        from screen_tui.tui.pages import BeforeTestingPage

        if form is None:
            self.keeper.answers.let_go()
        self._go(BeforeTestingPage(form, earlier, told))

    def go_test(self, item: Item | None = None, cue: str = "", told: str = "") -> None:
        """Show a test: the given one, or the first that is still to do; and say something first."""
        from screen_tui.tui.pages import TestPage

        self._go(TestPage(item, cue, told))

    def go_result(self) -> None:
        """Show what the session means."""
        from screen_tui.tui.pages import ResultPage

        self._go(ResultPage())

    def go_plan(self) -> None:
        """Show what to do with it."""
        from screen_tui.tui.pages import PlanPage

        self._go(PlanPage())

    def go_note(self) -> None:
        """Show the note."""
        from screen_tui.tui.pages import NotePage

        self._go(NotePage())

    def _go(self, page: Page[None]) -> None:
        if self.practising is not None:
            from screen_tui.tui.screens.practice_pages import in_practice

            page = in_practice(page, self.practising)
        while len(self.screen_stack) > _PAGES_OF_ITS_OWN:
            self.pop_screen()
        self.switch_screen(page)
        tidy()

    def prefer(self, name: str, value: Value) -> str:
        """Take a changed preference, save it, and say what became of it."""
        from screen_tui.preferences import save_value

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
        from screen_tui.tui.pages import stop_screen_page

        self.push_screen(stop_screen_page(self.protocol), self._stop)

    def _stop(self, reason: str | None) -> None:
        if reason is None:
            return
        self._strike_out("the screen was stopped")
        self.keeper.stop(reason)
        self.go_result()
        self.ask_about_trouble()

    def _strike_out(self, reason: str) -> None:
        """Keep a trial under way as struck out, whatever stands on top of it."""
        from screen_tui.tui.pages import TestPage

        for page in self.screen_stack:
            if isinstance(page, TestPage):
                page.strike_out(reason)

    def ask_about_trouble(self) -> None:
        """When the last change could not be saved, say so and offer what can be done."""
        from screen_tui.tui.pages import TroublePage, trouble_page

        if self.keeper.trouble and not isinstance(self.screen, TroublePage):
            self.push_screen(trouble_page(self.keeper.trouble))

    def answer_trouble(self, answer: str | None) -> None:
        """Do what was answered to what a `TroublePage` asked; None changes nothing."""
        from screen_tui.tui.pages import LEAVING, TRY_AGAIN

        if answer is None:
            return
        if answer in LEAVING:
            self.action_leave()
            return
        if answer == TRY_AGAIN:
            self.keeper.save()
        else:
            self.keeper.save_in(Path(answer))
        self.ask_about_trouble()

    # The life of the program.

    def on_mount(self) -> None:
        """Set up signals and the watch for a lost terminal, paint, and then read the rest."""
        lifecycle.leave_on_signals(asyncio.get_running_loop(), self.action_leave)
        if self.ticking:
            self._terminal = lifecycle.TerminalWatch()
            self.set_interval(lifecycle.ORPHAN_CHECK_S, self._leave_when_orphaned)
        self.paint_then_open(OpeningPage())

    def take_up(self, opened: Opened) -> None:
        """Begin to work with what was read, and show Start."""
        from screen_tui.tui.controller import Keeper

        self.protocol = opened.protocol
        self.preferred = opened.preferred
        self.demo_folder = opened.demo_folder
        self.keeper = Keeper(opened.protocol, opened.store, self.clock)
        self.settings = settings_once_read(self.settings, opened.preferred.now, self.environ)
        self.theme = theme.theme_name(self.settings.colour_mode)
        self.go_start()

    def on_unmount(self) -> None:
        """Take the signal handlers back, and let other windows have what was open."""
        lifecycle.forget_signals(asyncio.get_running_loop())
        if self.is_open:
            self.keeper.close()

    @property
    def is_leaving(self) -> bool:
        """Whether the program was told to end."""
        return self._exit

    def ask_to_leave(self) -> None:
        """Leave; a trial under way or a change not saved is asked about first, and only once."""
        from screen_tui.tui.pages import LeavePage, leave_page

        self.keeper.save()
        trial = self._trial_under_way
        if isinstance(self.screen, LeavePage) or (self.keeper.saved and not trial):
            self.action_leave()
        else:
            self.push_screen(leave_page(trial, self.keeper.trouble))

    @property
    def _trial_under_way(self) -> str:
        """The test whose trial is not kept yet, whatever stands on top of it; "" for none."""
        from screen_tui.tui.pages import TestPage

        pages = (page for page in self.screen_stack if isinstance(page, TestPage))
        return next((page.at_hand for page in pages if page.unsaved), "")

    def action_leave(self) -> None:
        """Save and leave; a trial under way is kept as struck out."""
        if not self.is_open:
            self.exit(return_code=0)
            return
        self._strike_out("the program was ended")
        self.keeper.save()
        told = Text(harmless(self.keeper.lost)) if self.keeper.lost else None
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
        report, saved = None, True
        if self.is_open:
            self.keeper.save()
            saved = self.keeper.saved
        if self.is_open and self._exception is not None:
            folder = self.keeper.store.folder.parent
            report = lifecycle.write_crash_report(folder, self._exception, self.clock.wall())
        self.crash_sentence = lifecycle.crash_sentence(report, session_saved=saved)
        self._close_messages_no_wait()
