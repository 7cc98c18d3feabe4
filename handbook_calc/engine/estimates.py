"""Estimates from readings, in plain Python: a curve of one shape on a grid, a line, the next of a sample.

An interval is the house's: the 5th and 95th per cent. `Shape` weighs every value of one shape parameter by
how well the readings can be met with it, all that is linear in the curve taken out: Bayes' theorem, flat in
the logarithm of the shape. `next_of` is Student's interval for one more of a sample, as ISO 16269-8 has it.
Both are written from memory; the tests hold them against scipy and against counted coverage.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from math import exp, gamma, isfinite, log, pi, sqrt

LOW, HIGH = 0.05, 0.95
STEPS = 400  # of Simpson's rule for Student's distribution
HALVINGS = 60


@dataclass(frozen=True)
class Estimate:
    """A value with its 5th and 95th per cent."""

    value: float
    low: float
    high: float

    def times(self, factor: float) -> "Estimate":
        """Return the estimate in another unit."""
        return Estimate(self.value * factor, self.low * factor, self.high * factor)


# --- Student's distribution --------------------------------------------------------------------


def _student_share(t: float, freedom: int) -> float:
    """Return the share of Student's distribution between 0 and t, by Simpson's rule."""
    factor = gamma((freedom + 1) / 2) / sqrt(freedom * pi) / gamma(freedom / 2)
    step = t / STEPS
    heights = [(1 + (step * i) ** 2 / freedom) ** (-(freedom + 1) / 2) for i in range(STEPS + 1)]
    inner = 4 * sum(heights[1:-1:2]) + 2 * sum(heights[2:-1:2])
    return factor * step / 3 * (heights[0] + inner + heights[-1])


@cache
def student(freedom: int) -> float:
    """Return the 95th per cent of Student's distribution; beyond 100 degrees of freedom that of 100."""
    freedom = min(freedom, 100)
    low, high = 0.0, 20.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if _student_share(middle, freedom) < HIGH - 0.5:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def next_of(values: Sequence[float]) -> Estimate:
    """Return what the next of a sample of positive values will be: Student's interval of the logarithms.

    Arguments:
        values: two or more.
    """
    logs = [log(value) for value in values]
    count = len(logs)
    mean = sum(logs) / count
    spread = sqrt(sum((one - mean) ** 2 for one in logs) / (count - 1))
    reach = student(count - 1) * spread * sqrt(1 + 1 / count)
    return Estimate(exp(mean), exp(mean - reach), exp(mean + reach))


def slope_of(xs: Sequence[float], ys: Sequence[float]) -> tuple[Estimate, float]:
    """Return the slope of a line of least squares with Student's interval, and its height at x = 0.

    Arguments:
        xs, ys: three points or more, of which not all have one x.
    """
    count = len(xs)
    x_mean, y_mean = sum(xs) / count, sum(ys) / count
    wide = sum((x - x_mean) ** 2 for x in xs)
    slope = sum((x - x_mean) * (y - y_mean) for x, y in zip(xs, ys, strict=True)) / wide
    height = y_mean - slope * x_mean
    left = sum((y - height - slope * x) ** 2 for x, y in zip(xs, ys, strict=True))
    reach = student(count - 2) * sqrt(left / (count - 2) / wide)
    return Estimate(slope, slope - reach, slope + reach), height


# --- a curve of one shape ----------------------------------------------------------------------


def grid(low: float, high: float, step: float) -> list[float]:
    """Return values from low to high in steps."""
    return [low + step * i for i in range(round((high - low) / step) + 1)]


@dataclass(frozen=True)
class Shape:
    """What readings say of the logarithm of one shape parameter: grid points and their weights."""

    points: Sequence[float]
    weights: Sequence[float]

    @property
    def mean(self) -> float:
        """Return the weighted mean of the logarithm."""
        return sum(map(float.__mul__, self.points, self.weights)) / sum(self.weights)

    def quantile(self, share: float) -> float:
        """Return the logarithm below which a share of the weight lies."""
        wanted, so_far = share * sum(self.weights), 0.0
        for i, weight in enumerate(self.weights):
            if so_far + weight >= wanted and weight > 0:
                step = self.points[1] - self.points[0]
                return self.points[i] + step * ((wanted - so_far) / weight - 0.5)
            so_far += weight
        return self.points[-1]

    def estimate(self) -> Estimate:
        """Return the parameter itself: its middle value, 5th and 95th per cent."""
        return Estimate(*(exp(self.quantile(share)) for share in (0.5, LOW, HIGH)))

    def at_the_edge(self, share: float = 0.01) -> bool:
        """Tell whether the weight reaches an end of the grid: the readings do not settle it."""
        return max(self.weights[0], self.weights[-1]) > share * max(self.weights)


def weighed(points: Sequence[float], scores: Sequence[float]) -> Shape:
    """Return the shape whose weights have the given logarithms."""
    highest = max(scores)
    if not isfinite(highest):
        return Shape(points, [1.0] * len(points))  # nothing meets the readings: nothing is settled
    return Shape(points, [exp(score - highest) for score in scores])


def least_squares(
    columns: Sequence[Sequence[float]], ys: Sequence[float]
) -> tuple[list[float], float, float]:
    """Return the factors of one or two columns that meet ys best, what is left squared, the determinant."""
    if len(columns) == 1:
        (g,) = columns
        wide = sum(a * a for a in g)
        factors = [sum(map(float.__mul__, g, ys)) / wide] if wide > 0 else [0.0]
    else:
        f, g = columns
        ff, gg, fg = (sum(map(float.__mul__, a, b)) for a, b in ((f, f), (g, g), (f, g)))
        fy, gy = (sum(map(float.__mul__, a, ys)) for a in (f, g))
        wide = ff * gg - fg * fg
        factors = [(gg * fy - fg * gy) / wide, (ff * gy - fg * fy) / wide] if wide > 0 else [0.0, 0.0]
    met = [sum(k * c[i] for k, c in zip(factors, columns, strict=True)) for i in range(len(ys))]
    return factors, sum((y - m) ** 2 for y, m in zip(ys, met, strict=True)), wide


def shape_of(
    points: Sequence[float], columns: Callable[[float], Sequence[Sequence[float]]], ys: Sequence[float]
) -> Shape:
    """Return what readings of unknown scatter say of a shape; the factors of its columns are taken out.

    Arguments:
        points: logarithms of the parameter that are tried.
        columns: gives the curves for one of them, each a number a reading.
        ys: the readings.
    """
    scores = []
    scale = max(sum(y * y for y in ys), 1e-300)
    for point in points:
        curves = columns(exp(point))
        _, left, wide = least_squares(curves, ys)
        if wide <= 0:
            scores.append(float("-inf"))
            continue
        left = max(left, 1e-14 * scale)
        scores.append(-(len(ys) - len(curves)) / 2 * log(left) - log(wide) / 2)
    return weighed(points, scores)


def blurred(shape: Shape, spread: float) -> list[float]:
    """Return the logarithms of a shape's weights, blurred by a normal error of its logarithm."""
    step = shape.points[1] - shape.points[0]
    reach = int(4 * spread / step)
    kernel = [exp(-((i * step / spread) ** 2) / 2) for i in range(-reach, reach + 1)] if reach else [1.0]
    count = len(shape.weights)
    found = []
    for i in range(count):
        near = (
            k * shape.weights[min(max(i + j - reach, 0), count - 1)] for j, k in enumerate(kernel)
        )  # beyond an end the weight goes on as it ends
        total = sum(near)
        found.append(log(total) if total > 0 else float("-inf"))
    return found
