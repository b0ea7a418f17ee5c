"""Every screen at every size, in light and dark: axe-core (WCAG 2.2 AA rules) finds nothing, nothing scrolls
sideways, targets are big enough for a thumb."""

from __future__ import annotations

import os

import pytest

from tests.ui.browser import WAIT_MS, AppPage
from tests.ui.conftest import SIZES
from ui.places import PLACES

pytestmark = [pytest.mark.browser, pytest.mark.slow]
# The others take five times as long again: SEAMWRIGHT_EVERY_SIZE=1 runs them too.
SIZE_AND_SCHEME = [("phone", "light")]
if os.environ.get("SEAMWRIGHT_EVERY_SIZE"):
    SIZE_AND_SCHEME = [(size, scheme) for size in SIZES for scheme in ("light", "dark")]


FOLDED = '[data-testid="stExpander"] details:not([open])'


def open_everything(app, tries=10):
    """Open all that can be folded out: what is folded away is not checked. A click on a part that the server
    is just drawing anew is lost, so what is still folded is clicked again."""
    for _ in range(tries):
        app.page.locator(f"{FOLDED} > summary").evaluate_all("heads => heads.forEach(head => head.click())")
        app.page.wait_for_timeout(500)  # they unfold
        app.settle()
        if app.page.locator(FOLDED).count() == 0:
            return
    raise AssertionError(f"{app.page.locator(FOLDED).count()} parts stay folded")


def lasting(app, axe, looks=4):
    """What axe finds on a page at rest: while the server draws a part anew the page shows the old one faded,
    and a fault that is gone at the next look was only that."""
    for _ in range(looks):
        app.settle()
        faults = axe.run(app.page).response["violations"]
        if not faults:
            break
        app.page.wait_for_timeout(1000)
    return faults


def requests_elsewhere(page, address):
    """A list that fills with what the page asks of any other machine: fonts, scripts, sockets, anything."""
    outside = []
    own = (f"{address}/", address.replace("http", "ws"), "data:", "blob:")
    page.on("request", lambda asked: None if asked.url.startswith(own) else outside.append(asked.url))
    page.on("websocket", lambda opened: None if opened.url.startswith(own) else outside.append(opened.url))
    return outside


@pytest.mark.parametrize(("size", "scheme"), SIZE_AND_SCHEME)
def test_axe_finds_nothing_and_a_thumb_finds_everything(browser, app_address, sample_job_id, size, scheme):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    context = browser.new_context(**SIZES[size], color_scheme=scheme)
    app = AppPage(context.new_page(), app_address, f"{size}-{scheme}")
    outside = requests_elsewhere(app.page, app_address)
    found = []
    app.open(f"/?job={sample_job_id}")
    app.page.wait_for_selector('.editor .tools button, [data-testid="stFileUploader"]', timeout=WAIT_MS)
    for place in PLACES:
        app.open(f"/{'' if place.name == 'wall' else place.address}?job={sample_job_id}")
        app.page.wait_for_selector(".st-key-stages", timeout=WAIT_MS)
        app.settle()
        open_everything(app)
        found += [(place.name, fault["id"], fault["nodes"][0]["html"][:160]) for fault in lasting(app, axe)]
        if app.sideways_px() > 0:
            found.append((place.name, "scrolls sideways", app.sideways_px()))
        if size != "desk":
            found += [(place.name, "small", *target) for target in app.small_targets()]
        app.shot(f"screen-{place.name}")
    context.close()
    assert outside == [], "no screen asks anything of another machine"
    assert not found, "\n".join(map(str, found))


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_page_that_asks_for_the_code_is_accessible(browser, scheme):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    from ui.sharing.code_page import code_page

    context = browser.new_context(**SIZES["phone"], color_scheme=scheme)
    page = context.new_page()
    for reason in ("", "wrong", "wait"):
        page.set_content(code_page("/", reason, "en")[0])
        assert axe.run(page).response["violations"] == []
    context.close()
