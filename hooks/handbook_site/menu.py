"""The whole menu, once for all pages: they carry their own part of it, and load this when it is asked for."""

import json

DATA = "assets/menu-data.js"


def items_of(nav) -> list[dict]:
    """Return what the menu holds, in the order and nesting in which the theme shows it.

    A section has ``items``, and an ``index`` where it has a page of its own; anything else has a ``url``.
    """
    return [_item(item) for item in nav.items]


def data(nav) -> str:
    """Return the script that holds the menu."""
    found = json.dumps(items_of(nav), ensure_ascii=False, separators=(",", ":"))
    return f"(window.HB=window.HB||{{}}).menu={found};\n"


def first_url(item: dict) -> str:
    """Return where an item leads: its own address, or that of the first page below it."""
    return item["url"] if "url" in item else first_url(item.get("index") or item["items"][0])


def _item(item) -> dict:
    if not item.children:
        return {"title": item.title or item.url, "url": item.url}
    index = next((child for child in item.children if getattr(child, "is_index", False)), None)
    found: dict = {
        "title": item.title,
        "items": [_item(child) for child in item.children if child is not index],
    }
    return found if index is None else found | {"index": _item(index)}
