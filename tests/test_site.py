"""The real handbook, built: links, hosts, tables, edition, and what one house value changes."""

import csv
import gzip
import html
import io
import os
import re
import subprocess
import sys
from types import SimpleNamespace

import pytest
import yaml
from handbook_site import assets, theme
from support import ROOT, changed_standard, copy_of_the_project, run

from handbook_calc.engine import forms
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.checks import checks
from handbook_calc.engine.house import FAMILIES, SETTINGS
from handbook_calc.engine.registers import REGISTERS
from handbook_calc.engine.sources import sources
from handbook_calc.engine.tables import TABLES


@pytest.fixture(scope="module")
def built(real_site):
    """The real handbook, built strictly."""
    return real_site


def pages(site):
    return sorted(path for path in site.rglob("*.html") if path.name not in ("404.html", "handbook.html"))


def test_no_page_asks_another_host(built):
    for path in built.rglob("*"):
        if path.suffix not in (".html", ".css", ".js") or path.parent.name == "search":
            continue
        text = path.read_text(encoding="utf-8")
        loads = re.findall(r"""(?:src|href|data-src)=["']?(https?:)?//[^"'\s>]+""", text)
        loaded = re.findall(
            r"""<(?:script|link|img|iframe)[^>]+(?:src|href)=["']?(?:https?:)?//[^>]+>""", text
        )
        assert loaded == [], path
        assert not re.search(r"url\([\"']?(?:https?:)?//", text), path
        # The theme's script would fetch a diagram library, but only on a page that has such a diagram.
        assert path.suffix != ".html" or not re.search(r"unpkg|class=\"mermaid", text), path
        assert not loads or path.suffix == ".html"


def test_every_link_and_anchor_leads_somewhere(built):
    ids = {path: set(re.findall(r'\bid="([^"]+)"', path.read_text("utf-8"))) for path in pages(built)}
    for path in pages(built):
        for href in re.findall(r'href="([^"]+)"', path.read_text(encoding="utf-8")):
            href = html.unescape(href)
            if re.match(r"(?:https?:|mailto:|javascript:)", href):
                continue
            name, _, anchor = href.partition("#")
            target = (path.parent / name).resolve() if name else path
            target = target / "index.html" if target.is_dir() else target
            assert target.exists(), f"{path.relative_to(built)}: {href}"
            if anchor and target.suffix == ".html" and anchor != "__skip":
                assert anchor in ids[target], f"{path.relative_to(built)}: {href}"


def test_no_id_stands_twice_on_a_page(built):
    for path in pages(built):
        found = re.findall(r'\bid="([^"]+)"', path.read_text(encoding="utf-8"))
        twice = {name for name in found if found.count(name) > 1}
        assert twice <= {"__comments"}, f"{path.name}: {twice}"


def test_every_table_stands_on_a_page_with_its_csv_beside(built):
    text = {path: path.read_text(encoding="utf-8") for path in pages(built)}
    for name, declared in TABLES.items():
        assert any(f'id="table-{name}"' in page for page in text.values()), name
        written = (built / "tables-csv" / f"{name}.csv").read_text(encoding="utf-8")
        assert list(csv.reader(io.StringIO(written)))
        if name not in REGISTERS:
            assert declared.question


def test_tables_have_captions_units_and_no_style_of_their_own(built):
    for path in pages(built):
        text = path.read_text(encoding="utf-8")
        for table in re.findall(r'<table class="hb">.*?</table>', text, re.DOTALL):
            assert re.match(r'<table class="hb"><caption(?: id="table-[^"]+")?>[^<]', table)
            assert " style=" not in table
            assert "nan" not in re.findall(r"<td[^>]*>([^<]*)<", table)
            rows = re.findall(r"<tr.*?</tr>", table, re.DOTALL)
            assert all('scope="' in row for row in rows)


def test_every_table_and_calculator_is_reached_from_the_index(built):
    index = (built / "tables" / "index.html").read_text(encoding="utf-8")
    for name in TABLES:
        if name not in REGISTERS:
            assert re.search(rf'href="[^"]*#table-{name}"', index), name
    for name in CATALOGUE:
        assert re.search(rf'href="[^"]*#calc-{name}"', index), name
    start = (built / "index.html").read_text(encoding="utf-8")
    assert 'href="tables/index.html"' in start


