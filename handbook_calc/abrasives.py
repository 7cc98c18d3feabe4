"""Abrasives: grit sizes on every scale, the order of papers, the metal that sanding costs."""

import re
from math import ceil

from handbook_calc.engine.calculation import (
    Label,
    Listing,
    Number,
    Reasons,
    Verdict,
    Whole,
    because,
    calculation,
    place_in_list,
    refuse,
)
from handbook_calc.engine.chart import Chart, Line, Scale
from handbook_calc.engine.data import column, numbers
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.faults import Refusal, brief
from handbook_calc.engine.fields import MEASURED, Choice, Count, Quantity, Several
from handbook_calc.engine.house import section
from handbook_calc.engine.plot import plot
from handbook_calc.engine.rules import rule
from handbook_calc.engine.sources import sources
from handbook_calc.engine.tables import Axis, Column, Mark, Refused, Sheet, figure, matrix, table

GRITS = column("grits", "grit")
SYSTEMS = column("grits", "system")
SIZES = numbers("grits", "size")
TOLERANCES = numbers("grits", "tolerance")  # 0: none stated
LOWS = numbers("grits", "low")
HIGHS = numbers("grits", "high")
MEASURES = column("grits", "measure")
SOURCES = [sources()[key].title for key in column("grits", "source")]
SYSTEM_NAMES = ["FEPA P", "ANSI", "JIS", "FEPA F", "micrometre"]

# Neighbouring grades of one scale lie about 1.2 to 1.35 apart, so a farther grade is no equivalent.
FARTHEST_EQUIVALENT = 1.3
# Micrometre grades up to here are pastes and suspensions; coarser ones are films, used like paper.
COARSEST_PASTE = 15.0

_SCALE_WORDS = {
    "FEPA P": ("p", "fepa p", "p fepa", "iso p"),
    "ANSI": ("ansi", "cami", "ansi/cami", "cami/ansi", "us", "usa"),
    "JIS": ("jis", "jis r 6001", "japanese"),
    "FEPA F": ("f", "fepa f", "f fepa", "iso f"),
    "micrometre": ("um", "micron", "microns", "micrometre", "micrometres", "micrometer", "d"),
}
_PREFIX = {"FEPA P": "P", "ANSI": "ANSI ", "JIS": "JIS ", "FEPA F": "F"}
# A scale that only this bench has, by rows of its own: its grades are called as the rows call them.
for _own in dict.fromkeys(SYSTEMS):
    if _own not in SYSTEM_NAMES:
        SYSTEM_NAMES.insert(-1, _own)
        _SCALE_WORDS[_own] = (_own.lower(),)
        _PREFIX[_own] = f"{_own} "


def _name(system: str, number: str) -> str:
    if system == "micrometre":
        return f"{number} um"
    return f"{_PREFIX[system]}{number}"


def _number(grit: str) -> str:
    return re.findall(r"[\d.]+", grit)[0]


def _of_system(system: str) -> list[str]:
    return [grit for grit, own in zip(GRITS, SYSTEMS, strict=True) if own == system]


def _size_of(grit: str) -> float:
    return SIZES[GRITS.index(grit)]


def _no_scale(number: str) -> str:
    names = [_name(system, number) for system in SYSTEM_NAMES[:-1]]
    known = [f"{name} is {_size_of(name):g} um" for name in names if name in GRITS]
    sizes = f" ({', '.join(known)})" if known else ""
    return (
        f"has no scale, and the same number is another size on each{sizes}; "
        "write it like P800, ANSI 600, JIS 3000, F220 or 9 um"
    )


def _no_such_grade(system: str, number: str) -> str:
    value = float(number)
    if system == "FEPA P" and value > 2500:
        return (
            "is finer than P2500, where the table of the P scale at hand ends; "
            "take the maker's figure in micrometres and write it like 5 um"
        )
    marks = [float(_number(grit)) for grit in _of_system(system)]
    below = [mark for mark in marks if mark < value]
    above = [mark for mark in marks if mark > value]
    near = [max(below)] if below else []
    near += [min(above)] if above else []
    names = " and ".join(_name(system, f"{mark:g}") for mark in near)
    what = "no usual micrometre mark" if system == "micrometre" else f"no grade of the {system} scale"
    return f"is {what}; nearest {'are' if len(near) > 1 else 'is'} {names}"


def normal(text: str) -> str:
    """Return a grit in its one spelling: ``600 CAMI`` -> ``ANSI 600``, ``p 800`` -> ``P800``.

    Raises:
        ValueError: no scale is named, or the scale has no such grade; worded to follow the value.
    """
    plain = text.replace("µ", "u").replace("μ", "u").lower()
    found = re.fullmatch(r"([^\d]*?)(\d+(?:\.\d+)?)\s*([^\d]*)", plain)
    if not found:
        raise ValueError("is not a grit; write it like P800, ANSI 600, JIS 3000, F220 or 9 um")
    number = f"{float(found[2]):g}" if float(found[2]) < 1e5 else found[2]
    words = re.sub(r"[#()]|\bgrit\b|\bgrade\b|\bno\.", " ", f"{found[1]} {found[3]}")
    words = " ".join(words.split()).rstrip("-")
    if not words:
        raise ValueError(_no_scale(number))
    if words in ("fepa", "iso"):
        raise ValueError(
            f"could be P{number}, on paper, or F{number}, loose grain and stones; write one of them"
        )
    for system, spellings in _SCALE_WORDS.items():
        if words in spellings:
            name = _name(system, number)
            if name not in GRITS:
                raise ValueError(_no_such_grade(system, number))
            return name
    raise ValueError(
        f"is on no known scale ('{brief(words)}'); write it like P800, ANSI 600, JIS 3000, F220 or 9 um"
    )


