"""Several benches on one standard: their files of differences side by side.

A file of differences holds only what a bench does otherwise. Where a project has several, each builds a
handbook of its own; here they are compared, value by value, with the standard below them.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from handbook_calc.editions import of_the_edition
from handbook_calc.engine import house, places
from handbook_calc.engine.faults import Fault, HouseFaults
from handbook_calc.engine.house import Entry, House, is_of_piece
from handbook_calc.engine.memory import Memory
from handbook_calc.engine.registers import HOUSE_PAGE
from handbook_calc.engine.tables import Banner, Column, Link, Mark, Sheet, table

STAGE = "registers"
SAME, TIGHTER, LOOSER = "as the standard", "tighter", "looser"
OF_THE_HOUSE = ("house.", "approval.")  # who a bench is, and who answers for it


@dataclass(frozen=True)
class Benches:
    """Benches that lie over one standard.

    Attributes:
        base: the standard alone.
        files: the file of differences of each, as messages name it.
        houses: the standard with each of them over it.
    """

    base: House
    files: tuple[str, ...]
    houses: tuple[House, ...]

    @property
    def names(self) -> list[str]:
        """Return the names of the benches."""
        return [laid["house.name"] for laid in self.houses]

    @cached_property
    def keys(self) -> list[str]:
        """Return the values in which any bench differs, in the order of the standard."""
        every = dict.fromkeys(key for laid in (self.base, *self.houses) for key in laid.entries)
        order = list(dict.fromkeys(key.partition(".")[0] for key in every))
        found = (key for key in every if any(self.differs(laid, key) for laid in self.houses))
        return sorted(found, key=lambda key: order.index(key.partition(".")[0]))

    def differs(self, laid: House, key: str) -> bool:
        """Tell whether a bench has another value than the standard; what names a bench is no value."""
        if is_of_piece(key) or key.startswith(OF_THE_HOUSE):
            return False
        mine, base = laid.entries.get(key), self.base.entries.get(key)
        if mine and base and mine.written == base.written:
            return False
        return _shown(mine) != _shown(base)

    def became(self, laid: House, key: str) -> str:
        """Return what a bench makes of a limit of safety: `TIGHTER`, `LOOSER`; empty for any other value."""
        mine, base = laid.entries.get(key), self.base.entries.get(key)
        limit = mine and getattr(mine.field, "limit", "")
        if not (mine and base and limit) or mine.value == base.value:
            return ""
        return TIGHTER if (mine.value < base.value) == (limit == "most") else LOOSER

    @property
    def same(self) -> int:
        """Return how many values of the house are the same on every bench."""
        made = [key for key in self.base.entries if not is_of_piece(key) and not of_the_edition(key)]
        differ = set(self.keys)
        return sum(1 for key in made if key not in differ and not key.startswith(OF_THE_HOUSE))


def _shown(entry: Entry | None) -> str:
    return entry.show() if entry else "none"


def load(base: Path, files: Iterable[Path], root: Path, memory: Memory | None = None) -> Benches:
    """Return benches that are laid over one standard.

    Arguments:
        base: the file of the standard.
        files: of the differences.
        root: the folder that messages name files from.
        memory: of what was computed before; default is a new one for each.

    Raises:
        HouseFaults: every fault of all files, with file and line; and two benches of one name.
    """
    faults: list[Fault] = []
    found: dict[str, House] = {}
    names: dict[str, str] = {}
    for path in files:
        shown = house.named(path, root)
        try:
            laid = house.load(base, path, root, memory=memory)
        except HouseFaults as error:
            faults += [fault for fault in error.faults if fault not in faults]
            continue
        entry = laid.entry("house.name")
        twin = names.setdefault(entry.value, shown)
        if twin != shown:
            told = f"house.name: {entry.value} is the name of the bench of {twin} too; give each its own"
            faults.append(Fault(entry.file, entry.line, told))
        found[shown] = laid
    if faults:
        raise HouseFaults(faults)
    return Benches(house.load(base, root=root), tuple(found), tuple(found.values()))


def files_in(folder: Path) -> list[Path]:
    """Return the files of differences in a project's ``house``, or ``docs/benches``; of one alone, none."""
    for place in (folder / places.HOUSE, folder / "docs" / "benches"):
        found = sorted(place.glob("*.yml"))
        if len(found) > 1:
            return found
    return []


