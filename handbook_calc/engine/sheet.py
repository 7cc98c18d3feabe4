"""A plan as people read it: text for the command line, HTML for its page, and the drawing of its days."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from html import escape
from math import ceil

from handbook_calc.engine.diary import of_day, under_way, work_of
from handbook_calc.engine.planning import Amount, Plan, Planned
from handbook_calc.engine.steps import MATERIALS

LEFT_OUT = "left out"


def duration(amount: Amount) -> str:
    """Return a time in the unit it reads best in: hours below three days, else days."""
    if amount.unit != "d" or amount.value >= 3:
        return amount.show(2)
    hours = Amount(24 * amount.value, 24 * amount.low, 24 * amount.high, "h")
    return hours.show(2)


def span_of(plan: Plan, planned: Planned) -> str:
    """Return from when to when a step lasts; nothing where no start is known."""
    begin, end = plan.day(planned.begin), plan.day(planned.end)
    if begin is None:
        return ""
    if end is None:
        return f"from {begin}, ends beyond the calendar"
    return begin if begin == end else f"{begin} to {end}"


def ends(plan: Plan) -> str:
    """Return from when to when a plan lasts; nothing where no start is known."""
    done = [planned for planned in plan.steps if planned.begin is not None and planned.end is not None]
    first = plan.day(min(planned.begin or 0.0 for planned in done))
    last = plan.day(max(planned.end or 0.0 for planned in done))
    return f", {first} to {last or 'beyond the calendar'}" if first else ""


# --- text --------------------------------------------------------------------------------------


def text(plan: Plan) -> str:
    """Return a plan as text."""
    return "\n".join(_lines(plan))


def _lines(plan: Plan) -> Iterator[str]:
    yield f"Plan of {plan.number}: grade {plan.grade}, edition {plan.house['house.edition']}"
    yield f"{plan.takes.show(2)} from the first step to the last{ends(plan)}"
    if plan.refused:
        yield f"REFUSED: {plan.refused}"
        yield "The steps below show what the route would ask for."
    for key, costs in plan.unknowns.items():
        yield f"not known: {key}, taken as {plan.house.entry(key).show()}. {costs}"
    for told in plan.misfits:
        yield f"other than the house's usual: {told}"
    yield ""
    for count, planned in enumerate((p for p in plan.steps if p.applies), 1):
        when = span_of(plan, planned)
        yield f"{count}. {planned.step.title} ({planned.step.id}){': ' + when if when else ''}"
        hands = duration(planned.attended)
        yield f"   takes {duration(planned.takes)}, hands on {hands}. {planned.why}"
        if planned.refused:
            yield f"   REFUSED: {planned.refused}"
        for name, amount in planned.figures.items():
            figure = planned.step.figures[name]
            yield f"   {figure.about}: {amount.show(figure.digits)}"
        for name in planned.step.cautions:
            yield f"   first read: safety/{name}"
        for hold in planned.holds:
            yield f"   hold: {hold}"
    yield ""
    for planned in plan.steps:
        if not planned.applies:
            word = "refused" if planned.refused else LEFT_OUT
            yield f"{word}: {planned.step.title} ({planned.step.id}): {planned.refused or planned.why}"
    yield ""
    yield "In all:"
    for name, amount in plan.totals.items():
        yield f"   {name}: {amount.show()}"
    yield "No route is a cure: baths lower the chloride, dry air keeps the piece."


def day_text(plans: Sequence[Plan], day: date) -> str:
    """Return what is to be done on a day with all pieces, as text."""
    lines = [f"{day.isoformat()}:"]
    lines += [f"   {w.begin:%H:%M} to {w.end:%H:%M}  {w.title}" for w in of_day(plans, day)]
    lines += [f"   waits          {plan.number}: {p.step.title}" for plan, p in under_way(plans, day)]
    return "\n".join(lines) if len(lines) > 1 else f"{lines[0]} nothing is planned"


# --- HTML --------------------------------------------------------------------------------------


def html(plan: Plan) -> str:
    """Return a plan as HTML: what is known, what is refused, steps to tick off, the drawing, the totals."""
    return "".join(_html(plan))


def words(plan: Plan) -> str:
    """Return the words of a plan that the search should find."""
    return escape(" ".join([plan.number, *(p.step.title for p in plan.steps if p.applies)]))


def _html(plan: Plan) -> Iterator[str]:
    number = escape(plan.number)
    yield f'<section class="hb-plan" data-piece="{number}">'
    if plan.refused:
        yield f'<p class="hb-plan-refused" role="note"><strong>Refused.</strong> {escape(plan.refused)} '
        yield "The steps below show what the route would ask for.</p>"
    yield (
        f"<p>Grade <strong>{plan.grade}</strong>; from the first step to the last "
        f"<strong>{_e(plan.takes.show(2))}</strong>{ends(plan)}.</p>"
    )
    if plan.misfits:
        yield (
            "<p>Other than the house's usual values, which would not do for this piece; the steps below "
            "say what "
            "it needs:</p><ul>"
        )
        yield from (f"<li>{_e(told)}</li>" for told in plan.misfits)
        yield "</ul>"
    yield _facts(plan)
    yield "<h2>Days</h2>"
    yield f'<div class="hb-days-box" tabindex="0" role="group" aria-label="Days">{drawing(plan)}</div>'
    yield "<h2>Steps</h2>"
    yield '<ol class="hb-plan-steps">'
    for planned in plan.steps:
        if planned.applies:
            yield _step(plan, planned)
    yield "</ol><h2>Left out, and why</h2><ul>"
    for planned in plan.steps:
        if not planned.applies:
            told = planned.refused or planned.why
            word = "<strong>Refused.</strong> " if planned.refused else ""
            yield f"<li>{_link(planned)}: {word}{escape(told)}</li>"
    yield "</ul><h2>Material and waste</h2>"
    yield _totals(plan)
    yield "</section>"


def _facts(plan: Plan) -> str:
    rows = []
    for key, entry in plan.house.entries.items():
        section, _, _ = key.partition(".")
        if section not in ("piece", "wanted"):
            continue
        note = f" <em>{escape(entry.instead.costs)}</em>" if entry.instead else ""
        name, value = escape(entry.field.about), _e(entry.show())
        rows.append(f'<tr id="fact-{key}"><th scope="row">{name}</th><td>{value}{note}</td></tr>')
    table = scrolling("Facts and wishes", f"<tbody>{''.join(rows)}</tbody>")
    return (
        '<details class="hb-plan-facts"><summary>What is known of it, and what is wanted</summary>'
        f"{table}</details>"
    )


def _step(plan: Plan, planned: Planned) -> str:
    step = planned.step
    when = span_of(plan, planned)
    parts = [f'<li class="hb-plan-step" id="step-{step.id}"><p><strong>{_link(planned)}</strong>']
    parts.append(f" · {when}" if when else "")
    parts.append(f"<br>{_e(duration(planned.takes))}, hands on {_e(duration(planned.attended))}.")
    parts.append(f" {escape(planned.why)}</p>")
    if planned.refused:
        parts.append(f'<p class="hb-plan-refused"><strong>Refused.</strong> {escape(planned.refused)}</p>')
    if planned.figures:
        figures = (
            f"<dt>{escape(step.figures[name].about)}</dt><dd>{_e(amount.show(step.figures[name].digits))}</dd>"
            for name, amount in planned.figures.items()
        )
        parts.append(f"<dl>{''.join(figures)}</dl>")
    if step.cautions:
        links = (
            f'<a href="%ROOT%/safety/{name}.html">{name.replace("-", " ")}</a>' for name in step.cautions
        )
        parts.append(f'<p class="hb-plan-caution"><strong>First read:</strong> {", ".join(links)}.</p>')
    boxes = [_box(f"{step.id}-hold-{i}", hold) for i, hold in enumerate(planned.holds)]
    boxes.append(_box(f"{step.id}-done", "Done, on"))
    parts.append(f'<ul class="hb-ticks">{"".join(boxes)}</ul>')
    if step.record:
        lines = (f'<li>{escape(line)}<span class="hb-line"></span></li>' for line in step.record)
        parts.append(f'<ul class="hb-record">{"".join(lines)}</ul>')
    return "".join(parts) + "</li>"


def _box(name: str, label: str) -> str:
    return f'<li><label><input type="checkbox" name="{escape(name)}"> {escape(label)}</label></li>'


def _link(planned: Planned) -> str:
    return f'<a href="%ROOT%/procedures/{planned.step.id}.html">{escape(planned.step.title)}</a>'


def _totals(plan: Plan) -> str:
    rows = [[name, amount.show()] for name, amount in plan.totals.items()]
    return _table("What the plan takes and leaves", ("Material", "Amount"), rows)


def _table(title: str, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return a small table of plain texts; the first of a row names it."""
    top = "".join(f'<th scope="col">{escape(head)}</th>' for head in heads)
    body = "".join(
        f'<tr><th scope="row">{row[0]}</th>{"".join(f"<td>{cell}</td>" for cell in row[1:])}</tr>'
        for row in ([escape(cell) if not cell.startswith("<a ") else cell for cell in row] for row in rows)
    )
    return scrolling(title, f"<thead><tr>{top}</tr></thead><tbody>{body}</tbody>")


