"""What a bench learns from its logs: known parameters from synthetic readings, coverage, refusals, the line it prints.

The forward models are independent of the fitted code: the slab by the series of images (Crank, The Mathematics of
Diffusion, equation 4.20; memory) with scipy's error function, noise by numpy; fits are compared with scipy.
"""

import json
import subprocess
import sys
from datetime import datetime, timedelta
from typing import Any

import numpy as np
import pytest
from scipy import optimize, special, stats
from support import ROOT, changed_piece, for_each
from test_log import LOGGED, entries_of, row, text_of

from handbook_calc import learning
from handbook_calc.__main__ import main
from handbook_calc.engine import estimates, logbook
from handbook_calc.engine import house as house_module

DAY0 = datetime(2026, 3, 2, 9)
BATHS = (1, 2, 4, 7, 14, 21, 28, 42)


def at(days):
    return f"{DAY0 + timedelta(days=days):%Y-%m-%d %H:%M}"


def made(house, rows):
    """Return a log of rows without numbers: (days, kind, value, with)."""
    texts = [row(n, at(day), kind, value, by) for n, (day, kind, value, by) in enumerate(rows, 1)]
    return logbook.Log(house, "a.csv", entries_of(text_of(*texts)), logbook.hours_at(datetime(2027, 1, 1)))


def by_name(logs, name) -> Any:
    return next(one for one in learning.learn(logs) if name in one.name)


@pytest.fixture(scope="module")
def piece(tmp_path_factory):
    """The example with a crack of 2 mm (1 mm to 4 mm), in 186 g."""
    folder = tmp_path_factory.mktemp("piece")
    path = changed_piece(folder, {"piece.crack_depth": "2 mm (1 mm to 4 mm)"})
    return house_module.load(piece=path, root=ROOT, asking=True)


# --- the arithmetic against scipy --------------------------------------------------------------


@for_each("freedom", (1, 2, 3, 5, 10, 30, 100))
def test_the_ends_of_students_distribution_are_those_of_scipy(freedom):
    assert estimates.student(freedom) == pytest.approx(stats.t.ppf(0.95, freedom), rel=1e-5)


def test_the_next_of_a_sample_is_inside_nine_times_in_ten():
    rng = np.random.default_rng(3)
    inside = 0
    for _ in range(2000):
        values = rng.lognormal(1, 0.4, 5)
        found = estimates.next_of(values.tolist())
        inside += found.low <= values_next(rng) <= found.high
    assert 0.88 <= inside / 2000 <= 0.92


def values_next(rng):
    return rng.lognormal(1, 0.4)


def test_a_line_is_that_of_scipy():
    rng = np.random.default_rng(4)
    xs = rng.uniform(0, 1, 9)
    ys = 2 - 3 * xs + rng.normal(0, 0.1, 9)
    slope, height = estimates.slope_of(xs.tolist(), ys.tolist())
    theirs: Any = stats.linregress(xs, ys)
    reach = stats.t.ppf(0.95, 7) * theirs.stderr
    assert (slope.value, height) == pytest.approx((theirs.slope, theirs.intercept))
    assert (slope.low, slope.high) == pytest.approx((theirs.slope - reach, theirs.slope + reach), rel=1e-5)


def test_a_curve_of_one_shape_is_that_of_scipy():
    rng = np.random.default_rng(5)
    days = np.linspace(0, 6, 12)
    ys = 45 * np.exp(-0.3 * days) + rng.normal(0, 0.5, 12)
    points = estimates.grid(np.log(0.01), np.log(10), 0.02)
    shape = estimates.shape_of(points, lambda n: [[float(np.exp(-n * day)) for day in days]], ys.tolist())
    (_, rate), covariance = optimize.curve_fit(lambda t, a, n: a * np.exp(-n * t), days, ys, (40, 0.2))
    reach = stats.t.ppf(0.95, 10) * np.sqrt(covariance[1, 1])
    found = shape.estimate()
    assert found.value == pytest.approx(rate, rel=0.01)
    assert found.high - found.low == pytest.approx(2 * reach, rel=0.1)


