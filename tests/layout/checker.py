"""An independent check of a finished plan: no planner code, only the job and the plan's JSON.

`complaints(job, plan)` walks the plan and returns a sentence for every rule that it breaks.
Geometry is done with shapely, in floats; the planner works in whole thirty-seconds.
"""

from __future__ import annotations

import re
from collections import Counter
from itertools import pairwise
from typing import Any

from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from layout import Job, Surface

TOL = 1 / 16 + 1e-6
"""Inches forgiven: two roundings to 1/32 in."""

EASED = {
    "short_piece": "piece",
    "seam_near_opening": "opening",
    "backing_needed": "member",
    "seams_on_both_faces": "opposite",
    "pin_near_opening": "pinned opening",
    "pin_without_bearing": "pinned member",
}


def complaints(job: Job, plan: dict[str, Any]) -> list[str]:
    """Every broken rule of a plan, as sentences; empty when the plan is sound."""
    found: list[str] = []
    surfaces = {surface.id: surface for surface in job.surfaces}
    eased = {(w["surface"], EASED[w["code"]]) for w in plan["warnings"] if w["code"] in EASED}
    unboarded = {w["surface"] for w in plan["warnings"] if w["code"] in ("no_board", "no_plan")}
    if [s["id"] for s in plan["surfaces"]] != [s.id for s in job.surfaces]:
        found.append("the plan has other surfaces than the job")
    for laid in plan["surfaces"]:
        surface = surfaces[laid["id"]]
        if surface.id in unboarded:
            continue
        found += _coverage(job, surface, laid)
        found += _seams(job, surface, laid, eased)
        found += _stagger(job, surface, laid, plan["warnings"])
    found += _opposite(job, plan, eased)
    found += _sheets(job, plan)
    found += _asked_for(job, plan)
    found += _numbers(job, plan)
    return found


def _rectangle(row: dict[str, Any], piece: dict[str, Any]) -> Polygon:
    sides = (piece["left_in"], piece["bottom_in"], piece["right_in"], piece["top_in"])
    return box(*sides) if row["direction"] == "x" else box(sides[1], sides[0], sides[3], sides[2])


def _coverage(job: Job, surface: Surface, laid: dict[str, Any]) -> list[str]:
    """Everything is boarded, nothing twice, nothing beyond the surface."""
    found = []
    whole = Polygon(surface.outline) if surface.outline else box(0, 0, surface.width_in, surface.height_in)
    holes = unary_union([box(o.left_in, o.bottom_in, o.right_in, o.top_in) for o in surface.openings])
    pieces = [_rectangle(row, piece) for row in laid["rows"] for piece in row["pieces"]]
    first, ends = _corners(job, surface)
    if any(
        piece.bounds[0] < ends[0] - TOL or piece.bounds[2] > surface.width_in - ends[1] + TOL
        for piece in pieces
    ):
        found.append(f"{surface.id}: a piece lies where the board hung before stands in the corner")
    for number, piece in enumerate(pieces):
        for other in pieces[:number]:
            shared = piece.intersection(other)
            if shared.area > TOL * max(piece.length, 1) / 4:
                found.append(f"{surface.id}: two pieces lie over each other ({shared.bounds})")
    boarded = unary_union(pieces)
    outside = boarded.difference(box(0, 0, surface.width_in, surface.height_in).buffer(TOL))
    if outside.area > 1e-3:
        found.append(f"{surface.id}: a piece lies outside the surface")
    rules = job.rules
    low = high = 0.0
    if surface.kind == "wall":
        wanted = rules.floor_gap_in if surface.floor_gap_in is None else surface.floor_gap_in
        low, high = max(rules.floor_gap_most_in, wanted), surface.ceiling_board_in
    need = whole.difference(holes)
    edge = rules.end_gap_in
    sides = {
        "left": box(-1, -1, max(surface.covered_left_in, first[0], ends[0] + edge), surface.height_in + 1),
        "right": box(
            surface.width_in - max(surface.covered_right_in, first[1], ends[1] + edge), -1,
            surface.width_in + 1, surface.height_in + 1,
        ),
        "bottom": box(-1, -1, surface.width_in + 1, max(low, surface.covered_bottom_in, edge)),
        "top": box(
            -1, surface.height_in - max(high, surface.covered_top_in, edge),
            surface.width_in + 1, surface.height_in + 1,
        ),
    }  # fmt: skip
    for name, strip in sides.items():
        sides[name] = strip.buffer(TOL)
    allowed = unary_union(list(sides.values()))
    # A gap is also allowed beside an opening and along the steps of an outline.
    steps = unary_union([holes.boundary, whole.boundary]).buffer(edge + TOL)
    bare = need.difference(boarded).difference(allowed).difference(steps)
    if bare.buffer(-TOL).area > 0.05:
        found.append(f"{surface.id}: {bare.area:.1f} sq in are not boarded at {bare.bounds}")
    return found


