"""The handbook in MkDocs: finds what pages ask for, reports faults by page and line, fills pages.

Everything is checked and computed before MkDocs cleans the site folder, and the new site takes the
old one's place only when it is complete: a fault leaves the earlier site whole. Tables go in after
the page is laid out, because converting them as Markdown and indexing them cell by cell is most of
a build's time; the search index gets their words instead.
"""

import logging
import os
import re
import shutil
import sys
from dataclasses import dataclass, field
from html import escape, unescape
from pathlib import Path

from jinja2 import FileSystemBytecodeCache
from mkdocs import utils
from mkdocs.exceptions import PluginError
from mkdocs.plugins import event_priority
from mkdocs.structure.files import File, InclusionLevel, get_files
from mkdocs.utils.meta import get_data

# Under `serve` faults are shown in the page and must not count as strict warnings, which would stop
# the server; MkDocs counts only what is logged below the name 'mkdocs'.
serve_log = logging.getLogger("handbook")
log = logging.getLogger("mkdocs.hooks.handbook")

SLOT = re.compile(r'<p class="hb-slot" id="([^"]*)">hbslot(\d+)</p>')
FILLED_SLOT = re.compile(r'<p class="hb-slot" id="[^"]*" data-slot="(\d+)">.*?</p>', re.DOTALL)

# Of the theme's 2.5 MB, source maps and the search of other languages are most, and never loaded.
UNUSED = re.compile(r"^assets/.*(?:\.map|lunr/(?:min/lunr\.\w+\.min|tinyseg|wordcut)\.js)$")

GLOSSARY = "reference/glossary.md"
# A term in italics is an everyday word: it is explained in the glossary and nowhere else.
TERM = re.compile(r"^([^*\s].*)\n:   (.+)$", re.MULTILINE)

RAW = re.compile(r"\{\{\s*(?:value|table|calc)\b[^}]*\}\}")
CODE = re.compile(r"<(pre|code)\b.*?</\1>|<!--.*?-->", re.DOTALL)
VALUE = "hb-value"
# A value where Markdown takes no HTML: the title of a link, the text of a picture, an attribute, code.
MISPLACED = re.compile(f'&lt;span class=(?:"|&quot;){VALUE}|="<span class="{VALUE}')


@dataclass(frozen=True)
class Slot:
    """A place in a page: what will stand there, its words for the search index, and its line."""

    html: str
    words: str
    line: int


@dataclass
class Asked:
    """What one page asked for: its slots, and the lines of its values and of all its directives."""

    slots: list[Slot] = field(default_factory=list)
    values: list[int] = field(default_factory=list)
    lines: set[int] = field(default_factory=set)


class State:
    """What one build knows; `renderer` of the last good build stays for `serve`."""

    serving = False
    renderer = None
    modules: dict
    standing_faults: tuple[str, ...] = ()
    docs = "docs"  # the folder of the pages, as messages name it
    left_over: list[str]
    scripts: dict[str, str]
    glossary: dict[str, str]
    published: Path | None = None
    warnings: utils.CountHandler | None = None


state = State()


def on_startup(command, dirty):
    """Remember whether this is `serve`."""
    state.serving = command == "serve"


@event_priority(100)
def on_config(config):
    """Turn the build to a folder of its own, so that the earlier site stays until this one is whole."""
    if config.use_directory_urls:
        raise PluginError("mkdocs.yml: use_directory_urls must be false: the site opens from a folder")
    _list_only_visible(config.theme)
    if state.serving:
        state.modules = _forget_modules()
        return config
    state.published = Path(config.site_dir)
    staging = state.published.with_name(state.published.name + ".building")
    for folder in (state.published, staging):
        if os.path.lexists(folder) and not folder.is_dir():
            raise PluginError(f"{folder}: is no folder, and the site needs its place; move it away")
    shutil.rmtree(staging, ignore_errors=True)  # what an interrupted build left
    config.site_dir = str(staging)
    state.warnings = utils.CountHandler()
    state.warnings.setLevel(logging.WARNING)
    logging.getLogger("mkdocs").addHandler(state.warnings)
    return config


