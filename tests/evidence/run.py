"""Tries the rows of evidence: on people drawn from them, on the invented cases, cell by cell.

    .venv/bin/python tests/evidence/run.py calibration [--people 5000] [--seed WORD]
    .venv/bin/python tests/evidence/run.py sensitivity [--jobs 2] [--only TEST]
    .venv/bin/python tests/evidence/run.py vignettes

``calibration`` draws people from the rows and prints how often chances come true: it tries the
arithmetic, not the judgement in the rows. ``sensitivity`` halves and doubles the odds of each cell
and prints on which of them most answers to the invented cases hang. ``vignettes`` lists those cases
that do not come out as their writer said.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections import Counter
from multiprocessing import Pool
from pathlib import Path

PROGRESS_EVERY = 250
MOST_TOLD = 10


def main() -> int:
    """Try what was asked for and tell what came of it."""
    # A script finds what lies beside it; the helpers are imported as the tests import them.
    sys.path[0] = str(Path(__file__).resolve().parent.parent)
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    commands = parser.add_subparsers(dest="command", required=True)
    calibration = commands.add_parser("calibration", help="whether chances come true")
    calibration.add_argument("--people", type=int, default=5000, help="how many to draw")
    calibration.add_argument("--seed", default="knee", help="the same seed draws the same people")
    sensitivity = commands.add_parser("sensitivity", help="on which cells the answers hang")
    sensitivity.add_argument("--jobs", type=int, default=os.cpu_count() or 1, help="at a time")
    sensitivity.add_argument("--only", help="the cells of this test alone")
    commands.add_parser("vignettes", help="the invented cases that come out otherwise")
    arguments = parser.parse_args()
    if arguments.command == "calibration":
        tell_calibration(arguments.people, arguments.seed)
    elif arguments.command == "sensitivity":
        tell_sensitivity(arguments.jobs, arguments.only)
    else:
        tell_vignettes()
    return 0


def tell_calibration(people: int, seed: str) -> None:
    from evidence.calibration import TENTHS, calibrate

    from screen_tui.files.places import protocols_folder
    from screen_tui.protocol.loader import load_protocol

    def progress(number: int) -> None:
        if number % PROGRESS_EVERY == 0:
            _aside(f"{number} of {people}")

    result = calibrate(load_protocol([protocols_folder()]), people, seed, progress)
    _tell(f"{people} people drawn from the rows, seed {seed}")
    _tell("chance        drivers  mean chance  have it")
    for tenth, (count, chance, share) in enumerate(result.by_tenth()):
        band = f"{tenth * 10}-{(tenth + 1) * 100 // TENTHS}"
        _tell(f"{band:>7} %  {count:>9}  {100 * chance:>9.1f} %  {100 * share:>5.1f} %")
    _tell(f"Brier score {result.brier:.4f}; of the mere rate {result.brier_of_rate:.4f}")
    _tell(
        f"called likely {len(result.likely)}, of which {100 * result.share_of_likely:.1f} % have it"
    )
    _tell("This tries the arithmetic, not the judgement: the people are as the rows say.")


_READY: list[object] = []
"""What a process of its own needs for every cell: the protocol and the cases."""


def _make_ready() -> None:
    from evidence.sensitivity import case_of
    from vignettes.cases import EXPECTED, PROTOCOL, session_of

    cases = [case_of(PROTOCOL, name, session_of(name)) for name in sorted(EXPECTED)]
    _READY[:] = [PROTOCOL, [case for case in cases if case is not None]]


def _changed(place: tuple[str, int]) -> tuple[str, dict[str, object]]:
    from evidence.sensitivity import cells_of, changed_by

    protocol, cases = _READY
    test, number = place
    cell = list(cells_of(protocol.test(test)))[number]  # type: ignore[attr-defined]
    return f"{test} {cell.name}", changed_by(protocol, cell, cases)  # type: ignore[arg-type,return-value]


def tell_sensitivity(jobs: int, only: str | None) -> None:
    from evidence.sensitivity import cells_of
    from vignettes.cases import EXPECTED, PROTOCOL

    places = [
        (spec.id, number)
        for spec in PROTOCOL.tests
        if only in (None, spec.id)
        for number, _ in enumerate(cells_of(spec))
    ]
    changes: dict[str, dict[str, object]] = {}
    with Pool(jobs, _make_ready) as pool:
        for done, (name, changed) in enumerate(pool.imap_unordered(_changed, places, 4), start=1):
            changes[name] = changed
            if done % PROGRESS_EVERY == 0:
                _aside(f"{done} of {len(places)} cells")
    _tell(f"{len(places)} cells, each with its odds halved and doubled, {len(EXPECTED)} cases")
    of_cells = Counter(len(changed) for changed in changes.values())
    for answers, cells in sorted(of_cells.items()):
        _tell(f"{cells:>6} cells change the answer to {answers} cases")
    of_cases = Counter(case for changed in changes.values() for case in changed)
    _tell(f"{len(of_cases)} cases change their answer for one cell or another:")
    for case, cells in of_cases.most_common(MOST_TOLD):
        _tell(f"  {case}: for {cells} cells")
    _tell("Most answers hang on:")
    ranked = sorted(changes.items(), key=lambda item: (-len(item[1]), item[0]))
    for name, changed in ranked[:MOST_TOLD]:
        if changed:
            _tell(f"  {name}: {len(changed)} ({', '.join(case[:2] for case in sorted(changed))})")


def tell_vignettes() -> None:
    from vignettes.cases import (
        EXPECTED,
        PROTOCOL,
        confidently_wrong,
        drivers_right,
        outcome_right,
        session_of,
    )

    from screen_tui.engine import assess

    outcomes = drivers = wrong = 0
    for case in sorted(EXPECTED):
        found = assess(PROTOCOL, session_of(case))
        outcome, driver = outcome_right(case, found), drivers_right(case, found)
        outcomes, drivers = outcomes + outcome, drivers + driver
        wrong += confidently_wrong(case, found)
        if outcome and driver:
            continue
        expected = EXPECTED[case]
        named = ", ".join(
            f"{one.driver} {one.side or ''}".strip() + f" {one.chance:.2f}" for one in found.leading
        )
        wanted = zip(expected["driver"], expected["side"], strict=True)
        _tell(
            f"{case}: {'outcome' if not outcome else ''} {'driver' if not driver else ''}".rstrip()
        )
        _tell(f"  said: {found.outcome}; {named or 'no driver'}")
        _tell(
            f"  written: {' or '.join(expected['outcome_accepted'])}; "
            f"{', '.join(' '.join(one) for one in wanted) or 'no driver'}"
        )
    _tell(
        f"outcome right in {outcomes}, drivers in {drivers} of {len(EXPECTED)}; "
        f"{wrong} confidently wrong"
    )


def _tell(line: str) -> None:
    sys.stdout.write(f"{line}\n")


def _aside(line: str) -> None:
    sys.stderr.write(f"{line}\n")
    sys.stderr.flush()


if __name__ == "__main__":
    raise SystemExit(main())
