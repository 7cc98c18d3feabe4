"""Reading, converting and printing quantities."""

import re

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import examples, for_each

from handbook_calc.engine import quantities
from handbook_calc.engine.quantities import known_units, label, read, show, significant

REGISTRY = pint.UnitRegistry()
# Units whose name in pint is another.
PINT_NAMES = {
    "%": "percent", "1": "dimensionless", "oz_avdp": "avoirdupois_ounce", "ozt": "troy_ounce", "floz":
    "US_fluid_ounce", "mil": "thou", "ct": "carat", "yd": "yard", "yd^2": "yard^2", "pint": "US_pint",
    "imp_gal": "imperial_gallon", "imp_pint": "imperial_pint", "imp_floz": "imperial_fluid_ounce",
    "oz_avdp/gal": "avoirdupois_ounce/gal", "oz_avdp/floz": "avoirdupois_ounce/US_fluid_ounce",
    "floz/ft^2": "US_fluid_ounce/ft^2", "mil/min": "thou/min", "mil/h": "thou/h", "mil/year":
    "thou/year", "Ah": "A*h", "mAh": "mA*h", "Wh": "W*h", "kWh": "kW*h",
}  # fmt: skip


@pytest.mark.parametrize(
    "text", ["1 m^9^9^9^9", "1 9**9**9**9 m", "1 (m)**(9**9**9)", "1 m*x9**9**9", "1 " + "m*" * 5000 + "m"]
)
def test_a_unit_that_is_a_sum_to_do_is_refused_at_once(text):
    with pytest.raises(ValueError, match=r"has the unknown unit|is not one number|is not a number"):
        read(text, "mm")


@pytest.mark.parametrize(
    ("text", "unit", "number"),
    [
        ("2 W/(m^2*K)", "W/m^2/K", 2.0),
        ("500 mL m^-2", "mL/m^2", 500.0),
        ("2 1/h", "1/d", 48.0),
    ],
)
def test_a_unit_made_of_others_is_found_by_its_parts(text, unit, number):
    assert read(text, unit) == pytest.approx(number)


@for_each("unit", known_units())
def test_the_kept_factors_are_those_of_pint(unit):
    dimension, factor, offset = known_units()[unit]
    theirs = REGISTRY.Unit(PINT_NAMES.get(unit, re.sub(r"/d\b", "/day", unit)))
    zero = REGISTRY.Quantity(0.0, theirs).to_base_units()
    one = REGISTRY.Quantity(1.0, theirs).to_base_units()
    assert offset == pytest.approx(0 if unit.startswith("delta") else zero.magnitude, rel=1e-12)
    assert factor == pytest.approx(
        one.magnitude - (0 if unit.startswith("delta") else zero.magnitude), rel=1e-12
    )
    if dimension not in ("angle", "difference of temperature", "rate of temperature"):
        assert dimension == str(theirs.dimensionality)


@pytest.mark.parametrize(
    ("text", "unit", "number"),
    [
        # NIST SP 811 (2008), appendix B: the exact definitions of the inch, pound, ounces and gallon.
        ("1 in", "mm", 25.4),
        ("1 lb", "g", 453.59237),
        ("1 oz_avdp", "g", 28.349523125),
        ("1 ozt", "g", 31.1034768),
        ("2 floz", "mL", 59.14705912500),
        ("221 degF", "degC", 105.0),
        ("105 °C", "degC", 105.0),
        ("378.15 K", "degC", 105.0),
        ("9 delta_degF", "delta_degC", 5.0),
        ("3 degC", "delta_degC", 3.0),
        ("12 V", "V", 12.0),
        ("120 cm²", "cm^2", 120.0),
        ("25 µm", "um", 25.0),
        ("0.3 %", "%", 0.3),
        ("0.003", "1", 0.003),
        ("1 fortnight", "d", 14.0),
        ("1e-3 m", "mm", 1.0),
    ],
)
def test_reads_what_people_write(text, unit, number):
    assert read(text, unit) == pytest.approx(number, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "says"),
    [
        ("2 oz", "g", "'oz' can be three units"),
        ("2 oz", "mL", "'oz' can be three units"),
        ("120", "cm^2", "has no unit; write for example '120 cm^2'"),
        ("5 kg", "mm", "is in 'kg', which does not convert to 'mm'"),
        ("5 blah", "mm", "unknown unit 'blah'"),
        ("1,500 mm", "mm", "is not one number"),
        ("1 000 mm", "mm", "is not one number"),
        ("2-3 h", "h", "is not one number"),
        ("1/2/3 in", "mm", "is not one number"),
        ("twelve V", "V", "is not a number with a unit"),
        ("nan mm", "mm", "is not a number with a unit"),
        ("inf mm", "mm", "is not a number with a unit"),
        ("1e999 mm", "mm", "is not a finite number"),
        ("", "mm", "is not a number with a unit"),
    ],
)
def test_refuses_what_it_cannot_be_sure_of(text, unit, says):
    with pytest.raises(ValueError, match=re.escape(says)):
        read(text, unit)


@pytest.mark.parametrize(
    ("number", "digits", "text"),
    [
        (12345, 3, "12300"),
        (9.996, 3, "10.0"),
        (0.0999999, 2, "0.10"),
        (0.125, 2, "0.13"),
        (-2.5, 1, "-3"),
        (105.0, 3, "105"),
        (0.00000194, 3, "1.94×10⁻⁶"),
        (0.0000999996, 3, "0.000100"),
        (9.9996e-8, 3, "1.00×10⁻⁷"),
        (-2.5e9, 2, "-2.5×10⁹"),
        (1e-320, 3, "0"),
        (0, 3, "0"),
        (999.5, 3, "1000"),
    ],
)
def test_significant_digits(number, digits, text):
    assert significant(number, digits) == text


@given(st.floats(1e-290, 1e300), st.integers(1, 6))
@examples(200)
def test_a_printed_number_is_the_number_to_its_digits(number, digits):
    text = (
        significant(number, digits).replace("×10", "e").translate(str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789"))
    )
    assert float(text) == pytest.approx(number, rel=0.51 * 10 ** (1 - digits))


@given(st.floats(-1e6, 1e6), st.sampled_from(["mm", "in", "ft", "um"]))
@examples(100)
def test_there_and_back(number, unit):
    assert quantities.convert(quantities.convert(number, unit, "cm"), "cm", unit) == pytest.approx(
        number, rel=1e-12, abs=1e-12
    )


def test_labels_and_given_numbers():
    assert label("mL/m^2") == "mL/m²"
    assert label("delta_degC") == "°C"
    assert label("um") == "µm"
    assert show(0.1, "mm", 0) == "0.1\u00a0mm"
    assert show(105.0, "degC", 0) == "105\u00a0°C"
    assert show(2, "1", 0) == "2"


@pytest.mark.parametrize(
    ("number", "unit", "text"),
    [
        (336.0, "h", "14.0\u00a0d"),
        (24.0, "h", "24.0\u00a0h"),
        (0.17, "h", "10.2\u00a0min"),
        (0.4, "d", "9.60\u00a0h"),
        (0.0049, "A", "4.90\u00a0mA"),
        (0.05, "L", "50.0\u00a0mL"),
        (0.0, "h", "0\u00a0h"),
        (3.0, "mm", "3.00\u00a0mm"),
    ],
)
def test_a_sentence_takes_the_handier_unit(number, unit, text):
    assert show(*quantities.handy(number, unit)) == text
