"""The commands of the logs: what the readings of a piece say, and what all of them say of the bench."""

import argparse
import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path

from handbook_calc.engine import entries, log_sheet, logbook
from handbook_calc.engine.faults import BadInput, brief
from handbook_calc.engine.house import House
from handbook_calc.engine.planning import Plan, plan_of

DONE, STOPPED = 0, 3  # exit statuses


@dataclass(frozen=True)
class Pieces:
    """How a command gets at pieces: the standard with one laid over it, and the files of all."""

    load: Callable[[argparse.Namespace, Path], House]
    files: Callable[[], list[Path]]


def add(commands, standard: argparse.ArgumentParser, pieces: Pieces, day: Callable[[str], date]) -> None:
    """Add the commands ``log`` and ``learn``.

    Arguments:
        commands: what they are added to.
        standard: the parser of the options that name a house standard.
        pieces: how they get at pieces.
        day: reads a day of the calendar.
    """
    log = commands.add_parser("log", parents=[standard], help="what the readings of a piece say")
    log.add_argument("file", type=Path, metavar="FILE", help="the piece's file; its log lies beside it")
    log.add_argument("--date", type=day, metavar="DATE", help="as of the end of a day; default is now")
    log.add_argument("--add", action="append", metavar="COLUMN=CELL", help="add a row, one cell each time")
    log.add_argument("--json", action="store_true", help="print JSON")
    log.set_defaults(run=lambda asked: run_log(asked, pieces))

    learn = commands.add_parser("learn", parents=[standard], help="what all logs say of the bench itself")
    told = "default is every piece with a log"
    learn.add_argument("files", nargs="*", type=Path, metavar="FILE", help=told)
    learn.add_argument("--json", action="store_true", help="print JSON")
    learn.set_defaults(run=lambda asked: run_learn(asked, pieces))


def going_on(plan: Plan, file: Path, now: datetime | None = None) -> Plan:
    """Return a plan as it goes on from the log beside the piece's file, or as it is where there is none."""
    log = logbook.load(plan.house, file, now or datetime.now())
    return logbook.continued(plan, log) if log else plan


def standing(plan: Plan) -> list[str]:
    """Return where a plan stands by its log, a line each; nothing where it has none."""
    if not isinstance(plan, logbook.Continued):
        return []
    lines = (f"   {line}" for line in log_sheet.standing_lines(plan))
    return [f"By its log, {log_sheet.counted(plan)}.", *lines]


def of_day(plans: list[Plan]) -> list[str]:
    """Return what is late, due or under way by the logs of pieces, a line each."""
    return [
        f"   by its log     {plan.number}: {line}"
        for plan in plans
        if not plan.refused
        for line in log_sheet.standing_lines(plan)
    ]


def run_log(asked, pieces: Pieces) -> int:
    """Print what the readings of a piece say, or add a row to them; the status is that of a stop."""
    standard = pieces.load(asked, asked.file)
    now = datetime.combine(asked.date, time(23, 59)) if asked.date else datetime.now()
    path = logbook.path_of(asked.file)
    if asked.add:
        try:
            print(f"added: {logbook.added(standard, asked.file, _cells(asked.add), now)}", end="")
        except OSError as error:
            raise BadInput(f"{path} cannot be written: {error.strerror}") from None
        return DONE
    log = logbook.load(standard, asked.file, now)
    if log is None:
        heading = ",".join(entries.COLUMNS)
        raise BadInput(f"{path} is not there: begin the log with its heading, {heading}")
    plan = logbook.continued(plan_of(standard), log)
    if asked.json:
        told = {"steps": [step for step in plan.plain()["steps"] if "state" in step]}
        print(json.dumps(log.plain() | told, ensure_ascii=False, indent=2))
    else:
        print(log_sheet.text(log, plan))
    return STOPPED if log.stops() else DONE


def run_learn(asked, pieces: Pieces) -> int:
    """Print what the logs of all pieces say of the bench, and the lines for its house standard."""
    from handbook_calc import learning  # the stages that it rests on are loaded by now

    files = asked.files or [file for file in pieces.files() if logbook.path_of(file).is_file()]
    logs = []
    for file in {file.resolve(): file for file in files}.values():  # a log that is named twice counts once
        log = logbook.load(pieces.load(asked, file), file)
        if log is None:
            raise BadInput(f"{logbook.path_of(file)} is not there: this piece has no log to learn from")
        logs.append(log)
    if not logs:
        raise BadInput("no piece of this bench has a log yet: begin one with log FILE --add COLUMN=CELL")
    learnt = learning.learn(logs)
    if asked.json:
        print(json.dumps([one.plain() for one in learnt], ensure_ascii=False, indent=2))
    else:
        print(learning.text(logs, learnt))
    return DONE


def _cells(given: list[str]) -> dict[str, str]:
    """Return the cells of a row that is added, by column."""
    cells: dict[str, str] = {}
    for text in given:
        column, equals, cell = text.partition("=")
        if not equals or column not in entries.COLUMNS:
            known = ", ".join(entries.COLUMNS)
            raise BadInput(f"'{brief(text)}' is not written COLUMN=CELL; columns are {known}")
        if column in cells:
            raise BadInput(f"{column} is given twice; keep one of them")
        cells[column] = cell
    return cells
