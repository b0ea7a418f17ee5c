"""The commands for buying: what `order`, `prices` and `access` print and write."""

from __future__ import annotations

import argparse
import math
from collections import Counter
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from layout import Board, Job, LengthError, format_length, parse_length_in, write_job
from layout.access import SILL_PAD_IN, Corner, Gap, Passage, Stairs, Way, boards_that_come, longest_through
from layout.accessories import Corners
from layout.offers import Offer, on_stock
from layout.order import SpareRule
from layout.plan_types import Plan
from layout.prices import read_prices
from ui.board_size import size_of_any_length
from ui.buying import SETTING, Buying, buying_of, buying_to_json
from ui.command_files import write_json, write_text
from ui.command_options import UnusableInput
from ui.command_units import style_of
from ui.job_plan import boards_on_sale, plan_boards, usual_boards
from ui.option_values import number_told
from ui.order_papers import money, order_csv, order_pdf, order_text, run_text, turned_away_text, without_wide
from ui.order_sheet import bought, offers_for, offers_json, order_json, stopped_boards, turned_away_json
from ui.paper import paper_size
from ui.rooms import rooms_of
from ui.site_commands import Answer, job_of_file
from ui.site_plan import site_plan
from ui.store import Job as KeptJob
from ui.store import Store
from ui.unboarded import unboarded
from ui.words import Words

__all__ = ["access", "order", "prices"]

OWN_LIST = "the job's own list"


def order(options: argparse.Namespace, source: bytes, kept_id: str | None) -> Answer:
    """What to buy."""
    words = Words(options.language)
    given = _given(options, source, kept_id)
    style = style_of(options, given.job, given.kept)
    job, rooms, on_sale, buying = given.job, given.rooms, given.on_sale, given.buying
    stock = boards_that_come(on_sale, buying.ways, _rooms(job, rooms))
    if not stock:
        raise UnusableInput(_none_gets_in(on_sale, buying))
    own_list = on_sale if buying.supplier is None else ()
    fitted = replace(on_stock(job, stock, buying.ways, rooms, own_list), extra=buying.extra)
    plan = plan_boards(fitted) if fitted.surfaces else Plan()
    all_of_it = replace(
        bought(fitted, plan, buying, rooms, on_sale, given.left_out),
        guessed=given.guessed,
        placeholder=kept_id is not None and buying.supplier is None,
    )
    ids = [row.id for row in all_of_it.order.rows]
    for size, _ in options.spares_of:
        if size not in ids:
            raise UnusableInput(f"The order has no board {size!r}: it has {', '.join(ids)}.")
    text = order_text(all_of_it, words, style)
    if options.write_job is not None:
        write_json(options.write_job, write_job(fitted))
    if options.text is not None:
        write_text(options.text, text)
    if options.csv is not None:
        # spreadsheets take a table for UTF-8 by the mark at its head
        write_text(options.csv, order_csv(all_of_it, words, style), "utf-8-sig")
    pdf = b""
    if options.pdf is not None:
        pdf = order_pdf(all_of_it, words, style, paper_size(job.rules.market))
    shown = f"{text}\n{turned_away_text(all_of_it, words, style)}".strip()
    return Answer(order_json(all_of_it), shown, pdf, (*given.left_out, *unboarded(plan)), style)


def prices(options: argparse.Namespace, source: bytes, kept_id: str | None) -> Answer:
    """The suppliers side by side."""
    words = Words(options.language)
    given = _given(options, source, kept_id)
    job, rooms, on_sale, buying = given.job, given.rooms, given.on_sale, given.buying
    if not boards_that_come(on_sale, buying.ways, _rooms(job, rooms)):
        raise UnusableInput(_none_gets_in(on_sale, buying))
    style = style_of(options, job, given.kept)
    usual = () if given.kept is None else usual_boards(given.kept)

    def without(width_in: float) -> str:
        return without_wide(buying.chosen or OWN_LIST, width_in, style, words)

    offers = offers_for(job, on_sale, buying, OWN_LIST, without, plan_boards, rooms, usual)
    lines = [
        f"{money(offer.order.total):>12} {offer.order.count:>6} "
        f"{run_text(offer.butt_joint_ft, style, words):>11}  {offer.supplier.name}"
        + (f"  ({words('prices.unboarded', names=', '.join(offer.unboarded))})" if offer.unboarded else "")
        for offer in offers
    ]
    head = [f"{words('prices.total'):>12}", f"{words('prices.boards'):>6}", f"{words('prices.butt'):>11}"]
    text = "\n".join([f"{' '.join(head)}  {words('prices.supplier')}", *lines])
    if given.guessed:  # every sum of the table rests on it
        text += "\n" + words("buy.guessed", names=", ".join(given.guessed))
    document = offers_json(offers, given.guessed)
    return Answer(document, text, b"", (*given.left_out, *_nobody_boards(offers)), style)