def _list_only_visible(theme) -> None:
    """Keep the theme's thousands of icons out of the list of its files.

    MkDocs lists them all at each build, a tenth of its time, only to leave out what stands in a hidden
    folder. Icons are still found by name.
    """
    get_env = theme.get_env

    def get_quick_env():
        env = get_env()
        env.loader.list_templates = lambda: _visible_files(env.loader.searchpath)
        return env

    theme.get_env = get_quick_env


def _visible_files(folders) -> list[str]:
    found = set()
    for folder in folders:
        for place, inner, names in os.walk(folder):
            inner[:] = [name for name in inner if not name.startswith(".")]
            found |= {
                os.path.relpath(os.path.join(place, name), folder).replace(os.sep, "/") for name in names
            }
    return sorted(found)


def on_pre_build(config):
    """Load the house standard, compute every table, try every directive; stop on any fault."""
    state.left_over = []
    state.glossary = _glossary(Path(config.docs_dir) / GLOSSARY)
    kept = state.renderer
    faults = _prepare(config)
    if faults and not (state.serving and state.renderer):
        raise PluginError("\n".join(faults))
    if state.serving:
        for fault in faults:
            serve_log.warning(fault)
        if state.renderer is kept and kept is not None:
            # The last good renderer goes on, and what it raises must be of the classes caught here.
            _forget_modules()
            sys.modules.update(state.modules)
            state.standing_faults = tuple(faults)


def _forget_modules() -> dict:
    """Take the calculation package out of the loaded modules, so that it is read anew; return it."""
    names = [name for name in sys.modules if name.partition(".")[0] == "handbook_calc"]
    return {name: sys.modules.pop(name) for name in names}


def _glossary(path: Path) -> dict[str, str]:
    """Return what each term means, under every form in which a sentence may hold it."""
    # A sign that is not UTF-8 is reported with the page it stands in.
    text = path.read_text(encoding="utf-8", errors="replace") if path.is_file() else ""
    found = {}
    for term, meaning in TERM.findall(text):
        for form in (term, term[0].upper() + term[1:]):
            found |= {form: meaning, f"{form}s": meaning}
    return found


def _prepare(config) -> list[str]:
    root = Path(config.config_file_path).parent
    try:
        from handbook_calc.engine import catalogue, house, render
        from handbook_calc.engine.faults import BadDeclaration, HouseFaults

        try:
            catalogue.load()
        except BadDeclaration as error:
            return str(error).splitlines()
    except Exception as error:
        # Whatever is wrong in a module that is being edited, the reader gets its place, not a traceback.
        return [f"{_place(error, root)}: handbook_calc cannot be loaded: {error}"]
    overlay = _overlay(config)
    try:
        standard = house.load(
            Path(config.docs_dir) / "house-standard.yml", root / overlay if overlay else None, root
        )
    except HouseFaults as error:
        return list(map(str, error.faults))
    renderer = render.Renderer(standard)
    faults = _fill_tables(renderer, root)
    faults += _try_pages(renderer, config, root)
    try:
        state.scripts = renderer.scripts()
    except Exception as error:  # a formula that cannot be translated names itself and its line
        faults.append(str(error))
    if not faults or state.serving:
        state.renderer = renderer
        state.standing_faults = ()
    return faults


def _overlay(config) -> str:
    """Return the file of the house's own differences that mkdocs.yml names, or an empty text.

    Raises:
        PluginError: something else stands there.
    """
    settings = config.extra.get("handbook") or {}
    named = (settings.get("house") or "") if isinstance(settings, dict) else None
    if not isinstance(named, str) or not named.isprintable() or set(settings) - {"house"}:
        raise PluginError(
            f"mkdocs.yml: extra: handbook: {settings} is not understood; allowed is one line "
            "'house: FILE', the file of the values in which a house differs"
        )
    return named


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


