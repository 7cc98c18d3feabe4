"""Every stage of the bench, in order of work; loading them fills the catalogue."""

import importlib

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


def load() -> None:
    """Import the stage modules, which enter their calculations, tables and house values."""
    for stage in ("bench_values", *STAGES):
        importlib.import_module(f"handbook_calc.{stage}")
