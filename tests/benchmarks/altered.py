"""Pictures changed by phones and people: ``python -m tests.benchmarks.altered --set DIR [CHANGE ...]``.

Every whole wall of the set without a sheet is read as it is and changed: sent by a messenger, sharpened,
grey, cut to the wall, squeezed, out of square, as a panorama and so on. Its marks move with the pixels. A
tape or level gives the scale, or with ``--spacing`` the studs do.
"""

from __future__ import annotations

import argparse
import io
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps

from tests.benchmarks.cases import Case, own_cases
from tests.benchmarks.reading import RENDERED, found_of, reference_for
from tests.benchmarks.scoring import Score, score
from vision import load_photo, read_wall

Pixels = NDArray[np.uint8]
Mapping = Callable[[NDArray[np.float64]], NDArray[np.float64]]
ORIENTATION = 0x0112
SENT_LONG_SIDE_PX = 1024
CUT_MARGIN = 0.015  # of the photo's width, left around a wall that is cut out


@dataclass(frozen=True)
class Changed:
    """A picture (H, W, 3) and where the photo's pixels (N, 2) lie in it."""

    rgb: Pixels
    moved: Mapping = lambda points_px: points_px


@dataclass(frozen=True)
class Change:
    """What is done to a photo before it is read.

    Attributes
    ----------
    pixels : function of the photo and its case
    quality : int
        Of the JPEG it is kept as.
    exif : bool
        Whether the photo's Exif, its first size included, stays with it.
    """

    pixels: Callable[[Pixels, Case], Changed]
    quality: int = 90
    exif: bool = True


def _as_it_is(rgb: Pixels, case: Case) -> Changed:
    return Changed(rgb)


def _sent(rgb: Pixels, case: Case) -> Changed:
    k = SENT_LONG_SIDE_PX / max(rgb.shape)
    small = cv2.resize(rgb, None, fx=k, fy=k, interpolation=cv2.INTER_AREA)
    return Changed(np.asarray(small, np.uint8), lambda p: (p + 0.5) * k - 0.5)


def _sharpened(rgb: Pixels, case: Case) -> Changed:
    soft = cv2.GaussianBlur(rgb, (0, 0), 1.5)
    return Changed(np.clip(rgb * 2.2 - soft * 1.2, 0, 255).astype(np.uint8))


def _local_contrast(rgb: Pixels, case: Case) -> Changed:
    lab = cv2.cvtColor(rgb, cv2.COLOR_RGB2LAB)
    lab[..., 0] = cv2.createCLAHE(3.0, (8, 8)).apply(lab[..., 0])
    return Changed(np.asarray(cv2.cvtColor(lab, cv2.COLOR_LAB2RGB), np.uint8))


def _grey(rgb: Pixels, case: Case) -> Changed:
    return Changed(np.repeat(np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY))[..., None], 3, axis=2))


def _soft(rgb: Pixels, case: Case) -> Changed:
    return Changed(np.asarray(cv2.GaussianBlur(rgb, (0, 0), 1.6), np.uint8))


def _smoothed(rgb: Pixels, case: Case) -> Changed:
    return Changed(np.asarray(cv2.bilateralFilter(rgb, 9, 40, 7), np.uint8))


def _by_a_bulb(rgb: Pixels, case: Case) -> Changed:
    return Changed(np.clip(rgb * np.array([1.0, 0.78, 0.45]), 0, 255).astype(np.uint8))


def _in_the_dark(rgb: Pixels, case: Case) -> Changed:
    rng = np.random.default_rng(1)
    light = (rgb / 255.0) ** 2.2 * 0.12
    shot = rng.normal(0, 0.02, light.shape) * np.sqrt(light)
    light = np.clip((light + shot + rng.normal(0, 0.006, light.shape)) * 4, 0, 1)
    return Changed((light ** (1 / 2.2) * 255).astype(np.uint8))


def _cut(rgb: Pixels, case: Case) -> Changed:
    """Cut to the wall in the picture's own shape, as phones do."""
    h, w = rgb.shape[:2]
    corners = np.array([[x, y, 0.0] for x in (0, case.length_in) for y in (0, case.height_in)])
    at = case.camera.project(corners)
    margin = CUT_MARGIN * w
    x0, y0 = np.maximum(at.min(0) - margin, 0)
    x1, y1 = np.minimum(at.max(0) + np.array([2, 3]) * margin, [w, h])
    wide = max(x1 - x0, (y1 - y0) * w / h)
    left, top = int(max(0, min(x0, w - wide))), int(max(0, min(y0, h - wide * h / w)))
    part = rgb[top : top + int(wide * h / w), left : left + int(wide)]
    return Changed(part, lambda p: p - [left, top])


def _by(matrix: NDArray[np.float64], rgb: Pixels, size: tuple[int, int]) -> Changed:
    image = cv2.warpPerspective(rgb, matrix, size, flags=cv2.INTER_AREA, borderMode=cv2.BORDER_REFLECT_101)
    return Changed(np.asarray(image, np.uint8), lambda p: p @ matrix[:2, :2].T + matrix[:2, 2])


def _out_of_square(share: float) -> Callable[[Pixels, Case], Changed]:
    """Every level line stays, every plumb one leans by a share of its height (to the left: over 0)."""

    def pixels(rgb: Pixels, case: Case) -> Changed:
        h, w = rgb.shape[:2]
        return _by(np.array([[1, share, -share * h / 2], [0, 1, 0], [0, 0, 1.0]]), rgb, (w, h))

    return pixels


