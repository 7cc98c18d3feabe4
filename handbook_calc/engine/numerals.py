"""How numbers are printed and changed from unit to unit, in the subset that formulas use.

The pages' calculators print with these very functions, so a figure on a page and the same figure in
a table never differ in their last digit.
"""

from math import ceil, floor, log

DIGITS = ["0", "1", "2", "3", "4", "5", "6", "7", "8", "9"]
RAISED = ["⁰", "¹", "²", "³", "⁴", "⁵", "⁶", "⁷", "⁸", "⁹"]
LN10 = 2.302585092994046


def rescale(number, factor, offset, to_factor, to_offset):
    """Change a number to another unit of the same dimension, by way of the base unit."""
    if offset == 0 and to_offset == 0:
        return number * (factor / to_factor)
    return (number * factor + offset - to_offset) / to_factor


def power_of_ten(number):
    """Return the whole n with 10**n <= number < 10**(n + 1), for a positive number."""
    power = floor(log(number) / LN10)
    if 10.0 ** (power + 1) <= number:
        power = power + 1
    if 10.0**power > number:
        power = power - 1
    return power


def digits_of(whole, least, digits):
    """Return a whole number's digits as text, with zeros in front up to `least` digits."""
    text = ""
    count = 0
    while whole > 0 or count < least:
        tens = floor(whole / 10)
        text = digits[whole - 10 * tens] + text
        whole = tens
        count = count + 1
    return text


def plain(number, digits, power):
    """Print a positive number of the given power of ten without exponent."""
    places = digits - 1 - power
    whole = floor(number * 10.0**places + 0.5 + 1e-9)
    if whole >= 10**digits:
        places = places - 1
        whole = floor(number * 10.0**places + 0.5 + 1e-9)
    if places <= 0:
        return digits_of(whole * 10 ** (-places), 1, DIGITS)
    head = floor(whole / 10**places)
    return digits_of(head, 1, DIGITS) + "." + digits_of(whole - head * 10**places, places, DIGITS)


def significant(number, digits):
    """Print a number to a count of significant digits: ``0.0919``, ``12300``, ``1.94×10⁻⁶``.

    Halves are rounded away from zero. Powers of ten are used only where the zeros would have to be
    counted: below 0.00001, and from ten million.
    """
    size = abs(number)
    if size < 1e-300:
        return "0"
    sign = "-" if number < 0 else ""
    power = power_of_ten(size)
    if power >= -5 and power < 7:
        return sign + plain(size, digits, power)
    mantissa = plain(size / 10.0**power, digits, 0)
    if floor(size / 10.0**power * 10.0 ** (digits - 1) + 0.5 + 1e-9) >= 10**digits:
        power = power + 1
        mantissa = plain(size / 10.0**power, digits, 0)
    raised = digits_of(abs(power), 1, RAISED)
    if power < 0:
        raised = "⁻" + raised
    return sign + mantissa + "×10" + raised


def edged(number, place, side):
    """Move a number to the next one that ends at a power of ten, on its safe side; one that ends there stays.

    Arguments:
        number: to be printed to that place.
        place: the power of ten of its last digit.
        side: 1 up, -1 down, 0 not at all.
    """
    if side == 0:
        return number
    if place < 0:  # a whole power of ten is exact in every browser, and its inverse is not
        return side * ceil(side * number * 10.0**-place - 1e-9) / 10.0**-place
    return side * ceil(side * number / 10.0**place - 1e-9) * 10.0**place


def sided(number, digits, side):
    """Move a number to its safe side so far that a count of digits prints it whole; see `edged`."""
    return edged(number, power_of_ten(max(abs(number), 1e-300)) - digits + 1, side)


def worked(number, most):
    """Print a number of a working: to a count of digits, without zeros that only say how it was rounded.

    A number that ends within seven digits is a reading or a constant, and is printed whole; a share just
    below one has enough digits not to look like all of it.
    """
    size = abs(number)
    if size < 1e-300:
        return "0"
    digits = most
    seven = size / 10.0 ** power_of_ten(size) * 1e6
    if digits < 7 and abs(seven - floor(seven + 0.5)) < 1e-6:
        digits = 7
    if size > 0.99 and size < 1 - 1e-11:
        digits = max(digits, 1 - power_of_ten(1 - size))
    whole = floor(size / 10.0 ** power_of_ten(size) * 10.0 ** (digits - 1) + 0.5 + 1e-9)
    while digits > 1 and whole - 10 * floor(whole / 10) == 0:
        whole = floor(whole / 10)
        digits = digits - 1
    return significant(number, digits)


def decades(number):
    """Return how many powers of ten a positive number holds."""
    return log(number) / LN10


def round_step(span, most):
    """Return the smallest 1, 2 or 5 times a power of ten of which a span holds no more than `most`."""
    step = 10.0 ** floor(decades(span / most) + 1e-9)
    if span / step > most + 1e-9:
        step = 2 * step
    if span / step > most + 1e-9:
        step = 2.5 * step
    if span / step > most + 1e-9:
        step = 2 * step
    return step
