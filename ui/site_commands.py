"""The commands for the work on site: what `stacks`, `delivery` and `cards` print and write."""

from __future__ import annotations

import argparse
from dataclasses import asdict, dataclass, replace
from typing import Any

from layout import Job, JobError, LengthError, format_length, parse_length_in, plan_job, read_job
from layout.delivery import Delivery
from layout.hanging import cards_of
from layout.hanging_day import Progress
from layout.lifting import lifts_of
from layout.plan_types import Plan
from layout.site_taps import LARGEST_CHANGE, LONGEST_NOTE, SiteTap
from layout.stack_types import Moved
from layout.stacks import sign_text
from layout.walkway import CARRIES, way_through
from layout.walkway import Way as WayThrough
from layout.weights import weight_text
from ui import site_store
from ui.command_options import UnusableInput
from ui.command_units import FEET, style_of
from ui.delivery_view import PART as DELIVERY
from ui.delivery_view import counted, delivery_json, difference_text, place_order
from ui.hanging_site import PART as HANGING
from ui.hanging_site import Hanging, begin_hanging, hanging_of, stacks_by_surface
from ui.hanging_view import card_texts
from ui.market import market_of
from ui.option_values import number_told
from ui.paper import paper_size
from ui.site_plan import SitePlan, guessed_names, site_plan
from ui.site_printing import cards_pdf, delivery_pdf, signs_pdf
from ui.site_stacks import PART as STACKS
from ui.site_stacks import KeptStacks, StackChoices, keep_choices, kept_stacks, read_choices, stacks_of
from ui.store import Job as KeptJob
from ui.store import Store
from ui.store_rows import new_id
from ui.unboarded import unboarded, unboarded_lines
from ui.words import Words

__all__ = ["Answer", "cards", "delivery", "job_of_file", "stacks"]


@dataclass(frozen=True)
class Answer:
    """What a command has to say, as JSON, text and the pages of a PDF; which surfaces it leaves bare.

    Attributes
    ----------
    unboarded : tuple of str
        A sentence for each, with lengths in feet and inches.
    style : str
        How lengths are printed, a style of `layout.format_length`.
    """

    document: dict[str, Any]
    text: str
    pdf: bytes
    unboarded: tuple[str, ...] = ()
    style: str = FEET


def stacks(options: argparse.Namespace, source: bytes, kept_id: str | None) -> Answer:
    """Where the boards go."""
    words = Words(options.language)
    kept_job: KeptJob | None = None
    if kept_id is not None:
        store = Store()
        kept_job = store.job(kept_id)
        found = site_plan(store, kept_job)
        value, revision = site_store.part(store, kept_id, STACKS)
        choices = _choices(options, found, read_choices(value or {}))
        kept = stacks_of(found, choices, revision)
        _known_lots(options, kept)
        if options.keep:
            keep_choices(store, kept_id, choices, revision)
        title = kept_job.name
    else:
        found = _from_file(options, source)
        if options.keep:
            raise UnusableInput("Only a kept job keeps its stacks: add --kept and give its name.")
        kept = stacks_of(found, _choices(options, found, StackChoices()), 0)
        _known_lots(options, kept)
        title = found.job.name
    style = style_of(options, found.job, kept_job)
    plan = kept.plan
    document = {
        "site": asdict(kept.choices.site),
        "stacks": [{**asdict(stack), "count": stack.count} for stack in plan.stacks],
        "unplaced": [asdict(un) for un in plan.unplaced],
        "refused": [{**asdict(move), "reason": reason} for move, reason in plan.refused],
        "lifts": [asdict(lift) for lift in lifts_of(found.plan.order)],
        "left_out": list(found.unboarded),
        "guessed": list(found.guessed),
        "proved": plan.proved,
    }
    way = _way_through(options, found)
    if way is not None:
        document["way_through"] = asdict(way)
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
    if way is not None:
        ends = {"left": way.left_in, "right": way.right_in, "clear": way.clear_in}
        lengths = {name: format_length(length, style) for name, length in ends.items()}
        lines.append(words(f"stacks.way_{way.verdict}", stud=way.member_id, **lengths))
        lines.append(words("caution.stud"))
    if found.guessed:
        lines.append(words("signs.guessed", names=found.called(found.guessed)))
    pdf = b""
    if options.pdf is not None:
        pdf = signs_pdf(
            plan, kept.choices.site, found, words, style, paper_size(found.job.rules.market), title
        )
    lines += unboarded_lines(found.plan, found.left_out, words, style)
    return Answer(document, "\n".join(lines) or words("order.nothing"), pdf, found.unboarded, style)


