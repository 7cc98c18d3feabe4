"""Water in air: pressure of saturated vapour, and the temperature that belongs to a pressure.

Magnus form with the constants of the World Meteorological Organization (source ``wmo-8``): over
water from -45 to 60 degC, over ice from -65 to 0 degC. Pressures in Pa, temperatures in degC.
"""

from math import exp, log

PRESSURE_AT_ZERO = 611.2
WATER_SLOPE = 17.62
WATER_SHIFT = 243.12
ICE_SLOPE = 22.46
ICE_SHIFT = 272.62
COLDEST_OVER_WATER = -45.0


def saturation_pressure_water(temperature):
    """Pressure of vapour over plain water, below 0 degC over water that has not frozen."""
    return PRESSURE_AT_ZERO * exp(WATER_SLOPE * temperature / (WATER_SHIFT + temperature))


def saturation_pressure_ice(temperature):
    """Pressure of vapour over ice."""
    return PRESSURE_AT_ZERO * exp(ICE_SLOPE * temperature / (ICE_SHIFT + temperature))


def dew_temperature(pressure):
    """Temperature at which vapour of this pressure, above zero, starts to form water."""
    ratio = log(pressure / PRESSURE_AT_ZERO)
    return WATER_SHIFT * ratio / (WATER_SLOPE - ratio)


def frost_temperature(pressure):
    """Temperature at which vapour of this pressure, above zero, starts to form ice."""
    ratio = log(pressure / PRESSURE_AT_ZERO)
    return ICE_SHIFT * ratio / (ICE_SLOPE - ratio)
