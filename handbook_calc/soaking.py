"""A crack in one bath after another: the profile in the crack carries over, each bath has its volume.

The crack is a slab open on one face (one open at both ends: two such slabs of half the length) to a stirred
bath. In a bath of `ratio` times the crack's own liquid the profile is a sum of cosines cos(q x) with
tan q = -ratio x q (Crank), each of which fades by itself. What the sum leaves out, a share of a few
thousandths in a fresh bath, fades as its next term would. So a sequence of baths needs no steps in time.

Lengths are in depths of the crack, times are Fourier numbers: diffusivity x time / depth^2.
"""

from math import exp, pi, sqrt

from handbook_calc.diffusion import slab_released

MODES = 48
SETTLED = 1e-15
CLOSE = 1e-3


def arctangent(x):
    """Return the angle, from nil to a quarter turn, whose tangent is x, 0 or more."""
    if x > 1:
        return pi / 2 - arctangent_small(1 / x)
    return arctangent_small(x)


def arctangent_small(x):
    """Return the angle of a tangent of 0 to 1: halved twice, then the series."""
    half = x / (1 + sqrt(1 + x**2))
    quarter = half / (1 + sqrt(1 + half**2))
    power = quarter
    angle = 0
    for n in range(14):
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
        roots.append(root)
        sines.append(turn * tangent * cosine)
        cosines.append(-turn * cosine)
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
    ratio = 0
    for bath in range(len(fouriers)):
        whole = ratios[bath] + film
        strength = (ratios[bath] * starts[bath] + film * outside) / whole
        before_roots = roots
        before_sines = sines
        before_cosines = cosines
        if not same_bath(whole, ratio):
            modes = bath_modes(whole)
            roots = modes[0]
            sines = modes[1]
            cosines = modes[2]
            ratio = whole
        all_of_it = content + whole * strength
        found = []
        shown = 0
        left = 0
        for n in range(len(roots)):
            weight = overlap(roots[n], sines[n], cosines[n], roots[n], sines[n], cosines[n])
            weight = weight + whole * cosines[n] ** 2
            total = whole * strength * cosines[n]
            for m in range(len(before_roots)):
                total = total + amplitudes[m] * overlap(
                    before_roots[m], before_sines[m], before_cosines[m], roots[n], sines[n], cosines[n]
                )
            amplitude = total / weight
            # The first amplitude is what balance demands, also of what earlier sums left out.
            if n == 0:
                amplitude = all_of_it / (1 + whole)
            area = sines[n] / roots[n] if n > 0 else 1
            fade = exp(-(roots[n] ** 2) * fouriers[bath])
            shown = shown + amplitude * area
            left = left + amplitude * fade * area
            found.append(amplitude * fade)
        missed = content - shown
        last = len(roots) * pi
        content = left + missed * exp(-(last**2) * fouriers[bath])
        outside = (all_of_it - content) / whole
        amplitudes = found
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
