"""Spans: how a guessed value is sampled, and how an interval is printed, in the formulas' own subset.

A span is a best value with the 5th and the 95th per cent of what it may really be. The page samples
and prints with these very functions, so that an interval in a table and the same interval under a
reader's thumb have the same digits.
"""

from math import exp, floor, log, sqrt

from handbook_calc.engine.numerals import DIGITS, digits_of, edged, power_of_ten, significant

# Rational approximation of the normal quantile by Wichura (1988), algorithm AS 241, PPND7.
CENTRE = [3.3871327179, 50.434271938, 159.29113202, 59.109374720]
CENTRE_BELOW = [1.0, 17.895169469, 78.757757664, 67.187563600]
TAIL = [1.4234372777, 2.7568153900, 1.3067284816, 0.17023821103]
TAIL_BELOW = [1.0, 0.73700164250, 0.12021132975]
FAR = [6.6579051150, 3.0812263860, 0.42868294337, 0.017337203997]
FAR_BELOW = [1.0, 0.24197894225, 0.012258202635]
Z95 = 1.6448536269514722
MOST_DIGITS = 2
DIGITS_OF_A_FLOAT = 8

# Trials lie on a lattice of rank one: each input meets each of its points once, and the powers of the
# generator keep any two, three ... six of them apart. Of 60 generators for this prime it is the one whose
# 5th and 95th per cent of sums of normals lie nearest to the exact ones, within 5 % of their distance.
TRIALS = 509
GENERATOR = 284


def polynomial(coefficients, x):
    """Return the polynomial whose coefficients stand in rising order."""
    total = 0.0
    for i in range(len(coefficients)):
        total = total * x + coefficients[len(coefficients) - 1 - i]
    return total


def normal_quantile(share):
    """Return z with `share` of a standard normal distribution below it, for 0 < share < 1."""
    from_middle = share - 0.5
    if abs(from_middle) <= 0.425:
        r = 0.180625 - from_middle * from_middle
        return from_middle * polynomial(CENTRE, r) / polynomial(CENTRE_BELOW, r)
    rest = share if from_middle < 0 else 1 - share
    r = sqrt(-log(rest))
    if r <= 5:
        size = polynomial(TAIL, r - 1.6) / polynomial(TAIL_BELOW, r - 1.6)
    else:
        size = polynomial(FAR, r - 5) / polynomial(FAR_BELOW, r - 5)
    return -size if from_middle < 0 else size


def trials():
    """Return how many trials there are; each input is tried at as many points."""
    return TRIALS


def share_of(number):
    """Return the share below the point `number` (from 0) of all points of one input."""
    return (number + 0.5) / TRIALS


def generator(place):
    """Return how far the input at `place` (from 0) steps along its points from trial to trial."""
    step = 1
    for _ in range(place):
        step = step * GENERATOR
        step = step - TRIALS * floor(step / TRIALS)
    return step


def sampled(value, low, high, share, difference):
    """Return what a spanned value is where `share` of its possible values lie below.

    The value is the median; below and above it the distribution is half a normal one, of the
    logarithm where the number is positive and its unit counts from nothing, of the number itself for
    temperatures and for spans that reach zero (`difference`). It passes through low, value and high.
    """
    return placed(value, low, high, deviate(share), difference)


def deviate(share):
    """Return the normal quantile of a share, in distances to the 95th per cent."""
    return normal_quantile(share) / Z95


def placed(value, low, high, z, difference):
    """Return the same at a normal quantile z, which is 1 at `high` and -1 at `low`."""
    end = low if z < 0 else high
    if difference or low <= 0:
        return value + (end - value) * abs(z)
    return value * exp(log(end / value) * abs(z))


def quantile(ordered, share):
    """Return the value with `share` of a list in rising order below it, between two of its members."""
    place = share * (len(ordered) + 1) - 1
    if place <= 0:
        return ordered[0]
    if place >= len(ordered) - 1:
        return ordered[len(ordered) - 1]
    below = floor(place)
    return ordered[below] + (ordered[below + 1] - ordered[below]) * (place - below)


