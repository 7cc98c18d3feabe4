"""A log as people read it: text for the command line, HTML with charts for the page of its piece."""

from collections.abc import Iterator, Sequence
from html import escape

from handbook_calc.engine.bench import Answer
from handbook_calc.engine.chart import Chart, Limit, Line, Scale
from handbook_calc.engine.logbook import DAY, Continued, Log, moment_of, written
from handbook_calc.engine.planning import Plan
from handbook_calc.engine.sheet import scrolling

OPEN = ("late", "due", "under way")  # states of steps that ask for somebody


# --- words -------------------------------------------------------------------------------------


def lines_of(answer: Answer) -> Iterator[str]:
    """Yield the results of an answer as sentences or as ``name: value``."""
    given = answer.given()
    for declared in answer.calculation.results:
        value = answer.results[declared.name]
        if hasattr(declared, "words") and value is not None:
            yield f"{value}: {declared.sentence(value, given)}"
        elif value is not None and not hasattr(declared, "columns"):
            shown = answer.show(declared.name, given)
            if shown not in ("", "none"):
                yield f"{declared.about}: {shown}" if declared.unit != "text" else shown


def standing_lines(plan: Plan) -> Iterator[str]:
    """Yield where the plan stands: what is late, due or under way, each with its day."""
    states = plan.states if isinstance(plan, Continued) else {}
    for planned in plan.steps:
        state = states.get(planned.step.id)
        if state and state.word in OPEN:
            since = f", due since {plan.day(state.due)}" if state.word == "late" else ""
            until = f", likely until {plan.day(planned.end)}" if state.word == "under way" else ""
            yield f"{state.word}: {planned.step.title} ({planned.step.id}){since}{until}"


def counted(plan: Plan) -> str:
    """Return how many steps of a plan are done."""
    states = plan.states if isinstance(plan, Continued) else {}
    done = sum(state.word == "done" for state in states.values())
    return f"{done} of {len(states)} steps are marked as done"


def editions(log: Log) -> str:
    """Return by which editions the rows were read: ``by edition 2025.4 (3)``."""
    named = [f"{edition} ({count})" for edition, count in sorted(log.editions.items()) if edition]
    without = log.editions.get("", 0)
    told = [f"by edition {', '.join(named)}"] if named else []
    return "; ".join(told + ([f"{without} without an edition"] if without else []))


def _rows_of(count: int) -> str:
    return "1 row" if count == 1 else f"{count} rows"


def _no_longer(log: Log) -> str:
    """Return how many rows were corrected or struck out; empty where all count."""
    gone = len(log.entries) - len(log.standing)
    return f"; {gone} of them no longer count{'s' if gone == 1 else ''}" if gone else ""


def text(log: Log, plan: Plan) -> str:
    """Return a log as text: what is pointed out, what the calculations say, where the plan stands."""
    return "\n".join(_lines(log, plan))


def _lines(log: Log, plan: Plan) -> Iterator[str]:
    yield f"Log of {log.number} at {written(log.now)}: {_rows_of(len(log.entries))} of {log.file}"
    yield f"   {editions(log)}{_no_longer(log)}"
    for told in log.findings:
        yield f"look at this: {told}"
    lacking = []
    for said in log.said.values():
        if said.answer is None:
            lacking.append(said)
            continue
        yield f"{said.title} ({said.name})"
        yield from (f"   {line}" for line in lines_of(said.answer))
    for said in lacking:
        word = "not asked" if said.lacks else "refused"
        yield f"{word}: {said.title} ({said.name}): {said.lacks or said.refused}"
    yield f"The plan: {counted(plan)}"
    yield from (f"   {line}" for line in standing_lines(plan))


# --- charts ------------------------------------------------------------------------------------


