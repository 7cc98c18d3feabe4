"""The handbook in MkDocs: which event does what. The rooms behind it are in `handbook_site`.

Everything is checked and computed before a page is made, the build goes to a folder of its own, and that
takes the earlier site's place only when it is complete: a fault leaves the earlier site whole.
"""

import logging
from pathlib import Path
from urllib.parse import urlsplit

from handbook_site import assets, book, lost, menu, offline, phone, policy, search, sheets, theme
from handbook_site.chapters import Chapters
from handbook_site.glossary import PAGE as GLOSSARY
from handbook_site.glossary import Glossary
from handbook_site.overlay import found_in, with_base
from handbook_site.pages import CHECK, CHECK_DATA, Pages, running_head
from handbook_site.preparation import OPTIONS, Preparation, benches_named, option, serve_log
from handbook_site.publishing import Publication, PublishingFault
from handbook_site.unchanged import Unchanged
from mkdocs import utils
from mkdocs.exceptions import PluginError
from mkdocs.plugins import event_priority
from mkdocs.structure.files import File
from mkdocs.structure.nav import Navigation

log = logging.getLogger("mkdocs.hooks.handbook")


class Build:
    """What this process builds: `prepared` lasts as long as `serve`, the rest one build."""

    prepared = Preparation(serving=False)
    pages: Pages
    glossary = Glossary("")
    publication: Publication | None = None
    unchanged: Unchanged | None = None
    warnings: utils.CountHandler | None = None
    sheets = sheets.Sheets()
    nav: Navigation
    words: search.Words | None = None  # of the handbook's own search; None where the theme's is used
    chapters: Chapters | None = None  # of the book; None where none is made, as under `serve`


current = Build()


def on_startup(command, dirty):
    """Remember whether this is `serve`, which makes anew only what a saved file changes."""
    current.prepared = Preparation(serving=command == "serve")
    if current.prepared.serving:
        current.unchanged = Unchanged(__name__)
        current.unchanged.install()


@event_priority(100)
def on_config(config):
    """Turn the build to a folder of its own, so that the earlier site stays until this one is whole."""
    if config.use_directory_urls:
        raise PluginError("mkdocs.yml: use_directory_urls must be false: the site opens from a folder")
    theme.list_only_visible(config.theme)
    add_pieces_to_nav(config)
    current.prepared.start_anew()
    current.publication = None
    if current.prepared.serving:
        return config
    try:
        current.publication = Publication(Path(config.site_dir))
    except PublishingFault as fault:
        raise PluginError(str(fault)) from None
    config.site_dir = str(current.publication.staging)
    current.warnings = utils.CountHandler()
    current.warnings.setLevel(logging.WARNING)
    logging.getLogger("mkdocs").addHandler(current.warnings)
    return config


def on_pre_build(config):
    """Load the house standard, compute every table, try every directive; stop on any fault."""
    current.glossary = current.glossary.as_it_stands(found_in(config, GLOSSARY))
    current.pages = Pages(current.prepared)
    current.sheets = sheets.Sheets()
    current.prepared.run(config)
    current.words = search.words_of(config)
    if current.unchanged:
        current.unchanged.start(config)


def on_files(files, config):
    """Add a CSV of every table that a page shows; leave out what no reader of this site can use."""
    from handbook_calc.editions import FOLDER
    from handbook_calc.engine.render import CSV_FOLDER
    from handbook_calc.printed import script_data

    with_base(files, config)
    theme.leave_out_unused(files)
    for file in list(files):
        if file.src_uri.startswith(f"{FOLDER}/"):
            files.remove(file)  # what the keeper keeps; the site tells what differs
    renderer = current.prepared.renderer
    for name in renderer.usage.table_pages:
        files.append(File.generated(config, f"{CSV_FOLDER}/{name}.csv", content=renderer.csv(name)))
    for uri, content in current.pages.of_pieces():
        files.append(File.generated(config, uri, content=content))
    for name, content in current.prepared.scripts.items():
        files.append(File.generated(config, f"assets/{name}", content=content))
    for name, content in current.prepared.explanations().items():
        files.append(File.generated(config, f"assets/{name}", content=content))
    if any(CHECK in text for text in renderer.texts.values()):
        past = renderer.past
        data = script_data(past.records, renderer.state(), renderer.notable)
        files.append(File.generated(config, f"assets/{CHECK_DATA}", content=data))
    assets.publish(files, config)
    return files


def add_pieces_to_nav(config) -> None:
    """Put a page for each piece, and one for all, into a navigation that is written out."""
    names = [path.stem for path in sorted(Path(config.docs_dir, "pieces").glob("*.yml"))]
    if (
        not config.nav
        or not names
        or any("Pieces" in entry for entry in config.nav if isinstance(entry, dict))
    ):
        return
    own = [{"Your own piece": "pieces/own.md"}, {"Log of your own piece": "pieces/own-log.md"}]
    pages: list = ["pieces/index.md", *own]
    pages += [{name: f"pieces/{name}.md"} for name in names]
    config.nav.insert(min(2, len(config.nav)), {"Pieces": pages})


