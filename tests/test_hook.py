"""The hook in small sites: what is filled, how faults are told, and that the earlier site survives."""

import json
import re

import pytest
from support import ROOT

MODES = [("build",), ("build", "--strict"), ("-q", "build"), ("-q", "build", "--strict")]


def test_values_tables_and_calculations_are_filled(site):
    site.page(
        "deep/er/page.md",
        "---\ntitle: Page\n---\n\n"
        "# Page\n\nUse {{ value rinsing.bath }} or `{{ value rinsing.bath }}`.\n\n"
        "1. First\n\n    {{ table rinse-baths }}\n\n2. Second\n\n"
        '!!! note "N"\n\n    {{ calc rinse-baths drag_out=piece.crack_volume }}\n\n'
        'Carries {{ value drag-out area=piece.area crack_volume="0.2 mL" }}.\n',
    )
    built = site.build()
    assert built.returncode == 0, built.stderr
    html = site.html("deep/er/page.html")
    assert ">500\u00a0mL</span>" in html
    assert "<code>{{ value rinsing.bath }}</code>" in html
    assert html.count('id="table-rinse-baths"') == 1
    assert '<details class="hb-calc" id="calc-rinse-baths">' in html
    assert 'data-calculation="rinse-baths"' in html
    assert html.count('src="../../assets/bench/begin.js"') == 1
    assert ">2.3\u00a0mL (1.2 to 4.1)</span>" in html
    assert "hbslot" not in html
    assert "%ROOT%" not in html
    assert 'href="../../tables-csv/rinse-baths.csv"' in html
    assert 'href="../../keeper/house-standard.html#house-rinsing.start"' in html
    steps = html[html.index("<p>First</p>") : html.index("<p>Second</p>")]
    assert "table-rinse-baths" in steps
    assert "</ol>" not in steps, "the table stands inside its step and does not end the list"


@pytest.mark.long
def test_edition_stands_on_every_page_and_csv_beside(site):
    site.page("baths.md", "# Baths\n\n{{ table rinse-baths }}\n")
    site.build()
    assert re.search(
        r"Lantern Yard bench · edition 2026\.1 \([0-9a-f]{8}\), approved 2026-", site.html("index.html")
    )
    csv = (site.folder / "site" / "tables-csv" / "rinse-baths.csv").read_text(encoding="utf-8")
    assert csv.startswith("Carried over [mL],Water in each bath 100\u00a0mL")


@pytest.mark.long
def test_search_finds_words_and_values_of_tables(site):
    site.page("page.md", "# Page\n\n## Baths\n\n{{ table rinse-series }}\n")
    site.build()
    index = json.loads((site.folder / "site" / "search" / "search_index.json").read_text("utf-8"))
    text = " ".join(entry["text"] for entry in index["docs"])
    for word in ("Chloride in the cracks and outside", "0.0015", "above the limit"):
        for part in word.split():
            assert part in text
    assert "hbslot" not in text


PAGE = "---\ntitle: Page\n---\n\n\n# Page\n\nFine {{ value rinsing.bath }}, bad {{ value rinsing.bth }}.\n\n{{ table rinse-bath }}\n"


@pytest.mark.parametrize("mode", MODES, ids=" ".join)
@pytest.mark.long
def test_every_fault_of_every_page_in_one_build_in_every_mode(site, mode):
    site.build()
    before = site.snapshot()
    site.page("a.md", PAGE)
    site.page("b/c.md", "# C\n\n{{ calc rinse-baths drag_out=rinsing.film }}\n\n{{ maths 1+1 }}\n")
    built = site.build(*mode)
    assert built.returncode == 1
    for fault in (
        "docs/a.md:8: no house value or calculation 'rinsing.bth'; did you mean 'rinsing.bath'?",
        "docs/a.md:10: no table 'rinse-bath'; did you mean 'rinse-baths'?",
        "docs/b/c.md:3: house value rinsing.film is in 'mL/m^2', and drag_out wants 'mL'",
        "docs/b/c.md:5: unknown directive 'maths'; allowed are value, table, calc, cards",
    ):
        assert fault in built.stderr
    assert "Traceback" not in built.stderr
    assert site.snapshot() == before
    assert not list(site.folder.glob("site.*"))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("{{ table rinse-baths }}\n\n{{ table rinse-baths }}", "docs/p.md:5: table 'rinse-baths' is on this page already, in line 3"),
        ("see {{ table rinse-baths }}", "docs/p.md:3: 'table rinse-baths' must stand alone on its line"),
        ("{{ value rinse-residue start=\"0 mg/L\" drag_out=\"0 mL\" bath=\"1 L\" baths=\"1\" }}", "docs/p.md:3: rinse-residue: drag_out = 0 mL is out of range"),
        ("{{ value rinse-baths }}", "docs/p.md:3: rinse-baths: drag_out is missing"),
        ("{{ value drag-out.mass area=piece.area crack_volume=piece.crack_volume }}", "no result 'mass'"),
        ("{{ value rinsing.bath x=\"1\" }}", "takes no arguments"),
        ("{{ table rinse-baths x=\"1\" }}", "takes no arguments"),
        ("{{ calc rinse-baths drag_out=piece.creck }}", "no house value 'piece.creck'; did you mean"),
        ("{{ calc rinse-baths drag_out=\"2 oz\" }}", "'oz' can be three units"),
    ],
)  # fmt: skip
def test_faults_of_one_directive(site, text, says):
    site.page("p.md", f"# P\n\n{text}\n")
    built = site.build()
    assert built.returncode == 1
    assert says in built.stderr


