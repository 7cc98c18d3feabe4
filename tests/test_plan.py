"""The plan of a piece: its arithmetic by hand, its laws, its refusals, its dates, and the same in V8."""

import itertools
import json
import math
import random
from datetime import date, timedelta

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import ROOT, changed_piece, examples

from handbook_calc.__main__ import main
from handbook_calc.engine import diary, forms, plan_script, planning, sheet, steps
from handbook_calc.engine import house as house_module
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import because
from handbook_calc.engine.faults import BadDeclaration
from handbook_calc.engine.planning import plan_of
from handbook_calc.engine.steps import MATERIALS, STEPS
from handbook_calc.plan import next_open, run_segments, schedule, step_times

PIECES = sorted((ROOT / "docs" / "pieces").glob("*.yml"))
RANDOM_PIECES = 1000


def planned(folder, facts=(), start=None, spans=False):
    """Return the plan of the example with some facts changed."""
    standard = house_module.load(piece=changed_piece(folder, dict(facts)), root=folder, asking=True)
    return plan_of(standard, start, spans)


def by_id(plan):
    """Return the steps of a plan by id."""
    return {p.step.id: p for p in plan.steps}


def value(plan, step, figure):
    """Return the best value of a figure."""
    return by_id(plan)[step].figures[figure].value


@pytest.fixture(scope="module")
def bench_plans():
    """The plans of all pieces of the bench, with their intervals."""
    return {path.stem: plan_of(house_module.load(piece=path, root=ROOT, asking=True)) for path in PIECES}


# --- by hand -----------------------------------------------------------------------------------


def test_the_figures_of_the_example_by_hand(tmp_path):
    """186 g of iron at 7.88 g/cm^3, 98 cm^2, a crack of 4 mm: each figure worked here from the house's values."""
    plan = planned(tmp_path)
    metal = 186 / 7.88
    assert value(plan, "electrolysis", "bath") == pytest.approx(math.ceil(10 * metal / 1000 * 20) / 20)
    assert value(plan, "electrolysis", "salt") == pytest.approx(20 * 0.25)
    assert value(plan, "electrolysis", "current") == pytest.approx(0.05e-3 * 98)
    assert value(plan, "rinse", "drag_out") == pytest.approx(98 / 10_000 * 215 + 0.2)
    assert value(plan, "rinse", "bath") == 500
    # Three rinses at least: 20 mg/L x (2.307/500)^n <= 0.05 needs n > ln 400 / ln 216.7 = 1.11.
    assert value(plan, "rinse", "baths") == max(3, math.ceil(math.log(400) / math.log(500 / 2.307)))
    # Water out of 4 mm of alcohol: one per cent left of the first term of the series of a slab; the
    # diffusivity is that of 25 degC, and a bath of 20 degC is slower by the viscosity's 22.16 kJ/mol.
    colder = math.exp(22_160 / 8.314 * (1 / 293.15 - 1 / 298.15))
    seconds = 4 / math.pi**2 * math.log(8 / math.pi**2 / 0.01) * 4000**2 / 300 * colder
    assert value(plan, "dry-again", "soak") == pytest.approx(seconds / 3600, rel=1e-3)
    assert value(plan, "dehydrate", "hours") == max(3 * 12, seconds / 3600)
    assert value(plan, "sand", "face") == pytest.approx(0.9 * 9.0 * 4.6)
    assert value(plan, "etch-nital", "acid") == pytest.approx(2.0, rel=0.02)
    # 2 mL of nitric acid of 68 % and 1.405 g/cm^3; NaHCO3 84.007, HNO3 63.013 g/mol; three times that lies ready.
    pure = 2.0 * 1.405 * 0.68
    assert value(plan, "neutralise", "bicarbonate") == pytest.approx(3 * pure * 84.007 / 63.013, rel=0.01)


def test_the_days_of_the_baths_by_hand(tmp_path):
    """95 per cent out of a blind crack: the first term of the series; and the stop rule, walked week by week."""
    plan = planned(tmp_path)
    days = by_id(plan)["electrolysis"].takes.value
    rate = math.pi**2 / 4 * 1e-11 * 86_400 / 0.004**2  # of the slowest term, 1/d

    def released(day):
        terms = ((2 * n + 1) * math.pi for n in range(400))
        return 1 - sum(8 / k**2 * math.exp(-(k**2) * 1e-11 * 86_400 * day / 0.004**2 / 4) for k in terms)

    out = math.log(8 / math.pi**2 / 0.05) / rate
    salt, enough = 300 * 0.186, min(5 * 0.25, 6.3 * 0.186)
    week = next(d for d in range(2000) if salt * (released(d + 7) - released(d)) <= enough)
    least = max(out, week - 1 + 14)
    assert least <= days <= least + 14 + 7  # whole baths, and a first one changed in the morning


