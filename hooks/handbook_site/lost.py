"""The page for an address where nothing is: a server shows it at any depth, wherever the site lies.

So it holds its own style and asks for no file. Its links are put right by a script that finds the site's root
in the address: up to the first of the site's own folders, or where the worker says, or the address's folder.
"""

import json
from html import escape

from handbook_site.menu import first_url

NAME = "404.html"

PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width,initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="robots" content="noindex">
<title>No such page · {title}</title>
<style>{style}</style>
</head>
<body>
<main>
<h1>There is no page here</h1>
<p>The address is wrong, or the page has another name in this edition of {title}.</p>
<ul>
{links}
</ul>
<p>A printed code or an old link may name a page that is gone: look for its title from the first page.</p>
</main>
<script>{script}</script>
</body>
</html>
"""

STYLE = (
    "body{margin:0;font:1.1rem/1.6 system-ui,sans-serif;background:Canvas;color:CanvasText}"
    "main{max-width:40rem;margin:10vh auto;padding:0 1rem}"
    "h1{padding-bottom:.3em;border-bottom:3px solid #b4531f;font-family:ui-serif,Georgia,serif}"
    "li a{display:inline-block;min-height:44px;padding-top:.5rem;color:inherit}"
)

SCRIPT = """(function () {
  var folders = %s, parts = location.pathname.split("/").slice(0, -1), at = -1;
  for (var i = 0; i < parts.length && at < 0; i++) if (folders.indexOf(parts[i]) >= 0) at = i;
  function lead(root) {
    document.querySelectorAll("a[data-to]").forEach(function (link) {
      link.href = root + link.getAttribute("data-to");
    });
  }
  lead((at < 0 ? parts : parts.slice(0, at)).join("/") + "/");
  if (navigator.serviceWorker && location.protocol !== "file:")
    navigator.serviceWorker.getRegistration().then(function (found) {
      if (found) lead(found.scope);
    });
})();"""


def page(title: str, menu: list[dict], root: str) -> str:
    """Return the page.

    Arguments:
        title: of the site.
        menu: what the menu holds; the page leads to the first page of each part.
        root: the site's root as far as the build knows it; readers without scripts are led there.
    """
    urls = [(item["title"], first_url(item)) for item in menu]
    links = "\n".join(
        f'<li><a data-to="{escape(url)}" href="{escape(root + url)}">{escape(words)}</a></li>'
        for words, url in urls
    )
    folders = sorted({url.partition("/")[0] for url in _all_urls(menu) if "/" in url})
    script = SCRIPT % json.dumps(folders)
    return PAGE.format(title=escape(title), style=STYLE, links=links, script=script)


def _all_urls(menu: list[dict]) -> list[str]:
    return [url for item in menu for url in (_all_urls(item["items"]) if "items" in item else [item["url"]])]
