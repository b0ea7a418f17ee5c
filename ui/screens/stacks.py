"""Where the boards go: a place for every stack, what it weighs, and a sign for it."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from layout import JobError, LengthError, format_length, parse_length_in
from layout.lifting import HEAVY_LB, LOAD_CONSTANT_LB, lifts_of
from layout.stack_drawing import stacks_svg
from layout.stack_types import Lot, Moved, Site, Stack
from layout.stacks import room_load_psf, sign_text
from layout.weights import LIVE_LOADS_PSF, floor_load_text, weight_text
from ui import desk, look
from ui.board_size import board_size, board_style
from ui.delivery_view import kind_name
from ui.hanging_view import sheet_text
from ui.job_plan import stock_of
from ui.market import units_of
from ui.paper import paper_size
from ui.plain_faults import plain_fault
from ui.screens.boards_part import boards_not_sold
from ui.screens.order_parts import why_nothing
from ui.screens.stacks_ways import keep, stud_in_the_way, ways_and_floor
from ui.site_plan import SitePlan, site_plan
from ui.site_printing import lean_sentence, signs_pdf
from ui.site_stacks import KeptStacks, kept_stacks, with_move
from ui.store import Job
from ui.words import Words


def show() -> None:
    """Draw the page."""
    words = desk.words()
    job = desk.open_job()
    desk.say_now()
    st.header(words("stacks.title"), anchor=False)
    if job is None or not job.surfaces:
        st.info(words("order.nothing"))
        return
    with st.spinner(words("wall.planning")):
        found = site_plan(desk.store(), job)
    for sentence in found.left_out if stock_of(job) else ():  # else the same would be said twice
        st.warning(look.plain(plain_fault(sentence, words, board_style(units_of(job.settings)))))
    boards_not_sold(job, words)
    if not found.plan.sheets:
        st.warning(why_nothing(job, found.plan, words, found.names))
        return
    with st.spinner(words("stacks.working")):
        kept = kept_stacks(desk.store(), job, found)
    if found.guessed:
        st.warning(words("buy.guessed", names=look.plain(found.called(found.guessed))))
    style = units_of(job.settings)
    _cautions(kept, found, words, style)
    _floor(job, kept, words, style)
    for un in kept.plan.unplaced:
        st.warning(words(f"stacks.{un.why}", size=_size(un.lot, style), length=_long(un.needed_in, style)))
    refusals = [
        words(f"stacks.refused_{reason}", wall=look.plain(found.called((move.wall,))))
        for move, reason in kept.plan.refused
    ]
    for sentence in dict.fromkeys(refusals):  # the lots of one stack are refused for the same reason
        st.warning(sentence)
    for stack in kept.plan.stacks:
        _stack(job, stack, kept, found, words, style)
    if kept.plan.stacks:
        size = paper_size(found.job.rules.market)
        st.download_button(
            words("signs.print"),
            lambda: signs_pdf(kept.plan, kept.choices.site, found, words, style, size, job.name),
            file_name="signs.pdf",
            mime="application/pdf",
            on_click="ignore",
        )
    ways_and_floor(job, kept, found, words, style)
    stud_in_the_way(found, words, style)


def _floor(job: Job, kept: KeptStacks, words: Words, style: str) -> None:
    site = kept.choices.site
    head = words(
        "stacks.floor",
        floor=words(f"stacks.floor_{site.floor}"),
        standing=words(f"stacks.standing_{site.standing}"),
    )
    with st.expander(head):
        floors = ("slab", "joists")
        floor = st.radio(
            words("stacks.floor_kind"),
            floors,
            index=floors.index(site.floor),
            format_func=lambda kind: words(f"stacks.floor_{kind}"),
            key=f"floor-{kept.revision}",
        )
        loads = ("room", "sleeping")
        load = "room"
        if floor == "joists":
            now = "sleeping" if site.live_load_psf == LIVE_LOADS_PSF["sleeping"] else "room"
            load = st.radio(
                words("stacks.load"),
                loads,
                index=loads.index(now),
                format_func=lambda kind: words(
                    f"stacks.load_{kind}", psf=floor_load_text(LIVE_LOADS_PSF[kind], style)
                ),
                key=f"load-{kept.revision}",
            )
        standings = ("auto", "flat", "edge")
        standing = st.radio(
            words("stacks.standing"),
            standings,
            index=standings.index(site.standing),
            format_func=lambda kind: words(f"stacks.standing_{kind}"),
            key=f"standing-{kept.revision}",
        )
        new = replace(site, floor=floor, live_load_psf=LIVE_LOADS_PSF[load], standing=standing)
        if new != site:
            keep(job, kept, replace(kept.choices, site=new))


def _cautions(kept: KeptStacks, found: SitePlan, words: Words, style: str) -> None:
    site: Site = kept.choices.site
    lines = (
        [lean_sentence(site, words, style)]
        if any(stack.standing == "edge" for stack in kept.plan.stacks)
        else []
    )
    lines.append(words("caution.damp" if site.floor == "slab" else "caution.floor"))
    look.caution(lines)
    heavy = [lift for lift in lifts_of(found.plan.order) if lift.advice != "one"]
    if heavy:
        with st.expander(words("caution.heavy_head")):
            for lift in heavy:
                size = (lift.kind, lift.thickness_in, lift.width_in, lift.length_in)
                st.markdown(
                    "- "
                    + words(
                        f"caution.lift_{lift.advice}",
                        size=sheet_text(*size, words, style),
                        weight=weight_text(lift.weight_lb, style),
                        each=weight_text(lift.each_of_two_lb, style),
                        heavy=weight_text(HEAVY_LB, style),
                        limit=weight_text(LOAD_CONSTANT_LB, style),
                    )
                )
            st.caption(words("caution.niosh", limit=weight_text(LOAD_CONSTANT_LB, style)))


def _stack(job: Job, stack: Stack, kept: KeptStacks, found: SitePlan, words: Words, style: str) -> None:
    surface = next(s for s in found.job.surfaces if s.id == stack.wall)
    wall = next(w for w in kept.walls if w.id == stack.wall)
    with st.container(border=True):
        place = found.called((stack.wall,))
        st.subheader(words("stacks.head", n=stack.number, place=look.plain(place)), anchor=False)
        here = [s for s in kept.plan.stacks if s.wall == stack.wall]
        alt = words("stacks.picture", wall=place)
        look.drawing(stacks_svg(surface, wall, here, board_style(style), alt), alt)
        look.table(
            (words("stacks.count"), words("order.sheet"), words("stacks.for")),
            [(str(lot.count), _size(lot, style), _for(lot, found, words)) for lot in stack.lots],
            classes=("count", "", ""),
        )
        st.write(
            words(
                f"stacks.stands_{stack.standing}",
                left=_long(stack.left_in, style),
                length=_long(stack.length_in, board_style(style)),
                weight=weight_text(stack.weight_lb, style),
                pull=weight_text(stack.pull_lb, style),
            )
        )
        _load(stack, kept, found, words, style)
        lines = [_sign_line(lot, words, style) for lot in stack.lots]
        st.caption(words("stacks.sign"))
        look.block("\n".join([str(stack.number), *lines]))
        _move(job, stack, kept, found, words, style)


def _load(stack: Stack, kept: KeptStacks, found: SitePlan, words: Words, style: str) -> None:
    site = kept.choices.site
    if site.floor == "slab":
        return
    live = floor_load_text(site.live_load_psf, style)
    key = "stacks.load_over" if stack.floor_psf > site.live_load_psf else "stacks.load_within"
    st.caption(words(key, psf=floor_load_text(stack.floor_psf, style), live=live))
    area = next(
        (
            s.width_in * s.height_in / 144.0
            for s in found.job.surfaces
            if s.kind == "ceiling" and found.rooms.get(s.id, "") == stack.room
        ),
        0.0,
    )
    if area:
        psf = room_load_psf(kept.plan.stacks, stack.room, area)
        st.caption(words("stacks.load_of_room", psf=floor_load_text(psf, style), live=live))


def _move(job: Job, stack: Stack, kept: KeptStacks, found: SitePlan, words: Words, style: str) -> None:
    with st.expander(words("stacks.move")):
        lots = list(stack.lots)
        if len(lots) > 1:
            which = st.multiselect(
                words("stacks.which"),
                [lot.id for lot in lots],
                default=[lot.id for lot in lots],
                format_func=lambda lot_id: next(
                    f"{lot.count} × {_size(lot, style)}" for lot in lots if lot.id == lot_id
                ),
                key=f"which-{kept.revision}-{stack.number}",
            )
            lots = [lot for lot in lots if lot.id in which]
        names = [wall.id for wall in kept.walls]
        wall = st.selectbox(
            words("stacks.to_wall"),
            names,
            index=names.index(stack.wall),
            format_func=lambda name: found.called((name,)),
            key=f"to-{kept.revision}-{stack.number}",
        )
        left = st.text_input(
            words("stacks.from_left"),
            _long(stack.left_in, style),
            key=f"left-{kept.revision}-{stack.number}",
        )
        standing = st.radio(
            words("stacks.standing"),
            ("flat", "edge"),
            index=("flat", "edge").index(stack.standing),
            format_func=lambda kind: words(f"stacks.standing_{kind}"),
            horizontal=True,
            key=f"how-{kept.revision}-{stack.number}",
        )
        if st.button(words("stacks.move_now"), key=f"move-{kept.revision}-{stack.number}"):
            try:
                left_in = parse_length_in(left, "mm" if style == "mm" else "in")
                moved = Moved("", str(wall), left_in, str(standing))
            except (LengthError, JobError) as fault:
                st.error(look.plain(plain_fault(fault, words, board_style(style))))
                return
            keep(job, kept, with_move(kept.choices, lots, moved))
        if stack.moved and st.button(words("stacks.unmove"), key=f"unmove-{kept.revision}-{stack.number}"):
            keep(job, kept, with_move(kept.choices, stack.lots, None))


def _size(lot: Lot, style: str) -> str:
    return board_size(lot.length_in, lot.width_in, style, lot.thickness_in)


def _sign_line(lot: Lot, words: Words, style: str) -> str:
    """What a marker writes on the wall for one lot."""
    line = f"{sign_text(lot, board_style(style))} {_kind(lot, words)}"
    return f"{line}: {lot.room}" if lot.room else line


def _kind(lot: Lot, words: Words) -> str:
    return kind_name(lot.kind, words)


def _for(lot: Lot, found: SitePlan, words: Words) -> str:
    text = found.called(lot.surfaces) or words("stacks.spare")
    if lot.ceiling:
        text = words("stacks.ceiling_first", names=text)
    if lot.spare and lot.surfaces:
        text += " " + words("stacks.with_spare", n=lot.spare)
    return f"{_kind(lot, words)}; {text}"


def _long(length_in: float, style: str) -> str:
    return format_length(length_in, style)
