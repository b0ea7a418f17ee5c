"""One bay of the straightened wall: what runs level across it, and what stands in a part of its height."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from vision.extent import Upright
from vision.members import Stretch
from vision.runs import runs_of
from vision.wall_picture import WallPicture
from vision.what import WhatMaps

# Shares of the pixels' labels; lengths in faces. Tuning scenes.
ACROSS, FRONT = 0.4, 0.5
LEVEL, UNBROKEN = 0.3, 0.85  # in each column of a level piece, and in how many of them
TOP_PLATE, BOTTOM_PLATE = 1.6, 0.6  # how far from the wall's top or bottom a plate may begin
BESIDE = 1.3  # of either member a trimmer may stand: not looked at for what runs across
LEAST_FACE = 0.6  # width of an upright's face
EDGE_REACH = 0.3  # how far an edge may lie from where the labels change
ROWS_LEFT_OUT = 0.2  # next to something across
AROUND = 9.0  # an edge is judged against what is so far around it
SCORE = 2.0  # of an upright that is front face all over


@dataclass(frozen=True)
class Level:
    """A piece that runs level across a bay: shares of the wall's height, 0 at its top.

    A plate has its outer side at 0.0 or at 1.0.
    """

    top: float
    bottom: float


@dataclass(frozen=True)
class Bay:
    """What stands between two members.

    Attributes
    ----------
    left, right : float
        Columns of the members' faces towards the bay.
    face : float
        Width of one face, columns.
    """

    picture: WallPicture
    maps: WhatMaps
    left: float
    right: float
    face: float

    @property
    def clear(self) -> float:
        """Clear width in faces."""
        return (self.right - self.left) / self.face

    @property
    def face_rows(self) -> float:
        """Rows as high as a face is wide."""
        return self.face * self.picture.grid.step / self.picture.grid.step_y

    def faces(self, share: float) -> float:
        """A share of the wall's height, in faces."""
        top, bottom = self.picture.rows
        return share * (bottom - top) / self.face_rows

    def rows(self, top: float, bottom: float, inside: float = 0.0) -> slice:
        """Rows between two shares of the height, so many faces inside them."""
        first, last = self.picture.rows
        a, b = (first + share * (last - first) for share in (top, bottom))
        return slice(max(0, round(a + inside * self.face_rows)), max(0, round(b - inside * self.face_rows)))

    def columns(self, inside: float = 0.0) -> slice:
        """Columns at least so many faces from both members."""
        margin = inside * self.face
        return slice(max(0, round(self.left + margin)), max(0, round(self.right - margin)))

    @cached_property
    def levels(self) -> tuple[Level, ...]:
        """What runs level across all of the bay, plates among it, from the top down."""
        part = self.maps.across[self.rows(0.0, 1.0), self.columns(BESIDE)]
        if part.shape[0] < 10 or part.shape[1] < 4:
            return ()
        n = len(part)
        plate_top, plate_bottom = TOP_PLATE / self.faces(1.0), 1 - BOTTOM_PLATE / self.faces(1.0)
        return tuple(
            Level(0.0 if p / n < plate_top else p / n, 1.0 if q / n > plate_bottom else q / n)
            for p, q in runs_of(part.mean(1) > ACROSS)
            if float((part[p:q].mean(0) > LEVEL).mean()) > UNBROKEN
        )

    @property
    def under_top_plate(self) -> float:
        """Share of the height at the underside of the top plates; 0 where they are not seen."""
        return self.levels[0].bottom if self.levels and self.levels[0].top == 0.0 else 0.0

    @property
    def over_bottom_plate(self) -> float:
        """Share of the height at the upper side of the bottom plate; 1 where it is not seen."""
        return self.levels[-1].top if self.levels and self.levels[-1].bottom == 1.0 else 1.0

    def part(self, top: float, bottom: float) -> Part | None:
        """A part of the height, between two level pieces; None where it is too low to tell anything."""
        rows = self.rows(top, bottom, ROWS_LEFT_OUT)
        if rows.stop - rows.start < 3:
            return None
        width = self.maps.front.shape[1]
        first = max(0, int(self.left - AROUND * self.face))
        near = slice(first, min(width, int(self.right + AROUND * self.face) + 1))
        edges = np.zeros(width)
        edges[near] = self.picture.edges(self.face, (rows.start, rows.stop), near).votes.mean(0)
        return Part(self.maps.front[rows], edges, self.face)


@dataclass(frozen=True)
class Part:
    """A part of a bay's height.

    Attributes
    ----------
    front : (rows, W) array
        Share of front face.
    edges : (W,) array
        Share of this part's height in which an upright edge stands out.
    face : float
        Width of one face, columns.
    """

    front: NDArray[np.float32]
    edges: NDArray[np.float64]
    face: float

    @cached_property
    def column(self) -> NDArray[np.float64]:
        """Share of front face by column."""
        return np.asarray(self.front.mean(0), float)

    def spans(self, left: float, right: float) -> list[tuple[float, float]]:
        """Columns of what is front face over most of the height, between two columns."""
        first, end = max(0, round(left)), min(len(self.column), max(0, round(right)))
        on = self.column[first:end] > FRONT
        # between two columns' middles, where the edge lies
        return [(first + p - 0.5, first + q - 0.5) for p, q in runs_of(on) if q - p >= LEAST_FACE * self.face]

    def edge(self, at: float) -> tuple[float, float]:
        """Where near a column an edge stands out most, and over which share of the height."""
        reach = EDGE_REACH * self.face
        first, end = max(0, round(at - reach)), min(len(self.edges), round(at + reach) + 1)
        if end <= first:
            return at, 0.0
        most = float(self.edges[first:end].max())
        return (
            (first + float(np.flatnonzero(self.edges[first:end] == most).mean()), most) if most else (at, 0.0)
        )

    def seen(self, left: float, right: float) -> float:
        """Share of the height in which front face is seen between two columns."""
        a = max(0, round(left))
        inside = self.front[:, a : max(a + 1, round(right))]
        return float((inside.mean(1) > FRONT).mean()) if inside.size else 0.0

    def upright(self, left: float, right: float, plies: int, top: float, bottom: float) -> Upright:
        """The member between two columns; `top` and `bottom` say how far it reaches."""
        a, b = max(0, round(left)), max(0, round(right))
        share = float(self.column[a : max(a + 1, b)].mean()) if a < len(self.column) else 0.0
        seen = self.seen(left, right)
        edges = self.edge(left)[1], self.edge(right)[1]
        return Upright(
            Stretch(left, right, plies, share, *edges, SCORE * share, 0.0), top, bottom, seen, False
        )
