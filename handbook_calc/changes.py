"""What changed between two states of the handbook, told in the order in which a keeper must know it.

First what has become unsafe or is newly refused, then verdicts and figures that moved by more than a share
that the house sets, what is new and what is gone, then the rest; and what did not change. What a reader sees
is compared, and both texts are told.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from handbook_calc.editions import (
    FACT,
    FORBIDS,
    GIVEN,
    GO,
    PIECE,
    PLAN,
    Line,
    Record,
    in_order,
    of_the_edition,
)
from handbook_calc.engine import quantities
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.render import page_url
from handbook_calc.engine.tables import Banner, Column, Link, Mark, Sheet, table

UNSAFE, NOTABLE, REST = range(3)
HEADINGS = (
    "Unsafe or newly refused",
    "Moved by more than {share}, verdicts, new and gone",
    "The rest",
)
EPSILON = 1e-9  # a share is compared as a person reckons it: 20 to 21 is 5 %
OF_TEMPERATURE = ("degC",)  # units with a zero of their own: twice as many degrees is not twice as warm
ROUTE, TAKES = "route", "takes"  # what a plan comes to: can it be done, and how long does it take
NEWLY_REFUSED, LONGER, OTHER = "newly refused", "longer", "otherwise"


@dataclass(frozen=True)
class Change:
    """One value that is not as it was.

    Attributes:
        was, now: the value in the two states; None where one has none.
        because: the changed house values that it came from.
        share: by how much its number moved; None for words, and for a temperature.
        degrees: by how many degrees a temperature moved, whose zero is nobody's nothing; None for all else.
        rank: `UNSAFE`, `NOTABLE` or `REST`.
    """

    was: Line | None
    now: Line | None
    because: tuple[str, ...]
    share: float | None
    degrees: float | None
    rank: int

    @property
    def line(self) -> Line:
        """Return the value as it is, or as it was where it is gone."""
        line = self.now or self.was
        assert line is not None
        return line

    @property
    def name(self) -> str:
        """Return what it is called: ``table soak-times, 4 mm, 97 %``; a figure by what is computed."""
        if self.line.kind == "page":
            return _figure(self.line.key.partition(" | ")[2])
        return self.line.key.replace(" | ", ", ")

    @property
    def texts(self) -> tuple[str, str]:
        """Return the value as it was and as it is, as printed."""
        return (_with_unit(self.was) if self.was else "none"), (_with_unit(self.now) if self.now else "gone")

    @property
    def moved(self) -> str:
        """Say by how much it moved: ``+7.8 %``, ``+10 °C``, or that it is new or gone."""
        if self.was is None:
            return "new"
        if self.now is None:
            return "gone"
        if self.degrees is not None:
            return f"{self.degrees:+.3g} {quantities.label('delta_degC')}"
        if self.share is None:
            return "other words"
        if math.isinf(self.share):
            return "from nothing"
        if self.share >= 2:
            return f"{quantities.significant(1 + self.share, 2)} times as much"
        return f"{100 * self.share:+.2g} %" if abs(self.share) < 1 else f"{100 * self.share:+.0f} %"

    def sentence(self) -> str:
        """Say what it was, what it is, and why."""
        was, now = self.texts
        why = f", because of {', '.join(self.because)}" if self.because else ""
        if self.was is None:
            return f"{self.name}: new: {now}{why}"
        if self.now is None:
            return f"{self.name}: gone; was {was}{why}"
        return f"{self.name}: was {was}, is {now} ({self.moved}){why}"


@dataclass(frozen=True)
class Changes:
    """Everything that differs between two states of the handbook.

    Attributes:
        before, after: the two states.
        notable: the share above which a figure is told first.
    """

    before: Record
    after: Record
    notable: float

    @cached_property
    def all(self) -> tuple[Change, ...]:
        """Return every change but those of sheets, by rank, page and key."""
        then, now = self.before.lines, self.after.lines
        found = []
        for key in dict.fromkeys([*then, *now]):
            was, is_now = then.get(key), now.get(key)
            if key.startswith("sheet ") or _tells_the_edition(is_now or was):
                continue
            if self._of_another_plan(is_now or was) or self._told_as_the_piece(is_now or was):
                continue
            if was is None or is_now is None or was.text != is_now.text or was.state != is_now.state:
                found.append(self._change(was, is_now))
        return tuple(sorted(found, key=_in_order))

    def _of_another_plan(self, line: Line | None) -> bool:
        """Tell whether a line is a part of a plan that only one state has; its route and time tell of it."""
        if line is None or line.kind not in (PLAN, FACT) or _of_whole_plan(line, ROUTE, TAKES):
            return False
        piece = line.name.partition(" | ")[0].partition("/")[0]
        return (piece in self.before.plans) != (piece in self.after.plans)

    def _told_as_the_piece(self, line: Line | None) -> bool:
        """Tell whether a line is a fact of the piece of the worked figures, whose facts have lines anyway."""
        if line is None or line.kind != FACT:
            return False
        twin = f"{PIECE} {line.name.partition('/')[2]}"
        states = (self.before.lines, self.after.lines)
        return all(_text(lines, line.key) == _text(lines, twin) for lines in states)

    @cached_property
    def _by_key(self) -> dict[str, Change]:
        return {change.line.key: change for change in self.all}

    def change(self, key: str) -> Change | None:
        """Return what became of one value; None where it is as it was."""
        return self._by_key.get(key)

    @cached_property
    def house_values(self) -> dict[str, Change]:
        """Return the changed house values by key."""
        return {change.line.name: change for change in self.all if change.line.kind == "house"}

    @cached_property
    def _changed_keys(self) -> frozenset[str]:
        then, now = (
            {line.name: line.text for kind in GIVEN for line in record.of_kind(kind)}
            for record in (self.before, self.after)
        )
        return frozenset(key for key in then.keys() | now.keys() if then.get(key) != now.get(key))

    def _change(self, was: Line | None, now: Line | None) -> Change:
        of = dict.fromkeys(
            key
            for line, record in ((now, self.after), (was, self.before))
            if line
            for key in record.source_of(line)
            if key in self._changed_keys
        )
        share, degrees = _share(was, now), _degrees(was, now)
        return Change(was, now, tuple(of), share, degrees, self._rank(was, now, share))

    def _rank(self, was: Line | None, now: Line | None, share: float | None) -> int:
        if now and now.state in FORBIDS and (was is None or was.state not in FORBIDS):
            return UNSAFE
        if was and now and was.kind == "house" and _laxer(was, now):
            return UNSAFE
        if was is None or now is None or was.state != now.state or now.given:
            return NOTABLE
        if _degrees(was, now) is not None:
            return NOTABLE  # a share of the degrees above freezing means nothing
        if _of_whole_plan(now, TAKES) and float(now.value) > float(was.value):
            return NOTABLE  # however little
        if share is None:
            # The words of an answer that can forbid are a verdict; a table's words may be a list of names.
            return NOTABLE if now.kind in ("page", PLAN) else REST
        return NOTABLE if abs(share) > self.notable * (1 + EPSILON) else REST

    def of_rank(self, rank: int) -> dict[str, list[Change]]:
        """Return the changes of one rank by the first page on which they stand."""
        found: dict[str, list[Change]] = {}
        for change in self.all:
            if change.rank == rank:
                found.setdefault((change.line.pages or [""])[0], []).append(change)
        return found

    @cached_property
    def plans(self) -> dict[str, tuple[str, list[Change]]]:
        """Return by piece what became of its plan, and every change of it; those newly refused stand first.

        What became of it is `NEWLY_REFUSED`, `LONGER`, ``shorter``, ``no longer refused``, ``new``, ``gone``
        or `OTHER`. A plan that comes to the same is not there.
        """
        found: dict[str, list[Change]] = {}
        for change in self.all:
            if change.line.kind == PLAN:
                found.setdefault(change.line.name.partition(" | ")[0], []).append(change)
        ruled = {piece: (_became_of(changes), changes) for piece, changes in found.items()}
        order = (NEWLY_REFUSED, LONGER)
        return dict(
            sorted(
                ruled.items(),
                key=lambda item: (order.index(item[1][0]) if item[1][0] in order else 2, in_order(item[0])),
            )
        )

    @cached_property
    def same_plans(self) -> list[str]:
        """Return the pieces whose plans come to the same."""
        return [piece for piece in self.after.plans if piece not in self.plans]

    @cached_property
    def reasons(self) -> list[str]:
        """Return the house values of which only the reason was rewritten."""
        then = self.before.lines
        return [
            line.name
            for line in self.after.of_kind("house")
            if line.key in then
            and then[line.key].source != line.source
            and line.name not in self.house_values
        ]

    @cached_property
    def sheets(self) -> dict[str, str]:
        """Return by page what became of it: ``new``, ``gone``, ``values``, ``words``, ``values and words``.

        A page that shows the same is not there.
        """
        then = {line.name: line.source for line in self.before.of_kind("sheet")}
        now = {line.name: line.source for line in self.after.of_kind("sheet")}
        found = {}
        for page in dict.fromkeys([*now, *then]):
            if page not in then or page not in now:
                found[page] = "new" if page not in then else "gone"
                continue
            (old_words, old_values), (new_words, new_values) = then[page].split(), now[page].split()
            parts = ["values"] if old_values != new_values else []
            parts += ["words"] if old_words != new_words else []
            if parts:
                found[page] = " and ".join(parts)
        return found

    @cached_property
    def same_pages(self) -> list[str]:
        """Return the pages that show the same."""
        return [line.name for line in self.after.of_kind("sheet") if line.name not in self.sheets]

    @cached_property
    def same_tables(self) -> list[str]:
        """Return the tables in which nothing changed."""
        changed = {c.line.name.partition(" | ")[0] for c in self.all if c.line.kind == "table"}
        return [name for name in self.after.sources if name not in changed]

    @cached_property
    def same_values(self) -> int:
        """Return how many values are as they were; what is written in a file is not counted."""
        then, not_made = self.before.lines, ("sheet", *GIVEN)
        made = (line.key for line in self.after.lines.values() if line.kind not in not_made)
        return sum(1 for key in made if key in then and key not in self._by_key)

    def title(self) -> str:
        """Say how much changed, in a line."""
        if not self.all:
            told = "nothing changed"
        else:
            made = [change for change in self.all if not change.line.given]
            pages = {page for found in made for page in found.line.pages}
            facts = len(self.all) - len(made) - len(self.house_values)
            of_piece = f", {_count(facts, 'fact')} of the piece" if facts else ""
            told = (
                f"{_count(len(self.house_values), 'house value')}{of_piece} and {_count(len(made), 'value')} "
                f"made from them changed, on {_count(len(pages), 'page')}"
            )
            unsafe = sum(1 for change in self.all if change.rank == UNSAFE)
            told += f"; {unsafe} unsafe or newly refused" if unsafe else "; nothing unsafe or newly refused"
        return f"from edition {self.before.title} to {self.after.title}: {told}"

    def heading(self, rank: int) -> str:
        """Return the heading over the changes of one rank."""
        return HEADINGS[rank].format(share=f"{100 * self.notable:g} %")

    def unchanged(self) -> list[str]:
        """Say what did not change."""
        said = [f"{_count(self.same_values, 'value')} as before"]
        told = [(self.same_pages, "page"), (self.same_tables, "table")]
        told += [(self.same_plans, "plan")] if self.after.plans else []
        for names, what in told:
            said.append(f"{_count(len(names), what)} that show the same: {', '.join(names) or 'none'}")
        return said

    def text(self) -> str:
        """Return everything as text."""
        lines = [self.title()]
        if self.before.version != self.after.version:
            lines.append(f"The package was version {self.before.version}, and is {self.after.version}.")
        if self.plans:
            lines += ["", "What became of each plan:"]
            lines += [f"  {piece}: {plan_told(*self.plans[piece])}" for piece in self.plans]
        for rank in (UNSAFE, NOTABLE, REST):
            found = self.of_rank(rank)
            lines += ["", f"{self.heading(rank)}: {sum(map(len, found.values())) or 'none'}"]
            for page, changes in found.items():
                lines += [f"  {page}", *(f"    {change.sentence()}" for change in changes)]
        if self.reasons:
            lines += ["", f"Only the reason was rewritten: {', '.join(self.reasons)}"]
        words = [page for page, what in self.sheets.items() if "words" in what]
        if words:
            lines += ["", f"The words of the page were rewritten: {', '.join(words)}"]
        return "\n".join([*lines, "", "Unchanged:", *(f"  {said}" for said in self.unchanged())])

    def plain(self) -> dict:
        """Return everything as plain data."""
        names = ("unsafe", "notable", "rest")
        return {
            "since": _plain_record(self.before),
            "now": _plain_record(self.after),
            "share": self.notable,
            "changes": [
                {
                    "key": change.line.key,
                    "rank": names[change.rank],
                    "pages": change.line.pages,
                    "was": _plain_line(change.was),
                    "is": _plain_line(change.now),
                    "moved": None if change.share is None or math.isinf(change.share) else change.share,
                    "degrees": change.degrees,
                    "because": list(change.because),
                }
                for change in self.all
            ],
            "plans": {piece: became for piece, (became, _) in self.plans.items()},
            "pages": self.sheets,
            "reasons": self.reasons,
            "unchanged": {
                "values": self.same_values,
                "pages": self.same_pages,
                "tables": self.same_tables,
                "plans": self.same_plans,
            },
        }


def between(before: Record, after: Record, notable: float) -> Changes:
    """Return everything that differs between two states; asked again, what was found the first time."""
    if (before, notable) not in after.compared:
        after.compared[before, notable] = Changes(before, after, notable)
    return after.compared[before, notable]


def _figure(asked: str) -> str:
    """Return what a figure of a page is called: what is computed, of what, and from which arguments."""
    directive, _, result = asked.partition(" | ")
    verb, name, *given = directive.split(" ", 2)
    calculation = CATALOGUE.get(name.partition(".")[0])
    if calculation is None or verb not in ("value", "calc"):
        return asked.replace(" | ", ", ")
    wanted = result or name.partition(".")[2]
    declared = next((r for r in calculation.results if r.name == wanted), calculation.results[0])
    arguments = f" ({given[0]})" if given else ""
    return f"{calculation.title}, {declared.about}{arguments}"


def _text(lines: Mapping[str, Line], key: str) -> str | None:
    return lines[key].text if key in lines else None


def _of_whole_plan(line: Line, *what: str) -> bool:
    """Tell whether a line is one that a plan as a whole comes to."""
    return line.kind == PLAN and line.name.partition(" | ")[2] in what


def _became_of(changes: list[Change]) -> str:
    """Return what became of a plan, by its changes."""
    route, takes = _whole(changes, ROUTE), _whole(changes, TAKES)
    if route and (route.was is None or route.now is None):
        return "new" if route.was is None else "gone"
    if route and route.was and route.now and route.was.state != route.now.state:
        return NEWLY_REFUSED if route.now.state in FORBIDS else "no longer refused"
    if takes and takes.was and takes.now and takes.was.value != takes.now.value:
        return LONGER if float(takes.now.value) > float(takes.was.value) else "shorter"
    return OTHER


def _whole(changes: list[Change], what: str) -> Change | None:
    return next((change for change in changes if _of_whole_plan(change.line, what)), None)


def plan_told(became: str, changes: list[Change]) -> str:
    """Say what became of a plan: refused and why, or how long it took and takes."""
    route, takes = _whole(changes, ROUTE), _whole(changes, TAKES)
    refused = [change.name for change in changes if change.rank == UNSAFE and change is not route]
    said = [became]
    if became in (NEWLY_REFUSED, "new") and route and route.now:
        said.append(route.now.text)
    elif takes and takes.was and takes.now:
        said.append(f"took {takes.was.text}, takes {takes.now.text}")
    if refused:
        said.append(f"newly refused in it: {_count(len(refused), 'step')}")
    because = dict.fromkeys(key for change in changes for key in change.because)
    why = f", because of {', '.join(because)}" if because else ""
    return f"{'; '.join(said)}{why}"


def _tells_the_edition(line: Line | None) -> bool:
    """Tell whether a value is the edition's own name, day or approval, which change each time."""
    return line is not None and of_the_edition(line.name if line.given else line.source)


