"""Every stage of the bench, in order of work; loading them fills the catalogue."""

import importlib
import importlib.util

STAGES = (
    "specimen",
    "electrolysis",
    "rinsing",
    "drying",
    "abrasives",
    "etching",
    "coating",
    "storage",
    "ventilation",
    "waste",
    "troubleshooting",
)


def load() -> None:
    """Import the stage modules, which enter their calculations, tables and house values."""
    for stage in ("bench_values", *STAGES):
        name = f"handbook_calc.{stage}"
        if importlib.util.find_spec(name) is not None:
            importlib.import_module(name)
