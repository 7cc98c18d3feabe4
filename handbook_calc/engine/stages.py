"""Every stage of the bench, in order of work; loading them fills the catalogue."""

import importlib

from handbook_calc.engine import declarations, entries, steps
from handbook_calc.engine.faults import BadDeclaration, raised_at

STAGES = (
    "specimen",
    "electrolysis",
    "chloride",
    "rinsing",
    "alcohol",
    "oven",
    "abrasives",
    "etching",
    "coating",
    "storage",
    "ventilation",
    "waste",
    "troubleshooting",
)

# What several stages share, or what would make a stage's own module too long; each says its STAGE.
SHARED = (
    "piece",
    "work",
    "alkalinity",
    "potentials",
    "exchange",
    "evaporation",
    "soaking",
    "weighing",
    "substances",
    "compatibility",
    "exposure",
    "risk",
    "labels",
    "changes",
    "printed",
    "benches",
    "plan",
    "readings",
    "log",
)


def load(checked: bool = False) -> None:
    """Import the stage modules, which enter their calculations, tables and house values, and check them.

    Arguments:
        checked: this state of the code was checked before, and without fault.

    Raises:
        BadDeclaration: what is wrong in them, each fault with file and line.
    """
    for stage in ("shared_values", *STAGES, *SHARED):
        try:
            importlib.import_module(f"handbook_calc.{stage}")
        except BadDeclaration:
            raise
        except Exception as error:  # whatever is wrong in a module, its place is told, not a traceback
            raise BadDeclaration(f"{raised_at(error)}: handbook_calc cannot be loaded: {error}") from error
    if not checked:
        declarations.check()
        steps.check()
        entries.check(steps.STEPS)
