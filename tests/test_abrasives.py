"""Abrasives: scales, progressions, losses: limits, monotony, inverse pairs, refusals, house changes."""

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from support import changed_house, examples, for_each

from handbook_calc.abrasives import (
    GRITS,
    SIZES,
    SYSTEMS,
    grit_equivalent,
    grit_progression,
    grit_size,
    normal,
    removal_rate,
    sanded_slice,
    sanding_time,
    step_removal,
    stock_loss,
)
from handbook_calc.engine import house as house_module
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.data import rows
from handbook_calc.engine.faults import BadInput, HouseFaults, Refusal
from handbook_calc.engine.tables import TABLES, Refused

SOME = examples(60)
P_GRITS = [grit for grit, system in zip(GRITS, SYSTEMS, strict=True) if system == "FEPA P"]
SIZE = dict(zip(GRITS, SIZES, strict=True))
LADDER_A = ["P120", "P240", "P400", "P800", "P1200"]


def papers(answer) -> list[str]:
    return [step[0] for step in answer["steps"]]


# --- the table of grits


def test_every_scale_runs_from_coarse_to_fine():
    for system in set(SYSTEMS):
        sizes = [size for size, own in zip(SIZES, SYSTEMS, strict=True) if own == system]
        assert sizes == sorted(sizes, reverse=True)
        assert len(set(sizes)) == len(sizes), "two grades of one scale are never the same size"


def test_every_grit_has_one_name_a_size_a_source_and_lies_in_its_spread():
    assert len(set(GRITS)) == len(GRITS)
    for row in rows("grits"):
        assert float(row["low"]) <= float(row["size"]) <= float(row["high"])
        assert row["measure"]
        assert row["tolerance"] == "" or row["tolerance_source"] != ""


@pytest.mark.parametrize("system", ["FEPA P", "ANSI", "JIS", "FEPA F"])
def test_neighbouring_grades_are_never_half_apart(system):
    """A missing grade would show as a jump; the standards step by less than 1.6."""
    sizes = [size for size, own in zip(SIZES, SYSTEMS, strict=True) if own == system]
    for coarse, fine in pairwise(sizes):
        assert 1 < coarse / fine <= 1.7


@pytest.mark.parametrize(
    ("grit", "spread"),
    [
        ("P80", 0),
        ("ANSI 400", 100 * (23.6 - 22) / 22),
        ("ANSI 1200", 30),  # published as 6.5 and as 5
        ("F80", 100 * 5 / 180),
    ],
)
def test_the_spread_is_the_highest_published_size_over_the_lowest(grit, spread):
    assert grit_size(grit)["spread"] == pytest.approx(spread)


@pytest.mark.parametrize(("grit", "tolerance"), [("P12", None), ("P240", 2), ("P2500", 0.5), ("F1000", 0.8)])
def test_a_tolerance_is_given_where_the_standard_states_one(grit, tolerance):
    assert grit_size(grit)["tolerance"] == tolerance


# --- spelling


@pytest.mark.parametrize(
    ("written", "grit"),
    [
        ("P800", "P800"),
        ("p 800", "P800"),
        ("P-800", "P800"),
        ("FEPA P800", "P800"),
        ("P1200 grit", "P1200"),
        ("600 ANSI", "ANSI 600"),
        ("CAMI 600", "ANSI 600"),
        ("ANSI/CAMI 320", "ANSI 320"),
        ("3000 JIS", "JIS 3000"),
        ("JIS #3000", "JIS 3000"),
        ("f 220", "F220"),
        ("9um", "9 um"),
        ("9 µm", "9 um"),
        ("9 μm", "9 um"),
        ("0.25 micron", "0.25 um"),
        ("D9", "9 um"),
    ],
)
def test_usual_spellings_are_read(written, grit):
    assert Bench(None).ask("grit-size", grit=written).inputs["grit"] == grit
    assert normal(grit) == grit