def scrolling(title: str, rows: str) -> str:
    """Return rows of HTML as a table with its title, which scrolls where it is too wide."""
    return (
        f'<div class="hb-scroll" tabindex="0" role="group" aria-label="{title}">'
        f'<table class="hb"><caption>{title}</caption>{rows}</table></div>'
    )


# --- all pieces of the bench -------------------------------------------------------------------


def bench_html(plans: Mapping[str, Plan]) -> str:
    """Return all pieces of the bench: where each stands, what all of them take, and the days' hands-on work.

    Arguments:
        plans: by the name of the file of the piece, which is the name of its page.
    """
    parts = ['<section class="hb-plan"><h2>Pieces</h2>']
    rows = []
    for name, plan in plans.items():
        state = f"refused: {plan.refused}" if plan.refused else _route(plan)
        link = f'<a href="%ROOT%/pieces/{escape(name)}.html">{escape(plan.number)}</a>'
        rows.append([link, plan.grade, plan.takes.show(2), ends(plan).removeprefix(", "), state])
    parts.append(
        _table("Each piece and its route", ("Piece", "Grade", "Takes", "From and to", "Route"), rows)
    )
    parts.append("<h2>Material and waste of all pieces</h2><p>Routes that are refused are not counted.</p>")
    totals = bench_totals([*plans.values()])
    parts.append(_table("What all plans take and leave", ("Material", "Amount"), totals))
    parts.append("<h2>Days</h2><p>Hands-on work, day by day, as far as each plan has a start.</p>")
    found: dict[str, list[list[str]]] = {}
    works = sorted((w for plan in plans.values() for w in work_of(plan)), key=lambda w: (w.begin, w.title))
    for work in works:
        found.setdefault(work.begin.date().isoformat(), []).append(
            [f"{work.begin:%H:%M}", f"{work.end:%H:%M}", work.title]
        )
    parts.append('<div id="bench-today" hidden></div>')
    parts.append("<details><summary>Every day of all plans</summary>")
    for day, rows in found.items():
        parts.append(f'<div data-day="{day}">{_table(day, ("From", "To", "What"), rows)}</div>')
    parts.append('</details><script src="%ROOT%/assets/bench/today.js"></script>')
    return "".join([*parts, "</section>"])


