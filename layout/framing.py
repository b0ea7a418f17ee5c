"""Framing: the members, openings and boxes of one surface, checked at the door.

Coordinates, in inches.  A wall is looked at from the room: x runs from its left end, y
up from the underside of the bottom plate.  A ceiling or a soffit is drawn as a plan: x
along `width_in`, y along `height_in`, from its lower left corner.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from layout.checks import JobError, finite, one_of, ordered, text, truth, whole
from layout.lengths import round_to
from layout.stock import THICKEST_IN, THINNEST_IN

__all__ = [
    "Box",
    "JobError",
    "Member",
    "Opening",
    "Pin",
    "Surface",
    "Wishes",
]

MAX_SPAN_IN = 12 * 400.0
"""Longest side of a surface: 400 ft.  Longer is a slip of the finger or a hostile file."""
MIN_SPAN_IN = 1.0
MAX_MEMBERS = 1000
MAX_OPENINGS = 200
MAX_BOXES = 500

SURFACE_KINDS = ("wall", "ceiling", "soffit")
# Ceilings hang before walls (NAVEDTRA 14044 p. 164), so a wall's boards start below a ceiling board; 1/2 in
# is the commonest thickness (US Navy Engineering Aid Basic).
USUAL_CEILING_BOARD_IN = 0.5
MEMBERS_RUN = ("up", "along")
MATERIALS = ("timber", "steel")
BOARDS_RUN = ("auto", "across", "parallel")


@dataclass(frozen=True, slots=True)
class Member:
    """One framing member that can take board ends: stud, joist, strap, cripple.

    Attributes
    ----------
    id : str
        Name within its surface, such as ``"5"``.
    centre_in : float
        Centre of the front face: along x when the surface's members run "up", along y
        when they run "along".
    sigma_in : float
        One standard deviation of the error of `centre_in`.
    face_in : float
        Whole width of the front face that takes the board (all plies together).
    plies : int
        How many pieces of lumber stand side by side.
    kind : {"full", "partial"}
        "partial" members (cripples, jacks) reach only from `bottom_in` to `top_in`.
    sure : bool
        False when the user must look before a seam is put there.
    bottom_in, top_in : float or None
        Reach of a partial member along its own direction; None means to the edge.
    material : {"timber", "steel"}
        What it is made of: a board's end bears on the flange of a steel stud with less
        (`Rules.steel_bearing_in`).
    """

    id: str
    centre_in: float
    sigma_in: float = 0.0
    face_in: float = 1.5
    plies: int = 1
    kind: str = "full"
    sure: bool = True
    bottom_in: float | None = None
    top_in: float | None = None
    material: str = "timber"

    def __post_init__(self) -> None:
        text("id", self.id)
        finite("centre_in", self.centre_in, -MAX_SPAN_IN, MAX_SPAN_IN)
        finite("sigma_in", self.sigma_in, 0.0, 120.0)
        finite("face_in", self.face_in, 0.25, 48.0)
        whole("plies", self.plies, 1, 12)
        one_of("kind", self.kind, ("full", "partial"))
        one_of("material", self.material, MATERIALS)
        truth("sure", self.sure)
        for name in ("bottom_in", "top_in"):
            value = getattr(self, name)
            if value is not None:
                finite(name, value, -MAX_SPAN_IN, MAX_SPAN_IN)
        if self.bottom_in is not None and self.top_in is not None:
            ordered("top_in", self.bottom_in, self.top_in)


@dataclass(frozen=True, slots=True)
class Opening:
    """A door, window or other hole that gets no board (its rough opening)."""

    id: str
    left_in: float
    right_in: float
    bottom_in: float
    top_in: float
    kind: str = "window"
    sure: bool = True

    def __post_init__(self) -> None:
        text("id", self.id)
        _rectangle(self)
        one_of("kind", self.kind, ("door", "window", "other"))
        truth("sure", self.sure)


@dataclass(frozen=True, slots=True)
class Box:
    """An electrical box or pipe that needs a cut-out: a rectangle, or a circle in it."""

    id: str
    left_in: float
    right_in: float
    bottom_in: float
    top_in: float
    kind: str = "outlet"
    shape: str = "rectangle"

    def __post_init__(self) -> None:
        text("id", self.id)
        _rectangle(self)
        one_of("kind", self.kind, ("outlet", "switch", "light", "pipe", "other"))
        one_of("shape", self.shape, ("rectangle", "round"))


@dataclass(frozen=True, slots=True)
class Pin:
    """A seam that the user wants in one row, at one member.  Rows count from 0, hanging order."""

    row: int
    member_id: str

    def __post_init__(self) -> None:
        whole("row", self.row, 0, 500)
        text("member_id", self.member_id)


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the user asks of one surface; the plan respects it or says which wish cannot be.

    Attributes
    ----------
    pins : tuple of Pin
        Seams that must be there.
    forbidden_members : tuple of str
        Members that must not carry a seam.
    row_lengths : tuple of (int, float)
        Row number and the board length in inches that every piece of it is cut from.
    max_length_in : float or None
        Longest board that can be carried to this surface.
    """

    pins: tuple[Pin, ...] = ()
    forbidden_members: tuple[str, ...] = ()
    row_lengths: tuple[tuple[int, float], ...] = ()
    max_length_in: float | None = None

    def __post_init__(self) -> None:
        for number, pair in enumerate(self.row_lengths):
            whole(f"row_lengths[{number}].row", pair[0], 0, 500)
            finite(f"row_lengths[{number}].length_in", pair[1], 1.0, MAX_SPAN_IN)
        if self.max_length_in is not None:
            finite("max_length_in", self.max_length_in, 1.0, MAX_SPAN_IN)
        for member_id in self.forbidden_members:
            text("forbidden_members", member_id)


