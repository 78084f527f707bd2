"""What the program makes of a case: its answer to a perfect record, and what is not shown."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from screen_tui.engine.assess import assess
from screen_tui.engine.results import Assessment
from screen_tui.practice.case import Case, TrueDriver
from screen_tui.practice.scoring import Wanted
from screen_tui.practice.staging import true_session
from screen_tui.protocol.condition_checks import Mismatch
from screen_tui.protocol.model import ScreenProtocol
from screen_tui.report import words


@dataclass(frozen=True)
class CaseAnswer:
    """What a perfect record of a case comes to.

    Attributes:
        case: The case.
        protocol: The protocol it was checked against.
        found: The answer.
        not_shown: Tests that are offered to the patient and that the case does not show, with the
            leg where there is one.
    """

    case: Case
    protocol: ScreenProtocol
    found: Assessment
    not_shown: tuple[str, ...]

    @classmethod
    def of(cls, case: Case, protocol: ScreenProtocol) -> CaseAnswer:
        session = true_session(case, protocol, 0)
        names = (
            f"{one.test}, {one.side}" if one.side else str(one.test) for one in session.skipped
        )
        return cls(case, protocol, assess(protocol, session), tuple(dict.fromkeys(names)))

    @property
    def in_words(self) -> tuple[str, ...]:
        """For who wrote the case."""
        missing = "; ".join(self.not_shown) or "none"
        return (
            f"the program answers: {self.found.headline}",
            f"offered and not shown: {missing}",
        )

    def contradictions(self) -> Iterator[Mismatch]:
        """Where the author's answer is not the program's, and the case does not say why."""
        truth, engine = self.case.truth, Wanted.by_engine(self.found, self.protocol)
        same = truth.outcome == engine.outcome and set(truth.drivers) == set(engine.drivers)
        if same or truth.engine_differs:
            return
        yield (
            ("truth", "outcome"),
            f"contradicts the network: the program answers {engine.outcome}"
            f"{self._named(engine.drivers)} to a record without errors; change what the case "
            "shows, or say in engine_differs why",
        )

    def _named(self, drivers: tuple[TrueDriver, ...]) -> str:
        named = (
            words.driver_name(self.protocol, one.driver) + (f", {one.side}" if one.side else "")
            for one in drivers
        )
        text = " and ".join(named)
        return f" ({text})" if text else ""
