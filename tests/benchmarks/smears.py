"""How surely a phone that moved is told: ``python -m tests.benchmarks.smears --set DIR [--every N]``.

Smears every photo of the folders by 5 to 40 px of its 1600 px copy, level, aslant and plumb, in linear light;
as it is, and with a dark phone's noise, sharpening and JPEG laid over; and softens it evenly as a lens out of
focus does. Prints the share of each that `find_smear` calls moved.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from vision import load_photo
from vision.smear import find_smear

LENGTHS_PX, ANGLES_DEG, SOFT_SIGMAS_PX = (5, 10, 15, 25, 40), (0, 45, 90), (1.5, 3.0, 6.0)
KINDS = (".jpg", ".jpeg", ".webp", ".png")


def line_kernel(length_px: float, angle_deg: float) -> NDArray[np.float32]:
    """A straight line of this length as a kernel that averages along it, bilinear between pixels."""
    side = 2 * int(np.ceil(length_px / 2)) + 3
    out = np.zeros((side, side), np.float32)
    along = np.linspace(-0.5, 0.5, 8 * side) * length_px
    x = side // 2 + along * np.cos(np.radians(angle_deg))
    y = side // 2 + along * np.sin(np.radians(angle_deg))
    j, i = np.floor(x).astype(int), np.floor(y).astype(int)
    for right in (0, 1):
        for down in (0, 1):
            part = np.abs(1 - right - (x - j)) * np.abs(1 - down - (y - i))
            np.add.at(out, (i + down, j + right), part)
    return out / out.sum()


def smeared(grey: NDArray[np.uint8], length_px: float, angle_deg: float) -> NDArray[np.uint8]:
    """The picture as a phone moving evenly along a line would have taken it."""
    light = ((grey / 255.0) ** 2.2).astype(np.float32)
    moved = cv2.filter2D(light, -1, line_kernel(length_px, angle_deg), borderType=cv2.BORDER_REFLECT)
    return np.rint(np.clip(moved, 0, 1) ** (1 / 2.2) * 255).astype(np.uint8)


def in_the_dark(grey: NDArray[np.uint8], rng: np.random.Generator) -> NDArray[np.uint8]:
    """With a dark phone's noise, sharpening and JPEG."""
    noise = rng.normal(0, 2.0, grey.shape).astype(np.float32)
    taken = grey + 0.6 * noise + cv2.GaussianBlur(noise, (0, 0), 0.8)
    taken += 0.5 * (taken - cv2.GaussianBlur(taken, (0, 0), 1.2))
    coded = cv2.imencode(".jpg", np.clip(taken, 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, 85])[1]
    return np.asarray(cv2.imdecode(coded, cv2.IMREAD_GRAYSCALE), np.uint8)


def variants(grey: NDArray[np.uint8]) -> Iterator[tuple[str, NDArray[np.uint8]]]:
    """The picture as it is, smeared and softened, each with its name."""
    k = max(grey.shape) / 1600
    yield "as it is", grey
    for length_px in LENGTHS_PX:
        for angle_deg in ANGLES_DEG:
            yield f"smeared {length_px:2d} px at {angle_deg:2d} deg", smeared(grey, length_px * k, angle_deg)
    for sigma_px in SOFT_SIGMAS_PX:
        soft = cv2.GaussianBlur(grey, (0, 0), sigma_px * k)
        yield f"softened by {sigma_px:g} px", np.asarray(soft, np.uint8)


def main(arguments: list[str] | None = None) -> int:
    """Command line; returns the exit status."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.smears", description=__doc__)
    parser.add_argument(
        "--set", type=Path, action="append", required=True, help="folder of photos; repeat it"
    )
    parser.add_argument("--first", type=int, default=0, help="number of the first photo of each folder")
    parser.add_argument("--every", type=int, default=1, help="every n-th photo only")
    chosen = parser.parse_args(arguments)
    told: dict[str, list[tuple[bool, bool]]] = defaultdict(list)
    alarms = []
    for folder in chosen.set:
        paths = sorted(p for p in folder.iterdir() if p.suffix.lower() in KINDS)
        for number, path in enumerate(paths[chosen.first :: chosen.every]):
            rng = np.random.default_rng(number)
            photo = load_photo(path.read_bytes())
            grey = np.asarray(cv2.cvtColor(photo.working_rgb, cv2.COLOR_RGB2GRAY), np.uint8)
            for name, picture in variants(grey):
                found = [find_smear(p) is not None for p in (picture, in_the_dark(picture, rng))]
                told[name].append((found[0], found[1]))
                if name == "as it is" and any(found):
                    alarms.append(path.name)
    print(f"{'called moved, share of the photos':34s}   plain  in the dark")
    for name, found_all in told.items():
        plain, dark = np.mean(found_all, axis=0)
        print(f"{name:34s}   {plain:5.2f}  {dark:5.2f}   of {len(found_all)}")
    print("called moved as they are:", ", ".join(alarms) or "none")
    return 0


if __name__ == "__main__":
    sys.exit(main())
