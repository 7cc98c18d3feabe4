"""Potentials against reference electrodes, and the lines of iron and hydrogen."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook_calc import potentials as stage

ELECTRODE = st.sampled_from(stage.ELECTRODES)


@given(st.floats(-3000, 3000), ELECTRODE, ELECTRODE)
def test_there_and_back_is_the_same_reading(reading, one, other):
    there = stage.electrode_potential(reading, one, other)
    if -3000 <= there <= 3000:
        assert stage.electrode_potential(there, other, one) == pytest.approx(reading, abs=1e-9)
    assert stage.electrode_potential(reading, one, one) == pytest.approx(reading, abs=1e-9)


@given(st.floats(7, 14.5), st.floats(0, 60))
def test_iron_is_immune_only_below_the_hydrogen_line(ph, temperature):
    answer = stage.iron_line(ph, temperature)
    assert answer["potential"] < answer["hydrogen"] < 0
    assert answer["gap"] == pytest.approx(answer["hydrogen"] - answer["potential"])


@given(st.floats(7, 14), st.floats(0, 60))
def test_more_alkali_lowers_the_line_by_the_slope_of_nernst(ph, temperature):
    lower = (
        stage.iron_line(ph, temperature)["potential"] - stage.iron_line(ph + 0.5, temperature)["potential"]
    )
    assert lower == pytest.approx(0.5 * stage.nernst(temperature), rel=1e-9)


def test_the_slope_is_59_mv_at_room_temperature():
    assert stage.nernst(25) == pytest.approx(59.159, abs=0.001)


@given(ELECTRODE, st.floats(8, 14))
def test_the_verdict_goes_by_both_lines_whatever_the_electrode(electrode, ph):
    own = stage.electrode_potential_on_hydrogen(electrode)
    lines = stage.iron_line(ph, 25)

    def verdict(potential):
        return stage.potential_verdict(potential - own, electrode, ph, 25)["verdict"]

    assert verdict(lines["hydrogen"] + 1) == "not protected by the current"
    assert verdict(lines["hydrogen"] - 1) == "hydrogen, not immune"
    assert verdict(lines["potential"] - 29) == "hydrogen, not immune"
    assert verdict(lines["potential"] - 31) == "immune"


@pytest.mark.parametrize("written", ["SHE", "Ag/AgCl", "SCE", "mercury sulfate"])
def test_electrodes_have_the_names_people_use(written):
    assert stage.electrode_name(written) in stage.ELECTRODES


@pytest.mark.parametrize(
    ("temperature", "printed"), [(10, 11.29), (20, 9.09), (25, 8.26), (30, 7.56), (40, 6.41)]
)
def test_water_holds_as_much_oxygen_as_the_standard_table_says(temperature, printed):
    """Benson and Krause, from memory, mg/L under one atmosphere."""
    assert stage.dissolved_oxygen(temperature) == pytest.approx(printed, rel=0.01)


@given(st.floats(0.02, 5), st.floats(10, 40))
def test_a_thicker_still_layer_passes_less_oxygen(layer, temperature):
    assert stage.oxygen_current(2 * layer, temperature) == pytest.approx(
        stage.oxygen_current(layer, temperature) / 2
    )


def test_the_house_current_is_about_what_oxygen_takes_in_a_quiet_bath(house):
    """Why no page says that it holds the metal protected."""
    setting = house["electrolysis.current_density"]
    assert stage.oxygen_current(1.0, 20.0) < setting < stage.oxygen_current(0.1, 20.0)
