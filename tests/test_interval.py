"""Intervals: against worked examples of metrology, against a general library, and as laws."""

import math
import statistics

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook_calc.engine import spread
from handbook_calc.engine.faults import Refusal
from handbook_calc.engine.interval import Leaf, propagate

WIDE = (0.025, 0.975)
Z = spread.Z95


class Normal(Leaf):
    """A leaf that is normal, as the worked examples have it."""

    def at(self, share):
        return self.value + (self.high - self.value) / Z * spread.normal_quantile(share)


class Even(Leaf):
    """A leaf that is anywhere between its ends with the same chance."""

    def at(self, share):
        return self.low + (self.high - self.low) * share


def normal(name, value, u):
    return Normal(name, value, value - Z * u, value + Z * u)


def even(name, low, high):
    return Even(name, (low + high) / 2, low, high)


def interval(formula, leaves, ends=WIDE):
    def run(values):
        return {"y": formula(**values)}

    middle = run({leaf.name: leaf.value for leaf in leaves})
    return propagate(run, leaves, middle, ends=ends).intervals["y"]


def total(**values):
    return sum(values.values())


# JCGM 101:2008, clause 9.2, tables 2 to 4, as quoted in public test suites of uncertainty programs; the
# last row's printed 17.0 is from memory and agrees with the closed form for the sum of rectangulars.
@pytest.mark.parametrize(
    ("leaves", "half"),
    [
        ([normal(f"x{i}", 0, 1) for i in range(4)], 3.92),
        ([even(f"x{i}", -math.sqrt(3), math.sqrt(3)) for i in range(4)], 3.88),
        ([*(even(f"x{i}", -math.sqrt(3), math.sqrt(3)) for i in range(3)),
          even("x3", -math.sqrt(300), math.sqrt(300))], 17.0),
    ],
    ids=["normal", "rectangular", "one wide"],
)  # fmt: skip
def test_additive_model(leaves, half):
    found = interval(total, leaves)
    assert found.low == pytest.approx(-half, rel=0.04)
    assert found.high == pytest.approx(half, rel=0.04)


def test_mass_calibration():
    """JCGM 101:2008, clause 9.3, which prints u = 0.0754 mg (memory); the linear law gives 0.0539."""

    def deviation(m_r, dm, air, weight, reference):
        return (m_r + dm) * (1 + (air - 1.2) * (1 / weight - 1 / reference)) - 100_000

    leaves = [
        normal("m_r", 100_000, 0.05), normal("dm", 1.234, 0.02), even("air", 1.1, 1.3),
        even("weight", 7000, 9000), even("reference", 7950, 8050),
    ]  # fmt: skip
    found = interval(deviation, leaves)
    assert (found.high - found.low) / 2 == pytest.approx(
        0.1495, rel=0.05
    )  # shortest: 1.0834 to 1.3825 (memory)
    assert found.value == pytest.approx(1.234, abs=1e-9)


def test_comparison_loss():
    """JCGM 101:2008, clause 9.4: x1 = x2 = 0, where the linear law says that nothing is uncertain.

    The squares then follow chi-square with two degrees of freedom, whose 97.5 % point is 7.378 (any
    table of it), times u squared.
    """
    found = interval(
        lambda x1, x2: 1e6 * (x1 * x1 + x2 * x2), [normal("x1", 0, 0.005), normal("x2", 0, 0.005)]
    )
    assert found.high == pytest.approx(25 * 7.378, rel=0.05)
    assert found.low == pytest.approx(25 * 0.0506, rel=0.15)


def test_end_gauge():
    """JCGM 100:2008, H.1: u = 32 nm to first order, 34 nm with second-order terms (H.1.7, memory)."""

    def length(standard, difference, expansion, theta, d_expansion, d_theta):
        return standard + difference - standard * (d_expansion * theta + expansion * d_theta)

    leaves = [
        normal("standard", 50_000_623, 25), normal("difference", 215, 9.7),
        normal("expansion", 11.5e-6, 1.2e-6), normal("theta", -0.1, 0.41),
        normal("d_expansion", 0, 0.58e-6), normal("d_theta", 0, 0.029),
    ]  # fmt: skip
    found = interval(length, leaves, ends=(0.15865, 0.84135))
    assert found.value == pytest.approx(50_000_838, abs=0.5)
    assert (found.high - found.low) / 2 == pytest.approx(33.9, rel=0.05)
    assert found.dominant == ("standard", "d_theta")