@pytest.mark.parametrize("written", ["600", "#600", "600 grit", "no. 600", " 600 "])
def test_a_bare_number_is_no_specification(written):
    with pytest.raises(BadInput) as caught:
        Bench(None).ask("grit-size", grit=written)
    message = str(caught.value)
    for part in ("grit-size: grit = ", "no scale", "P600 is 25.8 um", "ANSI 600 is 16 um", "F600 is 9.3 um"):
        assert part in message


@pytest.mark.parametrize(
    ("written", "part"),
    [
        ("P700", "nearest are P600 and P800"),
        ("P3000", "maker's figure in micrometres"),
        ("ANSI 1500", "nearest is ANSI 1200"),
        ("4 um", "nearest are 3 um and 5 um"),
        ("FEPA 800", "P800, on paper, or F800"),
        ("mesh 800", "on no known scale ('mesh')"),
        ("very fine", "is not a grit"),
        ("P800 / P1000", "is not a grit"),
        ("1e5", "is not a grit"),
    ],
)
def test_what_is_no_grit_is_refused_with_the_way_out(written, part):
    with pytest.raises(BadInput) as caught:
        Bench(None).ask("grit-size", grit=written)
    assert part in str(caught.value)


@given(st.text(max_size=12))
@SOME
def test_any_text_is_read_or_refused_never_a_crash(text):
    try:
        read = normal(text)
    except ValueError:
        return
    assert read in GRITS


# --- equivalents


def test_the_trap_ansi_600_is_not_p600():
    """Reading the number alone picks a paper 1.6 times as coarse."""
    assert grit_equivalent("ANSI 600", "FEPA P")["grit"] == "P1200"
    assert grit_size("P600")["size"] / grit_size("ANSI 600")["size"] > 1.5
    assert grit_size("ANSI 400")["size"] < grit_size("P600")["size"]


@for_each("grit", GRITS)
def test_a_grit_is_its_own_equivalent(grit):
    found = grit_equivalent(grit, SYSTEMS[GRITS.index(grit)])
    assert found == {"grit": grit, "size": SIZE[grit], "difference": 0}


@given(st.sampled_from(GRITS), st.sampled_from(sorted(set(SYSTEMS))))
@SOME
def test_no_grit_of_the_scale_is_nearer_than_the_one_given(grit, system):
    apart = {
        other: abs(math.log(SIZE[other] / SIZE[grit]))
        for other, own in zip(GRITS, SYSTEMS, strict=True)
        if own == system
    }
    if min(apart.values()) > math.log(1.3):
        with pytest.raises(Refusal) as caught:
            grit_equivalent(grit, system)
        assert caught.value.code == "no-equivalent"
    else:
        found = grit_equivalent(grit, system)
        assert apart[found["grit"]] == pytest.approx(min(apart.values()))
        assert found["difference"] == pytest.approx((found["size"] / SIZE[grit] - 1) * 100)


def test_no_equivalent_names_the_nearest_and_what_to_do():
    with pytest.raises(Refusal, match=r"JIS 240, is 57\xa0µm.*choose by micrometres"):
        grit_equivalent("P80", "JIS")


def test_a_scale_that_is_two_scales_is_asked_back():
    with pytest.raises(BadInput, match="FEPA P, paper, or FEPA F"):
        Bench(None).ask("grit-equivalent", grit="P800", system="FEPA")


# --- progressions


@given(
    st.sampled_from(P_GRITS),
    st.sampled_from(P_GRITS),
    st.floats(1.4, 3),
    st.sets(st.sampled_from(P_GRITS), max_size=12),
    st.floats(0.1, 5),
)
@SOME
def test_a_progression_is_finer_and_finer_and_counts_its_removal(start, finish, ratio, stock, factor):
    assume(SIZE[start] >= SIZE[finish])
    stock = sorted(stock | {start, finish})
    found = grit_progression(start, finish, ratio, stock, 3.0, factor)
    steps = found["steps"]
    assert papers(found)[0] == start
    assert papers(found)[-1] == finish
    assert set(papers(found)) <= set(stock)
    assert found["papers"] == len(steps)
    removal = 0.0
    for before, after in pairwise(steps):
        assert after[1] < before[1]
        assert after[2] == pytest.approx(before[1] / after[1])
        assert after[3] == pytest.approx(factor * before[1])
        removal += after[3]
        kept = after[2] <= ratio * (1 + 1e-9)
        assert after[4] == ("yes" if kept else "no")
        if not kept:  # then there is nothing between the two in stock
            assert not [g for g in stock if before[1] > SIZE[g] > after[1]]
    assert found["removal"] == pytest.approx(removal)
    assert found["ratio_kept"] == ("no" if found["gaps"] else "yes")


