"""What a page asked for, as HTML. Knows nothing of the site generator.

Links inside the HTML start with `ROOT_MARK`, which stands for the way from a page to the site's root.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from html import escape
from typing import Any

from handbook_calc import substances as facts
from handbook_calc.engine import browser, examples, forms, numerals, phone, quantities
from handbook_calc.engine.bench import Answer, Bench
from handbook_calc.engine.calculation import Calculation, Number, Whole
from handbook_calc.engine.cards import DECKS, Card, Deck, Grid, Part, asked_by
from handbook_calc.engine.directives import Directive, find
from handbook_calc.engine.drawings import Drawing
from handbook_calc.engine.faults import CalculationFault, PageFault, Refusal, unknown
from handbook_calc.engine.fields import Quantity
from handbook_calc.engine.house import House, is_of_piece
from handbook_calc.engine.kept import Keep, Watched, WatchedUsage
from handbook_calc.engine.plot import PLOTS, Drawn
from handbook_calc.engine.registers import HOUSE_PAGE, OF_EDITIONS, REGISTERS, SOURCES_PAGE
from handbook_calc.engine.sources import sources
from handbook_calc.engine.tables import (
    TABLES,
    Banner,
    Column,
    Computed,
    Link,
    Links,
    Mark,
    Refused,
    Span,
    shown,
    side_of,
)

ROOT_MARK = "%ROOT%/"
OF_PIECE = " hb-of-piece"  # the class of what follows the facts of the piece
CSV_FOLDER = "tables-csv"
US_UNITS = {*forms.US_UNITS.values(), "inch", "ozt"}
TITLE = re.compile(r"^# (.+)$", re.MULTILINE)
LONGEST_WAS = 60  # signs of what a cell was; longer is told on the page of changes
MANY = 8  # more house values than this are folded away below a table


@dataclass
class Usage:
    """Which pages and tables use which house value and table.

    `handbook` is the renderer, for the tables that tell of all pages.
    """

    value_pages: dict[str, dict[str, None]] = field(default_factory=dict)
    value_tables: dict[str, dict[str, None]] = field(default_factory=dict)
    table_pages: dict[str, dict[str, None]] = field(default_factory=dict)
    titles: dict[str, str] = field(default_factory=dict)
    handbook: Any = field(default=None, repr=False, compare=False)

    def note(self, where: dict[str, dict[str, None]], key: str, user: str) -> None:
        """Note that `user` uses `key`."""
        where.setdefault(key, {})[user] = None

    def table_link(self, name: str) -> Link:
        """Return a link to a table on the first page that shows it; without a page, only its name."""
        pages = list(self.table_pages.get(name, ()))
        return Link(f"table {name}", f"{page_url(pages[0])}#table-{name}" if pages else "")

    def of_value(self, key: str) -> tuple[Link, ...]:
        """Return links to every table and page that uses a house value."""
        tables = [self.table_link(name) for name in self.value_tables.get(key, ())]
        pages = [Link(self.titles.get(page, page), page_url(page)) for page in self.value_pages.get(key, ())]
        return tuple(tables + pages)


def page_url(source: str) -> str:
    """Return the address of a page from the site's root: ``procedures/sand.md`` -> ``.html``."""
    return f"{source.removesuffix('.md')}.html"


@dataclass
class Table:
    """A table computed, and its HTML, its words and its CSV once somebody has asked for them."""

    computed: Computed
    html: str = ""
    words: str = ""
    csv: str = ""


@dataclass
class Shown:
    """A `value` or `calc` directive as HTML, the house values that it used, and its answer."""

    html: str
    values: tuple[str, ...]
    answer: Answer

    @property
    def refused(self) -> str:
        """Return why there is no answer."""
        return self.answer.refused


