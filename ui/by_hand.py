"""A surface entered with a tape instead of a photo: what is kept of it, and its framing.

Kept in a surface's settings under ``by_hand`` as plain JSON. Values that come from a file are checked
by `by_hand_from_json` and by the framing itself.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from layout import Box, JobError, Member, Opening, Surface, members_on_spacing
from layout.framing import USUAL_CEILING_BOARD_IN
from ui.material import FACE_IN, TIMBER, of_material

SETTING = "by_hand"
FRAMINGS = ("studs", "joists", "strapping")
STRAPPING_IN = 2.5
"""Dressed width of 1x3 strapping (American Softwood Lumber Standard PS 20, table of dressed sizes)."""
USUAL_SPACING_IN = 16.0
USUAL_HEIGHT_IN = 97.125
"""Precut 92 5/8 in studs on three plates of 1 1/2 in (US Navy NAVEDTRA 14044, Builder)."""
TAPE_SIGMA_IN = 1 / 16
"""One standard deviation of a mark that was measured or laid out with a tape (by judgement)."""
DOOR_HEIGHT_IN = 82.5
"""Usual height of a door's rough opening (common practice, no source)."""
MOST_OPENINGS = 60


@dataclass(frozen=True)
class HandOpening:
    """A rough opening, or an electrical box: `left_in` from the left end, `bottom_in` above the floor (0 for
    a door). Not `sure` where it was taken over from a photo that nobody has looked at yet."""

    kind: str
    left_in: float
    width_in: float
    bottom_in: float
    height_in: float
    sure: bool = True


@dataclass(frozen=True)
class ByHand:
    """A wall or ceiling as measured.

    Attributes
    ----------
    framing : {"studs", "joists", "strapping"}
        Studs make a wall; joists or strapping a ceiling, drawn as a plan.
    length_in, height_in : float
        Length and height of a wall; of a ceiling the two sides of the room.
    spacing_in : float
        On centre.
    first_in : float or None
        From the starting end to the centre of the first member after the end one; None is one spacing.
    from_end : {"left", "right"}
        The end that the layout starts from.
    members_run : {"up", "along"}
        Of a ceiling: whether its members run across its length ("up" in the plan) or along it.
    openings : tuple of HandOpening
    members : tuple of Member
        Measured one by one, or taken over from a wall that was photographed; empty to use the spacing.
    guessed : bool
        Taken over from a photo whose scale nobody gave: its length and places are a guess.
    cut_off : bool
        Taken over from a photo that does not show all of the wall.
    """

    framing: str
    length_in: float
    height_in: float
    spacing_in: float = USUAL_SPACING_IN
    first_in: float | None = None
    from_end: str = "left"
    members_run: str = "up"
    openings: tuple[HandOpening, ...] = ()
    members: tuple[Member, ...] = ()
    guessed: bool = False
    cut_off: bool = False

    @property
    def is_wall(self) -> bool:
        """Whether this is a wall (else a ceiling)."""
        return self.framing == "studs"


def by_hand_of(settings: dict[str, Any]) -> ByHand | None:
    """What was entered by hand, from a surface's settings; None when nothing was.

    Raises
    ------
    JobError
        The kept values cannot be those of a surface.
    """
    kept = settings.get(SETTING)
    return None if kept is None else by_hand_from_json(kept)


def framing_by_hand(
    hand: ByHand, surface_id: str, *, name: str = "", material: str = TIMBER, **choices: Any
) -> Surface:
    """The framing of a surface entered by hand, of timber or steel (`layout.Member.material`); `choices` are
    other fields of `layout.Surface`.

    Raises
    ------
    JobError
        It cannot be boarded; names the field, says what to do.
    """
    span_in = hand.length_in if hand.members_run == "up" else hand.height_in
    # metal laid across joists has a face as wide as a steel stud's; wooden strapping a wider one than a stud
    face_in = STRAPPING_IN if hand.framing == "strapping" and material == TIMBER else FACE_IN[material]
    members = hand.members or tuple(
        replace(member, sigma_in=TAPE_SIGMA_IN)
        for member in members_on_spacing(span_in, hand.spacing_in, hand.first_in, hand.from_end, face_in)
    )
    if hand.is_wall and not hand.members:
        members = _without_those_in_openings(members, hand, face_in)
    members = tuple(of_material(member, material) for member in members)
    choices.setdefault("ceiling_board_in", USUAL_CEILING_BOARD_IN if hand.is_wall else 0.0)
    choices.setdefault("cut_off", hand.cut_off)
    choices.setdefault("guessed", hand.guessed)
    return Surface(
        id=surface_id,
        name=name,
        width_in=hand.length_in,
        height_in=hand.height_in,
        members=members,
        kind="wall" if hand.is_wall else "ceiling",
        members_run=hand.members_run,
        openings=tuple(
            Opening(str(number), *_sides_in(opening), kind=opening.kind, sure=opening.sure)
            for number, opening in enumerate(_of_kind(hand, box=False), start=1)
        ),
        boxes=tuple(
            Box(str(number), *_sides_in(box)) for number, box in enumerate(_of_kind(hand, box=True), start=1)
        ),
        **choices,
    )


