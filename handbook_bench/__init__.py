"""The plugin by which a bench of its own builds with the installed handbook.

Its ``mkdocs.yml`` names the plugin and little more. Settings, pages, assets and hook come from the package;
what the bench has of its own goes before them: pages of the same name, values, pieces, rows of data.
"""

from pathlib import Path
from typing import Any

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.plugins import BasePlugin, event_priority
from mkdocs.utils.yaml import yaml_load

from handbook_calc.engine import places
from handbook_calc.engine.faults import RecordFault

NAME = "handbook"
LISTS = ("plugins", "markdown_extensions", "extra_css", "extra_javascript", "hooks", "watch")


class OwnBench(BasePlugin):
    """Turns the few settings of a bench of its own into those of the whole handbook."""

    def __init__(self) -> None:
        self._startup: dict = {}
        self._whole: Any = None

    def on_startup(self, *, command, dirty):
        """Remember how the site generator was called, for what the whole settings name."""
        self._startup = {"command": command, "dirty": dirty}

    @event_priority(100)
    def on_config(self, config):
        """Return the settings of the whole handbook, with this bench's own before them."""
        folder = Path(config.config_file_path).parent
        whole: Any = MkDocsConfig(config_file_path=config.config_file_path)
        whole.load_dict(settings(config, folder))
        errors, warnings = whole.validate()
        told = [f"{folder.name}/mkdocs.yml: {name}: {fault}" for name, fault in [*errors, *warnings]]
        if told:
            raise PluginError("\n".join(told))
        first = self._whole is None
        self._whole = whole
        if first:
            whole.plugins.on_startup(**self._startup)
        return whole.plugins.on_config(whole)

    def on_serve(self, server, *, config, builder):
        """Watch the bench's own files, and what the whole settings watch."""
        assert self._whole is not None  # the first build came before
        folder = Path(config.config_file_path).parent
        for name in (places.HOUSE, places.DATA):
            if (folder / name).is_dir():
                server.watch(str(folder / name))
        return self._whole.plugins.on_serve(server, config=self._whole, builder=builder)

    def on_build_error(self, *, error):
        """Hand a fault on that came before the whole settings were taken over."""
        if self._whole is not None:
            self._whole.plugins.on_build_error(error=error)

    def on_shutdown(self):
        """End what the whole settings started."""
        if self._whole is not None:
            self._whole.plugins.on_shutdown()


def settings(config, folder: Path) -> dict[str, Any]:
    """Return the handbook's settings with a bench's own before them.

    Raises:
        PluginError: the package's settings cannot be read, or it is not clear which differences to take.
    """
    home = places.handbook()
    with (home / "mkdocs.yml").open("rb") as file:
        base = yaml_load(file)
    with Path(config.config_file_path).open("rb") as file:
        own = yaml_load(file)
    base["hooks"] = [str(home / hook) for hook in base.get("hooks", ())]
    base.pop("watch", None)
    merged = base | {key: value for key, value in own.items() if key not in (*LISTS, "theme", "extra", "nav")}
    for key in LISTS:
        added = [item for item in _items(own.get(key)) if _named(item) != NAME]
        merged[key] = [*_items(base.get(key)), *added]
    merged["theme"] = base["theme"] | (own["theme"] if isinstance(own.get("theme"), dict) else {})
    merged["extra"] = base["extra"] | (own.get("extra") or {})
    merged["nav"] = [*_items(own.get("nav")), *_own_pages(config, own, home), *base["nav"]]
    # As they were read, because the command line goes before the file.
    merged |= {key: config[key] for key in ("strict", "site_dir", "site_url", "docs_dir")}
    merged["dev_addr"] = f"{config.dev_addr.host}:{config.dev_addr.port}"
    merged["extra"]["handbook"] = _places(merged["extra"].get("handbook"), folder, home)
    return merged


def _items(value) -> list:
    if isinstance(value, dict):
        return [{key: inner} for key, inner in value.items()]
    return list(value or ())


def _named(item) -> str:
    return next(iter(item)) if isinstance(item, dict) else str(item)


def _places(written, folder: Path, home: Path) -> dict[str, str]:
    """Return where the hook finds the bench's differences and the handbook's own pages."""
    named = (written or {}).get("house") if isinstance(written, dict) else None
    try:
        found = folder / named if named else places.differences(folder)
    except RecordFault as fault:
        raise PluginError(f"{fault}, or in mkdocs.yml under extra: handbook: house:") from None
    if found is None:
        raise PluginError(
            f"{places.HOUSE}: there is no file of differences; write one, such as {places.HOUSE}/bench.yml"
        )
    own = written if isinstance(written, dict) else {}
    return own | {"house": found.relative_to(folder).as_posix(), "base": str(home / "docs")}


def _own_pages(config, own: dict[str, Any], home: Path) -> list:
    """Return the pages that only this bench has, as a part of the contents where it writes none itself."""
    if own.get("nav"):
        return []
    docs = Path(config.docs_dir)
    pages = sorted(path.relative_to(docs).as_posix() for path in docs.rglob("*.md"))
    added = [page for page in pages if not (home / "docs" / page).is_file() and not page.startswith(".")]
    return [{config.site_name: added}] if added else []
