"""The handbook served over HTTP on this machine, in Chromium: it is kept whole, and goes on without the network."""

import functools
import http.server
import json
import shutil
import threading
import time

import pytest
from test_in_chromium import open_page

EDITION = "const found = await navigator.serviceWorker.ready; return found.active.state;"
WAIT = 20


class Server:
    """Serves a folder until it is stopped, and can start again at the same address."""

    def __init__(self, folder):
        self.folder, self.port = folder, 0
        self.start()

    def start(self):
        class Quiet(http.server.SimpleHTTPRequestHandler):
            def log_message(self, format, *args):
                """Say nothing."""

        handler = functools.partial(Quiet, directory=str(self.folder))
        self._server = http.server.ThreadingHTTPServer(("127.0.0.1", self.port), handler)
        self.port = self._server.server_address[1]
        threading.Thread(target=self._server.serve_forever, daemon=True).start()

    def stop(self):
        self._server.shutdown()
        self._server.server_close()


@pytest.fixture
def served(site, tmp_path):
    """The built site in a folder below the top of a server, as many hosts have it."""
    shutil.copytree(site, tmp_path / "www" / "bench")
    server = Server(tmp_path / "www")
    yield server
    server.stop()


@pytest.fixture
def browser(chromium, served):
    """The Chromium, with nothing remembered of this server."""
    chromium.get("about:blank")
    chromium.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    yield chromium
    origin = f"http://127.0.0.1:{served.port}"
    chromium.get("about:blank")
    chromium.execute_cdp_cmd("Storage.clearDataForOrigin", {"origin": origin, "storageTypes": "all"})


def go(browser, served, page):
    browser.get(f"http://127.0.0.1:{served.port}/bench/{page}")


def until(browser, script, *args):
    """Return what a script gives, as soon as it gives something."""
    end = time.monotonic() + WAIT
    while time.monotonic() < end:
        found = browser.execute_script(script, *args)
        if found:
            return found
        time.sleep(0.05)
    raise AssertionError(f"not within {WAIT} s: {script}")


def kept_whole(browser):
    """Wait until the worker has kept an edition; return the names of what the browser keeps."""
    browser.execute_async_script("""
    const done = arguments[arguments.length - 1];
    navigator.serviceWorker.ready.then(found => {
      const worker = found.active;
      if (worker.state === 'activated') done(); else worker.onstatechange = () => done();
    });
    """)
    return browser.execute_async_script("caches.keys().then(arguments[arguments.length - 1])")


def search_for(browser, words):
    browser.execute_script("""
    document.getElementById('__search').checked = true;
    const box = document.querySelector('[data-md-component=search-query]');
    box.focus();
    """)
    browser.find_element("css selector", "[data-md-component=search-query]").send_keys(words)
    return until(browser, "return [...document.querySelectorAll('.md-search-result__link')].map(a => a.href)")


@pytest.mark.long
def test_with_the_network_gone_other_pages_open_and_the_search_answers(browser, served):
    go(browser, served, "index.html")
    kept_whole(browser)
    served.stop()
    try:
        for page, heading in [
            ("procedures/rinse.html", "Rinse"),
            ("tables/coating.html?x=1#table-dew-points", "Coating"),
            ("", "Iron bench handbook"),
        ]:
            go(browser, served, page)
            assert heading in browser.find_element("css selector", "h1").text
        assert any("sand" in link for link in search_for(browser, "P1200"))
        go(browser, served, "calculators/alcohol.html")
        browser.find_element("css selector", ".hb-calc summary").click()
        assert until(browser, "return document.querySelector('.hb-calc[open] input:enabled') !== null")
        go(browser, served, "procedures/nothing.html")
        assert browser.find_element("css selector", "h1").text == "There is no page here"
        start = browser.find_element("css selector", "li a")
        start.click()
        assert browser.find_element("css selector", "h1").text.startswith("Iron bench handbook")
    finally:
        served.start()


@pytest.mark.parametrize("path", ["constructor", "%E0%A4%A", "../bench/procedures/rinse.html", "a%00b"])
@pytest.mark.long
def test_an_odd_address_does_the_worker_no_harm(browser, served, path):
    go(browser, served, "index.html")
    kept_whole(browser)
    go(browser, served, path)
    served.stop()
    try:
        go(browser, served, "procedures/rinse.html")
        assert browser.find_element("css selector", "h1").text.startswith("Rinse")
    finally:
        served.start()


