"""The log of one piece: its file read whole, what the calculations say, and the plan that goes on from it.

The reading and the reckoning are `readings` and `log`, which the page shares; here their faults get a file
and a line, and their codes sentences.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import cached_property
from pathlib import Path

from handbook_calc.engine import cells, steps
from handbook_calc.engine.bench import Answer, Bench
from handbook_calc.engine.calculation import CATALOGUE, worded
from handbook_calc.engine.entries import ASKED
from handbook_calc.engine.faults import CalculationFault, Fault, HouseFaults, brief, printable
from handbook_calc.engine.house import House
from handbook_calc.engine.planning import DAY, Plan, Planned

BEGIN = datetime(2000, 1, 1)  # hours of a log are counted from here
LARGEST = 2_000_000  # bytes of a file
TOO_LARGE = f"holds more than {LARGEST // 1_000_000} MB, which no log does"
BATHS = "electrolysis"  # the step whose end the readings of the baths foretell


def path_of(piece: Path) -> Path:
    """Return where the log of a piece lies: beside the piece's own file, under its name."""
    return piece.with_suffix(".csv")


def shown_log(path: Path) -> str:
    """Return a log's file as messages name it: from the working folder, where it lies inside."""
    here, there = Path.cwd().resolve(), path.resolve()
    return there.relative_to(here).as_posix() if there.is_relative_to(here) else path.as_posix()


def hours_at(moment: datetime) -> float:
    """Return a time of the bench's clock as hours of a log."""
    return (moment - BEGIN) / timedelta(hours=1)


def moment_of(hours: float) -> datetime:
    """Return hours of a log as a time of the bench's clock, to the minute."""
    return BEGIN + timedelta(minutes=round(hours * 60))


def written(hours: float) -> str:
    """Return hours of a log as people read them."""
    return f"{moment_of(hours):%Y-%m-%d %H:%M}"


# --- the file ----------------------------------------------------------------------------------


def read(path: Path, shown: str = "") -> list[dict]:
    """Return every entry of a log's file in order of its rows.

    Arguments:
        shown: the file as messages name it.

    Raises:
        HouseFaults: every fault of it, each with its line.
        FileNotFoundError: there is no such file.
    """
    name = shown or shown_log(path)
    try:
        if path.stat().st_size > LARGEST:
            raise cells.BadCells(1, TOO_LARGE)
        text = cells.text_of(path)
    except cells.BadCells as bad:
        raise HouseFaults([Fault(name, bad.line, bad.told)]) from None
    return read_text(text, name)


def read_text(text: str, name: str) -> list[dict]:
    """Return every entry of the text of a log; `name` and errors are those of `read`."""
    from handbook_calc import readings

    try:
        if len(text.encode("utf-8", "surrogatepass")) > LARGEST:
            raise cells.BadCells(1, TOO_LARGE)
        for _ in cells.rows_of(text):  # told before anything is made of it
            pass
    except cells.BadCells as bad:
        raise HouseFaults([Fault(name, bad.line, bad.told)]) from None
    found = readings.cells_of(text)
    if found["fault"]:
        raise HouseFaults([Fault(name, *found["fault"])])
    log = readings.read_log(found["lines"], found["rows"])
    if log["faults"]:
        faults = [Fault(name, line, f"{column}: {printable(told)}") for line, column, told in log["faults"]]
        raise HouseFaults(faults)
    return log["entries"]


# --- what it says ------------------------------------------------------------------------------


@dataclass(frozen=True)
class Said:
    """What one calculation says of a log: its answer, or why there is none."""

    name: str
    answer: Answer | None
    lacks: str = ""
    refused: str = ""

    @property
    def title(self) -> str:
        """Return what is asked, as the calculation says it."""
        return CATALOGUE[self.name].title

    def plain(self) -> dict:
        """Return it as plain data."""
        if self.answer is not None:
            return self.answer.plain()
        return {"lacks": self.lacks} if self.lacks else {"refused": self.refused}