@given(st.sampled_from(P_GRITS), st.sampled_from(P_GRITS), st.floats(1.4, 3), st.floats(1.0, 1.5))
@SOME
def test_a_wider_ratio_never_needs_more_papers(start, finish, ratio, wider):
    assume(SIZE[start] >= SIZE[finish] and ratio * wider <= 3)
    narrow = grit_progression(start, finish, ratio, P_GRITS, 3.0, 1.0)
    wide = grit_progression(start, finish, ratio * wider, P_GRITS, 3.0, 1.0)
    assert wide["papers"] <= narrow["papers"]
    least = math.ceil(math.log(SIZE[start] / SIZE[finish]) / math.log(ratio) - 1e-9)
    assert narrow["papers"] - 1 >= least, "fewer papers than the ratio allows on any scale"


def test_one_paper_is_its_own_progression():
    found = grit_progression("P800", "P800", 1.7, ["P800"], 3.0, 1.0)
    assert papers(found) == ["P800"]
    assert found["removal"] == 0
    assert found["steps"][0][2:4] == [None, None]


def test_without_a_stock_every_grade_of_the_scale_may_be_used():
    answer = Bench(None).ask(
        "grit-progression",
        start="P120", finish="P1200", ratio="1.7", stocked="none", paste_ratio="3", factor="1",
    )  # fmt: skip
    assert answer.results["ratio_kept"] == "yes"
    assert {SYSTEMS[GRITS.index(grit)] for grit in papers(answer.results)} == {"FEPA P"}


@pytest.mark.parametrize("ratio", [1.3, 1.5, 1.9, 2.2])
@pytest.mark.parametrize(
    ("start", "finish", "scales"),
    [
        ("P120", "P1200", {"FEPA P"}),
        ("ANSI 80", "ANSI 600", {"ANSI"}),
        ("ANSI 80", "P400", {"ANSI", "FEPA P"}),
        ("P400", "1 um", {"FEPA P", "micrometre"}),
        ("JIS 240", "F1200", {"JIS", "FEPA F"}),
    ],
)
def test_no_stock_means_all_of_the_two_scales_and_no_other(start, finish, scales, ratio):
    stock = [grit for grit, system in zip(GRITS, SYSTEMS, strict=True) if system in scales]
    whole = grit_progression(start, finish, ratio, None, 3.0, 1.0)
    assert whole == grit_progression(start, finish, ratio, stock, 3.0, 1.0)
    assert {SYSTEMS[GRITS.index(grit)] for grit in papers(whole)} <= scales


@given(st.permutations(P_GRITS), st.floats(1.2, 3))
@SOME
def test_the_order_in_which_the_stock_is_listed_means_nothing(stock, ratio):
    listed = grit_progression("P60", "P2500", ratio, P_GRITS, 3.0, 1.0)
    assert grit_progression("P60", "P2500", ratio, stock, 3.0, 1.0) == listed


def test_the_coarsest_grit_of_the_table_may_be_the_first():
    """P12 stands in the first row, which is a row like any other."""
    found = grit_progression("P12", "P20", 1.4, ["P20", "P16", "P12"], 3.0, 1.0)
    assert papers(found) == ["P12", "P16", "P20"]


def test_a_step_that_meets_the_ratio_exactly_keeps_it():
    """201 um over 100 um is 2.01, though 100 x 2.01 is a last binary digit less than 201."""
    assert grit_progression("P80", "P150", 2.01, ["P80", "P150"], 3.0, 1.0)["ratio_kept"] == "yes"
    assert grit_progression("P80", "P150", 2.0099, ["P80", "P150"], 3.0, 1.0)["ratio_kept"] == "no"