def _in_order(change: Change) -> tuple:
    """Return what sorts changes: by rank, what is written in a file first, then by page, and 2 before 10."""
    line = change.line
    return change.rank, not line.given, line.page, in_order(line.key)


def _with_unit(line: Line) -> str:
    """Return a text with its unit, which stands in the heading of a table's column."""
    unit = quantities.label(line.unit) if line.kind == "table" and line.value else ""
    return f"{line.text} {unit}" if unit else line.text


def _plain_record(record: Record) -> dict:
    return {name: getattr(record, name) for name in ("edition", "mark", "date", "status", "version", "house")}


def _plain_line(line: Line | None) -> dict | None:
    if line is None:
        return None
    plain = {"text": line.text, "unit": line.unit, "state": line.state}
    return plain | {
        name: float(getattr(line, name)) for name in ("value", "low", "high") if getattr(line, name)
    }


def _count(count: int, what: str) -> str:
    return f"{count:,} {what}{'' if count == 1 else 's'}"


def _share(was: Line | None, now: Line | None) -> float | None:
    """Return by which share a number moved, or the end of its interval that moved most; None for words."""
    if was is None or now is None or not (was.value and now.value) or was.unit != now.unit:
        return None
    if now.unit in OF_TEMPERATURE:
        return None
    ends = [(a, b) for a, b in ((was.low, now.low), (was.high, now.high)) if a and b]
    if bool(was.low) != bool(now.low):
        return math.inf  # an interval came or went: what was sure is a guess, or the other way round
    moves = [_moved(float(a), float(b)) for a, b in ((was.value, now.value), *ends)]
    return max(moves, key=abs)