def normal_system(text: str) -> str:
    """Return a scale in its one spelling: ``CAMI`` -> ``ANSI``, ``P`` -> ``FEPA P``."""
    word = text.replace("µ", "u").replace("μ", "u").lower().strip()
    if word in ("fepa", "iso"):
        raise ValueError("could be FEPA P, paper, or FEPA F, grain and stones; write one of them")
    for system, spellings in _SCALE_WORDS.items():
        if word in spellings:
            return system
    return text


def _grit(name: str, about: str, also: tuple[str, ...] = (), example: str = "") -> Choice:
    return Choice(name, about, options=GRITS, normal=normal, kind="grit", also=also, example=example)


section(
    "abrasives",
    Quantity("density", "density of sound nickel-iron", unit="g/cm^3", low=6.9, high=8.3),
    Several("stocked", "papers and pastes kept at the bench", options=GRITS, normal=normal, kind="grit"),
    _grit("start", "first paper after a band saw or hacksaw"),
    _grit("start_cutoff", "first paper after an abrasive cut-off wheel"),
    _grit("start_precision", "first paper after a precision saw or wire saw"),
    _grit("finish", "last paper of a show face, before etching with nital"),
    _grit("finish_ferric", "last paper before etching with ferric chloride, and for fine patterns"),
    _grit("finish_micro", "last abrasive of a face meant for the microscope"),
    Quantity("ratio", "size of one paper over the size of the next, at most", low=1.2, high=2.2),
    Quantity(
        "paste_ratio",
        "size of one abrasive over the size of the next micrometre paste or film, at most",
        low=1.2,
        high=3.2,
    ),
    Quantity(
        "removal_factor",
        "depth each paper takes off, in grain sizes of the paper before it",
        low=0.2,
        high=3,
    ),
    Quantity(
        "thin_limit",
        "thickness below which a slice is not sanded by hand",
        unit="mm",
        low=0.5,
        high=10,
        limit="least",
        why="a thinner slice bends, heats and breaks under the hand",
    ),
    Quantity(
        "loss_limit",
        "share of the mass that sanding may cost without the owner's word",
        unit="%",
        low=1,
        high=50,
    ),
    Quantity("flatness", "gap allowed under the face on the glass plate", unit="mm", low=0.01, high=1),
    _grit("flatten", "first paper where the gap under the face is large"),
    Quantity(
        "wedge",
        "difference of thickness allowed over the gauge length of a wedge",
        unit="mm",
        low=0.01,
        high=1,
    ),
    Quantity("wedge_length", "gauge length of a wedge", unit="mm", low=5, high=200),
    Quantity("edge_rounding", "rounding allowed at the edge of the face", unit="mm", low=0.02, high=2),
    Quantity("sheet_time", "working time of one sheet of paper", unit="min", low=0.25, high=20),
    Quantity(
        "wet_limit",
        "longest time a face may stay wet with water while sanding",
        unit="min",
        low=1,
        high=60,
    ),
    Quantity("hand_hot", "warmest the piece may become while sanding", unit="degC", low=30, high=60),
    Count("loupe", "magnification of the loupe that judges a face", low=5, high=40),
)


def _stock_keys() -> tuple[str, ...]:
    names = ("start", "start_cutoff", "start_precision", "finish", "finish_ferric", "finish_micro")
    return tuple(f"abrasives.{name}" for name in names)


@rule("abrasives.stocked", "abrasives.flatten", *_stock_keys())
def not_stocked(house):
    """The progression is made of stocked grits, so its ends must be among them."""
    stocked = house["abrasives.stocked"]
    for key in ("abrasives.flatten", *_stock_keys()):
        if house[key] not in stocked:
            yield (
                key,
                f"is not in abrasives.stocked; allowed is one of {', '.join(stocked)}",
            )


@rule("abrasives.flatten", "abrasives.start")
def flatten_finer(house):
    """The paper for a large gap hands over to the first paper, so it may not be the finer of the two."""
    flatten, first = house["abrasives.flatten"], house["abrasives.start"]
    if _size_of(flatten) < _size_of(first):
        yield (
            "abrasives.flatten",
            f"({_size_of(flatten):g} um) is finer than abrasives.start, {first}; allowed is {first} or a "
            "coarser grit",
        )


@rule(*_stock_keys())
def finish_coarser(house):
    """A last paper that is coarser than a first one gives no progression."""
    for end in ("finish", "finish_ferric", "finish_micro"):
        for start in ("start", "start_cutoff", "start_precision"):
            last, first = house[f"abrasives.{end}"], house[f"abrasives.{start}"]
            if _size_of(last) > _size_of(first):
                yield (
                    f"abrasives.{end}",
                    f"({_size_of(last):g} um) is coarser than abrasives.{start}, {first}; allowed is "
                    f"{first} or a finer grit",
                )


