"""Everything that can fail is done before a page is made: load, check, compute, try every directive."""

import gc
import hashlib
import importlib
import importlib.machinery
import linecache
import logging
import re
import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from mkdocs.exceptions import PluginError
from mkdocs.structure.files import InclusionLevel
from mkdocs.utils.meta import get_data

from handbook_site.overlay import all_files, base_of, found_in

if TYPE_CHECKING:
    from handbook_calc.engine.render import Renderer

# Under `serve` faults are shown in the page and must not count as strict warnings, which would stop
# the server; MkDocs counts only what is logged below the name 'mkdocs'.
serve_log = logging.getLogger("handbook")

DESK = 'id="hb-desk"'  # where a page lets a keeper write the standard
RAW = re.compile(r"\{\{\s*(?:value|table|calc|cards|picture|plot)\b[^{}]*\}\}")


class Preparation:
    """What one build computes; under `serve` the last good one goes on where the next is at fault.

    Attributes:
        renderer: fills directives from the house standard.
        scripts: the calculators' scripts by file name.
        sheets: the short code of each page.
        plans: the plan of each piece by the name of its file.
        standing_faults: what is wrong now while the last good values are shown.
        docs: the folder of the pages, as messages name it.
        keep: what `serve` has computed with the code as it is now, and what of it still holds.
    """

    def __init__(self, serving: bool) -> None:
        self.serving = serving
        self._renderer: Renderer | None = None
        self.scripts: dict[str, str] = {}
        self.sheets: dict[str, str] = {}
        self.plans: dict = {}
        self.standing_faults: tuple[str, ...] = ()
        self.docs = "docs"
        self._modules: dict = {}
        self._code = ""  # the digest of the calculation package as it is loaded
        self._package: object = None
        self._found = ""  # the digest of the package as it stands in its folder
        self._fresh = True  # it is to be read anew
        self.keep = None
        self._memory = None

    @property
    def renderer(self) -> "Renderer":
        """Return what fills directives; an error before the first good run."""
        if self._renderer is None:
            raise RuntimeError("nothing is prepared yet; call run first")
        return self._renderer

    def start_anew(self) -> None:
        """Under `serve`, have the calculation package read anew where a file of it has changed."""
        if not self.serving:
            return
        self._found = _digest_of_package()
        package = sys.modules.get("handbook_calc")
        self._fresh = not (self._found and self._found == self._code and package is self._package)
        if not self._fresh:
            return
        importlib.invalidate_caches()
        linecache.checkcache()  # formulas are read as source too
        forgotten = _forget_modules()
        if forgotten:
            self._modules = forgotten
            # A module changed twice within a second would be taken for its compiled form of before.
            sys.dont_write_bytecode = True

    def run(self, config) -> None:
        """Load the house standard, compute every table, try every directive.

        Raises:
            PluginError: every fault, each with its file and line.
        """
        kept = self._renderer
        with _uncollected(for_good=not self.serving):
            faults = self._prepare(config)
        if faults and not (self.serving and self._renderer):
            raise PluginError("\n".join(faults))
        if not self.serving:
            return
        for fault in faults:
            serve_log.warning(fault)
        if self._renderer is kept and kept is not None:
            # The last good renderer goes on, and what it raises must be of the classes caught here.
            if self._fresh:
                _forget_modules()
                sys.modules.update(self._modules)
            self.standing_faults = tuple(faults)
        else:
            self._code, self._package = self._found, sys.modules.get("handbook_calc")
            self.keep = self.renderer.keep

    def remember(self) -> None:
        """Keep what this build computed for the next one."""
        if self._memory and not self.serving:
            self._memory.save()

    def explanations(self) -> dict[str, str]:
        """Return by file name the scripts that explain figures, and by which the standard is written."""
        from handbook_calc import desk, own, reasons

        found = {reasons.SCRIPT: reasons.script(self.renderer, self._plan_of_figures())}
        if self.scripts:
            found[own.SCRIPT] = own.script(self.renderer)
        if self.scripts and any(DESK in text for text in self.renderer.texts.values()):
            found[desk.SCRIPT] = desk.script(self.renderer.house)
        return found

    def _plan_of_figures(self) -> str:
        """Return the address of the plan of the piece that the worked figures are about, if it has a page."""
        piece = self.renderer.house.piece
        plan = self.plans.get(piece.stem) if piece else None
        return f"pieces/{piece.stem}.html" if piece and plan and plan.house.piece == piece else ""

    def _prepare(self, config) -> list[str]:
        root = Path(config.config_file_path).parent
        try:
            from handbook_calc import benches, printed
            from handbook_calc.engine import house, log_script, places, plan_script, render, stages
            from handbook_calc.engine.drawings import FOLDER, Drawings
            from handbook_calc.engine.faults import BadDeclaration, HouseFaults, RecordFault
            from handbook_calc.engine.kept import Keep
            from handbook_calc.engine.memory import Memory

            places.settle(root if base_of(config) else None)
            try:
                if self._memory is None or self._fresh:
                    # Only a whole build keeps it in a file; `serve` has it in its process.
                    code = "" if self.serving else _digest_of_what_computes(root)
                    self._memory = Memory(root / ".cache" / "computed", code)
                    stages.load(self._memory.checked)
                    self._memory.checked = True
            except BadDeclaration as error:
                return str(error).splitlines()
        except Exception as error:
            # Whatever is wrong in a module that is being edited, the reader gets its place, not a traceback.
            return [f"{_place(error, root)}: handbook_calc cannot be loaded: {error}"]
        keep = None
        if self.serving:
            keep = Keep() if self._fresh or self.keep is None else self.keep
        base = found_in(config, "house-standard.yml")
        overlay, named = option(config, "house"), option(config, "piece")
        other = root / overlay if overlay else None
        piece = root / named if named else house.example_path(base)
        state = [(path, path.read_bytes()) for path in (base, other, piece) if path and path.is_file()]
        try:
            standard = keep and keep.standards.get(repr(state))
            if not standard:
                standard = house.load(base, other, root, piece=piece, memory=self._memory)
        except HouseFaults as error:
            return list(map(str, error.faults))
        if keep:
            keep.standards = {repr(state): standard}
        self.docs = _named(Path(config.docs_dir), root)
        try:
            past = printed.past(standard, Path(config.docs_dir))
        except RecordFault as error:
            return [f"{self.docs}/{error}"]
        # Those of the package first; a bench of its own may draw some of them anew.
        folders = [folder / FOLDER for folder in (base_of(config), Path(config.docs_dir)) if folder]
        drawings = Drawings(*folders, root=root)
        renderer = render.Renderer(standard, keep, past, drawings.found)
        try:
            compared = benches_named(config, root)
            renderer.benches = benches.load(base, compared, root, self._memory) if compared else None
        except HouseFaults as error:
            return list(map(str, error.faults))
        pages, unreadable = _read_pages(renderer, self._pages(config), self.docs)
        plans, faults = _plans(config, root, base, other, keep, self._memory)
        renderer.plans = plans
        faults += [str(fault) for fault in drawings.faults]
        faults += computed_faults(renderer, root, pages)
        faults += unreadable + _try_pages(renderer, pages)
        faults += _raw_in_config(Path(config.config_file_path))
        try:
            self.scripts = renderer.scripts()
            if self.scripts:  # what a site without calculators could not use
                self.scripts |= plan_script.scripts(standard) | log_script.scripts(standard)
        except Exception as error:  # a formula that cannot be translated names itself and its line
            faults.append(str(error))
        if not faults:
            self.sheets = {line.name: line.text for line in renderer.state().of_kind("sheet")}
        if not faults or self.serving:
            self._renderer = renderer
            self.plans = plans
            self.standing_faults = ()
        return faults

    def _pages(self, config):
        wanted = InclusionLevel.is_in_serve if self.serving else InclusionLevel.is_included
        return sorted(all_files(config).documentation_pages(inclusion=wanted), key=lambda file: file.src_uri)