def test_each_figure_is_that_of_its_calculation(tmp_path):
    plan = planned(tmp_path)
    bench = Bench(plan.house)
    house = plan.house
    area, depth = house["piece.area"], house["piece.crack_depth"]
    assert (
        value(plan, "coat", "coats") == bench("coating-amounts", coating="acrylic-brush", area=area)["coats"]
    )
    assert value(plan, "store", "gel") == float(
        bench("gel-mass", box_volume=5.0, limit_humidity=12.0)["reserve_mass"]
    )
    assert value(plan, "dehydrate", "air") == max(
        12, 4 * float(bench("crack-drying-time", solvent="2-propanol", depth=depth, temperature=21.0))
    )
    assert value(plan, "oven-dry", "warming") * 60 == pytest.approx(
        float(bench("heat-up-time", mass=186.0, area=area, start=21.0, oven=80.0, target=78.0)["time_inside"])
    )


def test_each_kind_of_waste_has_containers_of_its_own(tmp_path):
    """By hand: bath, rinses and nital in tubs of 20 L, alcohol in a can of 5 L: never fewer than the kinds."""
    plan = planned(tmp_path)
    totals = {name: amount.value for name, amount in plan.totals.items()}
    tubs = sum(math.ceil(totals[n] / 16) for n in ("alkaline waste", "rinse water", "acid waste"))
    assert value(plan, "waste", "containers") == tubs + math.ceil(totals["solvent waste"] / 4) == 4
    kinds = ("alkaline waste", "rinse water", "acid waste", "solvent waste")
    assert value(plan, "waste", "liquid") == pytest.approx(sum(totals[n] for n in kinds))


def test_flattening_counts_into_the_thickness_that_sanding_leaves(tmp_path):
    """6 mm less a bow of 2 mm less what the papers take."""
    plan = planned(tmp_path, {"piece.warp": "2 mm"})
    papers = value(plan, "sand", "removal") / 1000
    assert value(plan, "flatten", "left") == pytest.approx(4)
    assert value(plan, "sand", "left") == pytest.approx(4 - papers)


@pytest.mark.parametrize("etchant", ["nital", "ferric chloride"])
@pytest.mark.parametrize("warp", ["0.05 mm", "4.3 mm", "5 mm"])
def test_a_face_that_would_be_too_thin_is_neither_flattened_nor_etched(tmp_path, etchant, warp):
    facts = {"wanted.etchant": etchant, "piece.warp": warp}
    if warp == "0.05 mm":
        facts |= {"piece.thickness": "1.6 mm", "piece.mass": "50 g"}
    steps_of = by_id(planned(tmp_path, facts))
    assert steps_of["sand"].refused is not None
    for closed in ("flatten", "sand", "etch-nital", "etch-ferric-chloride", "neutralise", "dry-again"):
        assert not steps_of[closed].applies


def test_the_acid_that_is_left_comes_with_its_cautions():
    """Bicarbonate froths in acid, and waste of an etch meets nothing else: said before the step."""
    assert {"nitric-acid", "ferric-chloride", "never-together"} <= set(STEPS["neutralise"].cautions)


@pytest.mark.long
def test_totals_are_the_sums_of_the_steps(bench_plans):
    for plan in bench_plans.values():
        v, _ = planning.facts(plan.house)
        done = planning.run(v)
        for name, amount in plan.totals.items():
            total = math.fsum(
                more for r in done.values() if r["applies"] for used, more in r["uses"] if used == name
            )
            assert amount.value == pytest.approx(total)
        waste = [amount.value for name, amount in plan.totals.items() if name.endswith("waste")]
        rinse = plan.totals["rinse water"].value if "rinse water" in plan.totals else 0
        if "waste" in by_id(plan) and by_id(plan)["waste"].applies:
            assert value(plan, "waste", "liquid") == pytest.approx(sum(waste) + rinse)


# --- the pieces of the bench -------------------------------------------------------------------


def test_there_are_twelve_pieces_and_they_differ(bench_plans):
    assert len(bench_plans) == 12
    masses = [plan.house["piece.mass"] for plan in bench_plans.values()]
    assert min(masses) == 8
    assert max(masses) == 25_000
    assert {plan.house["piece.shape"] for plan in bench_plans.values()} == {
        "slice", "end piece", "whole", "fragment"
    }  # fmt: skip
    assert {plan.house["piece.kind"] for plan in bench_plans.values()} == {
        "iron",
        "pallasite",
        "mesosiderite",
    }
    assert {plan.grade for plan in bench_plans.values()} >= {"G1", "G2", "G3", "G4", "G5"}


ROUTES = {
    "LY-003": ("G1", False, None),
    "LY-009": ("G1", False, None),
    "LY-014": ("G3", True, None),
    "LY-017": ("G3", True, None),
    "LY-021": ("G4", True, None),
    "LY-022": ("G2", False, None),
    "LY-030": ("G3", True, None),
    "LY-035": ("G3", True, "the baths last"),
    "LY-041": ("G5", False, None),
    "LY-048": ("G4", True, "flammable solvent"),
    "LY-052": ("G1", False, None),
    "LY-060": ("G3", False, None),
}