@rule(
    "abrasives.stocked",
    "abrasives.ratio",
    "abrasives.paste_ratio",
    "abrasives.removal_factor",
    *_stock_keys(),
)
def stock_breaks_ratio(house):
    """Pages state the ratio as kept, so the stock must be able to keep it."""
    stocked = house["abrasives.stocked"]
    for end in ("finish", "finish_ferric", "finish_micro"):
        first, last = house["abrasives.start"], house[f"abrasives.{end}"]
        if first not in stocked or last not in stocked or _size_of(last) > _size_of(first):
            continue
        answer = grit_progression(
            first,
            last,
            house["abrasives.ratio"],
            stocked,
            house["abrasives.paste_ratio"],
            house["abrasives.removal_factor"],
        )
        for _, before, after, jump, _ in answer["gaps"]:
            paste = is_paste(GRITS.index(after))
            key = "abrasives.paste_ratio" if paste else "abrasives.ratio"
            least = ceil(jump * 100 - 1e-6) / 100
            yield (
                key,
                f"cannot be kept by abrasives.stocked on the way to abrasives.{end}: {before} to {after} is "
                f"a jump of {jump:.3f}; allowed is at least {least:g}, or stock a grit between the two",
            )


@place_in_list
def index_of(grit):
    """Return the row of a grit in the table of grits."""
    for i in range(len(GRITS)):
        if GRITS[i] == grit:
            return i
    return -1


def nearest_in(grit, stock):
    """Return the name of the grit in `stock` that is nearest in size."""
    size = SIZES[index_of(grit)]
    best = stock[0]
    least = -1.0
    for k in range(len(stock)):
        other = SIZES[index_of(stock[k])]
        apart = max(size / other, other / size)
        if least < 0 or apart < least:
            least = apart
            best = stock[k]
    return best


def holds(stock, grit):
    """Say whether a list of grits holds one grit."""
    found = False
    for k in range(len(stock)):
        if stock[k] == grit:
            found = True
    return found


@calculation(
    "grit-size",
    title="Size of a grit",
    inputs=(_grit("grit", "grit with its scale", example="P400"),),
    results=(
        Number("size", "um", "grain size", digits=0, metric=True),
        Number(
            "tolerance",
            "um",
            "allowed either way of the size, where the standard states it",
            digits=2,
            optional=True,
            without="not stated",
        ),
        Label("system", "scale the grit belongs to"),
        Label("measure", "what the size is"),
        Number(
            "spread",
            "%",
            "how far published tables lie apart for this grit; 0 where one was found or they agree",
            digits=2,
        ),
        Label("source", "where the size is from"),
    ),
    assumes=("a size is the middle of a mixture: the largest grains are two to five times as big",),
    sources=("grit-table-a", "jis-r-6001", "fepa-f-recalled", "diamond-grain-table"),
)
def grit_size(grit):
    """Look the grit up in the published tables."""
    row = index_of(grit)
    tolerance = TOLERANCES[row] if TOLERANCES[row] > 0 else None
    spread = (HIGHS[row] / LOWS[row] - 1) * 100
    return {
        "size": SIZES[row],
        "tolerance": tolerance,
        "system": SYSTEMS[row],
        "measure": MEASURES[row],
        "spread": spread,
        "source": SOURCES[row],
    }


@calculation(
    "grit-equivalent",
    title="Nearest grit on another scale",
    inputs=(
        _grit("grit", "grit with its scale", example="P400"),
        Choice(
            "system", "scale wanted", options=SYSTEM_NAMES, normal=normal_system, kind="scale", example="ANSI"
        ),
    ),
    results=(
        Label("grit", "nearest grit on the scale wanted"),
        Number("size", "um", "its size", digits=0, metric=True),
        Number("difference", "%", "its size against the given one; positive is coarser", digits=2),
    ),
    assumes=(
        "nearest is judged by the ratio of the sizes",
        "the scales measure size in different ways, so a few per cent mean nothing",
    ),
    sources=("grit-table-a", "jis-r-6001", "fepa-f-recalled", "diamond-grain-table"),
    refusals={
        "no-equivalent": "the {system} scale has nothing near {grit} ({1 um}); the nearest, {0}, "
        "is {2 um} and so another grade; ask for the size and choose by micrometres",
    },
)
def grit_equivalent(grit, system):
    """The grit of the other scale whose size has the smallest ratio to the given one."""
    given = SIZES[index_of(grit)]
    best = -1
    least = 0.0
    for j in range(len(GRITS)):
        if SYSTEMS[j] == system:
            apart = max(SIZES[j] / given, given / SIZES[j])
            if best < 0 or apart < least:
                best = j
                least = apart
    if least > FARTHEST_EQUIVALENT:
        refuse("no-equivalent", GRITS[best], given, SIZES[best])
    difference = (SIZES[best] / given - 1) * 100
    return {"grit": GRITS[best], "size": SIZES[best], "difference": difference}


