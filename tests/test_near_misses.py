"""What only looks like a directive stops the build; nothing of one is published raw.

Pages are made by changing good ones at random, and by hand for each kind of slip. What a reader would see is judged
by Python's own HTML parser: the pages hold no brace but a directive's, so a brace in the text is one.
"""

import random
import re
from html.parser import HTMLParser
from types import SimpleNamespace

import markdown
import pytest
from handbook_site import pages as rooms
from mkdocs.exceptions import PluginError
from support import STANDARD, steps

from handbook_calc.engine import house
from handbook_calc.engine.directives import find, near_miss
from handbook_calc.engine.render import Renderer

EXTENSIONS = [
    "abbr",
    "admonition",
    "attr_list",
    "def_list",
    "footnotes",
    "md_in_html",
    "tables",
    "toc",
    "fenced_code",
]
VALUE = "{{ value rinsing.bath }}"
GOOD = [
    f"# P\n\nFill {VALUE} now.\n",
    "# P\n\nCarries {{ value drag-out area=piece.area crack_volume=\"0.2 mL\" }} over.\n",
    "# P\n\n1. First\n\n    {{ table rinse-baths }}\n\n2. Second\n",
    f"# P\n\n| a | b |\n|---|---|\n| {VALUE} | **{VALUE}** |\n",
    f'# P\n\n!!! note "N"\n\n    See {VALUE}.\n',
    f'# P\n\n1.  Go.\n\n2.  !!! danger "N"\n\n        See {VALUE}.\n\n    Then {VALUE}.\n',
    "# P\n\n{{ calc rinse-baths drag_out=piece.crack_volume }}\n",
]  # fmt: skip


@pytest.fixture(scope="module")
def prepared():
    return SimpleNamespace(renderer=Renderer(house.load(STANDARD)), docs="docs", serving=False)


def made(text, prepared):
    """Return a page's HTML as it would be published, and the faults that stop the build."""
    room = rooms.Pages(prepared)
    page = SimpleNamespace(
        meta={},
        toc=[],
        title="P",
        present_anchor_ids=set(),
        file=SimpleNamespace(src_uri="p.md", content_string=text),
    )
    html = markdown.markdown(room.marked(text, page), extensions=EXTENSIONS)
    html = room.filled(html, page)
    try:
        room.stop_on_faults()
    except PluginError as error:
        return html, str(error).split("\n")
    return html, []


class Seen(HTMLParser):
    """The text that a reader sees outside code, and every attribute."""

    def __init__(self, html):
        super().__init__()
        self.text, self.attributes, self._code = "", "", 0
        self.feed(html)
        self.close()

    def handle_starttag(self, tag, attrs):
        self._code += tag in ("code", "pre")
        self.attributes += " ".join(value or "" for _, value in attrs)

    def handle_endtag(self, tag):
        self._code -= tag in ("code", "pre")

    def handle_data(self, data):
        self.text += "" if self._code else data


def judge(text, prepared):
    """Check that a page is either stopped with its lines, or published without anything raw."""
    html, faults = made(text, prepared)
    assert all(re.match(r"docs/p\.md:\d+: .{10}", fault) for fault in faults), faults
    last = text.count("\n") + 1
    assert all(1 <= int(fault.split(":")[1]) <= last for fault in faults)
    if not faults:
        seen = Seen(html)
        assert not re.search("[{}｛｝\ufdd0-\ufdef]", seen.text), (text, seen.text)
        assert not re.search("[{}\ufdd0-\ufdef]", seen.attributes), (text, seen.attributes)
    return faults


INSERTED = [
    *'{}%\\`"“” \n*_<>&;:=.|[](#!',
    "&#123;",
    "&rbrace;",
    "&#x7B;",
    "｛",
    "\u200b",
    "<!--",
    "-->",
    "{:",
    "\t",
    "\xa0",
]