def _degrees(was: Line | None, now: Line | None) -> float | None:
    """Return by how many degrees a temperature moved, or the end of its interval; None for all else."""
    if was is None or now is None or now.unit not in OF_TEMPERATURE or was.unit != now.unit:
        return None
    ends = ((was.value, now.value), (was.low, now.low), (was.high, now.high))
    moves = [float(b) - float(a) for a, b in ends if a and b]
    return max(moves, key=abs) if moves else None


def _moved(was: float, now: float) -> float:
    if was == now:
        return 0.0
    return (now - was) / abs(was) if was else math.copysign(math.inf, now)


def _laxer(was: Line, now: Line) -> bool:
    """Tell whether a limit of safety allows more than before."""
    if not (was.value and now.value) or now.state not in ("most", "least"):
        return False
    return float(now.value) > float(was.value) if now.state == "most" else float(now.value) < float(was.value)


# --- tables of the page What changed ----------------------------------------------------------

STAGE = "registers"
TITLES = ("What", "Was", "Is", "Moved", "Because of")
NOTES = (
    "What a reader sees is compared. A value that stands on several pages is listed below the first.",
    "Because of: the changed house values behind it; where none is named, the handbook itself has changed.",
)


def _sheet(bench, rank: int) -> Sheet:
    changes = bench.usage.handbook.changes() if bench.usage else None
    if changes is None:
        note = "No edition before this one is recorded, so there is nothing to compare with."
        return Sheet([Column("Nothing to compare")], [["no earlier record"]], [note])
    rows: list[list] = []
    for page, found in changes.of_rank(rank).items():
        title = bench.usage.titles.get(page, page)
        rows.append([Banner(title)])
        rows += [_row(change, page) for change in found]
    if not rows:
        rows = [["nothing", None, None, None, None]]
    return Sheet([Column(title) for title in TITLES], rows, [changes.title().capitalize() + "."])