class Renderer:
    """Fills directives for one house standard; every table is computed once.

    Attributes:
        past: what is known of the editions before this one, or None; see `printed.Past`.
        keep: where it is given one, what it shares with renderers of other states of the standard is taken
            from there, and what it computes is left there.
        drawings: the handbook's drawings by name.
        plans: the plan of each piece by the name of its file, for the record; whoever has them puts them in.
        benches: several benches on one standard, to be compared, or None; see `benches.Benches`.
    """

    def __init__(
        self,
        house: House,
        keep: Keep | None = None,
        past=None,
        drawings: Mapping[str, Drawing] | None = None,
    ) -> None:
        self.house = house
        self.past: Any = past
        self.earlier = past.earlier if past else None
        self.usage = Usage(handbook=self)
        self.keep = keep
        self.drawings = drawings or {}
        self.plans: dict[str, Any] = {}
        self.benches: Any = None
        self._plots: dict[str, Drawn] = {}
        self._tables: dict[str, Table] = {}
        self._answers: dict[tuple, tuple[Bench, Answer]] = {}
        self._shown: dict[tuple, Shown] = {}
        self._values_shown: dict[str, str] = {}
        self._calculators = False
        self._state = None
        self.asked: dict[str, tuple[Directive, ...]] = {}  # by page
        self.texts: dict[str, str] = {}  # of the pages, as written
        self.refused: dict[str, None] = {}  # what the house values give no answer for

    def computed(self, name: str) -> Computed:
        """Return a table filled in for this house standard.

        Raises:
            PageFault: no such table; the nearest name is given.
        """
        return self._table(name).computed

    def _table(self, name: str) -> Table:
        if name not in TABLES:
            raise PageFault(unknown("table", name, TABLES))
        if name not in self._tables:
            made = self._tables[name] = self._kept_table(name)
            for told in made.computed.places_refused():
                self.refused[f"table {name}: {told}"] = None
            for key in made.computed.values:
                self.usage.note(self.usage.value_tables, key, name)
        return self._tables[name]

    def _kept_table(self, name: str) -> Table:
        if self.keep is None or name in OF_EDITIONS:
            return Table(TABLES[name].compute(self.house, self.usage))
        key = ("table", name, self.earlier.digest if self.earlier else "")
        kept = self.keep.find(key, self.house, self.usage)
        if kept is None:
            house, usage = Watched(self.house), WatchedUsage(self.usage)
            kept = Table(TABLES[name].compute(house, usage))
            self.keep.put(key, kept, house, repr(self.usage) if usage.asked else "")
        return kept

    def name_page(self, page: str, text: str) -> None:
        """Note a page's title and text.

        Arguments:
            page: its name from the folder of pages.
            text: as it is written, without what stands above it.
        """
        heading = TITLE.search(text)
        self.usage.titles[page] = heading[1].strip() if heading else page
        self.texts[page] = text

    def read_page(self, page: str, directives: tuple[Directive, ...]) -> None:
        """Note what a page asks for and uses, before anything that prints the usage is filled."""
        self.asked[page] = directives
        for asked in directives:
            self.note(asked, page)

    def drawn(self, name: str) -> Drawn:
        """Return a plot drawn for this house standard.

        Raises:
            PageFault: no such plot; the nearest name is given.
        """
        if name not in PLOTS:
            raise PageFault(unknown("plot", name, PLOTS))
        if name not in self._plots:
            made = self._plots[name] = self._kept_plot(name)
            for told in made.places_refused():
                self.refused[f"plot {name}: {told}"] = None
        return self._plots[name]

    def _kept_plot(self, name: str) -> Drawn:
        if self.keep is None:
            return PLOTS[name].compute(self.house)
        kept = self.keep.find(("plot", name), self.house, self.usage)
        if kept is None:
            house = Watched(self.house)
            kept = PLOTS[name].compute(house)
            self.keep.put(("plot", name), kept, house)
        return kept

    def _drawing(self, name: str) -> Drawing:
        if name not in self.drawings:
            raise PageFault(unknown("picture", name, self.drawings))
        return self.drawings[name]

    def note(self, asked: Directive, page: str) -> None:
        """Note what a directive of a page uses, before anything that prints the usage is filled."""
        if asked.verb == "picture" and asked.name in self.drawings:
            for inner in self.drawings[asked.name].asked:
                self.note(inner, page)
        if asked.verb == "plot" and asked.name in PLOTS:
            try:
                used = self.drawn(asked.name).values
            except Exception:
                return  # reported when the directive is filled
            for key in used:
                self.usage.note(self.usage.value_pages, key, page)
        if asked.verb == "table" and asked.name in TABLES:
            self.usage.note(self.usage.table_pages, asked.name, page)
        if asked.verb == "cards" and asked.name in DECKS:
            self._note_cards(asked.name, page)
        if asked.verb == "value" and asked.name in self.house.entries:
            self.usage.note(self.usage.value_pages, asked.name, page)
        elif asked.verb == "value" and facts.is_fact(asked.name):
            if key := facts.followed(asked.name):
                self.usage.note(self.usage.value_pages, key, page)
        elif asked.verb in ("value", "calc") and not asked.complaint:
            shown = self._kept_shown(asked)
            try:
                used = shown.values if shown else self._ask(asked)[0].used_values
            except ValueError:
                return  # reported when the directive is filled
            for key in used:
                self.usage.note(self.usage.value_pages, key, page)

    def _note_cards(self, name: str, page: str) -> None:
        house = Watched(self.house)
        cards = DECKS[name].make(house)
        for key in house.was_read():
            self.usage.note(self.usage.value_pages, key, page)
        for asked in asked_by(cards):
            self.note(asked, page)

    def html_of(self, asked: Directive) -> str:
        """Return the HTML for a directive.

        Raises:
            PageFault: what is wrong with it.
        """
        if asked.complaint:
            raise PageFault(asked.complaint)
        if asked.verb in ("table", "picture", "plot", "cards"):
            if asked.literals or asked.keys:
                raise PageFault(f"{asked.verb} '{asked.name}' takes no arguments")
            shows = {"table": self.table, "picture": self.picture, "plot": self.plot, "cards": self.cards}
            return shows[asked.verb](asked.name)
        try:
            if asked.verb == "value" and asked.name in self.house.entries:
                return self._house_value(asked)
            if asked.verb == "value" and facts.is_fact(asked.name):
                return self._fact(asked)
            shown = self._kept_shown(asked) or self._show(asked)
        except Refusal as refusal:
            raise PageFault(f"refused: {refusal}") from None
        except CalculationFault as fault:
            raise PageFault(str(fault)) from None
        if shown.refused:
            self.refused[f"{asked.verb} {asked.name}: {shown.refused}"] = None
        self._calculators |= asked.verb == "calc"
        return shown.html

    def answer(self, asked: Directive) -> tuple[Answer, tuple[str, ...]]:
        """Return the answer to a `value` or `calc` directive, and the house values that it used.

        Raises:
            PageFault: it names nothing that is known.
            CalculationFault: it has no answer.
        """
        shown = self._kept_shown(asked)
        if shown:
            return shown.answer, shown.values
        bench, answer = self._ask(asked)
        return answer, tuple(bench.used_values)

    def _kept_shown(self, asked: Directive) -> Shown | None:
        key = _key(asked)
        if key not in self._shown and self.keep is not None:
            kept = self.keep.find(key, self.house, self.usage)
            if kept is not None:
                self._shown[key] = kept
        return self._shown.get(key)

    def _show(self, asked: Directive) -> Shown:
        bench, answer = self._ask(asked)
        if asked.verb == "value":
            html = self._computed(asked, answer, any(map(is_of_piece, bench.used_values)))
        else:
            html = self._calculator(bench, answer)
        shown = self._shown[_key(asked)] = Shown(html, tuple(bench.used_values), answer)
        if self.keep is not None and isinstance(bench.house, Watched):
            self.keep.put(_key(asked), shown, bench.house)
        return shown

    def _house_value(self, asked: Directive) -> str:
        if asked.literals or asked.keys:
            raise PageFault(f"house value '{asked.name}' takes no arguments")
        if asked.name not in self._values_shown:
            self._values_shown[asked.name] = self._show_house_value(asked)
        return self._values_shown[asked.name]

    def _show_house_value(self, asked: Directive) -> str:
        entry = self.house.entries[asked.name]
        title = escape(f"House value {asked.name}: {entry.field.about}")
        other = _other_unit(entry)
        switch = ""
        if isinstance(entry.field, Quantity) and entry.value is not None and not other:
            number, unit = quantities.split(entry.written)
            unit = quantities.normal_unit(unit) or entry.field.unit
            switch = _switch(number, unit, *(entry.ends_in(unit) if entry.span else ()))
        why = _asking_why(asked)
        kind = f"hb-value{OF_PIECE if is_of_piece(asked.name) else ''}"
        return f'<span class="{kind}"{why} title="{title}"{switch}>{escape(entry.show())}{other}</span>'

    def _fact(self, asked: Directive) -> str:
        if asked.literals or asked.keys:
            raise PageFault(f"fact '{asked.name}' takes no arguments")
        text, key = facts.fact(self.house, asked.name)
        chosen = f", for house value {key}" if key else ""
        title = escape(f"From the register of substances{chosen}")
        return f'<span class="hb-fact" title="{title}">{escape(text)}</span>'

    def _ask(self, asked: Directive) -> tuple[Bench, Answer]:
        """Return the answer to a `value` or `calc` directive, and the bench that noted what it used.

        A directive is noted, tried and put into its page; it is answered on the first of these.
        """
        key = _key(asked)
        if key not in self._answers:
            self._answers[key] = self._answer(asked)
        return self._answers[key]

    def _answer(self, asked: Directive) -> tuple[Bench, Answer]:
        bench = Bench(self.house if self.keep is None else Watched(self.house))
        if asked.verb == "calc":
            calculation = bench.find(asked.name)
            values = examples.starting_values(calculation, bench, self._values(asked, bench))
            _limit(calculation, bench)  # noted with the house values that the page uses
            return bench, bench.answer_or_refused(asked.name, **values)
        name, _, result = asked.name.partition(".")
        if name not in _calculations():
            known = [*self.house.entries, *_calculations(), *facts.fact_names()]
            raise PageFault(unknown("house value or calculation", asked.name, known))
        answer = bench.answer_or_refused(name, **self._values(asked, bench))
        answer.calculation.result(result)
        return bench, answer

    def _values(self, asked: Directive, bench: Bench) -> dict:
        """Return the inputs that a directive gives, in declared units."""
        calculation = bench.find(asked.name.partition(".")[0])
        values = {
            calculation.input(argument).name: calculation.read(argument, text)
            for argument, text in asked.literals.items()
        }
        for argument, key in asked.keys.items():
            if key not in self.house.entries:
                raise PageFault(unknown("house value", key, self.house.entries))
            declared = calculation.input(argument)
            values[declared.name] = bench.value_in(key, declared)
        return values

    def _computed(self, asked: Directive, answer: Answer, of_piece: bool) -> str:
        result = asked.name.partition(".")[2]
        title = escape(f"Computed: {answer.calculation.title}")
        if answer.refused:
            told = escape(f"no figure here, refused: {answer.refused}")
            kind = f"hb-value hb-refused{OF_PIECE if of_piece else ''}"
            return f'<span class="{kind}"{_asking_why(asked)} title="{title}">{told}</span>'
        text = answer.show(result)
        declared = answer.calculation.result(result)
        value = answer.results[declared.name]
        notes = [*answer.notes(declared.name), *filter(None, [answer.refused_share()])]
        if notes:
            title += escape(f"; {'; '.join(notes)}")
        switch = ""
        if isinstance(declared, Number) and not isinstance(declared, Whole) and value is not None:
            number, unit = quantities.handy(value, declared.unit)
            text = quantities.show(number, unit, declared.digits, declared.side)
            ends: list[float] = []
            interval = answer.interval(declared.name)
            if interval:
                ends = [quantities.convert(end, declared.unit, unit) for end in (interval.low, interval.high)]
                text = quantities.show_interval(
                    number, ends[0], ends[1], unit, declared.digits, declared.side
                )
            switch = _switch(number, unit, *ends)
            switch += _side(declared.side) if switch else ""
        other = ""
        if declared.unit in ("degC", "delta_degC") and value is not None:
            other = _fahrenheit(value, declared.unit, declared.side)
            switch = ""  # both are shown
        why = _asking_why(asked)
        kind = f"hb-value{OF_PIECE if of_piece else ''}"
        return f'<span class="{kind}"{why} title="{title}"{switch}>{escape(text)}{other}</span>'

    def table(self, name: str) -> str:
        """Return a table as HTML: caption, headings with units, cells, notes, what it depends on."""
        table = self._table(name)
        if not table.html:
            table.html = _table_html(table.computed, self, self._marks(table.computed))
        return table.html

    def _marks(self, computed: Computed) -> dict[tuple[int, int], Any]:
        if self.earlier is None or computed.id in REGISTERS:
            return {}
        from handbook_calc import editions

        return editions.marks(computed, self.earlier)

    def state(self):
        """Return the handbook as a record: its sheets, and its values where any edition is recorded.

        Raises:
            PageFault: a directive of some page cannot be filled.
        """
        if self._state is None:
            from handbook_calc import editions

            gather = editions.state_of if self.past and self.past.records else editions.sheets_of
            self._state = gather(self)
        return self._state

    def changes(self):
        """Return what changed since the record that is compared with, None where there is none.

        Errors are those of `state`.
        """
        from handbook_calc import changes

        return changes.between(self.earlier, self.state(), self.notable) if self.earlier else None

    @property
    def notable(self) -> float:
        """Return the share from which a change is told first."""
        return self.house["approval.notable"] / 100

    def picture(self, name: str) -> str:
        """Return a drawing as HTML, with the house values in it."""
        drawing = self._drawing(name)
        svg = "".join(
            part if isinstance(part, str) else _in_drawing(self.html_of(part)) for part in drawing.parts
        )
        caption = f"<figcaption>{escape(drawing.title)}</figcaption>"
        return f'<figure class="hb-picture" id="picture-{name}">{svg}{caption}</figure>'

    def plot(self, name: str) -> str:
        """Return a plot as HTML: caption, drawing, notes, its table, what it depends on."""
        drawn = self.drawn(name)
        shown = drawn.svg
        if drawn.refused:
            told = escape(f"Nothing drawn for these house values: {drawn.refused}")
            shown = f'<p class="hb-value hb-refused">{told}</p>'
        notes = "".join(f"<li>{escape(note)}</li>" for note in drawn.notes)
        listed = f'<ul class="hb-notes">{notes}</ul>' if notes else ""
        link = self.usage.table_link(drawn.table)
        numbers = f"In numbers: {_link_html(Link(TABLES[drawn.table].title, link.href))}."
        parts = (_of_example(drawn, self.house), numbers, *self.rests_on(drawn))
        return (
            f'<figure class="hb-plot" id="plot-{name}"><figcaption>{escape(drawn.title)}</figcaption>'
            f"{shown}{listed}"
            f'<div class="hb-foot">{" ".join(filter(None, parts))}</div></figure>'
        )

    def rests_on(self, made: Computed | Drawn) -> tuple[str, str]:
        """Return what a table or plot depends on: its house values, folded away if many, and its sources."""
        used = self.value_links(made.values)
        if len(made.values) > MANY:
            used = f"<details><summary>House values used: {len(made.values)}</summary>{used}</details>"
        elif used:
            used = f"House values: {used}."
        cited = self.source_links(made.sources)
        return used, f"Sources: {cited}." if cited else ""

    def words(self, name: str) -> str:
        """Return the words and numbers of a table for the search index."""
        table = self._table(name)
        if not table.words:
            table.words = self._words_of(table.computed)
        return table.words

    def csv(self, name: str) -> str:
        """Return a table as CSV."""
        table = self._table(name)
        if not table.csv:
            table.csv = table.computed.csv()
        return table.csv

    @staticmethod
    def _words_of(filled: Computed) -> str:
        words = dict.fromkeys(
            word
            for row in filled.rows
            for cell, column in zip(row, filled.columns, strict=False)
            for word in shown(cell, column).split()
        )
        heads = " ".join(
            f"{c.group} {c.title} {'' if c.unit == 'text' else quantities.label(c.unit)}"
            for c in filled.columns
        )
        notes = " ".join(filled.notes)
        return escape(f"{filled.title}. {filled.question} {heads} {' '.join(words)} {notes}")

    def cards(self, name: str) -> str:
        """Return a deck as HTML: each card with its parts, the house and its edition.

        Raises:
            PageFault: no such deck, or a text of a card that cannot be filled.
        """
        if name not in DECKS:
            raise PageFault(unknown("deck of cards", name, DECKS))
        deck = DECKS[name]
        made = "".join(self._card(deck, card) for card in deck.make(self.house))
        classes = " ".join(dict.fromkeys(("hb-cards", f"hb-{deck.paper}s")))
        return f'<section class="{classes}" id="deck-{name}">{made}</section>'

    def _card(self, deck: Deck, card: Card) -> str:
        title = f"{deck.name}-{card.anchor}"
        signal = f'<p class="hb-signal">{escape(card.signal)}</p>' if card.signal else ""
        parts = "".join(self._part(part, title) for part in card.parts)
        house = f"{self.house['house.name']} · edition {self.house.edition}"
        return (
            f'<section class="hb-card" id="{escape(title)}" aria-labelledby="{escape(title)}-title">'
            f'<p class="hb-deck">{escape(deck.title)}</p>'
            f'<h2 id="{escape(title)}-title">{self.filled(card.title)}</h2>{signal}{parts}'
            f'<p class="hb-card-foot">{escape(house)}. The safety data sheet of the bottle goes first.</p>'
            "</section>"
        )

    def _grid(self, grid: Grid, name: str) -> str:
        head = "".join(f'<th scope="col">{escape(title)}</th>' for title in grid.columns)
        body = ""
        for row in grid.rows:
            first, *rest = (
                f' data-head="{escape(title)}">{self.filled(cell)}</'
                for title, cell in zip(grid.columns, row, strict=True)
            )
            body += f'<tr><th scope="row"{first}th>{"".join(f"<td{cell}td>" for cell in rest)}</tr>'
        title = f"table-{escape(name)}"
        return (
            f'<section class="hb-scroll" tabindex="0" aria-labelledby="{escape(name)}-title {title}">'
            f'<table class="hb"><caption id="{title}">{escape(grid.title)}</caption>'
            f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></section>"
        )

    def _part(self, part: Part | Grid, name: str) -> str:
        if isinstance(part, Grid):
            return self._grid(part, name)
        lines = '<span class="hb-write"></span>' * part.write
        if isinstance(part.text, str):
            told = f"<span>{self.filled(part.text)}</span>" if part.text else ""
        else:
            told = f"<ul>{''.join(f'<li>{self.filled(text)}</li>' for text in part.text)}</ul>"
        return f'<div class="hb-part"><h3>{escape(part.head)}</h3><div>{told}{lines}</div></div>'

    def filled(self, text: str) -> str:
        """Return one text of a card as HTML, each directive in it filled."""
        parts, at = [], 0
        for asked in find(text):
            parts += [escape(text[at : asked.start]), self.html_of(asked)]
            at = asked.end
        return "".join([*parts, escape(text[at:])])

    def source_links(self, keys) -> str:
        """Return links to sources, by title."""
        known = sources()
        return "; ".join(
            f'<a href="{ROOT_MARK}{SOURCES_PAGE}#source-{key}">{escape(known[key].title)}</a>' for key in keys
        )

    def value_links(self, keys) -> str:
        """Return links to house values."""
        return ", ".join(
            f'<a href="{ROOT_MARK}{HOUSE_PAGE}#house-{key}">{escape(key)}</a>'
            f" ({self._entry_html(self.house.entries[key])})"
            for key in keys
        )

    @staticmethod
    def _entry_html(entry) -> str:
        """Return a house value as text; a difference of temperature says so, for the switch of units."""
        text = escape(entry.show())
        return f"<span data-d>{text}</span>" if entry.field.unit == "delta_degC" else text

    def _calculator(self, bench: Bench, answer: Answer) -> str:
        calculation = answer.calculation
        return forms.calculator(
            answer,
            f"calc-{calculation.name}",
            self.value_links(key for key in bench.used_values if not is_of_piece(key)),
            self.source_links(calculation.sources),
            _limit(calculation, bench),
            self.value_links(filter(is_of_piece, bench.used_values)),
        )

    def scripts(self) -> dict[str, str]:
        """Return the scripts of the calculators by file name; none where no page has a calculator."""
        if not self._calculators:
            return {}
        if self.keep is None:
            return forms.scripts(self.house)
        scripts = self.keep.find(("scripts",), self.house, self.usage)
        if scripts is None:
            house = Watched(self.house)
            self.keep.formulas = self.keep.formulas or browser.formulas()
            scripts = forms.scripts(house, self.keep.formulas)
            self.keep.put(("scripts",), scripts, house)
        return scripts


