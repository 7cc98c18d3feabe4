"""The settings of a bench of its own: the package's, with its own before them."""

from pathlib import Path

import pytest
from mkdocs.config import load_config
from mkdocs.exceptions import PluginError
from support import ROOT

import handbook_bench
from handbook_calc import folders


@pytest.fixture
def bench(tmp_path) -> Path:
    from datetime import date

    folders.make(tmp_path / "ours", "Ours", date(2026, 11, 26))
    return tmp_path / "ours"


def merged(bench: Path, more: str = "", **command) -> dict:
    """Return the settings of a bench whose file has more lines, with what the command line says."""
    text = "site_name: Ours\nstrict: true\nplugins: [search]\n" + more
    (bench / "mkdocs.yml").write_text(text, "utf-8")
    config = load_config(str(bench / "mkdocs.yml"), **command)
    return handbook_bench.settings(config, bench)


def test_the_package_gives_what_the_bench_does_not_say(bench):
    found = merged(bench)
    assert found["site_name"] == "Ours"
    assert found["theme"]["name"] == "material"
    assert found["hooks"] == [str(ROOT / "hooks" / "handbook.py")]
    assert found["use_directory_urls"] is False
    assert found["docs_dir"] == str(bench / "docs")
    assert found["extra"]["handbook"]["house"] == "house/bench.yml"
    assert "watch" not in found or found["watch"] == []


def test_pages_of_its_own_stand_first_and_hidden_ones_once(bench):
    (bench / "docs" / "index.md").write_text("# Ours\n", "utf-8")
    found = merged(bench)
    assert found["nav"][0] == {"Ours": ["our-bench.md"]}
    assert {"Start": "index.md"} in found["nav"]


def test_what_the_bench_says_goes_before(bench):
    found = merged(
        bench,
        "theme: {name: material, palette: {primary: red}}\nextra_css: [ours.css]\nnav: [{Ours: our-bench.md}]\n"
        "extra: {handbook: {house: house/bench.yml, words: words.csv}}\nmarkdown_extensions: [footnotes]\n",
    )
    assert found["theme"]["palette"] == {"primary": "red"}
    assert found["theme"]["font"] is False
    assert found["extra_css"][-1] == "ours.css"
    assert found["markdown_extensions"][-1] == "footnotes"
    assert found["nav"][0] == {"Ours": "our-bench.md"}
    assert found["extra"]["handbook"]["words"] == "words.csv"


def test_what_the_command_says_goes_before_all(bench, tmp_path):
    found = merged(bench, site_dir=str(tmp_path / "elsewhere"), dev_addr="127.0.0.1:8123", strict=False)
    assert found["site_dir"] == str(tmp_path / "elsewhere")
    assert found["dev_addr"] == "127.0.0.1:8123"
    assert found["strict"] is False


def test_without_differences_it_is_told_what_to_write(bench):
    (bench / "house" / "bench.yml").unlink()
    with pytest.raises(PluginError, match="there is no file of differences; write"):
        merged(bench)
