"""A phone and a laptop on one job, in two browsers; two windows on one wall."""

from __future__ import annotations

import pytest

from tests.ui.browser import WAIT_MS, AppPage
from tests.ui.conftest import SIZES
from tests.ui.shared_server import Shared

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.fixture(scope="module")
def shared(browser, tmp_path_factory):
    running = Shared(tmp_path_factory.mktemp("shared"))
    yield running
    running.stop()


@pytest.fixture
def window(browser):
    """Open a window of a size at an address; requests to elsewhere fail the test."""
    contexts, outside = [], []

    def opened(size, address):
        context = browser.new_context(**SIZES[size])
        contexts.append(context)
        page = context.new_page()
        own = (address, "data:", "blob:", address.replace("http", "ws"))
        page.on("request", lambda r: None if r.url.startswith(own) else outside.append(r.url))
        return AppPage(page, address, size)

    yield opened
    for context in contexts:
        context.close()
    assert outside == []


def test_a_photo_taken_on_the_phone_arrives_on_the_laptop_without_a_reload(shared, window, wall_photo):
    laptop = window("desk", f"http://127.0.0.1:{shared.port}")
    laptop.start_job()
    laptop.page.get_by_text("Use the phone", exact=True).click()
    laptop.page.locator("img.square").wait_for(timeout=WAIT_MS)
    shown = laptop.page.get_by_text("scan this with the phone").inner_text()
    assert shared.code() in shown
    job = laptop.page.evaluate("new URLSearchParams(location.search).get('job')")

    phone = window("phone", f"http://{shared.address}:{shared.port}")
    phone.open(f"/walls?job={job}" if job else "/walls")
    phone.page.get_by_label("Code").wait_for()
    phone.open((f"/walls?job={job}" if job else "/walls") + f"#code={shared.code()}")
    phone.page.reload()  # a new picture was scanned: the same page, now with the code
    phone.page.get_by_role("heading", name="New job").wait_for(timeout=WAIT_MS)
    assert "#" not in phone.page.url
    laptop.page.get_by_text("Devices let in: 1").wait_for(timeout=WAIT_MS)
    assert shared.code() not in laptop.page.get_by_text("scan this with the phone").inner_text()

    laptop.page.evaluate("window.notReloaded = true")
    phone.upload(wall_photo.path)
    laptop.page.get_by_text("Wall A", exact=True).wait_for(timeout=WAIT_MS)
    assert laptop.page.evaluate("window.notReloaded")
    phone.wait_for_editor()
    assert len(phone.studs()) > 4
    # the way in is shown on the computer only
    phone.go("Walls")
    phone.page.get_by_text("Name, country, units").wait_for()
    assert phone.page.get_by_text("Use the phone").count() == 0


def test_an_order_left_open_follows_the_walls(shared, window):
    one = window("desk", f"http://127.0.0.1:{shared.port}")
    one.start_job()
    one.go("Walk-round")
    measure(one, "12 ft")
    other = window("desk", f"http://127.0.0.1:{shared.port}")
    other.open("/order")  # the newest job
    other.page.locator("table.plain").first.wait_for(timeout=WAIT_MS)
    other.settle()
    before = other.sheets_to_buy()
    measure(one, "14 ft")
    other.wait_for(lambda: other.sheets_to_buy() > before)


def measure(app, length: str) -> None:
    """Enter one more wall on the walk-round."""
    count = app.page.get_by_role("button", name="Mirror").count()
    app.page.get_by_label("Length", exact=True).fill(length)
    app.page.get_by_role("button", name="Add it").click()
    app.page.get_by_role("button", name="Mirror").nth(count).wait_for(timeout=WAIT_MS)
    app.settle()


def test_two_windows_on_one_wall_do_not_overwrite_each_other_silently(shared, window, wall_photo):
    one = window("desk", f"http://127.0.0.1:{shared.port}")
    one.start_job()
    one.upload(wall_photo.path)
    one.wait_for_editor()
    other = window("tablet", f"http://127.0.0.1:{shared.port}")
    other.open(one.page.url.removeprefix(one.address))
    other.wait_for_editor()
    stood_in = one.place_in("Stud 3")

    one.stud("Stud 3").focus()
    one.page.keyboard.press("Shift+ArrowRight")
    one.settle_edit()
    # the other window is told and shows it, without being touched
    other.page.get_by_text("This wall was changed on another device").wait_for(timeout=WAIT_MS)
    other.wait_for(lambda: abs(other.place_in("Stud 3") - stood_in - 1) < 0.011)
    other.stud("Stud 4").focus()
    beside_in = other.place_in("Stud 4")
    other.page.keyboard.press("Shift+ArrowRight")
    other.settle_edit()
    one.wait_for(lambda: abs(one.place_in("Stud 4") - beside_in - 1) < 0.011)
    assert one.place_in("Stud 3") == pytest.approx(stood_in + 1, abs=0.011)
