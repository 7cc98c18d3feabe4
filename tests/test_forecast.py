"""The band of a forecast covers the truth: simulated readings with every kind of error."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm
from support import examples

from handbook_calc import forecast as stage
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.faults import Refusal

RUNS = 300
FORECAST = CATALOGUE["chloride-forecast"]
ASKED = {"calibration_error": 10.0, "reading_error": 10.0}


def ask(rows, limit, **more):
    return FORECAST(readings=rows, limit=limit, **({"weighting": "equal"} | ASKED | more))


def readings(kind, dice):
    """One treatment that follows the law, and how it was read: rows, limit, true day of the limit."""
    count = int(dice.integers(5, 10))
    days = np.cumsum(dice.uniform(1, 7, count))
    slope, intercept = dice.uniform(15, 50), dice.uniform(0, 10)
    true = intercept + slope * np.sqrt(days)
    limit = true[-1] * dice.uniform(1.2, 1.8)
    below = np.zeros(count, bool)
    if kind == "independent":
        read = true + dice.normal(0, 4, count)
    elif kind == "relative":
        read = true * (1 + dice.normal(0, 0.05, count))
    elif kind == "summed":
        rises = np.diff(np.concatenate([[0], true]))
        read = np.cumsum(rises * (1 + dice.normal(0, 0.12, count)))
    elif kind == "shared":
        read = true * (1 + dice.normal(0, 0.1)) + dice.normal(0, 2, count)
    else:
        read = true + dice.normal(0, 5, count)
        sees = true[1] + 2
        below = (read < sees) & (np.arange(count) < count - 3)
        read = np.where(below, -sees, read)
    rows = [[float(t), float(c)] for t, c in zip(days, read, strict=True)]
    return rows, float(limit), ((limit - intercept) / slope) ** 2 - days[-1]


@pytest.mark.parametrize(
    ("kind", "more"),
    [
        ("independent", {}),
        ("independent", {"series": "one bath", "calibration_error": 0.0}),
        ("relative", {"weighting": "relative"}),
        ("summed", {}),
        ("summed", {"series": "running sum"}),
        ("summed", {"series": "running sum", "calibration_error": 0.0}),
        ("shared", {}),
        ("shared", {"series": "one bath"}),
        ("below", {}),
        ("below", {"series": "one bath", "calibration_error": 0.0}),
    ],
    ids=lambda value: (
        value if isinstance(value, str) else "-".join(map(str, value.values())) or "as-it-comes"
    ),
)
def test_the_band_covers_the_truth_nine_times_in_ten(kind, more):
    dice = np.random.default_rng(20)
    covered = told = 0
    for _ in range(RUNS):
        rows, limit, true = readings(kind, dice)
        try:
            answer = ask(rows, limit, **more)
        except Exception as refusal:
            if getattr(refusal, "code", "") in ("unseen", "falling", "flat"):
                continue
            raise
        if answer["band_low"] is None or answer["verdict"] == "change the bath":
            continue
        told += 1
        covered += answer["band_low"] <= true <= answer["band_high"]
    assert told > RUNS / 3, told
    # Three standard errors of a count below nine tenths would be a failure that chance does not explain.
    assert covered / told >= 0.9, (covered, told)


def test_without_the_shared_error_a_shared_error_is_not_covered():
    """What the change was for: the scatter of the readings cannot show what they have in common."""
    dice = np.random.default_rng(20)
    covered = told = 0
    for _ in range(RUNS):
        rows, limit, true = readings("shared", dice)
        answer = ask(rows, limit, series="one bath", calibration_error=0.0)
        if answer["band_low"] is not None:
            told += 1
            covered += answer["band_low"] <= true <= answer["band_high"]
    assert covered / told < 0.6


@given(st.floats(-35, 12))
def test_the_hazard_of_a_bound_is_that_of_a_statistics_library(z):
    theirs = math.exp(norm.logpdf(z) - norm.logcdf(z))
    assert stage.normal_hazard(z) == pytest.approx(theirs, rel=1e-9)


def test_a_censored_fit_is_the_maximum_of_tobits_likelihood():
    """Against a search of scipy, with the spread held at that of the seen readings."""
    from scipy.optimize import minimize

    xs, ys = [2.0, 3.0, 4.0, 5.0, 6.0], [41.0, 66.0, 79.0, 103.0, 118.0]
    bound_x, bound_y = [1.0, 1.5], [25.0, 25.0]
    line = stage.bounded_line(xs, ys, [1] * 5, bound_x, bound_y, [1, 1])

    def against(p):
        seen = norm.logpdf(ys, p[0] + p[1] * np.array(xs), line[2]).sum()
        return -seen - norm.logcdf(bound_y, p[0] + p[1] * np.array(bound_x), line[2]).sum()

    best = minimize(against, [0, 20], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12}).x
    assert line[:2] == pytest.approx(best, abs=1e-4)


def test_a_bound_far_above_the_line_says_nothing_and_one_below_it_presses():
    xs, ys = [1.0, 2.0, 3.0, 4.0], [10.0, 21.0, 29.0, 41.0]
    plain = stage.weighted_line(xs, ys, [1] * 4)
    far = stage.bounded_line(xs, ys, [1] * 4, [0.5], [500.0], [1])
    near = stage.bounded_line(xs, ys, [1] * 4, [0.5], [2.0], [1])
    assert far[:2] == pytest.approx(plain[:2], rel=1e-5)
    assert near[0] < plain[0]


ROWS = [[1.0, 8.0], [4.0, 11.5], [9.0, 13.8], [16.0, 17.2], [25.0, 20.5]]


@given(st.floats(0, 20), st.floats(0.1, 5), st.floats(21, 40))
@examples(40)
def test_more_shared_error_widens_the_band_and_moves_nothing(error, more, limit):
    one = ask(ROWS, limit, series="one bath", calibration_error=error)
    two = ask(ROWS, limit, series="one bath", calibration_error=error + more)
    if one["days_to_go"] is not None:
        assert two["days_to_go"] == one["days_to_go"]
        assert two["band_low"] <= one["band_low"] <= one["band_high"] <= two["band_high"]


def test_a_row_whose_kind_is_not_told_gets_the_wider_band():
    either = ask(ROWS, 25.0)
    for series in ("one bath", "running sum"):
        told = ask(ROWS, 25.0, series=series)
        assert either["band_low"] <= told["band_low"]
        assert either["band_high"] >= told["band_high"]


@pytest.mark.parametrize(
    ("stand", "limit", "verdict"),
    [(60.0, 27.0, "carry on"), (60.0, 30.0, "change at the end of the stand"),
     (30.0, 30.0, "change at the end of the stand"), (25.0, 30.0, "change the bath"),
     (7.0, 30.0, "change the bath")],
)  # fmt: skip
def test_never_carry_on_past_the_longest_stand(stand, limit, verdict):
    answer = ask(ROWS, limit, stand=stand, calibration_error=5.0)
    assert answer["verdict"] == verdict
    assert ("stood" in [reason[0] for reason in answer["reasons"]]) == (verdict == "change the bath")
    assert answer["days_to_go"] is not None
    # A running sum has no stand of its own.
    assert ask(ROWS, limit, stand=stand, calibration_error=5.0, series="running sum")["verdict"] in (
        "carry on",
        "near the end",
    )


@given(st.floats(21, 60), st.floats(25.5, 60), st.floats(0, 20))
@examples(60)
def test_who_is_told_to_carry_on_is_within_the_stand(limit, stand, shared):
    answer = ask(ROWS, limit, stand=stand, calibration_error=shared)
    if answer["verdict"] == "carry on":
        assert ROWS[-1][0] + answer["days_to_go"] <= stand


def test_the_limit_follows_the_alkali_where_none_is_given():
    bath = {"salt": "potassium carbonate", "strength": 20.0, "temperature": 20.0, "chloride_share": 10.0}
    answer = ask([[1.0, 3.0], [2.0, 4.3], [4.0, 6.0]], None, **bath)
    assert answer["limit_used"] == pytest.approx(11.6, rel=0.05)
    lye = ask([[1.0, 3.0], [2.0, 4.3], [4.0, 6.0]], None, **(bath | {"salt": "sodium hydroxide"}))
    assert lye["limit_used"] == pytest.approx(1773, rel=0.01)
    with pytest.raises(Exception, match="salt and strength"):
        ask(ROWS, None)


@pytest.mark.parametrize(
    "rows",
    [
        [[1.0, -5.0], [4.0, 11.0], [9.0, 14.0]],  # two were seen
        [[1.0, -5.0], [2.0, -5.0], [3.0, -5.0], [4.0, -9.0], [5.0, 11.0], [9.0, 14.0], [12.0, 16.0]],
        [[1.0, 5.0], [4.0, 11.0], [9.0, -2.0], [12.0, 16.0]],  # the third cannot be
    ],
)
def test_too_much_that_was_not_seen_carries_no_line(rows):
    with pytest.raises(Exception, match="below detection"):
        ask(rows, 30.0)


# --- the end of a treatment ----------------------------------------------------------------------

STOP = CATALOGUE["stop-forecast"]
TREATED = {
    "piece_mass": 200.0, "depth": 4.0, "concentration_limit": 5.0, "mass_limit": 6.3, "stand": 7.0,
    "diffusivity_low": 2e-12, "diffusivity_high": 1e-10, "reading_error": 10.0, "detection_limit": 1.0,
}  # fmt: skip


def treatment(dice):
    """Baths of one treatment of known rate and chloride: rows, litres, days that are truly left."""
    rate = math.exp(math.log(1.414e-11) + dice.normal() * math.log(50) / 2 / 1.645) * 86_400 / 0.004**2
    chloride, volume = dice.uniform(50, 1000), float(dice.uniform(0.5, 3))
    count = int(dice.integers(3, 9))
    ends = 7.0 * np.arange(count + 1)
    drawn = chloride * np.diff([stage.slab_released(rate * end) for end in ends]) / volume
    read = drawn * (1 + dice.normal(0, 0.1, count)) + dice.normal(0, 0.5, count)
    rows = [[float(level) if level >= 1 else -1.0, -1.0, volume, 7.0] for level in read]
    enough = min(5 * volume, 6.3 * 0.2) / chloride
    return rows, volume, stage.end_of_treatment(rate, enough, ends[-1], 7.0) - ends[-1]


@pytest.mark.long
def test_the_band_of_the_end_covers_the_truth_nine_times_in_ten():
    dice = np.random.default_rng(8)
    covered = told = unseen = 0
    for _ in range(400):
        rows, volume, true = treatment(dice)
        if true <= 14.01 or all(row[0] < 0 for row in rows):
            continue
        answer = STOP(readings=rows, volume=volume, **TREATED)
        told += 1
        unseen += any(row[0] < 0 for row in rows)
        covered += answer["band_low"] - 1e-6 <= true <= answer["band_high"] + 1e-6
        assert answer["band_low"] <= answer["days_to_go"] <= answer["band_high"]
    assert told > 100
    assert unseen >= 1
    assert covered / told >= 0.9, (covered, told)


@given(st.floats(1e-3, 1), st.floats(1e-3, 0.2), st.floats(0, 200), st.floats(1, 30))
@examples(60)
def test_the_end_is_the_first_day_from_which_a_bath_passes(rate, share, now, stand):
    end = stage.end_of_treatment(rate, share, now, stand)
    start = end - 2 * stand

    def draws(day):
        return stage.slab_released(rate * (day + stand)) - stage.slab_released(rate * day)

    assert draws(start) <= share * (1 + 1e-6)
    if start > now * (1 + 1e-6) + 1e-6:
        assert draws(now + (start - now) * (1 - 1e-5)) >= share * (1 - 1e-3)
    assert stage.end_of_treatment(rate, 2 * share, now, stand) <= end * (1 + 1e-9)


def test_more_chloride_ends_later_and_two_baths_always_remain():
    rows = [[20.0, -1.0, 1.0, 7.0], [16.0, -1.0, 1.0, 7.0], [12.0, -1.0, 1.0, 7.0]]
    one = STOP(readings=rows, volume=1.0, **TREATED)
    two = STOP(readings=[[2 * r[0], *r[1:]] for r in rows], volume=1.0, **TREATED)
    assert 14 <= one["days_to_go"] < two["days_to_go"]
    assert one["baths"] == pytest.approx(one["days_to_go"] / 7)


@pytest.mark.parametrize(
    ("rows", "more", "code"),
    [
        ([[20.0, -1.0, 1.0, 7.0]], {}, "few"),
        ([[-1.0, -1.0, 1.0, 7.0]] * 3, {}, "nothing"),
        ([[20.0, -1.0, 1.0, 7.0], [1.0, 3.0, 1.0, 7.0]], {}, "under-blank"),
        ([[20.0, -1.0, 1.0, 7.0]] * 2, {"diffusivity_low": 1e-9}, "guesses"),
    ],
)
def test_what_carries_no_date_is_refused(rows, more, code):
    with pytest.raises(Refusal) as caught:
        STOP(readings=rows, volume=1.0, **(TREATED | more))
    assert caught.value.code == code
