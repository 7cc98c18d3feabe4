"""Diffusion out of a blind crack: a slab open on one face, fresh liquid outside.

The Fourier number is diffusivity x time / depth^2. Bath and drying times both rest on these two.
"""

from math import exp, log, pi, sqrt

SHORT_TIME_END = 0.02
TERMS = 16
# All but 2e-16 has left by then, the last digit of a number just below one.
HIGHEST = 15.0
NEWTON_STEPS = 12


def slab_released(fourier):
    """Return the share of the dissolved matter that has left, 0 to 1.

    Up to 0.02 the other end is not felt and the square-root law holds to the last digit; beyond,
    sixteen terms of the exponential series do.
    """
    if fourier <= SHORT_TIME_END:
        return 2 * sqrt(fourier / pi)
    left = 0
    for n in range(TERMS):
        rate = ((2 * n + 1) * pi) ** 2
        left = left + 8 / rate * exp(-rate * fourier / 4)
    return 1 - left


def slab_rate(fourier):
    """Return how fast the released share grows with the Fourier number, beyond the short times."""
    rate = 0
    for n in range(TERMS):
        rate = rate + 2 * exp(-(((2 * n + 1) * pi) ** 2) * fourier / 4)
    return rate


def slab_fourier(released):
    """Return the Fourier number at which the share `released`, 0 to below 1, has left.

    The answer lies in a bracket whose lower end is the larger of the square-root law and the first
    term of the series, both of which release too much. The curve bends downwards, so each tangent
    from the lower end ends short of the answer: the bracket closes from below, and cannot be left.
    """
    low = pi * (released / 2) ** 2
    if low <= SHORT_TIME_END:
        return low
    if released >= 1:
        return HIGHEST
    low = max(low, -4 / pi**2 * log(pi**2 / 8 * (1 - released)))
    for _ in range(NEWTON_STEPS):
        step = (released - slab_released(low)) / slab_rate(low)
        if step <= 0:
            break
        low = min(low + step, HIGHEST)
    return low
