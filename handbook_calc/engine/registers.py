"""Tables about the handbook itself: house values, checks and their grades, sources, calculations."""

from collections import Counter

from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.checks import checks, unchecked
from handbook_calc.engine.house import GRADES as HOUSE_GRADES
from handbook_calc.engine.house import is_of_piece
from handbook_calc.engine.quantities import label
from handbook_calc.engine.sources import GRADES, ORIGINS, sources
from handbook_calc.engine.stages import STAGES
from handbook_calc.engine.tables import TABLES, Banner, Column, Link, Links, Sheet, table

SOURCES_PAGE = "keeper/sources-and-checks.html"
HOUSE_PAGE = "keeper/house-standard.html"
# Made from all values of all pages or from other files, so never taken from what was computed before.
OF_EDITIONS = (
    "changes-plans",
    "changes-unsafe",
    "changes-notable",
    "changes-rest",
    "unchanged-pages",
    "printed-copies",
    "sheet-codes",
    "benches",
    "bench-differences",
    "bench-reasons",
)
REGISTERS = (
    "house-values",
    "piece-facts",
    "check-grades",
    "unchecked-calculations",
    "outside-checks",
    "sources",
    "calculations",
    "questions",
    "calculator-list",
    *OF_EDITIONS,
)
HOUSE_VALUE_TITLES = ("Key", "Value", "Allowed", "Rests on", "What it is, and why this value", "Used by")


@table(
    "house-values",
    title="Every value of the house standard",
    question="What has the house set, and why?",
    notes=(
        "A value that nothing uses yet is marked so; it may still be read by people.",
        "In brackets behind a value stands its span: the true value is thought to lie below it with a chance "
        "of one in twenty, and above it likewise.",
        *(f"Rests on '{grade.lower()}': {meaning}." for grade, meaning in HOUSE_GRADES.items()),
    ),
    filters=("Rests on",),
)
def house_values_table(bench):
    """Every value with unit, allowed range, reason, and what uses it; sections in the order of the file."""
    return _values(bench, [key for key in bench.house.entries if not is_of_piece(key)])


@table(
    "piece-facts",
    title="Every fact of the piece that the worked figures are about",
    question="Which piece are the figures about, and what is known of it?",
    notes=("Another piece has a file of its own; what nobody knows of it stands there as unknown.",),
)
def piece_facts_table(bench):
    """Every fact and wish of the piece of the worked figures, and what uses it."""
    return _values(bench, [key for key in bench.house.entries if is_of_piece(key)])


def _values(bench, keys: list[str]) -> Sheet:
    """Return the values of some keys with unit, range, reason and use; sections in the order of the file."""
    rows = []
    section = ""
    order = list(dict.fromkeys(key.split(".")[0] for key in keys))
    for key in sorted(keys, key=lambda key: order.index(key.split(".")[0])):
        entry = bench.house.entries[key]
        if key.split(".")[0] != section:
            section = key.split(".")[0]
            rows.append([Banner(section)])
        rows.append(
            [
                Link(key, anchor=f"house-{key}"),
                entry.show(),
                entry.field.allowed(),
                entry.grade.lower(),
                f"{entry.field.about}. {entry.why}",
                Links(bench.usage.of_value(key)) if bench.usage else "",
            ]
        )
    return Sheet([Column(title) for title in HOUSE_VALUE_TITLES], rows)


@table(
    "check-grades",
    title="How many checks there are, by what they are worth",
    question="How much of this handbook is checked against others?",
    notes=(
        "Numbers and words are counted apart. A number within its tolerance is a check of size; a word says "
        "that a verdict or a refusal came out as it should.",
    ),
)
def check_grades_table(bench):
    """Number of checks of each grade, and of the calculations that have one."""
    rows = []
    for grade, meaning in GRADES.items():
        found = [check for check in checks() if check.grade == grade]
        numbers = sum(1 for check in found if check.tolerance)
        rows.append(
            [grade, meaning, numbers, len(found) - numbers, len({check.calculation for check in found})]
        )
    titles = ("Grade", "What the checked value is", "Numbers", "Words", "Calculations")
    return Sheet([Column(title) for title in titles], rows)


@table(
    "unchecked-calculations",
    title="Calculations without an outside number",
    question="What is not checked against anybody's number, and why?",
    notes=("Every other calculation has at least one outside number that is not zero; a test sees to it.",),
)
def unchecked_calculations_table(bench):
    """Each calculation that has no outside number, with the reason and the grades of what checks it has."""
    rows = []
    for name, why in unchecked().items():
        grades = {check.grade for check in checks() if check.calculation == name}
        rows.append(
            [
                Link(CATALOGUE[name].title, f"keeper/calculations.html#calculation-{name}"),
                why,
                ", ".join(grade for grade in GRADES if grade in grades),
            ]
        )
    return Sheet([Column(title) for title in ("Calculation", "Why", "Grades of its checks")], rows)


@table(
    "outside-checks",
    title="Every check value",
    question="How is this handbook's arithmetic checked?",
    notes=(
        "'Differs by' is our value less the other. A check outside its tolerance fails the tests.",
        *(f"Grade '{grade}': {meaning}." for grade, meaning in GRADES.items()),
        *(f"Origin '{origin}': {meaning}." for origin, meaning in ORIGINS.items()),
    ),
)
def outside_checks_table(bench):
    """Every check value beside ours, with its grade."""
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
                check.grade if check.grade == check.origin else f"{check.grade} ({check.origin})",
                f"{check.place}: {check.why}",
            ]
        )
    titles = (
        "Calculation",
        "Inputs",
        "Checked against",
        "Ours",
        "Differs by",
        "Tolerance",
        "Source",
        "Grade (origin)",
        "Place, and why this tolerance",
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
    """Every calculation with inputs, ranges, results, refusals and number of checks, outside ones apart."""
    counts = Counter(check.calculation for check in checks())
    outside = Counter(check.calculation for check in checks() if check.grade == "outside")
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
                outside[calculation.name],
                counts[calculation.name] - outside[calculation.name],
            ]
        )
    titles = ("Name", "What it answers", "Inputs", "Results", "Refusals", "Outside checks", "Other checks")
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
