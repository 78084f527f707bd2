"""Plays sessions, several at a time."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from tempfile import mkdtemp

from keys.console import Console
from keys.plans import Plan
from keys.sends import Send, next_send
from keys.shrink import shrunk
from keys.starts import STARTS
from keys.tally import Tally, told
from keys.verdict import Outcome, judge
from support.terminal import PATIENCE_S

_LAST_S = 0.1


@dataclass(frozen=True)
class Player:
    """Plays sessions below a folder of its own.

    Args:
        below: Where everything is written; it may be thrown away afterwards.
        command: Another program to drive.
        patience_s: How long the program may take to answer.
    """

    below: Path
    command: tuple[str, ...] = ()
    patience_s: float = PATIENCE_S

    def play_all(self, chain: Sequence[Plan]) -> list[tuple[Plan, Outcome]]:
        """Play sessions of which each goes on where the one before has ended."""
        outcomes, home = [], self._begin(chain[0])
        for plan in chain:
            outcome = self.play(plan, home)
            outcomes.append((plan, outcome))
            if outcome.faults:
                # What is broken would be found again in the next one.
                home = self.folder()
        return outcomes

    def shortest(self, chain: Sequence[Plan], fault: str, sends: Sequence[Send]) -> Sequence[Send]:
        """The fewest of the sends of the last session that still lead to the fault."""
        before = self._begin(chain[0])
        for plan in chain[:-1]:
            if self.play(plan, before).faults:
                before = self.folder()

        def fails(fewer: Sequence[Send]) -> bool:
            home = shutil.copytree(before, self.folder(), dirs_exist_ok=True)
            return fault in self.play(chain[-1], home, fewer).faults

        return shrunk(fails, sends)

    def _begin(self, plan: Plan) -> Path:
        """A folder as a session finds it that does not go on."""
        home = self.folder()
        prepare = STARTS[plan.start].prepare
        if prepare is not None:
            prepare(home)
        return home

    def folder(self) -> Path:
        """A folder of its own, with nothing in it."""
        return Path(mkdtemp(prefix="home-", dir=self.below))

    def play(self, plan: Plan, home: Path, sends: Iterable[Send] | None = None) -> Outcome:
        """Play a session.

        Args:
            plan: What it does.
            home: The folder it begins in.
            sends: What is sent; as the plan has it when left out.
        """
        outcome = Outcome()
        start = STARTS[plan.start]
        command = self.command or start.command(home)
        with Console(command, home, plan.size, self.patience_s) as console:
            try:
                start.lead(console, plan.rng("start"))
                for number, send in enumerate(sends or [None] * plan.sends):
                    if console.over:
                        outcome.left_early = True
                        break
                    outcome.pages.add(console.text.strip().partition("\n")[0].partition("  ")[0])
                    outcome.sends.append(
                        send or next_send(plan.rng(number), plan.kinds, console.text, console.size)
                    )
                    console.do(outcome.sends[-1])
                outcome.leaving_s = console.leave(by_signal=plan.by_signal)
            except AssertionError as error:
                outcome.faults.append(str(error).partition("\n")[0])
                outcome.screen = console.text
                console.child.kill(9)
            console.drain(_LAST_S)
            outcome.screen = outcome.screen or console.text
            judge(outcome, console, home)
        return outcome


def play(
    player: Player,
    chains: Iterable[Sequence[Plan]],
    *,
    jobs: int = 1,
    shrink: bool = False,
    tell: Callable[[str], None],
) -> Tally:
    """Play sessions and add them up.

    Args:
        player: Plays them.
        chains: The sessions, those together that go on after each other.
        jobs: How many are played at the same time.
        shrink: Whether to find out which sends it takes to go wrong, which needs dozens of tries.
        tell: Takes a line on each session, and all that is known of one that went wrong.
    """
    tally = Tally()
    with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as pool:
        waiting = {pool.submit(player.play_all, chain): chain for chain in chains}
        for done in as_completed(waiting):
            for place, (plan, outcome) in enumerate(done.result(), start=1):
                tally.add(plan, outcome)
                tell(told(plan, outcome))
                if shrink and outcome.faults:
                    few = player.shortest(waiting[done][:place], outcome.faults[0], outcome.sends)
                    tell("\n".join(("     it takes:", *(f"       {send!r}" for send in few))))
    return tally