def _fill_tables(renderer, root: Path) -> list[str]:
    from handbook_calc.engine.faults import CalculationFault
    from handbook_calc.engine.registers import REGISTERS
    from handbook_calc.engine.tables import TABLES

    faults = []
    for name in TABLES:
        if name in REGISTERS:
            continue  # they print what the pages use, so they are filled after the pages are read
        try:
            renderer.filled(name)
        except CalculationFault as fault:
            faults.append(str(fault))
        except Exception as error:
            faults.append(f"{_place(error, root)}: table '{name}' cannot be computed: {error}")
    return faults


def _try_pages(renderer, config, root: Path) -> list[str]:
    from handbook_calc.engine.directives import find
    from handbook_calc.engine.render import PageFault

    state.docs = _named(Path(config.docs_dir), root)
    wanted = InclusionLevel.is_in_serve if state.serving else InclusionLevel.is_included
    pages = []
    faults = []
    for file in sorted(get_files(config).documentation_pages(inclusion=wanted), key=lambda f: f.src_uri):
        where = f"{state.docs}/{file.src_uri}"
        try:
            text = Path(file.abs_src_path).read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            faults.append(f"{where}:1: cannot be read as UTF-8 text: {error}; save it as UTF-8")
            continue
        body, meta = get_data(text)
        skipped = text.count("\n") - body.count("\n")
        if RAW.search(str(meta)):
            line = text[: text.index("{{")].count("\n") + 1
            faults.append(f"{where}:{line}: what stands above the page is not filled; ask for it below")
        if body == text and text.startswith("---\n"):
            faults.append(f"{where}:1: what stands above the page is not readable as YAML 'key: value' lines")
        heading = re.search(r"^# (.+)$", body, re.MULTILINE)
        renderer.usage.titles[file.src_uri] = heading[1] if heading else file.src_uri
        pages.append((where, file.src_uri, skipped, find(body)))
    for _, source, _, asked in pages:
        for directive in asked:
            renderer.note(directive, source)
    for page, _, skipped, asked in pages:
        shown_tables: dict[str, int] = {}
        for directive in asked:
            line = directive.line + skipped
            where = f"{page}:{line}"
            try:
                renderer.fill(directive)
            except PageFault as fault:
                faults.append(f"{where}: {fault}")
            except Exception as error:
                faults.append(f"{where}: {directive.verb} '{directive.name}' failed: {error}")
            if directive.verb == "table":
                first = shown_tables.setdefault(directive.name, line)
                if first != line:
                    faults.append(
                        f"{where}: table '{directive.name}' is on this page already, in line {first}; "
                        f"link to #table-{directive.name} instead"
                    )
    return faults


def on_files(files, config):
    """Add a CSV of every table that a page shows; leave out what no reader of this site can use."""
    from handbook_calc.engine.render import CSV_FOLDER

    for file in [file for file in files if UNUSED.search(file.src_uri)]:
        files.remove(file)
    for name in state.renderer.usage.table_pages:
        content = state.renderer.filled(name).csv()
        files.append(File.generated(config, f"{CSV_FOLDER}/{name}.csv", content=content))
    for name, content in state.scripts.items():
        files.append(File.generated(config, f"assets/{name}", content=content))
    _join_scripts(files, config)
    return files


def _join_scripts(files, config) -> None:
    """Publish the calculators' scripts as one file; the pages of a site without them still read right."""
    from handbook_calc.engine.forms import HAND_WRITTEN, JOINED

    parts = [files.get_file_from_path(f"assets/bench/{name}") for name in HAND_WRITTEN]
    if None in parts:
        return
    for part in parts:
        files.remove(part)
    content = "".join(part.content_string for part in parts)
    files.append(File.generated(config, f"assets/{JOINED}", content=content))