@pytest.mark.long
def test_every_page_is_reached_from_the_start_by_the_navigation(built):
    start = (built / "index.html").read_text(encoding="utf-8")
    linked = {href.partition("#")[0] for href in re.findall(r'href="([^"]+)"', start)}
    reached, waiting = set(), [name for name in linked if name.endswith(".html")]
    for _ in range(2):  # three clicks: one is made already
        following = []
        for name in waiting:
            path = (built / name).resolve()
            if path in reached or not path.is_file():
                continue
            reached.add(path)
            for href in re.findall(r'href="([^"#?]+\.html)', path.read_text(encoding="utf-8")):
                if not href.startswith("http"):
                    following.append((path.parent / href).resolve().relative_to(built.resolve()).as_posix())
        waiting = following
    reached |= {(built / name).resolve() for name in waiting}
    missing = {path.relative_to(built).as_posix() for path in pages(built)} - {
        path.relative_to(built.resolve()).as_posix() for path in reached
    }
    assert missing <= {"index.html"}


def test_the_calculators_scripts_are_one_file_and_their_types_are_not_published(built):
    joined = (built / "assets" / "calculators.js").read_text(encoding="utf-8")
    places = [
        joined.index(f"HB.{word} = ") for word in ("read", "guarded", "field", "calculator", "calculatorOf")
    ]
    assert places == sorted(places)
    alone = {path.name for path in (built / "assets" / "bench").iterdir()}
    assert alone == {"begin.js", *forms.SOMETIMES, *forms.ALONE}
    page = (built / "calculators" / "rinsing.html").read_text(encoding="utf-8")
    loaded = re.findall(r'<script src="\.\./assets/([\w/.-]+\.js)" defer></script>', page)
    assert [name.partition("/bundle.")[0] for name in loaded] == ["pages.js", "javascripts", "bench/begin.js"]


def test_no_page_waits_for_a_script(built):
    """A browser that stops for one draws what it has, and draws it again behind each."""
    for path in pages(built):
        loaded = re.findall(r"<script\b[^>]*\ssrc=[^>]*>", path.read_text(encoding="utf-8"))
        assert all(" defer" in script for script in loaded), path
        assert len(loaded) >= 2 or path.name == "404.html", path


def test_every_page_asks_for_its_scripts_right_behind_its_styles_and_under_its_policy(built):
    for path in pages(built):
        head = path.read_text(encoding="utf-8").partition("</head>")[0]
        parts = (
            "Content-Security-Policy",
            "assets/pages.css",
            "assets/pages.js",
            "assets/javascripts/bundle",
        )
        places = [*map(head.index, parts), head.index("<script>")]
        assert places == sorted(places), path


def logo_config(folder, drawing, name="mark.svg"):
    (folder / name).write_text(drawing, encoding="utf-8")
    return SimpleNamespace(docs_dir=folder, extra={}, theme={"logo": name})


@pytest.mark.parametrize(
    ("drawing", "put_in"),
    [
        ('<svg viewBox="0 0 1 1">\n  <title>a slice</title>\n  <path d="M0 0L1\n1"/>\n</svg>', True),
        ('<svg viewBox="0 0 1 1"><script>alert(1)</script></svg>', False),
        ('<svg viewBox="0 0 1 1" onload="alert(1)"></svg>', False),
        ('<svg viewBox="0 0 1 1"><style>*{display:none}</style></svg>', False),
        ('<svg viewBox="0 0 1 1"><path id="rinse"/></svg>', False),
        ('<svg viewBox="0 0 1 1"><path style="fill:#f00" d="M0 0"/></svg>', False),
        ('<svg viewBox="0 0 1 1"><a href="rinse.html"><path d="M0 0"/></a></svg>', False),
        ("<!-- ours --><svg viewBox='0 0 1 1'></svg>", False),
        ('<?xml version="1.0"?><svg viewBox="0 0 1 1"></svg>', False),
        ('<svg viewBox="0 0 1 1"><path d="' + "M0 0" * 2000 + '"/></svg>', False),
    ],
)
def test_a_mark_that_is_only_a_drawing_stands_in_the_page(tmp_path, drawing, put_in):
    """A script in it would pass the page's policy, a style or a name would reach the page's own parts."""
    shown = '<a title="Ours"><img src="../mark.svg" alt="logo"></a>'
    found = theme.with_mark(shown, logo_config(tmp_path, drawing))
    if put_in:
        assert (
            found
            == '<a title="Ours"><svg aria-hidden="true" viewBox="0 0 1 1"> <path d="M0 0L1 1"/> </svg></a>'
        )
    else:
        assert found == shown


