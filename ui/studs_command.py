"""``seamwright studs``: one photo read, or several photos of one long wall read and joined."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import vision
from layout import format_length
from ui.bridge import in_file_px
from ui.command_options import UnusableInput, marks_off_px
from ui.corrections import MOST_PROUD_IN
from ui.material import FACE_IN, STEEL, TIMBER
from ui.studs_report import finite, studs_json, studs_table
from vision import as_reading, join_readings, load_photo
from vision.checks import with_checks
from vision.photo import Photo
from vision.reading import Reading, Reference, TapeCheck

NARROW_IN = (FACE_IN[TIMBER] + FACE_IN[STEEL]) / 2
"""Faces up to here are nearer to steel's than to timber's."""


@dataclass(frozen=True)
class StudsAnswer:
    """What the command found: `document` for ``--json``, `heading`, `reading` and `foot` for people."""

    document: dict[str, Any]
    reading: Reading
    heading: str = ""
    foot: str = ""

    def table(self, style: str) -> str:
        """What a person reads; `style` is one of `layout.lengths.format_length`."""
        return self.heading + studs_table(self.reading, style) + self.foot


def studs(options: argparse.Namespace, read_bytes: Callable[[str], bytes]) -> StudsAnswer:
    """Read the photo or photos that the options name.

    Raises
    ------
    UnusableInput, vision.PhotoError, vision.ReadingError, vision.JoiningError
        One sentence with the remedy.
    """
    photos = [load_photo(read_bytes(file)) for file in options.photos]
    checks = tuple(TapeCheck(near_in=near, length_in=length) for near, length in options.check)
    references = _references(options, photos)
    if len(options.corners) > len(photos):
        raise UnusableInput("--corners may be given once per photo, in the order of the photos.")
    readings = [
        _read(photo, references[k], options, k, checks if len(photos) == 1 else ())
        for k, photo in enumerate(photos)
    ]
    if len(photos) == 1:
        if options.same:
            raise UnusableInput("--same joins two photos of one wall: name both, from left to right.")
        reading = in_file_px(readings[0], photos[0].shrunk_by)
        material = options.material or TIMBER
        return StudsAnswer(
            studs_json(reading, photos[0], material), reading, foot=_as_steel(options, readings)
        )
    return _joined(readings, photos, _same(options.same, len(photos)), checks, options)


def _read(
    photo: Photo,
    references: Sequence[Reference],
    options: argparse.Namespace,
    k: int,
    checks: tuple[TapeCheck, ...],
) -> Reading:
    corners = options.corners[k] if k < len(options.corners) else None
    return vision.read_wall(
        photo,
        reference=references[0] if references else None,
        corners_px=None if corners is None else tuple(_in_photo(c, photo.shrunk_by) for c in corners),
        face_in=FACE_IN[options.material or TIMBER] if options.face is None else options.face,
        checks=checks,
        second=references[1] if len(references) > 1 else None,
    )


def _as_steel(options: argparse.Namespace, readings: Sequence[Reading]) -> str:
    """How to say steel, where the faces are said to be, or look, as narrow as steel's."""
    if options.material is not None:
        return ""
    if options.face is not None and options.face <= NARROW_IN:
        return (
            f"\nNote: Faces {format_length(options.face)} wide are narrower than timber's. If the studs are "
            "steel, add --material steel: boards are then laid out for it."
        )
    if any(reading.says("like_steel") for reading in readings):
        return "\nNote: If the studs are steel, add --material steel: the photo is then read by their faces."
    return ""


