"""The commands for the work on site: what `stacks`, `delivery` and `cards` print and write."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from pathlib import Path
from typing import Any

from layout import Job, LengthError, format_length, parse_length_in, plan_job, read_job
from layout.hanging import cards_of
from layout.hanging_day import Progress
from layout.lifting import lifts_of
from layout.plan_types import Plan
from layout.stack_types import Site
from layout.stacks import sign_text
from layout.weights import weight_text
from ui import site_store
from ui.command_options import UnusableInput
from ui.delivery_view import PART as DELIVERY
from ui.delivery_view import counted, delivery_json, difference_text
from ui.hanging_site import Hanging, hanging_of, stacks_by_surface
from ui.hanging_view import card_texts
from ui.paper import paper_size
from ui.site_plan import SitePlan, site_plan
from ui.site_printing import cards_pdf, delivery_pdf, signs_pdf
from ui.site_stacks import KeptStacks, StackChoices, kept_stacks, stacks_of
from ui.store import Store
from ui.words import Words

__all__ = ["Answer", "cards", "delivery", "job_of_file", "stacks", "style_of"]


class Answer:
    """What a command has to say: as JSON, as text, and as the pages of a PDF."""

    def __init__(self, document: dict[str, Any], text: str, pdf: bytes) -> None:
        self.document, self.text, self.pdf = document, text, pdf


def stacks(options: argparse.Namespace, source: bytes, kept_id: str | None) -> Answer:
    """Where the boards go."""
    words, style = Words(options.language), style_of(options)
    if kept_id is not None:
        store = Store()
        found = site_plan(store, store.job(kept_id))
        kept = kept_stacks(store, store.job(kept_id), found)
        title = store.job(kept_id).name
    else:
        found = _from_file(options, source)
        kept = stacks_of(found, _choices(options, found), 0)
        title = found.job.name
    plan = kept.plan
    document = {
        "site": asdict(kept.choices.site),
        "stacks": [{**asdict(stack), "count": stack.count} for stack in plan.stacks],
        "unplaced": [asdict(un) for un in plan.unplaced],
        "refused": [{**asdict(move), "reason": reason} for move, reason in plan.refused],
        "lifts": [asdict(lift) for lift in lifts_of(found.plan.order)],
        "left_out": list(found.left_out),
        "proved": plan.proved,
    }
    lines = []
    for stack in plan.stacks:
        place = found.called((stack.wall,))
        lines.append(
            words("stacks.head", n=stack.number, place=place) + f"  ({weight_text(stack.weight_lb, style)})"
        )
        lines += [f"  {sign_text(lot, style)} {lot.kind}: {found.called(lot.surfaces)}" for lot in stack.lots]
    for un in plan.unplaced:
        lines.append(
            words(
                f"stacks.{un.why}", size=sign_text(un.lot, style), length=format_length(un.needed_in, style)
            )
        )
    pdf = b""
    if options.pdf is not None:
        pdf = signs_pdf(
            plan, kept.choices.site, found, words, style, paper_size(found.job.rules.market), title
        )
    return Answer(document, "\n".join(lines) or words("order.nothing"), pdf)


def cards(options: argparse.Namespace, source: bytes, kept_id: str | None) -> Answer:
    """The cards for cutting and hanging; of a kept job those being hung, once the work has begun."""
    words, style = Words(options.language), style_of(options)
    hanging, title = None, ""
    if kept_id is not None:
        store = Store()
        kept_job = store.job(kept_id)
        title = kept_job.name
        hanging = hanging_of(store, kept_id)
        if hanging is None:
            found = site_plan(store, kept_job)
            hanging = _not_begun(found, kept_stacks(store, kept_job, found))
    else:
        found = _from_file(options, source)
        hanging = _not_begun(found, stacks_of(found, StackChoices(), 0))
        title = found.job.name
    texts = card_texts(hanging, words, style)
    document = {
        "cards": [
            {
                **asdict(card),
                "text": {"before": list(text.before), "pieces": [asdict(piece) for piece in text.pieces]},
            }
            for card, text in zip(hanging.cards, texts, strict=True)
        ],
        "hung": sorted(hanging.progress.hung),
        "to_buy": [asdict(sheet) for sheet in hanging.bought],
    }
    lines = []
    for text in texts:
        lines += [text.head, *(f"  - {line}" for line in text.before)]
        for piece in text.pieces:
            lines += [f"  {'[x]' if piece.hung else '[ ]'} {piece.head}"]
            lines += [f"      - {line}" for line in piece.lines]
    pdf = b""
    if options.pdf is not None:
        pdf = cards_pdf(hanging, words, style, paper_size(hanging.job.rules.market), title)
    return Answer(document, "\n".join(lines) or words("order.nothing"), pdf)


def delivery(options: argparse.Namespace, kept_id: str) -> Answer:
    """What was counted, against what was ordered."""
    words, style = Words(options.language), style_of(options)
    store = Store()
    placed, _ = site_store.part(store, kept_id, DELIVERY)
    if placed is None:
        raise UnusableInput(
            "Nothing was counted for this job yet: open Delivery in the app and take the order along."
        )
    day = counted(store, kept_id, placed)
    title = f"{words('delivery.title')}: {store.job(kept_id).name}"
    pdf = b"" if options.pdf is None else delivery_pdf(day, words, style, title=title)
    return Answer(delivery_json(day), difference_text(day, words, style), pdf)


def _from_file(options: argparse.Namespace, source: bytes) -> SitePlan:
    job = read_job(source)
    return SitePlan(job, plan_job(job) if job.surfaces else Plan(), _rooms(options, job))


def _not_begun(found: SitePlan, kept: KeptStacks) -> Hanging:
    job = found.job
    return Hanging(
        job,
        found.plan,
        found.rooms,
        cards_of(found.plan, job.surfaces, found.rooms, job.rules.market),
        Progress(),
        stacks_by_surface(kept.plan),
        names=found.names,
    )


def _choices(options: argparse.Namespace, found: SitePlan) -> StackChoices:
    ids = {surface.id for surface in found.job.surfaces}
    walkways: dict[str, tuple[tuple[float, float], ...]] = {}
    try:
        for surface, left, right in options.keep_free:
            ends = sorted((parse_length_in(left), parse_length_in(right)))
            walkways[_known(surface, ids)] = (*walkways.get(surface, ()), (ends[0], ends[1]))
        depths = {_known(surface, ids): parse_length_in(depth) for surface, depth in options.depth}
    except LengthError as fault:
        raise UnusableInput(str(fault)) from None
    site = Site(options.floor, options.live_load, options.standing)
    corners = tuple((_known(left, ids), _known(right, ids)) for left, right in options.corner)
    return StackChoices(site, (), walkways, depths, corners)


def job_of_file(options: argparse.Namespace, source: bytes) -> tuple[Job, dict[str, str]]:
    """A job read from a file, and the rooms told on the command line."""
    job = read_job(source)
    return job, _rooms(options, job)


def _rooms(options: argparse.Namespace, job: Job) -> dict[str, str]:
    ids = {surface.id for surface in job.surfaces}
    return {
        _known(surface.strip(), ids): room
        for room, surfaces in options.room
        for surface in surfaces.split(",")
    }


def _known(surface: str, ids: set[str]) -> str:
    if surface not in ids:
        raise UnusableInput(
            f"There is no surface {surface!r} in this job: it has {', '.join(sorted(ids)) or 'none'}."
        )
    return surface


def style_of(options: argparse.Namespace) -> str:
    """How lengths are printed."""
    return "mm" if options.mm else "feet_inches"


def write_pdf(file: str, pdf: bytes) -> None:
    """Write the pages to a file."""
    try:
        Path(file).write_bytes(pdf)
    except OSError as fault:
        raise UnusableInput(f"{file} cannot be written ({fault.strerror}): name another file.") from None