def mutants(count, seed):
    """Good pages with one or two slips in or around a directive."""
    chance = random.Random(seed)
    for _ in range(count):
        text = chance.choice(GOOD)
        for _ in range(chance.choice((1, 1, 2))):
            spots = [found.span() for found in re.finditer(r"\{\{?.*?\}?\}", text)] or [(4, len(text))]
            start, end = chance.choice(spots)
            at = chance.choice(
                (*range(start, start + 4), *range(end - 4, end + 1), chance.randrange(start, end))
            )
            how = chance.randrange(4)
            if how == 0:
                text = text[:at] + text[at + 1 :]
            elif how == 1:
                text = text[:at] + chance.choice(INSERTED) + text[at:]
            elif how == 2:
                text = text[:at] + chance.choice(INSERTED) + text[at + 1 :]
            else:
                text = text[:at] + text[at + 1 : at + 2] + text[at : at + 1] + text[at + 2 :]
        yield text


def test_good_pages_are_filled(prepared):
    for text in GOOD:
        html, faults = made(text, prepared)
        assert faults == []
        assert "hb-value" in html or "data-slot" in html


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.long
def test_pages_with_slips_are_stopped_or_whole(prepared, seed):
    stopped = sum(bool(judge(text, prepared)) for text in mutants(200, seed))
    assert stopped > 80


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("{ value rinsing.bath }}", 3),
        ("{{ value rinsing.bath }", 3),
        ("{ value rinsing.bath }", 3),
        ("a\n{value rinsing.bath}", 4),
        ("{{ valu rinsing.bath }}", 3),
        ("{ valu rinsing.bath }", 3),
        ("{% value rinsing.bath %}", 3),
        ("{ % value rinsing.bath % }", 3),
        ("{{{ value rinsing.bath }}}", 3),
        ("\\{{ value rinsing.bath }}", 3),
        ("\\{\\{ value rinsing.bath \\}\\}", 3),
        ("{{ value\nrinsing.bath }}", 3),
        ("a {{ value rinsing.bath\n}} b", 3),
        ("{\n{ value rinsing.bath }}", 4),
        ("&#123;&#123; value rinsing.bath &#125;&#125;", 3),
        ("&#x7b;{ value rinsing.bath }}", 3),
        ("&lbrace; value rinsing.bath &rbrace;", 3),
        ("｛｛ value rinsing.bath ｝｝", 3),
        ("{\u200b{ value rinsing.bath }\u200b}", 3),
        ("{ { value rinsing.bath } }", 3),
        ("[[ value rinsing.bath ]]", 3),
        ("<% value rinsing.bath %>", 3),
        ("value rinsing.bath }}", 3),
        ("{*{* value rinsing.bath }}", 3),
        ("*{*{ value rinsing.bath *}*}", 3),
        ('{{ value drag-out area=“1 cm^2” }}', 3),
        (f"[a](b.md '{VALUE}')", 3),
        (f"[a]({VALUE})", 3),
        (f"![{VALUE}](a.png)", 3),
        (f'a\n\n<p title="x {VALUE}">a</p>', 5),
        (f"a\n\n<p title='{VALUE}'>a</p>", 5),
        (f"a\n\n<p title={VALUE}>a</p>", 5),
        (f"a\n\n<p title='>{VALUE}'>a</p>", 5),
        (f"<script>{VALUE}</script>", 3),
        (f"## H {{: title=\"{VALUE}\" }}", 3),
        (f"## H {{ #{VALUE} }}", 3),
        (f"a[^1]\n\n[^1]: see {VALUE}", 5),
        (f"a[^1]\n\n[^1]: see\n\n    {VALUE}", 7),
        ("a[^1]\n\n[^1]:\n    {{ table rinse-baths }}", 6),
        (f"a\n\n*[abbr]: {VALUE}", 5),
        (f"a\n\n[b]: {VALUE}", 5),
        (f"a\n\n[b]: c.md '{VALUE}'", 5),
        ("<div>\n\n    {{ value rinsing.bath }}\n\n</div>", 5),
    ],
)  # fmt: skip
def test_each_kind_of_slip_is_told_with_its_line(prepared, text, line):
    page = f"# P\n\n{text}\n"
    faults = judge(page, prepared)
    assert faults, "published"
    assert f"docs/p.md:{line}: " in faults[0]