def _of_example(made: Computed | Drawn, house: House) -> str:
    """Return what names the piece that a table or a plot follows; nothing where it follows none."""
    if not any(map(is_of_piece, made.values)):
        return ""
    return f'<span class="hb-of-example">Worked for the example, {escape(house["piece.number"])}.</span>'


def _limit(calculation: Calculation, bench: Bench) -> str:
    """Return what the curve of a calculation is held to: a number in the result's unit, or an input."""
    if "." not in calculation.limit:
        return calculation.limit
    held = bench.value(calculation.limit)
    return f"{quantities.convert(float(held), held.unit, calculation.results[0].unit):.9g}"


def _key(asked: Directive) -> tuple:
    """Return what makes two directives the same."""
    return (asked.verb, asked.name, *sorted(asked.literals.items()), "", *sorted(asked.keys.items()))


def _asking_why(asked: Directive) -> str:
    """Return the attribute by which a page asks why a figure is what it is; see `reasons`."""
    return f' data-why="{escape(asked.written)}"'


def _in_drawing(html: str) -> str:
    """Return a value as it stands in the text of a drawing, where an element has other names."""
    return re.sub(r' title="[^"]*"', "", html).replace("<span", "<tspan").replace("</span>", "</tspan>")


def _calculations():
    from handbook_calc.engine.calculation import CATALOGUE

    return CATALOGUE