def _corners(job: Job, surface: Surface) -> tuple[list[float], list[float]]:
    """Left and right: what a board hung later covers, and how far one hung before stands out."""
    order = [other.id for other in job.surfaces]
    covered, taken = [0.0, 0.0], [surface.taken_left_in, surface.taken_right_in]
    for side, other in enumerate((surface.corner_left, surface.corner_right)):
        if other:
            later = order.index(other) > order.index(surface.id)
            (covered if later else taken)[side] = job.surfaces[order.index(other)].thickness_in
    return covered, taken


def _seam_places(row: dict[str, Any]) -> list[tuple[float, dict[str, Any], dict[str, Any]]]:
    pieces = sorted(row["pieces"], key=lambda p: p["left_in"])
    return [(a["right_in"], a, b) for a, b in pairwise(pieces) if abs(a["right_in"] - b["left_in"]) < TOL]


def _reported(row: dict[str, Any]) -> list[tuple[float, dict[str, Any], dict[str, Any]]]:
    """Seams where board really meets board: openings that reach through the course part it."""
    return [s for s in _seam_places(row) if any(abs(s[0] - r["position_in"]) < TOL for r in row["seams"])]


def _seams(job: Job, surface: Surface, laid: dict[str, Any], eased: set[tuple[str, str]]) -> list[str]:
    found = []
    rules = job.rules
    name = surface.id
    for number, row in enumerate(laid["rows"]):
        along_x = row["direction"] == "x"
        seams = _seam_places(row)
        if len(seams) != len(row["seams"]):
            found.append(f"{name} row {number}: {len(seams)} seams are there, {len(row['seams'])} listed")
        for at, left, right in seams:
            needed = {
                m.id: rules.steel_bearing_in if m.material == "steel" else rules.min_bearing_in
                for m in surface.members
            }
            near = [m for m in surface.members if abs(m.centre_in - at) <= m.face_in / 2]
            good = [
                m
                for m in near
                if m.face_in / 2 - abs(m.centre_in - at) >= min(needed[m.id], m.face_in / 2) - TOL
                and (
                    abs(m.centre_in - at) <= TOL
                    or m.face_in / 2 - abs(m.centre_in - at) - rules.sigma_factor * m.sigma_in
                    >= needed[m.id] - TOL
                )
                and m.face_in / 2 >= needed[m.id] - 1e-3
                and (m.material != "steel" or m.face_in >= rules.steel_face_in - 2e-3)
            ]
            # A seam that the user asked for may break a rule, where the plan says so.
            wished = {p.member_id for p in surface.wishes.pins if p.row == number}
            asked = any(m.id in wished and abs(m.centre_in - at) <= m.face_in for m in surface.members)
            kept_there = asked and (name, "pinned member") in eased
            if not good and not kept_there and (name, "member") not in eased:
                found.append(f"{name} row {number}: the seam at {at:.3f} has no bearing")
            pinned = {p.member_id for p in surface.wishes.pins}
            if any(m.id in surface.wishes.forbidden_members and m.id not in pinned for m in good[:1]):
                found.append(f"{name} row {number}: the seam at {at:.3f} is on a forbidden member")
            for opening in surface.openings:
                low, high = (
                    (opening.bottom_in, opening.top_in) if along_x else (opening.left_in, opening.right_in)
                )
                edges = (
                    (opening.left_in, opening.right_in) if along_x else (opening.bottom_in, opening.top_in)
                )
                beside = low < row["top_in"] + 1e-3 and high > row["bottom_in"] - 1e-3
                near_edge = any(abs(at - e) < rules.opening_clearance_in - TOL for e in edges)
                if asked and (name, "pinned opening") in eased:
                    continue
                if beside and near_edge and (name, "opening") not in eased:
                    found.append(f"{name} row {number}: the seam at {at:.3f} is near an opening's edge")
            for piece in (left, right):
                short = piece["right_in"] - piece["left_in"] < rules.min_piece_in - TOL - 1.0
                if short and (name, "piece") not in eased:
                    found.append(f"{name} row {number}: a piece at the seam at {at:.3f} is a sliver")
    return found


def _stagger(job: Job, surface: Surface, laid: dict[str, Any], warnings: list[dict[str, Any]]) -> list[str]:
    """Seams of neighbouring rows are staggered, but for those that a note of their own names."""
    close = [
        (number, a, b)
        for number, (one, two) in enumerate(pairwise(laid["rows"]), start=1)
        for a, _, _ in _reported(one)
        for b, _, _ in _reported(two)
        if abs(a - b) < job.rules.stagger_in - TOL
    ]
    noted = [w for w in warnings if w["code"] == "seams_not_staggered" and w["surface"] == surface.id]
    rows = sorted(int(n) for w in noted for n in re.findall(r"in row (\d+) of", w["message"]))
    if rows == sorted(number for number, _, _ in close):
        return []
    return [f"{surface.id}: seams not staggered {close}, {len(noted)} noted"]