def _nobody_boards(offers: tuple[Offer, ...]) -> tuple[str, ...]:
    """The surfaces that no supplier has boards for: another supplier is no way out for those."""
    names = (
        [name for name in offers[0].unboarded if all(name in o.unboarded for o in offers)] if offers else []
    )
    return (
        (f"No supplier has a board for {', '.join(names)}: choose another thickness, kind or width.",)
        if names
        else ()
    )


def access(options: argparse.Namespace, source: bytes, kept_id: str | None) -> Answer:
    """Which boards get in."""
    words = Words(options.language)
    given = _given(options, source, kept_id)
    style = style_of(options, given.job, given.kept)
    job, rooms, on_sale, buying = given.job, given.rooms, given.on_sale, given.buying
    sizes = sorted({(board.width_in, board.thickness_in) for board in on_sale})
    passing = set(boards_that_come(on_sale, buying.ways, _rooms(job, rooms)))
    passages = []
    lines = []
    for way in buying.ways:
        for passage in way.passages:
            limits = [(*size, longest_through(passage, *size)) for size in sizes]
            passages.append(
                {
                    "way": way.name,
                    "rooms": list(way.rooms),
                    "name": passage.name,
                    "limits": [
                        {
                            "width_in": width_in,
                            "thickness_in": thick_in,
                            # JSON has no infinity: null where any length passes
                            "longest_in": None if math.isinf(longest_in) else longest_in,
                        }
                        for width_in, thick_in, longest_in in limits
                    ],
                }
            )
            for width_in, thick_in, longest_in in limits:
                size = size_of_any_length(width_in, thick_in, style)
                longest = words("access.any")
                if longest_in <= 0.0:
                    longest = words("access.none_pass")
                elif not math.isinf(longest_in):
                    longest = format_length(math.floor(longest_in), style)
                by = f"{way.name}: " if len(buying.ways) > 1 else ""
                lines.append(f"{by}{passage.name}: {size}: {longest}")
    lines.append(words("access.effect", n=len(on_sale), kept=len(passing)))
    document = {
        "passages": passages,
        "boards": [{**asdict(board), "gets_in": board in passing} for board in on_sale],
        "turned_away": turned_away_json(stopped_boards(on_sale, buying, _rooms(job, rooms))),
    }
    return Answer(document, "\n".join(lines), b"")


@dataclass(frozen=True)
class _Given:
    """What is bought for, and how.

    Attributes
    ----------
    rooms : dict
        Room of each surface, by its id.
    on_sale : tuple of Board
        Those that may not get in among them.
    left_out : tuple of str
        One sentence for each surface that could not be planned.
    guessed : tuple of str
        What the user calls the walls whose scale is a guess.
    kept : KeptJob or None
        None: a job of a file.
    """

    job: Job
    rooms: dict[str, str]
    on_sale: tuple[Board, ...]
    buying: Buying
    left_out: tuple[str, ...] = ()
    guessed: tuple[str, ...] = ()
    kept: KeptJob | None = None


def _given(options: argparse.Namespace, source: bytes, kept_id: str | None) -> _Given:
    """A kept job or one of a file, with the choices of the command line over its own."""
    left_out: tuple[str, ...] = ()
    called: dict[str, str] = {}
    kept: KeptJob | None = None
    if kept_id is not None:
        store = Store()
        kept = store.job(kept_id)
        buying, on_sale = buying_of(kept.settings), boards_on_sale(kept)
        found = site_plan(store, kept)
        job, rooms, left_out = found.job, found.rooms, found.left_out
        called = found.names
        named = {room for room in rooms_of(kept) if room}
    else:
        job, rooms = job_of_file(options, source)
        named = set(rooms.values())
        extra, on_sale = job.extra, job.stock
        buying = Buying(spares=extra.spares, bundle=extra.bundle, own_spares=dict(extra.own_spares))
    if options.prices is not None:
        try:
            listed = read_prices(Path(options.prices).read_text(encoding="utf-8-sig"))
        except (OSError, UnicodeDecodeError) as fault:
            raise UnusableInput(
                f"{options.prices} cannot be read as a price list: name a CSV file in UTF-8."
            ) from fault
        buying = replace(buying, suppliers=listed, chosen=listed[0].name)
    if options.supplier is not None:
        names = [each.name for each in buying.suppliers]
        if options.supplier not in names:
            raise UnusableInput(
                f"There is no supplier {options.supplier!r}: the list has {', '.join(names) or 'none'}."
            )
        buying = replace(buying, chosen=options.supplier)
    supplier = buying.supplier
    if supplier is not None:
        if options.delivery_price is not None:
            supplier = replace(supplier, delivery_price=options.delivery_price)
            others = tuple(supplier if s.name == supplier.name else s for s in buying.suppliers)
            buying = replace(buying, suppliers=others)
        on_sale = supplier.boards
    buying = _chosen(options, buying, named)
    if options.keep:
        if kept_id is None or kept is None:
            raise UnusableInput("Only a kept job keeps its choices: add --kept and give its name.")
        store = Store()
        store.save_job(kept_id, kept.revision, settings={**kept.settings, SETTING: buying_to_json(buying)})
    guessed = tuple(called.get(each.id, each.name or each.id) for each in job.surfaces if each.guessed)
    return _Given(job, rooms, on_sale, buying, left_out, guessed, kept)


