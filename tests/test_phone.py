"""How tables stand on a phone: the form that their words ask for, and what their cells say of their columns."""

import re
from html import unescape

import pytest
from handbook_site.phone import with_cards
from hypothesis import given
from hypothesis import strategies as st
from support import examples

from handbook_calc.engine import phone
from handbook_calc.engine.tables import TABLES, table

SENTENCE = "the mixture can run away and burst its bottle after hours of quiet"


@pytest.mark.parametrize(
    ("heads", "row", "form", "turned"),
    [
        (["Depth mm", "15 °C", "20 °C"], ["4", "9.2 (7.1 to 12)", "8.0 (6.1 to 10)"], phone.GRID, set()),
        (["Area", *["sodium\u00a0hydroxide"] * 5], ["10", *["1.25"] * 5], phone.GRID, {1, 2, 3, 4, 5}),
        (["This", "and this", "Why"], ["acid", SENTENCE, SENTENCE], phone.CARDS, set()),
        (["Form", *["Left"] * 9], ["10", *["1234567"] * 9], phone.CARDS, set()),
        # One column of words beside its names is no grid that has to be taken apart.
        (["Term", "Meaning"], ["acid", SENTENCE], phone.GRID, set()),
    ],
)
def test_the_words_of_a_table_decide_its_form(heads, row, form, turned):
    found, heads_turned = phone.layout(heads, [row])
    assert found == form
    assert heads_turned == turned or (turned and heads_turned <= turned)


def test_no_more_heads_are_turned_than_it_takes():
    heads = ["Area", "potassium-free", "b", "c"]
    assert phone.layout(heads, [["1", "2", "3", "4"]])[1] == frozenset()


def test_a_table_of_thousands_of_cells_is_not_taken_apart():
    assert phone.layout(["a", "b", "c"], [["x", SENTENCE, SENTENCE]] * 1000) == (phone.GRID, frozenset())


@examples(100)
@given(st.lists(st.text("abc 12-\u00a0", max_size=30), min_size=1, max_size=8), st.data())
def test_longer_words_never_make_a_grid_of_cards(heads, data):
    row = [data.draw(st.text("abc 12-", max_size=20)) for _ in heads]
    if phone.layout(heads, [row])[0] == phone.CARDS:
        assert phone.layout(heads, [[f"{cell}xxx" for cell in row]])[0] == phone.CARDS


def test_a_form_that_is_declared_goes_before_what_is_reckoned_and_a_wrong_one_is_told():
    with pytest.raises(TypeError, match="phone is 'list'; it is one of grid, cards"):
        table("some-table", title="t", question="q", phone="list")
    assert {declared.phone for declared in TABLES.values()} <= {"", *phone.FORMS}


def test_each_cell_of_a_card_says_its_column_and_keeps_its_role():
    html = with_cards(
        "<p>text</p><table>\n<thead>\n<tr>\n<th>You see</th>\n<th>Likely <em>cause</em></th>\n<th>Do</th>\n</tr>"
        f"\n</thead>\n<tbody>\n<tr>\n<td>{SENTENCE}</td>\n<td>{SENTENCE} &amp; more</td>\n<td>{SENTENCE}</td>"
        "\n</tr>\n</tbody>\n</table>"
    )
    assert re.findall(r'<td role="cell" data-head="([^"]*)">', html) == ["You see", "Likely cause", "Do"]
    assert html.count('role="row"') == 2
    assert html.count('role="columnheader"') == 3
    assert html.startswith("<p>text</p><table")
    assert "&amp; more" in html


@pytest.mark.parametrize("cells", [["1", "", ""], ["", "", ""]])
def test_a_form_to_be_written_on_stays_a_grid(cells):
    row = "".join(f"<td>{cell}</td>" for cell in cells)
    html = (
        f"<table><thead><tr><th>a</th><th>b</th><th>c</th></tr></thead><tbody><tr>{row}</tr></tbody></table>"
    )
    assert with_cards(html) == html


def test_a_head_is_text_whatever_it_holds():
    html = phone.as_cards("<table><tbody><tr><td>x</td></tr></tbody></table>", ['a "b" <c>'])
    assert unescape(re.search(r'data-head="([^"]*)"', html)[1]) == 'a "b" <c>'  # pyright: ignore[reportOptionalSubscript] - the pattern stands there