def charts(log: Log) -> Iterator[tuple[str, str, Chart]]:
    """Yield name, title and chart of each series of a log that has two readings or more."""
    entries = log.standing
    if not entries:
        return
    first = DAY * (entries[0]["at"] // DAY)

    def day(entry: dict) -> float:
        return (entry["at"] - first) / DAY

    since = f"days since {moment_of(first):%Y-%m-%d}"
    yield from _of_chloride(log, entries, day, since)
    drying = [entry for entry in entries if entry["what"] == "weighing"]
    dry = log.said["constant-mass"].answer
    limits = []
    if dry and drying:
        last, allowed = drying[-1]["value"], float(dry.results["allowed"])
        limits = [Limit("no change", last + allowed), Limit("", last - allowed)]
    yield from _chart("mass", "Mass at each weighing", since, Scale("mass", "g"), drying, day, limits)
    box = [entry for entry in entries if entry["what"] == "box humidity"]
    answer = log.said["storage-verdict"].answer
    limits = []
    if answer:
        limits = [Limit("limit", float(answer.results["limit"]))]
    scale = Scale("humidity", "%", low=0.0)
    yield from _chart("humidity", "Humidity in its box", since, scale, box, day, limits)


def _of_chloride(log: Log, entries: list[dict], day, since: str) -> Iterator[tuple[str, str, Chart]]:
    read = [entry for entry in entries if entry["what"] in ("bath", "chloride")]
    stop = Limit("stop limit", log.house["electrolysis.stop_limit"])
    scale = Scale("chloride", "mg/L", low=0.0)
    yield from _chart("chloride", "Chloride read in each bath", since, scale, read, day, [stop])
    ledger = log.said["chloride-ledger"].answer
    if ledger is None or len(ledger.results["baths"]) < 2:
        return
    mass = log.house["piece.mass"] / 1000
    points = [(0.0, 0.0)]
    days = 0.0
    for bath, row in zip(ledger.results["baths"], ledger.inputs["readings"], strict=True):
        days += row[3]
        points.append((days, bath[3] / mass))
    chart = Chart(
        Scale("days in baths", low=0.0), Scale("chloride out, by its mass", "mg/kg", low=0.0),
        [Line("out", points, dots=True)],
        says="Where it flattens the piece gives no more.",
    )  # fmt: skip
    yield "sum", "Chloride out so far", chart


def _chart(
    name, title, since, scale, entries, day, limits: Sequence[Limit]
) -> Iterator[tuple[str, str, Chart]]:
    points = [  # the line is broken where a fresh bath was filled
        (day(entry), None if entry["what"] == "bath" else abs(entry["value"])) for entry in entries
    ]
    if sum(y is not None for _, y in points) < 2:
        return
    bounds = any(entry["value"] < 0 for entry in entries)
    notes = ["A reading below detection is drawn at its bound."] if bounds else []
    chart = Chart(Scale(since), scale, [Line("read", points, dots=True)], limits, says=" ".join(notes))
    yield name, title, chart


# --- HTML --------------------------------------------------------------------------------------


def html(log: Log, plan: Plan) -> str:
    """Return a log as a section of HTML: findings, verdicts, charts, and every row."""
    return "".join(_html(log, plan))


def _html(log: Log, plan: Plan) -> Iterator[str]:
    number, file = escape(log.number), log.file.rpartition("/")[2]
    yield f'<section class="hb-log" data-piece="{number}"><h2>Log</h2>'
    yield (
        f"<p>As of its last row, {written(log.now)}: {_rows_of(len(log.entries))}, "
        f"{escape(editions(log))}{_no_longer(log)}. {escape(counted(plan))}. The file is "
        f'<a href="{escape(file)}">{escape(file)}</a>.</p>'
    )
    standing = "".join(f"<li>{escape(line)}</li>" for line in standing_lines(plan))
    yield f"<ul>{standing}</ul>" if standing else ""
    if log.findings:
        yield "<h3>Look at this</h3><ul>"
        yield from (f"<li>{escape(told)}</li>" for told in log.findings)
        yield "</ul>"
    yield "<h3>What the readings say</h3>"
    for said in log.said.values():
        if said.answer is None:
            continue
        lines = "".join(f"<li>{escape(line)}</li>" for line in lines_of(said.answer))
        yield f"<p><strong>{escape(said.title)}</strong></p><ul>{lines}</ul>"
    lacking = [said for said in log.said.values() if said.answer is None]
    if lacking:
        yield "<details><summary>What is not asked yet, and why</summary><ul>"
        for said in lacking:
            yield f"<li>{escape(said.title)}: {escape(said.lacks or said.refused)}</li>"
        yield "</ul></details>"
    for name, title, chart in charts(log):
        plot = f"log-{''.join(sign if sign.isalnum() else '-' for sign in log.number)}-{name}"
        drawn, said = chart.svg(plot, title), escape(title)
        yield f'<figure class="hb-plot"><figcaption>{said}</figcaption>{drawn}</figure>'
    yield _rows(log)
    yield "</section>"


def _rows(log: Log) -> str:
    from handbook_calc.readings import NAMES

    counting = {entry["row"] for entry in log.standing}
    heads = "".join(f'<th scope="col">{escape(name)}</th>' for name in NAMES)
    body = []
    for entry in log.entries:
        corrects = str(entry["corrects"]) if entry["corrects"] else ""
        cells = [written(entry["at"]), entry["what"], entry["text"], entry["with"], entry["note"]]
        told = [escape(cell) for cell in (*cells, entry["edition"], corrects)]
        if entry["row"] not in counting:
            told = [f"<s>{cell}</s>" if cell else "" for cell in told]
        row = "".join(f"<td>{cell}</td>" for cell in told)
        body.append(f'<tr><th scope="row">{entry["row"]}</th>{row}</tr>')
    rows = f"<thead><tr>{heads}</tr></thead><tbody>{''.join(body)}</tbody>"
    shown = scrolling("Rows of the log", rows)
    return f"<details><summary>Every row, those that do not count struck through</summary>{shown}</details>"