@calculation(
    "step-removal",
    title="Depth to take off so that the last paper's damage is gone",
    inputs=(
        _grit("grit", "the paper before this one", also=("previous", "previous_grit"), example="P240"),
        from_house(
            "abrasives.removal_factor",
            name="factor",
            low=0.1,
            high=5,
            because="covers what is reported from hard to soft metals",
        ),
    ),
    results=Number("depth", "um", "depth to take off with the next paper", safe="up"),
    assumes=(
        "the layer that a paper deforms is about as deep as its grains are wide",
        "the paper before was used until its own scratches covered the face",
    ),
    sources=("samuels-recalled", "bench-sanding"),
)
def step_removal(grit, factor):
    """The deformed layer goes with the size of the grain that made it."""
    return factor * SIZES[index_of(grit)]


def is_paste(row):
    """Say whether a grit is a paste or suspension, used on cloth after the papers."""
    return SYSTEMS[row] == "micrometre" and SIZES[row] <= COARSEST_PASTE


def allowed_jump(row, ratio, paste_ratio):
    """Return the ratio allowed on the way to this grit: pastes may jump farther than papers."""
    if is_paste(row):
        return paste_ratio
    return ratio


def within(at, to, ratio, paste_ratio):
    """Say whether the step from one grit to a finer one keeps the ratio."""
    # 1e-9: a stock that meets the ratio exactly keeps it.
    return SIZES[at] <= SIZES[to] * allowed_jump(to, ratio, paste_ratio) * (1 + 1e-9)


def next_grit(at, last, rows, ratio, paste_ratio):
    """Return the finest grit within the ratio; where none is, the next finer one of the stocked `rows`."""
    if within(at, last, ratio, paste_ratio):
        return last
    finest = -1
    coarsest = last
    for k in range(len(rows)):
        j = rows[k]
        # Pastes come last: paper after a paste would press the paste's grains into the face.
        fits = is_paste(last) if is_paste(j) else not is_paste(at)
        if fits and SIZES[j] < SIZES[at] and SIZES[j] > SIZES[last]:
            if within(at, j, ratio, paste_ratio) and (finest < 0 or SIZES[j] < SIZES[finest]):
                finest = j
            if SIZES[j] > SIZES[coarsest]:
                coarsest = j
    if finest >= 0:
        return finest
    return coarsest


@calculation(
    "grit-progression",
    title="Papers from the first to the last, and what each takes off",
    inputs=(
        from_house("abrasives.start", about="first paper"),
        from_house("abrasives.finish", about="last paper"),
        from_house(
            "abrasives.ratio",
            low=1.05,
            high=3,
            because="beyond three the finer paper polishes the ridges and leaves the scratches",
        ),
        from_house(
            "abrasives.stocked",
            about="grits to choose from; 'none' means every grade of the scales used",
            optional=True,
        ),
        from_house(
            "abrasives.paste_ratio", low=1.05, high=4, because="practice with pastes on cloth ends near three"
        ),
        from_house(
            "abrasives.removal_factor",
            name="factor",
            low=0.1,
            high=5,
            because="covers what is reported from hard to soft metals",
        ),
    ),
    results=(
        Listing(
            "steps",
            "papers in order",
            (
                Label("grit", "paper"),
                Number("size", "um", "its grain size", digits=0, metric=True),
                Number(
                    "ratio",
                    "1",
                    "size of the paper before over this one",
                    optional=True,
                    without="first",
                ),
                Number(
                    "removal",
                    "um",
                    "depth it takes off",
                    optional=True,
                    without="until the saw marks are gone",
                ),
                Label("kept", "whether the step keeps the ratio"),
            ),
        ),
        Whole("papers", "1", "papers, the first one counted"),
        Number("removal", "um", "depth that the papers after the first take off"),
        Verdict(
            "ratio_kept",
            "whether the grits keep the ratio",
            stops=(),
            words={
                "yes": "no step is longer than the ratio allows",
                "no": "at least one step is longer than the ratio allows: stock a grit between, or "
                "stay on the finer paper until no old scratch is left under the loupe",
            },
        ),
        Reasons(
            "gaps",
            "steps that are too long",
            {"gap": "{0} to {1} is a jump of {2}; allowed is {3}."},
        ),
    ),
    assumes=(
        "each step goes to the finest grit that the ratio allows, so the papers are as few as can be",
        "pastes come after the papers, and only on the way to a paste",
        "the first paper is used until the marks of the saw are gone, whatever depth that takes",
        "each later paper takes off a depth that goes with the grain size of the paper before it",
    ),
    sources=("metallography-guide", "samuels-recalled", "mirror-makers", "bench-sanding"),
    refusals={
        "coarser": "the last paper, {finish} ({1 um}), is coarser than the first, {start} ({0 "
        "um}); a progression goes from coarse to fine, so exchange the two",
        "not-stocked": "{0} ({1 um}) is not among the stocked grits; the nearest stocked one is "
        "{2} ({3 um}): use it, or stock {0}",
    },
)
def grit_progression(start, finish, ratio, stocked, paste_ratio, factor):
    """From each paper go to the finest one that is not farther than the ratio."""
    at = index_of(start)
    last = index_of(finish)
    if SIZES[last] > SIZES[at]:
        refuse("coarser", SIZES[at], SIZES[last])
    stock = []
    if stocked is None:
        for j in range(len(GRITS)):
            if SYSTEMS[j] == SYSTEMS[at] or SYSTEMS[j] == SYSTEMS[last]:
                stock.append(GRITS[j])
    else:
        stock = stocked
    if not holds(stock, start):
        near = nearest_in(start, stock)
        refuse("not-stocked", start, SIZES[at], near, SIZES[index_of(near)])
    if not holds(stock, finish):
        near = nearest_in(finish, stock)
        refuse("not-stocked", finish, SIZES[last], near, SIZES[index_of(near)])
    rows = []
    for k in range(len(stock)):
        rows.append(index_of(stock[k]))
    steps = [[start, SIZES[at], None, None, "yes"]]
    gaps = []
    total = 0.0
    while at != last:
        to = next_grit(at, last, rows, ratio, paste_ratio)
        jump = SIZES[at] / SIZES[to]
        depth = step_removal(GRITS[at], factor)
        total = total + depth
        kept = "yes"
        if not within(at, to, ratio, paste_ratio):
            kept = "no"
            gaps.append(because("gap", GRITS[at], GRITS[to], jump, allowed_jump(to, ratio, paste_ratio)))
        steps.append([GRITS[to], SIZES[to], jump, depth, kept])
        at = to
    return {
        "steps": steps,
        "papers": len(steps),
        "removal": total,
        "ratio_kept": "yes" if len(gaps) == 0 else "no",
        "gaps": gaps,
    }


