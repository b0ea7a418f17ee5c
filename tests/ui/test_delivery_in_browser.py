"""Delivery day on a phone whose connection to the computer drops: nothing counted is lost or doubled."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path

import pytest

from layout.delivery import Delivery
from layout.plan_types import OrderLine
from layout.stack_types import Lot, Stack, StackPlan
from tests.ui.browser import running_app
from tests.ui.conftest import SIZES
from ui import site_store
from ui.delivery_view import counted, place_order
from ui.store import Store

pytestmark = [pytest.mark.browser, pytest.mark.slow]
WAIT_MS = 60_000
TWELVES, EIGHTS = "regular-1/2-48-144", "moisture-1/2-48-96"


class Day:
    """A job with an order placed, the app over it, and phones that count."""

    def __init__(self, browser, folder: Path, address: str) -> None:
        self.browser, self.folder, self.address = browser, folder, address
        self.store = Store(folder)
        self.job_id = self.store.new_job("Basement")
        order = (OrderLine("regular", 0.5, 48.0, 144.0, 12, 2), OrderLine("moisture", 0.5, 48.0, 96.0, 4, 0))
        lots = (
            Lot("c", "regular", 0.5, 48, 144, 8, "Den", ceiling=True),
            Lot("w", "regular", 0.5, 48, 144, 6, "Den"),
        )
        stacks = StackPlan(
            tuple(
                Stack(number, wall, "Den", 0.0, 144.0, 12.0, "edge", (lot,), 600.0, 18.0)
                for number, wall, lot in zip((1, 2), ("North wall", "South wall"), lots, strict=True)
            )
        )
        place_order(self.store, self.job_id, order, stacks, 0)

    def phone(self, size: str = "phone", **more):
        context = self.browser.new_context(**SIZES[size], **more)
        return self.page(context)

    def page(self, context):
        page = context.new_page()
        page.goto(f"{self.address}/delivery?job={self.job_id}")
        page.locator(".tally .one").first.wait_for(timeout=WAIT_MS)
        return page

    def kept(self) -> Delivery:
        placed, _ = site_store.part(self.store, self.job_id, "delivery")
        return counted(self.store, self.job_id, placed)

    def arrived(self) -> list[int]:
        return [tally.arrived for tally in self.kept().tallies]


@pytest.fixture
def day(browser, app_folder, app_address):
    """A job of its own in the app that all tests share."""
    return Day(browser, app_folder, app_address)


class MortalApp:
    """An app that a test may stop and start again, at the same address."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.address = folder, ""
        self.running: ExitStack | None = None

    def start(self) -> None:
        port = int(self.address.rsplit(":", 1)[1]) if self.address else 0
        self.running = ExitStack()
        self.address = self.running.enter_context(running_app(self.folder, port))

    def stop(self) -> None:
        if self.running:
            self.running.close()
        self.running = None


@pytest.fixture(scope="module")
def mortal_app_of_all(browser, tmp_path_factory):
    """One for all tests that stop it: it takes as long to start as they do."""
    app = MortalApp(tmp_path_factory.mktemp("mortal"))
    yield app
    app.stop()


@pytest.fixture
def mortal_app(mortal_app_of_all):
    """Running, whatever the test before did to it."""
    if not mortal_app_of_all.running:
        mortal_app_of_all.start()
    return mortal_app_of_all


@pytest.fixture
def mortal_day(browser, mortal_app):
    """A job of its own in the app that may be stopped."""
    return Day(browser, mortal_app.folder, mortal_app.address)


def tap(page, button: str, line: str = TWELVES) -> None:
    """Press a button of one line; a press that something covers fails the test."""
    page.locator(f'.line[data-line="{line}"] .{button}').click(timeout=5_000)


def handed_over(page, wait_ms: int = WAIT_MS) -> None:
    """Wait until the computer has confirmed every tap."""
    page.locator('.state[data-waiting="0"]').wait_for(timeout=wait_ms)


def shown(page, line: str = TWELVES) -> int:
    return int(page.locator(f'.line[data-line="{line}"] .came').inner_text())


