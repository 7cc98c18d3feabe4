"""Sheets to print and pin up: decks of cards, each card of a fixed size of paper.

A card's text is written as a page is: `{{ value ... }}` in it is filled by the same renderer, so that no
figure and no sentence of the register is typed a second time. What a house wrote itself, a telephone number
for example, is asked for in the same way and never put into such a text, so it stays text.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from inspect import cleandoc

from handbook_calc.engine.directives import Directive, find
from handbook_calc.engine.faults import BadDeclaration, declared_at
from handbook_calc.engine.house import House

DECKS: dict[str, "Deck"] = {}
# What a deck is printed on: a card on a sheet of A5, several labels on one of A4, a card on A4 lying down.
PAPERS = ("card", "label", "sheet")


@dataclass(frozen=True)
class Part:
    """A line of a card: its head, its text or texts, and how many lines are left to write on."""

    head: str
    text: str | Sequence[str] = ""
    write: int = 0

    def texts(self) -> tuple[str, ...]:
        """Return its texts; several are a list."""
        return (self.text,) if isinstance(self.text, str) else tuple(self.text)


@dataclass(frozen=True)
class Grid:
    """A table on a card; the first cell of a row heads it."""

    title: str
    columns: Sequence[str]
    rows: Sequence[Sequence[str]]

    def texts(self) -> Iterator[str]:
        """Return the texts of its cells."""
        return (cell for row in self.rows for cell in row)


@dataclass(frozen=True)
class Card:
    """One card: the end of its address, its title, a word that warns, its parts."""

    anchor: str
    title: str
    parts: Sequence[Part | Grid]
    signal: str = ""

    def texts(self) -> Iterator[str]:
        """Return every text of the card that may hold a directive."""
        yield self.title
        for part in self.parts:
            yield from part.texts()


def asked_by(cards: Iterable[Card]) -> tuple[Directive, ...]:
    """Return the directives in the texts of cards."""
    return find("\n".join(text for card in cards for text in card.texts()))


@dataclass(frozen=True)
class Deck:
    """A kind of card: name, title, paper, and what makes the cards of one house."""

    name: str
    title: str
    paper: str
    make: Callable[[House], list[Card]]


def deck(name: str, *, title: str, paper: str):
    """Declare what makes the cards of one kind: a function of a house standard.

    Raises:
        BadDeclaration: the name is taken, the paper is unknown, or there is no docstring.
    """

    place = declared_at()

    def declare(make: Callable[[House], list[Card]]):
        faults = []
        if name in DECKS:
            faults.append("is declared twice")
        if paper not in PAPERS:
            faults.append(f"has the unknown paper '{paper}'; allowed is {', '.join(PAPERS)}")
        if not cleandoc(make.__doc__ or ""):
            faults.append("has no docstring")
        if faults:
            raise BadDeclaration("\n".join(f"{place}: deck '{name}' {told}" for told in faults))
        DECKS[name] = Deck(name, title, paper, make)
        return make

    return declare
