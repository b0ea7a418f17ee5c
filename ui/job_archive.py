"""One job as one file: a zip that holds ``job.json`` and the photos, to keep or to carry elsewhere.

The form, version 2 (version 1 has no "more", and is still read and, for jobs without, written)::

    job.json              {"form": "seamwright job", "version": 1, "name": "Basement",
                           "settings": {…}, "surfaces": [
                             {"name": "North wall", "photo": SHA-256 of the file or null,
                              "corrections": see `ui.corrections_json`,
                              "settings": {…},
                              "more": further photos of the wall, [{"photo": …, "corrections": …,
                              "settings": see `ui.wall_photos.check_photo_settings`}, …]; may be missing},
                             …],
                           "site": what is kept of the work on site, see `ui.site_archive`; may be missing}
    photos/<SHA-256>.jpg  one file for each photo named above

A file from elsewhere is not trusted: it is taken whole, or refused whole with the reason.
"""

from __future__ import annotations

import hashlib
import io
import json
import re
import struct
import zipfile
import zlib
from typing import Any, BinaryIO, NoReturn

from layout import JobError
from ui.corrections import MOST_MARKS, Corrections
from ui.corrections_json import corrections_from_json, corrections_to_json
from ui.settings_check import check_job_settings, check_surface_settings
from ui.site_archive import SiteArchiveError, read_site, site_to_json, write_site
from ui.store import MOST_PHOTOS, MOST_SURFACES, Store, Surface
from ui.wall_photos import check_photo_settings, renamed
from vision.photo import LARGEST_FILE_BYTES, PhotoError
from vision.photo_privacy import without_position

FORM, VERSION, OLD_VERSION = "seamwright job", 2, 1
LARGEST_JSON_BYTES = 30_000_000
LARGEST_TOTAL_BYTES = 2_000_000_000
_PHOTO_NAME = re.compile(r"photos/([0-9a-f]{64})\.jpg")
PackedSurface = tuple[
    str, str | None, Corrections, dict[str, Any], list[tuple[str, Corrections, dict[str, Any]]]
]
"""Name, photo, marks, settings of a surface; photo, marks, settings of each further photo of it."""
# What zipfile raises on damaged and on encrypted files.
_ZIP_FAULTS = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    NotImplementedError,
    RuntimeError,
    OSError,
    ValueError,
    IndexError,
    OverflowError,
)
# Fixed, so that packing the same job twice gives the same bytes (zip knows no earlier date).
_DATE = (1980, 1, 1, 0, 0, 0)


class ArchiveError(ValueError):
    """The file is no job of ours; the text says why and what to do."""


def pack_job(store: Store, job_id: str) -> bytes:
    """The job with all its photos as the bytes of a zip file."""
    out = io.BytesIO()
    write_packed(store, job_id, out)
    return out.getvalue()


def write_packed(store: Store, job_id: str, out: BinaryIO) -> None:
    """Write the job with all its photos to a stream as a zip file, one photo in memory at a time."""
    job = store.job(job_id)
    document = {
        "form": FORM,
        # An older release would take a wall without its further photos, and board too little.
        "version": VERSION if any(surface.more for surface in job.surfaces) else OLD_VERSION,
        "name": job.name,
        "settings": job.settings,
        "surfaces": [_packed(surface) for surface in job.surfaces],
    }
    site = site_to_json(store, job_id)
    if site:
        document["site"] = site
    with zipfile.ZipFile(out, "w") as archive:
        text = json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1)
        archive.writestr(zipfile.ZipInfo("job.json", _DATE), text, zipfile.ZIP_DEFLATED)
        photos = {each.photo_sha256 for s in job.surfaces for each in (s, *s.more) if each.photo_sha256}
        for sha256 in sorted(photos):
            archive.writestr(zipfile.ZipInfo(f"photos/{sha256}.jpg", _DATE), store.photo(sha256))


