"""A row of chloride readings against the square root of time: the line, and when it meets a limit.

Three kinds of error, each with its band, in the manner of Fieller: the ends are the roots of time at which
the line is no further from the limit than its own error.

- Each reading errs by itself: weighted regression. A reading below detection takes part by what it says,
  that the line lies below its bound (Tobit's likelihood, by reweighted steps).
- The readings are a running sum: its increments err by themselves, and the sum drags past errors along.
- All readings share one error, that of the calibration: the scatter can never show it.
"""

from math import exp, log, pi, sqrt

from handbook_calc.diffusion import SHORT_TIME_END, slab_left, slab_rate, slab_released
from handbook_calc.engine import data

STUDENT_T = data.numbers("student_t", "t")
NORMAL = 1.959963985  # two-sided 95 % of the normal distribution
PRIOR = 10  # degrees of freedom that the bench's own figure for its error counts for
TOBIT_STEPS = 60
RATES = 25  # rates of release that are tried, on a logarithmic scale
MASSES = 7  # totals of chloride that are tried for each rate, in standard errors of the best
MASS_STEP = 1.0
CLOSINGS = 3
COUNTS = 9.0  # logarithm of a likelihood below the best by which a point no longer counts
NINE_TENTHS = 1.6448536  # standard deviations to the 5th and 95th per cent
LEAST_ERROR = 1e-9
LEAST_SHARE = 1e-300
ONE_TERM = 2.0  # Fourier number from which the second exponential is below the last digit
END_STEPS = 60
END_CLOSE = 1e-10
NO_DIGIT = 1e-17  # of a sum changes none of its digits
LEAST_INFORMATION = 1e-6


def student_t(freedom):
    """Two-sided 95 % point of Student's t; for more than 30 degrees that of 30, a little wide."""
    return STUDENT_T[min(freedom, len(STUDENT_T)) - 1]


def normal_hazard(z):
    """Return density over probability below z of the normal distribution: how hard a bound presses."""
    density = exp(-(z**2) / 2) / sqrt(2 * pi)
    if z > 8:
        return density
    if z > 4:
        return density / (1 - density / tail_hazard(z))
    if z < -4:
        return tail_hazard(-z)
    term = z
    total = z
    for k in range(1, 60):
        term = term * z**2 / (2 * k + 1)
        total = total + term
        if abs(term) <= NO_DIGIT * abs(total):
            break
    return density / (0.5 + density * total)


def tail_hazard(z):
    """Return density over probability beyond z, 4 or more, of the normal distribution."""
    fraction = z
    for k in range(30):
        fraction = z + (30 - k) / fraction
    return fraction


def weighted_line(xs, ys, weights):
    """Weighted least squares of a straight line.

    Returns a list: intercept, slope, residual standard deviation, sum of weights, weighted mean
    of x, weighted sum of squares of x about it, coefficient of determination.
    """
    count = len(xs)
    total = 0
    sum_x = 0
    sum_y = 0
    for i in range(count):
        total = total + weights[i]
        sum_x = sum_x + weights[i] * xs[i]
        sum_y = sum_y + weights[i] * ys[i]
    mean_x = sum_x / total
    mean_y = sum_y / total
    squares_x = 0
    squares_y = 0
    products = 0
    for i in range(count):
        squares_x = squares_x + weights[i] * (xs[i] - mean_x) ** 2
        squares_y = squares_y + weights[i] * (ys[i] - mean_y) ** 2
        products = products + weights[i] * (xs[i] - mean_x) * (ys[i] - mean_y)
    slope = products / squares_x
    intercept = mean_y - slope * mean_x
    residual = 0
    for i in range(count):
        residual = residual + weights[i] * (ys[i] - intercept - slope * xs[i]) ** 2
    deviation = sqrt(residual / (count - 2))
    determination = 1 - residual / squares_y if squares_y > 0 else 0
    return [intercept, slope, deviation, total, mean_x, squares_x, determination]


