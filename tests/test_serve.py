"""``mkdocs serve``: what changes arrives, what breaks is shown in the page, and the server goes on."""

import os
import socket
import subprocess
import sys
import time
import urllib.request

import pytest
from support import copy_of_the_package

PAGE = "# P\n\nIn {{ value rinsing.bath }}.\n\n{{ table rinse-baths }}\n"


@pytest.fixture
def served(site):
    """A small site served from a copy of the project; yields the site and a function to wait for text."""
    copy_of_the_package(site.folder)
    site.page("index.md", PAGE)
    site.set("piece.number", "LY-014")  # its file comes into the folder
    site.config(watch="[handbook_calc]")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    environment = os.environ | {"NO_MKDOCS_2_WARNING": "1", "PYTHONPATH": str(site.folder)}
    log = (site.folder / "log.txt").open("w")
    process = subprocess.Popen(
        [sys.executable, "-m", "mkdocs", "serve", "-a", f"127.0.0.1:{port}"],
        cwd=site.folder, env=environment, stdout=log, stderr=subprocess.STDOUT,
    )  # fmt: skip

    def wait_for(text, seconds=25):
        end = time.monotonic() + seconds
        html = ""
        while time.monotonic() < end:
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=5) as answer:
                    html = answer.read().decode()
            except OSError:
                html = ""
            if text in html:
                return html
            time.sleep(0.3)
        raise AssertionError(f"'{text}' never came; log: {(site.folder / 'log.txt').read_text()[-2000:]}")

    yield site, wait_for
    process.terminate()
    process.wait(10)
    log.close()


@pytest.mark.long
def test_changes_arrive_faults_are_shown_and_mending_clears_them(served):
    site, wait_for = served
    wait_for(">500\u00a0mL</span>")

    site.set("rinsing.bath", "600 mL")
    wait_for(">600\u00a0mL</span>")

    module = site.folder / "handbook_calc" / "rinsing.py"
    module.write_text(
        module.read_text("utf-8").replace("Rinse baths needed, by", "Baths needed, by"), "utf-8"
    )
    wait_for(">Baths needed, by")

    site.page("index.md", PAGE.replace("rinse-baths", "rinse-bath"))
    html = wait_for("hb-fault")
    assert "docs/index.md:5: no table &#x27;rinse-bath&#x27;; did you mean &#x27;rinse-baths&#x27;?" in html

    site.page("index.md", PAGE)
    html = wait_for(">Baths needed, by")
    assert "hb-fault" not in html

    site.set("rinsing.bath", "600 kg")
    html = wait_for("hb-fault")
    assert "rinsing.bath: 600 kg is in" in html
    assert ">600\u00a0mL</span>" in html, "the last good values stay"

    site.set("rinsing.bath", "700 mL")
    html = wait_for(">700\u00a0mL</span>")
    assert "hb-fault" not in html

    good = module.read_text("utf-8")
    module.write_text(good + "\ndef (\n", "utf-8")
    html = wait_for("hb-fault")
    assert "handbook_calc cannot be loaded" in html
    assert "handbook_calc/rinsing.py:" in html
    module.write_text(good, "utf-8")
    end = time.monotonic() + 25
    while "hb-fault" in html and time.monotonic() < end:
        html = wait_for(">700\u00a0mL</span>")
        time.sleep(0.3)
    assert "hb-fault" not in html
