"""A bench of its own has its pages laid over those of the installed package.

Any other site has all of its own.
"""

from pathlib import Path

from mkdocs.structure.files import Files, get_files


def base_of(config) -> Path | None:
    """Return the folder of the package's pages where the site is a bench of its own; None for any other."""
    settings = config.extra.get("handbook") or {}
    base = settings.get("base") if isinstance(settings, dict) else None
    return Path(base) if base else None


def found_in(config, name: str) -> Path:
    """Return a file of the pages' folder: the site's own, or the package's where it has none."""
    own, base = Path(config.docs_dir) / name, base_of(config)
    return base / name if base and not own.is_file() else own


def all_files(config) -> Files:
    """Return every file of the site: its own, and those of the package that it has not."""
    return with_base(get_files(config), config)


def with_base(files: Files, config) -> Files:
    """Return the files of a site with those of the package that it has not."""
    base = base_of(config)
    if base is None:
        return files
    own = config.docs_dir
    config.docs_dir = str(base)
    try:
        others = get_files(config)
    finally:
        config.docs_dir = own
    for file in others:
        if files.get_file_from_path(file.src_uri) is None and not _of_its_bench(file.src_uri):
            files.append(file)
    return files


def _of_its_bench(source: str) -> bool:
    """Tell whether a file of the package is the demonstration bench's own affair.

    Its pieces are, but for the one of the worked figures, which a page links to.
    """
    from handbook_calc.engine.house import EXAMPLE, PIECES

    return source.startswith("editions/") or (
        source.startswith(f"{PIECES}/") and source != f"{PIECES}/{EXAMPLE}"
    )