@contextmanager
def _uncollected(for_good: bool):
    """Look for no garbage meanwhile: much is made here that stays, and going through it again takes long.

    Arguments:
        for_good: the process ends with this build, so that what is there by now is never gone through.
    """
    collects = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collects:
            gc.enable()
            if for_good:
                gc.freeze()


# What mkdocs.yml may say below `extra: handbook:`, and what stands behind each.
OPTIONS = {
    "house": "the file of the values in which a house differs",
    "piece": "the file of the piece that the worked figures are about",
    "words": "the file of the words by which readers look for things",
}
BENCHES = "benches"  # a list of files, the differences of the benches that are compared


def option(config, name: str) -> str:
    """Return the file that mkdocs.yml names for one of the `OPTIONS`, or an empty text.

    Raises:
        PluginError: something else stands there.
    """
    named = _settings(config).get(name) or ""
    if isinstance(named, str) and named.isprintable():
        return named
    raise _not_understood(config)


def benches_named(config, root: Path) -> list[Path]:
    """Return the files of differences that are compared: as mkdocs.yml names them, else all of several.

    Raises:
        PluginError: something else than a list of files stands there.
    """
    from handbook_calc import benches

    named = _settings(config).get(BENCHES)
    if named is None:
        return benches.files_in(root)
    if isinstance(named, list) and all(isinstance(one, str) and one and one.isprintable() for one in named):
        return [root / one for one in dict.fromkeys(named)]
    raise _not_understood(config)