def test_counting_goes_on_while_the_connection_is_away(day) -> None:
    phone = day.phone()
    tap(phone, "one")
    tap(phone, "pair")
    handed_over(phone)
    assert day.arrived() == [3, 0]
    phone.context.set_offline(True)
    for _ in range(4):
        tap(phone, "one")
    tap(phone, "spoiled")
    tap(phone, "back")
    tap(phone, "one", EIGHTS)
    assert (shown(phone), shown(phone, EIGHTS)) == (6, 1)
    assert "7 taps wait on this phone" in phone.locator(".state").inner_text()
    assert day.arrived() == [3, 0]
    phone.context.set_offline(False)
    handed_over(phone)
    assert day.arrived() == [6, 1]
    assert day.kept().tallies[0].damaged == 1
    phone.context.close()


def test_a_dead_server_loses_nothing_and_does_not_cover_the_buttons(mortal_app, mortal_day) -> None:
    phone = mortal_day.phone()
    tap(phone, "one")
    handed_over(phone)
    mortal_app.stop()
    for _ in range(3):
        tap(phone, "one")
    # long enough for the page's own message about the connection, which must not be in the way
    phone.wait_for_timeout(12_000)
    tap(phone, "one")
    phone.locator(f'.line[data-line="{TWELVES}"] summary').click()
    phone.locator(f'.line[data-line="{TWELVES}"] .line-note').fill("two corners crushed")
    phone.locator(f'.line[data-line="{TWELVES}"] .line-note').blur()
    assert shown(phone) == 5
    assert mortal_day.arrived() == [1, 0]
    mortal_app.start()
    handed_over(phone, 120_000)
    assert mortal_day.arrived() == [5, 0]
    assert mortal_day.kept().tallies[0].note == "two corners crushed"
    phone.context.close()


def test_a_page_closed_before_the_connection_came_back_hands_over_when_it_is_opened_again(
    mortal_app, mortal_day
) -> None:
    phone = mortal_day.phone()
    mortal_app.stop()
    for _ in range(4):
        tap(phone, "one")
    context = phone.context
    phone.close()
    assert mortal_day.arrived() == [0, 0]
    mortal_app.start()
    again = mortal_day.page(context)
    handed_over(again)
    assert (mortal_day.arrived(), shown(again)) == ([4, 0], 4)
    again.reload()
    again.locator(".tally .one").first.wait_for(timeout=WAIT_MS)
    handed_over(again)
    assert (mortal_day.arrived(), shown(again)) == ([4, 0], 4)
    context.close()


def test_a_shared_app_that_wants_its_code_again_is_said_to(day) -> None:
    phone = day.phone()
    phone.context.set_offline(True)
    phone.route("**/_stcore/health", lambda route: route.fulfill(status=401, body="Give the code."))
    tap(phone, "one")
    phone.locator(".state", has_text="asks for the code again").wait_for(timeout=WAIT_MS)
    assert shown(phone) == 1
    phone.unroute("**/_stcore/health")
    phone.context.set_offline(False)
    handed_over(phone)
    assert day.arrived() == [1, 0]
    phone.context.close()


def test_two_phones_and_two_tabs_of_one_count_into_one_tally(day) -> None:
    one, other = day.phone(), day.phone("desk")
    tab = day.page(one.context)
    for page in (one, other, tab):
        tap(page, "one")
        tap(page, "one")
    for page in (one, other, tab):
        handed_over(page)
    assert day.arrived() == [6, 0]
    one.context.close()
    other.context.close()


def test_each_board_is_sent_to_its_stack_and_the_difference_is_written_out(day) -> None:
    phone = day.phone()
    where = phone.locator(f'.line[data-line="{TWELVES}"] .where')
    # what is hung first, the ceiling's stack 1, is carried in last
    assert "stack 2, Den, South wall (1 of 6 there)" in where.inner_text()
    for _ in range(3):
        tap(phone, "pair")
    assert "stack 1, Den, North wall (1 of 8 there)" in where.inner_text()
    tap(phone, "spoiled")
    handed_over(phone)
    text = phone.locator("pre.block")
    text.get_by_text("ordered 14, came 6 (8 short, 1 damaged)").wait_for(timeout=WAIT_MS)
    phone.context.close()


def test_the_phone_speaks_spanish(day) -> None:
    phone = day.phone(locale="es-MX")
    assert "Todo está guardado" in phone.locator(".state").inner_text()
    phone.context.close()
