"""Tables about the handbook itself: house values, outside checks, sources, calculations."""

from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.checks import checks
from handbook_calc.engine.quantities import label
from handbook_calc.engine.sources import ORIGINS, sources
from handbook_calc.engine.stages import STAGES
from handbook_calc.engine.tables import TABLES, Banner, Column, Link, Links, Sheet, table

SOURCES_PAGE = "keeper/sources-and-checks.html"
HOUSE_PAGE = "keeper/house-standard.html"
REGISTERS = ("house-values", "outside-checks", "sources", "calculations", "questions", "calculator-list")


@table(
    "house-values",
    title="Every value of the house standard",
    question="What has the house set, and why?",
    notes=("A value that nothing uses yet is marked so; it may still be read by people.",),
)
def house_values_table(bench):
    """Every value with unit, allowed range, reason, and what uses it; sections in the order of the file."""
    rows = []
    section = ""
    order = list(dict.fromkeys(key.split(".")[0] for key in bench.house.entries))
    for key in sorted(bench.house.entries, key=lambda key: order.index(key.split(".")[0])):
        entry = bench.house.entries[key]
        if key.split(".")[0] != section:
            section = key.split(".")[0]
            rows.append([Banner(section)])
        rows.append(
            [
                Link(key, anchor=f"house-{key}"),
                entry.show(),
                entry.field.allowed(),
                f"{entry.field.about}. {entry.reason}",
                Links(bench.usage.of_value(key)) if bench.usage else "",
            ]
        )
    return Sheet(
        [Column(title) for title in ("Key", "Value", "Allowed", "What it is, and why this value", "Used by")],
        rows,
    )


@table(
    "outside-checks",
    title="Every outside check value",
    question="How is this handbook's arithmetic checked?",
    notes=(
        "'Differs by' is our value less the outside value. A check outside its tolerance fails the tests.",
        *(f"Origin '{origin}': {meaning}." for origin, meaning in ORIGINS.items()),
    ),
)
def outside_checks_table(bench):
    """Every outside value beside ours."""
    rows = []
    stage = ""
    for check in checks():
        found = CATALOGUE[check.calculation].stage
        if found != stage:
            stage = found
            rows.append([Banner(stage)])
        ours = check.ours()
        difference = check.difference(ours)
        rows.append(
            [
                check.calculation + (f": {check.result}" if check.result else ""),
                "; ".join(f"{name} {value}" for name, value in check.inputs.items()),
                f"{check.expected} {label(check.unit)}".strip(),
                ours if isinstance(ours, float) else str(ours),
                "same" if difference is None else f"{difference:+.2g}",
                check.tolerance or "exact",
                Link(check.source, f"{SOURCES_PAGE}#source-{check.source}"),
                check.origin,
            ]
        )
    titles = (
        "Calculation",
        "Inputs",
        "Outside value",
        "Ours",
        "Differs by",
        "Tolerance",
        "Source",
        "Origin",
    )
    return Sheet([Column(title, "text", 6) for title in titles], rows)


@table("sources", title="Every source cited", question="Where do the figures come from?")
def sources_table(bench):
    """Every source with edition, place, origin and use."""
    rows = [
        [Link(s.key, anchor=f"source-{s.key}"), s.title, s.edition, s.place, s.origin, s.used_for]
        for s in sorted(sources().values(), key=lambda s: s.key)
    ]
    titles = ("Key", "Title", "Edition", "Place in it", "Origin", "Used for")
    return Sheet([Column(title) for title in titles], rows)


@table(
    "calculations",
    title="Every calculation",
    question="What can be computed, from what, within which limits?",
)
def calculations_table(bench):
    """Every calculation with inputs, ranges, results, refusals and number of outside checks."""
    counts: dict[str, int] = {}
    for check in checks():
        counts[check.calculation] = counts.get(check.calculation, 0) + 1
    rows = []
    stage = ""
    for calculation in CATALOGUE.values():
        if calculation.stage != stage:
            stage = calculation.stage
            rows.append([Banner(stage)])
        inputs = "; ".join(
            f"{d.name} ({d.allowed()}{', default ' + d.house if d.house else ''})" for d in calculation.inputs
        )
        results = "; ".join(
            f"{r.name} [{label(r.unit)}]" if label(r.unit) not in ("", "text", "rows") else r.name
            for r in calculation.results
        )
        rows.append(
            [
                Link(calculation.name, anchor=f"calculation-{calculation.name}"),
                calculation.title,
                inputs,
                results,
                len(calculation.refusals),
                counts.get(calculation.name, 0),
            ]
        )
    titles = ("Name", "What it answers", "Inputs", "Results", "Refusals", "Outside checks")
    return Sheet([Column(title) for title in titles], rows)


@table("questions", title="Every table, by the question it answers", question="Where do I find it?")
def questions_table(bench):
    """Every table with its question, its title and a link to where it stands."""
    rows = []
    for stage in STAGES:
        found = [entry for entry in TABLES.values() if entry.stage == stage]
        if found:
            rows.append([Banner(stage)])
        for entry in found:
            link = bench.usage.table_link(entry.id) if bench.usage else Link(entry.id)
            rows.append([Link(entry.question, link.href), entry.title])
    return Sheet([Column("Question"), Column("Table")], rows)


@table("calculator-list", title="Every calculator", question="What can I work out?")
def calculator_list_table(bench):
    """Every calculation with a link to its calculator."""
    rows = []
    for stage in STAGES:
        found = [calculation for calculation in CATALOGUE.values() if calculation.stage == stage]
        if found:
            rows.append([Banner(stage)])
        for calculation in found:
            href = f"calculators/{stage}.html#calc-{calculation.name}"
            gives = "; ".join(result.about for result in calculation.results[:3])
            rows.append([Link(calculation.title, href), gives])
    return Sheet([Column("What you want to know"), Column("What it tells")], rows)
