"""What the theme does slowly, ships in vain or leaves out."""

import gzip
import hashlib
import os
import re
import tempfile
from pathlib import Path

from jinja2 import BytecodeCache

from handbook_site.assets import lean
from handbook_site.overlay import found_in

# Of the theme's 2.5 MB, source maps and the search of other languages are most, and never loaded.
UNUSED = re.compile(r"^assets/.*(?:\.map|lunr/(?:min/lunr\.\w+\.min|tinyseg|wordcut)\.js)$")

MARK = re.compile(r'<img src="[^"]*" alt="logo">')
NOT_A_DRAWING = re.compile(
    r"<(?:script|style|foreignObject|image|use|a\b|[?!])|\s(?:on\w+|id|class|style)\s*=", re.IGNORECASE
)
LARGE = 4_000  # characters, which would stand in every page

COLOURS = "assets/colours.js"
PALETTE = '<form class="md-header__option" data-md-component="palette">'
PALETTE_SCRIPT = re.compile(r"<script>var palette=.*?</script>", re.DOTALL)
HIDDEN = re.compile(r'(<label class="[^"]*" title="[^"]*" for="__palette_\d+") hidden>')


def list_only_visible(theme) -> None:
    """Keep the theme's thousands of icons out of the list of its files.

    MkDocs lists them all at each build, a tenth of its time, only to leave out what stands in a hidden
    folder. Icons are still found by name.
    """
    get_env = theme.get_env

    def get_quick_env():
        env = get_env()
        env.loader.list_templates = lambda: visible_files(env.loader.searchpath)
        return env

    theme.get_env = get_quick_env


def visible_files(folders) -> list[str]:
    """Return the files of some folders, by their ways from there, without what stands in a hidden folder."""
    found = set()
    for folder in folders:
        for place, inner, names in os.walk(folder):
            inner[:] = [name for name in inner if not name.startswith(".")]
            found |= {
                os.path.relpath(os.path.join(place, name), folder).replace(os.sep, "/") for name in names
            }
    return sorted(found)


def leave_out_unused(files) -> None:
    """Take out of the site's files what no reader of it can use."""
    for file in [file for file in files if UNUSED.search(file.src_uri)]:
        files.remove(file)


def name_the_dialog(html: str) -> str:
    """Give the search dialog a name that a screen reader can say."""
    return html.replace(' role="dialog">', ' role="dialog" aria-label="Search">', 1)


def without_theme_search(html: str) -> str:
    """Take the theme's own search off its box: it would load its index with every page."""
    return html.replace(' data-md-component="search" role="dialog"', ' role="dialog"', 1).replace(
        '<form class="md-search__form" name="search">', '<form class="md-search__form">', 1
    )


def with_mark(html: str, config) -> str:
    """Put the site's mark into a page where the theme shows it as a picture, which is a document of its own.

    Only a drawing in the site's own folders is put in; what it is called is said by the link around it, and
    what has no colour of its own takes that of the head. Any other mark stays a picture.
    """
    file = found_in(config, config.theme.get("logo") or "")
    if file.suffix != ".svg" or not file.is_file():
        return html
    text = file.read_text(encoding="utf-8", errors="replace")
    drawing = " ".join(re.sub(r"<title>.*?</title>", "", text, flags=re.DOTALL).split())
    if len(drawing) > LARGE or not drawing.startswith("<svg ") or NOT_A_DRAWING.search(drawing):
        return html
    return MARK.sub(lambda _: drawing.replace("<svg ", '<svg aria-hidden="true" ', 1), html)


def with_own_colours(html: str, config) -> str:
    """Take the theme's script off the choice between its two colour schemes.

    It asks a whole page's style three times before the page is read. Ours asks once, follows the system until
    somebody chooses, and keeps the choice in the theme's form: see `docs/assets/scheme.js`.
    """
    file = found_in(config, COLOURS)
    if PALETTE not in html or not PALETTE_SCRIPT.search(html) or not file.is_file():
        return html
    html = HIDDEN.sub(r"\1>", html.replace(PALETTE, '<form class="md-header__option">', 1))
    script = lean(file.read_text(encoding="utf-8"))
    html = PALETTE_SCRIPT.sub(lambda _: f"<script>{script}</script>", html, count=1)
    return html.replace("</head>", '<meta name="color-scheme" content="light"></head>', 1)


def without_days(sitemap: str) -> str:
    """Leave the day of the build out of the sitemap: it says nothing about a page."""
    return re.sub(r"\s*<lastmod>[^<]*</lastmod>", "", sitemap)


def pack_sitemap(site: Path) -> None:
    """Pack the sitemap again, without the time and place of packing that MkDocs puts into it."""
    plain, packed = site / "sitemap.xml", site / "sitemap.xml.gz"
    if not (plain.is_file() and packed.is_file()):
        return
    with packed.open("wb") as out, gzip.GzipFile("", "wb", fileobj=out, mtime=0) as pack:
        pack.write(plain.read_bytes())


class CompiledTemplates(BytecodeCache):
    """The theme's compiled templates, kept between builds; compiling them anew is a tenth of a build.

    What is damaged, locked away or in the place of the folder costs that time and nothing else: each file
    starts with the digest of the rest. The folder lies beside mkdocs.yml and not in a shared place, because
    compiled templates are code.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def load_bytecode(self, bucket) -> None:
        try:
            kept = self._file(bucket).read_bytes()
            if hashlib.sha256(kept[32:]).digest() == kept[:32]:
                bucket.bytecode_from_string(kept[32:])
        except (OSError, ValueError, TypeError, EOFError):
            bucket.reset()

    def dump_bytecode(self, bucket) -> None:
        code = bucket.bytecode_to_string()
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            file, name = tempfile.mkstemp(dir=self.folder)
            try:
                with os.fdopen(file, "wb") as out:
                    out.write(hashlib.sha256(code).digest() + code)
                os.replace(name, self._file(bucket))
            except OSError:
                os.unlink(name)
        except OSError:
            return

    def _file(self, bucket) -> Path:
        return self.folder / f"{bucket.key}.compiled"
