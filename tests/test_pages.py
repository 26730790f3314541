"""The built pages as a reader sees them: each opened by a browser, wide and narrow, with a picture of it kept to look at.

Needs the extra ``pages`` (selenium), a Chromium with its driver, and the built documentation in ``FORMULA_DOCS``; where one of
them is missing, it says so and is skipped.  The pictures are left in ``.build/screens``.
"""

import base64
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

BUILT = os.environ.get("FORMULA_DOCS", "")
PAGES = sorted(Path(BUILT).resolve().glob("**/*.html")) if BUILT else []
SCREENS = Path(__file__).parents[1] / ".build" / "screens"
SIZES = {"wide": (1280, 900), "narrow": (390, 844)}
"""A desk, and a telephone held upright, in CSS pixels."""
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
)
TALLEST = 4000
"""A picture shows no more of a page than this."""
ENDLESS = 60_000
"""Of a page that is taller still, the picture shows the window alone: to lay it out anew for a picture takes seconds."""

# An element that reaches out of the window, where no box of its own lets the reader scroll to the rest. The theme lets all of
# the text scroll sideways at once: that does not count, and it is why the width of the page itself tells nothing.
STICKS_OUT = """
const reachesOut = each => {
  const box = each.getBoundingClientRect();
  return box.width > 0 && box.right > arguments[0] + 1;
};
const canBeScrolledTo = each => {
  for (let around = each.parentElement; around; around = around.parentElement) {
    if (around.matches(".content")) return false;
    if (["auto", "scroll"].includes(getComputedStyle(around).overflowX) && !reachesOut(around)) return true;
  }
  return false;
};
return [...document.querySelectorAll("body *")]
  .filter(each => reachesOut(each) && !each.closest(".sidebar-drawer, .toc-drawer") && !canBeScrolledTo(each))
  .map(each => `${each.tagName} ${each.className}: ${each.textContent.trim().slice(0, 60)}`)
  .slice(0, 5);
"""


def missing() -> str:
    """Say what is not here, or nothing."""
    try:
        import selenium  # noqa: F401
    except ImportError:
        return "selenium is not installed: the extra `pages`"
    if not (shutil.which("chromium") and shutil.which("chromedriver")):
        return "there is no Chromium with its driver"
    return "" if PAGES else "FORMULA_DOCS names no folder with built pages"


pytestmark = pytest.mark.skipif(bool(missing()), reason=missing() or "everything is here")


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    for flag in FLAGS:
        options.add_argument(flag)
    options.binary_location = str(shutil.which("chromium"))
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    # One folder of its own, so that nothing of another run is remembered.
    driver = webdriver.Chrome(options=options, service=Service(str(shutil.which("chromedriver"))))
    try:
        yield driver
    finally:
        driver.quit()


def resize(browser: Any, size: str) -> None:  # noqa: ANN401 - a driver
    width, height = SIZES[size]
    metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": size == "narrow"}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)


def overflow(browser: Any, size: str) -> list[str]:  # noqa: ANN401 - a driver
    """Return what cannot be read because it reaches out of the window, or makes the whole page wider than it."""
    width, _ = SIZES[size]
    found: list[str] = browser.execute_script(STICKS_OUT, width)
    is_wider = browser.execute_script("return document.documentElement.scrollWidth") > width
    return found or (["the page, but no element of it"] if is_wider else [])


def keep_picture(browser: Any, page: Path, size: str) -> Path:  # noqa: ANN401 - a driver
    width, _ = SIZES[size]
    height = browser.execute_script("return document.documentElement.scrollHeight")
    how: dict[str, Any] = {"optimizeForSpeed": True}
    if height < ENDLESS:
        clip = {"x": 0, "y": 0, "width": width, "height": min(height, TALLEST), "scale": 1}
        how |= {"captureBeyondViewport": True, "clip": clip}
    shot = browser.execute_cdp_cmd("Page.captureScreenshot", how)
    name = "-".join(page.relative_to(Path(BUILT).resolve()).with_suffix("").parts)
    SCREENS.mkdir(parents=True, exist_ok=True)
    picture = SCREENS / f"{name}-{size}.png"
    picture.write_bytes(base64.b64decode(shot["data"]))
    return picture


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_a_page_fits_and_complains_of_nothing(browser: Any, page: Path) -> None:  # noqa: ANN401 - a driver
    resize(browser, "wide")
    browser.get(page.as_uri())
    for size in SIZES:
        resize(browser, size)
        picture = keep_picture(browser, page, size)
        assert picture.stat().st_size > 2_000, "a page that shows nothing makes a small picture"
        assert overflow(browser, size) == []
    assert [line["message"] for line in browser.get_log("browser") if line["level"] in {"SEVERE", "WARNING"}] == []
    broken = "return [...document.images].filter(each => !each.complete || !each.naturalWidth).map(each => each.src)"
    assert browser.execute_script(broken) == []


def test_what_sticks_out_is_seen(browser: Any, tmp_path: Path) -> None:  # noqa: ANN401 - a driver
    """The net has no hole: what is too wide, a script that fails and a picture that is not there are caught."""
    page = tmp_path / "page.html"
    page.write_text(
        "<!doctype html><meta name=viewport content='width=device-width'><title>x</title><body>"
        "<div style='width: 2000px'>too wide</div><img src='nowhere.png' alt=''><script>throw new Error('no')</script>",
        encoding="utf-8",
    )
    browser.get(page.as_uri())
    messages = " ".join(line["message"] for line in browser.get_log("browser"))
    assert "Error: no" in messages
    assert "nowhere.png" in messages
    for size in SIZES:
        resize(browser, size)
        assert "too wide" in overflow(browser, size)[0]
    browser.get(next(page for page in PAGES if page.stem == "water").as_uri())
    for size in SIZES:
        resize(browser, size)
        assert overflow(browser, size) == []
        wide = "<div style='width: 3000px'>too wide</div>"
        browser.execute_script("document.querySelector('article p').innerHTML = arguments[0]", wide)
        assert "too wide" in overflow(browser, size)[0]
        browser.execute_script("document.querySelector('article p').innerHTML = ''")
