"""A save under ``serve`` makes anew only what it changes, and what is served is what a new process would make."""

import shutil

import incremental
import pytest
from support import ROOT, copy_of_the_package

PAGES = {
    "index.md": "# Start\n\nBaths of {{ value rinsing.bath }} of DI water. See [the tables](tables/rinsing.md).\n",
    "procedures/rinse.md": "# Rinse\n\nIn {{ value rinsing.bath }},\n{{ value soak-time depth=piece.crack_depth fraction=drying.soak_fraction }} long.\n\n"
    "{{ calc rinse-baths }}\n\nAll of it: [the baths](../tables/rinsing.md#table-rinse-baths).\n\n{{ picture crack-mouth }}\n",
    "procedures/coat.md": "# Coat\n\nWith {{ value coating.kind }}.\n\n{{ table coating-kinds }}\n\n{{ calc dew-point }}\n",
    "tables/rinsing.md": "# Rinsing\n\n## How many baths?\n\n{{ table rinse-baths }}\n\n{{ plot cure }}\n",
    "keeper/house-standard.md": "# House standard\n\n{{ table house-values }}\n\n{{ table piece-facts }}\n",
    "keeper/sources-and-checks.md": "# Sources\n\n{{ table sources }}\n",
    "reference/glossary.md": "# Glossary\n\nDI water\n:   Water without salts.\n",
}


@pytest.fixture
def project(site):
    """A small site with a calculation package of its own; yields it and a process that serves it."""
    copy_of_the_package(site.folder)
    shutil.copytree(ROOT / "docs" / "drawings", site.folder / "docs" / "drawings")
    for name, text in PAGES.items():
        site.page(name, text)
    site.set("piece.number", "LY-014")  # its file comes into the folder
    site.config(
        markdown_extensions="[abbr, admonition, attr_list, def_list, md_in_html, tables, toc]",
        watch="[handbook_calc]",
    )
    serving = incremental.Serving(site.folder, site.folder / "served")
    yield site, serving
    serving.close()


ALL = len(PAGES) + 4  # the plan of the piece, the page of all, and those of a reader's own piece and its log
# The most that an edit may make anew: computed, converted, put into the theme.
MOST: dict = {
    incremental.a_page_text: (0, 1, 1),
    incremental.a_house_value: (30, 0, 4),
    incremental.a_reason: (30, 0, 1),
    incremental.a_page_title: (2, 1, ALL),
    incremental.a_coating: (None, 0, 4),
    incremental.a_drawing: (0, 0, 1),
    incremental.a_page_more: (2, ALL + 1, ALL + 1),
    incremental.a_term: (0, 2, 2),
}
# A page kept too long stays, whatever is edited next: a comparison is one of all the edits before it.
# tests/benchmarks/serve_time.py compares after each, with the real handbook.
COMPARED_AFTER = (incremental.a_coating, incremental.EDITS[-1])


@pytest.mark.long
def test_what_is_served_after_each_edit_is_what_a_new_process_makes(project):
    site, serving = project
    first = serving.build()
    assert not first["failed"]
    assert (first["converted"], first["rendered"]) == (ALL, ALL)
    again = serving.build()
    assert (again["computed"], again["converted"], again["rendered"]) == (0, 0, 0)
    for edit in incremental.EDITS:
        edit(site.folder)
        took = serving.build()
        assert not took["failed"], (edit.__name__, took)
        for what, limit in zip(("computed", "converted", "rendered"), MOST.get(edit, ()), strict=False):
            assert limit is None or took[what] <= limit, (edit.__name__, what, took)
        if edit in COMPARED_AFTER:
            cold = site.folder / "cold"
            incremental.from_nothing(site.folder, cold)
            assert incremental.differing(serving.site, cold) == [], edit.__name__
    for page in serving.site.rglob("*.html"):
        assert "hb-fault" not in page.read_text("utf-8"), page


@pytest.mark.long
def test_faults_are_told_in_each_build_and_their_mending_leaves_no_trace(project):
    site, serving = project
    serving.build()
    before = incremental.snapshot(serving.site)
    page, standard = PAGES["index.md"], (site.folder / "docs" / "house-standard.yml").read_text("utf-8")
    module = site.folder / "handbook_calc" / "rinsing.py"
    code = module.read_text("utf-8")

    def served(name):
        serving.build()
        return (serving.site / name).read_text("utf-8")

    site.page("index.md", page.replace("rinsing.bath", "rinsing.bad"))
    assert "hb-fault" in served("index.html")
    site.page("index.md", page)
    assert "hb-fault" not in served("index.html")

    site.set("rinsing.bath", "many")
    assert "hb-fault" in served("procedures/coat.html")
    module.write_text("oh no\n", "utf-8")
    assert "handbook_calc/rinsing.py:1" in served("index.html")
    (site.folder / "docs" / "house-standard.yml").write_text(standard, "utf-8")
    assert "handbook_calc/rinsing.py:1" in served("index.html")
    module.write_text(code, "utf-8")
    assert "hb-fault" not in served("index.html")

    site.page("index.md", page.replace("tables/rinsing.md", "tables/rinsed.md"))
    assert all("strict" in serving.build()["failed"] for _ in range(2))
    site.page("index.md", page)
    (site.folder / "docs" / "tables" / "rinsing.md").unlink()  # the pages that link to it are unchanged
    assert "strict" in serving.build()["failed"]
    site.page("tables/rinsing.md", PAGES["tables/rinsing.md"])
    assert not serving.build()["failed"]
    assert incremental.snapshot(serving.site) == before


@pytest.mark.long
def test_what_is_not_known_here_is_made_in_the_ordinary_way(project):
    site, serving = project
    (site.folder / "overrides").mkdir()
    (site.folder / "more.py").write_text(
        "times = []\n\n\ndef on_page_content(html, **kwargs):\n"
        "    times.append(1)\n    return f'{html}{len(times)}.'\n",
        "utf-8",
    )
    hook = (ROOT / "hooks" / "handbook.py").as_posix()
    own_templates = {"theme": "{name: material, font: false, custom_dir: overrides}"}
    an_extension = {"markdown_extensions": "[abbr, attr_list, md_in_html, tables, meta]"}
    for setting in (own_templates, an_extension, {"hooks": f"[{hook}, more.py]"}):
        site.config(**{"markdown_extensions": "[abbr, attr_list, md_in_html, tables]"} | setting)
        assert not serving.build()["failed"]
        before = incremental.snapshot(serving.site)
        took = serving.build()
        assert took["computed"] == 0
        if setting is an_extension:
            assert (took["converted"], took["rendered"]) == (0, 0)
        if "hooks" not in setting:
            assert incremental.snapshot(serving.site) == before
    # The other hook counts the pages: it was asked for each page of both builds, and the last is served.
    assert f"{2 * len(PAGES)}." in "".join(page.read_text("utf-8") for page in serving.site.rglob("*.html"))