# --- baths -------------------------------------------------------------------------------------


def images(fourier):
    """Return the share out of a slab by the series of images, which the fitted code does not use."""
    root = np.sqrt(fourier)
    n = np.arange(1, 60)

    def ierfc(x):
        return np.exp(-(x**2)) / np.sqrt(np.pi) - x * special.erfc(x)

    return 2 * root * (1 / np.sqrt(np.pi) + 2 * np.sum((-1.0) ** n * ierfc(n / root)))


def bath_rows(rng, diffusivity, depth, chloride, litres=0.3, baths=BATHS, noise=0.1):
    """Return the rows of baths of a piece that holds `chloride` mg behind a crack of `depth` mm."""
    rows, start, had = [], 0.0, 0.0
    for end in baths:
        out = images(diffusivity * end * 86_400 / (depth / 1000) ** 2)
        level = chloride * (out - had) / litres * (rng.lognormal(0, noise) if noise else 1)
        level += rng.normal(0, 0.3) if noise else 0
        shown = f"{level:.3g} mg/L" if level >= 1 else "below 1 mg/L"
        rows += [
            (start, "bath", f"{litres} L", ""),
            (start, "blank", "0.01 mg/L", ""),
            (end, "chloride", shown, ""),
        ]
        start, had = end, out
    return rows


def test_exact_readings_give_their_diffusivity_back(tmp_path):
    path = changed_piece(tmp_path, {"piece.crack_depth": "2 mm"})
    house = house_module.load(piece=path, root=ROOT, asking=True)
    logs = [made(house, bath_rows(None, 8e-12, 2, mg, noise=0)) for mg in (90, 150, 60)]
    found = by_name(logs, "how fast").estimate
    assert found.value == pytest.approx(8e-12, rel=0.05)
    held = by_name(logs, "gives").estimate
    assert held.value == pytest.approx(1000 * (90 * 150 * 60) ** (1 / 3) / 186, rel=0.05)
    assert held.low < 60 / 0.186 < 150 / 0.186 < held.high


@pytest.mark.long
def test_the_interval_of_the_diffusivity_covers_the_truth_nine_times_in_ten(piece):
    """Depths really scatter as the files say; readings as the house says: the truth is inside as often as it should."""
    rng = np.random.default_rng(6)
    inside, trials = 0, 60
    for _ in range(trials):
        true = rng.lognormal(np.log(8e-12), 0.3)
        depths = 2 * np.exp(rng.normal(0, np.log(4) / 2 / 1.6449, 3))
        logs = [
            made(piece, bath_rows(rng, true, depth, mg))
            for depth, mg in zip(depths, (60, 90, 150), strict=True)
        ]
        found = by_name(logs, "how fast").estimate
        inside += bool(found and found.low <= true <= found.high)
    assert inside >= 47  # nine in ten of 60, less three standard deviations; 361 of 400 when it was written


def test_more_pieces_narrow_the_interval(piece):
    rng = np.random.default_rng(7)
    logs = [made(piece, bath_rows(rng, 8e-12, 2, 90)) for _ in range(6)]
    few, many = (by_name(logs[:count], "how fast").estimate for count in (2, 6))
    assert many.high / many.low < few.high / few.low


def test_baths_that_do_not_slow_down_settle_nothing(piece):
    rng = np.random.default_rng(8)
    told = by_name([made(piece, bath_rows(rng, 1e-13, 2, 3000, baths=(1, 2, 3, 4, 5)))], "how fast")
    assert told.estimate is None
    assert "do not slow down enough yet" in told.lacks


# --- boxes, papers, etchants, dryings ----------------------------------------------------------


def box_rows(rng, changes, room=50.0, start=5.0):
    rows = [(0.0, "box closed", f"{start} %", "0 g")]
    for day in (0.5, 1, 2, 3, 4, 6):
        read = room - (room - start) * np.exp(-changes * day) + rng.normal(0, 0.3)
        rows += [
            (day, "box humidity", f"{read:.1f} %", ""),
            (day, "room humidity", f"{room + rng.normal(0, 1):.1f} %", ""),
        ]
    return rows


