"""``practice``: simulated patients from the command line, and what a class hands in."""

from __future__ import annotations

import argparse
import random
import re
import sys
from collections.abc import Callable
from pathlib import Path

from screen_tui.cli.arguments import STANDARD, Parser, a_path, writes_file
from screen_tui.cli.input import preferences, protocol_folders
from screen_tui.cli.output import put
from screen_tui.errors import FileRefusedError, NotFoundError, Problem, ScreenError
from screen_tui.files.places import own_cases_folder, practice_cases_folder, practice_runs_folder
from screen_tui.files.reasons import no_such
from screen_tui.files.text import harmless, tell
from screen_tui.files.toml import read_toml, toml_files
from screen_tui.practice.drawn import DIFFICULTIES, MOST_SEED, NOBODY, REFERRAL, drawn_case
from screen_tui.practice.files import (
    RUN_KEY,
    RunStore,
    assignment_text,
    case_text,
    load_practice,
    run_in,
    take,
)
from screen_tui.practice.run import (
    MOST_ASSIGNED,
    Assignment,
    PracticeRun,
    ToDraw,
    class_table,
    patient_id,
    seeds_of,
    series_numbers,
)
from screen_tui.protocol.loader import load_protocol
from screen_tui.protocol.model import ScreenProtocol

_NAME = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