def _of(bench) -> Benches | None:
    """Return the benches of the handbook, or those of the working folder; None for a lone one."""
    if bench.usage and bench.usage.handbook:
        return bench.usage.handbook.benches
    files = files_in(Path.cwd())
    return load(house.standard_path(), files, Path.cwd()) if files else None


def _nothing() -> Sheet:
    note = "This project has one bench; a second file of differences in the folder house makes two."
    return Sheet([Column("Nothing to compare")], [["one bench"]], [note])


@table(
    "benches",
    title="The benches that work by this standard",
    question="Which benches work by this standard, and in how many values does each differ?",
    notes=(
        "A limit is a value that keeps somebody or a piece safe; tightened, it allows less than the "
        "standard.",
    ),
)
def benches_table(bench):
    """Each bench with its file and edition, how many values differ, and how many limits are tightened."""
    found = _of(bench)
    if found is None:
        return _nothing()
    titles = ("Bench", "File", "Edition", "State", "Values that differ", "Limits tightened")
    rows = []
    for file, laid in zip(found.files, found.houses, strict=True):
        differ = [key for key in found.keys if found.differs(laid, key)]
        tighter = sum(1 for key in differ if found.became(laid, key) == TIGHTER)
        status = laid["house.status"]
        state = Mark("go" if status == "approved" else "wait", status)
        rows.append([laid["house.name"], file, laid["house.edition"], state, len(differ), tighter])
    return Sheet([Column(title) for title in titles], rows)


@table(
    "bench-differences",
    title="What each bench does otherwise",
    question="What is done otherwise on which bench?",
    notes=(
        "Tighter: a limit of safety that allows less than the standard. Looser: one that allows more than "
        "the standard, and never more than the handbook's own ceiling.",
    ),
)
def bench_differences_table(bench):
    """Every value in which a bench differs: that of the standard, and beside it that of each bench."""
    found = _of(bench)
    if found is None:
        return _nothing()
    rows: list[list] = []
    section = ""
    for key in found.keys:
        if key.partition(".")[0] != section:
            section = key.partition(".")[0]
            rows.append([Banner(section)])
        cells = [_cell(found, laid, key) for laid in found.houses]
        link = Link(key, f"{HOUSE_PAGE}#house-{key}") if key in found.base.entries else key
        rows.append([link, _about(found, key), _shown(found.base.entries.get(key)), *cells])
    same = f"The other {found.same:,} values are the same on every bench."
    titles = ("Key", "What it is", "Standard", *found.names)
    return Sheet([Column(title) for title in titles], rows or [["none", *[None] * (len(titles) - 1)]], [same])


def _about(found: Benches, key: str) -> str:
    return next(laid.entries[key].field.about for laid in (found.base, *found.houses) if key in laid.entries)


def _cell(found: Benches, laid: House, key: str):
    if not found.differs(laid, key):
        return SAME
    text, became = _shown(laid.entries.get(key)), found.became(laid, key)
    return Mark("go" if became == TIGHTER else "stop", f"{text}, {became}") if became else text


@table(
    "bench-reasons",
    title="Why each bench does it otherwise",
    question="Why does a bench do it otherwise?",
)
def bench_reasons_table(bench):
    """The reason for each difference, and the file and line where it is set."""
    found = _of(bench)
    if found is None:
        return _nothing()
    rows: list[list] = []
    for key in found.keys:
        base = found.base.entries.get(key)
        rows.append([Banner(f"{key}: {_about(found, key)}")])
        if base:
            rows.append(["the standard", base.show(), base.why, f"{base.file}:{base.line}"])
        for laid in found.houses:
            entry = laid.entries.get(key)
            if entry and found.differs(laid, key):
                rows.append([laid["house.name"], entry.show(), entry.why, f"{entry.file}:{entry.line}"])
    titles = ("Bench", "Value", "Why", "Set in")
    return Sheet([Column(title) for title in titles], rows or [["none", None, None, None]])
