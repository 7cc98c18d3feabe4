"""Diffusion out of a blind crack: a slab open on one face, fresh liquid outside.

The Fourier number is diffusivity x time / depth^2. Bath and drying times both rest on these two.
"""

from math import exp, pi, sqrt

SHORT_TIME_END = 0.02
TERMS = 16


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


def slab_fourier(released):
    """Return the Fourier number at which the share `released`, 0 to below 1, has left."""
    short = pi * (released / 2) ** 2
    if short <= SHORT_TIME_END:
        return short
    low = SHORT_TIME_END
    # All but 2e-16 has left by then, the last digit of a number just below one.
    high = 15
    for _ in range(64):
        middle = (low + high) / 2
        if slab_released(middle) < released:
            low = middle
        else:
            high = middle
    return (low + high) / 2
