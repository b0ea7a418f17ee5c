"""Members laid out: on a regular spacing, or at typed centres."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from layout.checks import JobError, finite, one_of
from layout.framing import MAX_MEMBERS, MAX_SPAN_IN, MIN_SPAN_IN, Member

__all__ = ["members_at", "members_on_spacing"]


def members_on_spacing(
    span_in: float,
    on_centre_in: float,
    first_centre_in: float | None = None,
    from_end: str = "left",
    face_in: float = 1.5,
    material: str = "timber",
) -> tuple[Member, ...]:
    """Members of a surface framed on a regular spacing, with one at each end.

    Parameters
    ----------
    span_in : float
        Length of the surface across its members.
    on_centre_in : float
        Spacing, centre to centre.
    first_centre_in : float or None
        Centre of the first member after the end one, from the starting end; None is
        one spacing, which puts the edge of an 8-ft board on a centre (layout marks at
        15 1/4, 31 1/4 ... in; US Navy NAVEDTRA 14044, Builder, p. 36).
    from_end : {"left", "right"}
        End that the layout starts from.
    face_in : float
        Width of every face.
    material : {"timber", "steel"}
        What every member is made of.

    Examples
    --------
    >>> [m.centre_in for m in members_on_spacing(52.0, 16.0)]
    [0.75, 16.0, 32.0, 48.0, 51.25]
    """
    finite("span_in", span_in, MIN_SPAN_IN, MAX_SPAN_IN)
    finite("on_centre_in", on_centre_in, 2.0, 120.0)
    finite("face_in", face_in, 0.25, 48.0)
    one_of("from_end", from_end, ("left", "right"))
    first = on_centre_in if first_centre_in is None else first_centre_in
    finite("first_centre_in", first, 0.0, MAX_SPAN_IN)
    if span_in / on_centre_in > MAX_MEMBERS - 3:
        raise JobError("on_centre_in", f"{on_centre_in} in gives too many members: at most 1000.")
    centres = [face_in / 2]
    number = 0
    while first + number * on_centre_in < span_in - 1.5 * face_in + 1e-9:
        centre = first + number * on_centre_in
        if centre > 1.5 * face_in - 1e-9:
            centres.append(centre)
        number += 1
    if span_in > 2 * face_in:
        centres.append(span_in - face_in / 2)
    if from_end == "right":
        centres = [span_in - centre for centre in reversed(centres)]
    return tuple(replace(member, material=material) for member in members_at(centres, face_in=face_in))


def members_at(
    centres_in: Iterable[float], face_in: float = 1.5, sigma_in: float = 0.0
) -> tuple[Member, ...]:
    """Members at typed centres, numbered from 1 in the order of their centres."""
    return tuple(
        Member(str(number), float(centre), sigma_in=sigma_in, face_in=face_in)
        for number, centre in enumerate(sorted(centres_in), start=1)
    )