@calculation(
    "stock-loss",
    title="Mass lost when a face is taken down",
    inputs=(
        Quantity(
            "area",
            "area of the face",
            unit="cm^2",
            low=0.1,
            high=20_000,
            example="41 cm^2",
            of_piece=MEASURED,
        ),
        Quantity(
            "depth",
            "depth taken off; for a wedge, half its height",
            unit="um",
            low=0,
            high=20_000,
            example="100 um",
        ),
        from_house(
            "abrasives.density",
            about="density of the metal",
            low=3,
            high=9,
            because="stony-iron is above 3, nickel-iron rich in nickel below 9",
        ),
    ),
    results=Number("mass", "g", "mass lost"),
    assumes=("the depth is the same over the whole face",),
    sources=("mass-geometry", "iron-density-survey"),
)
def stock_loss(area, depth, density):
    """Area times depth times density."""
    volume = area * depth / 10_000
    return volume * density


@calculation(
    "sanded-slice",
    title="What is left of a slice after sanding",
    inputs=(
        Quantity("mass", "mass of the slice before", unit="g", low=0.1, high=30_000, example="{piece.mass}"),
        Quantity(
            "thickness",
            "thickness before, at its thinnest",
            unit="mm",
            low=0.3,
            high=300,
            example="{piece.thickness}",
        ),
        Quantity("depth", "depth taken off each face", unit="um", low=0, high=50_000, example="60 um"),
        Count("faces", "faces sanded", low=1, high=2, example="2"),
        from_house(
            "abrasives.thin_limit",
            name="limit",
            high=20,
            because="a heavy slice is kept thicker",
        ),
        from_house("abrasives.loss_limit", low=0.1, high=90, because="an owner may allow any share"),
    ),
    results=(
        Number("thickness", "mm", "thickness left"),
        Number("lost", "g", "mass lost"),
        Number("share", "%", "share of the mass lost"),
        Verdict(
            "verdict",
            "whether to go on",
            stops=(),
            words={
                "go": "the loss stays within the house limit of {loss_limit}",
                "ask": "the loss is above the house limit of {loss_limit}: ask the owner in "
                "writing, or start from a finer paper",
            },
        ),
    ),
    assumes=("the slice is as thick everywhere, and its faces are parallel",),
    sources=("mass-geometry", "bench-sanding"),
    refusals={
        "too-thin": "sanding would leave {0 mm}, under the limit of {limit}: a thinner slice "
        "bends, heats and breaks in the hand; sand one face, start from a finer paper, or leave it "
        "as it is",
        "gone": "sanding takes off {0 mm}, as much as the slice is thick; check depth and thickness",
    },
)
def sanded_slice(mass, thickness, depth, faces, limit, loss_limit):
    """A parallel slice loses mass as it loses thickness."""
    off = faces * depth / 1000
    left = thickness - off
    if left <= 0:
        refuse("gone", off)
    # 1e-9: a slice that ends at the limit exactly is allowed.
    if left < limit - 1e-9:
        refuse("too-thin", left)
    share = off / thickness * 100
    verdict = "go"
    if share > loss_limit + 1e-9:
        verdict = "ask"
    return {
        "thickness": left,
        "lost": mass * off / thickness,
        "share": share,
        "verdict": verdict,
    }