def test_skewed_quotient():
    """NIST TN 1900 (2015), example E3, falling ball viscosity: 95 % from 4.05 to 8.39 mPa s."""

    def viscosity(calibration, fall, fall_calibration, ball, liquid, liquid_calibration):
        return calibration * fall * (ball - liquid) / (fall_calibration * (ball - liquid_calibration))

    leaves = [
        normal("calibration", 4.63, 0.0463), normal("fall", 61, 6.1), normal("fall_calibration", 36.6, 5.49),
        normal("ball", 2217, 0.5), normal("liquid", 1180, 0.5), normal("liquid_calibration", 810, 0.5),
    ]  # fmt: skip
    found = interval(viscosity, leaves)
    assert found.low == pytest.approx(4.05, rel=0.04)
    assert found.high == pytest.approx(8.39, rel=0.04)
    assert set(found.dominant) == {"fall", "fall_calibration"}


def test_quantile_of_the_normal_against_the_standard_library():
    for share in [1e-9, 1e-6, 0.001, 0.05, 0.2, 0.5, 0.51, 0.9, 0.95, 0.999, 1 - 1e-7]:
        assert spread.normal_quantile(share) == pytest.approx(
            statistics.NormalDist().inv_cdf(share), rel=2e-7, abs=1e-9
        )


@given(st.floats(1e-6, 1e6), st.floats(1, 50), st.floats(1, 50))
@pytest.mark.long
def test_a_span_passes_through_its_three_numbers(value, down, up):
    leaf = Leaf("x", value, value / down, value * up)
    assert leaf.at(0.05) == pytest.approx(leaf.low, rel=1e-6)
    assert leaf.at(0.5) == pytest.approx(value, rel=1e-6)
    assert leaf.at(0.95) == pytest.approx(leaf.high, rel=1e-6)
    assert 0 < leaf.at(1e-9) <= leaf.at(0.3) <= leaf.at(0.7)


def test_a_temperature_is_not_sampled_by_ratio():
    leaf = Leaf("t", 2.0, -4.0, 8.0, unit="degC")
    assert leaf.at(0.05) == pytest.approx(-4)
    assert leaf.at(0.01) < -4
    assert Leaf("t", 2.0, 1.0, 3.0, unit="degC").at(0.95) == pytest.approx(3)


def test_the_tails_stop_at_what_the_input_may_be():
    assert Leaf("x", 98.0, 95.0, 99.5, unit="%", most=100.0).at(0.9999) == 100.0


@pytest.mark.parametrize("inputs", [1, 2, 3, 4, 5])
def test_product_of_lognormals_against_its_closed_form(inputs):
    """The logarithms add: the 95 % point of a product of n equal spans is the n-th root law."""
    leaves = [Leaf(f"x{i}", 2.0, 1.0, 4.0) for i in range(inputs)]
    found = interval(lambda **v: math.prod(v.values()), leaves, ends=(0.05, 0.95))
    exact = 2.0**inputs * 2.0 ** math.sqrt(inputs)
    assert found.high == pytest.approx(exact, rel=0.08)
    assert found.low == pytest.approx(2.0**inputs / 2.0 ** math.sqrt(inputs), rel=0.08)


def test_one_input_in_one_direction_needs_no_trials():
    asked = []

    def run(values):
        asked.append(values["x"])
        return {"y": values["x"] ** 2}

    found = propagate(run, [Leaf("x", 3.0, 2.0, 5.0)], {"y": 9.0})
    assert (found.intervals["y"].low, found.intervals["y"].high) == (pytest.approx(4), pytest.approx(25))
    assert len(asked) == 4


def test_a_result_that_one_of_several_inputs_moves_needs_no_trials():
    asked = []

    def run(values):
        asked.append(values)
        return {"area": values["x"] ** 2, "rest": 10 - values["y"], "whole": 7.0}

    leaves = [Leaf("x", 3.0, 2.0, 5.0), Leaf("y", 4.0, 1.0, 8.0)]
    found = propagate(run, leaves, {"area": 9.0, "rest": 6.0, "whole": 7.0}).intervals
    assert (found["area"].low, found["area"].high) == (pytest.approx(4), pytest.approx(25))
    assert (found["rest"].low, found["rest"].high) == (pytest.approx(2), pytest.approx(9))
    assert (found["whole"].low, found["whole"].high) == (7, 7)
    assert len(asked) < 20


