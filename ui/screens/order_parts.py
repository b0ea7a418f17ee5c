"""Parts of the order's page: sending it, what goes with it, spares."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

import streamlit as st

from layout import LengthError, Plan, format_length, parse_length_in
from layout.accessories import Corners
from layout.order import SPARE_RULES, SpareRule
from ui import desk, look
from ui.board_size import board_size, board_style
from ui.buying import SETTING, Buying, buying_to_json
from ui.delivery_view import kind_name
from ui.job_plan import boards_on_sale, stock_of
from ui.order_papers import (
    accessory_lines,
    order_csv,
    order_pdf,
    order_text,
    run_text,
    size_of,
)
from ui.order_sheet import Bought
from ui.store import Job
from ui.words import Words

__all__ = [
    "bare_names",
    "goes_with",
    "keep_buying",
    "send",
    "spares_and_bundles",
    "turned_away",
    "why_nothing",
]

MOST_NAMED = 6


def keep_buying(job: Job, buying: Buying) -> None:
    """Keep changed choices and draw the page anew."""
    desk.keep_job_settings(job, **{SETTING: buying_to_json(buying)})
    st.rerun()


def bare_names(plan: Plan, names: Mapping[str, str] | None = None) -> tuple[str, ...]:
    """What the user calls the surfaces of a plan that got no board."""
    return tuple((names or {}).get(each.id, each.name or each.id) for each in plan.bare)


def why_nothing(job: Job, plan: Plan, words: Words, names: Mapping[str, str] | None = None) -> str:
    """Why there is no board to buy: no surface, no board on sale, none that gets in, or none that fits."""
    if not job.surfaces:
        return words("order.nothing")
    if not boards_on_sale(job):
        return words("buy.none_on_sale")
    if not stock_of(job):
        return words("buy.no_stock")
    bare = bare_names(plan, names)
    return words("buy.incomplete", names=look.plain(", ".join(bare))) if bare else words("order.no_boards")


def turned_away(all_of_it: Bought, words: Words, style: str) -> None:
    """Which boards on the list cannot get in, and what stops them."""
    if not all_of_it.turned_away:
        return
    sizes = []
    for board, passage in all_of_it.turned_away:
        size = board_size(board.length_in, board.width_in, style)
        sizes.append(words("buy.stopped_by", size=size, passage=passage))
    sizes = list(dict.fromkeys(sizes))
    shown = ", ".join(sizes[:MOST_NAMED]) + (" …" if len(sizes) > MOST_NAMED else "")
    st.info(look.plain(words("buy.turned_away", boards=shown)))


def send(all_of_it: Bought, words: Words, style: str, size: str) -> None:
    """The order to send: text, table, pages."""
    st.subheader(words("buy.send"), anchor=False)
    name = re.sub(r"[^\w\- ]+", "", all_of_it.name).strip()[:60] or "order"
    text = order_text(all_of_it, words, style)
    with st.container(horizontal=True):
        st.download_button(
            words("buy.as_text"), text, file_name=f"{name}.txt", mime="text/plain", on_click="ignore"
        )
        st.download_button(
            words("buy.as_csv"),
            # the mark at the start tells a spreadsheet that it is UTF-8
            ("\ufeff" + order_csv(all_of_it, words, style)).encode(),
            file_name=f"{name}.csv",
            mime="text/csv",
            on_click="ignore",
        )
        st.download_button(
            words("buy.as_pdf"),
            lambda: order_pdf(all_of_it, words, style, size),
            file_name=f"{name}.pdf",
            mime="application/pdf",
            on_click="ignore",
        )
    with st.expander(words("buy.as_text")):
        look.block(text)


def goes_with(job: Job, all_of_it: Bought, buying: Buying, words: Words, style: str) -> None:
    """Screws, tape, bead, compound and tools, and the corners that only the user can count."""
    found = all_of_it.accessories
    st.subheader(words("buy.goes_with"), anchor=False)
    st.markdown("\n".join(f"- {look.plain(line)}" for line in accessory_lines(found, words, style)))
    feet = {
        "tapered": found.joints.tapered_ft,
        "mixed": found.joints.mixed_ft,
        "butt": found.joints.butt_ft,
        "corner": found.joints.corner_ft,
        "ceiling": found.joints.ceiling_ft,
    }
    counted = words("buy.joints", **{name: run_text(length, style, words) for name, length in feet.items()})
    st.caption(words("buy.goes_with_how") + " " + counted)
    with st.expander(words("buy.corners"), key="corners", on_change="rerun"):
        outside = st.number_input(words("buy.corners_outside"), 0, 500, buying.corners.outside, key="outside")
        # a number of its own key for each count: one that was only shown is not taken for the user's
        inside = st.number_input(
            words("buy.corners_inside"), 0, 1000, found.inside_corners, key=f"inside-{found.inside_corners}"
        )
        short = board_style(style)
        bead = st.text_input(
            words("buy.corners_bead"),
            format_length(buying.corners.extra_bead_in, short) if buying.corners.extra_bead_in else "",
            key="more-bead",
        )
        try:
            # left empty it stays as it was; emptied, the plan is asked again
            untold = buying.corners.extra_bead_in or None
            extra_in = None if untold else buying.corners.extra_bead_in
            if bead.strip():
                extra_in = parse_length_in(bead, "mm" if style == "mm" else "ft")
        except LengthError as fault:
            st.error(look.plain(words.said(str(fault))))
            return
        told = buying.corners.inside is not None or inside != found.inside_corners
        now = Corners(int(outside), int(inside) if told else None, extra_in)
        if now != buying.corners:
            keep_buying(job, replace(buying, corners=now))


def spares_and_bundles(job: Job, all_of_it: Bought, buying: Buying, words: Words, style: str) -> None:
    """How many boards more, by rule or size by size, and the bundles they come in."""
    with st.expander(words("buy.spares"), key="spares", on_change="rerun"):
        rule = st.selectbox(
            words("buy.spares_rule"),
            SPARE_RULES,
            index=SPARE_RULES.index(buying.spares.rule),
            format_func=lambda name: words(f"buy.rule_{name}"),
            key="spares-rule",
        )
        count, percent = buying.spares.count, buying.spares.percent
        if rule == "percent":
            percent = st.number_input(
                words("buy.spares_percent"), 0.0, 100.0, percent, 1.0, key="spares-percent"
            )
        elif rule != "none":
            count = st.number_input(words("buy.spares_count"), 0, 100, count, key="spares-count")
        bundle = st.number_input(words("buy.bundle"), 1, 100, buying.bundle_of, key="bundle")
        st.caption(words("buy.own_spare_how"))
        own = dict(buying.own_spares)
        for row in all_of_it.order.rows:
            wanted = st.number_input(
                words("buy.own_spare", size=f"{size_of(row, style)} {kind_name(row.kind, words)}"),
                0,
                1000,
                own.get(row.id),
                key=f"own-{row.id}",
            )
            if wanted is None:
                own.pop(row.id, None)
            else:
                own[row.id] = int(wanted)
        new = replace(
            buying,
            spares=SpareRule(rule, int(count), float(percent)),
            bundle=buying.bundle if bundle == buying.bundle_of else int(bundle),
            own_spares=own,
        )
        if new != buying:
            keep_buying(job, new)
