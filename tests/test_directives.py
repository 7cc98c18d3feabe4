"""Finding directives in a page."""

from handbook_calc.engine.directives import find


def names(markdown):
    return [(asked.line, asked.verb, asked.name) for asked in find(markdown)]


def test_inline_and_alone():
    text = "A {{ value a.b }} and {{ value c.d }}.\n\n{{ table t-1 }}\n\n{{calc c}}\n"
    assert names(text) == [
        (1, "value", "a.b"),
        (1, "value", "c.d"),
        (3, "table", "t-1"),
        (5, "calc", "c"),
    ]
    assert all(not asked.complaint for asked in find(text))


def test_arguments():
    (asked,) = find('{{ value soak-time.time depth=piece.crack_depth fraction="95 %" }}')
    assert asked.keys == {"depth": "piece.crack_depth"}
    assert asked.literals == {"fraction": "95 %"}
    assert asked.complaint == ""


def test_code_is_left_alone():
    text = (
        "Write `{{ value a.b }}` or ``{{ value `x` }}``.\n"
        "\n"
        "```\n{{ table t }}\n```\n"
        "~~~ text\n{{ table t }}\n```\n{{ table t }}\n~~~\n"
        "\n"
        "    {{ table t }}\n"
        "\n"
        "    {{ table t }}\n"
        "\n"
        "<!-- {{ table t }} -->\n"
        "{{ value last.one }}\n"
    )
    assert names(text) == [(17, "value", "last.one")]


def test_a_comment_of_several_lines_is_left_alone():
    text = (
        "1. a\n\n    <!-- {{ table t }}\n\n{{ value a.b }}\n    -->\n    {{ value c.d }}\n\n"
        "<!--\n```\n{{ tabel x }}\n-->\n{{ value e.f }} <!-- {{ value g.h\n}} -->{{ value i.j }}\n"
    )
    assert [name for _, _, name in names(text)] == ["c.d", "e.f", "i.j"]


def test_inline_code_alone_on_its_line_does_not_part_a_paragraph():
    assert [name for _, _, name in names("`code`\n    {{ value a.b }}\n")] == ["a.b"]


def test_the_explanation_of_a_term_is_not_code():
    text = "Term\n:   what it is\n\n    {{ table t }}\n\n        {{ value in.code }}\n"
    assert [name for _, _, name in names(text)] == ["t"]


def test_lists_and_admonitions_are_not_code():
    text = (
        "1. step\n"
        "\n"
        "    {{ table in-a-step }}\n"
        "\n"
        '    !!! danger "x"\n'
        "\n"
        "        {{ value in.caution }}\n"
        "\n"
        "            {{ value in.code }}\n"
        "\n"
        '!!! note "y"\n'
        "    {{ value in.note }}\n"
        "\n"
        "text\n"
        "\n"
        "    {{ value in.code }}\n"
    )
    assert [name for _, _, name in names(text)] == ["in-a-step", "in.caution", "in.note"]


def test_a_caution_that_begins_an_item_is_not_code():
    text = (
        '1.  !!! danger "x"\n'
        "\n"
        "        {{ value in.caution }}\n"
        "\n"
        "            {{ value in.code }}\n"
        "\n"
        "    {{ value in.step }}\n"
        "\n"
        "        {{ value in.code }}\n"
    )
    assert [name for _, _, name in names(text)] == ["in.caution", "in.step"]


def test_an_item_that_goes_on_with_less_indent_is_still_an_item():
    text = (
        "1. a step that\n   goes on\n\n    {{ table t }}\n\n2. next\ngoes on lazily\n\n    {{ value a.b }}\n"
    )
    assert [name for _, _, name in names(text)] == ["t", "a.b"]


def test_bad_form_is_said():
    complaints = [
        find(text)[0].complaint
        for text in (
            "{{ tabel t }}",
            "{{ value }}",
            "see {{ table t }}",
            "{{ value a.b x=1 mm }}",
            "{{ macro(x) }}",
            "see {{ value a.b and more",
            '{{ value a.b x="1 mm" x=c.d }}',
            "{{ " + "x" * 5000 + " }}",
        )
    ]
    assert complaints[0] == "unknown directive 'tabel'; allowed are value, table, calc, cards, picture, plot"
    assert "names nothing" in complaints[1]
    assert "must stand alone" in complaints[2]
    assert "cannot read 'mm'" in complaints[3]
    assert "unknown directive 'macro(x)'" in complaints[4]
    assert complaints[5] == "'value' is not closed; write {{ value NAME }} on one line"
    assert complaints[6] == "x is given twice in 'value a.b'; keep one of them"
    assert len(complaints[7]) < 200