@dataclass(frozen=True)
class Log:
    """The log of one piece.

    Attributes:
        house: the standard with the piece laid over it.
        file: its file, as messages name it.
        entries: every row of it, by number.
        now: the hour for which it is asked.
    """

    house: House
    file: str
    entries: list[dict]
    now: float

    @property
    def number(self) -> str:
        """Return the number of the piece."""
        return self.house["piece.number"]

    @cached_property
    def standing(self) -> list[dict]:
        """Return the entries that count, in order of time."""
        from handbook_calc import readings

        return readings.standing(self.entries)

    @cached_property
    def facts(self) -> dict:
        """Return the facts and house values that the log's functions read."""
        return facts(self.house)

    @cached_property
    def findings(self) -> list[str]:
        """Return what cannot be true, and what takes a reading's worth away."""
        from handbook_calc import log, readings

        wrong = readings.impossible(self.entries)
        found = log.findings(self.standing, wrong, self.facts, self.now)
        return [worded(log.FINDINGS[code[0]], {}, tuple(code[1:])) for code in found]

    @cached_property
    def said(self) -> dict[str, Said]:
        """Return what each calculation says, by its name."""
        return {name: self._ask(name) for name in ASKED}

    @property
    def editions(self) -> Counter:
        """Return how many rows were read by each edition of the house standard."""
        return Counter(entry["edition"] for entry in self.entries)

    def stops(self) -> bool:
        """Tell whether a verdict says stop."""
        return any(said.answer.stops() for said in self.said.values() if said.answer)

    def _ask(self, name: str) -> Said:
        asked = ASKED[name]
        try:
            code, inputs = asked.kernel(self.standing, self.facts, self.now)
            if code:
                return Said(name, None, lacks=worded(asked.lacks[code[0]], {}, tuple(code[1:])))
            given = {key: value for key, value in inputs.items() if value is not None}
            return Said(name, Bench(self.house).answer(name, **given))
        except CalculationFault as fault:
            return Said(name, None, refused=getattr(fault, "message", str(fault)))

    def plain(self) -> dict:
        """Return the log as plain data, as the command line prints it."""
        return {
            "piece": self.number,
            "file": self.file,
            "at": written(self.now),
            "rows": len(self.entries),
            "standing": [entry["row"] for entry in self.standing],
            "editions": dict(self.editions),
            "findings": self.findings,
            "answers": {name: said.plain() for name, said in self.said.items()},
        }


def keys() -> tuple[str, ...]:
    """Return the facts and house values that the functions of a log read."""
    from handbook_calc import log

    kernels = (log.findings, *(asked.kernel for asked in ASKED.values()))
    return tuple(dict.fromkeys(key for kernel in kernels for key in steps.keys_read(kernel)))


def facts(standard: House) -> dict:
    """Return the facts and house values that the functions of a log read, by key."""
    values = {key: standard.entries[key].value for key in keys() if key in standard.entries}
    return {key: list(value) if isinstance(value, tuple) else value for key, value in values.items()}


def load(standard: House, piece: Path, now: datetime | None = None, shown: str = "") -> Log | None:
    """Return the log beside a piece's file; None where there is none.

    Arguments:
        now: the time for which it is asked; that of its last reading where it is not given.

    Raises:
        HouseFaults: what is wrong in it, each fault with its line.
    """
    path = path_of(piece)
    name = shown or shown_log(path)
    try:
        entries = read(path, name)
    except FileNotFoundError:
        return None
    last = max((entry["at"] for entry in entries), default=0.0)
    return Log(standard, name, entries, hours_at(now) if now else last)


# --- the plan that goes on ---------------------------------------------------------------------


@dataclass(frozen=True)
class State:
    """Where a step of the plan stands: done, not marked, under way, late, due or ahead; when it was due."""

    word: str
    due: float


@dataclass(frozen=True)
class Continued(Plan):
    """A plan that goes on from a log.

    Attributes:
        log: the log.
        states: where each step on the way of the piece stands; empty where the log has no row that counts.
    """

    log: Log | None = None
    states: Mapping[str, State] = field(default_factory=dict)

    def plain(self) -> dict:
        """Return the plan as plain data, with where each step stands."""
        found = super().plain()
        for step in found["steps"]:
            state = self.states.get(step["id"])
            if state:
                step |= {"state": state.word, "due": self.day(state.due)}
        return found