@dataclass(frozen=True, slots=True)
class Surface:
    """One wall, ceiling or soffit to be boarded.

    Attributes
    ----------
    id : str
        Name within the job, such as ``"A"``.
    width_in, height_in : float
        Size of the framing: for a wall its length and its height, plates included.
    members : tuple of Member
        In any order; sorted by centre on creation.
    kind : {"wall", "ceiling", "soffit"}
    members_run : {"up", "along"}
        Direction of the members: "up" = along y (every wall), "along" = along x.
    boards_run : {"auto", "across", "parallel"}
        Long edges across the members (rows, the usual way) or parallel to them (upright
        boards on a wall).  "auto" is across, and parallel only where across breaks a rule.
    rows_from : {"auto", "top", "bottom"}
        Side where the first, full-width row goes: for walls "auto" is the ceiling line,
        for ceilings and soffits the side at y = 0 (x = 0 when rows run along y).
    outline : tuple of (float, float)
        Corners of an L-shaped or other right-angled surface within the rectangle;
        empty for a plain rectangle.
    board_kind, thickness_in : str, float
        Which boards of the stock list may be used.
    board_width_in : float or None
        Board width; None takes the width that is cheapest for this surface by itself.
    ceiling_board_in : float
        Thickness of the ceiling boards that hang before this wall (0 for none).
    floor_gap_in : float or None
        Gap wanted above the floor; None takes the market's.
    covered_left_in, covered_right_in, covered_bottom_in, covered_top_in : float
        Gap at that edge that a neighbour's board, hung later, will cover.
    corner_left, corner_right : str
        Id of the wall that meets this one at an inside corner there, if any.  Walls hang in
        the order of the job: the board of the one hung later covers a gap of its thickness,
        and starts at the face of the board hung first (`layout.corners`).
    taken_left_in, taken_right_in : float
        Stretch at that end where a board hung before already stands.
    cut_off : bool
        The photo that it was read from does not show all of it: what the plan counts may not be all.
    guessed : bool
        Nobody gave the photo that it was read from a length: its size and places are a guess.
    opposite_of : str
        Id of the surface that is the other face of the same partition, if any.
    wishes : Wishes
    """

    id: str
    width_in: float
    height_in: float
    members: tuple[Member, ...]
    kind: str = "wall"
    name: str = ""
    openings: tuple[Opening, ...] = ()
    boxes: tuple[Box, ...] = ()
    members_run: str = "up"
    boards_run: str = "auto"
    rows_from: str = "auto"
    outline: tuple[tuple[float, float], ...] = ()
    board_kind: str = "regular"
    thickness_in: float = 0.5
    board_width_in: float | None = 48.0
    ceiling_board_in: float = 0.0
    floor_gap_in: float | None = None
    covered_left_in: float = 0.0
    covered_right_in: float = 0.0
    covered_bottom_in: float = 0.0
    covered_top_in: float = 0.0
    opposite_of: str = ""
    corner_left: str = ""
    corner_right: str = ""
    taken_left_in: float = 0.0
    taken_right_in: float = 0.0
    cut_off: bool = False
    guessed: bool = False
    wishes: Wishes = field(default_factory=Wishes)

    def __post_init__(self) -> None:
        text("id", self.id)
        text("name", self.name, empty_allowed=True)
        text("board_kind", self.board_kind)
        for name in ("opposite_of", "corner_left", "corner_right"):
            text(name, getattr(self, name), empty_allowed=True)
        one_of("kind", self.kind, SURFACE_KINDS)
        one_of("members_run", self.members_run, MEMBERS_RUN)
        one_of("boards_run", self.boards_run, BOARDS_RUN)
        truth("cut_off", self.cut_off)
        truth("guessed", self.guessed)
        one_of("rows_from", self.rows_from, ("auto", "top", "bottom"))
        finite("width_in", self.width_in, MIN_SPAN_IN, MAX_SPAN_IN)
        finite("height_in", self.height_in, MIN_SPAN_IN, MAX_SPAN_IN)
        finite("thickness_in", self.thickness_in, THINNEST_IN, THICKEST_IN)
        if self.board_width_in is not None:
            finite("board_width_in", self.board_width_in, 6.0, 120.0)
        finite("ceiling_board_in", self.ceiling_board_in, 0.0, 4.0)
        if self.floor_gap_in is not None:
            finite("floor_gap_in", self.floor_gap_in, 0.0, 6.0)
        if self.kind == "wall" and self.height_in - self.ceiling_board_in - (self.floor_gap_in or 0.0) < 0.25:
            raise JobError("height_in", "ceiling board and floor gap leave nothing of the wall to board.")
        for side in ("left", "right", "bottom", "top"):
            finite(f"covered_{side}_in", getattr(self, f"covered_{side}_in"), 0.0, 2.0)
        for side in ("left", "right"):
            finite(f"taken_{side}_in", getattr(self, f"taken_{side}_in"), 0.0, 2.0)
            if self.kind != "wall" and (getattr(self, f"corner_{side}") or getattr(self, f"taken_{side}_in")):
                raise JobError(f"corner_{side}", "is for walls: a ceiling gives covered_left_in and so on.")
        if self.kind == "wall" and self.members_run != "up":
            raise JobError("members_run", "the studs of a wall run up: leave it at up.")
        for name, limit in (
            ("members", MAX_MEMBERS),
            ("openings", MAX_OPENINGS),
            ("boxes", MAX_BOXES),
        ):
            things = tuple(getattr(self, name))
            if len(things) > limit:
                raise JobError(name, f"{len(things)} are too many: at most {limit} to a surface.")
            seen: set[str] = set()
            for number, thing in enumerate(things):
                if thing.id in seen:
                    raise JobError(f"{name}[{number}].id", f"{thing.id!r} is there twice.")
                seen.add(thing.id)
        _check_members(self)
        for name in ("openings", "boxes"):
            for number, thing in enumerate(getattr(self, name)):
                _check_inside(f"{name}[{number}]", thing, self)
        object.__setattr__(self, "members", tuple(sorted(self.members, key=lambda m: (m.centre_in, m.id))))
        object.__setattr__(self, "openings", tuple(self.openings))
        object.__setattr__(self, "boxes", tuple(self.boxes))
        _check_outline(self)
        _check_wishes(self)


