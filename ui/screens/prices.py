"""Suppliers: what each stocks and asks, and the whole job planned with each, side by side."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from layout import JobError
from layout.prices import COLUMNS, KINDS, Supplier, read_prices, write_prices
from ui import desk, look
from ui.board_size import board_style
from ui.buying import Buying, buying_of
from ui.framed import framed_surfaces
from ui.job_plan import boards_job, boards_on_sale, plan_names, room_of, stock_of, usual_boards
from ui.market import units_of
from ui.order_papers import money, run_text, without_wide
from ui.order_sheet import offers_for
from ui.plain_faults import plain_fault
from ui.screens.boards_part import boards_not_sold
from ui.screens.order_parts import keep_buying
from ui.store import Job
from ui.words import Words
from ui.work import planned_boards

EXAMPLE = "kind,thickness,width,length,price\nregular,1/2 in,48 in,8 ft,\n"
EXAMPLE_MM = "kind,thickness,width,length,price\nregular,12.5 mm,1200 mm,2400 mm,\n"
LARGEST_FILE_MB = 1


def show() -> None:
    """Draw the page."""
    words = desk.words()
    job = desk.open_job()
    st.header(words("prices.title"), anchor=False)
    if job is None:
        st.info(words("order.nothing"))
        return
    desk.say_now()
    buying = buying_of(job.settings)
    _buy_at(job, buying, words)
    _compare(job, buying, words, units_of(job.settings))
    _lists(job, buying, words, units_of(job.settings))


def _buy_at(job: Job, buying: Buying, words: Words) -> None:
    names = ["", *(each.name for each in buying.suppliers)]
    chosen = st.selectbox(
        words("prices.buy_at"),
        names,
        index=names.index(buying.chosen) if buying.chosen in names else 0,
        format_func=lambda name: name or words("prices.own_list"),
        key=f"buy-at-{len(names)}",
    )
    if chosen != buying.chosen and (chosen or buying.chosen in names):
        keep_buying(job, replace(buying, chosen=str(chosen)))
    if not chosen:
        st.caption(words.in_units("buy.placeholder", units_of(job.settings)))


def _compare(job: Job, buying: Buying, words: Words, style: str) -> None:
    st.subheader(words("prices.compare"), anchor=False)
    st.caption(words("prices.compare_how"))
    if not st.session_state.get("compare"):
        if st.button(words("prices.compare_now"), type="primary"):
            st.session_state["compare"] = True
            st.rerun()
        return
    everything = framed_surfaces(job, read_now=True)
    walls = tuple(each.framing for each in everything if each.framing is not None)
    if not walls or not stock_of(job):
        st.info(words("order.nothing" if not walls else "buy.no_stock"))
        return
    guessed = [each.surface.name for each in everything if each.guessed]
    if guessed:
        st.warning(words("buy.guessed", names=look.plain(", ".join(guessed))))
    own = words("prices.own_list")
    boards_not_sold(job, words)
    names = plan_names(job)
    rooms = {names[surface.surface_id]: room_of(surface) for surface in job.surfaces}

    def without(width_in: float) -> str:
        return without_wide(buying.chosen or own, width_in, style, words)

    offers = offers_for(
        boards_job(job, walls),
        boards_on_sale(job),
        buying,
        own,
        without,
        planned_boards,
        rooms,
        usual_boards(job),
    )
    rows = []
    for offer in offers:
        name = offer.supplier.name
        if offer.unboarded:
            name += f": {words('prices.unboarded', names=', '.join(offer.unboarded))}"
        rows.append(
            (
                money(offer.order.total),
                name,
                str(offer.order.count),
                run_text(offer.butt_joint_ft, style, words),
            )
        )
    look.table(
        (
            words("prices.total"),
            words("prices.supplier"),
            words("prices.boards"),
            words("prices.butt"),
        ),
        rows,
        classes=("count", "", "fixed", "fixed"),
        look=frozenset(number for number, offer in enumerate(offers) if offer.unboarded),
    )
    whole = [offer for offer in offers if offer.complete]
    if len(whole) > 1:
        best = min(whole, key=lambda offer: offer.order.total)
        st.markdown(
            "**"
            + look.plain(words("prices.cheapest", name=best.supplier.name, amount=money(best.order.total)))
            + "**"
        )


def _lists(job: Job, buying: Buying, words: Words, style: str) -> None:
    st.subheader(words("prices.list"), anchor=False)
    names = [*(each.name for each in buying.suppliers), ""]
    chosen = st.selectbox(
        words("prices.supplier"),
        names,
        format_func=lambda name: name or words("prices.new"),
        key=f"list-of-{len(names)}",
    )
    before = next((each for each in buying.suppliers if each.name == chosen), None)
    key = f"{chosen}-{len(names)}"
    name = chosen or st.text_input(words("prices.name"), key=f"name-{key}", max_chars=80).strip()
    delivery = st.number_input(
        words("prices.delivery"),
        0.0,
        1e6,
        before.delivery_price if before else 0.0,
        key=f"delivery-{key}",
    )
    bundle = st.number_input(
        words("prices.bundle"), 1, 100, before.bundle if before else 2, key=f"bundle-{key}"
    )
    proposed = (before,) if before is not None else _first_list(job, style)
    example = EXAMPLE_MM if style == "mm" else EXAMPLE
    first = _without_supplier(write_prices(proposed, style)) if proposed else example
    table = st.text_area(words("prices.table"), first, height=260, key=f"table-{key}")
    st.caption(look.plain(words("prices.table_how", kinds=", ".join(KINDS))))
    file = st.file_uploader(
        words("prices.file"), type=["csv", "txt"], key=f"file-{key}", max_upload_size=LARGEST_FILE_MB
    )
    with st.container(horizontal=True):
        save = st.button(words("prices.save"), type="primary", key=f"save-{key}")
        if before is not None:
            st.download_button(
                words("prices.write"),
                write_prices((before,), style),
                file_name="prices.csv",
                mime="text/csv",
                on_click="ignore",
            )
            if st.button(words("prices.remove"), key=f"remove-{key}"):
                rest = tuple(each for each in buying.suppliers if each.name != chosen)
                left = "" if buying.chosen == chosen else buying.chosen
                keep_buying(job, replace(buying, suppliers=rest, chosen=left))
    if not save:
        return
    try:
        if file is not None:
            found = read_prices(file.getvalue().decode("utf-8-sig", "replace"))
        else:
            found = read_prices(table)
        if len(found) == 1 and name:
            found = (replace(found[0], name=name),)
        elif len(found) == 1 and found[0].name == "1":
            st.error(words("prices.no_name"))
            return
        if not chosen and any(each.name in names for each in found):
            st.error(words("prices.name_taken"))
            return
        after = buying
        for each in found:
            after = after.with_supplier(replace(each, delivery_price=float(delivery), bundle=int(bundle)))
    except JobError as fault:
        st.error(look.plain(plain_fault(fault, words, board_style(style))))
        return
    desk.say_later(words("prices.saved"))
    keep_buying(job, replace(after, chosen=after.chosen or found[0].name))


def _first_list(job: Job, style: str) -> tuple[Supplier, ...]:
    """What a new supplier's list begins with: the boards on sale so far, of the user's own units."""
    boards = boards_on_sale(job)
    own = tuple(board for board in boards if (board.width_in % 6.0 == 0.0) == (style != "mm")) or boards
    return (Supplier("1", own[:200]),) if own else ()


def _without_supplier(table: str) -> str:
    """The table without its first column, whose name stands above it."""
    assert table.startswith(COLUMNS[0] + ",")
    return "\n".join(line.partition(",")[2] for line in table.splitlines()) + "\n"
