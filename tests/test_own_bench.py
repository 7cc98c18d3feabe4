"""A bench of its own: a small folder that builds with the installed package, and what an upgrade does to it.

The package is built as a wheel and installed into an environment of its own, as somebody without this
repository has it. Only what it depends on is shared, for speed.
"""

import importlib.metadata
import os
import re
import shutil
import subprocess
import sys
import sysconfig
import venv
from datetime import date
from pathlib import Path

import pytest
from support import ROOT

from handbook_calc import folders
from handbook_calc.__main__ import main
from handbook_calc.engine import places
from handbook_calc.engine.faults import RecordFault

LEFT_OUT = shutil.ignore_patterns(
    ".git", ".venv", "node_modules", "__pycache__", "*.egg-info", "build", "site", ".cache"
)


class Installed:
    """An environment with the package installed from a wheel."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        venv.create(folder / "env", with_pip=False)
        self.python = folder / "env" / ("Scripts" if os.name == "nt" else "bin") / "python"
        purelib = self.run("-c", "import sysconfig; print(sysconfig.get_paths()['purelib'])").stdout.strip()
        self.purelib = Path(purelib)
        # A line of a path shares what is installed here, but not what is installed as editable.
        (self.purelib / "shared.pth").write_text(sysconfig.get_paths()["purelib"] + "\n", "utf-8")

    def run(self, *arguments: str, cwd: Path | None = None) -> subprocess.CompletedProcess:
        unset = {name: text for name, text in os.environ.items() if name != "PYTHONPATH"}
        return subprocess.run(
            [self.python, *arguments],
            cwd=cwd or self.folder, env=unset | {"NO_MKDOCS_2_WARNING": "1"},
            capture_output=True, text=True, timeout=300, check=False,
        )  # fmt: skip

    def install(self, source: Path) -> None:
        """Build a wheel of a copy of the project, and install it in place of any other."""
        wheels = self.folder / f"wheels-{len(list(self.folder.glob('wheels-*')))}"
        major = int(importlib.metadata.version("setuptools").split(".")[0])
        offline = ["--no-build-isolation"] if major >= 77 else []
        built = subprocess.run(
            [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", *offline, "-w", wheels, source],
            capture_output=True, text=True, timeout=300, check=False,
        )  # fmt: skip
        assert built.returncode == 0, built.stderr
        (wheel,) = wheels.glob("*.whl")
        made = subprocess.run(
            [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--upgrade", "--no-warn-conflicts",
             "--target", self.purelib, wheel],
            capture_output=True, text=True, timeout=300, check=False,
        )  # fmt: skip
        assert made.returncode == 0, made.stderr


@pytest.fixture(scope="module")
def source(tmp_path_factory) -> Path:
    """A copy of the project to build wheels from."""
    folder = tmp_path_factory.mktemp("source") / "project"
    shutil.copytree(ROOT, folder, ignore=LEFT_OUT)
    return folder


@pytest.fixture(scope="module")
def installed(source, tmp_path_factory) -> Installed:
    made = Installed(tmp_path_factory.mktemp("installed"))
    made.install(source)
    return made


@pytest.fixture
def bench(installed, tmp_path) -> Path:
    """A new bench of its own."""
    made = installed.run("-m", "handbook_calc", "new", str(tmp_path / "ours"), "--name", 'Kiln "Lane" bench')
    assert made.returncode == 0, made.stderr
    return tmp_path / "ours"


def built(installed, bench: Path) -> subprocess.CompletedProcess:
    return installed.run("-m", "mkdocs", "build", "--strict", "--quiet", cwd=bench)


def words(bench: Path, page: str) -> str:
    return (bench / "site" / page).read_text("utf-8")


@pytest.mark.long
def test_the_installed_package_is_the_one_that_is_tested(installed):
    where = installed.run("-c", "import handbook_calc, handbook_bench; print(handbook_calc.__file__)").stdout
    assert Path(where.strip()).is_relative_to(installed.purelib)
    inside = installed.purelib / "handbook_calc" / "handbook"
    assert (inside / "docs" / "house-standard.yml").is_file()
    assert not (inside / "docs" / "editions").exists()  # the demonstration bench's own affair


@pytest.mark.long
def test_a_new_bench_builds_strictly_and_is_the_whole_handbook(installed, bench, real_site):
    assert sum(1 for path in bench.rglob("*") if path.is_file()) <= 8
    made = built(installed, bench)
    assert made.returncode == 0, made.stderr
    ours = {path.relative_to(bench / "site").as_posix() for path in (bench / "site").rglob("*.html")}
    theirs = {path.relative_to(real_site).as_posix() for path in real_site.rglob("*.html")}
    pieces = {name for name in theirs if name.startswith("pieces/")}  # of the demonstration bench
    assert ours == theirs - pieces | {"our-bench.html"}
    # The piece of the worked figures is there as a file to copy, and no other.
    assert [path.name for path in (bench / "site" / "pieces").iterdir()] == ["LY-014.yml"]
    assert "pieces/LY-014" not in (bench / "site" / "index.html").read_text("utf-8")
    html = words(bench, "procedures/rinse.html")
    assert "Kiln &quot;Lane&quot; bench · edition 1 (" in html
    assert "Draft, not for the bench" in html
    assert 'href="../our-bench.html"' in html  # it stands in the contents of every page
    assert "site-packages" not in html


@pytest.mark.long
def test_one_difference_of_each_kind(installed, bench):
    house = bench / "house" / "bench.yml"
    house.write_text(
        house.read_text("utf-8")
        + "\nrinsing:\n  # Chosen: larger tubs.\n  bath: 800 mL\n"
        + "\ncoating:\n  kinds:\n    shellac-brush:\n      # Chosen: as acrylic, for the test.\n"
        + "".join(f"      {line}\n" for line in coating_lines("acrylic-brush")),
        "utf-8",
    )
    (bench / "docs" / "procedures").mkdir()
    (bench / "docs" / "procedures" / "rinse.md").write_text(
        "# Rinse our way\n\nIn {{ value rinsing.bath }}.\n\n## Steps\n\n## Hold point\n", "utf-8"
    )
    row = "micrometre,0.02 um,0.02,,mean by the maker,0.02,0.02,kiln-lane-paste,,memory\n"
    with (bench / "data" / "grits.csv").open("a", encoding="utf-8") as file:
        file.write(row)
    (bench / "data" / "sources.yml").write_text(
        "kiln-lane-paste:\n  title: Label of a pot of paste\n  edition: undated\n  place: the lid\n"
        "  origin: memory\n  used_for: finest paste of this bench\n",
        "utf-8",
    )
    check = installed.run("-m", "handbook_calc", "check", cwd=bench)
    assert check.returncode == 0, check.stderr
    assert (
        "note: docs/procedures/rinse.md takes the place of the handbook's page of this name" in check.stdout
    )
    made = built(installed, bench)
    assert made.returncode == 0, made.stderr
    assert "Rinse our way" in words(bench, "procedures/rinse.html")
    assert "800\u00a0mL" in words(bench, "procedures/rinse.html")
    assert "shellac-brush" in words(bench, "tables/coating.html")
    assert "0.02 um" in words(bench, "calculators/abrasives.html")
    assert "Label of a pot of paste" in words(bench, "keeper/sources-and-checks.html")
    found = installed.run("-m", "handbook_calc", "calc", "grit-size", "grit=0.02 um", cwd=bench)
    assert found.returncode == 0, found.stderr


@pytest.mark.long
def test_a_piece_of_its_own_has_its_plan_and_may_be_that_of_the_worked_figures(installed, bench):
    """As the README of the folder says: a copy of the piece of the worked figures, with other facts."""
    text = (ROOT / "docs" / "pieces" / "LY-014.yml").read_text("utf-8")
    text = text.replace("number: LY-014", "number: KL-7").replace("mass: 186 g", "mass: 180 g")
    (bench / "docs" / "pieces" / "KL-7.yml").write_text(text, "utf-8")
    for command in ("check", "today", "plan docs/pieces/KL-7.yml"):
        made = installed.run("-m", "handbook_calc", *command.split(), cwd=bench)
        assert made.returncode == 0, made.stderr
    assert "Plan of KL-7" in made.stdout
    made = built(installed, bench)
    assert made.returncode == 0, made.stderr
    assert {path.name for path in (bench / "site" / "pieces").glob("*.html")} == {
        "index.html", "own.html", "own-log.html", "KL-7.html",
    }  # fmt: skip
    plan = words(bench, "pieces/KL-7.html")
    assert 'data-piece="KL-7"' in plan
    assert "180\u00a0g" in plan
    assert 'href="../pieces/index.html"' in words(bench, "procedures/rinse.html")
    assert 'href="../pieces/KL-7.html"' in words(bench, "pieces/index.html")
    assert '"address":"keeper/house-standard.html#house-piece.mass"' in words(bench, "assets/why-data.js")

    with (bench / "mkdocs.yml").open("a", encoding="utf-8") as file:
        file.write("extra:\n  handbook:\n    piece: docs/pieces/KL-7.yml\n")
    made = built(installed, bench)
    assert made.returncode == 0, made.stderr
    assert "KL-7" in words(bench, "keeper/house-standard.html")
    assert '"address":"pieces/KL-7.html#fact-piece.mass"' in words(bench, "assets/why-data.js")
    assert 'id="fact-piece.mass"' in words(bench, "pieces/KL-7.html")
    piece = ("--piece", "docs/pieces/KL-7.yml")
    assert installed.run("-m", "handbook_calc", "record", "1", *piece, cwd=bench).returncode == 0
    assert "piece piece.number,keeper/house-standard.md,KL-7" in words(bench, "../docs/editions/1.csv")
    (bench / "docs" / "pieces" / "KL-8.yml").write_text(text.replace("mass: 180 g", "mass: 18 kg"), "utf-8")
    for made in (built(installed, bench), installed.run("-m", "handbook_calc", "check", cwd=bench)):
        assert made.returncode != 0
        assert "docs/pieces/KL-8.yml:16: piece.thickness: 6 mm does not go with the rest" in made.stderr
        assert "Traceback" not in made.stderr


def coating_lines(name: str) -> list[str]:
    lines = (ROOT / "docs" / "house-standard.yml").read_text("utf-8").split("\n")
    start = lines.index(f"    {name}:", lines.index("coating:"))
    end = next(row for row in range(start + 1, len(lines)) if not lines[row].startswith("      "))
    return [line.strip() for line in lines[start + 1 : end]]


@pytest.mark.parametrize(
    ("file", "text", "says"),
    [
        ("house/bench.yml", "rinsing:\n  # Chosen: so.\n  bath: wet\n", "house/bench.yml:3: rinsing.bath: wet"),
        ("data/grits.csv", "", "data/grits.csv:1: has other columns than system,grit,"),
        ("data/grits.csv", f"GRITS\nFEPA P,{'9' * 200_000}\n", "data/grits.csv:2: is no row of a CSV file"),
        ("data/grits.csv", "GRITS\n\n\nFEPA P,P9000\n", "data/grits.csv:4: does not have as many cells"),
        ("data/grits.csv", "GRITS\nFEPA P,\x1b[2J\n", "data/grits.csv:2: holds the sign U+001B"),
        ("data/grits.csv", "a,b\n1,2\n", "data/grits.csv:1: has other columns than system,grit,"),
        ("data/grits.csv", "GRITS\nFEPA P,P80,1,,m,1,1,mass-balance,,memory\n", "data/grits.csv:2: fepa p p80 is in the handbook's table already"),
        ("data/grits.csv", "GRITS\nFEPA P,P9000,-1,,m,1,1,mass-balance,,memory\n", "data/grits.csv:2: size = -1; allowed is a number"),
        ("data/grits.csv", "GRITS\nFEPA P,P9000,1,,m,1,1,nobody,,memory\n", "data/grits.csv:2: source = nobody is not in sources.yml"),
        ("data/grits.csv", "GRITS\nFEPA P,P9000\n", "data/grits.csv:2: does not have as many cells"),
        ("data/wires.csv", "a\n", "data/wires.csv:1: a bench adds no rows to this table; it may add some to"),
        ("data/sources.yml", "x:\n  title: y\n", "data/sources.yml:1: cannot be read as sources"),
    ],
)  # fmt: skip
@pytest.mark.long
def test_a_slip_in_a_bench_of_its_own_is_told_with_file_and_line(installed, bench, file, text, says):
    header = (ROOT / "handbook_calc" / "data" / "grits.csv").read_text("utf-8").split("\n")[0]
    (bench / file).write_text(text.replace("GRITS", header), "utf-8")
    for made in (installed.run("-m", "handbook_calc", "check", cwd=bench), built(installed, bench)):
        assert made.returncode != 0
        assert says in made.stderr
        assert "Traceback" not in made.stderr
    assert not (bench / "site").exists()


@pytest.mark.long
def test_an_upgrade_shows_what_it_does_to_the_recorded_edition(installed, source, bench, tmp_path):
    newer = Installed(tmp_path / "newer")
    newer.install(source)
    assert newer.run("-m", "handbook_calc", "record", "1", cwd=bench).returncode == 0
    assert "nothing changed" in newer.run("-m", "handbook_calc", "changes", cwd=bench).stdout

    changed = tmp_path / "changed"
    shutil.copytree(source, changed)
    version = changed / "handbook_calc" / "__init__.py"
    version.write_text(version.read_text("utf-8").replace('"0.1.0"', '"0.2.0"'), "utf-8")
    standard = changed / "docs" / "house-standard.yml"
    text, count = re.subn(
        r"(?m)^  oven_temperature: 80 degC$", "  oven_temperature: 85 degC", standard.read_text("utf-8")
    )
    assert count == 1
    standard.write_text(text, "utf-8")
    (changed / "docs" / "keeper" / "house-standard.md").write_text(
        "# Values\n\n{{ table house-values }}\n", "utf-8"
    )
    newer.install(changed)
    told = newer.run("-m", "handbook_calc", "changes", cwd=bench)
    assert told.returncode == 0, told.stderr
    assert "The package was version 0.1.0, and is 0.2.0." in told.stdout
    assert "house drying.oven_temperature: was 80 °C, is 85 °C" in told.stdout.replace("\u00a0", " ")
    assert "The words of the page were rewritten: keeper/house-standard.md" in told.stdout


@pytest.mark.long
def test_two_benches_on_one_standard_are_compared(installed, bench):
    (bench / "house").joinpath("other.yml").write_text(
        "house:\n  # Chosen: ours.\n  name: Other bench\n  # Chosen: so.\n  status: draft\n"
        "drying:\n  # Chosen: so.\n  oven_temperature: 90 degC\n",
        "utf-8",
    )
    told = installed.run("-m", "handbook_calc", "check", cwd=bench)
    assert told.returncode == 2
    assert (
        "there are several files of differences: house/bench.yml, house/other.yml; say which" in told.stderr
    )
    told = installed.run(
        "-m", "handbook_calc", "changes", "--between", "house/bench.yml", "house/other.yml", cwd=bench
    )
    assert told.returncode == 0, told.stderr
    assert told.stdout.startswith(
        'was: Kiln "Lane" bench (house/bench.yml); is: Other bench (house/other.yml)\n'
    )
    assert "was 80 °C, is 90 °C" in told.stdout.replace("\u00a0", " ")


# --- the folder --------------------------------------------------------------------------------


def test_nothing_is_written_over(tmp_path, capsys):
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "mine.txt").write_text("mine", "utf-8")
    assert main(["new", str(tmp_path / "full")]) == 2
    assert capsys.readouterr().err.endswith("full: holds mine.txt already; name a new or an empty folder\n")
    assert [path.name for path in (tmp_path / "full").iterdir()] == ["mine.txt"]
    (tmp_path / "file").write_text("", "utf-8")
    assert main(["new", str(tmp_path / "file")]) == 2
    assert main(["new", str(tmp_path / "x"), "--name", "a\nb"]) == 2
    assert capsys.readouterr().err.count("\n") == 2


@pytest.mark.parametrize(
    "name", ["Our bench", 'a "b" \\c', "key: value # no", "Ünïcode · bench", "no", "{date}"]
)
def test_any_name_of_a_bench_is_written_whole(tmp_path, monkeypatch, name):
    folders.make(tmp_path / "ours", name, date(2026, 11, 26))
    monkeypatch.chdir(tmp_path / "ours")
    from handbook_calc.engine import house

    standard = house.load(ROOT / "docs" / "house-standard.yml", places.differences())
    assert standard["house.name"] == name
    assert standard["house.status"] == "draft"


def test_a_new_folder_says_all_that_it_holds(tmp_path):
    written = folders.make(tmp_path / "ours", "Ours", date(2026, 11, 26))
    found = {
        path.relative_to(tmp_path / "ours").as_posix()
        for path in (tmp_path / "ours").rglob("*")
        if path.is_file()
    }
    assert set(written) == found
    with pytest.raises(RecordFault, match="holds"):
        folders.make(tmp_path / "ours", "Ours", date(2026, 11, 26))


@pytest.mark.parametrize("name", ["x" * 300, "file/under", "link", "loop"])
def test_a_place_where_no_folder_can_be_is_one_clear_line(tmp_path, name):
    (tmp_path / "file").write_text("", "utf-8")
    (tmp_path / "link").symlink_to("/nowhere")
    (tmp_path / "loop").symlink_to("loop")
    with pytest.raises(RecordFault, match=r"name (?:a new|another)") as told:
        folders.make(tmp_path / name, "Ours", date(2026, 11, 26))
    assert len(str(told.value).splitlines()) == 1
    assert sorted(path.name for path in tmp_path.iterdir()) == ["file", "link", "loop"]


@pytest.mark.parametrize("arguments", [("record", "2026.1"), ("sheets", "--printed", "x", "--place", "y")])
@pytest.mark.parametrize("named", [None, "bench.yaml"])
def test_nothing_is_recorded_in_the_installed_package(tmp_path, monkeypatch, capsys, arguments, named):
    inside = tmp_path / "package" / "handbook"
    inside.mkdir(parents=True)
    shutil.copytree(ROOT / "docs", inside / "docs")
    monkeypatch.setattr(places, "PACKAGE", inside.parent)
    (tmp_path / "here" / "house").mkdir(parents=True)
    if named:
        (tmp_path / "here" / "house" / named).write_text("house:\n", "utf-8")
    monkeypatch.chdir(tmp_path / "here")
    assert main(list(arguments)) == 2
    err = capsys.readouterr().err
    assert "nothing is recorded in the installed package; " in err
    assert ("rename house/bench.yaml to end in .yml" if named else "go to the folder of the bench") in err
    assert len(err.splitlines()) == 1
    assert not (inside / "docs" / "editions").exists()


@pytest.mark.parametrize("stood", [True, False])
def test_of_a_bench_that_cannot_be_completed_nothing_is_left(tmp_path, monkeypatch, stood):
    whole, made = folders._write, []

    def full(path, text):
        if len(made) == 4:
            raise OSError(28, "No space left on device", str(path))
        made.append(path)
        whole(path, text)

    monkeypatch.setattr(folders, "_write", full)
    if stood:
        (tmp_path / "ours").mkdir()
    with pytest.raises(RecordFault, match="No space left on device"):
        folders.make(tmp_path / "ours", "Ours", date(2026, 11, 26))
    assert len(made) == 4
    assert [path.name for path in tmp_path.rglob("*")] == (["ours"] if stood else [])


def test_a_page_with_nearly_the_name_of_one_of_ours_is_asked_about(tmp_path):
    folders.make(tmp_path / "ours", "Ours", date(2026, 11, 26))
    (tmp_path / "ours" / "docs" / "procedures").mkdir()
    (tmp_path / "ours" / "docs" / "procedures" / "rins.md").write_text("# R\n", "utf-8")
    (note,) = folders.notes(tmp_path / "ours")
    assert note == "note: docs/procedures/rins.md is a page more; did you mean 'procedures/rinse.md'?"


def test_the_version_is_written_once():
    import handbook_calc

    text = (ROOT / "pyproject.toml").read_text("utf-8")
    assert 'version = { attr = "handbook_calc.__version__" }' in text
    assert re.fullmatch(r"\d+\.\d+\.\d+", handbook_calc.__version__)