def _other_unit(entry) -> str:
    """Return the value in the unit that other readers use, where mixing the two up does harm."""
    if not isinstance(entry.field, Quantity) or entry.value is None:
        return ""
    written = quantities.normal_unit(quantities.split(entry.written)[1])
    if entry.field.unit in ("degC", "delta_degC") and "degF" not in written:
        return _fahrenheit(entry.value, entry.field.unit)
    if written in US_UNITS:
        return f" ({escape(quantities.show(entry.value, entry.field.unit))})"
    return ""


def _fahrenheit(value: float, unit: str, side: int = 0) -> str:
    other = "delta_degF" if unit.startswith("delta") else "degF"
    shown = f"{numerals.edged(quantities.convert(value, unit, other), -1, side):.1f}".removesuffix(".0")
    return f" ({shown}\u00a0°F)"


def _table_html(filled: Computed, renderer: Renderer, marks: dict[tuple[int, int], Any]) -> str:
    foot: dict[str, int] = {}
    heads = _heads_of_cards(filled.columns)
    form, turned = phone.layout(_heads_of_grid(filled.columns), _texts(filled))
    form = filled.phone or form
    body = "".join(
        _row_html(row, filled.columns, foot, {j: said for (at, j), said in marks.items() if at == i})
        for i, row in enumerate(filled.rows)
    )
    table = (
        f'<table class="hb"{_scales(filled.columns)}>'
        f'<caption id="table-{filled.id}-title">{escape(filled.title)}</caption>'
        f"<thead>{_head_html(filled.columns, turned)}</thead><tbody>{body}</tbody></table>"
    )
    if form == phone.CARDS:
        table = phone.as_cards(table, heads)
    notes = "".join(f"<li>{escape(note)}</li>" for note in filled.notes)
    reasons = "".join(
        f"<li><sup>{_letter(mark)}</sup> {escape(reason)}</li>" for reason, mark in foot.items()
    )
    lists = f'<ul class="hb-notes">{reasons}{notes}</ul>' if notes or reasons else ""
    filters = f' data-filters="{" ".join(map(str, filled.filters))}"' if filled.filters else ""
    asks = " data-register" if filled.id in REGISTERS else " data-why"
    parts = [
        _of_example(filled, renderer.house),
        *renderer.rests_on(filled),
        f'<a href="{ROOT_MARK}{CSV_FOLDER}/{filled.id}.csv" download>The same numbers as CSV.</a>',
    ]
    return (
        f'<section class="hb-table" id="table-{filled.id}"{asks}{filters}>'
        f'<section class="hb-scroll" tabindex="0" aria-labelledby="table-{filled.id}-title">'
        f"{table}</section>"
        f'{lists}<div class="hb-foot">{" ".join(filter(None, parts))}</div></section>'
    )


