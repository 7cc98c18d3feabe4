"""Every stage of the bench, in order of work; loading them fills the catalogue."""

import importlib

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

# What several stages share, or what would make a stage's own module too long; each says its STAGE.
SHARED = ("alkalinity", "potentials", "exchange", "evaporation", "soaking", "weighing")


def load() -> None:
    """Import the stage modules, which enter their calculations, tables and house values."""
    for stage in ("bench_values", *STAGES, *SHARED):
        importlib.import_module(f"handbook_calc.{stage}")
