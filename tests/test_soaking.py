"""One bath after another: an independent numerical solution, Crank's roots, limits and balance."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import examples

from handbook_calc import soaking as stage
from handbook_calc.diffusion import slab_released
from handbook_calc.engine import examples as starts
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE

FEW = examples(25)
FOURIER = st.floats(1e-3, 2)
RATIO = st.floats(0.5, 500)


@given(st.floats(0, 1e9))
def test_the_angle_of_a_tangent_is_that_of_the_library(x):
    assert stage.arctangent(x) == pytest.approx(math.atan(x), abs=3e-16, rel=3e-15)


@pytest.mark.parametrize(
    ("ratio", "printed"),
    [(9, 1.6385), (4, 1.7155), (7 / 3, 1.8040), (1.5, 1.9071), (1, 2.0288), (2 / 3, 2.1746),
     (3 / 7, 2.3521), (0.25, 2.5704), (1 / 9, 2.8363)],
)  # fmt: skip
def test_first_roots_are_those_that_crank_prints(ratio, printed):
    """Crank 1975, Table 4.1, from memory."""
    assert stage.bath_root(1, ratio) == pytest.approx(printed, abs=1e-4)


@given(RATIO, st.integers(1, 40))
def test_every_root_fulfils_its_equation_in_its_own_half_turn(ratio, n):
    root = stage.bath_root(n, ratio)
    assert (n - 0.5) * math.pi < root < n * math.pi
    assert math.sin(root) + ratio * root * math.cos(root) == pytest.approx(0, abs=1e-11 * (1 + ratio * root))


def by_finite_volumes(fouriers, ratios, starts, film, cells=240):
    """Cells that get finer towards the mouth, and the bath as one more; exact in time by eigenvectors."""
    edges = 1 - (1 - np.linspace(0, 1, cells + 1)) ** 2.5
    width = np.diff(edges)
    middle = (edges[1:] + edges[:-1]) / 2
    inside, outside, answers = np.ones(cells), 1.0, []
    for fourier, ratio, start in zip(fouriers, ratios, starts, strict=True):
        volumes = np.append(width, ratio + film)
        flow = np.append(1 / np.diff(middle), 1 / (1 - middle[-1]))
        rates = np.zeros((cells + 1, cells + 1))
        for i, conductance in enumerate(flow):
            rates[i, i] -= conductance
            rates[i, i + 1] += conductance
            rates[i + 1, i + 1] -= conductance
            rates[i + 1, i] += conductance
        root = np.sqrt(volumes)
        values, vectors = np.linalg.eigh(rates / np.outer(root, root))
        state = np.append(inside, (ratio * start + film * outside) / (ratio + film)) * root
        state = vectors @ (np.exp(values * fourier) * (vectors.T @ state)) / root
        inside, outside = state[:-1], state[-1]
        answers.append((float(inside @ width), float(outside)))
    return answers


@pytest.mark.parametrize(
    ("fouriers", "ratios", "starts", "film"),
    [
        ([0.1, 0.1, 0.1], [5, 5, 5], [0, 0, 0], 0),
        ([0.01, 0.3, 0.05], [20, 2, 50], [0, 0.1, 0], 1),
        ([0.4, 0.02], [1, 1000], [0.5, 0.2], 10),
        ([0.02] * 4, [100] * 4, [0] * 4, 11),
    ],
)
def test_baths_of_any_size_and_order_against_finite_volumes(fouriers, ratios, starts, film):
    ours = stage.soak_baths(fouriers, ratios, starts, film)
    theirs = by_finite_volumes(fouriers, ratios, starts, film)
    for one, other in zip(ours, theirs, strict=True):
        assert one == pytest.approx(list(other), rel=3e-4, abs=2e-5)


@given(st.lists(st.tuples(FOURIER, RATIO, st.floats(0, 1)), min_size=1, max_size=4), st.floats(0, 20))
@FEW
def test_nothing_is_lost_and_nothing_made(baths, film):
    fouriers, ratios, starts = map(list, zip(*baths, strict=True))
    content, outside = 1.0, 1.0
    for i, (left, strength) in enumerate(stage.soak_baths(fouriers, ratios, starts, film)):
        before = content + film * outside + ratios[i] * starts[i]
        assert left + (ratios[i] + film) * strength == pytest.approx(before, rel=1e-9)
        assert -1e-9 <= left <= 1 + 1e-9
        content, outside = left, strength


@given(st.lists(FOURIER, min_size=1, max_size=4))
@FEW
def test_in_very_large_baths_the_times_add_up(fouriers):
    finite = stage.soak_baths(fouriers, [1e7] * len(fouriers), [0] * len(fouriers), 0)
    large = stage.soak_large_baths(fouriers, 0)
    for one, other in zip(finite, large, strict=True):
        assert one[0] == pytest.approx(other, abs=3e-5)
    assert large[-1] == pytest.approx(1 - slab_released(sum(fouriers)))


def test_starting_each_bath_from_a_flat_profile_would_be_wrong():
    """Three baths of 5 volumes, Fourier number 0.1 each: 40 % is left; flat starts would say 29 %."""
    carried = stage.soak_baths([0.1] * 3, [5] * 3, [0] * 3, 0)
    assert carried[-1][0] == pytest.approx(0.39998, abs=1e-4)
    assert carried[0][0] ** 3 < 0.3


TIMES = [[12.0], [12.0], [12.0]]


def soak(depth=4.0, times=TIMES, through=None, filled=None, **volumes):
    args = {"crack_volume": None, "bath": None, "film": None, "start": None} | volumes
    return stage.soak_sequence(
        depth=depth, times=times, temperature=20.0, diffusivity=300.0, activation_energy=22.16,
        through=through, filled=filled, **args,
    )  # fmt: skip


def test_three_twelve_hour_soaks_empty_a_four_millimetre_crack():
    assert 100 - soak()["left"] == pytest.approx(99.5, abs=0.1)
    assert [row[0] for row in soak()["baths"]] == [1, 2, 3]


@given(st.floats(0.1, 20))
@FEW
def test_open_at_both_ends_counts_half_and_rust_three_times(depth):
    assert soak(depth, through=True)["left"] == pytest.approx(soak(depth / 2)["left"], rel=1e-9, abs=1e-9)
    thrice = [[36.0]] * 3
    assert soak(depth, times=thrice, filled=True)["left"] == pytest.approx(
        soak(depth)["left"], rel=1e-6, abs=1e-9
    )


@given(st.floats(0.5, 10), st.floats(1, 100))
@FEW
def test_smaller_baths_and_more_film_leave_more(depth, ratio):
    one = soak(depth, crack_volume=0.2, bath=0.4 * ratio, film=0.0)["left"]
    assert soak(depth, crack_volume=0.2, bath=0.2 * ratio, film=0.0)["left"] >= one - 1e-9
    assert soak(depth, crack_volume=0.2, bath=0.4 * ratio, film=0.2)["left"] >= one - 1e-9


def test_water_in_the_fresh_solvent_is_the_floor():
    left = soak(0.1, crack_volume=0.2, bath=200.0, film=0.0, start=3.0)["left"]
    assert left == pytest.approx(3.0, abs=0.01)


# Depths that are none of a time in a crack; a forecast asks for half the length in words, the exchange is of a
# blind one, and what a crack holds is the same, open at one end or two.
NO_CRACK = {
    "bath-volume", "stock-loss", "sanded-slice", "sanding-time", "stop-forecast", "crack-exchange", "crack-volume",
}  # fmt: skip
WITH_A_DEPTH = [c for c in CATALOGUE.values() if "depth" in c.names and "through" in c.names]


@pytest.mark.parametrize("calculation", WITH_A_DEPTH, ids=lambda c: c.name)
def test_a_crack_open_at_both_ends_counts_half_wherever_a_depth_is_asked(house, calculation):
    """By symmetry nothing crosses its middle: two blind cracks of half the length."""
    start = dict(starts.starting_values(calculation, Bench(house), {}))

    def results(depth, through):
        return Bench(house).answer(calculation.name, **start | {"depth": depth, "through": through}).results

    assert results(4.0, True) == results(2.0, False) == results(2.0, None) != results(4.0, False)


def test_every_time_in_a_crack_may_be_asked_for_one_open_at_both_ends():
    others = {c.name for c in CATALOGUE.values() if "depth" in c.names} - {c.name for c in WITH_A_DEPTH}
    assert others <= NO_CRACK
