"""The long sample wall (16 ft 2 in) from one place in two photos that share its middle."""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

SAMPLES = Path(__file__).parents[2] / "sample_images" / "photos"
WIDTH_PX, HEIGHT_PX = 1200, 900


def long_wall_photos(folder: Path) -> tuple[str, str, dict]:
    """The left and the right photo as files in `folder`, and the truth of the whole wall."""
    truth = json.loads((SAMPLES / "long_wall.json").read_text())
    rgb = np.array(Image.open(SAMPLES / "long_wall.jpg"))
    names = []
    for name, low, high, roll in (("left", -6.0, 124.0, 0.8), ("right", 72.0, 200.0, -0.6)):
        picture, focal = turned_view(rgb, truth, low, high, roll)
        exif = Image.Exif()
        exif.get_ifd(0x8769)[0xA405] = round(focal * 43.2666 / np.hypot(WIDTH_PX, HEIGHT_PX))
        file = folder / f"{name}.jpg"
        Image.fromarray(picture).save(file, quality=90, exif=exif)
        names.append(str(file))
    return names[0], names[1], truth


def turned_view(rgb: NDArray[np.uint8], truth: dict, low_in: float, high_in: float, roll_deg: float):
    """What the sample's camera sees when it is turned towards a part of the wall; its focal length too.

    A turn about the camera's centre is a homography of the undistorted picture (Hartley & Zisserman
    2004, §8.4.2).
    """
    camera, height_in = truth["camera"], truth["wall"]["height_in"]
    was, eye = np.array(camera["rotation"]), np.array(camera["position_in"])
    ahead = np.array([(low_in + high_in) / 2, height_in / 2, 0.0]) - eye
    ahead /= np.linalg.norm(ahead)
    right = was[0] - ahead * (was[0] @ ahead)
    right /= np.linalg.norm(right)
    a = np.radians(roll_deg)
    down = np.cross(ahead, right)
    now = np.vstack([np.cos(a) * right + np.sin(a) * down, np.cos(a) * down - np.sin(a) * right, ahead])
    corners = np.array([[x, y, 0.0] for x in (low_in, high_in) for y in (-2.0, height_in + 2.0)])
    q = (corners - eye) @ now.T
    reach = np.abs(q[:, :2] / q[:, 2:]).max(0)
    focal = float(min(WIDTH_PX / 2 / reach[0], HEIGHT_PX / 2 / reach[1]))
    x, y = np.meshgrid(np.arange(WIDTH_PX), np.arange(HEIGHT_PX))
    rays = np.stack(
        [(x - (WIDTH_PX - 1) / 2) / focal, (y - (HEIGHT_PX - 1) / 2) / focal, np.ones(x.shape)], -1
    )
    back = rays @ now @ was.T
    n = back[..., :2] / back[..., 2:]
    r2 = (n**2).sum(-1, keepdims=True)
    d = n * (1 + camera["k1"] * r2 + camera["k2"] * r2**2) * camera["f_px"]
    at = (d + np.array([camera["cx_px"], camera["cy_px"]])).astype(np.float32)
    return cv2.remap(rgb, at[..., 0], at[..., 1], cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT), focal
