"""A chart as SVG: lines with bands, limits and zones over two axes, from numbers and words alone.

It is written to stand inside a page: everything is in the page's own colour, lines are told apart by
their dashes and by the words at their ends, zones by their words and their hatching, so it reads the same
in the dark, on paper and to those who see no colours. Ticks are 1, 2 or 5 times a power of ten. The same
numbers give the same bytes.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from html import escape
from itertools import pairwise
from math import ceil, floor, log10

from handbook_calc.engine import quantities
from handbook_calc.engine.numerals import round_step

WIDTH, HEIGHT = 340, 240  # units; a phone of 360 px shows nearly one pixel for each
LEFT, TOP, BOTTOM = 42, 30, 46
LETTER, WIDE = 6.1, 6.9  # mean width of a letter of 12 units, in long and in short words
LINE = 14  # between the feet of two lines of text
DASHES = ("", "7 3", "2 3", "10 3 2 3", "4 2", "1 4")
MOST_TICKS = 6
HATCHES = {
    "wait": '<path d="M0 3H6" stroke-opacity=".35"/>',
    "stop": '<path d="M0 6L6 0" stroke-opacity=".5"/>',
}


@dataclass(frozen=True)
class Scale:
    """One axis: what it counts, in which unit.

    Attributes:
        low, high: its ends; None takes the next tick beyond what is drawn.
        log: equal distances are equal ratios.
        names: words in place of numbers, for what is only in order: 0 is the first.
        metric: it stays in its unit for readers of US units too.
    """

    title: str
    unit: str = "1"
    low: float | None = None
    high: float | None = None
    log: bool = False
    names: tuple[str, ...] = ()
    metric: bool = False

    def in_us(self) -> "Scale | None":
        """Return the axis in the unit that a reader of US units wants; None where there is no other."""
        if not self.turns or self.low is None or self.high is None:
            return None
        unit = quantities.US_UNITS[self.unit]
        low, high = (quantities.convert(end, self.unit, unit) for end in (self.low, self.high))
        return replace(self, unit=unit, low=low, high=high)

    def heading(self) -> str:
        unit = quantities.label(self.unit)
        return f"{self.title}, {unit}" if unit not in ("", "text") else self.title

    @property
    def turns(self) -> bool:
        """Tell whether it is in another unit for readers of US units."""
        return not self.metric and not self.names and self.unit in quantities.US_UNITS

    def read_aloud(self) -> str:
        """Return what it counts; a unit that turns stands behind each number, where the page finds it."""
        return self.title if self.turns else self.heading()

    def number(self, value: float) -> str:
        """Return a value in words."""
        if self.names:
            return self.names[int(value)]
        text = _number(value)
        return quantities.with_label(text, self.unit) if self.turns else text

    def share(self, value: float) -> float:
        """Return how far along the axis a value lies, from 0 to 1."""
        assert self.low is not None
        assert self.high is not None
        if self.log:
            return log10(value / self.low) / log10(self.high / self.low)
        return (value - self.low) / (self.high - self.low)

    def ticks(self) -> list[tuple[float, str]]:
        """Return the values that are marked, with their words."""
        assert self.low is not None
        assert self.high is not None
        if self.names:
            return [(float(i), name) for i, name in enumerate(self.names)]
        found = decades(self.low, self.high) if self.log else rounds(self.low, self.high)
        return [(tick, quantities.as_given(tick)) for tick in found]

    def around(self, values: Sequence[float]) -> "Scale":
        """Return the axis with the ends that it was not given, for what is to be drawn."""
        if self.names:
            return replace(self, low=-0.3, high=len(self.names) - 0.7)
        low = min(values) if self.low is None else self.low
        high = max(values) if self.high is None else self.high
        if self.log:
            low, high = (low, high) if high > low else (low / 2, high * 2)
            step = 1.0
        else:
            flat = high - low <= max(1e-9 * abs(high), 1e-99)  # a level line, but for its last digits
            high = low + max(1.0, abs(low)) if flat else high
            step = round_step(high - low, MOST_TICKS)
        if self.low is None:
            low = _below(low) if self.log else floor(low / step + 1e-9) * step
        if self.high is None:
            high = 1 / _below(1 / high) if self.log else ceil(high / step - 1e-9) * step
        return replace(self, low=low, high=high)


def rounds(low: float, high: float) -> list[float]:
    """Return the multiples of the step that lie within a span."""
    step = round_step(high - low, MOST_TICKS)
    return [step * i for i in range(ceil(low / step - 1e-9), floor(high / step + 1e-9) + 1)]


def decades(low: float, high: float) -> list[float]:
    """Return 1, 2 and 5 times the powers of ten within a span; fewer of them where it is wide."""
    powers = range(floor(log10(low)), ceil(log10(high)) + 1)
    for leading in ((1, 2, 5), (1, 3), (1,)):
        ticks = [m * 10.0**p for p in powers for m in leading]
        ticks = [tick for tick in ticks if low * (1 - 1e-9) <= tick <= high * (1 + 1e-9)]
        if len(ticks) <= MOST_TICKS + 1:
            return ticks
    return ticks[:: ceil(len(ticks) / MOST_TICKS)]


def _below(value: float) -> float:
    power = 10.0 ** floor(log10(value) + 1e-9)
    return max(m * power for m in (1, 2, 5) if m * power <= value * (1 + 1e-9))


@dataclass(frozen=True)
class Line:
    """A line of (x, y), and what is said at its end; where y is no number the line is broken.

    A y with an interval gets a band around it. `dots` marks each point.
    """

    label: str
    points: Sequence[tuple[float, object]]
    dots: bool = False

    def drawn(self) -> list[tuple[float, float]]:
        """Return the points that have a y."""
        return [(float(x), float(y)) for x, y in self.points if isinstance(y, float | int)]

    def band(self) -> list[tuple[float, float, float]]:
        """Return x, low and high of the points whose y has an interval."""
        reaches = [(float(x), getattr(y, "interval", None)) for x, y in self.points]
        return [(x, reach.low, reach.high) for x, reach in reaches if reach]


@dataclass(frozen=True)
class Limit:
    """A value that counts, drawn across the chart; `of` is the axis that it is a value of."""

    label: str
    at: float
    of: str = "y"


@dataclass(frozen=True)
class Zone:
    """A part of the chart where the answer is `word`: columns of x, lower and upper y."""

    word: str
    columns: Sequence[tuple[float, float, float]]


@dataclass(frozen=True)
class Chart:
    """What is drawn, and `says`: what it shows, in a sentence for those who do not see it."""

    x: Scale
    y: Scale
    lines: Sequence[Line] = ()
    limits: Sequence[Limit] = ()
    zones: Sequence[Zone] = ()
    says: str = ""
    notes: Sequence[str] = ()

    def empty(self) -> bool:
        return not self.zones and not any(line.drawn() for line in self.lines)

    def words(self) -> str:
        """Return the text alternative: what lies over what, and where each line begins and ends."""
        told = [f"{self.y.read_aloud()}, over {self.x.read_aloud()}.", self.says]
        for line in self.lines:
            points = line.drawn()
            if points:
                (x0, y0), (x1, y1) = points[0], points[-1]
                first, last = (f"{self.y.number(y)} at {self.x.number(x)}" for x, y in ((x0, y0), (x1, y1)))
                told.append(f"{line.label}: {first}, {last}.")
        told += [f"Limit, {limit.label}: {self._axis(limit).number(limit.at)}." for limit in self.limits]
        return " ".join(filter(None, told))

    def _axis(self, limit: Limit) -> Scale:
        return self.x if limit.of == "x" else self.y

    @property
    def of_differences(self) -> bool:
        """Tell whether its temperatures are differences."""
        return any(scale.unit.startswith("delta_") for scale in (self.x, self.y))

    def svg(self, name: str, title: str) -> str:
        """Return the chart as SVG; `name` stands before each of its ids."""
        return _Drawer(self, name, title).svg()


def _letters(label: str) -> int:
    """Return how many letters a label may have: in US units 4 mm is 0.157 in, and 2 mm is 0.0787 in."""
    turned = label.rpartition(" ")[2] in map(quantities.label, quantities.US_UNITS)
    return len(label) + (5 if turned else 0)


def _number(value: float) -> str:
    return quantities.significant(value, 3) if value else "0"


def _at(number: float) -> str:
    return f"{number:.1f}".removesuffix(".0")


class _Drawer:
    def __init__(self, chart: Chart, name: str, title: str) -> None:
        self.chart, self.name, self.title = chart, name, title
        xs, ys = [], []
        for line in chart.lines:
            xs += [x for x, _ in line.drawn()]
            ys += [y for _, y in line.drawn()] + [end for _, *ends in line.band() for end in ends]
        for zone in chart.zones:
            xs += [x for x, *_ in zone.columns]
            ys += [y for _, *ends in zone.columns for y in ends]
        for limit in chart.limits:
            (xs if limit.of == "x" else ys).append(limit.at)
        if chart.y.log:
            ys = [y for y in ys if y > 0]
        self.x, self.y = chart.x.around(xs), chart.y.around(ys)
        longest = max((_letters(line.label) for line in chart.lines if line.drawn()), default=0)
        self.right = WIDTH - max(14.0, 10 + WIDE * longest)
        self.parts: list[str] = []

    def px(self, x: float, scale: Scale | None = None) -> float:
        return LEFT + (self.right - LEFT) * (scale or self.x).share(x)

    def py(self, y: float, scale: Scale | None = None) -> float:
        scale = scale or self.y
        y = max(y, scale.low) if scale.log and scale.low is not None else y
        return HEIGHT - BOTTOM - (HEIGHT - BOTTOM - TOP) * scale.share(y)

    def put(self, shape: str) -> None:
        self.parts.append(shape)

    def text(self, x: float, y: float, text: str, anchor: str = "start", **more: str) -> None:
        given = "".join(f' {key.replace("_", "-")}="{value}"' for key, value in more.items())
        anchored = f' text-anchor="{anchor}"' if anchor != "start" else ""
        self.put(f'<text x="{_at(x)}" y="{_at(y)}"{anchored}{given}>{escape(text)}</text>')

    def way(self, points: Sequence[tuple[float, float]]) -> str:
        return "M" + "L".join(f"{_at(self.px(x))} {_at(self.py(y))}" for x, y in points)

    def svg(self) -> str:
        self.axes()
        for zone in self.chart.zones:
            self.zone(zone)
        for line in self.chart.lines:
            self.band(line.band())
        for index, limit in enumerate(self.chart.limits):
            self.limit(limit, index)
        self.lines()
        ids = (f"plot-{self.name}-title", f"plot-{self.name}-desc")
        hatches = "".join(
            f'<pattern id="plot-{self.name}-{word}" width="6" height="6" patternUnits="userSpaceOnUse" '
            f'stroke="currentColor" fill="none">{path}</pattern>'
            for word, path in HATCHES.items()
            if any(zone.word == word for zone in self.chart.zones)
        )
        apart = " data-d" if self.chart.of_differences else ""
        return (
            f'<svg class="hb-drawing" role="img"{apart} aria-labelledby="{ids[0]} {ids[1]}" font-size="12" '
            f'viewBox="0 0 {WIDTH} {HEIGHT}" fill="currentColor"><title id="{ids[0]}">{escape(self.title)}'
            f'</title><desc id="{ids[1]}">{escape(self.chart.words())}</desc>'
            f"{f'<defs>{hatches}</defs>' if hatches else ''}{''.join(self.parts)}</svg>"
        )

    def axes(self) -> None:
        for scale, mark in ((self.x, self.marks_of_x), (self.y, self.marks_of_y)):
            in_us = scale.in_us()
            if in_us is None:
                mark(scale)
                continue
            # The same place on the paper, told twice: the page shows one of the two.
            self.put('<g class="hb-in-metric">')
            mark(scale)
            self.put('</g><g class="hb-in-us" display="none">')
            mark(in_us)
            self.put("</g>")
        edge = f"M{LEFT} {TOP}V{HEIGHT - BOTTOM}H{_at(self.right)}"
        self.put(f'<path d="{edge}" fill="none" stroke="currentColor" stroke-width="1.3"/>')

    def marks_of_x(self, scale: Scale) -> None:
        foot, free, across = HEIGHT - BOTTOM, -1.0, ""
        for tick, word in scale.ticks():
            x = self.px(tick, scale)
            across += f"M{_at(x)} {TOP}V{foot}"
            half = LETTER * len(word) / 2
            if x - half > free:  # words that would touch are left out, their ticks stay
                self.text(x, foot + 15, word, "middle")
                free = x + half + 2
        self.grid(across)
        self.text(self.right, HEIGHT - 8, scale.heading(), "end", font_weight="600")

    def marks_of_y(self, scale: Scale) -> None:
        up = ""
        for tick, word in scale.ticks():
            y = self.py(tick, scale)
            up += f"M{LEFT} {_at(y)}H{_at(self.right)}"
            self.text(LEFT - 5, y + 4, word, "end")
        self.grid(up)
        self.text(4, 14, scale.heading(), font_weight="600")

    def grid(self, way: str) -> None:
        self.put(f'<path d="{way}" fill="none" stroke="currentColor" stroke-opacity=".22"/>')

    def band(self, band: list[tuple[float, float, float]]) -> None:
        if len(band) > 1:
            around = [(x, high) for x, _, high in band] + [(x, low) for x, low, _ in reversed(band)]
            self.put(f'<path d="{self.way(around)}Z" fill-opacity=".13"/>')

    def limit(self, limit: Limit, index: int) -> None:
        rule = 'fill="none" stroke="currentColor" stroke-width="1.4" stroke-dasharray="9 4"'
        said = {"font_style": "italic", "class": "hb-haloed"}
        if limit.of == "y":
            y = self.py(limit.at)
            self.put(f'<path class="hb-stop" d="M{LEFT} {_at(y)}H{_at(self.right)}" {rule}/>')
            self.text(self.right - 3, y - 4 if y > TOP + LINE else y + LINE, limit.label, "end", **said)
            return
        x = self.px(limit.at)
        self.put(f'<path class="hb-stop" d="M{_at(x)} {TOP}V{HEIGHT - BOTTOM}" {rule}/>')
        others = [other for other in self.chart.limits if other.of == "y"]
        before = [other for other in self.chart.limits[:index] if other.of == "x"]
        y = TOP + 10 + LINE * (len(before) + 2 * len(others))
        fits = x + 4 + LETTER * len(limit.label) < self.right
        self.text(x + 4 if fits else x - 4, y, limit.label, "start" if fits else "end", **said)

    def zone(self, zone: Zone) -> None:
        around = [(x, high) for x, _, high in zone.columns]
        around += [(x, low) for x, low, _ in reversed(zone.columns)]
        fill = f"url(#plot-{self.name}-{zone.word})" if zone.word in HATCHES else "none"
        outline = 'stroke="currentColor" stroke-width="1.2"'
        self.put(f'<path class="hb-{zone.word}" d="{self.way(around)}Z" fill="{fill}" {outline}/>')
        tall = max(high - low for _, low, high in zone.columns)
        widest = [column for column in zone.columns if column[2] - column[1] >= 0.8 * tall]
        x, low, high = widest[len(widest) // 2]
        half = LETTER * len(zone.word) / 1.4
        ends = [self.px(zone.columns[i][0]) for i in (0, -1)]
        where = (min(max(self.px(x), ends[0] + half), ends[1] - half), self.py((low + high) / 2) + 5)
        size = {"font_size": "15", "font_weight": "700", "class": f"hb-{zone.word} hb-haloed"}
        self.text(*where, zone.word, "middle", **size)

    def lines(self) -> None:
        ends = []
        for line, dash in zip(self.chart.lines, DASHES * len(self.chart.lines), strict=False):
            pieces: list[list[tuple[float, float]]] = [[]]
            for x, y in line.points:
                if not isinstance(y, float | int):
                    pieces.append([])
                elif not self.y.log or y > 0:
                    pieces[-1].append((float(x), float(y)))
            pieces = [piece for piece in pieces if piece]
            if not pieces:
                continue
            way = "".join(map(self.way, pieces))
            dashed = f' stroke-dasharray="{dash}"' if dash else ""
            self.put(f'<path d="{way}" fill="none" stroke="currentColor" stroke-width="2"{dashed}/>')
            if line.dots:
                for x, y in line.drawn():
                    self.put(f'<circle cx="{_at(self.px(x))}" cy="{_at(self.py(y))}" r="3"/>')
            ends.append([self.py(pieces[-1][-1][1]) + 4, self.px(pieces[-1][-1][0]), line.label])
        ends.sort(key=lambda end: end[0])
        for above, below in pairwise(ends):
            below[0] = max(below[0], above[0] + LINE)
        over = ends[-1][0] - (HEIGHT - BOTTOM) if ends else 0.0
        if over > 0:  # what was pushed below the axis pushes the others up again
            ends[-1][0] -= over
            for below, above in pairwise(reversed(ends)):
                above[0] = min(above[0], below[0] - LINE)
        for y, x, label in ends:
            self.text(x + 5, y, label)
