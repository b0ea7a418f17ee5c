"""What a photo of a framed wall says: frozen result types, in wall inches with their doubt.

Three frames of coordinates are used in this package, and every name says which:

``*_px``
    The photo turned upright by its EXIF orientation, full size. (0, 0) is the centre of the
    top-left pixel, x to the right, y down. Points are (x, y), never (row, column).
``*_rect`` (inside the package only)
    The plane of the front faces seen straight on, in units of the camera's distance to the wall.
``*_in``
    Wall inches: x along the wall from its left end (outer face of the end member), y up from the
    underside of the bottom plate.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot
from typing import Literal

from vision.wall_plane import WallPlane

PointPx = tuple[float, float]
ReferenceKind = Literal["tape", "on_centre"]


@dataclass(frozen=True)
class Warning:
    """One doubt about a reading: a stable code, what is wrong, what to do about it."""

    code: str
    message: str
    advice: str


@dataclass(frozen=True)
class Reference:
    """The one known length that gives the photo its scale.

    Attributes
    ----------
    kind : "tape" or "on_centre"
        A length between two marks on the photo, or the spacing of the studs.
    length_in : float
        Inches between the marks, or on centre.
    from_px, to_px : (x, y) or None
        The two marks, photo pixels; None for "on_centre".
    assumed : bool
        True when nobody stated it and the program took it from the photo.
    stands_proud_in : float
        How far the marks stand in front of the front faces (a tape hanging half an inch in
        front: 0.5). 0 when the marks are on the faces.
    sigma_in : float
        One standard deviation of the stated length itself.
    mark_sigma_px : float or None
        One standard deviation of where either mark is, photo pixels, where whoever set them knows it (a
        finger on a small screen: several). None: they are taken to be set with care.
    """

    kind: ReferenceKind
    length_in: float
    from_px: PointPx | None = None
    to_px: PointPx | None = None
    assumed: bool = False
    stands_proud_in: float = 0.0
    sigma_in: float = 1 / 16
    mark_sigma_px: float | None = None

    @staticmethod
    def tape(
        length_in: float,
        from_px: PointPx,
        to_px: PointPx,
        *,
        stands_proud_in: float = 0.0,
        mark_sigma_px: float | None = None,
    ) -> Reference:
        """A length of `length_in` inches between two marks, in any direction on the front faces."""
        return Reference(
            "tape",
            length_in,
            from_px,
            to_px,
            stands_proud_in=stands_proud_in,
            mark_sigma_px=mark_sigma_px,
        )

    def mark_share(self) -> float:
        """One standard deviation of the marks' distance, of it, where their doubt is known; else 0."""
        if self.mark_sigma_px is None or self.from_px is None or self.to_px is None:
            return 0.0
        return (
            2**0.5
            * self.mark_sigma_px
            / hypot(self.to_px[0] - self.from_px[0], self.to_px[1] - self.from_px[1])
        )

    @staticmethod
    def on_centre(spacing_in: float, *, assumed: bool = False) -> Reference:
        """The studs stand `spacing_in` inches on centre."""
        return Reference("on_centre", spacing_in, assumed=assumed)


@dataclass(frozen=True)
class TapeCheck:
    """One extra tape reading: from the wall's left end to the middle of the member near `near_in`."""

    near_in: float
    length_in: float
    sigma_in: float = 1 / 16


@dataclass(frozen=True)
class Member:
    """One vertical framing member, as seen from the room.

    Attributes
    ----------
    centre_in : float
        Middle of the front face at mid-height, inches from the wall's left end.
    sigma_in : float
        One standard deviation of the true error of `centre_in`, reference included.
    face_in : float
        Width of the front face; the whole group's width when `plies` is more than 1.
    lean_in : float
        How far the top stands to the right of the bottom, inches.
    plies : int
        Members standing side by side and touching, counted as one.
    kind : "full" or "partial"
        From plate to plate, or only part of the height (cripple, trimmer under a header).
    sure : bool
        False: the user must look; `doubts` says why.
    front_px : ((x, y), (x, y))
        Centre line of the FRONT face in the photo, bottom end then top end.
    bottom_in, top_in : float
        Height of the two ends above the underside of the bottom plate.
    doubts : tuple of str
        Reason codes, empty when sure.
    bow_in : float
        How far its middle lies to the right of the straight line between its ends, inches; 0 where that
        could not be measured. A bend towards the room is no part of it: one photo hardly shows it.
    lean_known : bool
        Whether `lean_in` is measured well enough to speak of it.
    """

    centre_in: float
    sigma_in: float
    face_in: float
    lean_in: float
    plies: int
    kind: Literal["full", "partial"]
    sure: bool
    front_px: tuple[PointPx, PointPx]
    bottom_in: float
    top_in: float
    doubts: tuple[str, ...] = ()
    bow_in: float = 0.0
    lean_known: bool = False

    def doubted(self, code: str) -> Member:
        """The same, not sure for one reason more."""
        return replace(self, sure=False, doubts=tuple(dict.fromkeys((*self.doubts, code))))

    def without(self, code: str) -> Member:
        """The same without one doubt; sure where that was the last."""
        doubts = tuple(d for d in self.doubts if d != code)
        return replace(self, sure=not doubts if self.doubts else self.sure, doubts=doubts)


@dataclass(frozen=True)
class Opening:
    """A door or window proposed from its framing, or an electrical box; `sure` stays False until the user
    accepts it."""

    kind: Literal["door", "window", "box"]
    left_in: float
    right_in: float
    bottom_in: float
    top_in: float
    sure: bool = False


@dataclass(frozen=True)
class Wall:
    """The wall's outline: end to end, underside of the bottom plate to top of the top plate.

    `corners_px` run top left, top right, bottom right, bottom left; `cut_left` and `cut_right` say where
    the photo's border ends it, so that its length counts from (to) the outermost member seen.
    """

    length_in: float
    length_sigma_in: float
    height_in: float
    height_sigma_in: float
    corners_px: tuple[PointPx, PointPx, PointPx, PointPx]
    cut_left: bool = False
    cut_right: bool = False


@dataclass(frozen=True)
class Reading:
    """Everything read off one photo. `refused` means: do not build on it, see `warnings`.

    `openings` are doors and windows, `boxes` what a board is cut out for on its face.
    """

    width_px: int
    height_px: int
    reference: Reference
    wall: Wall | None
    plane: WallPlane | None
    members: tuple[Member, ...]
    openings: tuple[Opening, ...]
    warnings: tuple[Warning, ...]
    refused: bool = False
    boxes: tuple[Opening, ...] = ()

    def says(self, code: str) -> bool:
        """Whether one of its warnings has this code."""
        return any(w.code == code for w in self.warnings)

    @property
    def refused_for(self) -> str:
        """Code of what made it refuse, which is said last; empty where it is not refused."""
        return self.warnings[-1].code if self.refused and self.warnings else ""

    @property
    def scale_guessed(self) -> bool:
        """Whether no length was given and no tape reading has settled the spacing taken from the photo."""
        return self.reference.assumed and (self.refused or self.says("assumed_spacing"))