def test_a_micrometre_film_counts_as_paste_up_to_15_um():
    for before, film, kept in (("30 um", "15 um", "no"), ("40 um", "20 um", "yes")):
        found = grit_progression(before, film, 2.2, [before, film], 1.5, 1.0)
        assert found["ratio_kept"] == kept


def test_the_nearest_in_stock_is_judged_by_ratio_not_by_difference():
    """From 1 um, 3 um is three times and 0.05 um twenty times as far."""
    with pytest.raises(Refusal, match="nearest stocked one is 3 um"):
        grit_progression("1 um", "0.05 um", 1.7, ["0.05 um", "3 um"], 3.0, 1.0)


def test_a_stock_that_cannot_keep_the_ratio_says_so_step_by_step():
    answer = Bench(None).ask(
        "grit-progression",
        start="P120", finish="P1200", ratio="1.7", stocked=",".join(LADDER_A), paste_ratio="3", factor="1",
    )  # fmt: skip
    plain = answer.plain()["results"]
    assert [step["kept"] for step in plain["steps"]["value"]] == ["yes", "no", "yes", "yes", "yes"]
    assert plain["ratio_kept"]["value"] == "no"
    assert plain["gaps"]["value"] == ["P120 to P240 is a jump of 2.14; allowed is 1.70."]


def test_pastes_come_last_and_never_before_a_paper():
    stock = ["P400", "P800", "P1200", "P2500", "9 um", "3 um", "1 um"]
    assert "9 um" not in papers(grit_progression("P400", "P2500", 1.7, stock, 3.0, 1.0))
    micro = papers(grit_progression("P400", "1 um", 1.7, stock, 3.0, 1.0))
    assert micro[-3:] == ["9 um", "3 um", "1 um"]
    assert all(grit.startswith("P") for grit in micro[:-3])


def test_from_fine_to_coarse_is_refused():
    with pytest.raises(Refusal, match=r"coarser than the first.*exchange the two"):
        grit_progression("P800", "P120", 1.7, ["P120", "P800"], 3.0, 1.0)


def test_the_larger_number_may_be_the_coarser_paper():
    with pytest.raises(Refusal) as caught:
        grit_progression("ANSI 400", "P600", 1.7, ["ANSI 400", "P600"], 3.0, 1.0)
    assert caught.value.code == "coarser"


@pytest.mark.parametrize(
    ("start", "finish", "missing"), [("P150", "P800", "P120"), ("P120", "P1000", "P800")]
)
def test_a_grit_not_in_stock_is_refused_with_the_nearest(start, finish, missing):
    with pytest.raises(Refusal, match=f"nearest stocked one is {missing}"):
        grit_progression(start, finish, 1.7, ["P120", "P400", "P800"], 3.0, 1.0)


# --- depth, mass, time


@given(st.sampled_from(GRITS), st.floats(0.1, 2.4))
@SOME
def test_step_removal_goes_with_grain_and_factor(grit, factor):
    assert step_removal(grit, 2 * factor) == pytest.approx(2 * step_removal(grit, factor))
    assert step_removal(grit, 1.0) == SIZE[grit]


@given(st.floats(1, 1000), st.floats(1, 1000), st.floats(6.9, 8.3))
@SOME
def test_mass_goes_with_area_and_depth(area, depth, density):
    assert stock_loss(2 * area, depth, density) == pytest.approx(2 * stock_loss(area, depth, density))
    assert stock_loss(area, depth, density) == pytest.approx(stock_loss(depth, area, density))
    assert stock_loss(area, 0.0, density) == 0


@given(st.floats(5, 200), st.floats(20, 200), st.floats(6.9, 8.3), st.floats(0.5, 60))
@SOME
def test_the_rate_gives_back_the_depth_that_was_taken_off(area, depth, density, time):
    lost = stock_loss(area, depth, density)
    assume(0.1 < lost < 900)
    found = removal_rate(1000.0, 1000.0 - lost, area, time, density, 0.001)
    assert found["depth"] == pytest.approx(depth, rel=1e-9)
    assert sanding_time(found["depth"], found["rate"], 1.5)["time"] == pytest.approx(time, rel=1e-9)


