"""The command line: check the house standard, run a calculation, print a table, keep editions."""

import argparse
import io
import json
import sys
from datetime import date, datetime, time
from pathlib import Path

from handbook_calc import log_commands, piece
from handbook_calc.engine import diary, house, places, sheet, stages
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.faults import (
    BadDeclaration,
    CalculationFault,
    HouseFaults,
    PageFault,
    RecordFault,
    brief,
    unknown,
)
from handbook_calc.engine.fields import Day, Quantity, Rows
from handbook_calc.engine.planning import Plan, plan_of
from handbook_calc.engine.plot import PLOTS
from handbook_calc.engine.tables import TABLES

DONE, FAULTY, STOPPED = 0, 2, 3  # exit statuses


class Fault(Exception):
    """One clear line for stderr; the exit status is 2."""


def main(arguments: list[str] | None = None) -> int:
    """Run one command; return the exit status.

    0 for an answer, 2 for a refusal or bad input with the line on stderr, 3 for an answer whose verdict
    is a stop: it is printed like any other.
    """
    parser = _parser()
    asked, left = parser.parse_known_args(arguments)
    if hasattr(asked, "words"):  # argparse stops at an option; what stands behind it belongs here too
        asked.words += [text for text in left if not text.startswith("-")]
        left = [text for text in left if text.startswith("-")]
    if left:
        parser.error(f"unrecognized arguments: {' '.join(map(brief, left))}")
    try:
        stages.load()
        return asked.run(asked)
    except (HouseFaults, BadDeclaration) as faults:
        print(faults, file=sys.stderr)
    except (Fault, CalculationFault, RecordFault, PageFault) as fault:
        print(fault, file=sys.stderr)
    return FAULTY


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m handbook_calc", description=__doc__)
    standard = argparse.ArgumentParser(add_help=False)
    standard.add_argument(
        "--house", type=Path, metavar="FILE", help="a file of differences laid over the house standard"
    )
    shared = argparse.ArgumentParser(add_help=False, parents=[standard])
    shared.add_argument(
        "--piece", type=Path, metavar="FILE", help="a file with the facts of a piece; default is the example"
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    check = commands.add_parser("check", parents=[shared], help="check the house standard")
    check.set_defaults(run=run_check)

    calc = commands.add_parser("calc", parents=[shared], help="run one calculation")
    calc.add_argument(
        "words", nargs="*", metavar="NAME key=value", help='name first, then for example area="120 cm^2"'
    )
    calc.add_argument("--list", action="store_true", help="every calculation with inputs and results")
    calc.add_argument("--json", action="store_true", help="print JSON")
    calc.set_defaults(run=run_calc)

    table = commands.add_parser("table", parents=[shared], help="print one table")
    table.add_argument("id", nargs="?", metavar="ID")
    table.add_argument("--list", action="store_true", help="every table with its question")
    form = table.add_mutually_exclusive_group()
    form.add_argument("--csv", action="store_true", help="print CSV")
    form.add_argument("--json", action="store_true", help="print JSON")
    table.set_defaults(run=run_table)
    _plan_commands(commands, standard)
    _keeper_commands(commands, shared)
    return parser


def _keeper_commands(commands, shared) -> None:
    """Add what the keeper of the standard asks for; see `keeper`."""
    record = commands.add_parser("record", parents=[shared], help="record every value of an edition")
    record.add_argument("edition", metavar="EDITION", help="its name, as house.edition has it")
    record.add_argument("--again", action="store_true", help="replace a record of this edition that differs")
    record.set_defaults(run=lambda asked: _keeper().record(asked))

    changes = commands.add_parser("changes", parents=[shared], help="every value that is not as recorded")
    changes.add_argument("--since", metavar="EDITION", help="the recorded edition to compare with")
    changes.add_argument(
        "--set", action="append", default=[], metavar="KEY=VALUE", help="try a house value that is not saved"
    )
    changes.add_argument(
        "--between", nargs=2, type=Path, metavar="FILE", help="two files of differences on one standard"
    )
    changes.add_argument("--json", action="store_true", help="print JSON")
    changes.set_defaults(run=lambda asked: _keeper().changes(asked))

    sheets = commands.add_parser("sheets", parents=[shared], help="which printed sheets no longer hold")
    sheets.add_argument("--printed", metavar="SHEET", help="enter a sheet that was printed, with --place")
    sheets.add_argument("--place", metavar="WHERE", default="", help="where it hangs")
    sheets.add_argument("--taken-down", nargs=2, metavar=("SHEET", "COPY"), help="strike a copy out")
    sheets.add_argument("--json", action="store_true", help="print JSON")
    sheets.set_defaults(run=lambda asked: _keeper().sheets(asked))

    new = commands.add_parser("new", help="a bench of one's own: a folder that builds with this handbook")
    new.add_argument("folder", type=Path, metavar="FOLDER")
    new.add_argument("--name", default="Our bench", help="name of the bench, as printed on every page")
    new.set_defaults(run=lambda asked: _keeper().new(asked))


def _keeper():
    from handbook_calc import keeper  # not needed for a calculation, which scripts run by the hundred

    return keeper


def _plan_commands(commands, standard) -> None:
    """Add what plans the work on a piece."""
    plan = commands.add_parser("plan", parents=[standard], help="plan what is done with a piece, and when")
    plan.add_argument("file", type=Path, metavar="FILE", help="the piece's file, below docs/pieces")
    plan.add_argument("--start", type=_day, metavar="DATE", help="the first day; default is the piece's own")
    plan.add_argument("--json", action="store_true", help="print JSON")
    plan.add_argument("--calendar", type=Path, metavar="FILE", help="write the hands-on work as a calendar")
    plan.set_defaults(run=run_plan)

    today = commands.add_parser(
        "today", parents=[standard], help="what is to be done on a day, of all pieces"
    )
    today.add_argument(
        "files", nargs="*", type=Path, metavar="FILE", help="default is every piece of the bench"
    )
    today.add_argument("--date", type=_day, metavar="DATE", help="another day")
    today.set_defaults(run=run_today)
    pieces = log_commands.Pieces(_with_piece, lambda: house.piece_files(places.own_docs()))
    log_commands.add(commands, standard, pieces, _day)


def _day(text: str) -> date:
    """Return a day of the calendar for an option."""
    try:
        Day("date", "a day").check(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"{brief(text)} {error}") from None
    return date.fromisoformat(text)


def _standard(asked) -> house.House:
    """Return the house standard with the piece that was named, or with the example, laid over it."""
    if asked.piece is None:
        return house.load(overlay=asked.house or places.differences())
    return _with_piece(asked, asked.piece)


def _with_piece(asked, file: Path) -> house.House:
    """Return the house standard with a piece's file laid over it; what the bench cannot do is no fault."""
    standard = house.load(overlay=asked.house or places.differences(), piece=file, asking=True)
    piece.check_facts(standard)
    return standard


def run_check(asked) -> int:
    """Print ``ok`` and the edition; faults are raised by loading."""
    standard = _standard(asked)
    faults, refused = [], []
    for kind, declared in [("table", t) for t in TABLES.values()] + [("plot", p) for p in PLOTS.values()]:
        try:
            computed = declared.compute(standard)
            for told in computed.places_refused():
                refused.append(f"note: {kind} '{declared.id}' is refused in its place: {told}")
        except ValueError as fault:
            faults.append(str(fault))
    faults += _keeper().not_raised(standard)
    if asked.piece is None:
        faults += _faults_of_pieces(asked)
    if faults:
        raise Fault("\n".join(faults))
    files = ", ".join(str(path) for path in (*standard.files, standard.piece))
    for line in [*refused, *_keeper().notes()]:
        print(line)
    for misfit in standard.misfits:
        print(f"note: this bench cannot do it for {standard['piece.number']}: {misfit}")
    values = {key: entry for key, entry in standard.entries.items() if not house.is_of_piece(key)}
    silent = [key for key, entry in values.items() if not entry.grade]
    grades = ", ".join(f"{grade}:" for grade in house.GRADES)
    told = f"; {len(silent)} of them do not say what they rest on: begin the reason with {grades}"
    draft = "" if standard["house.status"] == "approved" else ", a draft, not for the bench"
    edition = f"edition {standard.edition}{draft}"
    print(f"ok: {len(values)} values, {edition} ({files}){told if silent else ''}")
    return DONE


def _faults_of_pieces(asked) -> list[str]:
    """Return what is wrong in the files of the bench's pieces."""
    faults = []
    for file in house.piece_files(places.own_docs()):
        try:
            _with_piece(asked, file)
        except HouseFaults as found:
            faults += map(str, found.faults)
    return faults


def run_calc(asked) -> int:
    """Run one calculation, or list them all."""
    if asked.list:
        return _list_calculations(asked)
    if not asked.words:
        raise Fault("name a calculation, or ask for --list")
    calculation, *arguments = asked.words
    if calculation not in CATALOGUE:
        raise Fault(f"{unknown('calculation', calculation, CATALOGUE)}; see calc --list")
    written = {}
    for argument in arguments:
        name, equals, value = argument.partition("=")
        if not equals:
            takes = ", ".join(CATALOGUE[calculation].names)
            raise Fault(
                f"{calculation}: '{brief(argument)}' is not written key=value, as in area=\"120 cm^2\"; "
                f"it takes {takes}"
            )
        if name in written:
            raise Fault(f"{calculation}: {brief(name)} is given twice; keep one of them")
        written[name] = value
    answer = Bench(_house_for(asked, calculation, written)).ask(calculation, **written)
    if asked.json:
        print(json.dumps(answer.plain(), ensure_ascii=False, indent=2))
    else:
        _print(answer)
    return STOPPED if answer.stops() else DONE


def _print(answer) -> None:
    given = answer.given()
    for declared in answer.calculation.results:
        value = answer.results[declared.name]
        print(f"{declared.name}: {answer.show(declared.name, given)}")
        if hasattr(declared, "words") and value is not None:
            print(f"  {declared.sentence(value, given)}")
        for note in answer.notes(declared.name):
            print(f"  {note}")
    if answer.refused_share():
        print(f"refused: {answer.refused_share()}")
    print("working:")
    for step in answer.working():
        print(f"  {step}")
    print(f"source: {', '.join(answer.calculation.sources)}")


def _house_for(asked, calculation: str, written: dict):
    """Return the house standard, or None where no argument's default needs it."""
    needed = any(d.house and d.name not in written for d in CATALOGUE[calculation].inputs)
    return _standard(asked) if needed or asked.house or asked.piece else None


def _list_calculations(asked) -> int:
    if asked.json:
        print(json.dumps([_declared(c) for c in CATALOGUE.values()], ensure_ascii=False, indent=2))
        return DONE
    for calculation in CATALOGUE.values():
        print(f"{calculation.name}: {calculation.title}")
        for d in calculation.inputs:
            default = f"; default {d.house}" if d.house else ""
            default += "; may be left out" if d.optional else ""
            print(f"  {d.name} [{d.unit}]: {d.allowed()}{default}")
        for r in calculation.results:
            print(f"  -> {r.name} [{r.unit}]")
    return DONE


def _declared(calculation) -> dict:
    return {
        "name": calculation.name,
        "title": calculation.title,
        "stage": calculation.stage,
        "inputs": [_declared_input(d) for d in calculation.inputs],
        "results": [{"name": r.name, "unit": r.unit, "about": r.about} for r in calculation.results],
        "assumes": list(calculation.assumes),
        "source": list(calculation.sources),
    }


def _declared_input(declared) -> dict:
    entry = {"name": declared.name, "unit": declared.unit, "about": declared.about}
    if isinstance(declared, Quantity):
        entry |= {"low": declared.low, "high": declared.high}
    elif isinstance(declared, Rows):
        entry["columns"] = [_declared_input(column) for column in declared.columns]
    elif hasattr(declared, "names"):
        entry["options"] = list(declared.names())
    entry["allowed"] = declared.allowed()
    if declared.house:
        entry["default"] = declared.house
    entry["optional"] = bool(declared.optional or declared.house)
    return entry


def run_table(asked) -> int:
    """Print one table, or list them all."""
    if asked.list:
        for declared in TABLES.values():
            print(f"{declared.id}: {declared.question}")
        return DONE
    if not asked.id:
        raise Fault("name a table, or ask for --list")
    if asked.id not in TABLES:
        raise Fault(f"{unknown('table', asked.id, TABLES)}; see table --list")
    filled = TABLES[asked.id].compute(_standard(asked))
    if asked.csv:
        print(filled.csv(), end="")
    elif asked.json:
        print(json.dumps(filled.plain(), ensure_ascii=False, indent=2))
    else:
        print(filled.text())
    return DONE


def _plan(asked, file: Path, start: date | None = None, now: datetime | None = None) -> Plan:
    """Return the plan of a piece's file, as it goes on from its log where it has one."""
    return log_commands.going_on(plan_of(_with_piece(asked, file), start), file, now)


def run_plan(asked) -> int:
    """Print the plan of a piece; the status is that of a stop where the whole route is refused."""
    plan = _plan(asked, asked.file, asked.start)
    if asked.calendar and not plan.refused:
        if plan.start is None:
            raise Fault(
                "a calendar needs a first day: write wanted.start into the piece's file, or --start DATE"
            )
        try:
            asked.calendar.write_bytes(diary.calendar(plan))
        except OSError as error:
            raise Fault(f"{asked.calendar} cannot be written: {error.strerror}") from None
    if asked.json:
        print(json.dumps(plan.plain(), ensure_ascii=False, indent=2))
    else:
        print("\n".join([sheet.text(plan), *log_commands.standing(plan)]))
    if asked.calendar and plan.refused:
        print(f"{asked.calendar} is not written: the whole route is refused", file=sys.stderr)
    return STOPPED if plan.refused else DONE


def run_today(asked) -> int:
    """Print what is to be done on a day with all pieces."""
    files = asked.files or house.piece_files(places.own_docs())
    day = asked.date or date.today()
    now = datetime.now() if day == date.today() else datetime.combine(day, time(12))
    plans = [_plan(asked, file, now=now) for file in files]
    print("\n".join([sheet.day_text(plans, day), *log_commands.of_day(plans)]))
    return DONE


if __name__ == "__main__":
    for stream in (sys.stdout, sys.stderr):
        # Units hold µ and °, whatever the console's own code page; an argument may hold any byte.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    try:
        sys.exit(main())
    except BrokenPipeError:  # the reader of the output, such as `head`, has seen enough
        sys.stderr.close()