def _heads_of_cards(columns: tuple[Column, ...]) -> list[str]:
    """Return what a card says of each column, in one line: group, heading, unit."""
    return [
        f"{column.group}: {column.title} ({_unit_text(column.unit)[1:]})"
        if shares
        else f"{column.group}: {column.title}{_unit_text(column.unit)}".removeprefix(": ")
        for column, shares in zip(columns, _sharing_units(columns), strict=True)
    ]


def _heads_of_grid(columns: tuple[Column, ...]) -> list[str]:
    """Return what stands right over each column, below the heading of its group."""
    return [
        column.title if shares else f"{column.title} {_unit_text(column.unit)[1:]}"
        for column, shares in zip(columns, _sharing_units(columns), strict=True)
    ]


def _sharing_units(columns: tuple[Column, ...]) -> list[bool]:
    """Return which columns have their unit said over their whole group."""
    units: dict[str, set[str]] = {}
    for column in columns:
        units.setdefault(column.group, set()).add(column.unit)
    return [
        bool(column.group) and len(units[column.group]) == 1 and bool(_unit_text(column.unit))
        for column in columns
    ]


def _unit_text(unit: str) -> str:
    label = quantities.label(unit)
    return "" if label in ("", "text") else f"\u00a0{label}".replace(" ", "\u00a0")


