"""What a house writes is text everywhere: in sentences, tables, CSV files and search; and the policy of each page."""

import csv
import html
import io
import json
import re

import pytest
from support import Site

from handbook_calc.engine.fields import Words
from handbook_calc.engine.tables import Column, Computed, Span

TEXTS = [
    "LY*01*4",
    "a_b_ `c` **d** ~~e~~",
    "[x](javascript:alert(1))",
    "![x](https://other.example/a.png)",
    "<img src=x onerror=alert(1)><script>alert(1)</script>",
    "{{ value rinsing.bath }}",
    "{% value x %} {: #id onclick=alert(1) }",
    "%ROOT%/a &amp; &#60;b&#62; https://other.example",
    "</span></p></article></body>",
    "hbslot0 *[RH]: RH",
    "it's \"quoted\" | in | a cell",
]  # fmt: skip
PAGE = """# P

In {{ value piece.number }}, **{{ value piece.number }}** and:

| a | b |
|---|---|
| {{ value piece.number }} | b |

## Of {{ value piece.number }}

- item {{ value piece.number }}

{{ table piece-facts }}
"""


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    """The page with the number that the standard gives the piece."""
    site = Site(tmp_path_factory.mktemp("plain"))
    site.page("index.md", PAGE)
    site.set("piece.number", "LY-014")
    assert site.build().returncode == 0
    return site.html("index.html")


@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.long
def test_a_house_text_prints_as_itself(site, text, plain):
    site.page("index.md", PAGE)
    site.set("piece.number", json.dumps(text, ensure_ascii=False))
    built = site.build()
    assert built.returncode == 0, built.stderr
    page = site.html("index.html")
    shown = re.findall(r'<span class="hb-value[^>]*>(.*?)</span>', page, re.DOTALL)
    assert len(shown) >= 5
    assert {html.unescape(words) for words in shown} == {text}
    # Nothing but text has changed: the same tags in the same order.
    assert _tags(page) == _tags(plain)
    rows = csv.reader(io.StringIO((site.folder / "site/tables-csv/piece-facts.csv").read_text("utf-8")))
    assert text in {row[1] for row in rows if row[0] == "piece.number"}
    index = json.loads((site.folder / "site/search/search_index.json").read_text("utf-8"))
    assert "hbslot1" not in json.dumps(index)


def _tags(page):
    page = re.sub(r"<script.*?</script>|<meta[^>]*>|<title>.*?</title>", "", page, flags=re.DOTALL)
    # A long word makes rows stand as cards on a phone, which are marks of the same tags.
    names = "id|href|for|title|aria-label|role|content|data-md-[a-z]+|data-(?:code|sheet|phone|head)"
    page = re.sub(rf'\s*(?:{names})="[^"]*"', "", page)
    return re.findall(r"<[^>]*>", page)


@pytest.mark.parametrize(
    "sign", ["\u202e", "\u2066", "\u200f", "\u061c", "\u200b", "\ufeff", "\x00", "\x1b", "\x85", "\u2028", "\ufdd0", "\ue000"]
)  # fmt: skip
def test_signs_that_hide_or_turn_text_are_refused(sign):
    with pytest.raises(ValueError, match=f"holds the sign U\\+{ord(sign):04X}, which nobody sees"):
        Words("number", "number of the piece").read(f"LY{sign}-014")


@pytest.mark.parametrize("text", ["Größe 5 µm", "مرحبا", "क्‍ष", "試料 14", "LY-014 – “a”", "⚠ 5 °C"])
def test_texts_of_every_script_are_taken(text):
    assert Words("number", "number of the piece").read(text) == text


def test_a_refused_sign_is_told_with_file_and_line(site):
    line = site.set("piece.number", '"LY\\u202E410"')
    built = site.build()
    assert built.returncode == 1
    assert f"docs/pieces/LY-014.yml:{line}: piece.number" in built.stderr
    assert "U+202E" in built.stderr
    assert "\u202e" not in built.stderr


def test_a_text_cell_is_no_formula_to_a_spreadsheet_and_a_number_stays_one():
    cells = [
        ("=1+1", "'=1+1"), ("+cmd|' /C x'!A0", "'+cmd|' /C x'!A0"), ("-2+3", "'-2+3"), ("@SUM(A1)", "'@SUM(A1)"),
        ("\t=1", "' =1"), ("\r=1", "' =1"), ("a\rb", "a b"), (" =1+1", "' =1+1"), ("＝1+1", "'＝1+1"), ("-10 to 60 °C", "'-10 to 60 °C"),
        ("a=1", "a=1"), ("-", "-"), ("+0.2", "+0.2"), ("-3", "-3"), ("–", "–"), ("", ""),
        (-1.5, "-1.5"), (-7, "-7"), (-1e-9, "-1e-09"), (None, ""), (True, "True"),
    ]  # fmt: skip
    filled = Computed(
        "t", "T", "Q", "s", (Column("=A"), Column("n", "g")), tuple((given, Span(-2.0, -1.0, 3.0)) for given, _ in cells),
        (), (), (), (),
    )  # fmt: skip
    rows = list(csv.reader(io.StringIO(filled.csv(), newline="")))
    assert rows[0][0] == "'=A"
    assert [row[0] for row in rows[1:]] == [wanted for _, wanted in cells]
    assert {tuple(row[1:]) for row in rows[1:]} == {("-1", "-2", "3")}


def test_every_page_has_a_strict_policy_before_anything_it_governs(site):
    site.page("deep/p.md", "# P\n\n{{ calc drag-out area=piece.area }}\n\n<script>alert(1)</script>\n")
    assert site.build().returncode == 0
    pages = sorted((site.folder / "site").rglob("*.html"))
    assert len(pages) == 3, "with the page for addresses that lead nowhere"
    for path in pages:
        page = path.read_text("utf-8")
        (policy,) = re.findall(r'<meta http-equiv="Content-Security-Policy" content="([^"]*)">', page)
        before = page[: page.index('<meta http-equiv="Content-Security-Policy"')]
        assert not re.search("<script|<link|<style", before)
        rules = dict(rule.split(" ", 1) for rule in policy.split("; "))
        assert rules["default-src"] == "'none'"
        assert rules["base-uri"] == rules["form-action"] == rules["object-src"] == "'none'"
        assert re.fullmatch(r"'self'( 'sha256-[A-Za-z0-9+/]{43}=')+", rules["script-src"])
        assert re.fullmatch(r"'self'( 'sha256-[A-Za-z0-9+/]{43}=')*", rules["style-src"])
        assert "unsafe" not in policy
        assert "http" not in policy
        assert not re.search(
            r"\s(?:style|on[a-z]+)=", re.sub(r"<script.*?</script>", "", page, flags=re.DOTALL)
        )
    # A script that stands in a page's text is not among those allowed.
    page = (site.folder / "site/deep/p.html").read_text("utf-8")
    assert "<script>alert(1)</script>" in page
    assert "'sha256-bhHHL3z2vDgxUt0W3dWQOrprscmda2Y5pLsLg4GF+pI='" not in page