@given(st.floats(1, 500), st.floats(1, 50), st.floats(0.5, 10))
@SOME
def test_the_sheets_last_for_the_time_and_one_fewer_does_not(depth, rate, sheet_time):
    found = sanding_time(depth, rate, sheet_time)
    assert found["sheets"] * sheet_time >= found["time"] * (1 - 1e-9)
    assert (found["sheets"] - 1) * sheet_time < found["time"]


@given(st.floats(2, 30), st.floats(0, 400), st.floats(10, 5000))
@SOME
def test_what_is_left_and_what_is_lost_make_the_slice(thickness, depth, mass):
    assume(thickness - depth / 1000 > 0.5)
    one = sanded_slice(mass, thickness, depth, 1, 0.5, 90.0)
    assert one["thickness"] + depth / 1000 == pytest.approx(thickness)
    assert one["lost"] / mass == pytest.approx(one["share"] / 100)
    if thickness - 2 * depth / 1000 > 0.5:
        two = sanded_slice(mass, thickness, depth, 2, 0.5, 90.0)
        assert two["lost"] == pytest.approx(2 * one["lost"])


def test_a_slice_at_the_limit_passes_and_below_it_is_refused():
    assert sanded_slice(100.0, 2.0, 250.0, 2, 1.5, 30.0)["thickness"] == pytest.approx(1.5)
    with pytest.raises(Refusal, match="sand one face, start from a finer paper") as caught:
        sanded_slice(100.0, 2.0, 251.0, 2, 1.5, 30.0)
    assert caught.value.code == "too-thin"
    for depth in (1000.0, 1500.0):
        with pytest.raises(Refusal, match="as much as the slice is thick"):
            sanded_slice(100.0, 2.0, depth, 2, 1.5, 30.0)
    # 0.5 mm is left, which is thin and not gone.
    with pytest.raises(Refusal) as caught:
        sanded_slice(100.0, 2.0, 750.0, 2, 1.5, 30.0)
    assert caught.value.code == "too-thin"


def test_a_loss_above_the_limit_asks_the_owner():
    assert sanded_slice(100.0, 4.0, 300.0, 2, 1.5, 15.0)["verdict"] == "go"
    assert sanded_slice(100.0, 4.0, 301.0, 2, 1.5, 15.0)["verdict"] == "ask"


def test_a_loss_the_balance_cannot_show_gives_no_rate():
    assert removal_rate(50.0, 49.95, 20.0, 1.0, 7.88, 0.01)["doubt"] == pytest.approx(20)
    with pytest.raises(Refusal, match="sand longer"):
        removal_rate(50.0, 49.96, 20.0, 1.0, 7.88, 0.01)
    with pytest.raises(Refusal, match="clean and dry it"):
        removal_rate(50.0, 50.0, 20.0, 1.0, 7.88, 0.01)


# --- units


def test_units_do_not_change_the_answer():
    ask = Bench(None).ask
    metric = ask("stock-loss", area="77.4192 cm^2", depth="25.4 um", density="7.88 g/cm^3")
    other = ask("stock-loss", area="12 in^2", depth="0.001 in", density="7880 kg/m^3")
    assert other.results["mass"] == pytest.approx(metric.results["mass"], rel=1e-9)
    slice_metric = ask(
        "sanded-slice",
        mass="90.71847 g", thickness="2.54 mm", depth="254 um",
        faces="2", limit="1.5 mm", loss_limit="30 %",
    )  # fmt: skip
    slice_other = ask(
        "sanded-slice",
        mass="3.2 oz_avdp", thickness="0.1 in", depth="0.01 in",
        faces="2", limit="0.15 cm", loss_limit="30 %",
    )  # fmt: skip
    for name in ("thickness", "share", "lost"):
        assert slice_other.results[name] == pytest.approx(slice_metric.results[name], rel=1e-7)


def test_the_bare_ounce_is_asked_back():
    with pytest.raises(BadInput, match=r"oz_avdp.*ozt"):
        Bench(None).ask("sanded-slice", mass="3.2 oz", thickness="2 mm", depth="100 um", faces="1",
                        limit="1.5 mm", loss_limit="15 %")  # fmt: skip


