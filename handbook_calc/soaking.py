"""A crack in one bath after another: the profile in the crack carries over, each bath has its volume.

The crack is a slab open on one face (one open at both ends: two such slabs of half the length) to a stirred
bath. In a bath of `ratio` times the crack's own liquid the profile is a sum of cosines cos(q x) with
tan q = -ratio x q (Crank), each of which fades by itself. What the sum leaves out, a share of a few
thousandths in a fresh bath, fades as its next term would. So a sequence of baths needs no steps in time.

Lengths are in depths of the crack, times are Fourier numbers: diffusivity x time / depth^2.
"""

from math import exp, pi, sqrt

from handbook_calc.diffusion import slab_released
from handbook_calc.engine.calculation import Listing, Number, Whole, calculation, refuse
from handbook_calc.engine.defaults import from_house
from handbook_calc.engine.fields import Quantity, Rows, YesNo

STAGE = "alcohol"
GAS = 8.314462618
KELVIN = 273.15
STATED_AT = 25  # degC, at which diffusivities of the bath are stated
FILLED = 1 / 3  # of the diffusivity is left in a crack full of rust: a guess, a half to a quarter
MODES = 48
SETTLED = 1e-8  # of a root: each step squares what is missing, so the next would be the last digit's
CLOSE = 1e-3


def arctangent(x):
    """Return the angle, from nil to a quarter turn, whose tangent is x, 0 or more."""
    if x > 1:
        return pi / 2 - arctangent_small(1 / x)
    return arctangent_small(x)


def arctangent_small(x):
    """Return the angle of a tangent of 0 to 1: halved twice, then the series to its last digit."""
    half = x / (1 + sqrt(1 + x**2))
    quarter = half / (1 + sqrt(1 + half**2))
    power = quarter
    angle = 0
    for n in range(11):
        angle = angle + power / (2 * n + 1)
        power = -power * quarter**2
    return 4 * angle


def bath_root(n, ratio):
    """Return the n-th root q of tan q = -ratio x q, which lies between n - 1/2 and n half turns."""
    root = n * pi - arctangent(ratio * (n - 0.5) * pi)
    for _ in range(20):
        miss = root - n * pi + arctangent(ratio * root)
        step = miss / (1 + ratio / (1 + (ratio * root) ** 2))
        root = root - step
        if abs(step) <= SETTLED * root:
            break
    return root


def bath_modes(ratio):
    """Return the modes of a crack in a bath: a list of roots, one of their sines, one of their cosines.

    The first is the even profile that is left in the end.
    """
    roots = [0]
    sines = [0]
    cosines = [1]
    turn = 1
    for n in range(1, MODES):
        root = bath_root(n, ratio)
        tangent = ratio * root
        cosine = 1 / sqrt(1 + tangent**2)
        roots.append(root)  # pyright: ignore[reportArgumentType]  numbers, whole at first
        sines.append(turn * tangent * cosine)
        cosines.append(-turn * cosine)  # pyright: ignore[reportArgumentType]  numbers, whole at first
        turn = -turn
    return [roots, sines, cosines]


def overlap(p, sine_p, cosine_p, q, sine_q, cosine_q):
    """Return the integral of cos(p x) cos(q x) over the depth of the crack."""
    if p + q <= 0:
        return 1
    far = (sine_p * cosine_q + cosine_p * sine_q) / (p + q)
    gap = abs(p - q)
    if gap < CLOSE:
        return (1 - gap**2 / 6 + far) / 2
    return ((sine_p * cosine_q - cosine_p * sine_q) / (p - q) + far) / 2


def same_bath(one, other):
    """Say whether two ratios are one and the same bath size."""
    return abs(one - other) <= 1e-12 * one


