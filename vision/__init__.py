"""From a photo of a framed wall to its members in wall inches. Knows nothing of boards."""

from vision.checks import best_next_reading
from vision.doubt import DOUBT_WORDS
from vision.measure_member import measure_member
from vision.photo import Photo, PhotoError, load_photo
from vision.read_wall import ReadingError, read_wall
from vision.reading import Member, Opening, Reading, Reference, TapeCheck, Wall, Warning
from vision.wall_plane import WallPlane

__all__ = [
    "DOUBT_WORDS",
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
    "best_next_reading",
    "load_photo",
    "measure_member",
    "read_wall",
]
