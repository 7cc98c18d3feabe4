"""What was computed before from the same words: how runs of calculations spread, and the ends of plans.

Both follow from the code and from a text that tells everything they are made from, so what is found under
that text is the same to the last digit. A memory lasts as long as its process; with a file, from one build
to the next, as long as the code is the same.
"""

import contextlib
import hashlib
import json
import os
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import astuple
from pathlib import Path
from typing import Any

from handbook_calc.engine.interval import Flip, Interval, Leaf, Spread

PASSING = "combination "  # stands in the key of what only this process can name


class Memory:
    """What was computed before.

    A file that is damaged, locked away, of other code or no file at all costs the time of computing anew and
    nothing else. It is data and no code: a digest stands in its first line, JSON in its second.

    Attributes:
        checked: the declarations of this code were found without fault.
    """

    def __init__(self, path: Path | None = None, code: str = "") -> None:
        self._path = path if code else None
        self._code = code
        self._before: dict[str, Any] = {}  # as the file has it
        self._found: dict[str, Any] = {}  # as it was computed, or read from the file and asked for
        self.checked = False
        if self._path:
            self._read(self._path)

    def spread(self, key: str, make: Callable[[], Spread]) -> Spread:
        """Return how the results of a run spread; `key` tells the run and all of its inputs."""
        return self._recalled(f"spread {key}", make, _spread_of)

    def ends(self, key: str, make: Callable[[], dict]) -> dict[str, tuple[float, float]]:
        """Return the ends of a plan's numbers by name; `key` tells the facts and house values of the plan."""
        return self._recalled(
            f"ends {key}", make, lambda plain: {n: tuple(both) for n, both in plain.items()}
        )

    def save(self) -> None:
        """Write what this process computed or asked for, and nothing of what is no longer asked for."""
        if self._path is None:
            return
        kept = {key: _plain(made) for key, made in self._found.items() if not key.startswith(PASSING)}
        if self.checked and kept.keys() == self._before.keys():
            return
        data = json.dumps({"code": self._code, "found": kept}).encode()
        with contextlib.suppress(OSError):
            self._path.parent.mkdir(parents=True, exist_ok=True)
            file, name = tempfile.mkstemp(dir=self._path.parent)
            try:
                with os.fdopen(file, "wb") as out:
                    out.write(hashlib.sha256(data).hexdigest().encode() + b"\n" + data)
                os.replace(name, self._path)
            except OSError:
                os.unlink(name)

    def _recalled(self, key: str, make: Callable[[], Any], read: Callable[[Any], Any]) -> Any:
        passing = PASSING if PASSING in key else ""
        mark = passing + hashlib.blake2b(key.encode(), digest_size=16).hexdigest()
        if mark not in self._found:
            before = self._before.get(mark)
            self._found[mark] = make() if before is None else read(before)
        return self._found[mark]

    def _read(self, path: Path) -> None:
        with contextlib.suppress(OSError, ValueError, KeyError, TypeError, AttributeError):
            digest, data = path.read_bytes().split(b"\n", 1)
            if hashlib.sha256(data).hexdigest().encode() != digest:
                return
            kept = json.loads(data)
            if kept["code"] == self._code:
                self._before, self.checked = kept["found"], True


def _plain(made: Spread | Mapping) -> Any:
    if not isinstance(made, Spread):
        return made
    return {
        "intervals": {name: astuple(one) for name, one in made.intervals.items()},
        "flips": {name: [astuple(flip) for flip in flips] for name, flips in made.flips.items()},
        "refused": made.refused,
        "reason": made.reason,
    }


def _spread_of(plain: dict) -> Spread:
    intervals = {
        name: Interval(value, low, high, tuple(dominant), refused)
        for name, (value, low, high, dominant, refused) in plain["intervals"].items()
    }
    flips = {
        name: tuple(Flip(word, Leaf(*leaf), above, edge) for word, leaf, above, edge in flips)
        for name, flips in plain["flips"].items()
    }
    return Spread(intervals, flips, plain["refused"], plain["reason"])