@calculation(
    "removal-rate",
    title="How fast a paper cuts, from two weighings",
    inputs=(
        Quantity(
            "mass_before",
            "mass of the dry piece before",
            unit="g",
            low=0.1,
            high=30_000,
            example="186.00 g",
            of_piece=MEASURED,
        ),
        Quantity(
            "mass_after",
            "mass of the dry piece after",
            unit="g",
            low=0.1,
            high=30_000,
            example="185.40 g",
            of_piece=MEASURED,
        ),
        Quantity(
            "area",
            "area of the face sanded",
            unit="cm^2",
            low=0.1,
            high=20_000,
            example="41 cm^2",
            of_piece=MEASURED,
        ),
        Quantity("time", "time sanded", unit="min", low=0.05, high=600, example="5 min", of_piece=MEASURED),
        from_house(
            "abrasives.density",
            about="density of the metal",
            low=3,
            high=9,
            because="stony-iron is above 3, nickel-iron rich in nickel below 9",
        ),
        from_house(
            "drying.balance", name="division", high=5, because="even a kitchen scale shows a heavy cut"
        ),
    ),
    results=(
        Number(
            "rate",
            "um/min",
            "depth taken off in a minute",
            most=5_000,
            because="even a belt grinder takes a few millimetres a minute off iron",
        ),
        Number("depth", "um", "depth taken off", most=300_000, because="the thickest piece here is 300 mm"),
        Number("doubt", "%", "doubt from reading the balance to one step", digits=2),
    ),
    assumes=(
        "the piece is as dry, clean and warm at both weighings",
        "all the loss comes from this face, and none of it is rust, wax or crumbs",
    ),
    sources=("mass-geometry",),
    refusals={
        "gained": "the piece has not lost mass ({mass_before} before, {mass_after} after): clean "
        "and dry it and weigh again",
        "too-little": "the loss of {0 g} is under five steps of the balance ({division}): sand "
        "longer and weigh again",
    },
)
def removal_rate(mass_before, mass_after, area, time, density, division):
    """Depth is the mass lost over area and density."""
    loss = mass_before - mass_after
    if loss <= 0:
        refuse("gained")
    # 1e-9: two readings differ by a last binary digit, which must not cost a whole step.
    if loss < 5 * division - 1e-9:
        refuse("too-little", loss)
    depth = loss / (area * density) * 10_000
    rate = depth / time
    doubt = division / loss * 100
    return {"rate": rate, "depth": depth, "doubt": doubt}


@calculation(
    "sanding-time",
    title="Time and sheets to take off a depth",
    inputs=(
        Quantity("depth", "depth to take off", unit="um", low=0.1, high=20_000, example="60 um"),
        Quantity(
            "rate",
            "depth a minute, measured on the bench with this paper",
            unit="um/min",
            low=0.05,
            high=500,
            why="hand work cuts a few micrometres a minute; measure it",
            example="5 um/min",
        ),
        from_house(
            "abrasives.sheet_time",
            low=0.1,
            high=60,
            because="a worn sheet lasts less and a stone more than the paper of any house",
        ),
    ),
    results=(
        Number("time", "min", "sanding time", safe="up"),
        Whole("sheets", "1", "sheets of paper"),
    ),
    assumes=("each sheet is changed when its working time is over, so the rate does not fall",),
    sources=("mass-geometry", "bench-sanding"),
)
def sanding_time(depth, rate, sheet_time):
    """Depth over rate, and the sheets that last so long."""
    time = depth / rate
    # 1e-9: a time that fills a sheet exactly must not ask for one more.
    return {"time": time, "sheets": ceil(time / sheet_time - 1e-9)}


def _nearest_name(bench, grit: str, system: str) -> str | None:
    try:
        return bench("grit-equivalent", grit=grit, system=system)["grit"]
    except Refusal:
        return None


CAMI_NOTE = (
    "Three published tables of the ANSI scale differ, most in the fine grades (ANSI 500: 18 to 20 "
    "µm; ANSI 1000: 9.2 to 10.3 µm). The first of them is used, because it lists every grade; ANSI "
    "16 and 20 are from the second, ANSI 280 from the third, ANSI 1200 from memory of the standard."
)
F_NOTE = (
    "The F sizes are from memory of the standard. F80 is 185 µm there and 180 µm in a maker's "
    "article. Loose grain and stones only: an F grade is finer than the P grade of the same number "
    "from 240 up."
)
JIS_NOTE = (
    "JIS sizes are those of R 6001 by electrical resistance. Sellers of water stones quote coarser "
    "figures (1000: 14 µm, 2000: 7.5 µm). Japanese paper that carries the letter P is on the P "
    "scale."
)


@table(
    "grit-scale",
    title="The P scale in micrometres, with the nearest grade on other scales",
    question="What size is this paper, and what is it called on another scale?",
    notes=(
        "A dash: the other scale has no grade within a factor of 1.3. The tolerances are from "
        "memory of the standard, and from P240 up only.",
        CAMI_NOTE,
        F_NOTE,
        JIS_NOTE,
    ),
)
def grit_scale_table(bench):
    """Every P grade, its size, and its neighbours on the other scales."""
    rows = []
    for grit in _of_system("FEPA P"):
        found = bench("grit-size", grit=grit)
        rows.append(
            [
                grit,
                found["size"],
                found["tolerance"],
                *(_nearest_name(bench, grit, system) for system in ("ANSI", "JIS", "FEPA F")),
            ]
        )
    return Sheet(
        [
            Column("Paper"),
            Column("Size", "um", 0, metric=True),
            Column("Tolerance ±", "um", 0, metric=True),
            Column("ANSI (CAMI)", group="Nearest grade"),
            Column("JIS", group="Nearest grade"),
            Column("FEPA F", group="Nearest grade"),
        ],
        rows,
    )


