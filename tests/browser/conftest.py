"""One Chromium for all tests of a process, and the real handbook that they share."""

import shutil

import pytest
from support import CHROMIUM_FLAGS


@pytest.fixture(scope="session")
def site(real_site):
    """The real handbook, built."""
    return real_site


@pytest.fixture(scope="session")
def chromium(tmp_path_factory):
    """A headless Chromium with a profile of its own and no name service."""
    from selenium import webdriver
    from selenium.webdriver.chrome.options import Options
    from selenium.webdriver.chrome.service import Service

    options = Options()
    options.binary_location = shutil.which("chromium") or "chromium"
    for flag in (*CHROMIUM_FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"performance": "ALL", "browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))
    yield driver
    driver.quit()


@pytest.fixture
def browser(chromium):
    """The Chromium, with nothing remembered from the test before."""
    chromium.get("about:blank")
    chromium.execute_cdp_cmd("Storage.clearDataForOrigin", {"origin": "file://", "storageTypes": "all"})
    return chromium