def _of_kind(hand: ByHand, box: bool) -> list[HandOpening]:
    """The boxes, or all else, from the left."""
    return sorted((o for o in hand.openings if (o.kind == "box") == box), key=lambda o: o.left_in)


def _sides_in(opening: HandOpening) -> tuple[float, float, float, float]:
    """Left, right, bottom and top."""
    right_in, top_in = opening.left_in + opening.width_in, opening.bottom_in + opening.height_in
    return opening.left_in, right_in, opening.bottom_in, top_in


def _without_those_in_openings(
    members: tuple[Member, ...], hand: ByHand, face_in: float
) -> tuple[Member, ...]:
    """Studs as a framer sets them: none in an opening but cripples below and above it on the layout,
    and one at each side of it (common practice; NAVEDTRA 14044, Builder, chapter 6)."""
    kept: list[Member] = []
    openings = _of_kind(hand, box=False)
    for member in members:
        inside = [
            o
            for o in openings
            if o.left_in - member.face_in < member.centre_in < o.left_in + o.width_in + member.face_in
        ]
        if not inside:
            kept.append(member)
            continue
        for opening in inside:
            if not opening.left_in < member.centre_in < opening.left_in + opening.width_in:
                continue  # the stud beside the opening stands there
            top_in = opening.bottom_in + opening.height_in
            if opening.bottom_in > 0:
                kept.append(replace(member, kind="partial", bottom_in=0.0, top_in=opening.bottom_in))
            if top_in < hand.height_in:
                kept.append(replace(member, kind="partial", bottom_in=top_in, top_in=hand.height_in))
    for opening in openings:
        for centre_in in (opening.left_in - face_in, opening.left_in + opening.width_in + face_in):
            # king and trimmer side by side: two faces, their middle one face from the opening
            if face_in <= centre_in <= hand.length_in - face_in:
                kept.append(Member("0", centre_in, TAPE_SIGMA_IN, 2 * face_in, plies=2))
    ordered = sorted(kept, key=lambda m: (m.centre_in, m.bottom_in or 0.0))
    return tuple(replace(member, id=str(number)) for number, member in enumerate(ordered, start=1))


def mirrored(hand: ByHand) -> ByHand:
    """The same surface with left and right exchanged: a wall's other face, a room built in reverse."""
    return replace(
        hand,
        from_end=hand.from_end
        if hand.members_run == "along"
        else ("right" if hand.from_end == "left" else "left"),
        openings=tuple(
            replace(opening, left_in=hand.length_in - opening.left_in - opening.width_in)
            for opening in reversed(hand.openings)
        ),
        members=tuple(
            replace(member, id=str(number), centre_in=hand.length_in - member.centre_in)
            for number, member in enumerate(reversed(hand.members), start=1)
        )
        if hand.members_run == "up"
        else hand.members,
    )


def taken_over(surface: Surface) -> ByHand:
    """A surface whose framing is known, such as a photographed wall, as one entered by hand: what is doubtful
    about it stays so."""
    cut_out: tuple[Opening | Box, ...] = (*surface.openings, *surface.boxes)
    return ByHand(
        "studs" if surface.kind == "wall" else "joists",
        surface.width_in,
        surface.height_in,
        members_run=surface.members_run,
        openings=tuple(
            HandOpening(
                "box" if isinstance(each, Box) else each.kind,
                each.left_in,
                each.right_in - each.left_in,
                each.bottom_in,
                each.top_in - each.bottom_in,
                sure=isinstance(each, Box) or each.sure,  # only boxes that were accepted are cut out
            )
            for each in cut_out
        ),
        members=surface.members,
        guessed=surface.guessed,
        cut_off=surface.cut_off,
    )