def _row(change: Change, page: str) -> list:
    line = change.line
    anchor = ""
    if line.kind == "table":
        anchor = f"#table-{line.name.partition(' | ')[0]}"
    elif line.kind in ("house", "piece"):
        anchor = f"#house-{line.name}"
    href = f"{page_url(page)}{anchor}" if page and change.now else ""
    was, now = change.texts
    is_now = Mark(STOP_WORDS[line.state], now) if line.state in STOP_WORDS and change.now else now
    return [Link(change.name, href), was, is_now, change.moved, ", ".join(change.because) or "–"]


STOP_WORDS = {"stop": "stop", "refused": "stop", "wait": "wait", GO: "go"}


@table(
    "changes-plans",
    title="What became of each plan",
    question="Which piece must be planned anew?",
    notes=("A plan that is not listed comes to the same. What changed in it stands in the lists below.",),
)
def changes_plans_table(bench):
    """Each plan that does not come to the same: refused first, then those that take longer."""
    changes = bench.usage.handbook.changes() if bench.usage else None
    if changes is None:
        return _sheet(bench, REST)
    rows: list[list] = []
    for piece, (became, found) in changes.plans.items():
        href = f"pieces/{piece}.html" if piece in changes.after.plans else ""
        word = Mark({NEWLY_REFUSED: "stop", LONGER: "wait"}.get(became, "go"), became)
        rows.append([Link(piece, href), word, plan_told(became, found).partition("; ")[2] or "–"])
    same = f"{_count(len(changes.same_plans), 'plan')} as before."
    return Sheet(
        [Column("Piece"), Column("Its plan"), Column("In words")], rows or [["none", None, None]], [same]
    )


