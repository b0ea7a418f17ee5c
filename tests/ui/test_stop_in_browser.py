"""Stop, pressed while the page itself waits: the click must be heard by the run that it interrupts."""

from __future__ import annotations

import pytest

from tests.ui.browser import running_app

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def test_stop_ends_the_work_that_the_page_waits_for(browser, tmp_path):
    # the work never ends by itself: whatever is slow here, only the press can end it
    with running_app(tmp_path, script="tests/ui/endless_work.py") as address:
        page = browser.new_page()
        page.goto(address)
        page.get_by_test_id("stMain").get_by_role("button", name="Stop").click(timeout=150_000)
        page.get_by_text("The work has ended.").wait_for(timeout=150_000)
        page.close()
