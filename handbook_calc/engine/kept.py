"""What was computed for an earlier state of the house standard, and still holds.

Someone who writes the handbook saves a page or a value, and looks. What is kept here is given again only
where everything that it was made from is as it was: each house value that was read, with its words and its
line, each list of names, and, for a table about the handbook itself, what uses what. Whoever keeps one must
throw it away when the code of the package has changed.
"""

from dataclasses import dataclass
from typing import Any

from handbook_calc.engine.browser import Formulas
from handbook_calc.engine.house import Entry, House


class Watched(House):
    """A house standard that remembers what was read of it."""

    def __init__(self, house: House) -> None:
        super().__init__(house.entries, house.files, house.misfits, house.piece, house.memory)
        self._house = house
        self._read: set[str] = set()
        self._lists: set[str] = set()
        self._whole = False

    def __getattribute__(self, name: str):
        """Remember that every entry may have been read, where somebody asks for all of them."""
        if name == "entries":
            self._whole = True
        return super().__getattribute__(name)

    def entry(self, key: str) -> Entry:
        """Return the entry of `key`, and remember it."""
        self._read.add(key)
        return self._house.entry(key)

    def names(self, key: str) -> tuple[str, ...]:
        """Return the names the house gave in a family, and remember the family."""
        self._lists.add(key)
        return self._house.names(key)

    def was_read(self) -> list[str]:
        """Return the keys of the values that were read."""
        return sorted(self._read)

    def same_in(self, other: House) -> bool:
        """Say whether another state of the standard holds the same, as far as this one was read."""
        before, now = self._house.entries, other.entries
        if self._house is other:
            return True
        if self._whole:
            return before == now and list(before) == list(now)
        return all(before.get(key) == now.get(key) for key in self._read) and all(
            self._house.names(key) == other.names(key) for key in self._lists
        )


class WatchedUsage:
    """What uses what in the handbook, and whether somebody asked for it."""

    def __init__(self, usage) -> None:
        self._usage = usage
        self.asked = False

    def __getattr__(self, name: str):
        self.asked = True
        return getattr(self._usage, name)


@dataclass
class Kept:
    """Something computed, and what it was computed from.

    Attributes:
        made: the thing itself.
        house: the standard as it was then, with what was read of it.
        usage: what used what in the handbook then, where that was read.
    """

    made: Any
    house: Watched
    usage: str = ""

    def holds(self, house: House, usage) -> bool:
        """Say whether it would be computed the same now."""
        return self.house.same_in(house) and (not self.usage or self.usage == repr(usage))


class Keep:
    """What renderers of one state of the code have computed, by what was asked for.

    Attributes:
        standards: the last standard, by what its files held.
        plans: the last plans of all pieces, by what the files held.
        formulas: the scripts of all formulas, once they are made; no house value changes it.
        computed: how many things had to be computed.
    """

    def __init__(self) -> None:
        self._found: dict[tuple, Kept] = {}
        self.standards: dict[str, House] = {}
        self.plans: dict[str, dict] = {}
        self.formulas: Formulas | None = None
        self.computed = 0

    def find(self, key: tuple, house: House, usage) -> Any:
        """Return what was made for `key` and still holds, or None."""
        kept = self._found.get(key)
        return kept.made if kept and kept.holds(house, usage) else None

    def put(self, key: tuple, made: Any, house: Watched, usage: str = "") -> None:
        """Keep what was made for `key` in place of what there was."""
        self._found[key] = Kept(made, house, usage)
        self.computed += 1