@pytest.mark.parametrize("name", ROUTES)
def test_each_piece_has_a_way_or_is_refused_as_a_whole_with_a_way_out(bench_plans, name):
    grade, bath, refused = ROUTES[name]
    plan = bench_plans[name]
    assert (plan.grade, by_id(plan)["electrolysis"].applies) == (grade, bath)
    if refused is None:
        assert plan.refused is None
    else:
        assert refused in plan.refused
        assert "Keep it dry, see Store" in plan.refused or "keep it dry, see Store" in plan.refused
    assert [p.step.id for p in plan.steps] == list(STEPS)
    assert all(p.why for p in plan.steps)


def test_intervals_hold_the_best_value_and_are_wide_where_nobody_knows(bench_plans):
    for plan in bench_plans.values():
        for amount in (plan.takes, *plan.totals.values(), *(p.takes for p in plan.steps)):
            assert amount.low <= amount.value <= amount.high
            assert all(map(math.isfinite, (amount.low, amount.value, amount.high)))
    assert bench_plans["LY-014"].takes.high > 1.5 * bench_plans["LY-014"].takes.value


def test_a_big_end_piece_is_added_up_honestly(bench_plans):
    """2.3 kg: a user of the handbook came by hand to 141 baths and 430 L in more than two years."""
    plan = bench_plans["LY-035"]
    assert 100 < value(plan, "electrolysis", "baths") < 200
    assert 300 < value(plan, "electrolysis", "liquid") < 600
    assert plan.takes.value > 730


# --- what is not done, and why -----------------------------------------------------------------

