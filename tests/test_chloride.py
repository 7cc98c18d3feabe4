"""Chloride: limits, monotony, inverse pairs, refusals, house rules, and regression against certified values."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import optimize, stats
from support import answered, differing, examples, numbers_in

from handbook_calc import chloride as stage
from handbook_calc import forecast as forecasts
from handbook_calc.engine import house as house_module
from handbook_calc.engine import quantities
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.faults import BadInput, HouseFaults, Refusal
from handbook_calc.engine.subset import complaints
from handbook_calc.engine.tables import TABLES, Span

SOME = examples(60)
DEPTH = st.floats(0.1, 30)
DIFFUSIVITY = st.floats(1e-13, 5e-9)
OURS = [c for c in CATALOGUE.values() if c.stage == "chloride"]


def ask(name, **written):
    return Bench(None).ask(name, **written).results


def refused(code, name, **written):
    with pytest.raises(Refusal) as caught:
        Bench(None).ask(name, **written)
    assert caught.value.code == code
    assert "{" not in caught.value.message
    return caught.value.message


@pytest.mark.parametrize("calculation", OURS, ids=lambda c: c.name)
def test_formulas_stay_in_the_subset_that_pages_can_run(calculation):
    assert complaints(calculation.kernel) == []


# --- cracks --------------------------------------------------------------------------------------


@given(st.floats(0.0001, 99.99), DEPTH, DIFFUSIVITY)
@SOME
def test_time_and_share_are_inverse_to_nine_digits(fraction, depth, diffusivity):
    with answered():
        time = stage.extraction_time(fraction, depth, diffusivity)
    assume(time <= 20_000)
    assert stage.extracted_fraction(time, depth, diffusivity) == pytest.approx(fraction, rel=1e-9)


@given(st.floats(1e-6, 5))
@SOME
def test_share_agrees_with_the_long_series_and_with_the_error_function_series(fourier):
    """Against both classical series, summed far beyond need."""
    exact = 1 - sum(
        8 / ((2 * n + 1) * math.pi) ** 2 * math.exp(-(((2 * n + 1) * math.pi) ** 2) * fourier / 4)
        for n in range(4000)
    )
    if fourier < 0.05:  # the long series converges slowly there, the other one at once
        root = math.sqrt(fourier)
        tail = sum((-1) ** n * _ierfc(n / root) for n in range(1, 60))
        exact = 2 * root * (1 / math.sqrt(math.pi) + 2 * tail)
    seconds = fourier * 1e-6 / 1e-9
    ours = stage.extracted_fraction(seconds / 86_400, 1.0, 1e-9) / 100
    assert ours == pytest.approx(exact, rel=1e-9, abs=1e-12)


def _ierfc(x):
    return math.exp(-x * x) / math.sqrt(math.pi) - x * math.erfc(x)


@given(st.floats(0.01, 500), DEPTH, DIFFUSIVITY)
@SOME
def test_more_time_is_more_and_a_deeper_crack_less(time, depth, diffusivity):
    share = stage.extracted_fraction(time, depth, diffusivity)
    assert 0 <= share <= 100
    assert stage.extracted_fraction(time * 1.5, depth, diffusivity) >= share
    assert stage.extracted_fraction(time, depth * 1.5, diffusivity) <= share


def test_the_week_of_habit_suits_cracks_of_one_to_three_millimetres():
    """Common practice, no source: about a week for light rust. Assumed: cracks of 1 to 3 mm, the middle guess."""
    shallow, deep = (stage.extraction_time(95.0, depth, 1e-11) for depth in (1.0, 3.0))  # d
    assert shallow < 7 < deep


def test_nothing_is_out_at_the_start_and_all_of_it_is_no_answer():
    assert stage.extracted_fraction(0, 4, 1e-11) == 0
    assert stage.extraction_time(0, 4, 1e-11) == 0
    with pytest.raises(BadInput, match="would take for ever"):
        ask("extraction-time", fraction="100 %", depth="4 mm", diffusivity="1e-11 m^2/s")


# --- readings ------------------------------------------------------------------------------------

BATHS = st.lists(
    st.tuples(st.floats(2, 500), st.floats(0.01, 2), st.floats(0.1, 10), st.floats(1, 30)),
    min_size=1,
    max_size=8,
)


@given(BATHS, st.floats(500, 50_000))
@SOME
def test_the_ledger_is_the_sum_of_its_baths(baths, mass):
    rows = [list(row) for row in baths]
    answer = stage.chloride_ledger(rows, mass)
    expected = sum((reading - blank) * litres for reading, blank, litres, _ in baths)
    assert answer["released"] == pytest.approx(expected, rel=1e-9, abs=1e-9)
    assert answer["released_most"] == pytest.approx(answer["released"], rel=1e-9, abs=1e-9)
    assert answer["baths"][-1][3] == answer["released"]
    assert answer["per_piece_mass"] == pytest.approx(expected / mass * 1000, rel=1e-9, abs=1e-9)


def test_more_chloride_than_the_piece_can_hold_is_refused():
    with pytest.raises(Refusal, match=r"nothing but crystals of iron\(II\) chloride would hold that much"):
        stage.chloride_ledger([[40_000.0, 0.5, 100.0, 7.0]], 186.0)
    with pytest.raises(
        Refusal, match="a week at that rate would draw out more chloride than the piece weighs"
    ):
        stage.chloride_ledger([[400.0, 0.5, 10.0, 0.1]], 186.0)
    with pytest.raises(Refusal, match="a saturated brine"):
        stage.bath_chloride(1e6, 0.5, 100.0)


@given(BATHS, st.floats(2.5, 20))
@SOME
def test_what_was_not_seen_lies_between_nothing_and_its_bound(baths, bound):
    rows = [list(row) for row in baths]
    seen = stage.chloride_ledger(rows, 100.0)
    answer = stage.chloride_ledger([*rows, [-bound, 1.0, 2.0, 7.0]], 100.0)
    assert answer["released"] == seen["released"]
    assert answer["released_most"] == pytest.approx(seen["released"] + (bound - 1) * 2, rel=1e-9)
    assert answer["below_detection"] == 1
    assert answer["per_week"] is None
    assert answer["baths"][-1][1] is None


def test_the_ledger_bath_by_bath():
    """19 mg/L x 0.5 L, nothing seen, 45 mg/L x 2 L."""
    answer = stage.chloride_ledger([[20, 1, 0.5, 7], [-4, 1, 0.5, 14], [46, 1, 2, 7]], 1000.0)
    assert answer["baths"] == [[1, 19, 9.5, 9.5], [2, None, None, 9.5], [3, 45, 90, 99.5]]


@pytest.mark.parametrize(("reading", "seen"), [(0.25, True), (0.5, True), (-0.5, False)])
def test_a_small_reading_is_a_number_and_only_below_is_unseen(reading, seen):
    answer = stage.chloride_ledger([[reading, 0.125, 2.0, 7.0]], 1000.0)
    net = reading - 0.125
    assert answer["below_detection"] == (0 if seen else 1)
    assert answer["per_week"] == (2 * net if seen else None)
    assert answer["baths"] == [[1, net, 2 * net, 2 * net] if seen else [1, None, None, 0]]


@pytest.mark.parametrize(
    "row", ["0 mg/L 1 mg/L 1 L 7 d", "3 mg/L 0 mg/L 1 L 7 d", "below 0 mg/L 1 mg/L 1 L 7 d"]
)
@pytest.mark.parametrize("name", ["chloride-ledger", "chloride-stop"])
def test_a_zero_is_no_reading(name, row):
    more = {} if name == "chloride-ledger" else {k: v for k, v in LIMITS.items() if k != "piece_mass"}
    with pytest.raises(BadInput, match="'below 5 mg/L' where the test saw nothing"):
        Bench(None).ask(name, readings=row, piece_mass="310 g", **more)


def test_a_zero_is_no_reading_of_a_forecast_but_the_start_of_a_fresh_bath():
    rows = [[0.0, 0.0], [1.0, 0.0], [3.0, 2.0], [5.0, 2.6]]
    with pytest.raises(Refusal, match="reading 2 is zero, which no test can read: write 'below'"):
        CATALOGUE["chloride-forecast"](readings=rows, limit=20.0, weighting="equal")
    rows[1][1] = 1.2
    assert CATALOGUE["chloride-forecast"](readings=rows, limit=20.0, weighting="equal")["slope"] > 0


def test_a_blank_below_detection_may_hold_nothing_or_all_of_its_bound():
    answer = stage.chloride_ledger([[20.0, -0.5, 1.0, 7.0]], 1000.0)
    assert (answer["released"], answer["released_most"]) == (19.5, 20)


def test_a_bath_that_reads_its_own_blank_has_drawn_nothing():
    assert stage.chloride_ledger([[1.0, 1.0, 1.0, 7.0]], 100.0)["released"] == 0
    for reading in (0.5, 0.99):
        with pytest.raises(Refusal, match="bath 2 reads less chloride than its own blank"):
            stage.chloride_ledger([[20.0, 1.0, 1.0, 7.0], [reading, 1.0, 1.0, 7.0]], 100.0)


@pytest.mark.parametrize(
    "written",
    [
        "below 5 mg/L 1 mg/L 1 L 7 d",
        "<5 mg/L 1 mg/L 1 L 7 d",
        "below 5 mg/L, 1 mg/L, 1 L, 7 d",
        '[["below 5 mg/L", "1 mg/L", "1 L", "7 d"]]',
        "below 0.005 g/L 1 mg/L 1000 mL 1 week",
    ],
)
def test_below_detection_is_read_and_shown_as_written(written):
    field = CATALOGUE["chloride-ledger"].input("readings")
    rows = field.read(written)
    assert rows == [[pytest.approx(-5), 1, pytest.approx(1), pytest.approx(7)]]
    assert quantities.normal_unit(field.show(rows)).startswith("below")


@pytest.mark.parametrize("written", ["below 0 mg/L", "-5 mg/L", "below -5 mg/L", "none", "trace"])
def test_a_reading_that_is_no_reading_is_refused(written):
    with pytest.raises(BadInput):
        ask("chloride-ledger", readings=f"{written}, 1 mg/L, 1 L, 7 d", piece_mass="100 g")


LIMITS = {
    "piece_mass": "310 g",
    "concentration_limit": "5 mg/L",
    "mass_limit": "6.3 mg/kg",
    "detection_limit": "1.5 mg/L",
}
CLEAN = "3 mg/L 1 mg/L 0.39 L 7 d"


def stop(readings, **changed):
    return Bench(None).ask("chloride-stop", readings=readings, **(LIMITS | changed)).plain()["results"]


def test_the_bigger_tub_hides_nothing():
    """Same chloride a week: a tub of 0.2 L shows it, one of 2 L passes on concentration alone."""
    small = stop("13 mg/L 1 mg/L 0.2 L 7 d; 13 mg/L 1 mg/L 0.2 L 7 d")
    large = stop("2.2 mg/L 1 mg/L 2 L 7 d; 2.2 mg/L 1 mg/L 2 L 7 d", detection_limit="0.5 mg/L")
    assert small["verdict"]["value"] == "change the bath"
    assert large["verdict"]["value"] == "change the bath"
    assert "in so much liquid a low concentration hides it" in large["reasons"]["value"][0]


def test_five_baths_of_a_slice_in_a_large_tub_do_not_stop():
    rows = "; ".join(f"{reading} mg/L 1 mg/L 1.0 L 7 d" for reading in (46, 22, 11, 6, 4))
    answer = stop(rows)
    assert answer["verdict"]["value"] == "change the bath"
    assert "9.68" in answer["reasons"]["value"][0]


def test_two_baths_must_pass():
    assert stop(CLEAN)["verdict"]["value"] == "one more confirming bath"
    assert stop(f"{CLEAN}; {CLEAN}")["verdict"]["value"] == "stop"
    later = stop(f"{CLEAN}; 30 mg/L 1 mg/L 0.39 L 7 d; {CLEAN}")
    assert later["verdict"]["value"] == "one more confirming bath"


def decide(rows, concentration=20.0, mass=6.3, detection=0.1, bath_limit=355.0):
    """One kilogram in one litre for a week, so that mg/L is mg/kg in the week."""
    answer = stage.chloride_stop(rows, 1000.0, concentration, mass, detection, 7.0, bath_limit)
    return answer["verdict"], [reason[0] for reason in answer["reasons"]]


def week(reading, days=7.0):
    return [reading, -0.1, 1.0, days]


@pytest.mark.parametrize(("reading", "good"), [(5.5, True), (6.3, True), (6.4, False), (7.0, False)])
def test_the_limit_by_mass_itself_passes_and_no_more(reading, good):
    verdict, reasons = decide([week(reading)])
    assert verdict == ("one more confirming bath" if good else "change the bath")
    assert reasons == (["first"] if good else ["mass"])


def test_a_concentration_at_its_limit_does_not_pass():
    assert decide([week(5.0)], concentration=5.0) == ("change the bath", ["concentration"])
    assert decide([week(4.99)], concentration=5.0) == ("one more confirming bath", ["first"])


@pytest.mark.parametrize("days", [3.0, 6.5, 6.99])
def test_an_end_bath_that_stood_too_short_goes_on_however_clean(days):
    assert decide([week(1.0), week(1.0, days)]) == ("carry on", ["short"])
    assert decide([week(1.0, days), week(1.0)]) == ("one more confirming bath", ["before"])
    assert decide([week(1.0), week(1.0, days), week(1.0), week(1.0)]) == ("stop", ["both"])


def test_three_clean_baths_stop_as_two_do():
    assert decide([week(1.0)] * 3) == ("stop", ["both"])


@pytest.mark.parametrize(("reading", "spent"), [(355.0, True), (356.0, True), (354.0, False)])
def test_a_spent_bath_is_changed_before_its_time(reading, spent):
    verdict, reasons = decide([week(reading, 2.0)])
    assert verdict == ("change the bath" if spent else "carry on")
    assert reasons == (["spent"] if spent else []) + ["short", "concentration", "mass"]


def test_reasons_carry_their_figures():
    answer = stage.chloride_stop([week(400.0, 2.0)], 1000.0, 20.0, 6.3, 0.1, 7.0, 355.0)
    assert answer["reasons"] == [
        ["spent", 400.0, 355.0], ["short", 2.0, 7.0], ["concentration", 400.0], ["mass", pytest.approx(1400.0)],
    ]  # fmt: skip


def test_below_detection_counts_as_its_bound_and_says_so():
    assert decide([week(-25.0)]) == ("change the bath", ["concentration", "mass", "unseen"])
    assert decide([week(-0.5, 3.0)]) == ("carry on", ["short", "unseen"])
    assert decide([week(0.01, 3.0)]) == ("carry on", ["short"])
    # A number under the detection limit is no better than a reading below it.
    for reading in (-1.0, 0.5, 0.01):
        assert decide([week(reading)] * 2, detection=1.0) == ("stop", ["both"])


def test_a_reading_below_less_than_the_test_can_see_is_refused_by_number():
    with pytest.raises(Refusal, match="bath 2 is entered as below") as caught:
        decide([week(5.0), week(-0.5)], detection=1.0)
    assert caught.value.code == "too-fine"
    assert numbers_in(caught.value.message) == [2, 0.5, 1]


@pytest.mark.parametrize(("days", "blind"), [(7.0, True), (9.0, True), (12.0, False), (3.0, False)])
def test_a_test_is_blind_to_mass_where_its_limit_alone_breaks_the_limit(days, blind):
    """10 mg/L in a litre is 10 mg/kg a week, in 9 days 7.8, in 12 days 5.8; a short bath goes on anyway."""
    if blind:
        with pytest.raises(Refusal) as caught:
            decide([week(12.0, days)], detection=10.0)
        assert caught.value.code == "blind-to-mass"
    else:
        assert decide([week(12.0, days)], detection=10.0)[0] in ("carry on", "change the bath")


@given(st.floats(0.1, 30), st.floats(0.1, 30), st.floats(0.2, 3), st.floats(1, 30))
@SOME
def test_stop_is_never_said_of_a_bath_that_fails_a_limit(first, second, litres, days):
    rows = [[first, -0.02, litres, days], [second, -0.02, litres, days]]
    answer = stage.chloride_stop(rows, 310.0, 5.0, 6.3, 0.02, 7.0, 355.0)
    good = [row[0] < 5 and row[0] * litres / 0.31 / days * 7 <= 6.3 and days >= 7 for row in rows]
    assert (answer["verdict"] == "stop") == all(good)
    assert answer["reasons"]


def test_never_stop_by_a_test_that_cannot_see_the_limit():
    args = LIMITS | {"detection_limit": "5 mg/L"}
    message = refused("blind-test", "chloride-stop", readings=f"{CLEAN}; {CLEAN}", **args)
    assert "silver nitrate in an acidified sample" in message
    args = LIMITS | {"detection_limit": "4 mg/L"}
    rows = "below 4 mg/L below 4 mg/L 1 L 7 d; below 4 mg/L below 4 mg/L 1 L 7 d"
    assert "a bath of less liquid" in refused("blind-to-mass", "chloride-stop", readings=rows, **args)


def test_a_bath_below_its_blank_is_refused():
    message = refused("under-blank", "chloride-stop", readings="1 mg/L 3 mg/L 1 L 7 d", **LIMITS)
    assert "bath 1" in message


# --- forecast ------------------------------------------------------------------------------------

NORRIS_X = [
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9,
    338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0,
    779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
]  # fmt: skip
NORRIS_Y = [
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8,
    339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5,
    778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
]  # fmt: skip


def test_regression_gives_the_certified_values_of_norris():
    """NIST Statistical Reference Datasets, Norris."""
    line = forecasts.weighted_line(NORRIS_X, NORRIS_Y, [1] * len(NORRIS_X))
    intercept, slope, deviation, _, mean, squares, determination = line
    assert intercept == pytest.approx(-0.262323073774029, rel=1e-10)
    assert slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert deviation == pytest.approx(0.884796396144373, rel=1e-10)
    assert determination == pytest.approx(0.999993745883712, rel=1e-12)
    assert deviation / math.sqrt(squares) == pytest.approx(0.429796848199937e-3, rel=1e-10)
    error = deviation * math.sqrt(1 / len(NORRIS_X) + mean**2 / squares)
    assert error == pytest.approx(0.232818234301152, rel=1e-10)


def test_weighted_regression_of_the_textbook():
    """Harvey, Modern Analytical Chemistry, page 126, which rounds a sum of 0.04997 to 0.0499."""
    line = forecasts.weighted_line(
        [0, 0.1, 0.2, 0.3, 0.4, 0.5],
        [0, 12.36, 24.83, 35.91, 48.79, 60.42],
        [2.8339, 2.8339, 0.2313, 0.0671, 0.0234, 0.0104],
    )
    assert line[1] == pytest.approx(122.985, rel=0.003)
    assert line[0] == pytest.approx(0.0224, abs=0.025)


@pytest.mark.parametrize("freedom", range(1, 31))
def test_student_t_of_a_statistics_library(freedom):
    assert forecasts.student_t(freedom) == pytest.approx(stats.t.ppf(0.975, freedom), abs=0.0006)


def test_beyond_the_table_the_band_is_a_little_wide_never_narrow():
    assert forecasts.student_t(58) >= stats.t.ppf(0.975, 58)


@given(st.floats(0.5, 20), st.floats(0, 10), st.floats(1.05, 2.5))
@SOME
def test_a_perfect_root_law_is_found_again(slope, intercept, reach):
    times = [1.0, 4.0, 9.0, 16.0, 25.0]
    rows = [[t, intercept + slope * math.sqrt(t)] for t in times]
    target = 25 * reach
    limit = intercept + slope * math.sqrt(target)
    answer = stage.chloride_forecast(rows, limit, "equal")
    assert answer["days_to_go"] == pytest.approx(target - 25, rel=1e-6)
    assert answer["band_low"] == pytest.approx(target - 25, rel=1e-4)
    assert answer["verdict"] in ("carry on", "near the end")
    relative = stage.chloride_forecast(rows, limit, "relative")
    assert relative["days_to_go"] == pytest.approx(answer["days_to_go"], rel=1e-6)


@given(st.lists(st.floats(-0.4, 0.4), min_size=6, max_size=6))
@SOME
def test_the_band_is_where_the_limits_of_the_line_cross(noise):
    times = np.array([1.0, 4, 9, 16, 25, 36])
    levels = 5 + 3 * np.sqrt(times) + np.array(noise)
    limit = 32.0
    answer = stage.chloride_forecast(
        [[float(t), float(c)] for t, c in zip(times, levels, strict=True)], limit, "equal"
    )
    assert answer["verdict"] == "carry on"
    x = np.sqrt(times)
    fit: Any = stats.linregress(x, levels)
    deviation = math.sqrt(np.sum((levels - fit.intercept - fit.slope * x) ** 2) / 4)
    squares = np.sum((x - x.mean()) ** 2)

    def bound(sign):
        def off(root):
            half = 2.776 * deviation * math.sqrt(1 / 6 + (root - x.mean()) ** 2 / squares)
            return fit.intercept + fit.slope * root + sign * half - limit

        crossing: Any = optimize.brentq(off, 3.5, 40)
        return crossing**2 - 36

    assert answer["band_low"] == pytest.approx(bound(1), rel=1e-5, abs=1e-4)
    assert answer["band_high"] == pytest.approx(bound(-1), rel=1e-5, abs=1e-4)
    assert answer["band_low"] <= answer["days_to_go"] <= answer["band_high"]


def forecast(times, levels, limit, weighting="equal"):
    rows = [[float(t), float(c)] for t, c in zip(times, levels, strict=True)]
    answer = stage.chloride_forecast(rows, limit, weighting)
    return answer, [reason[0] for reason in answer["reasons"]]


ROOTS = (0, 1, 2, 3, 4)
SQUARES = tuple(root * root for root in ROOTS)


@pytest.mark.parametrize(("end", "bends"), [(2.1, ["late"]), (1.9, []), (0.55, []), (0.45, ["flattening"])])
def test_a_line_bends_where_its_end_is_twice_or_half_as_steep_as_its_start(end, bends):
    """It rises by 1 for each root of a day, and by `end` from the second on."""
    levels = [1, 2, 3, 3 + end, 3 + 2 * end]
    _, reasons = forecast(SQUARES, levels, 9.0)
    assert [reason for reason in reasons if reason in ("late", "flattening")] == bends


@pytest.mark.parametrize(("times_as_far", "far"), [(9.5, False), (10.5, True)])
def test_a_limit_more_than_ten_times_as_far_off_is_no_forecast(times_as_far, far):
    limit = 5 + math.sqrt(16 + times_as_far * 16)
    answer, reasons = forecast(SQUARES, [5 + root for root in ROOTS], limit)
    assert reasons == (["far"] if far else [])
    if not far:
        assert answer["days_to_go"] == pytest.approx(times_as_far * 16)


@pytest.mark.parametrize("limit", [9.0, 8.5])
def test_at_the_limit_or_above_it_the_bath_is_changed_now(limit):
    answer, reasons = forecast(SQUARES, [5 + root for root in ROOTS], limit)
    assert answer["verdict"] == "change the bath"
    assert (answer["days_to_go"], answer["band_low"], answer["band_high"]) == (0, 0, 0)
    assert reasons == ["spent"]


def test_a_line_that_is_past_the_limit_already_leaves_no_days_and_no_fewer():
    answer, reasons = forecast(SQUARES, [5, 6, 7, 8, 8.9], 8.92)
    line: Any = stats.linregress(ROOTS, [5, 6, 7, 8, 8.9])
    assert line.intercept + 4 * line.slope > 8.92
    assert (answer["days_to_go"], answer["band_low"]) == (0, 0)
    assert (answer["verdict"], reasons) == ("near the end", [])


def test_where_even_the_late_end_is_past_nothing_is_left_to_wait_for():
    """Nineteen readings on the line leave no doubt of it; the last one lies a little below."""
    roots = range(20)
    levels = [5.0 + root for root in roots]
    levels[-1] -= 0.3
    answer, _ = forecast([root * root for root in roots], levels, levels[-1] + 0.01)
    assert (answer["days_to_go"], answer["band_low"], answer["band_high"]) == (0, 0, 0)


@pytest.mark.parametrize("weighting", ["equal", "relative"])
def test_a_thousandth_of_the_chloride_takes_the_same_days(weighting):
    """Neither weighting knows a unit of concentration."""
    levels = [5.0, 6.1, 6.9, 8.1, 8.9]
    strong, _ = forecast(SQUARES, levels, 11.0, weighting)
    weak, _ = forecast(SQUARES, [level / 1000 for level in levels], 0.011, weighting)
    for name in ("days_to_go", "band_low", "band_high"):
        assert weak[name] == pytest.approx(strong[name], rel=1e-9)


@pytest.mark.parametrize("weighting", ["equal", "relative"])
def test_a_hundredth_of_the_times_is_a_hundredth_of_the_days(weighting):
    """The line knows no unit of time: in hours or in days the same readings say the same."""
    levels = [5.0, 6.1, 6.9, 8.1, 8.9]
    slow, _ = forecast(SQUARES, levels, 11.0, weighting)
    fast, _ = forecast([t / 100 for t in SQUARES], levels, 11.0, weighting)
    for name in ("days_to_go", "band_low", "band_high"):
        assert fast[name] == pytest.approx(slow[name] / 100, rel=1e-9)


def test_a_line_that_falls_has_no_date_though_its_last_reading_is_the_highest_but_one():
    levels = [10.0, 10.9, 10.2, 9.9, 10.05]
    line: Any = stats.linregress(ROOTS, levels)
    assert line.slope < 0
    answer, reasons = forecast(SQUARES, levels, 20.0)
    assert answer["verdict"] == "no forecast"
    assert "slope" in reasons


def test_a_line_that_surely_falls_gives_the_slope_as_its_reason_and_no_distance():
    """Twenty readings, the first one low, all the others falling step by step."""
    levels = [10.0, *(10.9 - 0.045 * step for step in range(19))]
    roots = range(20)
    line: Any = stats.linregress(roots, levels)
    assert line.slope < 0
    answer, reasons = forecast([root * root for root in roots], levels, 20.0)
    assert answer["verdict"] == "no forecast"
    assert "slope" in reasons
    assert "far" not in reasons


def test_relative_weights_count_small_readings_as_a_tenth_of_the_largest():
    levels = [1, 30, 48, 75, 100]
    weights = 1 / np.maximum(levels, 10.0)
    slope, intercept = np.polyfit(ROOTS, levels, 1, w=weights)
    answer, _ = forecast(SQUARES, levels, 300.0, "relative")
    assert answer["slope"] == pytest.approx(slope, rel=1e-9)
    assert answer["intercept"] == pytest.approx(intercept, rel=1e-9)


@pytest.mark.parametrize(
    ("levels", "message"),
    [
        ([5, 6, -0.5, 8], "reading 3 is below detection"),
        ([5, 20, 17.9, 22], "falls at reading 3"),
        ([10, 10.9, 10.5, 9.9], "last reading is not above the first"),
        ([10, 10.9, 10.5, 10], "last reading is not above the first"),
    ],
)
def test_the_reading_at_fault_is_named(levels, message):
    with pytest.raises(Refusal, match=message):
        forecast((1, 4, 9, 16), levels, 30.0)
    with pytest.raises(Refusal, match="reading 4 is not later"):
        forecast((1, 4, 9, 9), [5, 6, 7, 8], 30.0)


def test_a_fall_within_a_tenth_is_scatter_and_the_last_need_only_be_above_the_first():
    forecast((1, 4, 9, 16), [5, 20, 18.1, 19.5], 30.0)


@pytest.mark.parametrize(
    ("readings", "reason"),
    [
        ("1 d 8 mg/L; 4 d 15 mg/L; 9 d 16 mg/L; 16 d 16.5 mg/L", "slowing"),
        ("1 d 3 mg/L; 4 d 3.5 mg/L; 9 d 5 mg/L; 16 d 9 mg/L", "quickening"),
        ("1 d 8 mg/L; 4 d 8.9 mg/L; 9 d 9 mg/L", "has no late end"),
        ("1 d 8 mg/L; 4 d 12 mg/L; 9 d 12 mg/L; 16 d 11 mg/L; 25 d 13 mg/L", "scatter too widely"),
        ("1 d 8.0 mg/L; 4 d 8.1 mg/L; 9 d 8.2 mg/L; 16 d 8.3 mg/L", "ten times as far off"),
    ],
)
def test_readings_that_do_not_support_a_forecast_say_why(readings, reason):
    answer = Bench(None).ask(
        "chloride-forecast", readings=readings, limit="25 mg/L", weighting="equal"
    ).plain()["results"]  # fmt: skip
    assert answer["verdict"]["value"] == "no forecast"
    assert answer["days_to_go"]["value"] is None
    assert any(reason in text for text in answer["reasons"]["value"])


@pytest.mark.parametrize(
    ("code", "readings"),
    [
        ("few", "1 d 8 mg/L; 4 d 11 mg/L"),
        ("order", "1 d 8 mg/L; 1 d 11 mg/L; 9 d 14 mg/L"),
        ("falling", "1 d 40 mg/L; 7 d 60 mg/L; 8 d 5 mg/L; 14 d 20 mg/L"),
        ("unseen", "1 d below 5 mg/L; 4 d 11 mg/L; 9 d 14 mg/L"),
        ("flat", "1 d 8 mg/L; 4 d 8 mg/L; 9 d 8 mg/L"),
    ],
)
def test_forecast_refuses_readings_that_cannot_carry_one(code, readings):
    message = refused(code, "chloride-forecast", readings=readings, limit="30 mg/L", weighting="equal")
    assert ":" in message


# --- house, tables -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "value", "complaint"),
    [
        ("detection_limit", "30 mg/L", "cannot show that a bath is clean"),
        ("strength", "1 g/L", "a clean bath would count as spent"),
        ("check_standard", "0.5 mg/L", "a sound test would fail it"),
        ("diffusivity", "1e-9 m^2/s (2e-12 to 1e-10)", "is not between the ends of its span"),
    ],
)
def test_a_house_value_that_harms_is_a_fault_at_its_line(tmp_path, key, value, complaint):
    path = differing(tmp_path, {f"electrolysis.{key}": value})
    with pytest.raises(HouseFaults, match=complaint) as caught:
        house_module.load(overlay=path)
    assert any(f.file.endswith(path.name) and f.line == 3 for f in caught.value.faults)


@pytest.mark.parametrize("table", [t for t in TABLES.values() if t.stage == "chloride"], ids=lambda t: t.id)
def test_tables_fill_and_stay_narrow(house, table):
    filled = table.compute(house)
    assert filled.rows
    assert len(filled.columns) <= 8
    assert "nan" not in filled.csv().lower()
    for row in filled.rows:
        for cell in row:
            if isinstance(cell, Span):
                assert cell.low <= cell.value <= cell.high


def test_tables_mark_the_tests_that_are_blind(house):
    strips = TABLES["strip-ranges"].compute(house)
    blind = [row[0] for row in strips.rows if row[3].state == "stop"]
    assert blind == [f"capillary titration strip, {which} range" for which in ("low", "high")]


def test_standards_of_the_silver_test_mark_both_limits(house):
    rows = TABLES["test-standards"].compute(house).rows
    standing = {row[2]: row[1] for row in rows}
    assert standing["least the test must show"] == pytest.approx(1.0)
    assert standing["stop limit"] == pytest.approx(5.0)
    assert [row[1] for row in rows] == sorted(row[1] for row in rows)


# --- units and ranges ----------------------------------------------------------------------------

SAME = [
    ("extracted-fraction", {"time": "1 week", "depth": "0.1 inch", "diffusivity": "1e-7 cm^2/s"},
     {"time": "168 h", "depth": "2.54 mm", "diffusivity": "1e-11 m^2/s"}),
    ("chloride-ledger", {"readings": "20 mg/L 1 mg/L 1 gal 1 week", "piece_mass": "10 oz_avdp"},
     {"readings": "0.02 g/L 0.001 g/L 3.785411784 L 168 h", "piece_mass": "283.49523125 g"}),
]  # fmt: skip


@pytest.mark.parametrize(("name", "one", "other"), SAME, ids=[row[0] for row in SAME])
def test_the_answer_does_not_depend_on_the_units(name, one, other):
    first, second = ask(name, **one), ask(name, **other)
    for key, value in first.items():
        if isinstance(value, float):
            assert second[key] == pytest.approx(value, rel=1e-6), key
        elif isinstance(value, str):
            assert second[key] == value


INSIDE = {
    "extracted-fraction": ("diffusivity", "2e-8 m^2/s", {"time": "1 d", "depth": "1 mm"}),
    "bath-chloride": ("fraction", "101 %", {"chloride_mass": "5 mg", "volume": "1 L"}),
}  # fmt: skip


@pytest.mark.parametrize("name", INSIDE)
def test_just_outside_the_range_is_refused_by_name(name):
    argument, value, rest = INSIDE[name]
    with pytest.raises(BadInput, match=rf"{argument} = .*allowed is"):
        ask(name, **rest, **{argument: value})


@given(st.data())
@SOME
def test_plain_numbers_never_give_a_result_that_is_not_finite(data):
    """Any calculation of plain quantities, anywhere in its declared ranges."""
    plain = [c for c in OURS if all(type(d) in (stage.Quantity,) for d in c.inputs)]
    calculation = data.draw(st.sampled_from(plain))
    values = {d.name: data.draw(st.floats(d.low, d.high), label=d.name) for d in calculation.inputs}
    try:
        answer = Bench(None).answer(calculation.name, **values)
    except Refusal:
        return
    for value in answer.results.values():
        if isinstance(value, float):
            assert math.isfinite(value)


# --- whose limits, whose blank --------------------------------------------------------------------


def by_house(house, readings, **typed):
    answer = Bench(house).ask("chloride-stop", readings=readings, piece_mass="310 g", **typed)
    return answer.plain()["results"]


SALTY = "40 mg/L below 1 mg/L 0.39 L 7 d; 30 mg/L below 1 mg/L 0.39 L 7 d"
PASSING = "below 1 mg/L below 1 mg/L 0.39 L 7 d; 3 mg/L below 1 mg/L 0.39 L 7 d"


def test_limits_typed_over_never_stop_unmarked(house):
    answer = by_house(house, SALTY, concentration_limit="60 mg/L", mass_limit="100 mg/kg")
    assert answer["verdict"]["value"] == "stop, but not the house's limit"
    assert "Not the house's limit" in answer["reasons"]["value"][0]
    short = PASSING.replace("7 d", "2 d")
    answer = by_house(house, short, stand="2 d", mass_limit="20 mg/kg")
    assert answer["verdict"]["value"] == "stop, but not the house's limit"


def test_the_houses_own_limits_and_stricter_ones_stop(house):
    assert by_house(house, PASSING)["verdict"]["value"] == "stop"
    strict = by_house(house, PASSING, concentration_limit="4 mg/L", mass_limit="6 mg/kg")
    assert strict["verdict"]["value"] == "stop"


@pytest.mark.parametrize("blank", ["1 mg/L", "3.9 mg/L", "5 mg/L"])
def test_a_blank_in_which_the_test_sees_chloride_spoils_its_batch(house, blank):
    rows = f"4 mg/L {blank} 0.39 L 7 d; 9 mg/L {blank} 0.39 L 7 d".replace("4 mg/L 5", "6 mg/L 5")
    answer = by_house(house, rows)
    assert not answer["verdict"]["value"].startswith("stop")
    assert any("is spoiled" in reason for reason in answer["reasons"]["value"])
    first = by_house(house, f"6 mg/L {blank} 0.39 L 7 d; 3 mg/L below 1 mg/L 0.39 L 7 d")
    assert first["verdict"]["value"] == "one more confirming bath"
    assert any("is spoiled" in reason for reason in first["reasons"]["value"])


def test_a_bath_that_stood_too_long_is_changed(house):
    answer = by_house(house, "9 mg/L below 1 mg/L 0.39 L 12 d")
    assert answer["verdict"]["value"] == "change the bath"
    assert any("no bath stands longer" in reason for reason in answer["reasons"]["value"])


def test_spent_follows_the_alkali(house):
    """The house's carbonate bears about 12 mg/L; hydroxide of 4 g/L bears 355."""
    rows = "20 mg/L below 1 mg/L 2 L 2 d"
    carbonate = by_house(house, rows)
    lye = by_house(house, rows, salt="sodium hydroxide", strength="4 g/L")
    assert carbonate["verdict"]["value"] == "change the bath"
    assert "a bath of this alkali is spent" in carbonate["reasons"]["value"][0]
    assert lye["verdict"]["value"] == "carry on"


def test_the_schedule_lets_no_bath_stand_beyond_its_limits(house):
    sheet = TABLES["bath-schedule"].compute(house)
    limit = Bench(house)("bath-chloride-limit")
    for row in sheet.rows:
        assert 0 < row[1] <= house["electrolysis.stand"] * (1 + 1e-9)
        assert row[4].value <= limit * (1 + 1e-6)
    assert sheet.rows[-1][5].state == "go"
    assert [row[2] for row in sheet.rows] == sorted(row[2] for row in sheet.rows)


@given(st.floats(0.1, 20), st.floats(1, 99), st.sampled_from(["cylinder", "sphere"]))
@SOME
def test_round_bodies_give_up_faster_and_there_and_back(depth, percent, shape):
    time = stage.extraction_time(percent, depth, 1e-11, shape, None)
    assert time < stage.extraction_time(percent, depth, 1e-11, "slab", None)
    assert stage.extracted_fraction(time, depth, 1e-11, shape, None) == pytest.approx(percent, rel=1e-9)
    half = stage.extraction_time(percent, depth, 1e-11, None, True)
    assert half == pytest.approx(stage.extraction_time(percent, depth / 2, 1e-11, None, None))