@pytest.mark.long
def test_boxes_give_the_next_box(piece):
    rng = np.random.default_rng(9)
    inside, trials = 0, 120
    for _ in range(trials):
        logs = [made(piece, box_rows(rng, changes)) for changes in rng.lognormal(np.log(0.3), 0.3, 4)]
        found = by_name(logs, "air changes").estimate
        inside += found.low <= rng.lognormal(np.log(0.3), 0.3) <= found.high
    assert 0.82 <= inside / trials <= 0.97


def test_a_box_with_gel_or_at_the_room_tells_no_leak(piece):
    rng = np.random.default_rng(10)
    with_gel = [
        ("box closed" if kind == "box closed" else kind, day, value, by)
        for day, kind, value, by in box_rows(rng, 0.3)
    ]
    rows = [(day, kind, value, "50 g" if kind == "box closed" else by) for kind, day, value, by in with_gel]
    assert "there are 0" in by_name([made(piece, rows)] * 3, "air changes").lacks
    damp = [(day, kind, "50 %", by) for day, kind, _, by in box_rows(rng, 0.3)]
    assert "too near to the room" in by_name([made(piece, damp)] * 3, "air changes").lacks


def test_stretches_of_paper_give_its_rate_and_mixed_ones_do_not_count(piece):
    rng = np.random.default_rng(11)
    rows, mass, true = [(0.0, "weighing", "180.000 g", "1 mg")], 180.0, []
    face = 0.9 * 9.0 * 4.6
    for stretch in range(5):
        rate = 5.5 * rng.lognormal(0, 0.1)
        true.append(rate)
        mass -= rate * 4 * 1e-4 * face * 7.88
        rows += [
            (stretch + 0.1, "sanding pass", "4 min", "P240"),
            (stretch + 0.2, "weighing", f"{mass:.3f} g", "1 mg"),
        ]
    rows += [(6, "sanding pass", "9 min", "P400"), (6.1, "etching pass", "60 s", "20 degC"),
             (6.2, "weighing", "170.0 g", "1 mg")]  # fmt: skip
    found = by_name([made(piece, rows)], "P240 takes off")
    logs = np.log(true)
    reach = stats.t.ppf(0.95, 4) * logs.std(ddof=1) * np.sqrt(1.2)
    assert found.estimate.value == pytest.approx(np.exp(logs.mean()), rel=0.01)
    assert found.estimate.high == pytest.approx(np.exp(logs.mean() + reach), rel=0.03)
    assert not found.line
    assert 'calc sanding-time rate="' in found.use
    assert not any("P400" in one.name for one in learning.learn([made(piece, rows)]))


def test_etchings_give_the_rise_with_the_temperature(piece):
    rng = np.random.default_rng(12)
    rows, mass, degrees = [(0.0, "weighing", "180.0000 g", "0.1 mg")], 180.0, (14, 16, 18, 20, 22, 24, 26, 28)
    face = 0.9 * 9.0 * 4.6
    for day, degree in enumerate(degrees):
        rate = (
            3.0 * np.exp(-30 / 8.314462618e-3 * (1 / (degree + 273.15) - 1 / 293.15)) * rng.lognormal(0, 0.02)
        )
        mass -= rate * 1e-4 * face * 7.88
        rows += [
            (day + 0.1, "etching pass", "60 s", f"{degree} degC"),
            (day + 0.2, "weighing", f"{mass:.4f} g", "0.1 mg"),
        ]
    learnt = [made(piece, rows)]
    rise = by_name(learnt, "rise of etching in nital")
    assert rise.estimate.low <= 30 <= rise.estimate.high
    assert rise.estimate.value == pytest.approx(30, rel=0.15)
    assert by_name(learnt, "depth that nital takes at 20").estimate.value == pytest.approx(3.0, rel=0.05)
    few = by_name([made(piece, rows[:7])], "rise of etching")
    assert "needs 4 etchings" in few.lacks


