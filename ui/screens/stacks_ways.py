"""Ways kept free of boards, free floor for stacks, and the stud that stands in the way."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from layout import JobError, LengthError, format_length, parse_length_in
from layout.checks import finite
from layout.framing import MAX_SPAN_IN
from layout.walkway import way_through
from ui import desk, look
from ui.board_size import board_style
from ui.plain_faults import plain_fault
from ui.site_plan import SitePlan
from ui.site_stacks import KeptStacks, StackChoices, keep_choices
from ui.store import Job
from ui.words import Words

__all__ = ["keep", "stud_in_the_way", "ways_and_floor"]

CARRIES = ("unknown", "something", "nothing")


def keep(job: Job, kept: KeptStacks, choices: StackChoices) -> None:
    """Keep changed choices and draw the page anew."""
    keep_choices(desk.store(), job.job_id, choices, kept.revision)
    st.rerun()


def ways_and_floor(job: Job, kept: KeptStacks, found: SitePlan, words: Words, style: str) -> None:
    with st.expander(words("stacks.ways"), key="ways", on_change="rerun"):
        st.caption(words("stacks.ways_how"))
        for wall, stretches in kept.choices.walkways.items():
            for number, (left, right) in enumerate(stretches):
                with st.container(horizontal=True, vertical_alignment="center"):
                    st.write(
                        words(
                            "stacks.way",
                            wall=look.plain(found.called((wall,))),
                            left=format_length(left, style),
                            right=format_length(right, style),
                        )
                    )
                    if st.button(words("stacks.way_remove"), key=f"way-{kept.revision}-{wall}-{number}"):
                        rest = tuple(at for n, at in enumerate(stretches) if n != number)
                        ways = {**kept.choices.walkways, wall: rest}
                        keep(
                            job, kept, replace(kept.choices, walkways={w: at for w, at in ways.items() if at})
                        )
        names = [wall.id for wall in kept.walls]
        wall = str(
            st.selectbox(
                words("stacks.to_wall"),
                names,
                format_func=lambda name: found.called((name,)),
                key=f"way-wall-{kept.revision}",
            )
        )
        windows = [o for s in found.job.surfaces if s.id == wall for o in s.openings if o.kind == "window"]
        for window in windows:
            label = words(
                "stacks.window_in",
                left=format_length(window.left_in, style),
                right=format_length(window.right_in, style),
            )
            if st.button(label, key=f"win-{kept.revision}-{wall}-{window.id}"):
                _add_way(job, kept, wall, window.left_in, window.right_in)
        start = st.text_input(words("stacks.from_left"), key=f"way-left-{kept.revision}")
        end = st.text_input(words("stacks.to_right"), key=f"way-right-{kept.revision}")
        if st.button(words("stacks.way_add"), key=f"way-add-{kept.revision}"):
            try:
                unit = "mm" if style == "mm" else "in"
                ends = sorted((parse_length_in(start, unit), parse_length_in(end, unit)))
            except LengthError as fault:
                st.error(look.plain(words.said(str(fault))))
                return
            _add_way(job, kept, wall, *ends)
        _corner(job, kept, found, wall, words)
        depth = st.text_input(
            words("stacks.depth"),
            format_length(kept.choices.depths_in[wall], style) if wall in kept.choices.depths_in else "",
            key=f"depth-{kept.revision}-{wall}",
        )
        if st.button(words("stacks.depth_keep"), key=f"depth-keep-{kept.revision}"):
            try:
                deep = parse_length_in(depth, "mm" if style == "mm" else "in")
                finite("depth_in", deep, 0.0, MAX_SPAN_IN)  # kept, it would stop every later plan of stacks
            except (LengthError, JobError) as fault:
                st.error(look.plain(plain_fault(fault, words, board_style(style))))
                return
            keep(job, kept, replace(kept.choices, depths_in={**kept.choices.depths_in, wall: deep}))


def _corner(job: Job, kept: KeptStacks, found: SitePlan, wall: str, words: Words) -> None:
    """Which wall goes on round the corner at the right end: a door close to it keeps this end free."""
    room = found.rooms.get(wall, "")
    beside = [w.id for w in kept.walls if w.room == room and w.id != wall]
    if not beside:
        return
    now = dict(kept.choices.corners).get(wall, "")
    chosen = st.selectbox(
        words("stacks.corner"),
        ["", *beside],
        index=beside.index(now) + 1 if now in beside else 0,
        format_func=lambda name: found.called((name,)) if name else words("stacks.corner_unknown"),
        key=f"corner-{kept.revision}-{wall}",
    )
    if chosen != now:
        others = tuple(pair for pair in kept.choices.corners if pair[0] != wall and pair[1] != chosen)
        new = ((wall, str(chosen)),) if chosen else ()
        keep(job, kept, replace(kept.choices, corners=(*others, *new)))


def _add_way(job: Job, kept: KeptStacks, wall: str, left_in: float, right_in: float) -> None:
    stretches = (*kept.choices.walkways.get(wall, ()), (left_in, right_in))
    keep(job, kept, replace(kept.choices, walkways={**kept.choices.walkways, wall: stretches}))


def stud_in_the_way(found: SitePlan, words: Words, style: str) -> None:
    with st.expander(words("stacks.stud"), key="stud", on_change="rerun"):
        look.caution([words("caution.stud")])
        walls = {s.id: s for s in found.job.surfaces if s.kind == "wall"}
        if not walls:
            return
        wall = walls[
            str(
                st.selectbox(
                    words("stacks.through_wall"), list(walls), format_func=lambda name: found.called((name,))
                )
            )
        ]
        carries = str(
            st.radio(
                words("stacks.carries"), CARRIES, format_func=lambda kind: words(f"stacks.carries_{kind}")
            )
        )
        way = way_through(wall, carries, wall.width_in / 2)
        st.write(
            words(
                f"stacks.way_{way.verdict}",
                stud=way.member_id,
                left=format_length(way.left_in, style),
                right=format_length(way.right_in, style),
                clear=format_length(way.clear_in, style),
            )
        )