def _settings(config) -> dict:
    settings = config.extra.get("handbook") or {}
    if isinstance(settings, dict) and not set(settings) - {*OPTIONS, BENCHES, "base", "book"}:
        return settings
    raise _not_understood(config)


def _not_understood(config) -> PluginError:
    allowed = "; ".join(f"'{key}: FILE', {about}" for key, about in OPTIONS.items())
    allowed += f"; '{BENCHES}: [FILE, FILE]', the differences of the benches that are compared"
    file, written = Path(config.config_file_path).name, config.extra.get("handbook")
    return PluginError(f"{file}: extra: handbook: {written} is not understood; allowed is {allowed}")


def _forget_modules() -> dict:
    """Take the calculation package out of the loaded modules, so that it is read anew; return it."""
    names = [name for name in sys.modules if name.partition(".")[0] == "handbook_calc"]
    return {name: sys.modules.pop(name) for name in names}


def _digest_of_what_computes(root: Path) -> str:
    """Return what tells one state of everything that computes from another; empty where that cannot be told.

    Python itself is part of it, and the rows that a bench of its own adds to the published tables.
    """
    from handbook_calc.engine import places

    package = _digest_of_package()
    try:
        own = [(path.name, path.read_bytes()) for path in sorted((root / places.DATA).glob("*"))]
    except OSError:
        return ""
    told = f"{package}\0{sys.version}\0{sys.platform}\0{own}"
    return hashlib.sha256(told.encode()).hexdigest() if package else ""


def _digest_of_package() -> str:
    """Return what tells one state of the calculation package, code and data, from another."""
    found = importlib.machinery.PathFinder.find_spec("handbook_calc")
    digest = hashlib.sha256()
    for folder in map(Path, (found and found.submodule_search_locations) or ()):
        for path in sorted(folder.rglob("*")):
            if "__pycache__" in path.parts or not path.is_file():
                continue
            try:
                content = path.read_bytes()
            except OSError:
                return ""  # whatever it is, it may be another by now
            digest.update(f"{path.relative_to(folder)}\0{len(content)}\0".encode())
            digest.update(content)
    return digest.hexdigest()


def _named(path: Path, root: Path) -> str:
    """Return a path as messages name it: from the project's folder, where it lies inside."""
    return path.relative_to(root).as_posix() if path.is_relative_to(root) else str(path)


def _place(error: Exception, root: Path) -> str:
    """Return file:line of an error inside the project, as near to its cause as can be told."""
    if isinstance(error, SyntaxError) and error.filename:
        file, line = Path(error.filename), error.lineno
    else:
        trace, file, line = error.__traceback__, Path("handbook_calc"), 1
        while trace:
            if "handbook_calc" in trace.tb_frame.f_code.co_filename:
                file, line = Path(trace.tb_frame.f_code.co_filename), trace.tb_lineno
            trace = trace.tb_next
    return f"{_named(file, root)}:{line}"


def _plans(config, root: Path, base: Path, other: Path | None, keep, memory) -> tuple[dict, list[str]]:
    """Return the plans of all pieces below the pages by the names of their files, and what is wrong."""
    from handbook_calc import planned
    from handbook_calc.engine import house, logbook
    from handbook_calc.engine.faults import HouseFaults

    files = house.piece_files(Path(config.docs_dir))
    logs = map(logbook.path_of, files)
    read = (base, other, *files, *logs)
    state = repr([(path, path.read_bytes()) for path in read if path and path.is_file()])
    if keep and state in keep.plans:
        return keep.plans[state], []
    plans, faults = planned.plans(
        files,
        lambda path: house.load(base, other, root, piece=path, asking=True, memory=memory),
        lambda path: _named(path, root),
    )
    for path in files:
        plan = plans.get(path.stem)
        if plan is None:
            continue
        try:
            log = logbook.load(plan.house, path, shown=_named(logbook.path_of(path), root))
        except HouseFaults as error:
            faults += map(str, error.faults)
            continue
        plans[path.stem] = logbook.continued(plan, log) if log else plan
    if keep and not faults:
        keep.plans = {state: plans}
    return plans, faults