def _squeezed(rgb: Pixels, case: Case) -> Changed:
    h, w = rgb.shape[:2]
    return _by(np.diag([1, 0.75, 1.0]), rgb, (w, int(0.75 * h)))


def _rolled(rgb: Pixels, case: Case) -> Changed:
    h, w = rgb.shape[:2]
    turn = cv2.getRotationMatrix2D((w / 2 - 0.5, h / 2 - 0.5), 10, 0.86)
    return _by(np.vstack([turn, [0, 0, 1.0]]), rgb, (w, h))


def _panorama(rgb: Pixels, case: Case) -> Changed:
    """Turned onto a cylinder about the camera's upright axis."""
    h, w = rgb.shape[:2]
    f = case.camera.f_px * w / case.camera.width_px
    middle = np.array([(w - 1) / 2, (h - 1) / 2])
    wide = int(2 * f * np.arctan(middle[0] / f))
    angle = (np.arange(wide) - (wide - 1) / 2) / f
    from_x = np.repeat((f * np.tan(angle) + middle[0])[None], h, 0)
    from_y = (np.arange(h) - middle[1])[:, None] / np.cos(angle)[None] + middle[1]
    image = cv2.remap(
        rgb,
        from_x.astype(np.float32),
        from_y.astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REFLECT_101,
    )

    def moved(points_px: NDArray[np.float64]) -> NDArray[np.float64]:
        x, y = (points_px - middle).T
        turned = np.arctan(x / f)
        return np.column_stack([f * turned + (wide - 1) / 2, y * np.cos(turned) + middle[1]])

    return Changed(np.asarray(image, np.uint8), moved)


CHANGES = {
    "as it is": Change(_as_it_is),
    "without Exif": Change(_as_it_is, exif=False),
    "sent": Change(_sent, quality=50, exif=False),
    "sharpened": Change(_sharpened),
    "local contrast": Change(_local_contrast),
    "grey": Change(_grey),
    "soft": Change(_soft),
    "noise smoothed": Change(_smoothed),
    "by a bulb": Change(_by_a_bulb),
    "dark": Change(_in_the_dark),
    "cut": Change(_cut),
    "rolled 10 deg": Change(_rolled),
    "out of square -1 %": Change(_out_of_square(-0.01)),
    "out of square -0.4 %": Change(_out_of_square(-0.004)),
    "out of square 0.4 %": Change(_out_of_square(0.004)),
    "out of square 1 %": Change(_out_of_square(0.01)),
    "squeezed": Change(_squeezed, exif=False),
    "panorama": Change(_panorama, exif=False),
}


def altered(case: Case, change: Change) -> tuple[bytes, Case]:
    """The changed photo's file, and the case with its marks where they are in it."""
    with Image.open(case.photo) as image:
        exif = image.getexif()
        rgb = np.asarray(ImageOps.exif_transpose(image).convert("RGB"))
    done = change.pixels(rgb, case)
    exif.pop(ORIENTATION, None)
    out = io.BytesIO()
    kept = {"exif": exif.tobytes()} if change.exif else {}
    Image.fromarray(done.rgb).save(out, "JPEG", quality=change.quality, subsampling=2, **kept)
    if case.marks_px:
        marks = done.moved(np.array(case.marks_px))
        case = replace(case, marks_px=tuple((float(x), float(y)) for x, y in marks))
    return out.getvalue(), case


def read_changed(case: Case, change: Change, mode: str) -> Score:
    """The score of one changed photo."""
    data, moved = altered(case, change)
    reading = read_wall(load_photo(data), reference_for(moved, mode), face_in=case.face_in)
    return score(moved, found_of(reading), reading.refused)


def main() -> None:
    """Print a line per change."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.altered", description=__doc__)
    parser.add_argument("--set", type=Path, default=RENDERED, help="folder of photos of ours")
    parser.add_argument("--spacing", action="store_true", help="the scale by the spacing, not by a tape")
    parser.add_argument("changes", nargs="*", metavar="CHANGE", help=", ".join(CHANGES))
    chosen = parser.parse_args()
    unknown = sorted(set(chosen.changes) - set(CHANGES))
    if unknown:
        parser.error(f"no such change: {', '.join(unknown)} (there are {', '.join(CHANGES)})")
    mode = "spacing" if chosen.spacing else "reference"
    cases = [
        c
        for c in own_cases(chosen.set)
        if c.whole and "sheet" not in c.row and (c.marks_px or chosen.spacing)
    ]
    print(f"{'change':22s} no-edit        refused  sure and right   of  95 % off, in  within 1 and 2 sigma")
    for name in chosen.changes or CHANGES:
        total = Score()
        for case in cases:
            total += read_changed(case, CHANGES[name], mode)
        errors, sigmas = np.array(total.errors), np.array(total.sigmas)
        within = [float((errors < k * sigmas).mean()) if len(errors) else float("nan") for k in (1, 2)]
        off = float(np.percentile(errors, 95)) if len(errors) else float("nan")
        print(
            f"{name:22s} {total.no_edit:3d} of {total.walls:3d}  {total.refused:9d}  {total.sure_right:14d} "
            f"{total.sure:4d}  {off:12.2f}  {within[0]:13.2f} {within[1]:6.2f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
