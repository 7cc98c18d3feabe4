"""Exposure beside the jar: two zones against their equations, shares that add up, limits that only tighten."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from support import examples

from handbook_calc.engine.bench import Bench
from handbook_calc.engine.faults import BadInput, Refusal
from handbook_calc.engine.tables import TABLES
from handbook_calc.exposure import (
    DAY,
    LOWER,
    MASSES,
    NAMES,
    SHORT,
    near_flow,
    near_room_level,
    near_zone_airflow,
    room_exposure,
    vapour_build_up,
    vapours_together,
)
from handbook_calc.solvents import FLAMMABLE, MOLAR_MASS, SOLVENTS
from handbook_calc.substances import limits_of, register
from handbook_calc.ventilation import gas_volume, vapour_level

SOME = examples(60)
HOUSE = (150.0, 200.0, 250.0)  # ppm, the strictest of the three drying solvents
AIR = st.floats(20, 1000)
RADIUS = st.floats(0.2, 1)
SPEED = st.floats(0.01, 0.5)
LITTLE = st.floats(0.1, 20)
HOURS = st.floats(0.25, 8)


def exposed(propanol=None, ethanol=None, acetone=None, ester=None, spirit=None, *, time=8.0, air=60.0,
            radius=0.5, speed=0.05, share=25.0, limits=HOUSE):  # fmt: skip
    return room_exposure(
        propanol, ethanol, acetone, ester, spirit, time, air, radius, speed, share, 25.0, 101.325, *limits
    )


@given(LITTLE, AIR, RADIUS, SPEED, st.floats(10, 200))
@examples(25)
def test_both_zones_settle_where_their_equations_settle(evaporation, air, radius, speed, volume):
    """The two equations of two-zone-2009, followed by SciPy until nothing changes."""
    flow = near_flow(radius, speed)
    made = evaporation / MOLAR_MASS[SOLVENTS.index("acetone")] * gas_volume(25, 101.325) * 1e6
    near_volume, far_volume = 2 / 3 * math.pi * radius**3, volume

    def change(_, level):
        near, far = level
        return [
            flow / near_volume * (far - near) + made / near_volume,
            flow / far_volume * (near - far) - air / far_volume * far,
        ]

    settled = solve_ivp(change, (0, 60 * volume / air), [0, 0], method="LSODA", rtol=1e-9, atol=1e-9).y[:, -1]
    found = near_room_level("acetone", evaporation, air, radius, speed, 25, 101.325, 250)
    assert found["near"] == pytest.approx(settled[0], rel=1e-5)
    assert found["room"] == pytest.approx(settled[1], rel=1e-5)


@given(LITTLE, AIR, RADIUS, SPEED)
@SOME
def test_the_room_is_the_mixed_room_and_the_jar_is_never_better(evaporation, air, radius, speed):
    found = near_room_level("acetone", evaporation, air, radius, speed, 25, 101.325, 250)
    assert found["room"] == pytest.approx(
        vapour_level("acetone", evaporation, air, 25, 101.325, 250)["level"]
    )
    assert found["near"] > found["room"]
    assert found["ratio"] == pytest.approx(1 + air / near_zone_airflow(radius, speed))
    assert found["verdict"] == ("stop" if found["near"] > 250 else "go")


@given(LITTLE, AIR, st.floats(10, 200), st.floats(0.1, 1400))
@SOME
def test_a_room_rises_to_its_steady_level_and_never_past_it(evaporation, air, volume, time):
    def level(minutes):
        return vapour_build_up("ethanol", evaporation, air, volume, minutes, 25, 101.325, 200)["level"]

    steady = vapour_level("ethanol", evaporation, air, 25, 101.325, 200)["level"]
    assert level(time) <= level(1440) <= steady * (1 + 1e-12)
    # At first the vapour of each minute stays in the room.
    first = evaporation / MOLAR_MASS[SOLVENTS.index("ethanol")] * gas_volume(25, 101.325) / 60 / volume * 1e6
    assert level(0.1) <= 0.1 * first
    assert level(0.1) == pytest.approx(0.1 * first, rel=0.1 / 60 * air / volume)


@given(
    st.lists(st.floats(0, 1), min_size=5, max_size=5), st.sampled_from(["working day", "quarter of an hour"])
)
@SOME
def test_shares_add_up(parts, period):
    limits = [*HOUSE, *DAY[3:]] if period == "working day" else SHORT
    levels = [part * limit for part, limit in zip(parts, limits, strict=True)]
    found = vapours_together(period, *levels, *HOUSE)
    assert found["share"] == pytest.approx(100 * sum(parts), abs=1e-9)
    assert found["verdict"] == ("stop" if found["share"] > 100 * (1 + 1e-12) else "go")
    assert parts[NAMES.index(found["most"])] == pytest.approx(max(parts))


@given(LITTLE, LITTLE, HOURS, AIR, SPEED)
@SOME
def test_two_solvents_are_the_sum_of_each_alone(propanol, spirit, time, air, speed):
    both = exposed(propanol, spirit=spirit, time=time, air=air, speed=speed)
    one = exposed(propanol, time=time, air=air, speed=speed)
    other = exposed(spirit=spirit, time=time, air=air, speed=speed)
    for name in ("near", "peak", "room"):
        assert both[name] == pytest.approx(one[name] + other[name])


@given(LITTLE, HOURS, AIR)
@SOME
def test_longer_or_less_air_is_never_better(acetone, time, air):
    found = exposed(acetone=acetone, time=time, air=air)
    longer = exposed(acetone=acetone, time=min(8, time * 1.1), air=air)
    less = exposed(acetone=acetone, time=time, air=air * 0.9)
    assert longer["near"] >= found["near"]
    assert longer["peak"] == pytest.approx(found["peak"])
    assert less["room"] > found["room"]
    assert less["peak"] > found["peak"]


def test_the_verdict_follows_the_worst_of_the_three_and_says_which():
    assert exposed(2.0, time=1)["verdict"] == "go"
    # Sweden's 150 ppm over the day; 30 g/h at the jar are 289 ppm.
    long = exposed(30.0)
    assert long["verdict"] == "stop"
    assert [reason[0] for reason in long["reasons"]] == ["day", "peak", "room"]
    short = exposed(30.0, time=0.25)
    assert short["verdict"] == "stop"
    assert [reason[0] for reason in short["reasons"]] == ["peak"]
    jar = exposed(18.0, air=200)
    assert [reason[0] for reason in jar["reasons"]] == ["share"]
    assert jar["verdict"] == "wait"


@given(st.floats(1, 150), st.floats(1, 200), st.floats(1, 250))
@SOME
def test_a_stricter_house_is_never_laxer(propanol, ethanol, acetone):
    given_levels = ("working day", 20.0, 20.0, 20.0, None, None)
    ours = vapours_together(*given_levels, propanol, ethanol, acetone)["share"]
    assert ours >= vapours_together(*given_levels, *HOUSE)["share"] * (1 - 1e-12)


def test_the_lists_are_the_registers():
    assert NAMES[:3] == FLAMMABLE
    assert MASSES[:3] == [MOLAR_MASS[SOLVENTS.index(name)] for name in FLAMMABLE]
    for place, name in enumerate(NAMES):
        assert LOWER[place] == register()[name].lower
        ppm = [limit.value for limit in limits_of(name, "day") if limit.unit == "ppm"]
        assert not ppm or DAY[place] <= min(ppm)
        assert SHORT[place] > DAY[place] > 0
    # Germany's 300 mg/m3 of white spirit, and the ceiling of 1800 mg/m3 of the United States.
    assert DAY[4] == pytest.approx(300 * 24.055 / 140)
    assert SHORT[4] == pytest.approx(1800 * 24.055 / 140)


@pytest.mark.parametrize(
    ("name", "arguments", "told"),
    [
        ("room-exposure", {"propanol": "5 g/h", "time": "1 h", "airflow": "0 m^3/h"}, "no steady level"),
        ("near-room-level", {"solvent": "acetone", "evaporation": "5 g/h", "airflow": "0 m^3/h"}, "no steady"),
        ("vapour-build-up", {"solvent": "acetone", "evaporation": "5 g/h", "time": "5 min", "airflow": "0 m^3/h"},
         "no steady level"),
        ("room-exposure", {"time": "1 h"}, "no vapour was named"),
        ("vapours-together", {"period": "working day"}, "no vapour was named"),
        ("room-exposure", {"acetone": "4000 g/h", "time": "1 h"}, "put out every source of ignition"),
        ("vapours-together", {"period": "working day", "ethanol": "5 ppm", "propanol_limit": "200 ppm"},
         "a limit of 200.ppm was given for a vapour whose strictest published limit is 150.ppm"),
    ],
)  # fmt: skip
def test_refusals_say_why(house, name, arguments, told):
    with pytest.raises(Refusal, match=told):
        Bench(house).ask(name, **arguments)


def test_a_working_day_is_no_longer_than_its_limits_are_meant_for(house):
    with pytest.raises(BadInput, match="a longer day has its own, lower limits"):
        Bench(house).ask("room-exposure", propanol="5 g/h", time="10 h")


def test_a_stop_is_a_stop_on_the_command_line(house):
    assert Bench(house).ask("room-exposure", propanol="30 g/h", time="8 h").stops() == ["verdict"]
    assert Bench(house).ask("vapours-together", period="working day", acetone="300 ppm").stops() == [
        "verdict"
    ]


def test_every_task_of_the_table_is_judged(house):
    for row in TABLES["exposure-by-task"].compute(house).rows:
        assert row[1].state in ("go", "wait", "stop")
        assert row[4] >= 0
    last = TABLES["exposure-by-task"].compute(house).rows[-1]
    assert last[0] == "A jar left open"
    assert last[1].state == "stop"