def bounded_line(xs, ys, weights, bounds_x, bounds_y, bound_weights):
    """As `weighted_line`, with points of which only an upper bound is known.

    Each step puts a bound's place on the line where the slope of its likelihood wants it, with the weight
    that it carries: nil where the line is far below it, full where the line lies above.
    """
    line = weighted_line(xs, ys, weights)
    if len(bounds_x) < 1:
        return line
    seen = len(xs)
    for _ in range(TOBIT_STEPS):
        all_x = []
        all_y = []
        all_weights = []
        for i in range(seen):
            all_x.append(xs[i])
            all_y.append(ys[i])
            all_weights.append(weights[i])
        for i in range(len(bounds_x)):
            at = line[0] + line[1] * bounds_x[i]
            spread = max(line[2] / sqrt(bound_weights[i]), 1e-9 * bounds_y[i])
            z = (bounds_y[i] - at) / spread
            pressed = normal_hazard(z)
            information = min(1, max(LEAST_INFORMATION, pressed * (pressed + z)))
            all_x.append(bounds_x[i])
            all_y.append(at - spread * pressed / information)
            all_weights.append(bound_weights[i] * information)
        joint = weighted_line(all_x, all_y, all_weights)
        residual = 0
        for i in range(seen):
            residual = residual + weights[i] * (ys[i] - joint[0] - joint[1] * xs[i]) ** 2
        deviation = sqrt(residual / (seen - 2))
        moved = abs(joint[0] - line[0]) + abs(joint[1] - line[1])
        line = [joint[0], joint[1], deviation, joint[3], joint[4], joint[5], line[6]]
        if moved <= 1e-10 * (abs(joint[0]) + abs(joint[1])):
            break
    return line


def band_of_line(line, freedom, limit, calibration):
    """Return doubt of the slope, and the early and late end of the root of time, as a list.

    Arguments:
        line: what `weighted_line` gave.
        calibration: standard error that all readings share, as a share of them.

    The doubt is the share of the slope that its own 95 % error is, squared: from 1 on there is no late end.
    """
    t = student_t(freedom)
    slope = line[1]
    doubt = (t * line[2]) ** 2 / (slope**2 * line[5]) if slope > 0 else 1
    if doubt >= 1:
        return [doubt, 0, 0]
    away = (limit - line[0]) / slope - line[4]
    own = (t * line[2] / slope) ** 2
    shared = (NORMAL * calibration * limit / slope) ** 2
    half = sqrt(own * away**2 / line[5] + (1 - doubt) * (own / line[3] + shared))
    return [doubt, line[4] + (away - half) / (1 - doubt), line[4] + (away + half) / (1 - doubt)]


def band_of_sum(xs, ys, limit, reading_error, calibration):
    """Return the same for a running sum whose increments each err by a share of themselves, and its slope.

    The bench's own figure for that share, 0 where it has none, counts for ten degrees of freedom, since few
    increments say little about their own error.
    """
    count = len(xs) - 1
    slope = 0
    for i in range(count):
        slope = slope + (ys[i + 1] - ys[i]) / (xs[i + 1] - xs[i]) / count
    if slope <= 0:
        return [1, 0, 0, slope]
    squares = 0
    past = ys[0] ** 2
    for i in range(count):
        rise = ys[i + 1] - ys[i]
        squares = squares + (rise / (xs[i + 1] - xs[i]) / slope - 1) ** 2
        past = past + rise**2
    freedom = count - 1
    if reading_error > 0:
        squares = squares + PRIOR * reading_error**2
        freedom = freedom + PRIOR
    share = student_t(freedom) ** 2 * squares / freedom
    doubt = share / count
    if doubt >= 1:
        return [doubt, 0, 0, slope]
    # slope^2 (d - away)^2 = share (past + slope^2 d^2 / count + 2 slope d (rise) / count) + shared^2
    away = (limit - ys[count]) / slope
    drag = share * (ys[count] - ys[0]) / slope / count
    shared = (NORMAL * calibration * limit / slope) ** 2
    middle = away + drag
    half = sqrt(max(0, middle**2 - (1 - doubt) * (away**2 - share * past / slope**2 - shared)))
    return [
        doubt,
        xs[count] + (middle - half) / (1 - doubt),
        xs[count] + (middle + half) / (1 - doubt),
        slope,
    ]


# --- a whole treatment: how much chloride there is, and how fast it comes ------------------------


def normal_below(z):
    """Return the probability below z of the normal distribution."""
    if z > 8:
        return 1
    return exp(-(z**2) / 2) / sqrt(2 * pi) / normal_hazard(z)


def bath_shares(ends, rate):
    """Return the share of the chloride that comes out in each bath that ends at `ends` [d], as a list.

    The rate is diffusivity over the depth of the crack squared, per day.
    """
    shares = []
    before = 0
    for i in range(len(ends)):
        out = slab_released(rate * ends[i])
        shares.append(max(0, out - before))
        before = out
    return shares


