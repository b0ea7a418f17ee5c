"""What a surface is framed with, timber or steel: kept in its settings, laid on its members.

Kept under ``material`` as plain JSON with a version; what is damaged or comes from a newer release is refused
in one sentence.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from layout import JobError, Member, Surface
from layout.framing import MATERIALS
from ui.store_rows import Surface as KeptSurface

__all__ = [
    "FACE_IN",
    "SETTING",
    "STEEL",
    "TIMBER",
    "face_to_read_in",
    "material_in",
    "material_of",
    "material_to_json",
    "of_material",
]

SETTING = "material"
VERSION = 1
TIMBER, STEEL = MATERIALS
FACE_IN = {TIMBER: 1.5, STEEL: 1.25}
"""Width of one member's front face, inches: 2-by lumber dressed (American Softwood Lumber Standard PS 20);
the flange of a steel stud (listings of steel studs, read in a copy), as wide as metal has to be at a joint
(a building design and construction handbook, gypsum board finishes)."""
SAME_WIDTH_IN = 1 / 64


def material_of(settings: Mapping[str, Any]) -> str:
    """What is kept in a surface's settings; timber until somebody says otherwise.

    Raises
    ------
    JobError
        It is damaged, or of another release.

    Examples
    --------
    >>> material_of({}), material_of({"material": material_to_json("steel")})
    ('timber', 'steel')
    """
    kept = settings.get(SETTING)
    if kept is None:
        return TIMBER
    if not isinstance(kept, dict) or kept.get("version") != VERSION or kept.get("name") not in MATERIALS:
        raise JobError(SETTING, "what this surface is framed with cannot be read: choose it again.")
    return str(kept["name"])


def material_to_json(material: str) -> dict[str, Any]:
    """Plain JSON; `material_of` gives the same value back."""
    return {"version": VERSION, "name": material}


def face_to_read_in(photo: KeptSurface) -> float:
    """Width of the faces that a photo of a wall is read by.

    A further photo of a wall shows the same studs as the wall's own. Settings that cannot be read are no
    reason not to look at the photo: whoever lays out boards refuses them.
    """
    settings = photo.settings if photo.wall_settings is None else photo.wall_settings
    try:
        return FACE_IN[material_of(settings)]
    except JobError:
        return FACE_IN[TIMBER]


def of_material(member: Member, material: str) -> Member:
    """The member made of this; a face as wide as the other material's usual one becomes this one's.

    Members laid out on a spacing, or taken over from a photo, have the usual width of what they were taken
    for; one of another width keeps it.
    """
    usual_in = (member.plies * face_in for name, face_in in FACE_IN.items() if name != material)
    was_usual = any(abs(member.face_in - width_in) < SAME_WIDTH_IN for width_in in usual_in)
    face_in = member.plies * FACE_IN[material] if was_usual else member.face_in
    return replace(member, material=material, face_in=face_in)


def material_in(surface: Surface) -> str:
    """What the members of a framing are made of; timber where it has none."""
    return next((member.material for member in surface.members), TIMBER)