def _opposite(job: Job, plan: dict[str, Any], eased: set[tuple[str, str]]) -> list[str]:
    found = []
    laid = {s["id"]: s for s in plan["surfaces"]}
    for surface in job.surfaces:
        if not surface.opposite_of or any(
            (s, "opposite") in eased for s in (surface.id, surface.opposite_of)
        ):
            continue
        mine = [surface.width_in - s[0] for r in laid[surface.id]["rows"] for s in _reported(r)]
        theirs = [s[0] for r in laid[surface.opposite_of]["rows"] for s in _reported(r)]
        if any(abs(a - b) < job.rules.opposite_stagger_in - TOL for a in mine for b in theirs):
            found.append(f"{surface.id}: a seam lies on the same stud as one of the other face")
    return found


def _sheets(job: Job, plan: dict[str, Any]) -> list[str]:
    """Pieces come out of bought sheets, once, side by side, with the ends they claim."""
    found = []
    sheets = {sheet["id"]: sheet for sheet in plan["sheets"]}
    stock = {
        (b.kind, round(b.thickness_in, 4), round(b.width_in, 4), round(b.length_in, 4), b.price)
        for b in job.stock
    }
    pieces: dict[int, tuple[dict[str, Any], dict[str, Any], str, int, int]] = {}
    for laid in plan["surfaces"]:
        for number, row in enumerate(laid["rows"]):
            for piece in row["pieces"]:
                if piece["number"] in pieces:
                    found.append(f"piece {piece['number']} is there twice")
                joined = (number > 0) + (number < len(laid["rows"]) - 1)
                pieces[piece["number"]] = (piece, row, laid["id"], number, joined)
    used: Counter[int] = Counter()
    for sheet in sheets.values():
        key = (
            sheet["kind"], round(sheet["thickness_in"], 4), round(sheet["width_in"], 4),
            round(sheet["length_in"], 4), sheet["price"],
        )  # fmt: skip
        if key not in stock:
            found.append(f"sheet {sheet['id']} cannot be bought")
        areas: list[Polygon] = []
        for cut in sheet["cuts"]:
            used[cut["piece"]] += 1
            if cut["piece"] not in pieces:
                found.append(f"sheet {sheet['id']} yields a piece that nobody hangs")
                continue
            piece, row, surface_id, number, joined = pieces[cut["piece"]]
            if piece["sheet"] != sheet["id"]:
                found.append(f"piece {cut['piece']} names another sheet than the one that yields it")
            if (cut["surface"], cut["row"]) != (surface_id, number):
                found.append(f"piece {cut['piece']} hangs elsewhere than its sheet says")
            area = box(cut["start_in"], cut["low_in"], cut["end_in"], cut["high_in"])
            if not box(0, 0, sheet["length_in"], sheet["width_in"]).buffer(TOL / 2).contains(area):
                found.append(f"piece {cut['piece']} does not fit sheet {sheet['id']}")
            if any(area.intersection(other).area > 1e-6 for other in areas):
                found.append(f"sheet {sheet['id']}: two pieces overlap")
            areas.append(area)
            found += _one_cut(sheet, cut, piece, row, joined)
        found += _wasted_ends(sheet, {n: entry[1]["upright"] for n, entry in pieces.items()})
    if any(used[number] != 1 for number in pieces):
        found.append("a piece comes from no sheet or from two")
    return found


def _wasted_ends(sheet: dict[str, Any], upright: dict[int, bool]) -> list[str]:
    """No piece has two cut ends while an end of its sheet, straight beside it, goes to waste."""
    found = []
    for cut in sheet["cuts"]:
        turned = upright.get(cut["piece"], False)
        across = sheet["length_in"] if turned else sheet["width_in"]
        end = sheet["width_in"] if turned else sheet["length_in"]
        boxes = {
            other["piece"]: box(other["low_in"], other["start_in"], other["high_in"], other["end_in"])
            if turned
            else box(other["start_in"], other["low_in"], other["end_in"], other["high_in"])
            for other in sheet["cuts"]
        }
        left, low, right, high = boxes[cut["piece"]].bounds
        if left < 1 / 32 or right > end - 1 / 32 or not 0 <= low < high <= across + TOL:
            continue
        for name, beside in (("start", box(0, low, left, high)), ("end", box(right, low, end, high))):
            if not any(beside.intersection(other).area > 1e-6 for other in boxes.values()):
                found.append(f"piece {cut['piece']} has two cut ends, its sheet's {name} is wasted")
    return found


