"""The sources that calculations, house values and outside checks name, as data."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import yaml

from handbook_calc.engine import places
from handbook_calc.engine.faults import BadDeclaration, brief

SOURCES_FILE = Path(__file__).parent.parent / "data" / "sources.yml"
ORIGINS = {
    "published": "a text, table or data set that was read, in itself or in an open copy of it",
    "library": "a general-purpose reference library, run on the same inputs",
    "derived": "worked out here, from definitions or from what the source prints; the steps are given",
    "common practice": "a habit of the trade without a source",
    "memory": "remembered from a text that was not at hand; check before relying on it",
}
# How much a check value is worth as evidence follows from where its *number* is from.
GRADES = {
    "outside": "measured or printed by others, or given by an independent general-purpose library",
    "rederived": "worked out here by other means: it finds a slip of ours, but says nothing about the model",
    "habit": "common practice of the trade: nobody measured it",
    "memory": "remembered from a text that was not at hand: check it before you rely on it",
}
GRADE_OF_ORIGIN = {
    "published": "outside",
    "library": "outside",
    "derived": "rederived",
    "common practice": "habit",
    "memory": "memory",
}


@dataclass(frozen=True)
class Source:
    """One citation: key, title, edition, place in it, origin and what it is used for."""

    key: str
    title: str
    edition: str
    place: str
    origin: str
    used_for: str


@cache
def sources() -> dict[str, Source]:
    """Return every source by its key.

    Raises:
        ValueError: an entry lacks a field or has an unknown origin.
    """
    found = _read(SOURCES_FILE, SOURCES_FILE.name)
    own = places.own_data(SOURCES_FILE.name)
    if own is None:
        return found
    shown = f"{places.DATA}/{own.name}"
    try:
        added = _read(own, shown)
    except (ValueError, OSError, AttributeError, yaml.YAMLError) as error:
        raise BadDeclaration(f"{shown}:1: cannot be read as sources: {brief(error, 300)}") from None
    if twice := sorted(set(added) & set(found)):
        raise BadDeclaration(
            f"{shown}:1: {twice[0]} is a source of the handbook already; give yours another key"
        )
    return found | added


def _read(path: Path, shown: str) -> dict[str, Source]:
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    entries = yaml.load(path.read_text(encoding="utf-8"), loader) or {}
    found = {}
    for key, entry in entries.items():
        try:
            found[key] = Source(key, **{name: str(text) for name, text in entry.items()})
        except TypeError as error:
            raise ValueError(f"{shown}: {key}: {error}") from None
        if found[key].origin not in ORIGINS:
            raise ValueError(
                f"{shown}: {key}: origin = {found[key].origin}; allowed is one of {', '.join(ORIGINS)}"
            )
    return found
