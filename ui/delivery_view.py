"""Delivery day between the store and the screen: the order as placed, the counts, what is shown."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any

from layout.delivery import (
    TAPS,
    Delivery,
    OrderedLine,
    Tally,
    delivery_of,
    ordered_lines,
)
from layout.lots import size_name
from layout.plan_types import OrderLine
from layout.stack_types import StackPlan
from ui import site_store, site_taps
from ui.board_size import board_size
from ui.store import Store
from ui.words import Words

__all__ = [
    "counted",
    "delivery_json",
    "delivery_view",
    "difference_text",
    "kind_name",
    "place_order",
    "placed_lines",
    "placed_order",
    "size_text",
]

PART = LOG = "delivery"


def place_order(
    store: Store,
    job_id: str,
    order: Iterable[OrderLine],
    stacks: StackPlan,
    revision: int,
    names: Mapping[str, str] | None = None,
) -> None:
    """Keep an order as the one that was placed, with where its boards go: what is counted against.

    `names` holds what the user calls each wall, by its id in the plan.
    """
    site_store.keep_part(store, job_id, PART, placed_order(order, stacks, names), revision)


def placed_order(
    order: Iterable[OrderLine], stacks: StackPlan, names: Mapping[str, str] | None = None
) -> dict[str, Any]:
    """An order with where its boards go, as `place_order` keeps it."""
    places: dict[str, list[dict[str, Any]]] = {}
    for stack in stacks.stacks:
        for lot in stack.lots:
            line = size_name(lot.kind, lot.thickness_in, lot.width_in, lot.length_in)
            there = places.setdefault(line, [])
            if there and there[-1]["stack"] == stack.number:
                there[-1]["count"] += lot.count
            else:
                there.append(
                    {
                        "stack": stack.number,
                        "wall": (names or {}).get(stack.wall, stack.wall),
                        "room": stack.room,
                        "count": lot.count,
                    }
                )
    # what is hung first is carried in last, so that it stands in front
    return {
        "lines": [asdict(line) for line in ordered_lines(order)],
        "places": {line: list(reversed(there)) for line, there in places.items()},
    }


def placed_lines(placed: dict[str, Any]) -> tuple[OrderedLine, ...]:
    """The lines of an order as it was placed."""
    return tuple(OrderedLine(**line) for line in placed["lines"])


def counted(store: Store, job_id: str, placed: dict[str, Any]) -> Delivery:
    """What has been counted so far."""
    return delivery_of(placed_lines(placed), site_taps.kept_taps(store, job_id, LOG, TAPS))


def delivery_view(
    job_id: str,
    placed: dict[str, Any],
    day: Delivery,
    words: Words,
    style: str,
    refused: tuple[str, ...] = (),
) -> dict[str, Any]:
    """What the tally in the browser shows: see `ui/tally/tally.js`."""
    return {
        "job": job_id,
        "words": words.group("tally"),
        "clock": day.clock,
        "note": day.note,
        "finished": day.finished,
        "known": sorted(day.ids),
        "refused": list(refused),
        "lines": [
            {
                "line": tally.ordered.line,
                "size": size_text(tally.ordered, style),
                "kind": kind_name(tally.ordered.kind, words),
                "ordered": tally.ordered.count,
                "arrived": tally.arrived,
                "damaged": tally.damaged,
                "note": tally.note,
                "places": [
                    {
                        "stack": place["stack"],
                        "count": place["count"],
                        "where": ", ".join(text for text in (place["room"], place["wall"]) if text),
                    }
                    for place in placed.get("places", {}).get(tally.ordered.line, [])
                ],
            }
            for tally in day.tallies
        ],
    }


def size_text(line: OrderedLine, style: str) -> str:
    """A board's size as it is called out."""
    return board_size(line.length_in, line.width_in, style, line.thickness_in)


def kind_name(kind: str, words: Words) -> str:
    """What a kind of board is called in this language."""
    return words.or_else(f"board.{kind}", kind.replace("_", " "))


def difference_text(day: Delivery, words: Words, style: str) -> str:
    """What to take up with the supplier, as a text to send; one line for each size that differs."""
    lines = [_difference(tally, words, style) for tally in day.to_take_up]
    if day.note:
        lines.append(words("delivery.note_line", note=day.note))
    if not lines:
        return words("delivery.all_there")
    return "\n".join([words("delivery.difference_head"), *lines])


def _difference(tally: Tally, words: Words, style: str) -> str:
    parts = [
        words(f"delivery.{what}", n=count)
        for what, count in (("short", tally.short), ("over", tally.over), ("damaged", tally.damaged))
        if count
    ]
    line = words(
        "delivery.difference_line",
        size=size_text(tally.ordered, style),
        kind=kind_name(tally.ordered.kind, words),
        ordered=tally.ordered.count,
        arrived=tally.arrived,
        parts=", ".join(parts),
    )
    return line + (f" {words('delivery.note_line', note=tally.note)}" if tally.note else "")


def delivery_json(day: Delivery) -> dict[str, Any]:
    """What ``seamwright delivery --json`` prints."""
    return {
        "finished": day.finished,
        "note": day.note,
        "lines": [
            {
                **asdict(tally.ordered),
                "arrived": tally.arrived,
                "short": tally.short,
                "over": tally.over,
                "damaged": tally.damaged,
                "usable": tally.usable,
                "note": tally.note,
            }
            for tally in day.tallies
        ],
    }