def _one_cut(
    sheet: dict[str, Any], cut: dict[str, Any], piece: dict[str, Any], row: dict[str, Any], joined: int
) -> list[str]:
    found = []
    along = (cut["start_in"], cut["end_in"], sheet["length_in"])
    across = (cut["low_in"], cut["high_in"], sheet["width_in"])
    run, side = (across, along) if row["upright"] else (along, across)
    length, height = piece["right_in"] - piece["left_in"], piece["top_in"] - piece["bottom_in"]
    if abs((run[1] - run[0]) - length) > TOL or abs((side[1] - side[0]) - height) > TOL:
        found.append(f"piece {cut['piece']} is not the size that is cut for it")
    ends = [run[0] < 1e-6, run[2] - run[1] < 1e-6]
    if cut["turned"]:
        ends.reverse()
    for name, factory in zip(("left_end", "right_end"), ends, strict=True):
        if (piece[name] == "factory") != factory:
            found.append(f"piece {cut['piece']}: its {name} is said to be {piece[name]}")
    if not row["upright"]:
        tapers = (side[0] < TOL) + (side[2] - side[1] < TOL)
        shortened = height < row["top_in"] - row["bottom_in"] - TOL
        if tapers < (min(1, joined) if shortened else joined):
            found.append(f"piece {cut['piece']}: a ripped edge meets the next row")
    return found


def _asked_for(job: Job, plan: dict[str, Any]) -> list[str]:
    """Boards are of the kind a surface asks for; wishes are kept, or one is said to be impossible."""
    found = []
    sheets = {sheet["id"]: sheet for sheet in plan["sheets"]}
    surfaces = {surface.id: surface for surface in job.surfaces}
    refused = {w["surface"] for w in plan["warnings"] if w["code"] == "wish_impossible"}
    for laid in plan["surfaces"]:
        surface = surfaces[laid["id"]]
        longest = min(surface.wishes.max_length_in or 1e9, job.prefs.board_length_most_in or 1e9)
        for number, row in enumerate(laid["rows"]):
            for piece in row["pieces"]:
                sheet = sheets[piece["sheet"]]
                if (
                    sheet["kind"] != surface.board_kind
                    or abs(sheet["thickness_in"] - surface.thickness_in) > 1 / 32
                    or abs(sheet["width_in"] - (surface.board_width_in or sheet["width_in"])) > 1 / 32
                ):
                    found.append(f"piece {piece['number']} is of another board than {surface.id} asks for")
                if sheet["length_in"] > longest + TOL:
                    found.append(f"piece {piece['number']} comes from a board too long to be carried in")
                wished = dict(surface.wishes.row_lengths).get(number)
                if wished and surface.id not in refused and abs(sheet["length_in"] - wished) > TOL:
                    found.append(f"piece {piece['number']} is not from the board length wished for its row")
            pins = {pin.member_id for pin in surface.wishes.pins if pin.row == number}
            if surface.id not in refused and not pins <= {seam["member_id"] for seam in row["seams"]}:
                found.append(f"{surface.id} row {number}: a pinned seam is missing")
    return found


def _numbers(job: Job, plan: dict[str, Any]) -> list[str]:
    """Sheet list and score follow from the pieces."""
    found = []
    score = plan["score"]
    counts = Counter((s["kind"], s["thickness_in"], s["width_in"], s["length_in"]) for s in plan["sheets"])
    listed = {
        (o["kind"], o["thickness_in"], o["width_in"], o["length_in"]): o["count"] for o in plan["order"]
    }
    if dict(counts) != listed:
        found.append("the sheet list does not count the sheets")
    if abs(sum(s["price"] for s in plan["sheets"]) - score["sheet_cost"]) > 1e-6:
        found.append("the sheet cost is not the sum of the prices")
    cut_ends = 0
    for laid in plan["surfaces"]:
        for row in laid["rows"]:
            for _, left, right in _reported(row):
                cut_ends += (left["right_end"] == "cut") + (right["left_end"] == "cut")
    if cut_ends != score["cut_ends_at_seams"]:
        found.append(f"{cut_ends} cut ends are at seams, the score says {score['cut_ends_at_seams']}")
    total = (
        score["sheet_cost"]
        + score["butt_joint_ft"] * job.prefs.joint_price_per_ft
        + score["cut_ends_at_seams"]
        * (0.0 if "factory_ends_meet_at_seams" in job.rules.switched_off else job.prefs.cut_end_charge)
        + score["unsure_seams"] * job.prefs.unsure_seam_charge
    )
    if abs(total - score["total"]) > 1e-6:
        found.append("the total is not the sum of its parts")
    if score["lower_bound"] > score["total"] + 1e-6:
        found.append("the lower bound is above the cost")
    if score["proved_optimal"] and score["total"] - score["lower_bound"] > 1e-4 * max(1, score["total"]):
        found.append("the plan is called proved, but bound and cost differ")
    return found