def test_a_mark_in_another_encoding_breaks_no_build(tmp_path):
    config = logo_config(tmp_path, "")
    (tmp_path / "mark.svg").write_bytes('<svg viewBox="0 0 1 1"><desc>Höhle</desc></svg>'.encode("latin-1"))
    assert theme.with_mark('<img src="mark.svg" alt="logo">', config).startswith("<svg aria-hidden")


def test_a_mark_that_is_a_photograph_or_is_not_there_stays_as_the_theme_shows_it(tmp_path):
    shown = '<img src="mark.png" alt="logo">'
    assert theme.with_mark(shown, logo_config(tmp_path, "", "mark.png")) == shown
    (tmp_path / "mark.png").unlink()
    assert (
        theme.with_mark(shown, SimpleNamespace(docs_dir=tmp_path, extra={}, theme={"logo": "mark.svg"}))
        == shown
    )
    assert theme.with_mark(shown, SimpleNamespace(docs_dir=tmp_path, extra={}, theme={})) == shown


def test_the_theme_has_no_script_at_the_choice_of_colours(built):
    for path in pages(built):
        text = path.read_text(encoding="utf-8")
        assert 'data-md-component="palette"' not in text, path
        assert "var palette=" not in text, path
        assert text.count('name="__palette" id=') == 2, path
        assert text.index("window.HB.colours();") > text.index('id="__palette_1"'), path


def test_the_scripts_and_styles_of_every_page_are_one_file_each_in_their_order(built):
    named = yaml.safe_load((ROOT / "mkdocs.yml").read_text(encoding="utf-8"))
    scripts = (built / "assets" / "pages.js").read_text(encoding="utf-8")
    assert scripts.count("catch(fault)") == len(named["extra_javascript"]) > 10
    marks = ("HB.openStore =", "HB.load =", "HB.prefersUS =", "HB.choosePiece =", "HB.measureTables =")
    places = [scripts.index(mark) for mark in marks]
    assert places == sorted(places)
    styles = (built / "assets" / "pages.css").read_text(encoding="utf-8")
    for name in [*named["extra_javascript"], *named["extra_css"]]:
        assert not (built / name).exists(), name
    for name in named["extra_css"]:
        last = assets.lean_styles((ROOT / "docs" / name).read_text(encoding="utf-8"))[-200:]
        assert last in styles
    for page in pages(built):
        text = page.read_text(encoding="utf-8")
        assert len(re.findall(r'<link rel="stylesheet" href="[./]*assets/pages\.css">', text)) == 1, page


def test_a_fault_in_one_script_of_every_page_leaves_the_others_at_work():
    from py_mini_racer import MiniRacer

    engine = MiniRacer()
    engine.eval("var console = {error: () => {}}, seen = [];")
    texts = ["(function () { seen.push(1); throw Error(); })();\n", "seen.push(2);\n"]
    engine.eval("".join(map(assets.apart, texts)))
    assert engine.eval("seen.join()") == "1,2"
    engine.close()


def test_every_page_is_stamped_and_nothing_is_left_unfilled(built):
    for path in pages(built):
        text = path.read_text(encoding="utf-8")
        assert text.count('<p class="hb-edition" ') == 1, path
        assert "%ROOT%" not in text
        assert "hbslot" not in text
        assert "hb-fault" not in text
        body = re.sub(r"<(pre|code).*?</\1>", "", text, flags=re.DOTALL)
        assert "{{" not in body, path


def test_the_keepers_pages_tell_everything(built):
    house_page = (built / "keeper" / "house-standard.html").read_text(encoding="utf-8")
    for key in SETTINGS:
        assert f'id="house-{key}"' in house_page
    for family in FAMILIES.values():
        assert re.search(rf'id="house-{re.escape(family.key)}\.[\w-]+\.', house_page)
    checks_page = (built / "keeper" / "sources-and-checks.html").read_text(encoding="utf-8")
    for key in sources():
        assert f'id="source-{key}"' in checks_page
    table = checks_page[checks_page.index('id="table-outside-checks"') :]
    table = table[: table.index("</table>")]
    assert table.count("<tr>") == len(checks()) + 1
    calculations = (built / "keeper" / "calculations.html").read_text(encoding="utf-8")
    for name in CATALOGUE:
        assert f'id="calculation-{name}"' in calculations


