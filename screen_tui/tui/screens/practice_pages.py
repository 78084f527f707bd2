"""Which page of practice stands in for an ordinary one while a practice run is in hand."""

from __future__ import annotations

from screen_tui.tui.practising import Practising
from screen_tui.tui.screens.before_testing import BeforeTestingPage
from screen_tui.tui.screens.note import NotePage
from screen_tui.tui.screens.page import Page
from screen_tui.tui.screens.practice_commit import CommitPage
from screen_tui.tui.screens.practice_questions import PracticeQuestionsPage
from screen_tui.tui.screens.practice_test import PracticeTestPage
from screen_tui.tui.screens.result import PlanPage, ResultPage
from screen_tui.tui.screens.test import TestPage


def in_practice(page: Page[None], practising: Practising) -> Page[None]:
    """The page to show: no way leads to a result, all lead to the student's own answer."""
    match page:
        case ResultPage() | PlanPage() | NotePage():
            return CommitPage(practising)
        case BeforeTestingPage():
            return PracticeQuestionsPage(page.form, practising)
        case TestPage():
            return PracticeTestPage(practising, page.said)
    return page
