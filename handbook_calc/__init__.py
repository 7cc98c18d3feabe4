"""Calculations and tables for preparing and keeping iron meteorites on a small bench.

One module a stage of the bench; `handbook_calc.engine` is the machinery beneath them. Nothing here
knows of the site generator.
"""

__version__ = "0.1.0"