def test_every_source_is_used():
    used = {check.source for check in checks()}
    for calculation in CATALOGUE.values():
        used |= set(calculation.sources)
    for declared in TABLES.values():
        used |= set(declared.sources)
    for path in (ROOT / "handbook_calc" / "data").glob("*.csv"):
        with path.open(encoding="utf-8", newline="") as file:
            used |= {cell for row in csv.DictReader(file) for cell in row.values()}
    linked = set()
    for path in (ROOT / "docs").rglob("*.md"):
        linked |= set(re.findall(r"sources-and-checks\.md#source-([\w.-]+)", path.read_text("utf-8")))
    assert linked - set(sources()) == set()
    assert set(sources()) - used - linked == set()


@pytest.mark.long
def test_one_changed_value_changes_what_depends_on_it_and_nothing_else(built, tmp_path):
    folder = copy_of_the_project(tmp_path)
    standard = folder / "docs" / "house-standard.yml"
    standard.write_text(
        changed_standard(standard.read_text("utf-8"), "rinsing.bath", "250 mL")[0], encoding="utf-8"
    )
    result = run([sys.executable, "-m", "mkdocs", "build", "--strict"], folder)
    assert result.returncode == 0, result.stderr
    before = {p.name: p.read_bytes() for p in (built / "tables-csv").iterdir()}
    after = {p.name: p.read_bytes() for p in (folder / "site" / "tables-csv").iterdir()}
    moved = {name for name in before if before[name] != after[name]}
    assert moved == {"rinse-series.csv", "house-values.csv", "sheet-codes.csv"}
    page = (folder / "site" / "procedures" / "rinse.html").read_text(encoding="utf-8")
    assert 'fill each with <span class="hb-value"' in page
    assert ">250\u00a0mL</span> of fresh water" in page


def test_readme_and_ci_name_the_same_test_command():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert readme.index("bench") < 400, "the job comes first"
    for mark in ("<!-- serve -->", "<!-- test -->"):
        block = readme[readme.index(mark) :].split("```")[1]
        assert ".venv/bin/python -m" in block
    assert "<!-- test -->" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_the_theme_is_light_and_search_is_complete(built):
    assert not list(built.rglob("*.map"))
    index = (built / "search" / "words.js").read_text(encoding="utf-8")
    for words in ("Rinse baths needed", "P1200", "Dew point"):
        assert words.lower() in index.lower()


@pytest.mark.long
def test_the_same_input_gives_the_same_bytes_whenever_and_wherever_it_is_built(tmp_path):
    """Another folder, another day, another user's settings: the packed sitemap is the same too."""
    folders = []
    for name in ("here", "there"):
        (tmp_path / name).mkdir()
        folders.append(copy_of_the_project(tmp_path / name))
    for path in folders:
        text = (path / "mkdocs.yml").read_text(encoding="utf-8")
        if "site_url" not in text:  # without an address the sitemap is empty
            (path / "mkdocs.yml").write_text(f"site_url: https://bench.example/\n{text}", encoding="utf-8")
    sites = []
    days = (
        {"SOURCE_DATE_EPOCH": "1790000000"},
        {"SOURCE_DATE_EPOCH": "1700000000", "TZ": "Asia/Tokyo", "LANG": "C"},
    )
    for path, day in zip(folders, days, strict=True):
        done = subprocess.run(
            [sys.executable, "-m", "mkdocs", "-q", "build", "-d", str(path / "again" / day["SOURCE_DATE_EPOCH"])],
            cwd=path, env=os.environ | {"NO_MKDOCS_2_WARNING": "1", "PYTHONPATH": str(ROOT)} | day,
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        site = path / "again" / day["SOURCE_DATE_EPOCH"]
        sites.append({p.relative_to(site).as_posix(): p.read_bytes() for p in site.rglob("*") if p.is_file()})
    assert sites[0].keys() == sites[1].keys()
    assert [name for name in sites[0] if sites[0][name] != sites[1][name]] == []
    assert b"https://bench.example/procedures/rinse.html" in gzip.decompress(sites[0]["sitemap.xml.gz"])


@pytest.mark.long
def test_the_record_of_the_keeper_has_the_codes_that_the_pages_carry(built, house):
    """The command line and the build come to the same codes, each from its own reading of the pages."""
    from handbook_calc import editions

    state = editions.sheets_of(editions.rendered(house, ROOT / "docs"))
    codes = {line.name: line.text for line in state.of_kind("sheet")}
    carried = {}
    for path in pages(built):
        found = re.search(r'<body [^>]*data-code="([^"]+)"', path.read_text(encoding="utf-8"))
        if found:
            carried[path.relative_to(built).with_suffix(".md").as_posix()] = found[1]
    assert len(codes) > 70
    assert carried == codes