def still_doubtful(entered: ByHand, before: ByHand) -> ByHand:
    """A surface as it was changed, with the doubts of `before` that the change has not settled.

    Another length was measured; members that were taken over at a guessed scale stand where it put them.
    """
    same_length = entered.length_in == before.length_in
    return replace(
        entered,
        guessed=before.guessed and (same_length or bool(entered.members)),
        cut_off=before.cut_off and same_length,
    )


def measured(hand: ByHand) -> ByHand:
    """A surface that the user has measured with a tape and found as it stands here: nothing is in doubt."""
    return replace(
        hand,
        openings=tuple(replace(opening, sure=True) for opening in hand.openings),
        members=tuple(replace(member, sure=True, sigma_in=TAPE_SIGMA_IN) for member in hand.members),
        guessed=False,
        cut_off=False,
    )


def by_hand_to_json(hand: ByHand) -> dict[str, Any]:
    """Plain JSON; `by_hand_from_json` gives the same value back."""
    return {
        "framing": hand.framing,
        "length_in": hand.length_in,
        "height_in": hand.height_in,
        "spacing_in": hand.spacing_in,
        "first_in": hand.first_in,
        "from_end": hand.from_end,
        "members_run": hand.members_run,
        "openings": [
            {
                "kind": o.kind,
                "left_in": o.left_in,
                "width_in": o.width_in,
                "bottom_in": o.bottom_in,
                "height_in": o.height_in,
                "sure": o.sure,
            }
            for o in hand.openings
        ],
        "members": [
            {
                "centre_in": m.centre_in,
                "sigma_in": m.sigma_in,
                "face_in": m.face_in,
                "plies": m.plies,
                "kind": m.kind,
                "sure": m.sure,
                "bottom_in": m.bottom_in,
                "top_in": m.top_in,
            }
            for m in hand.members
        ],
        "guessed": hand.guessed,
        "cut_off": hand.cut_off,
    }


def by_hand_from_json(data: Any) -> ByHand:
    """Read what `by_hand_to_json` wrote; JobError names what is wrong in anything else."""
    if not isinstance(data, dict):
        raise JobError(SETTING, "the measurements of this surface are damaged: enter it again.")
    framing = data.get("framing")
    if framing not in FRAMINGS:
        raise JobError("framing", f"must be one of {', '.join(FRAMINGS)}: enter the surface again.")
    openings = data.get("openings") or []
    members = data.get("members") or []
    if not isinstance(openings, list) or len(openings) > MOST_OPENINGS or not isinstance(members, list):
        raise JobError("openings", f"at most {MOST_OPENINGS} can be: enter the surface again.")
    first = data.get("first_in")
    hand = ByHand(
        framing,
        _number(data, "length_in"),
        _number(data, "height_in"),
        _number(data, "spacing_in"),
        None if first is None else _number(data, "first_in"),
        str(data.get("from_end", "left")),
        str(data.get("members_run", "up")),
        tuple(
            HandOpening(
                str(item["kind"]) if item.get("kind") in ("door", "box") else "window",
                _number(item, "left_in"),
                _number(item, "width_in"),
                _number(item, "bottom_in"),
                _number(item, "height_in"),
                item.get("sure") is not False,
            )
            for item in _objects(openings)
        ),
        tuple(
            Member(
                str(number),
                _number(item, "centre_in"),
                _number(item, "sigma_in"),
                _number(item, "face_in"),
                plies=int(_number(item, "plies")),
                kind=str(item.get("kind", "full")),
                sure=item.get("sure") is True,
                bottom_in=None if item.get("bottom_in") is None else _number(item, "bottom_in"),
                top_in=None if item.get("top_in") is None else _number(item, "top_in"),
            )
            for number, item in enumerate(_objects(members), start=1)
        ),
        data.get("guessed") is True,
        data.get("cut_off") is True,
    )
    framing_by_hand(hand, "A")  # what cannot be framed is refused here, once
    return hand


def _objects(items: list[Any]) -> list[dict[str, Any]]:
    if not all(isinstance(item, dict) for item in items):
        raise JobError(SETTING, "the measurements of this surface are damaged: enter it again.")
    return items


def _number(data: dict[str, Any], name: str) -> float:
    value = data.get(name)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not abs(value) < 1e15:
        raise JobError(name, "is no length: enter the surface again.")
    return float(value)