@event_priority(100)
def on_page_markdown(markdown, page, config, files):
    """Put values into the text, and a slot where a table or calculation will stand."""
    from handbook_calc.engine.directives import find
    from handbook_calc.engine.render import PageFault

    lines = markdown.split("\n")
    skipped = (page.file.content_string or "").count("\n") - markdown.count("\n")
    kept = page.meta["handbook"] = Asked()
    counts: dict[str, int] = {}
    for asked in reversed(find(markdown)):
        line = lines[asked.line - 1]
        number = asked.line + skipped
        kept.lines.add(number)
        try:
            html = state.renderer.fill(asked)
        except PageFault as fault:
            told = f"{state.docs}/{page.file.src_uri}:{number}: {fault}"
            if not state.serving:
                state.left_over.append(told)
            html = f'<span class="hb-fault" role="alert">{escape(told)}</span>'
            lines[asked.line - 1] = f"{line[: asked.start]}{html}{line[asked.end :]}"
            continue
        if asked.verb == "value":
            kept.values.insert(0, number)
            lines[asked.line - 1] = f"{line[: asked.start]}{html}{line[asked.end :]}"
            continue
        name = f"{asked.verb}-{asked.name}"
        counts[name] = counts.get(name, 0) + 1
        anchor = name if counts[name] == 1 else f"{name}-{counts[name]}"
        indent = line[: asked.start]
        slot = f"hbslot{len(kept.slots)}\n{indent}{{: #{anchor} .hb-slot }}"
        lines[asked.line - 1] = f"\n{indent}{slot}\n"
        if anchor != name:  # the second calculator of a kind on a page: its fields need ids of their own
            html = re.sub(rf'(?<=[" ]){re.escape(name)}(?=[-" ])', anchor, html)
        words = state.renderer.words(asked.name) if asked.verb == "table" else _text_of(html)
        kept.slots.append(Slot(html, words, number))
    if page.file.src_uri != GLOSSARY:
        lines += _abbreviations(markdown)
    return "\n".join(lines)


def _abbreviations(markdown: str) -> list[str]:
    """Return a line for each term that a page uses, from which Markdown makes its tooltips."""
    used = [f"*[{form}]: {meaning}" for form, meaning in state.glossary.items() if form in markdown]
    return ["", *used] if used else []


def _text_of(html: str) -> str:
    return re.sub(r"<[^>]+>", " ", html)


def on_page_content(html, page, config, files):
    """Put the words of tables and calculations into their slots, for the search index to find."""
    kept = page.meta["handbook"]
    state.left_over += [f"{state.docs}/{page.file.src_uri}:{fault}" for fault in _unfit(html, page)]

    def with_words(found: re.Match) -> str:
        anchor, number = found[1], int(found[2])
        return f'<p class="hb-slot" id="{anchor}" data-slot="{number}">{kept.slots[number].words}</p>'

    return SLOT.sub(with_words, html)


def _unfit(html: str, page) -> list[str]:
    """Return line and complaint of every directive that Markdown did not take for what it is."""
    kept = page.meta["handbook"]
    faults = []
    for left in RAW.findall(CODE.sub("", html)):
        text = unescape(left)
        lines = enumerate((page.file.content_string or "").split("\n"), 1)
        line = next((n for n, source in lines if text in source and n not in kept.lines), 1)
        faults.append(
            f"{line}: '{text}' was taken for code and left unfilled; indent it by "
            "four columns for each list item or caution that it stands in"
        )
    for found in MISPLACED.finditer(html):
        line = kept.values[html.count(VALUE, 0, found.start())]
        faults.append(
            f"{line}: a value cannot stand in the title of a link, the text of a picture, "
            "an attribute or code; put it into the sentence"
        )
    placed = {int(number) for _, number in SLOT.findall(html)}
    for number, slot in enumerate(kept.slots):
        if number not in placed:
            faults.append(
                f"{slot.line}: a table or calculator cannot stand here; put it on a line of its own, not in "
                "HTML or a footnote, and keep attr_list among the markdown_extensions"
            )
    return faults


