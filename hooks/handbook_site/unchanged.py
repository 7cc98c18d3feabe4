"""Under ``serve``, what a saved file does not change is not made again.

Two steps take most of MkDocs' time: turning a page's Markdown into HTML, and putting that into the theme.
What came out is kept between the builds of one process, and is given again only where all that went in is
as it was. Markdown is converted before values and tables are in the page, so a saved house value converts
nothing; values, tables, faults and the stamp are put into every page anew.

Where anything is not as known here (another plugin that touches pages, an extension that reads files,
templates of one's own, another MkDocs), pages are made in the ordinary way.
"""

import copy
import hashlib
import inspect
import logging
import os
from dataclasses import dataclass
from pathlib import Path

from mkdocs import utils
from mkdocs.commands import build
from mkdocs.structure.pages import Page

from handbook_site.theme import visible_files

# Extensions that make a page out of its own text and their settings only.
EXTENSIONS = {
    "abbr", "admonition", "attr_list", "def_list", "fenced_code", "footnotes", "md_in_html", "sane_lists",
    "smarty", "tables", "toc", "pymdownx.details", "pymdownx.tasklist",
}  # fmt: skip
TOUCHING = ("pre_page", "page_read_source", "page_markdown", "page_content", "page_context", "post_page")
RENDER = ["self", "config", "files"]
BUILD_PAGE = ["page", "config", "doc_files", "nav", "env", "dirty", "excluded"]
SEARCH = "material.plugins.search.plugin"


@dataclass
class Converted:
    """A page's Markdown as HTML, and what else MkDocs learned from it."""

    key: tuple
    content: str
    toc: list
    title: str | None
    anchors: set[str]
    links: dict[str, dict[str, str]] | None


@dataclass
class Output:
    """A page in the theme, before tables and calculators are put in, and what search found in it."""

    key: tuple
    html: str
    entries: list[dict]


class Unchanged:
    """What the pages of earlier builds came to.

    Attributes:
        converted, rendered: how many pages had to be made, in this build.
    """

    def __init__(self, hook) -> None:
        self._hook = hook
        self._render = Page.render
        self._build_page = build._build_page
        self._marks: tuple = ()
        self._pages: dict[str, Converted] = {}
        self._outputs: dict[str, Output] = {}
        self._build_of: object = None  # the files of the build at work; `_files` tells what they are
        self._files: tuple = ()
        self._nav_of: object = None
        self._nav: tuple = ()
        self._config: object = None
        self._converts = self._renders = False
        self._waiting: tuple | None = None
        self.converted = self.rendered = 0

    def install(self) -> None:
        """Stand between MkDocs and the two steps, if they are what is known here."""
        known = (
            list(inspect.signature(self._render).parameters) == RENDER
            and list(inspect.signature(self._build_page).parameters) == BUILD_PAGE
            and hasattr(Page, "links_to_anchors")
        )
        if known:
            rendered = self.render

            def render(self: Page, config, files) -> None:
                rendered(self, config, files)

            Page.render = render
            build._build_page = self.build_page

    def uninstall(self) -> None:
        """Leave MkDocs as it was."""
        Page.render = self._render
        build._build_page = self._build_page

    def start(self, config) -> None:
        """Begin a build: forget all where settings, theme or hook have changed."""
        self._config = config
        self._build_of = self._nav_of = self._waiting = None
        self.converted = self.rendered = 0
        quiet = logging.getLogger("mkdocs").getEffectiveLevel() > logging.DEBUG
        self._converts = quiet and set(config.markdown_extensions) <= EXTENSIONS
        self._renders = quiet and not config.theme.custom_dir and self._knows_plugins(config)
        marks = (repr(config.user_configs), _files_mark(config))
        if marks != self._marks:
            self._marks = marks
            self._pages.clear()
            self._outputs.clear()

    def _knows_plugins(self, config) -> bool:
        """Say whether only this hook, and the theme's search, have a hand in pages."""
        for event in TOUCHING:
            for method in config.plugins.events[event]:
                plugin = getattr(method, "__self__", None)
                if plugin is None and getattr(method, "__module__", "") != self._hook:
                    return False
                if plugin is not None and type(plugin).__module__ != SEARCH:
                    return False
        first = next(iter(config.plugins.events["post_page"]), None)
        return getattr(first, "__module__", "") == self._hook

    def render(self, page, config, files) -> None:
        """Convert a page's Markdown, or take over what it came to before."""
        if not self._converts or config is not self._config:
            self._render(page, config, files)
            return
        if files is not self._build_of:
            self._build_of = files
            self._files = tuple((file.src_uri, file.url, file.inclusion.value) for file in files)
        key = (page.markdown, page.file.inclusion.value, self._files)
        kept = self._pages.get(page.file.src_uri)
        if kept and kept.key == key:
            page.content = kept.content
            page.toc = _copied(kept.toc)
            page._title_from_render = kept.title
            page.present_anchor_ids = set(kept.anchors)
            page.links_to_anchors = kept.links and {
                files.get_file_from_path(uri): dict(links) for uri, links in kept.links.items()
            }
            return
        self.converted += 1
        self._pages.pop(page.file.src_uri, None)
        with _Said() as said:
            self._render(page, config, files)
        if said.anything:
            return  # to be said again in each build
        links = page.links_to_anchors
        self._pages[page.file.src_uri] = Converted(
            key,
            page.content,
            _copied(page.toc),
            page._title_from_render,
            set(page.present_anchor_ids),
            links and {file.src_uri: dict(found) for file, found in links.items()},
        )

    def build_page(self, page, config, doc_files, nav, env, dirty=False, excluded=False) -> None:
        """Put a page into the theme and write it, or write what it came to before."""
        ordinary = (page, config, doc_files, nav, env, dirty, excluded)
        if dirty or excluded or not self._renders or config is not self._config:
            self._build_page(*ordinary)
            return
        search = _search_entries(config)
        if search is None:
            self._build_page(*ordinary)
            return
        if nav is not self._nav_of:
            self._nav_of = nav
            self._nav = (_nav_marks(nav.items), tuple((file.src_uri, file.url) for file in doc_files))
        key = (_page_marks(page), page.content, _toc_marks(page.toc), self._nav)
        kept = self._outputs.get(page.file.src_uri)
        if not kept or kept.key != key:
            self.rendered += 1
            self._outputs.pop(page.file.src_uri, None)
            self._waiting = (page, key, search, len(search))
            self._build_page(*ordinary)
            return
        config._current_page = page
        try:
            search.extend(map(dict, kept.entries))
            output = config.plugins.on_post_page(kept.html, page=page, config=config)
            path = page.file.abs_dest_path
            utils.write_file(output.encode("utf-8", errors="xmlcharrefreplace"), path)
        finally:
            config._current_page = None

    def note_output(self, output: str, page) -> None:
        """Keep what the theme made of a page; called before anything is put in."""
        if self._waiting is None or self._waiting[0] is not page:
            return
        _, key, search, before = self._waiting
        self._waiting = None
        if output.strip():
            entries = [dict(entry) for entry in search[before:]]
            self._outputs[page.file.src_uri] = Output(key, output, entries)


