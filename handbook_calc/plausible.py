"""The most that can be true of any piece or bench: ceilings that several stages share.

A result above its ceiling is refused. Inputs that are each allowed can still contradict each other, and
then the honest answer is that they cannot all be right.
"""

from handbook_calc.engine import quantities
from handbook_calc.engine.calculation import Number

MILLENNIUM = 365_250.0  # days
AGES = "no bath, box, film or model here is known to hold for a thousand years"


def duration(
    name: str,
    unit: str,
    about: str,
    digits: int = 3,
    optional: bool = False,
    without: str = "none",
    safe: str = "",
) -> Number:
    """Return the declaration of a time that nobody waits out: at most a thousand years.

    Arguments:
        name, unit, about, digits, optional, without, safe: as of `Number`.
    """
    most = quantities.convert(MILLENNIUM, "d", unit)
    return Number(name, unit, about, digits, optional, without, most, AGES, safe=safe)
