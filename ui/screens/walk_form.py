"""The walk-round's form: a new surface, or one that is being changed, measured with a tape."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace

import streamlit as st

from layout import JobError, LengthError, format_length, mm_to_in, parse_length_in
from ui import desk, look
from ui.board_size import board_style
from ui.by_hand import (
    FRAMINGS,
    SETTING,
    ByHand,
    by_hand_of,
    by_hand_to_json,
    framing_by_hand,
    measured,
    still_doubtful,
)
from ui.market import Usual, market_of, usual_of
from ui.material import SETTING as MATERIAL
from ui.material import TIMBER, material_of, material_to_json
from ui.opening_text import OpeningTextError, openings_from_text, openings_to_text
from ui.plain_faults import plain_fault
from ui.rooms import add_by_hand, next_name, room_of
from ui.screens.wall_parts import material_asked
from ui.slips import Slip, length_slip, opening_slip
from ui.store import Job, Surface
from ui.words import Words

SPACINGS_IN = {
    "16 in": 16.0,
    "24 in": 24.0,
    "12 in": 12.0,
    "400 mm": mm_to_in(400.0),
    "600 mm": mm_to_in(600.0),
}
AS_TAKEN = "taken"  # the members stand where they were taken over, at no spacing of the list


@dataclass(frozen=True)
class Fields:
    """What stands in the form, as text; kept between runs as a dict of its values.

    A length, height or opening counts in the units that the job shows; `where` is the market it was typed in.
    """

    framing: str = "studs"
    length: str = ""
    height: str = ""
    spacing: str = "16 in"
    material: str = TIMBER
    openings: str = ""
    room: str = ""
    first: str = ""
    end: str = "left"
    run: str = "up"
    where: str = ""


@dataclass(frozen=True)
class _Before:
    """The surface that is being changed, as it was measured; both None for a new one."""

    surface: Surface | None = None
    hand: ByHand | None = None


def form(job: Job, words: Words, style: str) -> None:
    """One form for a new surface, or for the one that is being changed."""
    changed = next((s for s in job.surfaces if s.surface_id == st.session_state.get("walk_changes")), None)
    before = _Before(changed, by_hand_of(changed.settings) if changed else None)
    usual, market = usual_of(job.settings), market_of(job.settings)
    last = _last_there(market)
    odd: dict[str, str] = {} if changed else st.session_state.get("walk_refused", {})
    shown = _as_it_was(before, style) if before.hand else _new_one(last, odd, usual, style)
    typed, settled = _asked(before, replace(shown, where=market), last, usual, words, style)
    if changed and st.button(words("walk.cancel")):
        del st.session_state["walk_changes"]
        st.rerun()
    if typed is None:
        if odd:
            st.error(odd["why"])
        return
    try:
        entered = _entered(typed, before.hand, usual, style, words)
        if before.hand is not None:
            entered = measured(entered) if settled else still_doubtful(entered, before.hand)
        slip = _slip(entered, typed, before.hand, style)
        if slip is not None:
            values = {name: look.plain(text) for name, text in slip.values.items()}
            _refuse(changed, typed, words.in_units(f"walk.{slip.code}", style, **values))
            return
        framing_by_hand(entered, "A", material=typed.material)
    except OpeningTextError as fault:
        _refuse(changed, typed, words.in_units("walk.opening_odd", style, part=look.plain(fault.part)))
    except LengthError as fault:
        _refuse(changed, typed, look.plain(words.said(str(fault))))
    except JobError as fault:
        reason = look.plain(plain_fault(fault, words, board_style(style)))
        _refuse(changed, typed, words("walk.cannot", reason=reason))
    else:
        if changed is None:
            _add(job, entered, typed, last, words)
        else:
            _change(changed, entered, typed, words)
        st.rerun()


def _as_it_was(before: _Before, style: str) -> Fields:
    """The form of a surface that is being changed."""
    surface, hand = before.surface, before.hand
    assert surface is not None
    assert hand is not None
    return Fields(
        hand.framing,
        format_length(hand.length_in, style),
        format_length(hand.height_in, style),
        AS_TAKEN if hand.members else _spacing_name(hand.spacing_in),
        material_of(surface.settings),
        openings_to_text(hand.openings, style),
        room_of(surface),
        "" if hand.first_in is None else format_length(hand.first_in, style),
        hand.from_end,
        hand.members_run,
    )


def _last_there(market: str) -> dict[str, str]:
    """What the last surface had; of one typed where other lengths are usual all but its lengths."""
    last: dict[str, str] = st.session_state.setdefault("walk_last", {})
    if last.get("where", market) == market:
        return last
    return {name: text for name, text in last.items() if name not in ("height", "spacing", "where")}


def _new_one(last: dict[str, str], odd: dict[str, str], usual: Usual, style: str) -> Fields:
    """The form of a new surface: what the last one had, or what was refused, as it was typed."""
    first = Fields(height=format_length(usual.height_in, style), spacing=_spacing_name(usual.spacing_in))
    known = {name: text for name, text in {**last, **odd}.items() if name in asdict(first)}
    shown = replace(first, **known)
    if not shown.height and not odd:
        shown = replace(shown, height=first.height)
    return shown if shown.spacing in SPACINGS_IN else replace(shown, spacing=first.spacing)


def _spacing_name(spacing_in: float) -> str:
    return min(SPACINGS_IN, key=lambda name: abs(SPACINGS_IN[name] - spacing_in))


def _asked(
    before: _Before, shown: Fields, last: dict[str, str], usual: Usual, words: Words, style: str
) -> tuple[Fields | None, bool]:
    """What was typed, None while nobody pressed, and whether a tape has settled what was doubtful.

    A new surface's form is emptied by the page itself, at the press: what is typed next, before the server
    has answered, stays. So a field keeps its key; only what is taken over from the last surface, or was
    refused and comes back as it was typed, makes it a new one.
    """
    changed, hand = before.surface, before.hand
    turn = st.session_state.setdefault("walk_turn", 0)
    key = f"walk-{changed.surface_id if changed else turn}-"
    own_key = key if changed else f"{key}{abs(hash((shown.where, *last.items())))}-"
    with st.form(key + "form", border=True, clear_on_submit=changed is None):
        st.subheader(
            words("walk.change_title", name=look.plain(changed.name)) if changed else words("walk.new"),
            anchor=False,
        )
        framing = st.segmented_control(
            words("walk.what"),
            list(FRAMINGS),
            default=shown.framing,
            format_func=lambda name: words(f"walk.framing_{name}"),
            key=own_key + "framing",
        )
        one, two = st.columns(2)
        length = one.text_input(
            words("walk.length"),
            shown.length,
            placeholder=words.in_units("walk.length_hint", style),
            key=key + "length",
        )
        height = two.text_input(words("walk.height"), shown.height, key=own_key + "height")
        spacing = st.segmented_control(
            words("walk.spacing"),
            [*([AS_TAKEN] if hand and hand.members else []), *usual.own_first(SPACINGS_IN)],
            default=shown.spacing,
            format_func=lambda name: words("walk.keep_members") if name == AS_TAKEN else name,
            key=own_key + "spacing",
        )
        material = material_asked(shown.material, own_key + "material", words)
        openings = st.text_input(
            words("walk.openings"),
            shown.openings,
            placeholder=words.in_units("walk.openings_hint", style),
            key=key + "openings",
        )
        st.caption(words.in_units("walk.openings_how", style))
        settled = _settled(hand, words, key)
        room = st.text_input(
            words("walk.room"),
            shown.room,
            placeholder=words("walk.room_hint"),
            max_chars=60,
            key=own_key + "room",
        )
        with st.expander(words("walk.more")):
            first = st.text_input(
                words("walk.first"), shown.first, placeholder=words("walk.first_hint"), key=key + "first"
            )
            end = _one_of("walk.from_end", "from", ["left", "right"], shown.end, key + "end", words)
            run = _one_of("walk.run", "run", ["up", "along"], shown.run, own_key + "run", words)
        pressed = st.form_submit_button(words("walk.save" if changed else "walk.add"), type="primary")
    typed = Fields(
        framing or "studs",
        length,
        height,
        spacing or "",
        material,
        openings,
        room,
        first,
        end,
        run,
        shown.where,
    )
    return (typed if pressed else None), settled


def _one_of(label: str, group: str, options: list[str], now: str, key: str, words: Words) -> str:
    return st.radio(
        words(label),
        options,
        index=options.index(now),
        format_func=lambda each: words(f"walk.{group}_{each}"),
        horizontal=True,
        key=key,
    )


def _entered(typed: Fields, hand: ByHand | None, usual: Usual, style: str, words: Words) -> ByHand:
    """The surface as typed; what was only shown and not touched stays exactly what it was.

    Raises
    ------
    LengthError, OpeningTextError
    """
    if not typed.length.strip():
        raise LengthError(words.in_units("walk.length_wanted", style))
    unit = "mm" if style == "mm" else "in"
    first_in = None
    if typed.first.strip():
        first_in = _as_before(typed.first, hand.first_in if hand else None, style, unit)
    untouched = hand is not None and typed.openings == openings_to_text(hand.openings, style)
    return ByHand(
        typed.framing,
        _as_before(typed.length, hand.length_in if hand else None, style, unit),
        _as_before(typed.height, hand.height_in if hand else None, style, unit),
        SPACINGS_IN.get(typed.spacing, hand.spacing_in if hand else usual.spacing_in),
        first_in,
        typed.end,
        typed.run if typed.framing != "studs" else "up",
        hand.openings if hand is not None and untouched else openings_from_text(typed.openings, unit),
        hand.members if hand and typed.spacing == AS_TAKEN else (),
    )


def _add(job: Job, entered: ByHand, typed: Fields, last: dict[str, str], words: Words) -> None:
    if st.session_state.pop("walk_refused", None):
        st.session_state["walk_turn"] += 1
    name = next_name(job, words, wall=entered.is_wall)
    made_of = {MATERIAL: material_to_json(typed.material)}
    add_by_hand(desk.store(), job, entered, name, typed.room.strip(), made_of)
    desk.say_later(words("walk.added", name=look.plain(name)))
    st.session_state["walk_last"] = {
        "framing": entered.framing,
        "height": typed.height if entered.is_wall else last.get("height", ""),
        "spacing": typed.spacing,
        "where": typed.where,
        "material": typed.material,
        "room": typed.room.strip(),
        "run": typed.run,
    }


def _change(changed: Surface, entered: ByHand, typed: Fields, words: Words) -> None:
    told = {SETTING: by_hand_to_json(entered), MATERIAL: material_to_json(typed.material)}
    settings = {**changed.settings, **told, "room": typed.room.strip()}
    desk.store().save_surface(changed.surface_id, changed.revision, settings=settings)
    desk.say_later(words("walk.changed", name=look.plain(changed.name)))
    del st.session_state["walk_changes"]


def _settled(hand: ByHand | None, words: Words, key: str) -> bool:
    """What is doubtful about a wall that was mirrored, and whether a tape has settled it as it stands."""
    if hand is None or not (hand.guessed or hand.cut_off):
        return False
    for doubt in ("guessed", "cut_off"):
        if getattr(hand, doubt):
            st.warning(words(f"walk.{doubt}"))
    return st.checkbox(words("walk.measured"), key=key + "measured")


def _slip(entered: ByHand, typed: Fields, hand: ByHand | None, style: str) -> Slip | None:
    """What to ask before this is believed; a side that was only shown and not touched is not asked about."""
    sides = (
        (typed.length, hand.length_in if hand else None),
        (typed.height, hand.height_in if hand else None),
    )
    for text, before_in in sides:
        untouched = before_in is not None and text == format_length(before_in, style)
        slip = None if untouched else length_slip(text, style)
        if slip is not None:
            return slip
    return opening_slip(entered.openings, style)


def _refuse(changed: Surface | None, typed: Fields, why: str) -> None:
    """Say why; a new surface's form, emptied at the press, comes back as it was typed."""
    if changed is not None:
        st.error(why)
        return
    st.session_state["walk_refused"] = {**asdict(typed), "why": why}
    st.session_state["walk_turn"] += 1
    st.rerun()


def _as_before(text: str, before_in: float | None, style: str, unit: str) -> float:
    """The length typed; one that was only shown and not touched stays exactly what it was."""
    if before_in is not None and text == format_length(before_in, style):
        return before_in
    return parse_length_in(text, unit)