def _route(plan: Plan) -> str:
    """Return why a route was chosen, as its step says."""
    return next((p.why for p in plan.steps if p.step.id == "decide"), "")


def bench_totals(plans: Sequence[Plan]) -> list[list[str]]:
    """Return what all plans that are not refused take and leave: best guesses, and the sums of both ends."""
    found: dict[str, Amount] = {}
    for plan in (plan for plan in plans if not plan.refused):
        for name, more in plan.totals.items():
            had = found.get(name, Amount(0.0, 0.0, 0.0, more.unit))
            found[name] = Amount(had.value + more.value, had.low + more.low, had.high + more.high, more.unit)
    return [[name, found[name].show(2)] for name in MATERIALS if name in found]


def _e(told: str) -> str:
    return escape(told)


# --- the drawing -------------------------------------------------------------------------------

WIDTH, ROW, LABEL, RIGHT = 720, 22, 210, 20
TICKS = (1, 2, 5, 10, 14, 30, 60, 90, 180, 365, 730, 1825, 3650)


def drawing(plan: Plan) -> str:
    """Return the days of a plan as a drawing: bars that wait, hands on as marks, a line for what may be."""
    done = [p for p in plan.steps if p.begin is not None and p.end is not None]
    first = min(p.begin for p in done if p.begin is not None)
    last = max((p.begin or 0) + 24 * max(p.takes.high, p.takes.value) for p in done)
    last = max(last, *(p.end or 0 for p in done))
    days = max((last - first) / 24, 1e-6)
    scale = (WIDTH - LABEL - RIGHT) / days
    height = ROW * (len(done) + 2)
    name = "".join(sign if sign.isalnum() else "-" for sign in plan.number)
    told = "; ".join(f"{p.step.title}: {duration(p.takes)}" for p in done)
    parts = [
        f'<svg class="hb-days" role="img" aria-labelledby="days-{name} days-{name}-d" '
        f'viewBox="0 0 {WIDTH} {height}">'
        f'<title id="days-{name}">Days of the plan of {escape(plan.number)}</title>'
        f'<desc id="days-{name}-d">{escape(told)}</desc>'
        '<g fill="currentColor" stroke="none" font-size="12">'
    ]
    every = next((tick for tick in TICKS if days / tick <= 8), ceil(days / 8))
    count = 0
    while count * every <= days:
        x = LABEL + count * every * scale
        day = plan.start + timedelta(days=count * every) if plan.start and count * every < 3e6 else None
        label = day.isoformat() if day and day.year < 9999 else f"day {count * every}"
        anchor = "middle" if count else "start"
        parts.append(
            f'<rect x="{x:.1f}" y="{ROW}" width="1" height="{height - ROW}" fill-opacity="0.2"/>'
            f'<text x="{x:.1f}" y="14" font-size="9" text-anchor="{anchor}">{label}</text>'
        )
        count += 1 if days / every <= 5 else 2
    for row, planned in enumerate(done):
        parts.append(_bar(planned, first, scale, ROW * (row + 1)))
    return "".join(parts) + "</g></svg>"


