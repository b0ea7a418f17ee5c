"""The same photo and marks, or the same job, give the same bytes: in another process too."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import cv2
import numpy as np
import walls
from PIL import Image

from layout import Job, write_job
from ui.bridge import surface_from_reading
from vision.reading import Opening

ROOT = Path(__file__).parents[2]


def printed(arguments: list[str], hash_seed: int, threads: int = 2) -> tuple[int, bytes]:
    """What the command prints in a process of its own, with its own order of sets and dicts' hashes and
    that many threads for the linear algebra and the network."""
    done = subprocess.run(
        [sys.executable, "-m", "ui.command_line", *arguments],
        cwd=ROOT,
        env={
            **os.environ,
            "PYTHONHASHSEED": str(hash_seed),
            "OMP_NUM_THREADS": str(threads),
            "OPENBLAS_NUM_THREADS": str(threads),
            "OPENCV_FOR_THREADS_NUM": str(threads),
        },
        stdout=subprocess.PIPE,
        check=False,
    )
    return done.returncode, done.stdout


def plain_wall(file: Path) -> None:
    """Pale bars on dark ground with grain: no photo, but enough for the reader to run all through."""
    grain = np.random.default_rng(3)
    picture = np.full((1200, 1600, 3), 60, np.uint8)
    cv2.rectangle(picture, (150, 150), (1450, 172), (190, 160, 120), -1)
    cv2.rectangle(picture, (150, 1028), (1450, 1050), (190, 160, 120), -1)
    for x in range(150, 1451, 160):
        cv2.rectangle(picture, (x, 150), (x + 15, 1050), (200, 170, 130), -1)
    noisy = picture.astype(int) + grain.normal(0, 6, picture.shape).astype(int)
    Image.fromarray(np.clip(noisy, 0, 255).astype(np.uint8)).save(file, quality=92)


def test_the_same_photo_and_marks_give_the_same_reading_to_the_last_digit(tmp_path: Path) -> None:
    file = tmp_path / "wall.jpg"
    plain_wall(file)
    arguments = ["studs", str(file), "--tape", "96in", "--from", "158,600", "--to", "1118,600", "--json", "-"]
    arguments += ["--corners", "150,150", "1450,150", "1450,1050", "150,1050"]
    first, second = printed(arguments, 1), printed(arguments, 2, threads=1)
    assert first == second
    assert len(json.loads(first[1])["studs"]) >= 2, "the reader ran all through"


def test_the_same_job_gives_the_same_plan_to_the_last_digit(tmp_path: Path) -> None:
    centres = (0.75, *(n * 16.0 + 0.25 for n in range(1, 12)), 193.25)
    door = Opening("door", 60.0, 98.0, 0.0, 82.5, sure=True)
    surfaces = tuple(
        surface_from_reading(walls.reading(centres, openings=openings), name, board_width_in=width)
        for name, openings, width in (("A", (), 48.0), ("B", (door,), 54.0))
    )
    job = tmp_path / "job.json"
    job.write_text(json.dumps(write_job(Job(surfaces))))
    first, second = (
        printed(["boards", str(job), "--json", "-"], 1),
        printed(["boards", str(job), "--json", "-"], 2, threads=1),
    )
    assert first == second
    assert first[0] == 0
