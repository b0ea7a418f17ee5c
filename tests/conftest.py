"""How the tests are shared out between the processes that run them."""

from __future__ import annotations

import os

import pytest

# The app and the console command are started dozens of times: each would compile all of it anew where
# this machine's Python is told to keep nothing.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin the last process's share with all browser tests.

    xdist gives each process one stretch of the list, and one that has done its stretch takes short tests from
    the end of another's. So one process drives the browser while the others reckon, one app and one Chromium
    do for all, each photo is read once in it, and what is long is not begun last.
    """
    count = int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1"))
    if count == 1:
        return
    browser = [item for item in items if item.get_closest_marker("browser")]
    others = [item for item in items if not item.get_closest_marker("browser")]
    at = min(len(others), len(items) * (count - 1) // count)
    items[:] = [*others[:at], *browser, *others[at:]]