def add_arguments(command: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    does = command.add_subparsers(dest="does", required=True, metavar="WHAT", parser_class=Parser)
    does.add_parser("list", help="list the cases, and how often each was done")
    taking = does.add_parser("take", help="put lists and cases of a teacher on the page Practice")
    taking.add_argument("paths", type=a_path, nargs="+", metavar="PATH", help="files, or a folder")
    new = does.add_parser("new", help="draw a patient and write the case")
    _takes_drawing(new)
    new.add_argument("--seed", type=_SEED, help="the same seed and choices give the same patient")
    writes_file(new)
    assign = does.add_parser("assign", help="write a list of patients for a class")
    assign.add_argument("--title", default="Assigned", help="what the list is called")
    assign.add_argument("--case", action="append", default=[], metavar="ID", help="a case; again")
    assign.add_argument(
        "--count", type=_a_number("count", 1, MOST_ASSIGNED), default=0, help="how many are drawn"
    )
    assign.add_argument("--seed", type=_SEED, default=1, help="the first seed")
    _takes_drawing(assign)
    writes_file(assign)
    table = does.add_parser("table", help="write the runs of a class as one table")
    table.add_argument("folder", type=a_path, metavar="DIR", help="the runs that were handed in")
    table.add_argument("--csv", action="store_true", required=True, help="comma-separated values")
    writes_file(table)


def _takes_drawing(command: argparse.ArgumentParser) -> None:
    command.add_argument("--driver", default="", help="a driver; without it the seed decides")
    command.add_argument("--difficulty", choices=DIFFICULTIES, default="easy")


def _a_number(what: str, least: int, most: int) -> Callable[[str], int]:
    def of(given: str) -> int:
        if given.isascii() and given.isdecimal() and least <= int(given) <= most:
            return int(given)
        raise argparse.ArgumentTypeError(f"a {what} is a number from {least} to {most}")

    return of


_SEED = _a_number("seed", 0, MOST_SEED)


def run(arguments: argparse.Namespace) -> int:
    """Do what was asked.

    Raises:
        ScreenError: Something is missing, cannot be used or cannot be written.
    """
    if arguments.does == "table":
        return _table(arguments)
    wished = preferences()
    protocol = load_protocol(protocol_folders(arguments, wished), wished.now.protocol)
    if arguments.does == "list":
        return _list(arguments, protocol)
    if arguments.does == "take":
        return _take(arguments, protocol)
    _known_driver(arguments.driver, protocol)
    return (_new if arguments.does == "new" else _assign)(arguments, protocol)


def _known_driver(driver: str, protocol: ScreenProtocol) -> None:
    known = [one.id for one in protocol.drivers]
    if not known:
        raise NotFoundError(NOBODY)
    if driver not in ("", REFERRAL, *known):
        raise NotFoundError(no_such(driver, "driver of this protocol", known))


def _list(arguments: argparse.Namespace, protocol: ScreenProtocol) -> int:
    found = load_practice((practice_cases_folder(), own_cases_folder(arguments.sessions)), protocol)
    runs, _ = RunStore(practice_runs_folder(arguments.sessions)).found()
    for patient in found.patients:
        case_id = patient_id(patient, protocol)
        times = sum(run.case == case_id for run in runs)
        sys.stdout.write(f"{harmless(f'{case_id}: {patient.title}')} (done {times})\n")
    for problem in found.problems:
        tell(problem)
    return FileRefusedError.exit_code if found.problems else 0


def _take(arguments: argparse.Namespace, protocol: ScreenProtocol) -> int:
    folder = own_cases_folder(arguments.sessions)
    taken, code = 0, 0
    for given in arguments.paths:
        for path in toml_files(given, "the folder") if given.is_dir() else [given]:
            try:
                take(path, protocol, folder)
                taken += 1
            except ScreenError as error:
                tell(str(error))
                code = max(code, error.exit_code)
    tell(f"screen-tui: {taken} taken into {folder}; they are on the page Practice.")
    return code


def _new(arguments: argparse.Namespace, protocol: ScreenProtocol) -> int:
    seed = random.SystemRandom().randint(0, MOST_SEED) if arguments.seed is None else arguments.seed
    case = drawn_case(protocol, arguments.difficulty, seed, arguments.driver or None)
    if arguments.output != STANDARD:
        target = Path(arguments.output)
        if target.suffix != ".toml" or not _NAME.fullmatch(target.stem) or len(target.stem) > 48:
            raise NotFoundError(
                f"{target.name} cannot name a case: use small letters, digits and single hyphens, "
                "and .toml at the end."
            )
        case = case.model_copy(update={"id": target.stem})
    put(case_text(case).encode(), arguments, "the case")
    if arguments.seed is None:
        tell(f"screen-tui: the seed was {seed}.")
    return 0


def _assign(arguments: argparse.Namespace, protocol: ScreenProtocol) -> int:
    found = load_practice((practice_cases_folder(), own_cases_folder(arguments.sessions)), protocol)
    known = [one.id for one in found.patients if not isinstance(one, ToDraw)]
    for case_id in arguments.case:
        if case_id not in known:
            raise NotFoundError(no_such(case_id, "case", known))
    seeds = seeds_of(
        protocol, arguments.difficulty, arguments.seed, arguments.count, arguments.driver
    )
    if not seeds and not arguments.case:
        raise NotFoundError("Nothing to assign: name a case with --case, or how many with --count.")
    assigned = Assignment(
        title=arguments.title,
        cases=tuple(arguments.case),
        drawn=tuple(ToDraw(difficulty=arguments.difficulty, seed=seed) for seed in seeds),
    )
    put(assignment_text(assigned).encode(), arguments, "the list")
    return 0


def _table(arguments: argparse.Namespace) -> int:
    """Write the table; a file that cannot be counted is named, and the rest is written."""
    files = _files_of(arguments.folder)
    problems: list[str] = []
    runs: dict[str, tuple[Path, PracticeRun]] = {}
    for path in files:
        try:
            document = read_toml(path)
            if RUN_KEY not in document.data:
                continue
            one = run_in(document)
            if not one.student:
                reason = "has no student code; set it with c on the page Practice"
                raise FileRefusedError((document.problem(("student",), reason),))
            if not one.seal:
                reason = "comes from an earlier program and has no seal, so it is not counted"
                raise FileRefusedError((document.problem(("seal",), reason),))
            if one.id in runs:
                reason = f"is the run that {runs[one.id][0].name} holds too; counted once"
                raise FileRefusedError((document.problem(("id",), reason),))
            runs[one.id] = (path, one)
        except FileRefusedError as refusal:
            problems += [str(problem) for problem in refusal.problems]
        except ScreenError as error:
            problems.append(str(Problem(path, None, "", str(error))))
    for problem in problems:
        tell(problem)
    counted = [one for _, one in runs.values()]
    if not counted and not problems:
        raise NotFoundError(f"There is no practice run in {arguments.folder}.")
    for student, _ in [one for one, number in series_numbers(counted).items() if number == 2]:
        tell(
            f"screen-tui: {student} is the code of two students, or of one at two computers; the "
            "column series of the table tells their runs apart."
        )
    put(class_table(counted).encode(), arguments, "the table", files)
    return FileRefusedError.exit_code if problems else 0


def _files_of(folder: Path) -> list[Path]:
    """The TOML files of a folder and of the folders in it, by name."""
    if not folder.is_dir():
        raise NotFoundError(f"There is no folder {folder}.")
    try:
        return sorted(path for path in folder.rglob("*.toml") if not path.name.startswith("."))
    except OSError as error:
        reason = f"the folder cannot be read: {error.strerror}"
        raise FileRefusedError.at(folder, reason) from None