def soak_baths(fouriers, ratios, starts, film):
    """Return for each bath a list: left in the crack, and strength of the bath, both in shares of the start.

    Arguments:
        fouriers: Fourier number of each bath.
        ratios: fresh liquid of each bath, in volumes of the crack's liquid.
        starts: strength of the fresh liquid, in shares of the strength of the crack at its start.
        film: liquid that clings outside and goes from bath to bath, in the same volumes.
    """
    answers = []
    content = 1
    outside = 1
    roots = [0]
    sines = [0]
    cosines = [1]
    amplitudes = [1]
    weights = [1]
    ratio = 0
    for bath in range(len(fouriers)):
        whole = ratios[bath] + film
        strength = (ratios[bath] * starts[bath] + film * outside) / whole
        before = amplitudes
        amplitudes = []
        if same_bath(whole, ratio):
            # Two modes of one bath overlap by -whole x their cosines: only the step of the bath counts.
            reached = 0
            for n in range(len(roots)):
                reached = reached + before[n] * cosines[n]
            for n in range(len(roots)):
                amplitudes.append(before[n] + whole * cosines[n] * (strength - reached) / weights[n])
        else:
            modes = bath_modes(whole)
            weights = []
            for n in range(len(modes[0])):
                root = modes[0][n]
                sine = modes[1][n]
                cosine = modes[2][n]
                weight = overlap(root, sine, cosine, root, sine, cosine) + whole * cosine**2
                total = whole * strength * cosine
                for m in range(len(roots)):
                    total = total + before[m] * overlap(roots[m], sines[m], cosines[m], root, sine, cosine)
                weights.append(weight)
                amplitudes.append(total / weight)
            roots = modes[0]
            sines = modes[1]
            cosines = modes[2]
            ratio = whole
        all_of_it = content + whole * strength
        shown = 0
        left = 0
        faded = []
        for n in range(len(roots)):
            # The first amplitude is what balance demands, also of what earlier sums left out.
            amplitude = amplitudes[n] if n > 0 else all_of_it / (1 + whole)
            area = sines[n] / roots[n] if n > 0 else 1
            fade = exp(-(roots[n] ** 2) * fouriers[bath])
            shown = shown + amplitude * area
            left = left + amplitude * fade * area
            faded.append(amplitude * fade)
        amplitudes = faded
        missed = content - shown
        last = len(roots) * pi
        held = content
        content = left + missed * exp(-(last**2) * fouriers[bath])
        outside = strength + (held - content) / whole
        answers.append([content, outside])
    return answers


def soak_large_baths(fouriers, start):
    """Return what is left in the crack after each of a row of baths that all keep one strength, as a list.

    Fourier numbers add up, because a bath that stays as it is changes nothing when it is exchanged.
    """
    answers = []
    total = 0
    for bath in range(len(fouriers)):
        total = total + fouriers[bath]
        answers.append(start + (1 - start) * (1 - slab_released(total)))
    return answers


def bath_diffusivity(diffusivity, activation_energy, temperature):
    """Return the diffusivity at a temperature [degC] from that stated at 25 degC."""
    warmer = 1 / (STATED_AT + KELVIN) - 1 / (temperature + KELVIN)
    return diffusivity * exp(activation_energy * 1000 / GAS * warmer)


def open_depth(depth, through):
    """Return the depth that counts: half the length of a crack that is open at both ends."""
    return depth / 2 if through is not None and through else depth


def crack_fouriers(times, depth, through, filled, diffusivity):
    """Return the Fourier number of each of a row of times [h] in a crack [mm], as a list."""
    half = open_depth(depth, through) * 1000
    speed = diffusivity
    if filled is not None and filled:
        speed = speed * FILLED
    answers = []
    for bath in range(len(times)):
        answers.append(speed * times[bath][0] * 3600 / half**2)
    return answers


def sequence(fouriers, crack_volume, bath, film, start):
    """Return left in the crack and strength outside after each bath, both in shares of the crack's start.

    Without volumes every bath is large and keeps its strength.
    """
    answers = []
    if crack_volume is None or bath is None:
        left = soak_large_baths(fouriers, start)
        for i in range(len(left)):
            answers.append([left[i], start])
        return answers
    ratios = []
    starts = []
    for _ in range(len(fouriers)):
        ratios.append(bath / crack_volume)
        starts.append(start)
    return soak_baths(fouriers, ratios, starts, 0 if film is None else film / crack_volume)


