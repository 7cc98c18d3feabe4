"""Load of our pages against the same pages in the theme as it comes; prints ratios, asserts nothing.

    python tests/benchmarks/page_load.py [--turns 15] [PAGE ...]

The twin has the same navigation, the theme's same features and the same text, tables and calculators; it has
neither our scripts and style sheets nor the policy. Both are opened from a folder, in turns, in one Chromium.
Told are the medians of the moment at which a page is read, of the load event, and of the first picture, from
the start of the navigation. Goal: 1.05.
"""

import argparse
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

import yaml

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]
GOAL = 1.05
PAGES = (
    "index.html",
    "procedures/electrolysis.html",
    "procedures/rinse.html",
    "calculators/electrolysis.html",
    "tables/abrasives.html",
    "keeper/house-standard.html",
)
PLACE = "THE-TEXT-OF-THE-PAGE"
ARTICLE = re.compile(r"(<article[^>]*>)(.*)(</article>)", re.DOTALL)
TIMES = """
const done = arguments[arguments.length - 1];
const told = () => {
  const { domContentLoadedEventEnd, loadEventEnd } = performance.getEntriesByType("navigation")[0];
  const paint = performance.getEntriesByName("first-contentful-paint")[0];
  if (loadEventEnd && paint) done([domContentLoadedEventEnd, loadEventEnd, paint.startTime]);
  else setTimeout(told, 20);
};
told();
"""


def twin(site: Path, folder: Path) -> Path:
    """Build the same pages with the theme alone; return the folder of the site."""

    class Loader(yaml.SafeLoader):
        """Reads what mkdocs.yml says by tags as nothing."""

    ours = yaml.load((ROOT / "mkdocs.yml").read_text(encoding="utf-8"), Loader)
    theme = {key: ours["theme"][key] for key in ("name", "language", "font", "features", "palette")}
    settings = {
        "site_name": ours["site_name"],
        "use_directory_urls": False,
        "theme": theme,
        "plugins": ["search"],
    }
    names = [
        path.relative_to(site)
        for path in site.rglob("*.html")
        if path.name not in ("404.html", "handbook.html")
    ]
    for name in names:
        page = folder / "docs" / name.with_suffix(".md")
        page.parent.mkdir(parents=True, exist_ok=True)
        title = re.search(r"<title>(.*?) - ", (site / name).read_text(encoding="utf-8"))
        page.write_text(f"# {title[1] if title else ours['site_name']}\n\n{PLACE}\n", encoding="utf-8")
    settings["nav"] = ours["nav"]
    (folder / "mkdocs.yml").write_text(yaml.safe_dump(settings), encoding="utf-8")
    subprocess.run([sys.executable, "-m", "mkdocs", "-q", "build"], cwd=folder, check=True)
    for name in names:
        text = ARTICLE.search((site / name).read_text(encoding="utf-8"))
        if text:
            page = folder / "site" / name
            around = ARTICLE.sub("\\1\0\\3", page.read_text(encoding="utf-8"))
            page.write_text(around.replace("\0", text[2]), encoding="utf-8")
    return folder / "site"


def chromium(folder: str):
    """Return a headless Chromium with a profile of its own."""
    from selenium import webdriver
    from selenium.webdriver.chrome.options import Options
    from selenium.webdriver.chrome.service import Service
    from support import CHROMIUM_FLAGS

    options = Options()
    options.binary_location = shutil.which("chromium") or "chromium"
    for flag in (*CHROMIUM_FLAGS, f"--user-data-dir={folder}/profile"):
        options.add_argument(flag)
    return webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))


def main() -> None:
    """Build both, load in turns, print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("pages", nargs="*", default=PAGES)
    parser.add_argument("--turns", type=int, default=15)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        site = Path(folder) / "site"
        subprocess.run([sys.executable, "-m", "mkdocs", "-q", "build", "-d", str(site)], cwd=ROOT, check=True)
        stock = twin(site, Path(folder) / "twin")
        browser = chromium(folder)
        browser.set_script_timeout(60)
        try:
            for page in asked.pages:
                rows: dict[Path, list] = {site: [], stock: []}
                for _ in range(asked.turns):
                    for built, times in rows.items():
                        browser.get("about:blank")
                        browser.get((built / page).as_uri())
                        times.append(browser.execute_async_script(TIMES))
                ours, theirs = (
                    [statistics.median(each) for each in zip(*times, strict=True)] for times in rows.values()
                )
                told = ", ".join(
                    f"{what} {mine:.0f} of {its:.0f} ms: {mine / its:.2f}"
                    for what, mine, its in zip(("read", "load", "first picture"), ours, theirs, strict=True)
                )
                print(f"{'*' if ours[1] > GOAL * theirs[1] else ' '} {page:34} {told}")
        finally:
            browser.quit()


if __name__ == "__main__":
    main()
