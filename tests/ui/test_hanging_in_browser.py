"""Cutting and hanging on a phone: ticks survive a lost connection, a spoiled board is planned again."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from layout import plan_job
from layout.plan_types import Plan
from layout.stack_types import StackPlan
from tests.layout.common import room
from tests.ui.conftest import SIZES
from ui.hanging_site import Hanging, begin_hanging, hanging_of
from ui.site_plan import SitePlan
from ui.store import Store

pytestmark = [pytest.mark.browser, pytest.mark.slow]
WAIT_MS = 60_000


class Work:
    """A room being hung, and the app over it."""

    def __init__(self, browser, folder: Path, address: str, plan: Plan, job) -> None:
        self.browser, self.address = browser, address
        self.store = Store(folder)
        self.job_id = self.store.new_job("Basement")
        begin_hanging(self.store, self.job_id, SitePlan(job, plan, {"C": "Den"}), StackPlan(), 0)

    def now(self) -> Hanging:
        found = hanging_of(self.store, self.job_id)
        assert found is not None
        return found

    def phone(self, **more):
        page = self.browser.new_context(**SIZES["phone"], **more).new_page()
        page.goto(f"{self.address}/hanging?job={self.job_id}")
        page.locator(".cards .piece").first.wait_for(timeout=WAIT_MS)
        return page


@pytest.fixture(scope="module")
def planned():
    job = room(1)
    plan = plan_job(job)
    # no spares and no full bundles: what is spoiled of a long piece has to be bought
    return job, replace(plan, order=tuple(replace(line, spare=0, to_fill=0) for line in plan.order))


@pytest.fixture
def work(browser, app_folder, app_address, planned):
    return Work(browser, app_folder, app_address, planned[1], planned[0])


def piece(page, number: int):
    return page.locator(f'.piece[data-piece="{number}"]')


def handed_over(page) -> None:
    page.locator('.state[data-waiting="0"]').wait_for(timeout=WAIT_MS)


def test_ceiling_first_and_ticks_made_without_a_connection_are_kept(work) -> None:
    phone = work.phone()
    first = phone.locator("details.card").first
    assert "Den" in first.locator("summary").inner_text()
    assert first.get_attribute("open") is not None
    phone.context.set_offline(True)
    for number in (1, 2):
        piece(phone, number).locator(".hung").click()
    piece(phone, 2).locator(".hung").click()  # it came down again
    piece(phone, 3).locator(".hung").click()
    assert "2 of" in first.locator(".progress").inner_text()
    assert work.now().progress.hung == frozenset()
    phone.context.set_offline(False)
    handed_over(phone)
    assert work.now().progress.hung == {1, 3}
    phone.reload()
    phone.locator(".piece.up").first.wait_for(timeout=WAIT_MS)
    assert phone.locator(".piece.up").count() == 2
    phone.context.close()


def test_a_spoiled_board_gets_another_sheet_and_what_must_be_bought_is_said(work) -> None:
    before = work.now()
    long = max((p for card in before.cards for p in card.pieces), key=lambda p: p.cut_length_in)
    phone = work.phone()
    for node in phone.locator("details.card").all():
        node.evaluate("node => { node.open = true; }")
    card = piece(phone, long.number)
    card.locator(".spoil").click()
    card.locator(".nothing").click()
    assert not card.locator(".ask").is_visible()
    card.locator(".spoil").click()
    card.locator(".piece_only").click()
    handed_over(phone)
    phone.get_by_text("To buy: 1 more of").wait_for(timeout=WAIT_MS)
    piece(phone, long.number).locator(".moved").wait_for(timeout=WAIT_MS)
    after = work.now()
    assert len(after.bought) == 1
    assert after.moved == {long.number}
    now = next(p for c in after.cards for p in c.pieces if p.number == long.number)
    assert (now.left_in, now.right_in) == (long.left_in, long.right_in)
    assert now.sheet == after.bought[0].id
    phone.context.close()


def test_the_cards_are_saved_as_pages_and_the_cautions_are_there(work, tmp_path) -> None:
    phone = work.phone()
    with phone.expect_download(timeout=WAIT_MS) as waiting:
        phone.get_by_role("button", name="Cards to print (PDF)").click()
    file = tmp_path / "cards.pdf"
    waiting.value.save_as(file)
    assert file.read_bytes().startswith(b"%PDF-")
    phone.get_by_text("Before you cut and drive screws").click()
    phone.get_by_text("switch the circuit off").wait_for(timeout=WAIT_MS)
    phone.context.close()