def on_env(env, config, files):
    """Keep the theme's compiled templates between builds; stop on what would be published raw."""
    # Compiling the theme's templates anew is a tenth of a build. The folder lies beside mkdocs.yml and
    # not in a shared place: compiled templates are code.
    compiled = Path(config.config_file_path).parent / ".cache" / "templates"
    compiled.mkdir(parents=True, exist_ok=True)
    env.bytecode_cache = FileSystemBytecodeCache(str(compiled))
    _stop_on_raw_directives()
    return env


def _stop_on_raw_directives() -> None:
    """Stop if any page still holds a directive in its text: published raw, it would pass unseen."""
    if state.left_over and not state.serving:
        raise PluginError("\n".join(state.left_over))
    for fault in state.left_over:
        serve_log.warning(fault)


def on_post_page(output, page, config):
    """Put tables and calculations into the finished page, and stamp it with the edition."""
    slots = page.meta["handbook"].slots
    root = "../" * page.url.count("/")

    output = FILLED_SLOT.sub(lambda found: slots[int(found[1])].html, output)
    stamp = _stamp(state.renderer.house)
    faults = "".join(
        f'<p class="hb-fault" role="alert">{escape(fault)}</p>' for fault in state.standing_faults
    )
    if faults:
        output = re.sub(r"(<article[^>]*>)", lambda found: found[1] + faults, output, count=1)
    output = output.replace("</article>", f"{stamp}</article>", 1)
    # The theme gives its search dialog no name that a screen reader could say.
    output = output.replace(' role="dialog">', ' role="dialog" aria-label="Search">', 1)
    if '<details class="hb-calc"' in output:
        from handbook_calc.engine.forms import SCRIPTS

        loaded = "".join(f'<script src="%ROOT%/assets/{name}"></script>' for name in SCRIPTS)
        output = output.replace("</body>", f"{loaded}</body>", 1)
    return output.replace("%ROOT%/", root)


def _stamp(house) -> str:
    # Scripts keep what a reader sets under the house's name: from a folder, all sites share one store.
    name = escape(house["house.name"])
    return (
        f'<p class="hb-edition" data-house="{name}">{name} · edition {escape(house.edition)}, '
        f"approved {escape(house['house.date'])} by the {escape(house['house.keeper'])}. "
        "A printed copy holds only while this edition does.</p>"
    )


@event_priority(-1000)
def on_post_build(config):
    """Let the finished site take the place of the earlier one."""
    if state.serving:
        return
    counted = state.warnings.get_counts()
    _forget_warnings()
    if config.strict and counted:
        _drop_staging(config)  # MkDocs stops the build next; the earlier site stays
        return
    staging, published = Path(config.site_dir), state.published
    published.mkdir(parents=True, exist_ok=True)
    utils.clean_directory(str(published))  # leaves dot files, such as a repository's, in place
    for entry in staging.iterdir():
        shutil.move(entry, published / entry.name)
    staging.rmdir()
    config.site_dir = str(published)
    log.info(f"Published in directory: {published}")


def on_build_error(error):
    """Leave no half-made site behind."""
    if not state.serving and state.published:
        _forget_warnings()
        shutil.rmtree(f"{state.published}.building", ignore_errors=True)


def _drop_staging(config) -> None:
    shutil.rmtree(config.site_dir, ignore_errors=True)


def _forget_warnings() -> None:
    if state.warnings:
        logging.getLogger("mkdocs").removeHandler(state.warnings)
        state.warnings = None


def on_serve(server, config, builder):
    """Watch the house's own file of differences too."""
    overlay = _overlay(config)
    if overlay:
        server.watch(str(Path(config.config_file_path).parent / overlay))
    return server
