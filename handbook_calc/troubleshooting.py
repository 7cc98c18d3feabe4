"""Troubleshooting: from what is seen at the bench to the page that mends it. No figures live here."""

from handbook_calc.engine.data import rows
from handbook_calc.engine.tables import Column, Link, Sheet, table


@table(
    "troubleshooting",
    title="Faults by stage, with a check and the way to the remedy",
    question="What is this, and what do I do about it?",
    notes=(
        "The cause is the likely one, not the only one: do the check before the remedy.",
        "Where a check says not to touch, nothing is to be found out first.",
        "What is said of chloride rests on iron out of the ground, the best analogue for meteorites.",
    ),
    sources=tuple(dict.fromkeys(row["source"] for row in rows("troubleshooting"))),
    filters=("Stage", "What you see"),
)
def troubleshooting_table(bench):
    """Every fault in order of work; what to do leads to the page and section that tell how."""
    return Sheet(
        [Column(title) for title in ("Stage", "What you see", "Likely cause", "Check", "Do")],
        [
            [row["stage"], row["seen"], row["cause"], row["check"], Link(row["remedy"], row["page"])]
            for row in rows("troubleshooting")
        ],
    )