def _chosen(options: argparse.Namespace, buying: Buying, rooms: set[str]) -> Buying:
    """The choices with those of the command line over them; `rooms` are those that the job has."""
    ways = _ways(options, rooms)
    if ways:
        buying = replace(buying, ways=ways)
    if options.command == "access":
        return buying
    now = buying.spares
    spares = SpareRule(
        options.spare_rule or now.rule,
        now.count if options.spares is None else options.spares,
        now.percent if options.spare_percent is None else options.spare_percent,
    )
    bundle = buying.bundle if options.bundle is None else max(1, options.bundle)
    own = {**buying.own_spares, **{size: _number(n) for size, n in options.spares_of}}
    buying = replace(buying, spares=spares, bundle=bundle, own_spares=own)
    if options.command == "order":
        told = buying.corners
        buying = replace(
            buying,
            corners=Corners(
                told.outside if options.outside_corners is None else options.outside_corners,
                told.inside if options.inside_corners is None else options.inside_corners,
                told.extra_bead_in if options.more_bead is None else _length(options.more_bead),
            ),
        )
    return buying


def _ways(options: argparse.Namespace, rooms: set[str]) -> tuple[Way, ...]:
    """The ways in, in the order they were given; the first needs no name."""
    pad_in = 0.0 if options.bare_sill else SILL_PAD_IN
    high_in = _length(options.corridor_height or "80in")
    ways: list[tuple[str, list[Passage], list[str]]] = [("1", [], [])]
    counts: Counter[str] = Counter()
    for kind, given in options.passages:
        if kind == "way":
            ways.append((given, [], []))
            continue
        if kind == "leads_to":
            ways[-1][2].append(_room_called(given, rooms))
            continue
        counts[kind] += 1
        name, at = f"{kind} {counts[kind]}", [_length(text) for text in given]
        if kind == "corner":
            passage: Passage = Corner(name, at[0], at[1], high_in)
        elif kind == "stairs":
            passage = Stairs(name, *at)
        else:
            passage = Gap(name, at[0], at[1], kind, pad_in if kind == "window" else 0.0)
        ways[-1][1].append(passage)
    empty = next((name for name, passages, _ in ways[1:] if not passages), None)
    if empty is not None:
        raise UnusableInput(
            f"The way {empty!r} has no measures: put its --window, --door and so on after it."
        )
    return tuple(Way(name, tuple(passages), tuple(to)) for name, passages, to in ways if passages)


def _room_called(name: str, rooms: set[str]) -> str:
    """The job's room of that name, in capitals or not; a way to no room would limit nothing."""
    wanted = name.strip()
    found = [room for room in rooms if room == wanted] or [
        room for room in rooms if room.casefold() == wanted.casefold()
    ]
    if len(found) != 1:
        known = ", ".join(repr(room) for room in sorted(rooms))
        raise UnusableInput(
            f"there is no room called {name!r}: "
            + (f"the job's rooms are {known}." if known else "the job has none, name them with --room.")
        )
    return found[0]


def _length(text: str) -> float:
    try:
        return parse_length_in(text)
    except LengthError as fault:
        raise UnusableInput(str(fault)) from None


def _rooms(job: Job, rooms: dict[str, str]) -> list[str]:
    """The room of each surface."""
    return [rooms.get(surface.id, "") for surface in job.surfaces]


def _number(text: str) -> int:
    number = number_told(text)
    if number is None or number > 1000:
        raise UnusableInput(f"{text!r} is no number of boards: write 0 to 1000.")
    return number


def _none_gets_in(on_sale: tuple[Board, ...], buying: Buying) -> str:
    stopped = stopped_boards(on_sale, buying)
    names = ", ".join(dict.fromkeys(name for _, name in stopped if name))
    return f"No board of the list gets in ({names}): check those measures, or give another way."
