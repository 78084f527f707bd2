"""The app: which screen follows which, and what holds for all of them."""

from __future__ import annotations

import asyncio
import os
from collections.abc import Callable, Mapping, Sequence, Set
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from rich.text import Text
from textual import on
from textual.app import App
from textual.driver import Driver

from screen_tui.errors import ScreenError
from screen_tui.files.places import data_folder
from screen_tui.files.text import harmless
from screen_tui.files.toml_write import Value
from screen_tui.practice.case import Case
from screen_tui.practice.run import Level
from screen_tui.preferences import Opened, save_value
from screen_tui.protocol.tests import TestSpec
from screen_tui.session.model import Session
from screen_tui.timing.clock import Clock
from screen_tui.timing.key_filter import KeyFilter
from screen_tui.trial.battery import Item, allowed_items
from screen_tui.trial.intake import IntakeForm, form_again, form_of
from screen_tui.trial.keymap import KEYMAP, Action
from screen_tui.tui import lifecycle
from screen_tui.tui.controller import ENDED_WITH_IT, SessionController
from screen_tui.tui.drawing.rows import Choice
from screen_tui.tui.drawing.words import interrupted_sentence
from screen_tui.tui.keys import KeyHint
from screen_tui.tui.practising import Practising, form_of_case
from screen_tui.tui.screens.base import BaseScreen
from screen_tui.tui.screens.before_testing import AnswersScreen, BeforeTestingScreen
from screen_tui.tui.screens.dialogs import (
    LEAVING,
    TRY_AGAIN,
    AskDialog,
    LeaveDialog,
    Question,
    TroubleDialog,
    leave_dialog,
    stop_dialog,
    trouble_dialog,
)
from screen_tui.tui.screens.edit_plan import EditPlanScreen
from screen_tui.tui.screens.help import HelpScreen
from screen_tui.tui.screens.list import PickScreen
from screen_tui.tui.screens.note import NoteScreen, SheetScreen
from screen_tui.tui.screens.practice import CommitScreen, PracticeQuestionsScreen, PracticeScreen
from screen_tui.tui.screens.result import DetailsScreen, PlanScreen, ResultScreen
from screen_tui.tui.screens.start import StartScreen
from screen_tui.tui.screens.test import TestScreen
from screen_tui.tui.settings import (
    THEMES,
    Settings,
    leaves_colours_to_terminal,
    settings_after,
    theme_name,
)
from screen_tui.tui.terminal_input import InputFailed

Answer = TypeVar("Answer")

_OF_THE_ANSWER = (DetailsScreen, PlanScreen, EditPlanScreen, NoteScreen, SheetScreen)
"""Pages behind the answer; each is shown anew once what it follows from has changed."""
_BELOW = 1
"""Pages below the one that is on: the framework's own first screen."""