@table(
    "changes-unsafe",
    title="What has become unsafe or is newly refused",
    question="What must not be done any more?",
    notes=NOTES,
)
def changes_unsafe_table(bench):
    """Values that forbid now and did not before, and limits of safety that allow more."""
    return _sheet(bench, UNSAFE)


@table(
    "changes-notable",
    title="What moved by more than the house's share, other verdicts, new and gone",
    question="Which figures must be looked at anew?",
    notes=NOTES,
)
def changes_notable_table(bench):
    """Verdicts, and numbers that moved by more than `approval.notable`."""
    return _sheet(bench, NOTABLE)


@table(
    "changes-rest",
    title="What else changed",
    question="What else is not as it was?",
    notes=NOTES,
)
def changes_rest_table(bench):
    """Every other value that reads otherwise."""
    return _sheet(bench, REST)


@table(
    "unchanged-pages",
    title="What every page came to",
    question="Which pages show the same, and which do not?",
    notes=("Values: figures, tables or first answers. Words: the sentences around them.",),
)
def unchanged_pages_table(bench):
    """Every page, and whether its values or its words are as they were."""
    changes = bench.usage.handbook.changes() if bench.usage else None
    if changes is None:
        return _sheet(bench, REST)
    rows = []
    for line in changes.after.of_kind("sheet"):
        what = changes.sheets.get(line.name)
        rows.append([Link(bench.usage.titles.get(line.name, line.name), page_url(line.name)), _became(what)])
    rows += [[page, _became("gone")] for page, what in changes.sheets.items() if what == "gone"]
    same = f"{_count(changes.same_values, 'value')} as before."
    return Sheet([Column("Page"), Column("Against the earlier edition")], rows, [same])


def _became(what: str | None) -> Mark:
    if what is None:
        return Mark("go", "the same")
    return Mark("wait", what if what in ("new", "gone") else f"other {what}")