def computed_faults(renderer, root: Path, pages: list[tuple]) -> list[str]:
    """Compute what pages ask for, tables and plots, and return what is wrong; `check` computes every one."""
    from handbook_calc.engine.faults import CalculationFault
    from handbook_calc.engine.plot import PLOTS
    from handbook_calc.engine.registers import REGISTERS
    from handbook_calc.engine.tables import TABLES

    wanted = {(d.verb, d.name) for *_, asked in pages for d in asked}
    # Registers print what the pages use, so they are filled after the pages are read.
    computed = [("table", name, renderer.computed) for name in TABLES if name not in REGISTERS]
    computed += [("plot", name, renderer.drawn) for name in PLOTS]
    faults = []
    for verb, name, compute in computed:
        if (verb, name) not in wanted:
            continue
        try:
            compute(name)
        except CalculationFault as fault:
            faults.append(str(fault))
        except Exception as error:
            faults.append(f"{_place(error, root)}: {verb} '{name}' cannot be computed: {error}")
    return faults


def _read_pages(renderer, files, docs: str) -> tuple[list[tuple], list[str]]:
    """Return for each page its place in messages, its name, the lines above its text and its directives."""
    from handbook_calc.engine.directives import find

    pages = []
    faults = []
    for file in files:
        where = f"{docs}/{file.src_uri}"
        try:
            text = Path(file.abs_src_path).read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            faults.append(f"{where}:1: cannot be read as UTF-8 text: {error}; save it as UTF-8")
            continue
        body, _ = get_data(text)
        skipped = text.count("\n") - body.count("\n")
        faults += _faults_above(text, body, skipped, where)
        renderer.name_page(file.src_uri, body)
        pages.append((where, file.src_uri, skipped, find(body)))
    return pages, faults


def _try_pages(renderer, pages: list[tuple]) -> list[str]:
    faults = []
    for _, source, _, asked in pages:
        renderer.read_page(source, asked)
    for where, _, skipped, asked in pages:
        faults += _try_directives(renderer, asked, where, skipped)
    return faults


def _faults_above(text: str, body: str, skipped: int, where: str) -> list[str]:
    """Return the faults of what stands above a page, which is for the site generator and is not filled."""
    from handbook_calc.engine.directives import near_miss

    if body == text:
        told = "what stands above the page is not readable as YAML 'key: value' lines"
        return [f"{where}:1: {told}"] if text.startswith("---\n") else []
    return [
        f"{where}:{number}: what stands above the page is not filled; ask for it below"
        for number, line in enumerate(text.split("\n")[:skipped], 1)
        if "{{" in line or near_miss(line)
    ]


def _try_directives(renderer, asked, where: str, skipped: int) -> list[str]:
    from handbook_calc.engine.render import PageFault

    faults = []
    shown: dict[tuple[str, str], int] = {}
    for directive in asked:
        line = directive.line + skipped
        try:
            renderer.html_of(directive)
        except PageFault as fault:
            faults.append(f"{where}:{line}: {fault}")
        except Exception as error:
            faults.append(f"{where}:{line}: {directive.verb} '{directive.name}' failed: {error}")
        if directive.verb in ("table", "picture", "plot"):
            first = shown.setdefault((directive.verb, directive.name), line)
            if first != line:
                faults.append(
                    f"{where}:{line}: {directive.verb} '{directive.name}' is on this page already, in line "
                    f"{first}; link to #{directive.verb}-{directive.name} instead"
                )
    return faults


def _raw_in_config(path: Path) -> list[str]:
    """Return the faults of directives in names of pages and of the site, which are not filled."""
    lines = path.read_text(encoding="utf-8", errors="replace").split("\n")
    return [
        f"{path.name}:{number}: a name in {path.name} is not filled; write it out"
        for number, line in enumerate(lines, 1)
        if RAW.search(line.partition(" #")[0]) and not line.lstrip().startswith("#")
    ]