def last_place(distance):
    """Return the power of ten of the last digit that a distance to an end of the interval bears."""
    return power_of_ten(distance) - (MOST_DIGITS - 1)


def to_place(number, place):
    """Print a number rounded at a power of ten, without powers of ten in the text."""
    size = abs(number)
    whole = (
        floor(size / 10.0**place + 0.5 + 1e-9) if place >= 0 else floor(size * 10.0 ** (-place) + 0.5 + 1e-9)
    )
    if place >= 0:
        text = digits_of(whole * 10**place, 1, DIGITS)
    else:
        head = floor(whole / 10 ** (-place))
        text = digits_of(head, 1, DIGITS) + "." + digits_of(whole - head * 10 ** (-place), -place, DIGITS)
    return "-" + text if number < 0 and whole > 0 else text


def spelled(number, place, side):
    """Print a number to a power of ten, with a power of ten in the text where zeros would be counted."""
    number = edged(number, place, side)
    size = abs(number)
    if size < 10.0 ** (place - 9) or size < 1e-300:
        return "0"
    power = power_of_ten(size)
    if power >= -5 and power < 7:
        return to_place(number, place)
    return significant(number, max(1, power - place + 1))


def interval_texts(value, low, high, digits, side):
    """Return value, low and high as texts, to the digits that their distances bear, at most `digits`.

    Each end is printed to two digits of its distance to the value, and the value to the finer of the
    two (JCGM 100:2008, 7.2.6), where the distances differ much to one digit more than the far end bears.
    What is small beside that keeps one digit of its own. Three equal texts mean that nothing of the interval
    can be seen. With a `side` all three are rounded to it: see `numerals.edged`.
    """
    down = value - low
    up = high - value
    if down <= 0 and up <= 0:
        text = significant(value, digits)
        return [text, text, text]
    largest = max(abs(value), abs(low), abs(high))
    place_down = last_place(down) if down > 0 else last_place(up)
    place_up = last_place(up) if up > 0 else place_down
    if place_down < place_up - 1:  # an end far off says that the near one is hardly known either
        place_down = place_up - 1
    if place_up < place_down - 1:
        place_up = place_down - 1
    return [
        spelled(value, place_of(value, min(place_down, place_up), digits, largest), side),
        spelled(low, place_of(low, place_down, digits, max(abs(value) * 1e8, largest)), side),
        spelled(high, place_of(high, place_up, digits, largest), side),
    ]


def place_of(number, place, digits, largest):
    """Return the power of ten of the last digit to print, near the one that the distance bears."""
    size = abs(number)
    if size < largest * 1e-12 or size < 1e-300:
        return max(place, power_of_ten(max(largest, 1e-300)) - (digits - 1))
    power = power_of_ten(size)
    return max(min(place, power), power - (digits - 1))


def safe_edge(edge, value, above):
    """Print where a verdict changes, rounded towards the best value, to as few digits as part the two.

    Arguments:
        edge: where it changes.
        value: the best value, for which it holds.
        above: it changes above the edge.
    """
    size = abs(edge)
    if size < 1e-300:
        return "0"
    power = power_of_ten(size)
    sign = -1.0 if edge < 0 else 1.0
    down = above if edge > 0 else not above
    for digits in range(MOST_DIGITS, DIGITS_OF_A_FLOAT):
        place = 10.0 ** (power - digits + 1)
        count = floor(size / place + 1e-9) if down else -floor(-(size / place) + 1e-9)
        rounded = sign * count * place
        if (above and rounded > value) or (not above and rounded < value):
            return significant(rounded, digits)
    return significant(edge, DIGITS_OF_A_FLOAT)


def whole_texts(value, low, high):
    """Return value, low and high of a count as texts."""
    return [counted(value), counted(low), counted(high)]


def counted(number):
    """Print a number as a whole one."""
    whole = floor(abs(number) + 0.5)
    return ("-" if number < 0 and whole > 0 else "") + digits_of(whole, 1, DIGITS)