WISHES = [
    ({"piece.sulphide": "yes"}, "etch-nital", "hydrogen sulphide"),
    ({"piece.sulphide": "unknown"}, "etch-nital", "hydrogen sulphide"),
    ({"piece.glued": "yes", "piece.rusted_share": "0.5 %", "piece.return_days": "none"}, "etch-nital",
     "acid creeps along a joint"),
    ({"wanted.etchant": "ferric chloride"}, "etch-ferric-chloride", "carry chloride into cracks"),
    ({"piece.beads": "yes", "piece.flaking": "yes"}, "coat", "G5 closes that"),
    ({"piece.beads": "yes", "piece.flaking": "yes"}, "sand", "G5 closes that"),
    ({"piece.treatments": "2"}, "coat", "G3 closes that"),
    ({"piece.shape": "whole", "piece.mass": "90 g"}, "sand", "a whole has no cut face"),
    ({"wanted.face": "no"}, "etch-nital", "no face is finished"),
    ({"piece.thickness": "1.6 mm", "piece.mass": "40 g"}, "sand", "less than the 1.5"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("facts", "step", "says"), WISHES, ids=[f"{w[1]} {next(iter(w[0]))}" for w in WISHES]
)
def test_an_unsafe_wish_is_refused_with_its_reason(tmp_path, facts, step, says):
    plan = planned(tmp_path, facts)
    found = by_id(plan)[step]
    assert not found.applies
    assert says in (found.refused or "").replace("\u00a0", " ")
    assert found.begin is None


LEFT_OUT = [
    ({"piece.beads": "yes", "piece.flaking": "yes"}, "decide", "support and net"),
    ({"piece.treatments": "2"}, "decide", "treated 2 times"),
    ({"piece.glued": "yes"}, "decide", "alkali loosens many glues"),
    ({"piece.kind": "pallasite", "piece.mass": "110 g"}, "decide", "gentler than any bath"),
    ({"piece.return_days": "30 d"}, "decide", "no reason to wait again"),
    ({"piece.return_days": "none"}, "decide", "a face or a coat is wanted"),
]  # fmt: skip


@pytest.mark.parametrize(("facts", "step", "says"), LEFT_OUT, ids=[w[2] for w in LEFT_OUT])
def test_the_route_says_why(tmp_path, facts, step, says):
    assert says in by_id(planned(tmp_path, facts))[step].why.replace("\u00a0", " ")


def test_a_restless_piece_an_etched_one_and_one_that_rusted_again_have_a_way_through(tmp_path):
    restless = by_id(planned(tmp_path, {"piece.return_days": "20 d", "piece.treatments": "1"}))
    assert restless["rust-came-back"].applies
    assert restless["electrolysis"].applies
    etched = by_id(planned(tmp_path, {"piece.etched": "yes"}))
    assert etched["electrolysis"].applies
    assert any("etched face will not survive" in hold for hold in etched["decide"].holds)
    assert "sanded anew from P400" in etched["sand"].why
    again = by_id(planned(tmp_path, {"piece.treatments": "2"}))
    assert not again["electrolysis"].applies
    assert again["store"].applies


# --- laws --------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def base(house):
    """The facts of the example by key."""
    return planning.facts(house)[0]


def changed(v, **facts):
    """Return facts with some of the piece's changed."""
    return v | {f"piece.{name}": fact for name, fact in facts.items()}


def days(v):
    """Return the days of a plan by step, and in all as `takes`."""
    found = planning._numbers(v)
    return {key.removeprefix("takes:"): n for key, n in found.items() if key.startswith("takes")}


@given(depth=st.floats(0.1, 60), deeper=st.floats(1, 3))
@examples(60)
def test_a_deeper_crack_never_shortens(base, depth, deeper):
    shallow, deep = (days(changed(base, crack_depth=d)) for d in (depth, depth * deeper))
    for step in ("electrolysis", "rinse", "dehydrate", "dry-again", "takes"):
        assert deep[step] >= shallow[step] - 1e-9, step


@given(mass=st.floats(20, 10_000), more=st.floats(1, 3))
@examples(60)
def test_more_mass_never_warms_faster(base, mass, more):
    light, heavy = (planning.run(changed(base, mass=m))["oven-dry"]["figures"] for m in (mass, mass * more))
    assert heavy["warming"] >= light["warming"] * (1 - 1e-9)
    assert heavy["round"] >= light["round"] * (1 - 1e-9)


@given(limit=st.floats(1, 100), strict=st.floats(0.05, 1))
@examples(60)
def test_a_stricter_limit_never_needs_fewer_baths(base, limit, strict):
    def course(stop):
        return planning.run(base | {"electrolysis.stop_limit": stop})["electrolysis"]["figures"]["baths"]

    def rinses(least):
        return planning.run(base | {"rinsing.limit": least / 10})["rinse"]["figures"]["baths"]

    assert course(limit * strict) >= course(limit)
    assert rinses(limit * strict) >= rinses(limit)


@given(hours=st.floats(0.25, 16), start=st.floats(0, 20))
@examples(60)
def test_hands_work_in_the_attended_hours_only_and_nothing_goes_before_its_turn(base, hours, start):
    v = base | {"wanted.hours": min(hours, 24 - start), "work.day_start": start}
    done = planning.run(v)
    times = planning._times(done, v)
    ends = 0.0
    for id, result in done.items():
        if not result["applies"] or STEPS[id].beside:
            continue
        begin, end = times[id]
        assert begin >= ends - 1e-9
        ends = end
        for first, last in planning._hands(result["segments"], begin, v):
            assert start - 1e-6 <= first % 24
            assert last % 24 <= start + v["wanted.hours"] + 1e-6 or last % 24 < 1e-6


def test_all_is_dry_before_it_is_coated_and_every_hold_is_in_order(base, house):
    """Whatever the piece: wet, then alcohol, then oven, then box, watch, face, coat; and the waste at the end."""
    order = ["electrolysis", "rinse", "dehydrate", "oven-dry", "store", "monitor", "sand", "degrease", "dry-again",
             "coat", "waste"]  # fmt: skip
    draw = random.Random(7)
    for _ in range(200):
        v = random_facts(draw, base, house)
        done = planning.run(v)
        times = planning._times(done, v)
        for before, after in itertools.pairwise(i for i in order if done[i]["applies"]):
            assert times[before][1] <= times[after][0] + 1e-9
        if done["electrolysis"]["applies"]:
            assert all(done[step]["applies"] for step in ("rinse", "dehydrate", "oven-dry", "monitor"))
        if done["etch-nital"]["applies"] or done["etch-ferric-chloride"]["applies"]:
            assert done["neutralise"]["applies"]
            assert done["dry-again"]["applies"]
        if done["coat"]["applies"] or done["sand"]["applies"]:
            level = done["survey"]["says"]["level"]
            assert level <= 2 or done["electrolysis"]["applies"]


@given(later=st.integers(0, 4000))
@examples(20)
@pytest.mark.long
def test_a_start_so_many_days_later_moves_all_dates_by_as_many(tmp_path_factory, later):
    folder = tmp_path_factory.mktemp("later")
    first = date(2026, 12, 1)
    early, late = (planned(folder, start=day).plain() for day in (first, first + timedelta(days=later)))
    for one, other in zip(early["steps"], late["steps"], strict=True):
        for key in ("earliest", "likely_end"):
            if one[key] is None:
                assert other[key] is None
            else:
                moved = date.fromisoformat(one[key]) + timedelta(days=later)
                assert other[key] == moved.isoformat()
    assert early["totals"] == late["totals"]
    assert early["takes"] == late["takes"]


def test_ounces_and_inches_give_what_grams_and_millimetres_give(tmp_path):
    metric = planned(tmp_path, {"piece.mass": "170.09713875 g", "piece.length": "88.9 mm"})
    other = planned(tmp_path, {"piece.mass": "6 oz_avdp", "piece.length": "3.5 inch"})
    for one, two in zip(metric.steps, other.steps, strict=True):
        assert one.takes.value == pytest.approx(two.takes.value, rel=1e-9)
        for name in one.figures:
            assert one.figures[name].value == pytest.approx(two.figures[name].value, rel=1e-9)


# --- nights and windows ------------------------------------------------------------------------


def test_a_window_that_would_open_at_night_shifts_the_step():
    """Coats of half an hour, the next after 18 h and before 25 h: from 09:00 that is 03:30, shut till 10:30."""
    coats = [[2, 0.5, 18.0, 25.0], [1, 0.5, 0.0, None]]
    begin, end, met = step_times(9.0, coats, 9.0, 3.0)
    assert met
    assert begin == 9.0
    assert end == 9.0 + 48 + 0.5
    # Before 23.4 h the morning comes too late for a coat of nine o'clock; one of eleven is met by ten.
    tight = [[1, 0.5, 18.0, 23.4], [1, 0.5, 0.0, None]]
    begin, end, met = step_times(9.0, tight, 9.0, 3.0)
    assert met
    assert begin > 9.0
    assert (end - 0.5) - (begin + 0.5) <= 23.4
    # From 10 h to 12 h after a coat nobody is there, whatever the hour.
    assert not step_times(9.0, [[1, 0.5, 10.0, 12.0], [1, 0.5, 0.0, None]], 9.0, 3.0)[2]


def test_a_window_that_never_opens_refuses_the_coat(tmp_path):
    """Urethane takes its next coat between half an hour and 72 h; a house that shuts it at 9 h has no hour for it."""
    facts = {"wanted.coating": "urethane-brush", "wanted.hours": "1 h"}
    standard = house_module.load(piece=changed_piece(tmp_path, facts), asking=True)
    assert by_id(plan_of(standard, spans=False))["coat"].applies
    over = tmp_path / "ours.yml"
    over.write_text(
        "coating:\n  kinds:\n    urethane-brush:\n      # why\n      earliest_recoat: 4 h\n"
        "      # why\n      latest_recoat: 9 h\n", encoding="utf-8"
    )  # fmt: skip
    standard = house_module.load(overlay=over, piece=tmp_path / "LY-014.yml", asking=True)
    found = by_id(plan_of(standard, spans=False))["coat"]
    assert not found.applies
    assert "never falls into the attended hours" in (found.refused or "")


@given(t=st.floats(0, 500), later=st.floats(0, 50), hands=st.floats(0.1, 30), hours=st.floats(0.5, 12))
@examples(200)
def test_a_later_start_never_ends_earlier(t, later, hands, hours):
    segments = [[2, hands, 5.0, None], [1, hands, 0.0, None]]
    early, late = (run_segments(at, segments, 8.0, hours) for at in (t, t + later))
    assert late[0] >= early[0] - 1e-9
    assert late[1] >= early[1] - 1e-9
    assert next_open(t, hands, 8.0, hours) >= t - 1e-9


def test_nothing_is_planned_twice_at_one_time():
    times = schedule([[[1, 2.0, 10.0, None]], [[3, 1.0, 0.0, None]], []], 9.0, 2.0)
    assert times == [[9.0, 21.0], [33.0, 58.0], [58.0, 58.0]]


# --- the command line --------------------------------------------------------------------------


def test_json_is_that_of_the_catalogue(tmp_path, capsys):
    path = changed_piece(tmp_path, {})
    assert main(["plan", str(path), "--json"]) == 0
    plan = json.loads(capsys.readouterr().out)
    assert set(plan) >= {"piece", "grade", "edition", "refused", "steps", "totals", "takes"}
    assert (plan["piece"], plan["grade"], plan["edition"], plan["refused"]) == (
        "LY-014",
        "G3",
        "2026.1",
        None,
    )
    pages = {page.stem for page in (ROOT / "docs" / "procedures").glob("*.md")}
    assert {step["id"] for step in plan["steps"]} == pages
    bath = next(step for step in plan["steps"] if step["id"] == "electrolysis")
    assert set(bath) >= {"id", "applies", "why", "refused", "figures", "takes", "attended", "holds", "earliest",
                         "likely_end"}  # fmt: skip
    assert bath["figures"]["bath"] == {"value": 0.25, "unit": "L", "low": 0.25, "high": 0.25}
    assert set(bath["takes"]) == {"likely", "low", "high", "unit"}
    assert (bath["takes"]["unit"], bath["attended"]["unit"]) == ("d", "h")
    assert plan["totals"]["water"]["unit"] == "L"
    assert plan["totals"]["solvent"]["unit"] == "L"


def test_the_exit_status_is_that_of_a_stop_where_the_whole_route_is_refused(tmp_path, capsys):
    assert main(["plan", str(ROOT / "docs" / "pieces" / "LY-035.yml"), "--json"]) == 3
    plan = json.loads(capsys.readouterr().out)
    assert "Keep it dry, see Store" in plan["refused"]
    assert sum(step["applies"] for step in plan["steps"]) > 10
    assert main(["plan", str(tmp_path / "none.yml")]) == 2
    assert "there is no such piece file" in capsys.readouterr().err
    path = changed_piece(tmp_path, {"piece.mass": "20 kg"})
    assert main(["plan", str(path)]) == 2
    assert "piece.thickness: 6 mm does not go with the rest" in capsys.readouterr().err.replace("\u00a0", " ")


def test_a_start_that_is_no_day_is_told(tmp_path, capsys):
    with pytest.raises(SystemExit) as caught:
        main(["plan", str(changed_piece(tmp_path, {})), "--start", "2026-02-30"])
    assert caught.value.code == 2
    assert "is no day of the calendar" in capsys.readouterr().err


@pytest.mark.long
def test_text_names_every_step_and_every_unknown(tmp_path, capsys):
    path = changed_piece(tmp_path, {"piece.crack_depth": "unknown", "piece.area": "unknown"})
    assert main(["plan", str(path)]) == 0
    printed = capsys.readouterr().out
    for step in STEPS.values():
        assert f"({step.id})" in printed
    assert "not known: piece.crack_depth, taken as 10" in printed
    assert "not known: piece.area" in printed
    assert "cure: baths lower the chloride" in printed


@pytest.mark.long
def test_what_the_house_cannot_do_is_told_and_the_plan_goes_round_it_or_refuses(tmp_path, capsys):
    facts = {"piece.crack_depth": "12 mm", "piece.area": "700 cm^2", "piece.crack_volume": "14 mL"}
    plan = planned(tmp_path, facts)
    told = " ".join(plan.misfits)
    for key in ("drying.air_dry", "etching.etchant_volume", "drying.bath"):
        assert key in told
    assert value(plan, "dehydrate", "air") > 12
    assert value(plan, "dehydrate", "bath") == pytest.approx(20 * 14)
    assert main(["plan", str(changed_piece(tmp_path, facts)), "--json"]) in (0, 3)
    assert "drying.air_dry" in " ".join(json.loads(capsys.readouterr().out)["misfits"])
    vapour = planned(tmp_path, {"piece.crack_volume": "45 mL"})
    assert "share of the flammable limit" in (by_id(vapour)["oven-dry"].refused or "")
    assert vapour.refused is not None
    coarse = planned(tmp_path, {"piece.crack_volume": "0.001 mL"})
    assert any("balance cannot see" in hold for hold in by_id(coarse)["oven-dry"].holds)


@pytest.mark.long
def test_without_a_start_there_are_no_dates(tmp_path, capsys):
    path = changed_piece(tmp_path, {"wanted.start": "none"})
    assert main(["plan", str(path), "--json"]) == 0
    plan = json.loads(capsys.readouterr().out)
    assert {step["earliest"] for step in plan["steps"]} == {None}
    assert main(["plan", str(path), "--calendar", str(tmp_path / "a.ics")]) == 2
    assert "needs a first day" in capsys.readouterr().err
    assert main(["plan", str(path), "--calendar", str(tmp_path / "a.ics"), "--start", "2027-01-01"]) == 0
    assert (tmp_path / "a.ics").is_file()


@pytest.mark.long
def test_today_lists_hands_on_work_of_all_pieces(capsys):
    assert main(["today", "--date", "2026-12-11"]) == 0
    printed = capsys.readouterr().out
    assert "LY-014: Take chloride out: alkaline baths (8 of 22)" in printed
    assert "waits" in printed
    assert main(["today", "--date", "2020-01-01"]) == 0
    assert "nothing is planned" in capsys.readouterr().out


def test_what_a_file_says_stays_text_in_its_page(tmp_path):
    facts = {"piece.number": '"<script>alert(1)</script>"', "piece.coated": '"<b onclick=x>"'}
    plan = planned(tmp_path, facts)
    for shown in (sheet.html(plan), sheet.bench_html({"LY-1": plan}), sheet.words(plan)):
        assert "<script>alert" not in shown
        assert "<b onclick" not in shown
        assert "&lt;script&gt;" in shown


def test_the_drawing_tells_in_words_what_it_draws(bench_plans):
    drawn = sheet.drawing(bench_plans["LY-014"])
    assert 'role="img"' in drawn
    assert "Take chloride out: alkaline baths: 4" in drawn
    assert drawn.count('<text x="0"') == sum(p.applies for p in bench_plans["LY-014"].steps)
    assert "nan" not in drawn


# --- the calendar ------------------------------------------------------------------------------


def test_a_calendar_reads_back_with_a_maintained_library(tmp_path):
    """RFC 5545 by icalendar: the same events, texts and times, and the same bytes on a second writing."""
    plan = planned(tmp_path, {"piece.number": '"LY;9, \\\\ ü 🙂"'})
    written = diary.calendar(plan)
    assert written == diary.calendar(plan)
    read = icalendar.Calendar.from_ical(written)
    events = [part for part in read.walk("VEVENT")]
    works = list(diary.work_of(plan))
    assert len(events) == len(works) > 30
    for event, work in zip(events, works, strict=True):
        assert str(event["SUMMARY"]) == work.title
        assert event.decoded("DTSTART") == work.begin
        assert event.decoded("DTEND") == work.end
        assert work.planned.why in str(event["DESCRIPTION"])
    assert len({str(event["UID"]) for event in events}) == len(events)
    assert written.endswith(b"END:VCALENDAR\r\n")
    assert max(map(len, written.split(b"\r\n"))) <= 75
    assert b"\n" not in written.replace(b"\r\n", b"")


def test_a_moved_start_keeps_the_names_of_the_events(tmp_path):
    one, other = (diary.calendar(planned(tmp_path, start=date(2027, 1, day))) for day in (1, 8))
    names = [[line for line in text.split(b"\r\n") if line.startswith(b"UID")] for text in (one, other)]
    assert names[0] == names[1]
    assert one != other


# --- declarations ------------------------------------------------------------------------------

SLIPS = [
    ({"after": "nowhere"}, "follows 'nowhere', which is no step"),
    ({"after": "clean"}, "follows 'clean' as 'electrolysis' does"),
    ({"beside": "coat", "after": ""}, "follows no step"),
    ({"why": {"other": "Because."}, "after": "clean-bench"}, "gives the code 'x', which it does not declare"),
    (
        {"why": {"x": "Because.", "y": "Because."}, "after": "clean-bench"},
        "declares the code 'y', which it never",
    ),
]


@pytest.mark.parametrize(("change", "says"), SLIPS, ids=[slip[1][:30] for slip in SLIPS])
def test_a_slip_in_a_declaration_is_told_with_its_place(change, says):
    def kernel(v, done):
        """A step that is none."""
        return because("x")

    try:
        steps.step("trial", title="T", **({"why": {"x": "Because."}, "after": "clean-bench"} | change))(
            kernel
        )
        with pytest.raises(BadDeclaration, match=r"test_plan.py:\d+: step 'trial': ") as caught:
            steps.check()
        assert says in str(caught.value)
    finally:
        STEPS.pop("trial", None)


def test_a_sentence_without_a_stop_and_an_unknown_unit_are_told():
    def kernel(v, done):
        """A step that is none."""

    with pytest.raises(BadDeclaration, match="does not end with a stop"):
        steps.step("trial", title="T", why={"x": "Because"})(kernel)
    with pytest.raises(BadDeclaration, match="unknown unit 'furlong'"):
        steps.step("trial", title="T", why={"x": "Because."}, figures={"x": steps.Figure("furlong", "x")})(
            kernel
        )
    with pytest.raises(BadDeclaration, match="has no docstring"):
        steps.step("trial", title="T", why={"x": "Because."})(lambda v, done: None)


def test_every_step_has_its_page_its_cautions_theirs_and_every_material_a_use(bench_plans):
    for step in STEPS.values():
        assert (ROOT / "docs" / "procedures" / f"{step.id}.md").is_file()
        for name in step.cautions:
            assert (ROOT / "docs" / "safety" / f"{name}.md").is_file()
    used = {name for plan in bench_plans.values() for name in plan.totals}
    assert used == set(MATERIALS)


# --- the same in V8 ----------------------------------------------------------------------------


def random_facts(draw, v, house):
    """Return facts of a random piece, within what a file may hold."""
    found = dict(v)
    pick = draw.choice
    found |= {
        "piece.kind": pick(("iron", "iron", "pallasite", "mesosiderite")),
        "piece.shape": pick(("slice", "slice", "end piece", "whole", "fragment")),
        "piece.mass": math.exp(draw.uniform(math.log(5), math.log(28_000))),
        "piece.length": draw.uniform(20, 250),
        "piece.width": draw.uniform(15, 180),
        "piece.thickness": draw.uniform(1, 130),
        "piece.area": math.exp(draw.uniform(math.log(5), math.log(3000))),
        "piece.crack_depth": math.exp(draw.uniform(math.log(0.1), math.log(80))),
        "piece.crack_through": pick((True, False)),
        "piece.crack_filled": pick((True, False)),
        "piece.crack_volume": pick((0.0, draw.uniform(0, 1), draw.uniform(0, 40))),
        "piece.rusted_share": pick((0.0, draw.uniform(0, 2), draw.uniform(0, 60))),
        "piece.beads": draw.random() < 0.2,
        "piece.flaking": draw.random() < 0.1,
        "piece.crack_length": draw.uniform(0, 60),
        "piece.return_days": pick((None, draw.uniform(1, 800))),
        "piece.treatments": pick((0, 0, 1, 2)),
        "piece.glued": draw.random() < 0.2,
        "piece.coated": pick(("none", "lacquer")),
        "piece.etched": draw.random() < 0.3,
        "piece.sulphide": draw.random() < 0.2,
        "piece.warp": pick((0.05, draw.uniform(0, 1))),
        "wanted.face": pick((True, True, False)),
        "wanted.coating": pick(("none", *house.names("coating.kinds"))),
        "wanted.box": draw.uniform(0.2, 60),
        "wanted.hours": draw.uniform(0.3, 10),
    }
    found["wanted.etchant"] = pick(("none", "nital", "ferric chloride")) if found["wanted.face"] else "none"
    for key in found:
        if key.startswith("coat."):
            entry = house.entries.get(f"coating.kinds.{found['wanted.coating']}.{key.removeprefix('coat.')}")
            found[key] = entry.value if entry else None
    return found


@pytest.fixture(scope="module")
def v8(house):
    """An embedded V8 with the formulas and the steps."""
    from py_mini_racer import MiniRacer

    engine = MiniRacer()
    engine.eval("var window = this;")
    made = forms.scripts(house) | plan_script.scripts(house)
    for name in (*forms.WHOLE, "plan-data.js", "plan.js"):
        engine.eval(made[name])
    bench = ROOT / "docs" / "assets" / "bench"
    for name in ("read.js", "answer.js", "interval.js", "planning.js"):
        engine.eval((bench / name).read_text(encoding="utf-8"))
    engine.eval("function planned(text) {var a = JSON.parse(text); return JSON.stringify(a.map(function (one) {"
                "return HB.planOf(one[0], one[1]);}));}")  # fmt: skip
    yield engine
    engine.close()


def same(ours, theirs):
    """Say whether two plans agree: sentences to the letter, numbers to the last digits of a power."""
    assert ours["grade"] == theirs["grade"]
    assert ours["refused"] == theirs["refused"]
    close = pytest.approx
    for one, other in zip(ours["steps"], theirs["steps"], strict=True):
        assert (one["id"], one["applies"]) == (other["id"], other["applies"])
        assert (one["why"], one["refused"], one["holds"]) == (other["why"], other["refused"], other["holds"])
        assert one["figures"].keys() == other["figures"].keys()
        for name, amount in one["figures"].items():
            assert other["figures"][name]["value"] == close(amount["value"], rel=1e-9, abs=1e-12)
            assert other["figures"][name]["high"] == close(amount["high"], rel=1e-6, abs=1e-12)
        assert other["takes"]["value"] == close(one["takes"]["likely"], rel=1e-9, abs=1e-9)
        assert other["attended"]["value"] == close(one["attended"]["likely"], rel=1e-9, abs=1e-9)
    assert ours["totals"].keys() == theirs["totals"].keys()
    for name, amount in ours["totals"].items():
        assert theirs["totals"][name]["value"] == close(amount["value"], rel=1e-9)


class Varied(house_module.House):
    """A house whose piece is given by its facts."""

    def __init__(self, house, v):
        super().__init__(house.entries, house.files)
        self.v = v

    def __getitem__(self, key):
        return self.v.get(key, super().__getitem__(key))


@pytest.mark.long
def test_a_thousand_random_pieces_are_planned_alike_in_v8(v8, house, base, monkeypatch):
    draw = random.Random(2026)
    pieces = [random_facts(draw, base, house) for _ in range(RANDOM_PIECES)]
    theirs = json.loads(v8.call("planned", json.dumps([[v, []] for v in pieces])))
    refused = done = 0
    for v, other in zip(pieces, theirs, strict=True):
        monkeypatch.setattr(planning, "facts", lambda _, v=v: (v, []))
        ours = plan_of(Varied(house, v)).plain()
        same(ours, other)
        refused += ours["refused"] is not None
        done += 1
    assert done == RANDOM_PIECES
    assert 20 < refused < RANDOM_PIECES / 2


def test_the_pieces_of_the_bench_have_the_same_intervals_in_v8(v8, bench_plans):
    for name in ("LY-014", "LY-030"):
        plan = bench_plans[name]
        v, leaves = planning.facts(plan.house)
        spans = [
            {"key": leaf.name, "value": leaf.value, "low": leaf.low, "high": leaf.high, "unit": leaf.unit,
             "least": leaf.least, "most": leaf.most}
            for leaf in leaves
        ]  # fmt: skip
        (theirs,) = json.loads(v8.call("planned", json.dumps([[v, spans]])))
        same(plan.plain(), theirs)
        assert theirs["takes"]["low"] == pytest.approx(plan.takes.low, rel=1e-6)
        assert theirs["takes"]["high"] == pytest.approx(plan.takes.high, rel=1e-6)