def _texts(filled: Computed) -> list[list[str]]:
    """Return the texts of a table's rows, without the headings between them."""
    return [
        [shown(cell, column) for cell, column in zip(row, filled.columns, strict=True)]
        for row in filled.rows
        if not isinstance(row[0], Banner)
    ]


@cache
def _scale(unit: str) -> str:
    """Return ``factor offset`` from a unit to its US twin, or an empty text where it has none."""
    if unit not in quantities.US_UNITS:
        return ""
    _, factor, offset = quantities.twin(unit)
    return f"{factor:.9g} {offset:.9g}"


def _switch(number: float, unit: str, *ends: float) -> str:
    """Return the attributes by which the page's switch shows a quantity in its US unit.

    `ends` are the low and high end of its interval, where it has one.
    """
    if not _scale(unit):
        return ""
    label = escape(quantities.label(forms.US_UNITS[unit]))
    numbers = " ".join(f"{n:.6g}" for n in (number, *ends))
    return f' data-q="{numbers}" data-scale="{_scale(unit)}" data-l="{label}"'


def _side(side: int) -> str:
    """Return the attribute by which a number in US units is rounded to its side too."""
    return f' data-side="{side}"' if side else ""


def _scales(columns: tuple[Column, ...]) -> str:
    scales = [_scale(column.unit) if column.us_unit else "" for column in columns]
    return f' data-scales="{";".join(scales)}"' if any(scales) else ""