def _check_members(surface: Surface) -> None:
    span_in = surface.width_in if surface.members_run == "up" else surface.height_in
    for number, member in enumerate(surface.members):
        if not -0.5 * member.face_in <= member.centre_in <= span_in + 0.5 * member.face_in:
            raise JobError(
                f"members[{number}].centre_in",
                f"{round_to(member.centre_in, 1 / 16)} in lies outside the surface, which is "
                f"{round_to(span_in, 1 / 16)} in long: move the member or the corner.",
            )


def _check_inside(path: str, thing: Opening | Box, surface: Surface) -> None:
    if thing.right_in <= 0 or thing.left_in >= surface.width_in:
        raise JobError(f"{path}.left_in", "it lies wholly beside the surface: move or remove it.")
    if thing.top_in <= 0 or thing.bottom_in >= surface.height_in:
        raise JobError(f"{path}.bottom_in", "it lies wholly above or below the surface: move or remove it.")


def _check_outline(surface: Surface) -> None:
    corners = tuple((float(x), float(y)) for x, y in surface.outline)
    object.__setattr__(surface, "outline", corners)
    if not corners:
        return
    if not 4 <= len(corners) <= 40:
        raise JobError("outline", f"needs 4 to 40 corners, has {len(corners)}.")
    for number, (x_in, y_in) in enumerate(corners):
        finite(f"outline[{number}].x", x_in, 0.0, surface.width_in)
        finite(f"outline[{number}].y", y_in, 0.0, surface.height_in)
        x_next, y_next = corners[(number + 1) % len(corners)]
        if (x_in == x_next) == (y_in == y_next):
            raise JobError(
                f"outline[{number}]",
                "each side must run straight along x or y: give the corners in order.",
            )
    sides = [_box(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]
    for number, one in enumerate(sides):
        for later, other in enumerate(sides[number + 1 :], start=number + 1):
            beside = later - number in (1, len(sides) - 1)
            if not beside and all(one[n] <= other[n + 2] and other[n] <= one[n + 2] for n in (0, 1)):
                raise JobError(
                    f"outline[{later}]", "its side meets another one: give the corners in order, once round."
                )


def _box(one: tuple[float, float], two: tuple[float, float]) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of a side."""
    return min(one[0], two[0]), min(one[1], two[1]), max(one[0], two[0]), max(one[1], two[1])


def _check_wishes(surface: Surface) -> None:
    known = {member.id for member in surface.members}
    for number, pin in enumerate(surface.wishes.pins):
        if pin.member_id not in known:
            raise JobError(f"wishes.pins[{number}]", f"there is no member {pin.member_id!r}.")
    for number, member_id in enumerate(surface.wishes.forbidden_members):
        if member_id not in known:
            raise JobError(f"wishes.forbidden_members[{number}]", f"there is no {member_id!r}.")


def _rectangle(thing: Opening | Box) -> None:
    for name in ("left_in", "right_in", "bottom_in", "top_in"):
        finite(name, getattr(thing, name), -MAX_SPAN_IN, MAX_SPAN_IN)
    ordered("right_in", thing.left_in, thing.right_in)
    ordered("top_in", thing.bottom_in, thing.top_in)