VALUE = "{{ value rinsing.bath }}"


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (f"[a](index.md '{VALUE}')", "3: a value cannot stand in the title of a link"),
        (f'A {VALUE}.\n\n<p title="{VALUE}">a</p>', "5: a value cannot stand in the title of a link"),
        (
            "<div>\n{{ table rinse-baths }}\n</div>",
            "4: a table, calculator, picture or plot cannot stand here",
        ),
        ("see {{ value rinsing.bath and more", "3: 'value' is not closed"),
    ],
)
@pytest.mark.long
def test_a_directive_where_it_cannot_be_filled_is_a_fault(site, text, fault):
    site.page("p.md", f"# P\n\n{text}\n")
    built = site.build()
    assert built.returncode == 1
    assert f"docs/p.md:{fault}" in built.stderr
    assert "Traceback" not in built.stderr
    assert not (site.folder / "site").exists()


def test_every_file_that_becomes_a_page_is_tried_and_no_other(site):
    site.config(exclude_docs="'*.tmp.md'")
    site.page("title.md", f"---\ntitle: '{VALUE}'\n---\n\n# T\n")
    site.page("broken.md", f"---\ntitle: {VALUE}\n---\n\n# T\n")
    site.page("other.markdown", "# O\n\n{{ value no.such }}\n")
    site.page("left-out.tmp.md", "{{ value no.such }}\n")
    site.page("latin.md", "").write_bytes("# Größe\n".encode("latin-1"))
    built = site.build()
    assert built.returncode == 1
    assert "docs/title.md:2: what stands above the page is not filled" in built.stderr
    assert "docs/broken.md:1: what stands above the page is not readable as YAML" in built.stderr
    assert "docs/other.markdown:3: no house value or calculation 'no.such'" in built.stderr
    assert "docs/latin.md:1: cannot be read as UTF-8 text" in built.stderr
    assert "left-out" not in built.stderr
    assert "Traceback" not in built.stderr


@pytest.mark.long
def test_pages_with_a_byte_order_mark_or_other_line_ends(site):
    site.page("p.md", "").write_bytes(
        f"\ufeff---\r\ntitle: P\r\n---\r\n# P\r\n\r\n{VALUE}\r\n\r\n"
        "{{ table rinse-baths }}\r\n\r\n{{ value no.such }}\r\n".encode()
    )
    assert "docs/p.md:10: no house value or calculation 'no.such'" in site.build().stderr
    text = (site.folder / "docs" / "p.md").read_bytes().replace(b"{{ value no.such }}", b"")
    (site.folder / "docs" / "p.md").write_bytes(text)
    assert site.build().returncode == 0
    assert '<table class="hb"' in site.html("p.html")


def test_without_the_extension_that_places_tables_nothing_is_published(site):
    site.page("p.md", "# P\n\n{{ table rinse-baths }}\n")
    site.config(markdown_extensions="[tables]")
    built = site.build()
    assert built.returncode == 1
    assert "docs/p.md:3: a table, calculator, picture or plot cannot stand here" in built.stderr
    assert "keep attr_list among the markdown_extensions" in built.stderr


@pytest.mark.parametrize("named", ["3", "{house: 3}", "{hose: ours.yml}", '{house: "a\\0b"}'])
@pytest.mark.long
def test_a_misspelt_name_of_the_differences_file_is_told(site, named):
    site.config(extra=f"{{handbook: {named}}}")
    built = site.build()
    assert built.returncode == 1
    assert "mkdocs.yml: extra: handbook: " in built.stderr
    assert "allowed is 'house: FILE'" in built.stderr
    assert "Traceback" not in built.stderr


@pytest.mark.long
def test_a_directive_that_would_be_published_raw_is_a_fault(site):
    site.build()
    before = site.snapshot()
    site.page("p.md", "# P\n\n<div>\n\n    {{ value rinsing.bath }}\n\n</div>\n")
    built = site.build("-q", "build")
    assert built.returncode == 1
    assert "docs/p.md:5: '{{ value rinsing.bath }}' was taken for code and left unfilled" in built.stderr
    assert site.snapshot() == before


BROKEN = [
    ("rinsing.bath", "500 g", "rinsing.bath: 500 g is in 'g', which does not convert to 'mL'"),
    ("rinsing.film", "9 mL/m^2", "rinsing.film: 9 mL/m^2 is out of range; allowed is 10 to 1000 mL/m²"),
    ("rinsing.limit", "30 mg/L", "rinsing.limit: 30 mg/L is not below rinsing.start"),
    ("rinsing.bath", "[500 mL", "not readable as YAML"),
    (
        "rinsing.bath",
        "500 mL\n  # why\n  bathe: 3 mL",
        "rinsing.bathe: unknown key; did you mean 'rinsing.bath'?",
    ),
]


