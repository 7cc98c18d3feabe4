"""Diffusion out of a blind crack and out of round bodies, fresh liquid outside.

The Fourier number is diffusivity x time / depth^2, where depth is that of a crack open on one face, half
the length of one open on both, or the radius. Bath and drying times rest on these.
"""

from math import exp, log, pi, sqrt

SHORT_TIME_END = 0.02
TERMS = 16
NO_DIGIT = 1e-17  # of a sum changes none of its digits
# All but 2e-16 has left by then, the last digit of a number just below one.
HIGHEST = 15.0
NEWTON_STEPS = 12


def slab_released(fourier):
    """Return the share of the dissolved matter that has left, 0 to 1.

    Up to 0.02 the other end is not felt and the square-root law holds to the last digit; beyond,
    at most sixteen terms of the exponential series do.
    """
    if fourier <= SHORT_TIME_END:
        return 2 * sqrt(fourier / pi)
    return 1 - slab_series(fourier)


def slab_left(fourier):
    """Return the share that is left, with all its digits also where next to nothing is."""
    if fourier <= SHORT_TIME_END:
        return 1 - 2 * sqrt(fourier / pi)
    return slab_series(fourier)


def slab_series(fourier):
    """Return the share that is left beyond the short times, by the exponential series."""
    left = 0
    for n in range(TERMS):
        rate = ((2 * n + 1) * pi) ** 2
        term = 8 / rate * exp(-rate * fourier / 4)
        left = left + term
        if term <= NO_DIGIT * left:
            break
    return left


def slab_rate(fourier):
    """Return how fast the released share grows with the Fourier number, which is above nil."""
    if fourier <= SHORT_TIME_END:
        return 1 / sqrt(pi * fourier)
    rate = 0
    for n in range(TERMS):
        term = 2 * exp(-(((2 * n + 1) * pi) ** 2) * fourier / 4)
        rate = rate + term
        if term <= NO_DIGIT * rate:
            break
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


# --- a cylinder and a sphere -------------------------------------------------------------------

SHAPES = ["slab", "cylinder", "sphere"]
CYLINDER_TERMS = 100
CYLINDER_SHORT = 2e-4
SPHERE_SHORT = 0.02
# Beyond this power of e a term changes no digit.
NOTHING = 40.0


def _bessel_roots(count: int) -> list[float]:
    """Return the first roots of the Bessel function J0, from the fourth on by McMahon's series."""
    found = [2.404825557695773, 5.520078110286311, 8.653727912911013]
    for n in range(len(found) + 1, count + 1):
        b = (4 * n - 1) * pi
        found.append(b / 4 + 1 / (2 * b) - 31 / (6 * b**3) + 3779 / (15 * b**5) - 6_277_237 / (210 * b**7))
    return found


CYLINDER_ROOTS = _bessel_roots(CYLINDER_TERMS)


def cylinder_released(fourier):
    """Return the share that has left a long cylinder, at diffusivity x time / radius^2."""
    if fourier <= CYLINDER_SHORT:
        root = sqrt(fourier / pi)
        return 4 * root - fourier - fourier * root / 3
    left = 0
    for n in range(CYLINDER_TERMS):
        square = CYLINDER_ROOTS[n] ** 2
        if square * fourier > NOTHING:
            break
        left = left + 4 / square * exp(-square * fourier)
    return 1 - left


def cylinder_rate(fourier):
    """Return how fast the released share of a cylinder grows with the Fourier number."""
    if fourier <= CYLINDER_SHORT:
        return 2 / sqrt(pi * fourier) - 1 - sqrt(fourier / pi) / 2
    rate = 0
    for n in range(CYLINDER_TERMS):
        square = CYLINDER_ROOTS[n] ** 2
        if square * fourier > NOTHING:
            break
        rate = rate + 4 * exp(-square * fourier)
    return rate


def sphere_released(fourier):
    """Return the share that has left a sphere, at diffusivity x time / radius^2."""
    if fourier <= SPHERE_SHORT:
        return 6 * sqrt(fourier / pi) - 3 * fourier
    left = 0
    for n in range(TERMS):
        square = ((n + 1) * pi) ** 2
        left = left + 6 / square * exp(-square * fourier)
    return 1 - left


def sphere_rate(fourier):
    """Return how fast the released share of a sphere grows with the Fourier number."""
    if fourier <= SPHERE_SHORT:
        return 3 / sqrt(pi * fourier) - 3
    rate = 0
    for n in range(TERMS):
        rate = rate + 6 * exp(-(((n + 1) * pi) ** 2) * fourier)
    return rate


def released(shape, fourier):
    """Return the share that has left a shape whose half thickness or radius the Fourier number is for."""
    if shape == "cylinder":
        return cylinder_released(fourier)
    if shape == "sphere":
        return sphere_released(fourier)
    return slab_released(fourier)


def fourier_of(shape, share):
    """Return the Fourier number at which a share, 0 to below 1, has left a shape.

    The square-root law alone releases too much, and the curve bends downwards: as for the slab each
    tangent from the lower end ends short of the answer.
    """
    if shape == "slab":
        return slab_fourier(share)
    steepest = 4 if shape == "cylinder" else 6
    low = pi * (share / steepest) ** 2
    if low <= 0:
        return 0
    for _ in range(60):
        rate = cylinder_rate(low) if shape == "cylinder" else sphere_rate(low)
        step = (share - released(shape, low)) / rate
        if step <= low * 1e-15:
            break
        low = min(low + step, HIGHEST)
    return low