def _bar(planned: Planned, first: float, scale: float, top: int) -> str:
    assert planned.begin is not None
    assert planned.end is not None
    x = LABEL + (planned.begin - first) / 24 * scale
    width = max((planned.end - planned.begin) / 24 * scale, 1.5)
    low = x + planned.takes.low * scale
    high = x + planned.takes.high * scale
    title = planned.step.title if len(planned.step.title) <= 34 else f"{planned.step.title[:33]}…"
    parts = [
        f'<text x="0" y="{top + 15}">{escape(title)}</text>',
        f'<rect x="{x:.1f}" y="{top + 6}" width="{width:.1f}" height="10" fill-opacity="0.3"/>',
    ]
    if (high - low) > 2:
        parts.append(f'<rect x="{low:.1f}" y="{top + 10.5}" width="{high - low:.1f}" height="1"/>')
        parts.append(f'<rect x="{high:.1f}" y="{top + 7}" width="1" height="8"/>')
    marks = list(planned.hands)
    if len(marks) * 3 > width:  # as many marks as can be told apart
        marks = marks[:: max(1, ceil(len(marks) * 3 / max(width, 3)))]
    for begin, end in marks:
        at = LABEL + (begin - first) / 24 * scale
        long = max((end - begin) / 24 * scale, 1)
        parts.append(f'<rect x="{at:.1f}" y="{top + 4}" width="{long:.1f}" height="14"/>')
    return "".join(parts)