@pytest.mark.long
def test_an_input_that_matters_only_at_the_end_of_another_is_tried_with_it():
    """The larger of two: at the best value of x the other changes nothing, where x is low it does."""
    leaves = [Leaf("x", 3.0, 1.0, 5.0), Leaf("y", 1.5, 1.0, 2.0)]
    found = propagate(lambda v: {"m": max(v["x"], v["y"])}, leaves, {"m": 3.0}).intervals["m"]
    sampled = np.maximum(*(_many(leaf) for leaf in leaves))
    assert found.low == pytest.approx(np.quantile(sampled, 0.05), rel=0.02)
    assert found.high == pytest.approx(5, rel=0.02)


def _many(leaf):
    """Return random values of a leaf, by a general-purpose library's generator."""
    shares = np.random.default_rng(1).permutation(np.linspace(0.5e-5, 1 - 0.5e-5, 100_000))
    shares = np.roll(shares, len(leaf.name) * 7 + ord(leaf.name[0]) * 101)
    return np.array([leaf.at(share) for share in shares])


def test_a_maximum_inside_the_span_is_seen():
    found = interval(lambda x: -((x - 3) ** 2), [Leaf("x", 3.0, 2.0, 4.0)], ends=(0.05, 0.95))
    assert found.high == pytest.approx(0, abs=0.01)
    assert found.low < -0.8


def test_a_refused_share_is_told():
    def run(values):
        if values["x"] > 4:
            raise Refusal("too much", "much", "test")
        return {"y": values["x"]}

    found = propagate(run, [Leaf("x", 3.0, 2.0, 5.0)], {"y": 3.0})
    assert 0.1 < found.refused < 0.35
    assert found.intervals["y"].high <= 4


def test_a_verdict_that_flips_says_where():
    def run(values):
        return {"go": "go" if values["depth"] <= 5 else "wait"}

    leaf = Leaf("depth", 4.0, 2.0, 8.0, "depth of the crack", "mm")
    (flip,) = propagate(run, [leaf], {"go": "go"}, verdicts=("go",)).flips["go"]
    assert (flip.word, flip.above) == ("wait", True)
    assert flip.edge == pytest.approx(5)


def test_a_verdict_that_stays_has_no_flip():
    found = propagate(lambda v: {"go": "go"}, [Leaf("d", 4.0, 2.0, 8.0)], {"go": "go"}, verdicts=("go",))
    assert found.flips == {}


# The place of rounding is that of JCGM 100:2008, 7.2.6: at most two digits of the uncertainty.
@pytest.mark.parametrize(
    ("value", "low", "high", "digits", "texts"),
    [
        (30.7, 15.1, 61.4, 3, ["31", "15", "61"]),
        (6.53, 1.34, 94.2, 3, ["6.5", "1.3", "94"]),
        (105.32, 104.9, 105.8, 3, ["105", "105", "106"]),
        (10.057, 9.99, 10.13, 5, ["10.057", "9.990", "10.130"]),
        (1e-11, 2e-12, 1e-10, 3, ["1.00×10⁻¹¹", "2.0×10⁻¹²", "1.00×10⁻¹⁰"]),
        (0.2, 0.1, 0.4, 3, ["0.20", "0.10", "0.40"]),
        (0.0, -0.4, 0.2, 3, ["0", "-0.40", "0.20"]),
        (12.0, 12.0, 12.0, 3, ["12.0", "12.0", "12.0"]),
        (2310.0, 1400.0, 3900.0, 3, ["2310", "1400", "3900"]),
        (5.0, 5.0, 7.2, 3, ["5.0", "5.0", "7.2"]),
    ],
)
def test_printed_digits(value, low, high, digits, texts):
    assert spread.interval_texts(value, low, high, digits, 0) == texts


@given(st.floats(1e-4, 1e5), st.floats(1.0001, 30), st.floats(1.0001, 30))
def test_printed_texts_keep_their_order_and_lie_near(value, down, up):
    low, high = value / down, value * up
    texts = spread.interval_texts(value, low, high, 3, 0)
    if "×" not in "".join(texts):
        numbers = [float(text) for text in texts]
        assert sorted([numbers[1], numbers[0], numbers[2]]) == [numbers[1], numbers[0], numbers[2]]
        assert abs(numbers[0] - value) <= 0.06 * max(value - low, high - value) + 0.006 * value


def test_the_same_question_has_the_same_answer():
    leaves = [Leaf("a", 2.0, 1.0, 4.0), Leaf("b", 3.0, 1.0, 5.0)]
    assert interval(total, leaves) == interval(total, leaves)