def _way_through(options: argparse.Namespace, found: SitePlan) -> WayThrough | None:
    """What is to be said of a stud that stands in the way of a wall."""
    if options.through is None:
        return None
    name, carries = options.through
    walls = {surface.id: surface for surface in found.job.surfaces if surface.kind == "wall"}
    wall = walls[_known(name, set(walls))]
    if carries not in CARRIES:
        raise UnusableInput(f"What a wall carries is one of {', '.join(CARRIES)}, not {carries!r}.")
    return way_through(wall, carries, wall.width_in / 2)


def _known_lots(options: argparse.Namespace, kept: KeptStacks) -> None:
    lots = {lot.id for lot in kept.lots}
    for lot, *_ in options.move:
        if lot not in lots:
            raise UnusableInput(f"There is no lot {lot!r}: the JSON has {', '.join(sorted(lots)) or 'none'}.")


def cards(options: argparse.Namespace, source: bytes, kept_id: str | None) -> Answer:
    """The cards for cutting and hanging; of a kept job those being hung, once the work has begun."""
    words = Words(options.language)
    kept_job: KeptJob | None = None
    hanging, title = None, ""
    left_out: tuple[str, ...] = ()
    if kept_id is not None:
        store = Store()
        kept_job = store.job(kept_id)
        title = kept_job.name
        if options.begin:
            _, revision = site_store.part(store, kept_id, HANGING)
            found = site_plan(store, kept_job)
            begin_hanging(store, kept_id, found, kept_stacks(store, kept_job, found).plan, revision)
        hanging = _told(options, store, kept_id)
        if hanging is None:
            found = site_plan(store, kept_job)
            left_out = found.left_out
            hanging = _not_begun(found, kept_stacks(store, kept_job, found))
    else:
        if options.begin or options.hung or options.down or options.spoiled or options.spoiled_sheet:
            raise UnusableInput("Only a kept job remembers what hangs: add --kept and give its name.")
        found = _from_file(options, source)
        hanging = _not_begun(found, stacks_of(found, StackChoices(), 0))
        title = found.job.name
    style = style_of(options, hanging.job, kept_job)
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
        "guessed": sorted(hanging.guessed),
        "left_out": [*left_out, *unboarded(hanging.plan)],
    }
    lines = []
    for each in texts:
        lines += [each.head, *(f"  - {line}" for line in each.before)]
        for piece in each.pieces:
            lines += [f"  {'[x]' if piece.hung else '[ ]'} {piece.head}"]
            lines += [f"      - {line}" for line in piece.lines]
    bare = unboarded_lines(hanging.plan, left_out, words, style)
    pdf = b""
    if options.pdf is not None:
        market = hanging.job.rules.market if kept_job is None else market_of(kept_job.settings)
        pdf = cards_pdf(hanging, words, style, paper_size(market), title, left_out=left_out)
    text = "\n".join([*lines, *bare]) or words("order.nothing")
    return Answer(document, text, pdf, (*left_out, *unboarded(hanging.plan)), style)


def _told(options: argparse.Namespace, store: Store, kept_id: str) -> Hanging | None:
    """The work at hand, with what the options say of its pieces; None before it began."""
    words = [
        (piece, what, change)
        for pieces, what, change in (
            (options.hung, "hung", 1),
            (options.down, "hung", 0),
            (options.spoiled, "spoiled", 1),
            (options.spoiled_sheet, "spoiled", 2),
        )
        for piece in pieces
    ]
    hanging = hanging_of(store, kept_id)
    if not words:
        return hanging
    if hanging is None:
        raise UnusableInput("Hanging was not begun for this job: add --begin.")
    known = {piece.number for card in hanging.cards for piece in card.pieces}
    unknown = [piece for piece, _, _ in words if piece not in known]
    if unknown:
        raise UnusableInput(f"There is no piece {unknown[0]}: the cards have 1 to {max(known, default=0)}.")
    clock = hanging.progress.clock
    taps = [
        SiteTap(new_id(), str(piece), what, change, clock=clock + number)
        for number, (piece, what, change) in enumerate(words, 1)
    ]
    site_store.keep_events(store, kept_id, HANGING, [asdict(tap) for tap in taps])
    return hanging_of(store, kept_id)