@pytest.mark.parametrize(
    "text",
    [
        "`{ value x }}` and ``{% value x %}``", "```\n{ value x }}\n```", "    {{ valu x }", "<!-- {{ valu x } -->",
        "a {: .class #id }", "![a](b.png){ width=\"440\" }", "{1, 2} of {a; b}", "5 % (10 %)", "[[a]] ((b)) <<c>>",
        "a set {x} of 3 &amp; &#65;", "the {weight} of it", "{ .table }", "{#value}",
    ],
)  # fmt: skip
def test_braces_that_are_no_directives_stand(prepared, text):
    assert [asked.complaint for asked in find(text)] == []
    assert made(f"# P\n\n{text}\n", prepared)[1] == []


def test_what_stands_above_a_page_and_names_in_the_configuration_are_looked_at_too(site):
    site.page("a.md", '---\ntitle: A\nsubtitle: "{ value rinsing.bath }}"\n---\n\n# A\n')
    site.config(site_description='"In {{ value rinsing.bath }}"')
    built = site.build()
    assert built.returncode == 1
    assert "docs/a.md:3: what stands above the page is not filled" in built.stderr
    assert re.search(r"mkdocs\.yml:\d+: a name in mkdocs\.yml is not filled", built.stderr)
    assert "Traceback" not in built.stderr


def test_a_whole_build_tells_every_slip_with_file_and_line(site):
    site.page(
        "index.md",
        "# Start\n\n{ value rinsing.bath }}\n\n{{ value\nrinsing.bath }}\n\n[a](index.md '{% x %}')\n",
    )
    site.page("b.md", f"# B\n\n&#123;&#123; value rinsing.bath }}}}\n\n## H {{: #{VALUE} }}\n")
    built = site.build("-q", "build")
    assert built.returncode == 1
    for place in ("index.md:3", "index.md:5", "index.md:8", "b.md:3", "b.md:5"):
        assert f"docs/{place}: " in built.stderr
    assert "index.md:6" not in built.stderr, "the end of a directive over two lines is no second fault"
    assert "Traceback" not in built.stderr
    assert not (site.folder / "site").exists()


def test_calculators_of_a_kind_are_numbered_from_the_top(prepared):
    text = '# P\n\n{{ calc drag-out area=piece.area }}\n\nand\n\n{{ calc drag-out area="9 cm^2" }}\n'
    html, faults = made(text, prepared)
    assert faults == []
    first, second = re.findall(r'<p class="hb-slot" id="([^"]+)" data-slot="(\d)">', html)
    assert (first, second) == (("calc-drag-out", "0"), ("calc-drag-out-2", "1"))


# So long that a pattern which looked through the rest at every sign would not end within minutes.
LONG = {
    "a directive": lambda size: "{{ value " + "x" * (20 * size) + " }}",
    "arguments": lambda size: "{{ value a.b " + "x=" * (10 * size) + " }}",
    "openings": lambda size: "{{ value " * (5 * size),
    "braces": lambda size: "{ " * (10 * size),
    "braces around": lambda size: "{" + "{{ value a }} " * size,
    "comments that do not end": lambda size: "<!-- " * (5 * size),
    "comments on lines of their own": lambda size: "<!-- a\n\n" * (3 * size),
    "ticks": lambda size: "".join("`" * (1 + n % 300) + " " for n in range(size // 3)),
    "words in braces": lambda size: "{valux " * (2 * size),
    "brackets": lambda size: "[[ " * (6 * size) + "<% " * (2 * size),
    "entities": lambda size: "&#123" * (4 * size),
    "signs that are not seen": lambda size: "\u200b{" * (6 * size),
}


@pytest.mark.parametrize("kind", LONG)
@pytest.mark.long
def test_long_pages_take_no_more_work_than_they_must(kind):
    text = LONG[kind](10_000)
    assert all(len(asked.complaint) < 400 for asked in find(text)[:50])
    short, long = (steps(lambda size=size: find(LONG[kind](size))) for size in (100, 800))
    assert long < 12 * short + 100, "eight times the length; 64 times the work were quadratic"


def test_a_near_miss_is_shown_as_a_reader_would_see_it():
    assert near_miss("see &#123;{ value a.b }} there") == "{{ value a.b }}"
    assert near_miss("see { value a.b } there") == "{ value a.b }"
    assert near_miss("plain (text) [x] 5 %") == ""