def _references(options: argparse.Namespace, photos: Sequence[Photo]) -> list[list[Reference]]:
    """The known lengths of each photo, at most two; the longest between marks comes first."""
    tapes, starts, ends = options.tape, options.mark_from, options.mark_to
    if not len(tapes) == len(starts) == len(ends):
        if not tapes:
            raise UnusableInput("--from and --to mark a length: add --tape LENGTH, or leave them out.")
        raise UnusableInput("--tape needs its two marks: add --from X,Y and --to X,Y in photo pixels.")
    marks_off_px(options, bool(tapes))
    proud = options.marks_in_front or [0.0]
    if len(proud) not in (1, len(tapes)):
        raise UnusableInput("--marks-in-front is given once for all lengths, or once for each --tape.")
    for proud_in in proud:
        if proud_in > MOST_PROUD_IN:
            raise UnusableInput(
                f"--marks-in-front {format_length(proud_in)} is more than {format_length(MOST_PROUD_IN)}: "
                "hold tape or level on the studs' faces, and say how far off its marks stand, such as 1in."
            )
    where = options.in_photo or ([1] * len(tapes) if len(photos) == 1 else [*range(1, len(tapes) + 1)])
    if len(where) != len(tapes) or any(not 1 <= n <= len(photos) for n in where):
        raise UnusableInput(
            "--in-photo says for each --tape which photo its marks lie in: 1 is the leftmost."
        )
    out: list[list[Reference]] = [[] for _ in photos]
    for k, (length, start, end) in enumerate(zip(tapes, starts, ends, strict=True)):
        shrunk_by = photos[where[k] - 1].shrunk_by
        out[where[k] - 1].append(
            Reference.tape(
                length,
                _in_photo(start, shrunk_by),
                _in_photo(end, shrunk_by),
                stands_proud_in=proud[k] if len(proud) > 1 else proud[0],
                mark_sigma_px=marks_off_px(options, True, shrunk_by),
            )
        )
    for found in out:
        found.sort(key=lambda r: -r.length_in)
        if options.on_centre is not None:
            found.append(Reference.on_centre(options.on_centre))
        if len(found) > 2:
            raise UnusableInput("Two known lengths a photo are enough: give the two you know best.")
    return out


def _same(given: Sequence[tuple[int, int, int, int]], count: int) -> list[tuple[int, int] | None]:
    told: list[tuple[int, int] | None] = [None] * (count - 1)
    for left, stud, right, other in given:
        if right != left + 1 or right > count:
            raise UnusableInput(
                f"--same {left}:{stud}={right}:{other} names photos that are no neighbours: write "
                "LEFT:STUD=RIGHT:STUD, such as 1:7=2:2."
            )
        told[left - 1] = (stud - 1, other - 1)
    return told


def _joined(
    readings: list[Reading],
    photos: list[Photo],
    same: list[tuple[int, int] | None],
    checks: tuple[TapeCheck, ...],
    options: argparse.Namespace,
) -> StudsAnswer:
    joined = join_readings(readings, photos, same)
    whole = with_checks(as_reading(joined), checks)

    def big(point: tuple[float, float], k: int) -> tuple[float, float]:
        shrunk_by = photos[k].shrunk_by
        return ((point[0] + 0.5) * shrunk_by - 0.5, (point[1] + 0.5) * shrunk_by - 0.5)

    members = tuple(
        replace(m, front_px=(big(m.front_px[0], k), big(m.front_px[1], k)))
        for m, k in zip(whole.members, joined.photo_of, strict=True)
    )
    if whole.wall is not None:
        # its left corners lie in the first photo, the right ones in the last
        of_photo = (0, -1, -1, 0)
        top_left, top_right, low_right, low_left = map(big, whole.wall.corners_px, of_photo)
        whole = replace(
            whole, wall=replace(whole.wall, corners_px=(top_left, top_right, low_right, low_left))
        )
    whole = replace(whole, members=members)
    document = studs_json(whole, photos[0], options.material or TIMBER)
    document.pop("photo")
    document["photos"] = [
        {
            "width_px": photo.width_px * photo.shrunk_by,
            "height_px": photo.height_px * photo.shrunk_by,
            "offset_in": offset,
            "offset_sigma_in": sigma,
            "studs": len(reading.members),
        }
        for photo, reading, offset, sigma in zip(
            photos, readings, joined.offsets_in, joined.offset_sigmas_in, strict=True
        )
    ]
    document["photo"] = {name: document["photos"][0][name] for name in ("width_px", "height_px")}
    for stud, k, seen in zip(document["studs"], joined.photo_of, joined.seen_in, strict=True):
        stud["photo"], stud["seen_in"] = k + 1, [s + 1 for s in seen]
    shared = sum(len(seen) > 1 for seen in joined.seen_in)
    head = (
        f"{len(photos)} photos of one wall, joined through {shared} studs that more than one of them shows.\n"
    )
    return StudsAnswer(finite(document), whole, head, _as_steel(options, readings))


def _in_photo(point: tuple[float, float], shrunk_by: int) -> tuple[float, float]:
    """A point of the file's pixels in the pixels of the photo as it was decoded."""
    return ((point[0] + 0.5) / shrunk_by - 0.5, (point[1] + 0.5) / shrunk_by - 0.5)
