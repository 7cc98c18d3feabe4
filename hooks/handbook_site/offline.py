"""Use with the network gone: the manifest by which a served handbook installs, and its service worker.

The worker is hand-written (``docs/assets/worker.js``); the build puts before it the list of the site's files
with the start of each digest, and a name made of all of them: equal bytes are the same edition, and any other
byte is a newer one. Where pages are read from a folder, nothing of this is used.
"""

import hashlib
import json
from pathlib import Path

from handbook_site.overlay import found_in

SOURCE = "assets/worker.js"  # in the folder of pages
WORKER, MANIFEST = "worker.js", "manifest.webmanifest"
ICONS = {192: "assets/icon-192.png", 512: "assets/icon-512.png"}
COLOUR, GROUND = "#2b343b", "#fdfcf9"  # the head and the ground of a page; see look.css
# Not kept: what no page asks for, and whole copies of the handbook to carry away.
NOT_ASKED_FOR = ("sitemap.xml", "sitemap.xml.gz", "search/search_index.json", WORKER)
TO_CARRY_AWAY = ("handbook.html", "handbook.epub")

# Where `serve` answers at an address at which a built site was read before, its worker would go on answering.
NONE_HERE = """self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil((async () => {
  const ours = `handbook ${self.registration.scope} `;
  for (const name of await caches.keys()) if (name.startsWith(ours)) await caches.delete(name);
  await self.registration.unregister();
  for (const page of await self.clients.matchAll()) page.navigate(page.url);
})()));
"""


def offered(config) -> bool:
    """Tell whether the site has a worker's source; a site of tests or of other pages may have none."""
    return found_in(config, SOURCE).is_file()


def linked(html: str, root: str) -> str:
    """Return a finished page that names the manifest and the icon of an installed handbook.

    The script puts in the link to the manifest: from a folder the browser would ask for it, and be refused.

    Arguments:
        html: the page.
        root: the way from the page to the site's root, empty or ending in a slash.
    """
    links = (
        f'<meta name="handbook-manifest" content="{root}{MANIFEST}">'
        f'<link rel="apple-touch-icon" href="{root}{ICONS[192]}">'
        f'<meta name="theme-color" content="{COLOUR}">'
    )
    return html.replace("</head>", f"{links}</head>", 1)


def manifest(name: str, description: str) -> str:
    """Return the manifest; its addresses are seen from its own place, so the site may lie in any folder."""
    icons = [
        {"src": src, "sizes": f"{side}x{side}", "type": "image/png", "purpose": purpose}
        for side, src in ICONS.items()
        for purpose in ("any", "maskable")
    ]
    told = {
        "name": name, "short_name": name, "description": description, "lang": "en", "start_url": "index.html",
        "scope": "./", "display": "minimal-ui", "theme_color": COLOUR, "background_color": GROUND,
        "icons": icons,
    }  # fmt: skip
    return json.dumps(told, ensure_ascii=False, indent=1) + "\n"


def write(site: Path, config, edition: str) -> None:
    """Write manifest and worker into a finished site, after everything else that is in it.

    Arguments:
        site: the folder of the finished site.
        config: of MkDocs.
        edition: of the house standard, which is said when a newer one is here.
    """
    (site / MANIFEST).write_text(manifest(config.site_name, config.site_description or ""), encoding="utf-8")
    files = {
        path: hashlib.sha256((site / path).read_bytes()).hexdigest()[:16]
        for path in sorted(file.relative_to(site).as_posix() for file in site.rglob("*") if file.is_file())
        if _is_kept(path)
    }
    digest = hashlib.sha256(json.dumps(files).encode()).hexdigest()[:12]
    kept = {"name": f"{edition} {digest}", "edition": edition, "files": files}
    source = found_in(config, SOURCE).read_text(encoding="utf-8")
    list_of_files = json.dumps(kept, ensure_ascii=False, separators=(",", ":"))
    (site / WORKER).write_text(f"self.site={list_of_files};\n{source}", encoding="utf-8")


def _is_kept(path: str) -> bool:
    hidden = any(part.startswith(".") for part in path.split("/"))
    return not hidden and path not in (*NOT_ASKED_FOR, *TO_CARRY_AWAY)