def _packed(surface: Surface) -> dict[str, Any]:
    packed: dict[str, Any] = {"name": surface.name, **_packed_photo(surface)}
    if surface.more:
        packed["more"] = [_packed_photo(part) for part in surface.more]
    return packed


def _packed_photo(surface: Surface) -> dict[str, Any]:
    return {
        "photo": surface.photo_sha256,
        "corrections": corrections_to_json(surface.corrections),
        "settings": surface.settings,
    }


def unpack_job(store: Store, packed: bytes | BinaryIO) -> str:
    """Add the job of a zip file (its bytes, or a stream that can seek) to the store as a new job.

    Returns the new job's id.

    Photos are checked and stripped of positions again, whatever the file claims.

    Raises
    ------
    ArchiveError
        Not such a file, damaged, too large, or hostile. Nothing is added then.
    StoreError
        The store could not keep it. Nothing is added then either.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(packed) if isinstance(packed, bytes) else packed) as archive:
            members = _members(archive)
            document, surfaces, site = read_document(_read(archive, members["job.json"], LARGEST_JSON_BYTES))
            with store.adding_job(document["name"], document["settings"]) as adding:
                kept: dict[str, str] = {}
                for name, photo, corrections, settings, more in surfaces:
                    for each in (photo, *(part[0] for part in more)):
                        if each is not None and each not in kept:
                            kept[each] = adding.photo(_photo(archive, members, each))
                    parts = tuple((kept[p], marks, renamed(own, kept)) for p, marks, own in more)
                    adding.surface(name, None if photo is None else kept[photo], corrections, settings, parts)
                write_site(adding.db, adding.job_id, site)
                return adding.job_id
    except ArchiveError:
        raise
    except _ZIP_FAULTS as fault:
        raise ArchiveError(
            "The file is not a packed job, or it is damaged: pack the job again and choose that file."
        ) from fault


def read_document(text: bytes) -> tuple[dict[str, Any], list[PackedSurface], dict[str, Any]]:
    """What ``job.json`` says, every value looked at: the document, its surfaces, the work on site.

    Raises
    ------
    ArchiveError
        It is not such a document, or anything in it is not as it should be.
    """
    document = _document(text)
    surfaces = [_surface(number, item) for number, item in enumerate(document["surfaces"], start=1)]
    return document, surfaces, _site(document.get("site"))


def _members(archive: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    """The files of the archive by name; names, sizes and number are checked before anything is read."""
    members: dict[str, zipfile.ZipInfo] = {}
    infos = archive.infolist()
    if len(infos) > MOST_SURFACES + 1:
        _refuse(f"it holds {len(infos)} files, at most {MOST_SURFACES + 1} can be")
    for info in infos:
        if info.filename != "job.json" and not _PHOTO_NAME.fullmatch(info.filename):
            _refuse(f"it holds a file that belongs to no job ({info.filename[:60]!r})")
        if info.filename in members:
            _refuse("it holds the same file twice")
        members[info.filename] = info
    if sum(info.file_size for info in infos) > LARGEST_TOTAL_BYTES:
        _refuse(f"it would unpack to more than {LARGEST_TOTAL_BYTES // 1_000_000} MB")
    if "job.json" not in members:
        _refuse("job.json is missing in it")
    return members


def _read(archive: zipfile.ZipFile, info: zipfile.ZipInfo, most: int) -> bytes:
    # The stated size may lie: what is read is bounded by itself.
    with archive.open(info) as stream:
        content = stream.read(most + 1)
    if len(content) > most:
        _refuse(f"{info.filename[:20]} in it is larger than {most // 1_000_000} MB")
    return content


def _document(text: bytes) -> dict[str, Any]:
    try:
        document = json.loads(text.decode("utf-8"), parse_constant=_no_constant)
    except ArchiveError:
        raise
    except (ValueError, RecursionError):  # also a number of thousands of digits
        _refuse("job.json in it is not JSON")
    if not isinstance(document, dict) or document.get("form") != FORM:
        _refuse("job.json in it describes no job")
    if document.get("version") not in (OLD_VERSION, VERSION) or isinstance(document["version"], bool):
        raise ArchiveError(
            f"The job was packed by another version (form {str(document.get('version'))[:20]}): "
            "update the program on this machine and try again."
        )
    if not isinstance(document.get("name"), str) or not isinstance(document.get("settings"), dict):
        _refuse("the job's name or settings are missing")
    try:
        check_job_settings(document["settings"])
    except JobError as fault:
        _refuse(f"its settings are not as they should be ({_short(fault.field)})")
    surfaces = document.get("surfaces")
    if not isinstance(surfaces, list) or len(surfaces) > MOST_SURFACES:
        _refuse(f"the list of surfaces is missing or longer than {MOST_SURFACES}")
    return document


def _surface(number: int, item: Any) -> PackedSurface:
    where = f"surface {number}"
    if not isinstance(item, dict) or not isinstance(item.get("name"), str):
        _refuse(f"{where} has no name")
    if not isinstance(item.get("settings"), dict) or not isinstance(item.get("corrections"), dict):
        _refuse(f"the settings or marks of {where} are missing")
    try:
        check_surface_settings(item["settings"])
    except JobError as fault:
        _refuse(f"the settings of {where} are not as they should be ({_short(fault.field)})")
    photo = item.get("photo")
    if photo is not None and not _digest(photo):
        _refuse(f"the photo of {where} is named wrongly")
    more = item.get("more", [])
    if not isinstance(more, list) or len(more) >= MOST_PHOTOS or (more and photo is None):
        _refuse(f"the photos of {where} are not as they should be")
    return item["name"], photo, _marks(where, item), item["settings"], [_part(where, part) for part in more]


def _part(where: str, item: Any) -> tuple[str, Corrections, dict[str, Any]]:
    """A further photo of a wall."""
    if not isinstance(item, dict) or not _digest(item.get("photo")):
        _refuse(f"the photo of {where} is named wrongly")
    if not isinstance(item.get("settings"), dict) or not isinstance(item.get("corrections"), dict):
        _refuse(f"the settings or marks of {where} are missing")
    try:
        check_photo_settings(item["settings"])
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError):
        _refuse(f"the photos of {where} are not as they should be")
    return item["photo"], _marks(where, item), item["settings"]


def _digest(value: Any) -> bool:
    return isinstance(value, str) and bool(re.fullmatch(r"[0-9a-f]{64}", value))


def _marks(where: str, item: dict[str, Any]) -> Corrections:
    for marks in item["corrections"].values():
        if isinstance(marks, list) and len(marks) > MOST_MARKS:
            _refuse(f"{where} has {len(marks)} marks of one kind, at most {MOST_MARKS} can be")
    try:
        return corrections_from_json(item["corrections"])
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError):
        _refuse(f"the marks of {where} are not as they should be")


def _site(data: Any) -> dict[str, Any]:
    if data is None:
        return {}
    try:
        return read_site(data)
    except SiteArchiveError as fault:
        _refuse(str(fault))


def _photo(archive: zipfile.ZipFile, members: dict[str, zipfile.ZipInfo], sha256: str) -> bytes:
    info = members.get(f"photos/{sha256}.jpg")
    if info is None:
        _refuse("a photo is missing in it")
    content = _read(archive, info, LARGEST_FILE_BYTES)
    if hashlib.sha256(content).hexdigest() != sha256:
        _refuse("a photo in it was changed or damaged")
    try:
        return without_position(content, kept=True)
    except PhotoError as fault:
        raise ArchiveError(f"A photo in the packed job cannot be used. {fault}") from fault


def _short(field: str) -> str:
    return " ".join(field.split())[:60]


def _no_constant(name: str) -> NoReturn:
    _refuse(f"{name} in it is not a number")


def _refuse(reason: str) -> NoReturn:
    raise ArchiveError(
        f"This is not a packed job that can be taken: {reason}. Pack the job again and choose that file."
    )
