"""Every table fills, holds no broken number, and follows the house standard."""

import csv
import io
import math

import pytest
from support import changed_house, for_each

from handbook_calc.engine.faults import Refusal
from handbook_calc.engine.registers import REGISTERS
from handbook_calc.engine.tables import (
    TABLES,
    Axis,
    Banner,
    Column,
    Computed,
    Mark,
    Refused,
    Span,
    matrix,
    shown,
)


@for_each("name", TABLES)
def test_table_is_whole(name, filled):
    filled = filled(name)
    assert filled.rows
    assert filled.title
    assert filled.question.endswith("?")
    for row in filled.rows:
        if isinstance(row[0], Banner):
            continue
        for cell, column in zip(row, filled.columns, strict=True):
            numbers = (cell.low, cell.value, cell.high) if isinstance(cell, Span) else (cell,)
            for number in numbers:
                assert not isinstance(number, float) or math.isfinite(number)
            if isinstance(cell, Span):
                assert cell.low <= cell.value <= cell.high
            if isinstance(cell, Mark):
                assert cell.state in ("go", "wait", "stop")
            assert shown(cell, column) != "" or cell == ""
    if name not in REGISTERS:
        assert len(filled.columns) <= 10, "too wide for a phone"


@for_each("name", TABLES)
def test_csv_holds_the_same_numbers(name, filled):
    filled = filled(name)
    heading, *lines = csv.reader(io.StringIO(filled.csv()))
    assert {len(line) for line in lines} == {len(heading)}
    if any(isinstance(cell, Span) for row in filled.rows for cell in row):
        return
    rows = [row for row in filled.rows if not isinstance(row[0], Banner)]
    for row, line in zip(rows, lines, strict=True):
        for cell, text in zip(row, line, strict=True):
            if isinstance(cell, float):
                assert float(text) == pytest.approx(cell, rel=1e-5)


def changed(tmp_path, house, key, value):
    """Return the ids of the tables whose cells change with one house value."""
    other = changed_house(tmp_path, {key: value})
    return {
        name
        for name in TABLES
        if name not in REGISTERS and TABLES[name].compute(other).csv() != TABLES[name].compute(house).csv()
    }


@pytest.mark.long
def test_one_house_value_moves_its_tables_and_no_other(tmp_path, house):
    moved = changed(tmp_path, house, "rinsing.bath", "100 mL")
    assert moved == {"rinse-series"}
    for name in moved:
        assert "rinsing.bath" in TABLES[name].compute(house).values


def test_a_table_names_the_values_and_sources_it_depends_on(house):
    filled = TABLES["rinse-series"].compute(house)
    assert {"piece.area", "rinsing.film", "rinsing.bath", "rinsing.start", "rinsing.limit"} <= set(
        filled.values
    )
    assert filled.calculations == ("drag-out", "rinse-baths", "rinse-sequence")
    assert "mass-balance" in filled.sources


def test_matrix_marks_a_refused_cell_and_keeps_the_rest():
    def cell(down, across):
        if across > 5:
            raise Refusal("too warm")
        return down * across

    sheet = matrix(Axis("Depth", "mm", (1, 2)), Axis("At", "degC", (5, 10)), "h", cell)
    assert [column.title for column in sheet.columns] == ["Depth", "5\u00a0°C", "10\u00a0°C"]
    assert sheet.rows == [[1, 5, Refused("too warm")], [2, 10, Refused("too warm")]]


def test_cells_as_people_read_them():
    column = Column("x", "mm", 3)
    assert [shown(cell, column) for cell in (None, "word", 3, 3.14159, Span(1, 2, 4), Mark("go", "go"))] == [
        "–", "word", "3", "3.14", "2 (1 to 4)", "go",
    ]  # fmt: skip


def test_spans_and_marks_in_csv():
    filled = Computed(
        "t", "T", "Q?", "s",
        (Column("a", "mm"), Column("b", "h"), Column("c")),
        ((1.0, Span(1, 2, 4), Mark("stop", "stop: wet")),),
        (), (), (), (),
    )  # fmt: skip
    assert filled.csv() == "a [mm],b [h],b low [h],b high [h],c\n1,2,1,4,stop: wet\n"
