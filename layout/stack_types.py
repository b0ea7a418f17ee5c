"""What the plan of stacks is made of: lots of boards, walls to put them at, stacks, what is in doubt.

All frozen, in inches and pounds.  A stack stands at the foot of a wall; `left_in` is measured
along that wall from its left end, as seen from the room.
"""

from __future__ import annotations

from dataclasses import dataclass

from layout.checks import finite, one_of, text, whole

__all__ = ["STANDINGS", "Lot", "Moved", "PlaceWall", "Site", "Stack", "StackPlan", "Unplaced"]

STANDINGS = ("flat", "edge")


@dataclass(frozen=True, slots=True)
class Lot:
    """Boards of one size that hang in one room and are carried together.

    Attributes
    ----------
    id : str
        Made of its size, room and turn, so that it stays the same while the plan does.
    surfaces : tuple of str
        The surfaces its boards are cut for, in hanging order.
    ceiling : bool
        True when some of it hangs on a ceiling: those boards are wanted first.
    spare : int
        How many of `count` the plan does not use.
    """

    id: str
    kind: str
    thickness_in: float
    width_in: float
    length_in: float
    count: int
    room: str = ""
    surfaces: tuple[str, ...] = ()
    ceiling: bool = False
    spare: int = 0


@dataclass(frozen=True, slots=True)
class PlaceWall:
    """A wall that boards can be put at.

    Attributes
    ----------
    blocked : tuple of (float, float)
        Stretches from left to right where nothing may stand: doors, ways through, the window
        the boards come in by.
    depth_in : float or None
        Free floor in front of it; None when nobody measured it (then boards stand on edge).
    hung : int
        Place of the wall in the hanging order; boards at a wall hung late are in nobody's way.
    """

    id: str
    length_in: float
    room: str = ""
    blocked: tuple[tuple[float, float], ...] = ()
    depth_in: float | None = None
    hung: int = 0

    def __post_init__(self) -> None:
        text("id", self.id)
        finite("length_in", self.length_in, 1.0, 4800.0)
        if self.depth_in is not None:
            finite("depth_in", self.depth_in, 0.0, 4800.0)


@dataclass(frozen=True, slots=True)
class Site:
    """What decides how boards may be stacked here.

    Attributes
    ----------
    floor : {"slab", "joists"}
        On a slab on the ground the load does not matter, but damp does.
    live_load_psf : float
        What a joisted floor was designed for (`layout.weights.LIVE_LOADS_PSF`).
    standing : {"auto", "flat", "edge"}
        "auto" lays boards flat where the floor leaves room for it.
    most_on_edge, most_flat : int
        Most boards in a stack of either sort.
    walkway_in : float
        What is kept free to walk past a stack.
    """

    floor: str = "slab"
    live_load_psf: float = 40.0
    standing: str = "auto"
    most_on_edge: int = 10
    most_flat: int = 25
    walkway_in: float = 36.0

    def __post_init__(self) -> None:
        one_of("floor", self.floor, ("slab", "joists"))
        one_of("standing", self.standing, ("auto", *STANDINGS))
        finite("live_load_psf", self.live_load_psf, 5.0, 500.0, "")
        finite("walkway_in", self.walkway_in, 0.0, 120.0)
        whole("most_on_edge", self.most_on_edge, 1, 100)
        whole("most_flat", self.most_flat, 1, 200)


@dataclass(frozen=True, slots=True)
class Moved:
    """Where the user wants a lot: at that wall, from `left_in` on, flat or on edge."""

    lot: str
    wall: str
    left_in: float
    standing: str

    def __post_init__(self) -> None:
        text("wall", self.wall)
        finite("left_in", self.left_in, 0.0, 4800.0)
        one_of("standing", self.standing, STANDINGS)


@dataclass(frozen=True, slots=True)
class Stack:
    """Boards in one place; the lot that is taken first lies in front, or on top.

    Attributes
    ----------
    number : int
        What its sign says, from 1 in the order the stacks are used up.
    weight_lb : float
        What the boards weigh.
    floor_psf : float
        Design weight over a strip as wide as a board, next to the wall.
    pull_lb : float
        Pull at the top edge that brings leaning boards to plumb; 0 for a flat stack.
    """

    number: int
    wall: str
    room: str
    left_in: float
    length_in: float
    depth_in: float
    standing: str
    lots: tuple[Lot, ...]
    weight_lb: float
    floor_psf: float
    pull_lb: float = 0.0
    moved: bool = False

    @property
    def count(self) -> int:
        """How many boards it holds."""
        return sum(lot.count for lot in self.lots)

    @property
    def right_in(self) -> float:
        """Where it ends along its wall."""
        return self.left_in + self.length_in


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A lot that found no place: why ("no_wall" long enough, or "no_room" left), and the wall it needs."""

    lot: Lot
    why: str
    needed_in: float


@dataclass(frozen=True, slots=True)
class StackPlan:
    """Where all boards go; `refused` holds the user's moves that could not be kept, with the reason."""

    stacks: tuple[Stack, ...] = ()
    unplaced: tuple[Unplaced, ...] = ()
    refused: tuple[tuple[Moved, str], ...] = ()
    proved: bool = True
