"""Inputs made from the house value that is their default.

Unit, words, range and kind of such an input are those of the house value's own declaration, so the two
cannot differ. A calculation may take more than a house may choose, never less.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from handbook_calc.engine.faults import BadDeclaration, declared_at, nearest
from handbook_calc.engine.fields import Choice, Field, Quantity
from handbook_calc.engine.house import FAMILIES, SETTINGS

PLACE = re.compile(r"\{(\w+)\}")


@dataclass(frozen=True)
class FromHouse:
    """An input that stands for a house value; its declaration is looked up when it is first needed.

    A stage may name house values of a later stage, so the look-up waits until all are declared.
    """

    key: str
    name: str
    place: str
    changes: dict

    @cached_property
    def field(self) -> Field:
        """Return the input's declaration.

        Raises:
            BadDeclaration: there is no such house value, or the range leaves out what a house may choose.
        """
        found = house_field(self.key)
        if found is None:
            known = [
                *SETTINGS,
                *(f"{key}.{{entry}}.{f.name}" for key, e in FAMILIES.items() for f in e.fields),
            ]
            raise self._bad(f"no house value '{self.key}'{nearest(self.key, known)}")
        changes = {key: value for key, value in self.changes.items() if value is not None}
        if changes.pop("free", False) and isinstance(found, Quantity):
            found = replace(found, limit="", why="")
        offered = changes.get("options")
        if offered is not None and isinstance(found, Choice) and not set(found.names()) <= set(offered):
            raise self._bad("offers fewer names than a house may choose; take all of those")
        because = changes.pop("because", "")
        if "low" in changes or "high" in changes or because:
            changes |= self._range(found, changes, because)
        return replace(found, name=self.name, house=self.key, example="", **changes)

    def _range(self, found: Field, changes: dict, because: str) -> dict:
        if not isinstance(found, Quantity):
            raise self._bad("has a range of its own, and the house value is no number")
        if not because:
            raise self._bad("has a range of its own without a reason; say why with because=")
        low, high = changes.get("low", found.low), changes.get("high", found.high)
        if (low, high) == (found.low, found.high):
            raise self._bad("repeats the range of the house value; leave low=, high= and because= out")
        if low > found.low or high < found.high:
            raise self._bad(
                f"takes {low:g} to {high:g} {found.unit}, and a house may choose {found.low:g} to "
                f"{found.high:g}; take all of that, or narrow the house value"
            )
        laxer = {"most": high > found.high, "least": low < found.low}
        if laxer.get(found.limit, False):
            raise self._bad(
                f"takes up to {high if found.limit == 'most' else low:g} {found.unit}, and "
                f"{found.ceiling:g} {found.unit} is the ceiling of a limit, which is only ever tightened; "
                "leave that end as it is, or say free=True where the input is no limit"
            )
        return {"why": f"{found.why}; {because}" if found.limit else because}

    def _bad(self, text: str) -> BadDeclaration:
        return BadDeclaration(f"{self.place}: from_house('{self.key}') {text}")


def from_house(
    key: str,
    *,
    name: str = "",
    about: str | None = None,
    low: float | None = None,
    high: float | None = None,
    because: str = "",
    optional: bool | None = None,
    also: tuple[str, ...] | None = None,
    options: Sequence[str] | None = None,
    normal: Callable[[str], str] | None = None,
    free: bool = False,
    end: str | None = None,
) -> FromHouse:
    """Declare an input whose default is a house value, from the declaration of that value.

    Arguments:
        key: the house value; ``{x}`` in it stands for input x, as in ``coating.kinds.{coating}.dry_film``.
        name: name of the input; default is the last part of the key.
        about: its words, where those of the house value would not say what it is here.
        low, high: a wider range, where the formula holds beyond what a house may choose.
        because: why the range is wider; printed where a value is out of it.
        optional: may be written ``none`` although the house value may not.
        also: other names that a person may write for it.
        options, normal: more names than a house may choose among, and how they are spelled.
        free: the house value is a limit, and the input is none: a level that is asked about, such as the
            share that a closed room is followed up to. Nothing is allowed or refused by it.
        end: ``low`` or ``high``: the default is that end of the house value's span, not the value.
    """
    changes = {
        "about": about, "low": low, "high": high, "because": because, "optional": optional, "also": also,
        "options": options, "normal": normal, "free": free or None, "end": end,
    }  # fmt: skip
    return FromHouse(key, name or key.rpartition(".")[2], declared_at(), changes)


def house_field(key: str) -> Field | None:
    """Return the declaration of a house value, or of an entry of a family; None where there is none."""
    if key in SETTINGS:
        return SETTINGS[key]
    if not PLACE.search(key):
        return None
    start, _, rest = key.partition(".{")
    name = rest.partition("}")[2].lstrip(".")
    if start in FAMILIES:
        return next((field for field in FAMILIES[start].fields if field.name == name), None)
    # A section whose keys are a closed list, such as the solvents: every key is declared alike.
    return next((f for k, f in SETTINGS.items() if k.rpartition(".")[0] == start and not name), None)


def resolved(declared: Field | FromHouse) -> Field:
    """Return an input's declaration, looked up where it comes from the house."""
    return declared.field if isinstance(declared, FromHouse) else declared