def test_everything_a_page_leads_to_is_kept(site):
    worker = (site / "worker.js").read_text(encoding="utf-8")
    kept = json.loads(worker.partition("self.site=")[2].partition(";\n")[0])["files"]
    wanted = {
        path.relative_to(site).as_posix()
        for path in site.rglob("*")
        if path.is_file() and path.suffix in {".html", ".css", ".js", ".csv", ".svg", ".yml", ".png"}
    }
    assert wanted - kept.keys() <= {"worker.js", "handbook.html"}


def changed(folder, *, worker=True, edition="2026.9"):
    """Change a page of a served site as a build would: in its bytes, and in the list of the worker."""
    import hashlib

    page = folder / "procedures" / "rinse.html"
    page.write_text(
        page.read_text(encoding="utf-8").replace("<h1", '<h1 data-new="yes"', 1), encoding="utf-8"
    )
    if not worker:
        return
    file = folder / "worker.js"
    head, _, rest = file.read_text(encoding="utf-8").partition(";\n")
    kept = json.loads(head.removeprefix("self.site="))
    kept["files"]["procedures/rinse.html"] = hashlib.sha256(page.read_bytes()).hexdigest()[:16]
    kept |= {"name": f"{edition} abc", "edition": edition}
    file.write_text(f"self.site={json.dumps(kept)};\n{rest}", encoding="utf-8")


NEW = "return document.querySelector('h1').dataset.new === 'yes'"


@pytest.mark.long
def test_a_newer_edition_is_told_and_comes_whole_when_the_reader_asks(browser, served):
    go(browser, served, "index.html")
    earlier = kept_whole(browser)
    go(browser, served, "procedures/rinse.html")
    changed(served.folder / "bench")
    go(browser, served, "procedures/rinse.html")
    told = until(browser, "const note = document.querySelector('.hb-newer'); return note && note.textContent")
    assert "A newer edition is here (2026.9)" in told
    go(browser, served, "procedures/rinse.html")
    assert not browser.execute_script(NEW), "the earlier edition is shown whole until then"
    until(browser, "return document.querySelector('.hb-newer button')").click()
    until(browser, NEW)
    later = kept_whole(browser)
    assert len(earlier) == len(later) == 1
    assert earlier != later
    assert later[0].endswith("2026.9 abc")


@pytest.mark.long
def test_half_of_an_edition_is_never_kept(browser, served):
    go(browser, served, "index.html")
    earlier = kept_whole(browser)
    # The page is new and the list is not: somebody looks while files are being copied.
    changed(served.folder / "bench", worker=False)
    go(browser, served, "procedures/rinse.html")
    assert not browser.execute_script(NEW)
    changed(served.folder / "bench")  # now the list does not fit the page, which was changed twice
    page = served.folder / "bench" / "procedures" / "rinse.html"
    page.write_text(page.read_text(encoding="utf-8") + "<!-- cut -->", encoding="utf-8")
    go(browser, served, "index.html")
    browser.execute_async_script("""
    const done = arguments[arguments.length - 1];
    navigator.serviceWorker.ready.then(found => {
      const end = () => { const at = found.installing;
        if (!at) done(); else at.addEventListener('statechange', () => done()); };
      found.update().then(end, end);
    });
    """)
    go(browser, served, "procedures/rinse.html")
    assert not browser.execute_script(NEW)
    assert not browser.execute_script("return document.querySelector('.hb-newer')")
    assert browser.execute_script("return navigator.serviceWorker.controller !== null")
    assert earlier[0] in browser.execute_async_script("caches.keys().then(arguments[arguments.length - 1])")


@pytest.mark.long
def test_the_manifest_is_read_without_a_fault_and_has_its_icons(browser, served):
    go(browser, served, "procedures/rinse.html")
    found = browser.execute_cdp_cmd("Page.getAppManifest", {})
    assert found["errors"] == []
    assert found["url"].endswith("/bench/manifest.webmanifest")
    manifest = json.loads(found["data"])
    assert {icon["sizes"] for icon in manifest["icons"]} == {"192x192", "512x512"}
    for icon in manifest["icons"]:
        size = browser.execute_async_script(
            "const image = new Image(); image.onload = () => arguments[1](`${image.width}x${image.height}`);"
            "image.src = arguments[0];",
            f"http://127.0.0.1:{served.port}/bench/{icon['src']}",
        )
        assert size == icon["sizes"]
    faults = browser.execute_cdp_cmd("Page.getInstallabilityErrors", {})["installabilityErrors"]
    assert [fault["errorId"] for fault in faults] in ([], ["in-incognito"])


@pytest.mark.long
def test_from_a_folder_nothing_of_it_is_used(chromium, site):
    chromium.get_log("browser")
    open_page(chromium, site, "procedures/rinse.html")
    time.sleep(0.3)
    assert [entry for entry in chromium.get_log("browser") if entry["level"] == "SEVERE"] == []