def on_nav(nav, config, files):
    """Keep the menu, which all pages share; begin the book, which `serve` leaves out."""
    current.nav = nav
    made = not current.prepared.serving and book.wanted(config)
    current.chapters = Chapters(page.url for page in nav.pages) if made else None
    return nav


@event_priority(100)
def on_page_markdown(markdown, page, config, files):
    """Put a mark for each value into the text, a slot for each table or calculator, and the tooltips."""
    lines = current.glossary.lines_for(page.file.src_uri, markdown)
    return "\n".join([current.pages.marked(markdown, page), *lines])


def on_page_content(html, page, config, files):
    """Put in the values, and the words of tables and calculators for the search index to find."""
    html = phone.with_cards(current.pages.filled(html, page))
    return sheets.in_parts(html) if page.file.src_uri.startswith("procedures/") else html


def on_env(env, config, files):
    """Keep the theme's compiled templates between builds; stop on what would be published raw."""
    env.bytecode_cache = theme.CompiledTemplates(
        Path(config.config_file_path).parent / ".cache" / "templates"
    )
    current.pages.stop_on_faults()
    return env


def on_post_template(output_content, template_name, config):
    """Give the theme's own pages the policy of all; date nothing by the day of the build."""
    if template_name == "sitemap.xml":
        return theme.without_days(output_content)
    if not template_name.endswith(".html"):
        return output_content
    if template_name == lost.NAME:
        root = urlsplit(config.site_url or "/").path
        output_content = lost.page(config.site_name, menu.items_of(current.nav), root)
    elif current.words:
        output_content = theme.without_theme_search(output_content)
    return output_content if current.prepared.serving else policy.with_policy(output_content)


@event_priority(100)
def on_post_page(output, page, config):
    """Put tables and calculations into the finished page, the edition's stamp and the policy."""
    if current.unchanged:
        current.unchanged.note_output(output, page)
    code = current.prepared.sheets.get(page.file.src_uri, "")
    output = current.pages.finished(output, page)
    if current.chapters:
        current.chapters.keep(output, page, code)
        output = book.linked(output, page)
    output = current.sheets.noted(output, page, code)
    if current.words:
        output = theme.without_theme_search(output)
    output = theme.with_own_colours(theme.with_mark(theme.name_the_dialog(output), config), config)
    output = assets.asked_for_early(output)
    if current.publication and offline.offered(config):
        output = offline.linked(output, "../" * page.url.count("/"))
    # `serve` puts a script of its own into each page that it sends, to load it anew.
    return output if current.prepared.serving else policy.with_policy(output)


@event_priority(-1000)
def on_post_build(config):
    """Write what the search looks through; let the finished site take the place of the earlier one."""
    renderer = current.prepared.renderer
    styles = current.sheets.stylesheet(running_head(renderer.house), renderer.past.draft)
    (Path(config.site_dir) / sheets.STYLES).write_text(styles, encoding="utf-8")
    (Path(config.site_dir) / menu.DATA).write_text(menu.data(current.nav), encoding="utf-8")
    if current.words:
        search.write(Path(config.site_dir), current.words)
    if current.prepared.serving:
        (Path(config.site_dir) / offline.WORKER).write_text(offline.NONE_HERE, encoding="utf-8")
    if current.publication is None or current.warnings is None:
        return
    counted = current.warnings.get_counts()
    _forget_warnings()
    if config.strict and counted:
        _abandon()  # MkDocs stops the build next; the earlier site stays
        return
    if current.chapters:
        book.write(config, current.chapters, renderer)
    theme.pack_sitemap(Path(config.site_dir))
    if offline.offered(config):
        offline.write(Path(config.site_dir), config, renderer.house.edition)
    try:
        notices = current.publication.publish()
    except PublishingFault as fault:
        raise PluginError(str(fault)) from None
    for told in current.prepared.renderer.refused:
        serve_log.warning(f"refused in its place, by house values that are each allowed: {told}")
    for notice in notices:
        serve_log.warning(notice)  # the site is published: no strict warning
    current.prepared.remember()
    config.site_dir = str(current.publication.site)
    log.info(f"Published in directory: {current.publication.site}")


def on_build_error(error):
    """Leave no half-made site behind."""
    _forget_warnings()
    _abandon()
    if isinstance(error, OSError) and current.publication:
        raise PluginError(
            f"{error.filename or current.publication.staging}: {error.strerror}; "
            f"nothing is published, and what was in {current.publication.site} stays"
        )


def on_shutdown():
    """Leave nothing behind of a build that was broken off."""
    if current.unchanged:
        current.unchanged.uninstall()
        current.unchanged = None
    _abandon()


def _abandon() -> None:
    if current.publication:
        current.publication.abandon()


def _forget_warnings() -> None:
    if current.warnings:
        logging.getLogger("mkdocs").removeHandler(current.warnings)
        current.warnings = None


def on_serve(server, config, builder):
    """Watch the files that mkdocs.yml names, too."""
    root = Path(config.config_file_path).parent
    named = [root / name for name in filter(None, (option(config, name) for name in OPTIONS))]
    for path in dict.fromkeys([*named, *benches_named(config, root)]):
        server.watch(str(path))
    return server