def test_dryings_give_the_time_until_the_mass_stands(piece):
    rng = np.random.default_rng(13)
    logs = []
    for whole in rng.lognormal(np.log(20), 0.2, 4):
        rows = [(0.0, "oven", "80 degC", "")]
        for hour in (1, 3, 6, 10, 15, 24, 36, 48):
            mass = 185 + 0.05 * max(0.0, 1 - np.sqrt(hour / whole)) + rng.normal(0, 0.0003)
            rows.append((hour / 24, "weighing", f"{mass:.4f} g", "0.1 mg"))
        logs.append(made(piece, rows))
    found = by_name(logs, "time in the oven")
    assert found.estimate.value == pytest.approx(20, rel=0.25)
    assert found.estimate.low < 20 < found.estimate.high
    assert found.key == "drying.oven_hold"
    assert "there are 2" in by_name(logs[:2], "time in the oven").lacks


# --- what is printed ---------------------------------------------------------------------------


def test_with_too_few_readings_each_says_how_many_are_needed(piece):
    for one in learning.learn([made(piece, [(0, "weighing", "186 g", "")])]):
        assert one.estimate is None
        assert one.lacks.startswith("needs ")
        assert not one.line


@pytest.mark.long
def test_the_lines_that_are_printed_are_taken_by_the_house_standard(tmp_path, capsys):
    assert main(["learn", *map(str, LOGGED)]) == 0
    printed = capsys.readouterr().out
    assert "nothing is applied by itself" in printed
    assert main(["learn", *map(str, LOGGED), "--json"]) == 0
    told = [one for one in json.loads(capsys.readouterr().out) if one.get("line")]
    assert {one["key"] for one in told} >= {"electrolysis.diffusivity", "storage.air_changes"}
    overlay = tmp_path / "house.yml"
    overlay.write_text("".join(f"{one['line']}\n" for one in told), encoding="utf-8")
    house = house_module.load(overlay=overlay)
    for one in told:
        entry = house.entry(one["key"])
        assert entry.grade == "Measured"
        assert entry.value == pytest.approx(one["value"], rel=0.06)
        assert entry.span == pytest.approx((one["low"], one["high"]), rel=0.06)
    before = (ROOT / "docs" / "house-standard.yml").read_bytes()
    assert main(["learn"]) == 0
    assert (ROOT / "docs" / "house-standard.yml").read_bytes() == before


def test_what_the_bench_of_the_demonstration_learns_holds_the_truth_it_was_made_with():
    """The generator (invented_logs.py) has 7.5e-12 m^2/s in two cracks a piece, boxes of 0.24 to 0.55, 5.6 um/min."""
    logs = [logbook.load(house_module.load(piece=path, root=ROOT, asking=True), path) for path in LOGGED]
    for name, true in (("how fast", 7.5e-12), ("air changes", 0.31), ("P240", 5.6)):
        found = by_name(logs, name).estimate
        assert found.low <= true <= found.high, name


def test_a_value_that_the_house_would_refuse_is_told_and_has_no_line(piece):
    rng = np.random.default_rng(14)
    told = by_name([made(piece, box_rows(rng, changes)) for changes in (0.05, 0.4, 3.0)], "air changes")
    assert told.estimate is not None
    assert not told.line
    assert "the house standard would refuse it" in told.use


@pytest.mark.long
def test_nothing_that_runs_needs_numpy():
    code = "import sys, handbook_calc.learning; assert not {'numpy', 'scipy'} & set(sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False).returncode == 0


def test_a_bench_without_logs_is_told_so(tmp_path, capsys):
    path = changed_piece(tmp_path, {})
    assert main(["learn", str(path)]) == 2
    assert "this piece has no log to learn from" in capsys.readouterr().err


def test_a_log_that_is_named_twice_counts_once(capsys):
    piece = str(LOGGED[0])
    assert main(["learn", piece, "--json"]) == 0
    once = capsys.readouterr().out
    assert main(["learn", piece, piece, "--json"]) == 0
    assert capsys.readouterr().out == once