def times_of_baths(name, about):
    """Declare a row of times, one a bath."""
    return Rows(
        name,
        about,
        columns=(Quantity("time", "time in the bath", unit="h", low=0.001, high=5000),),
        most=24,
        example="12 h; 12 h; 12 h",
    )


THROUGH = YesNo(
    "through", "whether the crack is open at both ends, so that half its length counts", optional=True
)
CRACK_KIND = (
    THROUGH,
    YesNo("filled", "whether rust fills it, which takes three times as long by a guess", optional=True),
)
LEAST_CRACK = 0.001  # mL; a piece that holds less is sound, as far as baths go
VOLUMES = (
    Quantity("crack_volume", "liquid in the cracks; left out, the baths are large and stay as they are",
             unit="mL", low=LEAST_CRACK, high=500, optional=True),
    Quantity("bath", "fresh liquid in each bath", unit="mL", low=0.1, high=500_000, optional=True),
    Quantity("film", "liquid that clings outside and goes from bath to bath", unit="mL", low=0, high=5000,
             optional=True),
)  # fmt: skip
SEQUENCE_ASSUMES = (
    "the profile in the crack carries over from bath to bath; what diffuses in short baths adds up",
    "each bath is stirred or moved now and then, and the liquids weigh alike: where the heavier can fall out "
    "of the crack it is far quicker, see the exchange of a crack",
    "for a blind crack of one depth; a narrow bottom counts as depth",
    "in baths so short that under a hundredth leaves, right to two thousandths of what the crack held",
)
NO_BATH = (
    "there is liquid in the cracks, and no size of the bath: give both, or leave both out for large baths"
)
BATH_ROWS = Listing(
    "baths",
    "bath by bath",
    (
        Whole("bath", "1", "number"),
        Number("left", "%", "of what the crack held at first", 3),
        Number("outside", "%", "strength of the bath, of the crack's at first", 3),
    ),
)


@calculation(
    "soak-sequence",
    title="What is left in a crack after one bath upon the other",
    inputs=(
        Quantity("depth", "depth of the crack", unit="mm", low=0.01, high=200, example="{piece.crack_depth}"),
        times_of_baths("times", "hours in each bath, first to last"),
        from_house("drying.soak_temperature", name="temperature", about="temperature of the baths", low=0,
                   high=40, free=True, because="a flammable bath is never warmed"),
        from_house("drying.diffusivity", low=0.001, high=10_000,
                   about="how fast what is in the crack moves in the bath's liquid, at 25 °C",
                   because="rust that fills a crack slows it below any open bath"),
        from_house("drying.diffusion_activation", name="activation_energy", low=0, high=60, optional=True,
                   because="none stands for a diffusivity that was measured at the bath's own temperature"),
        *CRACK_KIND,
        *VOLUMES,
        Quantity("start", "what the fresh bath holds already, of the crack's strength at first", unit="%",
                 low=0, high=100, optional=True),
    ),
    results=(
        Number("left", "%", "of what the crack held at first, after the last bath"),
        Number("outside", "%", "strength of the last bath, of the crack's at first"),
        BATH_ROWS,
    ),
    assumes=SEQUENCE_ASSUMES,
    sources=("crank-1975", "mass-balance", "pang-2007", "pratt-1975"),
    refusals={"half-given": NO_BATH},
)  # fmt: skip
def soak_sequence(
    depth,
    times,
    temperature,
    diffusivity,
    activation_energy,
    through,
    filled,
    crack_volume,
    bath,
    film,
    start,
):
    """Modes of the crack in each bath, carried from one to the next."""
    if (crack_volume is None) != (bath is None):
        refuse("half-given")
    energy = 0 if activation_energy is None else activation_energy
    at_bath = bath_diffusivity(diffusivity, energy, temperature)
    fouriers = crack_fouriers(times, depth, through, filled, at_bath)
    answers = sequence(fouriers, crack_volume, bath, film, 0 if start is None else start / 100)
    baths = []
    for i in range(len(answers)):
        baths.append([i + 1, 100 * answers[i][0], 100 * answers[i][1]])
    last = answers[len(answers) - 1]
    return {"left": 100 * last[0], "outside": 100 * last[1], "baths": baths}
