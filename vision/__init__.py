"""From a photo of a framed wall to its members in wall inches. Knows nothing of boards."""

from vision.asked import ReadingError
from vision.checks import LENGTH_DOUBT_WORDS, best_next_reading
from vision.doubt import DOUBT_WORDS as _PHOTO_DOUBT_WORDS
from vision.joining import JOINED_DOUBT_WORDS, Joined, as_reading, join_readings
from vision.measure_member import measure_member
from vision.pairing import JoiningError
from vision.photo import Photo, PhotoError, load_photo
from vision.read_wall import read_wall
from vision.reading import Member, Opening, Reading, Reference, TapeCheck, Wall, Warning
from vision.scale import ASSUMED_SPACINGS_IN
from vision.wall_plane import WallPlane

DOUBT_WORDS = {**_PHOTO_DOUBT_WORDS, **LENGTH_DOUBT_WORDS, **JOINED_DOUBT_WORDS}
"""Why a member is doubtful, by the codes in `Member.doubts`."""

__all__ = [
    "ASSUMED_SPACINGS_IN",
    "DOUBT_WORDS",
    "Joined",
    "JoiningError",
    "Member",
    "Opening",
    "Photo",
    "PhotoError",
    "Reading",
    "ReadingError",
    "Reference",
    "TapeCheck",
    "Wall",
    "WallPlane",
    "Warning",
    "as_reading",
    "best_next_reading",
    "join_readings",
    "load_photo",
    "measure_member",
    "read_wall",
]