def end_of_treatment(rate, share, now, stand):
    """Return the day on which the second of two baths ends that each draw no more than a share of it all.

    Both stand `stand` days. What a bath draws is a sum of exponentials, so its logarithm falls ever more
    slowly: Newton's steps on that end at the first day that passes from below. They start where the first
    exponential alone would pass, and where only that is left, this is the day; at short times the law of
    the square root has one of its own.
    """
    if slab_left(rate * now) - slab_left(rate * (now + stand)) <= share:
        return now + 2 * stand
    pull = 2 * stand * sqrt(rate / pi) / share
    root = (pull - stand / pull) / 2
    if rate * (root**2 + stand) <= SHORT_TIME_END:
        return max(now, root**2) + 2 * stand
    fade = pi**2 * rate / 4
    kept = exp(-fade * stand)
    first = log(max(LEAST_SHARE, 8 / pi**2 * (1 - kept) / share)) / fade
    day = max(now, first, END_CLOSE * stand)
    if rate * day >= ONE_TERM:
        return day + 2 * stand
    for _ in range(END_STEPS):
        drawn = slab_left(rate * day) - slab_left(rate * (day + stand))
        falls = rate * (slab_rate(rate * day) - slab_rate(rate * (day + stand)))
        step = drawn * log(drawn / share) / falls
        day = day + max(0, step)
        if step <= END_CLOSE * day:
            break
    return day + 2 * stand


def best_mass(shares, masses, errors, bounds):
    """Return the chloride that fits the baths best at one rate, and its standard error, as a list.

    Arguments:
        shares: of all chloride, in each bath; masses: mg read in each; errors: their standard errors.
        bounds: 1 where `masses` is a bound only; such a bath weighs as if it had been read at half of it.
    """
    top = 0
    bottom = 0
    for i in range(len(shares)):
        read = masses[i] / 2 if bounds[i] > 0 else masses[i]
        top = top + shares[i] * read / errors[i] ** 2
        bottom = bottom + (shares[i] / errors[i]) ** 2
    return [top / bottom, 1 / sqrt(bottom)]


def likelihood(shares, total, masses, errors, bounds):
    """Return the logarithm of the likelihood of the baths for a total of chloride [mg]."""
    logarithm = 0
    for i in range(len(shares)):
        off = (masses[i] - total * shares[i]) / errors[i]
        if bounds[i] > 0:
            logarithm = logarithm + log(max(1e-300, normal_below(off)))
        else:
            logarithm = logarithm - off**2 / 2
    return logarithm


def end_candidates(ends, masses, errors, bounds, slowest, fastest, enough, stand):
    """Return days of the end and their weights, two lists, for every rate and total that could be.

    Arguments:
        ends: days at which the baths end; masses, errors, bounds: as for `best_mass`.
        slowest, fastest: 5th and 95th per cent of the rate before any reading, per day.
        enough: mg that an end bath may draw; stand: days that it stands.

    A grid over the rate and the total, each point weighed by its likelihood and by how likely the rate
    was beforehand (lognormal). The grid closes in on the rates that count, three times.
    """
    middle = (log(slowest) + log(fastest)) / 2
    spread = max((log(fastest) - log(slowest)) / 2 / NINE_TENTHS, LEAST_ERROR)
    now = ends[len(ends) - 1]
    low = -4
    high = 4
    logs = []
    points = []
    highest = -1e300
    for _ in range(CLOSINGS):
        logs = []
        points = []
        highest = -1e300
        step = (high - low) / (RATES - 1)
        places = []
        for k in range(RATES):
            z = low + step * k
            rate = exp(middle + z * spread)
            shares = bath_shares(ends, rate)
            best = best_mass(shares, masses, errors, bounds)
            for m in range(MASSES):
                total = best[0] + best[1] * (m - (MASSES - 1) / 2) * MASS_STEP
                if total > 0:
                    logarithm = likelihood(shares, total, masses, errors, bounds) - z**2 / 2 + log(best[1])
                    highest = max(highest, logarithm)
                    logs.append(logarithm)
                    points.append([rate, total])
                    places.append(z)
        first = high
        last = low
        for i in range(len(logs)):
            if logs[i] > highest - COUNTS:
                first = min(first, places[i])
                last = max(last, places[i])
        low = max(low, first - step)
        high = min(high, last + step)
    days = []
    weights = []
    for i in range(len(logs)):
        if logs[i] > highest - COUNTS:
            days.append(end_of_treatment(points[i][0], enough / points[i][1], now, stand))
            weights.append(exp(logs[i] - highest))
    return [days, weights]


def weighted_quantile(values, weights, share):
    """Return the value below which a share of the weight lies, by halving between the ends."""
    low = values[0]
    high = values[0]
    total = 0
    for i in range(len(values)):
        low = min(low, values[i])
        high = max(high, values[i])
        total = total + weights[i]
    for _ in range(40):
        middle = (low + high) / 2
        below = 0
        for i in range(len(values)):
            if values[i] <= middle:
                below = below + weights[i]
        if below < share * total:
            low = middle
        else:
            high = middle
    return high