@table(
    "grit-numbers",
    title="The same number on different scales",
    question="Why is a bare number no specification?",
    notes=(
        "Above 220 never write a bare number: write P600, ANSI 600 or the micrometres.",
        CAMI_NOTE,
        F_NOTE,
        JIS_NOTE,
    ),
)
def grit_numbers_table(bench):
    """Sizes of one number on the four scales that use numbers."""
    scales = ("FEPA P", "ANSI", "JIS", "FEPA F")
    numbers_used: dict[str, dict[str, float]] = {}
    for grit, system in zip(GRITS, SYSTEMS, strict=True):
        if system in scales and float(_number(grit)) >= 60:
            size = bench("grit-size", grit=grit)["size"]
            numbers_used.setdefault(_number(grit), {})[system] = size
    rows = []
    for number, sizes in sorted(numbers_used.items(), key=lambda item: float(item[0])):
        if len(sizes) > 1:
            rows.append([number, *(sizes.get(s) for s in scales), max(sizes.values()) / min(sizes.values())])
    return Sheet(
        [
            Column("Number"),
            Column("P (paper)", "um", 0, metric=True),
            Column("ANSI (CAMI)", "um", 0, metric=True),
            Column("JIS", "um", 0, metric=True),
            Column("F (grain, stones)", "um", 0, metric=True),
            Column("Coarsest over finest", "1", 3),
        ],
        rows,
    )


@table(
    "grit-progression",
    title="The house progression, paper by paper",
    question="Which papers, in which order, and how much does each take off?",
    notes=(
        "The first paper takes off what the saw marks and the bow ask for; that is not counted here.",
        "The depths come from a rule good to half as much or half as much again. The loupe decides.",
    ),
)
def grit_progression_table(bench):
    """The house's papers with ratio, depth and the piece's loss."""
    found = bench("grit-progression")
    piece = {
        "mass": bench.value("piece.mass"),
        "thickness": bench.value("piece.thickness"),
        "faces": 1,
    }
    rows = []
    for grit, size, ratio, removal, kept in found["steps"]:
        lost = None
        if removal is not None:
            try:
                lost = bench("sanded-slice", depth=removal, **piece)["lost"]
            except Refusal as refusal:
                lost = Refused(refusal.message)
        rows.append([grit, size, ratio, removal, lost, Mark(*_KEPT[kept])])
    number = bench.value("piece.number")
    return Sheet(
        [
            Column("Paper"),
            Column("Size", "um", 0, metric=True),
            Column("Ratio to the one before", "1"),
            Column("Takes off", "um"),
            Column(f"One face of {number} loses", "g"),
            Column("Ratio kept"),
        ],
        rows,
        notes=(
            f"{found['papers']} papers; those after the first take {found['removal']:.0f} µm off "
            "each face in all.",
        ),
    )


_KEPT = {"yes": ("go", "yes"), "no": ("stop", "no: too long a jump")}


@table(
    "grit-ladders",
    title="Papers between other starts and finishes, from the stocked grits",
    question="Which papers, when I start or stop elsewhere?",
    notes=("A step in brackets is longer than the house ratio allows.",),
)
def grit_ladders_table(bench):
    """Progressions between the house's starts and finishes."""
    starts = dict.fromkeys(
        bench.value(f"abrasives.{key}") for key in ("start", "start_cutoff", "start_precision")
    )
    finishes = dict.fromkeys(
        [grit for grit in ("P600", "P800") if grit in bench.value("abrasives.stocked")]
        + [bench.value(f"abrasives.{key}") for key in ("finish", "finish_ferric", "finish_micro")]
    )
    rows = []
    for start in starts:
        for finish in sorted(finishes, key=_size_of, reverse=True):
            if _size_of(finish) < _size_of(start):
                found = bench("grit-progression", start=start, finish=finish)
                chain = [g if kept == "yes" else f"({g})" for g, _, _, _, kept in found["steps"]]
                rows.append([start, finish, " – ".join(chain), found["papers"], found["removal"]])
    return Sheet(
        [
            Column("From"),
            Column("To"),
            Column("Papers in order"),
            Column("Papers", "1", 0),
            Column("Off each face", "um"),
        ],
        rows,
    )


@table(
    "finish-choice",
    title="How fine to go, by what the face is for",
    question="When may I stop sanding?",
    notes=("A dash: the other scale has no grade within a factor of 1.3.",),
)
def finish_choice_table(bench):
    """Last abrasive by what the face is for."""
    rows = []
    for purpose, key in (
        ("Show face, nital", "finish"),
        ("Ferric chloride, fine and finest patterns", "finish_ferric"),
        ("Microscope", "finish_micro"),
    ):
        last = bench.value(f"abrasives.{key}")
        found = bench("grit-progression", finish=last)
        rows.append(
            [
                purpose,
                last,
                bench("grit-size", grit=last)["size"],
                _nearest_name(bench, last, "ANSI"),
                _nearest_name(bench, last, "JIS"),
                found["papers"],
                found["removal"],
            ]
        )
    return Sheet(
        [
            Column("Face for"),
            Column("Last abrasive"),
            Column("Size", "um", 0, metric=True),
            Column("ANSI (CAMI)", group="Nearest grade"),
            Column("JIS", group="Nearest grade"),
            Column("Papers from the house start", "1", 0),
            Column("Off each face", "um"),
        ],
        rows,
    )