def _unit_html(column: Column, before: str = "", after: str = "") -> str:
    unit = quantities.label(column.unit)
    if unit in ("", "text"):
        return ""
    text = f"{before}{unit}{after}"
    other = column.us_unit
    twin = f' data-us="{escape(f"{before}{quantities.label(other)}{after}")}"' if other else ""
    return f' <span class="hb-unit"{twin}>{escape(text)}</span>'


def _title_html(column: Column) -> str:
    """Return a heading's text; one that is a value of an axis carries its number and scale."""
    text = escape(column.title)
    if column.axis is None or not _scale(column.axis[1]):
        return text
    return f"<span{_switch(*column.axis)}>{text}</span>"


def _head_html(columns: tuple[Column, ...], turned: frozenset[int]) -> str:
    if not any(column.group for column in columns):
        heads = (_heading(f"{escape(c.title)}{_unit_html(c)}", i in turned) for i, c in enumerate(columns))
        return f"<tr>{''.join(heads)}</tr>"
    top, below = [], []
    index = 0
    while index < len(columns):
        column = columns[index]
        if not column.group:
            title = f"{escape(column.title)}{_unit_html(column)}"
            top.append(_heading(title, index in turned, ' rowspan="2"'))
            index += 1
            continue
        span = 1
        while index + span < len(columns) and columns[index + span].group == column.group:
            span += 1
        members = columns[index : index + span]
        shared = column if len({member.unit for member in members}) == 1 else None
        title = escape(column.group)
        unit = _unit_html(shared, "(cells in ", ")") if shared is not None else ""
        top.append(f'<th scope="colgroup" colspan="{span}">{title}{unit}</th>')
        below += [
            _heading(f"{_title_html(m)}{'' if shared is not None else _unit_html(m)}", i in turned)
            for i, m in enumerate(members, index)
        ]
        index += span
    return f"<tr>{''.join(top)}</tr><tr>{''.join(below)}</tr>"


