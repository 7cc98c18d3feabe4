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
    driver = _started(tmp_path_factory.mktemp("profile"), browser="ALL")
    yield driver
    driver.quit()


@pytest.fixture(scope="session")
def recorder(tmp_path_factory):
    """Another that also notes each request, which makes every page twice as slow."""
    driver = _started(tmp_path_factory.mktemp("recorded"), browser="ALL", performance="ALL")
    yield driver
    driver.quit()


def _started(profile, **logged):
    from selenium import webdriver
    from selenium.webdriver.chrome.options import Options
    from selenium.webdriver.chrome.service import Service

    options = Options()
    options.binary_location = shutil.which("chromium") or "chromium"
    for flag in (*CHROMIUM_FLAGS, f"--user-data-dir={profile}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", logged)
    return webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))


@pytest.fixture
def browser(chromium):
    """The Chromium, with nothing remembered from the test before."""
    return _forgetful(chromium)


@pytest.fixture
def recorded(recorder):
    """The one that notes each request, with nothing remembered."""
    return _forgetful(recorder)


def _forgetful(driver):
    driver.get("about:blank")
    driver.get_log("browser")
    driver.execute_cdp_cmd("Storage.clearDataForOrigin", {"origin": "file://", "storageTypes": "all"})
    return driver