class ScreenApp(App[None], inherit_bindings=False):
    """The program on the screen.

    Args:
        clock: The two clocks; its monotonic one has the same zero as the stamps of key events.
        environ: The environment variables; those of the process when left out.
        tick: Whether the display runs by itself; tests switch it off and call `tick` of a screen.

    Attributes:
        keys: The filter of the keys, which lets a held key act once at a test.
        practising: The practice run in hand; None for none.
    """

    TITLE = "Chairside knee tests"
    CSS_PATH = "styles/page.tcss"
    ENABLE_COMMAND_PALETTE = False
    ALLOW_SELECT = False

    def __init__(
        self,
        opened: Opened,
        clock: Clock,
        settings: Settings | None = None,
        *,
        environ: Mapping[str, str] | None = None,
        tick: bool = True,
    ) -> None:
        self.settings = settings or Settings()
        self.environ = os.environ if environ is None else environ
        mode = self.settings.colour_mode
        super().__init__(ansi_color=leaves_colours_to_terminal(mode))
        for look in THEMES:
            self.register_theme(look)
        self.theme = theme_name(mode)
        self.protocol = opened.protocol
        self.preferred = opened.preferred
        self.demo_folder = opened.demo_folder
        self.controller = SessionController(opened.protocol, opened.store, clock)
        self.clock = clock
        self.ticking = tick
        self.crash_sentence = ""
        self.keys = KeyFilter(
            KEYMAP.binding(Action.TIME).keys[0], KEYMAP.binding(Action.ENTER).keys[0]
        )
        self.practising: Practising | None = None
        self._terminal: lifecycle.TerminalWatch | None = None
        self._first_page = StartScreen()
        self._below = _BELOW
        self._painted_at: float | None = None

    def get_driver_class(self) -> type[Driver]:
        """The platform's driver, made to last whatever a terminal sends, or when it is gone."""
        usual = super().get_driver_class()
        if usual.__name__ != "LinuxDriver":
            return usual
        # Imported here, since it needs what only such systems have.
        from screen_tui.tui.lasting_driver import LastingDriver

        return LastingDriver

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """The variables of our own looks, so that the style file is valid under any."""
        return dict(THEMES[0].variables)

    # Where to go. Each replaces the page that is on, and whatever is on top of it.

    def go_start(self, notice: str = "") -> None:
        """Show Start; the session in hand is on disk, or waits in memory until it is."""
        self._end_practice()
        self.controller.let_go()
        self._below = _BELOW
        self._go(StartScreen(notice))

    def read_visit(self, session: Session, earlier: Sequence[Session]) -> None:
        """Show what a past visit came to, read-only, on top of the page that is on."""
        self.controller.show(session, earlier)
        self._below = len(self.screen_stack)
        self.push_screen(ResultScreen())

    @property
    def way_out(self) -> str:
        """Where `leave_session` leads, in a word."""
        return "start" if self._below == _BELOW else "visits"

    def leave_session(self, notice: str = "") -> None:
        """Go back to the page a past visit was opened from, or else to Start."""
        if self._below == _BELOW:
            self.go_start(notice)
            return
        self.controller.let_go()
        while len(self.screen_stack) > self._below:
            self.pop_screen()
        self._below = _BELOW

    def go_practice(self, notice: str = "") -> None:
        """Show the simulated patients; a practice run in hand is over."""
        self._end_practice()
        self._go(PracticeScreen(notice))

    def begin_practice(self, case: Case, level: Level, student: str) -> None:
        self.practising = Practising.begin(case, self.controller, level, student)
        self.go_before_testing(form_of_case(self.protocol, case))

    @property
    def after_a_yes(self) -> str:
        """Where a safety question that was answered yes leads."""
        return "your answer" if self.practising else "a note that says refer first"

    def ask_to_leave_practice(self) -> None:
        """Ask first, since nothing of the run is saved."""
        question = Question(
            "Leave the practice run",
            ("A practice run is saved once you have committed to an answer.",),
            ("leave; nothing of this run is saved",),
            back="continue",
        )
        left = "The practice run was left; nothing of it was saved."
        self.ask(AskDialog(question), lambda _: self.go_practice(left))

    def _end_practice(self) -> None:
        if self.practising is not None:
            self.controller.let_go()
            self.practising = None

    def go_retest(self, earlier: Session) -> None:
        self.controller.let_go()
        form = form_again(self.protocol, earlier, self.clock.wall().date())
        self.go_before_testing(form, earlier)

    def go_on_with(self, session_id: str) -> None:
        """Go on with an unfinished session, at the trial the program ended in where it did.

        Raises:
            ScreenError: It cannot be gone on with; see `SessionController.resume`.
        """
        self.controller.resume(session_id)
        interrupted = self.controller.take_interrupted()
        if not self.controller.tests_possible:
            self.go_result()
        elif interrupted is None:
            self.go_test()
        else:
            self.go_test(
                Item(interrupted.test, interrupted.side, 0.0),
                interrupted.cue,
                interrupted_sentence(self.protocol, interrupted),
            )

    def go_before_testing(
        self, form: IntakeForm | None = None, earlier: Session | None = None, said: str = ""
    ) -> None:
        """Show the questions of a new screen, or those that were begun; and say something first."""
        if form is None:
            self.controller.let_go()
            form = IntakeForm.blank(self.protocol)
        if self.practising is not None:
            self._go(PracticeQuestionsScreen(form, self.practising))
        else:
            self._go(BeforeTestingScreen(form, earlier, said))

    def answers_can_be_changed(self, page: BaseScreen[Any]) -> bool:
        """Whether a page is one of a session whose answers before testing may be changed."""
        controller = self.controller
        own = self.screen_stack[self._below :][:1] == [page]
        return own and controller.is_open and not controller.closed and self.practising is None

    def change_answers(self) -> None:
        """Show the answers before testing; once changed, what follows from them is shown anew."""
        page = self.screen

        def follow(changed: bool) -> None:
            if not changed:
                return
            intake = self.controller.session.intake
            if intake.cautions:
                self.go_result()
            elif isinstance(page, TestScreen) and self.controller.tests_possible:
                tests = page.itinerary
                there = tests.item in allowed_items(self.protocol, intake)
                said = "Answers changed; the tests follow from them."
                self.go_test(tests.item if there else None, said=said, chosen=tests.chosen)
            elif isinstance(page, _OF_THE_ANSWER):
                self._go(type(page)())
            else:
                self.go_result()
            self.ask_about_trouble()

        form = form_of(self.protocol, self.controller.session)
        self.ask(AnswersScreen(form), follow)

    def go_test(
        self,
        item: Item | None = None,
        cue: str = "",
        said: str = "",
        chosen: Set[str] = frozenset(),
    ) -> None:
        """Show a test, or the first still to do; ``chosen`` are those that were asked for."""
        self._go(TestScreen(item, cue, said, self.practising, chosen))

    def go_result(self) -> None:
        self._go_unless_practising(ResultScreen())

    def go_details(self) -> None:
        self._go_unless_practising(DetailsScreen())

    def go_plan(self) -> None:
        self._go_unless_practising(PlanScreen())

    def go_edit_plan(self) -> None:
        self._go_unless_practising(EditPlanScreen())

    def go_note(self) -> None:
        self._go_unless_practising(NoteScreen())

    def go_sheet(self) -> None:
        self._go_unless_practising(SheetScreen())

    def _go_unless_practising(self, page: BaseScreen[None]) -> None:
        """Show a page; in practice no way leads to a result, all lead to the student's answer."""
        self._go(page if self.practising is None else CommitScreen(self.practising))

    def _go(self, page: BaseScreen[Any]) -> None:
        while len(self.screen_stack) > self._below + 1:
            self.pop_screen()
        self.switch_screen(page)

    # Keys typed while the program opens.

    def takes_key(self, page: BaseScreen[Any], when: float) -> bool:
        """Whether a page may act on a key that was read at that time.

        What was typed before anything was painted is for the first page alone: its keys may be
        known by heart, while nobody has seen what a later one asks.
        """
        return self.was_seen(when) or (page is self._first_page and page.is_active)

    def was_seen(self, when: float) -> bool:
        """Whether anything was painted by then."""
        return self._painted_at is not None and when >= self._painted_at

    def post_display_hook(self) -> None:
        """Note when the first page was written to the terminal."""
        if self._painted_at is None and self._first_page.is_drawn:
            self._painted_at = self.clock.monotonic()

    def prefer(self, name: str, value: Value) -> str:
        """Take a changed preference, save it, and say what became of it."""
        now = self.preferred.now.model_copy(update={name: value})
        self.preferred = replace(self.preferred, now=now)
        self.settings, later = settings_after(self.settings, now, name, self.environ)
        self.theme = theme_name(self.settings.colour_mode)
        try:
            save_value(self.preferred.path, name, value)
        except ScreenError as error:
            return f"Not saved, so only until the program ends: {error}"
        return f"Saved. {later}".strip()

    def ask(self, page: BaseScreen[Answer | None], then: Callable[[Answer], object]) -> None:
        """Show a page that asks, and go on with its answer; left without one, nothing changes."""

        def answered(answer: Answer | None) -> None:
            if answer is not None:
                then(answer)

        self.push_screen(page, answered)

    def show_help(self, test: TestSpec | None = None) -> None:
        self.push_screen(HelpScreen(test))

    def list_keys(self, hints: Sequence[KeyHint], then: Callable[[str], None]) -> None:
        """List what keys do; those that name several keys at once are left out."""
        # What has a longer name than one letter is chosen by moving to it, and so is b.
        picks = [
            (
                Choice("", hint.key, hint.does)
                if len(hint.key) == 1 and hint.key != "b"
                else Choice("", "", f"{hint.does} ({hint.key})"),
                hint.press,
            )
            for hint in hints
            if hint.press
        ]
        self.ask(PickScreen("All keys here", picks, does="do it"), then)

    def ask_to_stop(self) -> None:
        practising = self.practising is not None
        self.ask(stop_dialog(self.protocol, practising=practising), self._stop)

    def _stop(self, reason: str) -> None:
        self._strike_out("the session was stopped")
        self.controller.change(self.controller.session.model_copy(update={"stopped": reason}))
        self.go_result()
        self.ask_about_trouble()

    def _strike_out(self, reason: str) -> None:
        """Save a trial under way as void, whatever is on top of it."""
        for page in self.screen_stack:
            if isinstance(page, TestScreen):
                page.strike_out(reason)

    def ask_about_trouble(self) -> None:
        """When the last change could not be saved, say so and offer what can be done."""
        if self.controller.trouble and not isinstance(self.screen, TroubleDialog):
            self.push_screen(trouble_dialog(self.controller.trouble))

    def answer_trouble(self, answer: str | None) -> None:
        """Do what was answered to what a `TroubleDialog` asked; None changes nothing."""
        if answer is None:
            return
        if answer in LEAVING:
            self.action_leave()
            return
        if answer == TRY_AGAIN:
            self.controller.save()
        else:
            self.controller.save_in(Path(answer))
        self.ask_about_trouble()

    # The life of the program.

    def on_load(self) -> None:
        """Set up signals, before the terminal is changed in any way."""
        lifecycle.leave_on_signals(asyncio.get_running_loop(), self.action_leave)

    def on_mount(self) -> None:
        if self.ticking:
            self._terminal = lifecycle.TerminalWatch()
            self.set_interval(lifecycle.ORPHAN_CHECK_S, self._leave_when_orphaned)
        self.push_screen(self._first_page)

    def on_unmount(self) -> None:
        """Let other windows have what was open; the program ends in any case."""
        lifecycle.leave_on_signals(asyncio.get_running_loop(), lambda _code: None)
        self.controller.close()

    @property
    def is_leaving(self) -> bool:
        return self._exit

    def ask_to_leave(self) -> None:
        """Leave; a trial under way or a change not saved is asked about first, and only once."""
        self.controller.save()
        trial = self._trial_under_way
        if isinstance(self.screen, LeaveDialog) or (self.controller.saved and not trial):
            self.action_leave()
        else:
            self.push_screen(leave_dialog(trial, self.controller.trouble))

    @property
    def _trial_under_way(self) -> str:
        """The test whose trial is not saved yet, whatever is on top of it; "" for none."""
        pages = (page for page in self.screen_stack if isinstance(page, TestScreen))
        return next((page.at_hand for page in pages if page.unsaved), "")

    def action_leave(self, code: int = lifecycle.EXIT_OK) -> None:
        """Save and leave, with that exit code if all is saved; a trial under way becomes void."""
        self._strike_out(ENDED_WITH_IT)
        self.controller.save()
        message = Text(harmless(self.controller.lost)) if self.controller.lost else None
        failed = lifecycle.EXIT_FAILED
        self.exit(return_code=code if self.controller.saved else failed, message=message)

    def _leave_when_orphaned(self) -> None:
        if self._terminal is not None and self._terminal.orphaned():
            self.action_leave()

    def on_input_failed(self, failure: InputFailed) -> None:
        """End as after any other failure, since no key would be read any more."""
        raise failure.error

    @on(Driver.SignalResume)
    def _paint_anew(self) -> None:
        self.refresh(layout=True)

    def _handle_exception(self, error: Exception) -> None:
        # What fails after the program is ending is of no use to anybody.
        if not self._exit:
            super()._handle_exception(error)

    def _fatal_error(self) -> None:
        # The framework would print the values of local variables, patient data among them.
        report, saved = None, False
        # What fails here may be what failed before, saving among it.
        with suppress(Exception):
            report = self._report_crash()
        with suppress(Exception):
            self.controller.save()
            saved = self.controller.saved
        self.crash_sentence = lifecycle.crash_sentence(report, session_saved=saved)
        self._close_messages_no_wait()

    def _report_crash(self) -> Path | None:
        # The folder of a demonstration is thrown away.
        sessions = None if self.demo_folder else self.controller.store.folder
        if self._exception is None:
            return None
        folder = data_folder(sessions)
        return lifecycle.write_crash_report(folder, self._exception, self.clock.wall())