def _heading(words: str, turned: bool, spanning: str = "") -> str:
    words = f'<span class="hb-turned">{words}</span>' if turned else words
    return f'<th scope="col"{spanning}>{words}</th>'


def _row_html(row, columns, foot: dict[str, int], marks: dict[int, Any]) -> str:
    if isinstance(row[0], Banner):
        head = f'<th scope="rowgroup" colspan="{len(columns)}">{escape(row[0].word)}</th>'
        return f'<tr class="hb-banner">{head}</tr>'
    anchor = f' id="{escape(row[0].anchor)}"' if isinstance(row[0], Link) and row[0].anchor else ""
    first = f'<th scope="row"{_number(row[0], columns[0])}>{_cell(row[0], columns[0], foot)}</th>'
    rest = "".join(
        _changed_cell(cell, column, foot, marks[i])
        if i in marks
        else f"<td{_kind(cell)}{_number(cell, column)}>{_cell(cell, column, foot)}</td>"
        for i, (cell, column) in enumerate(zip(row[1:], columns[1:], strict=True), 1)
    )
    return f"<tr{anchor}>{first}{rest}</tr>"


def _kind(cell) -> str:
    """Return the class of a cell as an attribute: a mark's state, or that it is a number."""
    if isinstance(cell, Mark):
        return f' class="hb-{cell.state}"'
    if isinstance(cell, Refused):
        return ' class="hb-stop"'
    return "" if isinstance(cell, str | Link | Links) else ' class="n"'


def _changed_cell(cell, column: Column, foot: dict[str, int], was) -> str:
    """Return a cell that is not as an earlier edition had it: what it was, in words, and a colour."""
    said = "new"
    if was is not None:
        text = escape(was.text if len(was.text) <= LONGEST_WAS else "other words")
        numbers = " ".join(filter(None, (was.value, was.low, was.high)))
        switch = f' data-q="{numbers}"' if numbers and column.us_unit else ""
        said = f"was <span{switch}>{text}</span>"
    is_now = f"<span{_number(cell, column)}>{_cell(cell, column, foot)}</span>"
    return f'<td{_kind(cell)}>{is_now} <span class="hb-was">{said}</span></td>'


def _number(cell, column: Column) -> str:
    """Return a cell's number as an attribute, where a reader of US units wants another."""
    if not column.us_unit or isinstance(cell, bool):
        return ""
    if isinstance(cell, Span):
        return f' data-q="{cell.value:.6g} {cell.low:.6g} {cell.high:.6g}"{_side(cell.side)}'
    return f' data-q="{cell:.6g}"{_side(side_of(cell))}' if isinstance(cell, float | int) else ""


def _cell(cell, column: Column, foot: dict[str, int]) -> str:
    if isinstance(cell, Link):
        return _link_html(cell)
    if isinstance(cell, Links):
        return ", ".join(map(_link_html, cell.links)) or "nothing yet"
    if isinstance(cell, Refused):
        mark = foot.setdefault(cell.reason, len(foot) + 1)
        return f"{escape(cell.word)}<sup>{_letter(mark)}</sup>"
    if isinstance(cell, Mark) and cell.flips:
        marks = ", ".join(_letter(foot.setdefault(flip, len(foot) + 1)) for flip in cell.flips)
        return f"{escape(cell.said)}<sup>{marks}</sup>"
    return escape(shown(cell, column))


def _letter(mark: int) -> str:
    """Return the letter of a note below a table: a to z, then aa, ab and so on."""
    before, last = divmod(mark - 1, 26)
    return (_letter(before) if before else "") + chr(ord("a") + last)


def _link_html(link: Link) -> str:
    if not link.href:
        return escape(link.word)
    return f'<a href="{ROOT_MARK}{escape(link.href)}">{escape(link.word)}</a>'
