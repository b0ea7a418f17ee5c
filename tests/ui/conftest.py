"""What the browser tests share: the running app, a page at phone and at desk size, a photo with its truth."""

from __future__ import annotations

import json
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from PIL import Image

import vision
from tests.ui.browser import AppPage, chromium, running_app
from tests.ui.commands import Asked
from ui.first_job import make_sample_job
from ui.store import Store
from ui.words import Words

SIZES = {
    "phone": {
        "viewport": {"width": 360, "height": 740},
        "device_scale_factor": 2,
        "has_touch": True,
        "is_mobile": True,
    },
    "tablet": {"viewport": {"width": 820, "height": 1180}, "has_touch": True, "is_mobile": True},
    "desk": {"viewport": {"width": 1440, "height": 900}},
}
SHARED = Path(__file__).parents[3] / "shared" / "photos" / "renders"


@dataclass(frozen=True)
class WallPhoto:
    """A photo, with what a person would read off it: the wall's corners, two marks and their length."""

    path: Path
    width_px: int
    corners_px: tuple[tuple[float, float], ...]
    marks_px: tuple[tuple[float, float], tuple[float, float]]
    marks_in: float


@pytest.fixture(scope="session")
def wall_photo() -> WallPhoto:
    """The demo wall of the samples."""
    sample_images = pytest.importorskip("sample_images")
    if not hasattr(sample_images, "sample_names") or not sample_images.sample_names():
        return rendered_elsewhere()
    name = sample_images.sample_names()[0]
    known = sample_images.known_truth(name)
    return WallPhoto(
        sample_images.photo_path(name),
        known["photo"]["width_px"],
        tuple(tuple(corner) for corner in known["wall"]["corners_px"]),
        tuple(tuple(mark) for mark in known["reference"]["marks_px"]),
        known["reference"]["length_in"],
    )


def rendered_elsewhere() -> WallPhoto:
    """A photo of the optional shared folder."""
    name = SHARED / "h11.jpg"
    if not name.exists():
        pytest.skip("there is no photo of a wall here")
    truth = json.loads(name.with_suffix(".json").read_text())
    corners = truth["corners_px"]
    return WallPhoto(
        name,
        2400,
        tuple(tuple(corners[where]) for where in ("top_left", "top_right", "bottom_right", "bottom_left")),
        tuple(tuple(end) for end in truth["reference"]["ends_px"]),
        truth["reference"]["true_in"],
    )


@pytest.fixture(scope="session")
def browser():
    """One Chromium for all tests."""
    path = chromium()
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        found = driver.chromium.launch(executable_path=path, args=["--no-sandbox", "--disable-gpu"])
        yield found
        found.close()


@pytest.fixture(scope="session")
def app_folder(tmp_path_factory) -> Path:
    """Where the app that the tests share keeps its jobs."""
    return tmp_path_factory.mktemp("data")


@pytest.fixture(scope="session")
def sample_job_id(app_folder) -> str:
    """The sample job, which no test may change."""
    return make_sample_job(Store(app_folder), Words("en"))


@pytest.fixture(scope="session")
def app_address(browser, app_folder, sample_job_id):
    """The app that the tests share: to start one and draw its first page takes as long as many a test.
    Each test works on a job of its own in it."""
    with running_app(app_folder) as address:
        yield address


@contextmanager
def window(browser, address: str, size: str, **more):
    """The app in a window of that size; errors of its scripts fail the test."""
    context = browser.new_context(**SIZES[size], **more)
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    yield AppPage(page, address, size)
    context.close()
    assert faults == []


@pytest.fixture
def app(request, browser, app_address):
    """The app that the tests share, in a window of the size a test asks for."""
    with window(browser, app_address, request.param) as shown:
        yield shown


@pytest.fixture
def asked(monkeypatch) -> Asked:
    asked = Asked()
    monkeypatch.setattr(vision, "read_wall", asked.read_wall)
    return asked


@pytest.fixture
def photo_file(tmp_path: Path) -> str:
    file = tmp_path / "wall.jpg"
    Image.new("RGB", (400, 300), (180, 160, 120)).save(file)
    return str(file)