def continued(plan: Plan, log: Log) -> Continued:
    """Return a plan with the days of its steps as the log has them, and its work from there on."""
    from handbook_calc import log as logs

    given = {name: getattr(plan, name) for name in ("house", "grade", "refused", "totals", "takes")}
    if not log.standing:
        return Continued(**given, steps=plan.steps, start=plan.start, log=log)
    start = plan.start or moment_of(log.standing[0]["at"]).date()
    zero = hours_at(datetime.combine(start, datetime.min.time()))
    chain = [p for p in plan.steps if p.applies and p.begin is not None and not p.step.beside]
    planned = [[p.begin, p.end, DAY * max(p.takes.high, p.takes.value)] for p in chain]
    marked = [
        [None if at is None else at - zero for at in pair]
        for pair in logs.marks(log.standing, [p.step.id for p in chain])
    ]
    forecast = [_foretold(log, zero) if p.step.id == BATHS else None for p in chain]
    found = logs.states(planned, marked, forecast, log.now - zero)
    moved = {p.step.id: row for p, row in zip(chain, found, strict=True)}
    steps_now = tuple(_moved(p, moved.get(p.step.beside or p.step.id)) for p in plan.steps)
    states = {id: State(row[0], row[3]) for id, row in moved.items()}
    return Continued(**given, steps=steps_now, start=start, log=log, states=states)


def _foretold(log: Log, zero: float) -> float | None:
    """Return the end of the baths by the readings, in the plan's hours."""
    said, baths = log.said.get("stop-forecast"), [e for e in log.standing if e["what"] == "chloride"]
    if not said or not said.answer or not baths:
        return None
    return baths[-1]["at"] - zero + DAY * float(said.answer.results["days_to_go"])


def _moved(planned: Planned, row: list | None) -> Planned:
    """Return a step on the days that the log gives it; what is done asks for no more hands."""
    if row is None or planned.begin is None:
        return planned
    word, begin, end, _ = row
    shift = DAY * (begin // DAY - planned.begin // DAY)
    hands = () if word in ("done", "not marked") else planned.hands
    return replace(
        planned, begin=begin, end=end, hands=tuple((first + shift, last + shift) for first, last in hands)
    )


# --- adding a row ------------------------------------------------------------------------------


def added(standard: House, piece: Path, given: dict[str, str], now: datetime) -> str:
    """Add one row to the log of a piece; return it as written.

    Arguments:
        given: cells by column; what is left out follows by itself: the row, the day, the edition.
        now: the time that it gets where none is given.

    Raises:
        HouseFaults: the log or the new row is at fault; the file is then as it was.
        OSError: the file cannot be written.
    """
    from handbook_calc import readings

    path = path_of(piece)
    try:
        entries, text = read(path), cells.text_of(path)
    except FileNotFoundError:
        entries, text = [], f"{readings.heading_line()}\n"
    number = str(int(readings.next_row(entries)))
    edition = standard["house.edition"]
    row = {"row": number, "when": f"{now:%Y-%m-%d %H:%M}", "edition": edition} | given
    line = readings.row_text(*(row.get(name, "") for name in readings.NAMES))
    places = readings.places_of(readings.NAMES)
    found = readings.read_row([row.get(name, "") for name in readings.NAMES], places)
    if found[0] == "fault":
        told = f"{found[1]}: {brief(found[2])} {found[3]}".replace(":  ", ": ")
        raise HouseFaults([Fault(shown_log(path), 1 + text.count("\n"), told)])
    if text.splitlines()[0] != readings.heading_line():
        told = f"heading: a row is added only below the heading {readings.heading_line()}"
        raise HouseFaults([Fault(shown_log(path), 1, told)])
    ended = text if text.endswith("\n") else f"{text}\n"
    read_text(ended + line, shown_log(path))  # nothing is added that would make the log unreadable
    with path.open("a", encoding="utf-8", newline="") as file:
        file.write(("" if text.endswith("\n") else "\n") + line if path.stat().st_size else text + line)
    return line