def delivery(options: argparse.Namespace, kept_id: str) -> Answer:
    """What was counted, against what was ordered."""
    words = Words(options.language)
    store = Store()
    job = store.job(kept_id)
    style = style_of(options, kept=job)
    placed, revision = site_store.part(store, kept_id, DELIVERY)
    bare: tuple[str, ...] = ()
    if options.take_order:
        found = site_plan(store, job)
        bare = found.unboarded
        stacks = kept_stacks(store, job, found).plan
        place_order(store, kept_id, found.plan.order, stacks, revision, found.names)
        placed, _ = site_store.part(store, kept_id, DELIVERY)
    if placed is None:
        raise UnusableInput(
            "Nothing was counted for this job yet: add --take-order, or take the order along in the app."
        )
    _count(options, store, kept_id, counted(store, kept_id, placed))
    day = counted(store, kept_id, placed)
    title = f"{words('delivery.title')}: {job.name}"
    guessed = guessed_names(store, job)
    pdf = b""
    if options.pdf is not None:
        size = paper_size(market_of(job.settings))
        pdf = delivery_pdf(day, words, style, size, title, guessed=guessed)
    text = difference_text(day, words, style)
    if guessed:
        text += "\n" + words("signs.guessed", names=guessed)
    return Answer(delivery_json(day), text, pdf, bare, style)


def _count(options: argparse.Namespace, store: Store, kept_id: str, day: Delivery) -> None:
    """Keep what the options say came, as the phone does."""
    known = {tally.ordered.line for tally in day.tallies}
    words: list[tuple[str, str, int, str]] = []
    for what, told in (("arrived", options.came), ("damaged", options.damaged)):
        for line, count in told:
            if line not in known:
                raise UnusableInput(f"The order has no board {line!r}: it has {', '.join(sorted(known))}.")
            words.append((line, what, _boards(count), ""))
    _refuse_impossible(day, words)
    if options.note is not None:
        words.append(("", "note", 0, options.note[:LONGEST_NOTE]))
    if options.over:
        words.append(("", "finished", 1, ""))
    taps = [
        SiteTap(new_id(), line, what, change, text, day.clock + number)
        for number, (line, what, change, text) in enumerate(words, 1)
    ]
    site_store.keep_events(store, kept_id, DELIVERY, [asdict(tap) for tap in taps])


def _refuse_impossible(day: Delivery, told: list[tuple[str, str, int, str]]) -> None:
    """Refuse to take back more than came, and more damaged boards than came.

    Counts are sums: what was taken back too often would swallow the boards that come later.
    """
    for tally in day.tallies:
        line = tally.ordered.line
        changes = {
            what: [change for at, said, change, _ in told if (at, said) == (line, what)]
            for what in ("arrived", "damaged")
        }
        came, damaged = tally.arrived + sum(changes["arrived"]), tally.damaged + sum(changes["damaged"])
        if came < 0:
            raise UnusableInput(f"Only {tally.arrived} of {line} came: take back no more than that.")
        if damaged < 0:
            raise UnusableInput(f"Only {tally.damaged} of {line} are damaged: take back no more than that.")
        # what a phone has counted otherwise is not this command's to refuse
        worse = any(change > 0 for change in changes["damaged"]) or any(c < 0 for c in changes["arrived"])
        if worse and damaged > came:
            raise UnusableInput(
                f"{damaged} of {line} cannot be damaged where {came} came: correct --came or --damaged."
            )


def _boards(text: str) -> int:
    plain = text.strip()
    number = number_told(plain.removeprefix("-"))
    if number is None or number > LARGEST_CHANGE:
        raise UnusableInput(f"{plain!r} is no number of boards: write 1 to {LARGEST_CHANGE}.")
    return -number if plain.startswith("-") else number


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
        guessed=frozenset(found.guessed),
    )


def _choices(options: argparse.Namespace, found: SitePlan, now: StackChoices) -> StackChoices:
    """The choices with those of the command line over them."""
    ids = {surface.id for surface in found.job.surfaces}
    walkways = dict(now.walkways)
    try:
        for surface, left, right in options.keep_free:
            ends = sorted((parse_length_in(left), parse_length_in(right)))
            walkways[_known(surface, ids)] = (*walkways.get(surface, ()), (ends[0], ends[1]))
        depths = now.depths_in | {
            _known(surface, ids): parse_length_in(depth) for surface, depth in options.depth
        }
        new = [
            Moved(lot, _known(surface, ids), parse_length_in(left), standing)
            for lot, surface, left, standing in options.move
        ]
    except (LengthError, JobError) as fault:
        raise UnusableInput(str(fault)) from None
    site = replace(
        now.site,
        floor=options.floor or now.site.floor,
        live_load_psf=options.live_load or now.site.live_load_psf,
        standing=options.standing or now.site.standing,
    )
    corners = tuple((_known(left, ids), _known(right, ids)) for left, right in options.corner)
    moved = tuple(move for move in now.moved if move.lot not in {each.lot for each in new})
    return StackChoices(site, (*moved, *new), walkways, depths, (*now.corners, *corners))


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