class _Said(logging.Handler):
    """Notes whether MkDocs has said anything about a page."""

    def __init__(self) -> None:
        super().__init__(logging.NOTSET)
        self.anything = False

    def __enter__(self):
        logging.getLogger("mkdocs").addHandler(self)
        return self

    def __exit__(self, *error) -> None:
        logging.getLogger("mkdocs").removeHandler(self)

    def emit(self, record) -> None:
        """Note that something was said."""
        self.anything = True


def _search_entries(config) -> list | None:
    """Return the list that the theme's search gathers its entries in; an empty one without search."""
    for plugin in config.plugins.values():
        if type(plugin).__module__ == SEARCH:
            found = getattr(getattr(plugin, "search_index", None), "entries", None)
            return found if isinstance(found, list) else None
    return []


def _files_mark(config) -> str:
    """Return what tells the theme's templates and this hook of before from those of now."""
    digest = hashlib.sha256(repr(config.theme.dirs).encode())
    for path in visible_files(config.theme.dirs):
        for folder in config.theme.dirs:
            try:
                stat = os.stat(os.path.join(folder, path))
            except OSError:
                continue
            digest.update(f"{folder}\0{path}\0{stat.st_mtime_ns}\0{stat.st_size}".encode())
    here = Path(__file__).parent
    for path in (here.parent / "handbook.py", *sorted(here.glob("*.py"))):
        digest.update(path.read_bytes())
    return digest.hexdigest()


def _copied(toc):
    """Return a table of contents of its own: titles are filled in later, and must not reach what is kept."""
    twin = copy.copy(toc)
    twin.items = [_copied_item(item) for item in toc.items]
    return twin


def _copied_item(item):
    twin = copy.copy(item)
    twin.children = [_copied_item(child) for child in item.children]
    return twin


def _toc_marks(items) -> tuple:
    return tuple((item.title, item.id, item.level, _toc_marks(item.children)) for item in items)


def _page_marks(page) -> tuple:
    meta = {key: value for key, value in page.meta.items() if key != "handbook"}
    return (
        page.title, page.url, page.file.src_uri, page.canonical_url, page.abs_url, page.edit_url, meta,
    )  # fmt: skip


def _nav_marks(items) -> tuple:
    """Return all that a page shows of the others."""
    marks = []
    for item in items:
        if item.is_page:
            marks.append(_page_marks(item))
        elif item.children is None:
            marks.append((item.title, item.url))
        else:
            marks.append((item.title, _nav_marks(item.children)))
    return tuple(marks)
