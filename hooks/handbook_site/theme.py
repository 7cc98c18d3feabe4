"""What the theme does slowly, ships in vain or leaves out."""

import gzip
import hashlib
import os
import re
import tempfile
from pathlib import Path

from jinja2 import BytecodeCache

# Of the theme's 2.5 MB, source maps and the search of other languages are most, and never loaded.
UNUSED = re.compile(r"^assets/.*(?:\.map|lunr/(?:min/lunr\.\w+\.min|tinyseg|wordcut)\.js)$")


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