@table(
    "starting-paper",
    title="First paper, by how the face was cut",
    question="Which paper do I start with?",
    notes=("Coarser paper than the cut needs digs deeper than the saw did.",),
    sources=("metallography-guide", "surface-treatments-column"),
)
def starting_paper_table(bench):
    """First paper by kind of cut."""
    rows = []
    for cut, key in (
        ("Band saw or hacksaw", "start"),
        ("Abrasive cut-off wheel", "start_cutoff"),
        ("Precision saw or wire saw", "start_precision"),
    ):
        first = bench.value(f"abrasives.{key}")
        rows.append(
            [
                cut,
                first,
                bench("grit-size", grit=first)["size"],
                bench("step-removal", grit=first),
            ]
        )
    return Sheet(
        [
            Column("Cut with"),
            Column("First paper"),
            Column("Size", "um", 0, metric=True),
            Column("The next paper takes off", "um"),
        ],
        rows,
    )


@table(
    "step-removal",
    title="Depth to take off after each stocked grit",
    question="How deep must the next paper go?",
    notes=(
        "In brackets, what the span of the house factor makes of it: the rule is no better "
        "than that. Stop when the loupe shows no old scratch, and not before.",
    ),
)
def step_removal_table(bench):
    """Depth that the next paper takes off, with the span of the rule."""
    rows = []
    for grit in sorted(bench.value("abrasives.stocked"), key=_size_of, reverse=True):
        rows.append([grit, bench("grit-size", grit=grit)["size"], bench("step-removal", grit=grit)])
    return Sheet(
        [Column("After"), Column("Size", "um", 0, metric=True), Column("The next one takes off", "um")], rows
    )


@table(
    "stock-lost",
    title="Mass lost, by area and depth",
    question="How much metal does sanding cost?",
    notes=("For a wedge take half its height; for two faces take both areas together.",),
)
def stock_lost_table(bench):
    """Mass lost by area and depth."""
    return matrix(
        Axis("Area sanded", "cm^2", (5, 10, 20, 40, 60, 100, 150, 200)),
        Axis("Depth taken off", "um", (20, 50, 100, 200, 300, 500)),
        "g",
        lambda area, depth: bench("stock-loss", area=area, depth=depth),
    )


@table(
    "thickness-after",
    title="What the house progression leaves of a slice",
    question="Is this slice thick enough to sand?",
    notes=(
        "Counts the papers after the first. Add what the first paper needs to take out saw marks and bow.",
    ),
)
def thickness_after_table(bench):
    """Thickness and loss of slices after the house progression."""
    removal = bench("grit-progression")["removal"]
    rows = []
    for thickness in (1.5, 2.0, 2.5, 3.0, 4.0, 6.0, 8.0, 10.0):
        row: list = [thickness]
        for faces in (1, 2):
            try:
                found = bench("sanded-slice", mass=100.0, thickness=thickness, depth=removal, faces=faces)
                state, word = _VERDICT[found["verdict"]]
                row += [found["thickness"], found["share"], Mark(state, word, found["verdict"])]
            except Refusal as refusal:
                row += [None, None, Refused(refusal.message)]
        rows.append(row)
    columns = [Column("Thickness before", "mm", 0)]
    for group in ("One face", "Both faces"):
        columns += [
            Column("Left", "mm", 3, group),
            Column("Lost", "%", 2, group),
            Column("Verdict", "text", 3, group),
        ]
    return Sheet(columns, rows, notes=(f"Depth off each face: {figure(removal, 'um')}.",))


_VERDICT = {"go": ("go", "go"), "ask": ("wait", "ask the owner")}


@table(
    "sanding-times",
    title="Sanding time, by depth and by the measured rate",
    question="How long does this paper take?",
    notes=(
        "No measured rate for nickel-iron was found in print; a wear law gives about 4.5 µm a "
        "minute by hand on 25 cm², good to a factor of five. Weigh, sand, weigh, and use your own "
        "rate.",
        "Times are for a fresh sheet each time one is spent.",
    ),
    sources=("wear-law",),
)
def sanding_times_table(bench):
    """Minutes by depth and measured rate."""
    return matrix(
        Axis("Depth to take off", "um", (10, 20, 40, 60, 80, 125, 200)),
        Axis("Rate measured", "um/min", (1, 2, 5, 10, 20)),
        "min",
        lambda depth, rate: bench("sanding-time", depth=depth, rate=rate)["time"],
        digits=2,
    )


# --- plots --------------------------------------------------------------------------------------


@plot(
    "grit-ladder",
    title="The house progression: size of each paper, and what it takes off",
    table="grit-progression",
    notes=(
        "Equal steps down are equal ratios. The band is what the span of the removal factor makes of the "
        "depth.",
    ),
)
def grit_ladder_plot(bench):
    """Size of the grain and depth to take off, paper by paper."""
    steps = bench("grit-progression")["steps"]
    return Chart(
        Scale("Paper", "text", names=tuple(step[0] for step in steps)),
        Scale("Size or depth", "um", log=True, metric=True),
        [
            Line("takes off", [(i, step[3]) for i, step in enumerate(steps)], dots=True),
            Line("grain size", [(i, step[1]) for i, step in enumerate(steps)], dots=True),
        ],
    )