# --- the house standard


def changed(tmp_path, **values) -> house_module.House:
    return changed_house(tmp_path, {f"abrasives.{key}": value for key, value in values.items()})


def test_the_house_progression_keeps_the_house_ratio(house):
    for end in ("finish", "finish_ferric", "finish_micro"):
        found = Bench(house)("grit-progression", finish=house[f"abrasives.{end}"])
        assert found["ratio_kept"] == "yes"
        assert papers(found)[-1] == house[f"abrasives.{end}"]


def test_another_finish_changes_the_progression_its_table_and_its_total(house, tmp_path):
    coarser = changed(tmp_path, finish="P800")
    before, after = (TABLES["grit-progression"].compute(h) for h in (house, coarser))
    assert before.rows[-1][0] == house["abrasives.finish"] == "P1200"
    assert after.rows[-1][0] == "P800"
    assert before.rows[: len(after.rows)] == after.rows
    assert before.notes != after.notes
    total = [Bench(h)("grit-progression")["removal"] for h in (house, coarser)]
    assert total[0] - total[1] == pytest.approx(SIZE["P800"])
    for name in ("thickness-after", "grit-ladders", "finish-choice"):
        assert TABLES[name].compute(house).rows != TABLES[name].compute(coarser).rows
    assert TABLES["grit-scale"].compute(house).rows == TABLES["grit-scale"].compute(coarser).rows


@pytest.mark.parametrize(
    ("values", "part"),
    [
        ({"finish": "P1000"}, "abrasives.finish: P1000 is not in abrasives.stocked; allowed is one of"),
        ({"start": "P150"}, "abrasives.start: P150 is not in abrasives.stocked"),
        ({"finish": "P80"}, "abrasives.finish: P80 (201 um) is coarser than abrasives.start, P120"),
        ({"flatten": "P100"}, "abrasives.flatten: P100 is not in abrasives.stocked"),
        ({"flatten": "P240"}, "abrasives.flatten: P240 (58.5 um) is finer than abrasives.start, P120"),
        ({"finish": "1200"}, "abrasives.finish: 1200 has no scale"),
        ({"ratio": "1.5"}, "P240 to P400 is a jump of 1.671; allowed is at least 1.68"),
        ({"paste_ratio": "2"}, "9 um to 3 um is a jump of 3.000; allowed is at least 3,"),
        ({"ratio": "3"}, "abrasives.ratio: 3 is out of range; allowed is 1.2 to 2.2"),
        ({"stocked": "[P120, P120]"}, "abrasives.stocked: [P120, P120] names one entry twice"),
        ({"density": "78.8 g/cm^3"}, "abrasives.density: 78.8 g/cm^3 is out of range"),
        ({"density": "7.88"}, "has no unit"),
    ],
)
def test_a_house_that_contradicts_itself_is_refused(tmp_path, values, part):
    with pytest.raises(HouseFaults) as caught:
        changed(tmp_path, **values)
    assert part in str(caught.value)


@pytest.mark.parametrize(
    "values",
    [
        {"start": "P80", "removal_factor": "3", "thin_limit": "10 mm"},
        {"finish": "1 um", "finish_ferric": "1 um"},
        {"finish": "P400"},
        {"stocked": "[P12, P120, P400, 1 um]", "start": "P120", "start_cutoff": "P12", "finish": "P120",
         "flatten": "P120", "start_precision": "P120", "finish_ferric": "P120", "finish_micro": "P120", "removal_factor": "3"},
    ],
)  # fmt: skip
def test_every_table_fills_for_an_unusual_house(tmp_path, values):
    unusual = changed(tmp_path, **values)
    for table in TABLES.values():
        if table.stage == "abrasives":
            assert table.compute(unusual).rows


def test_the_thin_slice_is_stopped_in_the_table(house):
    rows_of_table = TABLES["thickness-after"].compute(house).rows
    assert any(isinstance(cell, Refused) for cell in rows_of_table[0])
    assert not any(isinstance(cell, Refused) for cell in rows_of_table[-1])