@pytest.mark.parametrize(("key", "value", "says"), BROKEN)
def test_a_broken_standard_leaves_the_earlier_site_whole(site, key, value, says):
    site.build()
    before = site.snapshot()
    site.set(key, value)
    built = site.build("-q", "build")
    assert built.returncode == 1
    assert says in built.stderr
    assert re.search(r"docs/house-standard\.yml:\d+: ", built.stderr)
    assert "Traceback" not in built.stderr
    assert site.snapshot() == before


@pytest.mark.long
def test_a_table_that_cannot_be_computed_names_the_house_values(site):
    line = site.set("electrolysis.strength", "4 g/L")
    site.page("page.md", "# P\n\n{{ table cell-currents }}\n")
    built = site.build()
    assert built.returncode == 0
    assert (
        "refused in its place, by house values that are each allowed: table cell-currents: " in built.stderr
    )
    assert f"electrolysis.strength = 4 g/L (docs/house-standard.yml:{line})" in built.stderr
    assert "No table for these house values" in site.html("page.html")
    assert "nothing is guessed beyond its ends" in site.html("page.html")


@pytest.mark.long
def test_a_broken_link_leaves_the_earlier_site_whole(site):
    site.build()
    before = site.snapshot()
    site.page("index.md", "# Start\n\n[gone](nowhere.md)\n")
    built = site.build("build", "--strict")
    assert built.returncode == 1
    assert "nowhere.md" in built.stderr
    assert site.snapshot() == before
    assert not list(site.folder.glob("site.*"))


@pytest.mark.long
def test_a_link_to_a_row_of_a_table_is_known_and_to_no_row_is_a_fault(site):
    site.config(validation="{links: {anchors: warn}}")
    site.page("sources.md", "# Sources\n\n{{ table sources }}\n")
    site.page("index.md", "# Start\n\n[row](sources.md#source-hand) [none](sources.md#source-nobody)\n")
    built = site.build("build", "--strict")
    assert built.returncode == 1
    assert "source-nobody" in built.stderr
    assert "source-hand" not in built.stderr


@pytest.mark.long
def test_a_new_site_replaces_the_earlier_one_and_keeps_dot_files(site):
    site.page("old.md", "# Old\n")
    site.build()
    (site.folder / "site" / ".keep").write_text("mine", encoding="utf-8")
    (site.folder / "docs" / "old.md").unlink()
    assert site.build().returncode == 0
    assert not (site.folder / "site" / "old.html").exists()
    assert (site.folder / "site" / ".keep").read_text(encoding="utf-8") == "mine"


@pytest.mark.long
def test_a_house_changes_one_value_and_only_its_tables_follow(site):
    site.page(
        "index.md",
        "# S\n\nIn {{ value rinsing.bath }}.\n\n{{ table rinse-series }}\n\n{{ table rinse-baths }}\n",
    )
    site.build()
    before = site.snapshot()
    site.set("rinsing.bath", "100 mL")
    site.build()
    after = site.snapshot()
    assert before["tables-csv/rinse-series.csv"] != after["tables-csv/rinse-series.csv"]
    assert before["tables-csv/rinse-baths.csv"] == after["tables-csv/rinse-baths.csv"]
    assert ">100\u00a0mL</span>" in site.html("index.html")


@pytest.mark.long
def test_a_house_may_keep_only_its_differences(site):
    site.page("index.md", "# S\n\nIn {{ value rinsing.bath }}.\n")
    (site.folder / "ours.yml").write_text("rinsing:\n  # small beakers\n  bath: 250 mL\n", encoding="utf-8")
    extra = "{polyfills: [assets/iframe-worker.js], handbook: {house: ours.yml}}"
    site.config(extra=extra)
    assert site.build().returncode == 0
    assert ">250\u00a0mL</span>" in site.html("index.html")
    (site.folder / "ours.yml").write_text("rinsing:\n  # why\n  bath: 250 h\n", encoding="utf-8")
    built = site.build()
    assert built.returncode == 1
    assert "ours.yml:3: rinsing.bath: 250 h is in 'h'" in built.stderr


@pytest.mark.long
def test_two_builds_are_the_same_to_the_byte(site):
    site.page("index.md", "# S\n\n{{ table rinse-series }}\n\n{{ table house-values }}\n")
    site.build()
    first = site.snapshot()
    site.build()
    assert site.snapshot() == first


def test_directory_addresses_are_refused(site):
    site.config(use_directory_urls="true", plugins="[search]")
    built = site.build()
    assert built.returncode == 1
    assert "use_directory_urls must be false" in built.stderr


def test_the_hook_is_the_only_place_that_knows_the_site_generator():
    for path in (ROOT / "handbook_calc").rglob("*.py"):
        assert "mkdocs" not in path.read_text(encoding="utf-8").lower(), path
    users = [
        path.name
        for path in (ROOT / "handbook_calc").rglob("*.py")
        if re.search(r"^\s*(import|from) pint", path.read_text(encoding="utf-8"), re.MULTILINE)
    ]
    assert users == []
