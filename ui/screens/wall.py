"""One wall: its photo with the marks, the boards over it, the sheets it takes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import streamlit as st

from layout import Job as BoardsJob
from layout import JobError, Plan, SurfacePlan
from ui import desk, live, look, photos, places
from ui.board_size import board_style
from ui.bridge import NoWallError, board_shapes_px
from ui.by_hand import SETTING
from ui.corrections import CorrectedWall, Corrections
from ui.edge import draw_again, faults_said
from ui.editor_view import EditRefused, editor_view, reference_problem, take_edit
from ui.first_job import make_sample_job
from ui.framed import Framed, framed, photographed
from ui.job_plan import boards_job, framing_of, lacks_lengths, plan_names, stock_of
from ui.market import market_of, units_of, usual_of
from ui.next_step import next_step
from ui.plain_faults import plain_fault
from ui.screens import boards_part, photos_part, wall_parts, wall_state
from ui.screens.next_thing import what_next
from ui.screens.tape_part import one_more_reading
from ui.screens.wishes_part import wishes
from ui.store import Job, Surface
from ui.wall_editor import wall_editor
from ui.wall_photos import WholeWall, photos_of
from ui.words import Words
from ui.work import WorkStopped, plan_at_hand, plan_beside, planned_boards
from vision import ReadingError

MOST_BUTTONS = 12
WAITED_FOR = 24
"""Surfaces whose plan is waited for when a wall is opened; a larger job is planned beside the page, so that
its walls can be worked on at once."""


@dataclass(frozen=True)
class Seen:
    """A wall as it stands: `boards` is the job to plan, None when nothing can be boarded.

    `photo` is the one of its photos that is looked at, `view` what that shows. `problem` says in one
    sentence what does not hold. `everything` is every surface of the job.
    """

    wall: WholeWall
    photo: Surface
    view: CorrectedWall
    plan_name: str
    boards: BoardsJob | None
    problem: str = ""
    everything: tuple[Framed, ...] = ()


@dataclass(frozen=True)
class Planned:
    """A plan and the job it was made for."""

    boards: BoardsJob
    plan: Plan

    def rows(self, plan_name: str) -> SurfacePlan | None:
        """The rows of the wall of that name."""
        return next((each for each in self.plan.surfaces if each.id == plan_name), None)


def show() -> None:
    """Draw the page."""
    words = desk.words()
    job = desk.open_job()
    if job is None:
        desk.choose_job(make_sample_job(desk.store(), words))
        job = desk.open_job()
    surface = desk.open_surface(job) if job else None
    if job is None or surface is None or surface.photo_sha256 is None:
        if surface is not None and SETTING in surface.settings:
            st.session_state["walk_changes"] = surface.surface_id
            places.go("walk")
        places.go("job")
        return
    desk.choose_surface(surface.surface_id)
    st.query_params.update(job=job.job_id, wall=surface.surface_id)
    desk.say_now()
    _choose_wall(job, surface, words)
    with st.container(key="waiting"):
        ready = _made_ready(job, surface, words)
    if ready:
        _workplace(job.job_id, surface.surface_id)
    live.announce(job, surface.surface_id)
    surface = desk.store().surface(surface.surface_id)
    photos_part.more_photos(surface, words)
    wall_parts.name_photo_remove(surface, words)


def _choose_wall(job: Job, surface: Surface, words: Words) -> None:
    """The walls of the job as buttons, many of them as a list; a single wall needs none."""
    names = {each.surface_id: each.name for each in job.surfaces if each.photo_sha256}
    if len(names) < 2:
        return
    ids, key = list(names), f"walls-{surface.surface_id}"
    chosen: str | None
    if len(names) > MOST_BUTTONS:
        at = ids.index(surface.surface_id)
        chosen = st.selectbox(words("place.job"), ids, at, format_func=lambda each: names[each], key=key)
    else:
        chosen = st.segmented_control(
            words("place.job"),
            ids,
            default=surface.surface_id,
            format_func=lambda each: look.plain(names[each]),
            label_visibility="collapsed",
            key=key,
        )
    if chosen and chosen != surface.surface_id:
        desk.choose_surface(chosen)
        st.query_params.update(wall=chosen)
        st.rerun()


def _made_ready(job: Job, surface: Surface, words: Words) -> bool:
    """Read the photo and plan the boards where that was not done yet; False when the user stopped it.

    This is waited for outside of the workplace: only there a Stop is heard while the run goes on.
    """
    waiting = st.empty()
    try:
        with faults_said():
            if photos.wants_reading(surface):
                with waiting:
                    sha256 = photos_part.photo_shown(surface).photo_sha256 or ""
                    look.wide_picture(photos.photo_shown(sha256).url, surface.name)
            seen = _look_at(job, surface, words)
            waiting.empty()
            boards = seen.boards
            short = boards is not None and len(boards.surfaces) <= WAITED_FOR
            if boards is not None and short and not _has_plan(surface.surface_id, boards):
                _keep_plan(surface.surface_id, boards, planned_boards(boards))
    except WorkStopped:
        with waiting.container():  # the next run clears this place before it waits again
            st.warning(words("work.stopped"))
            if st.button(words("work.again"), type="primary"):
                st.rerun()
        return False
    return True


@st.fragment
def _workplace(job_id: str, surface_id: str) -> None:
    """The editor and all that follows from it: one edit, one run of this part alone."""
    with faults_said():
        _draw_workplace(job_id, surface_id)


def _draw_workplace(job_id: str, surface_id: str) -> None:
    words = desk.words()
    job, surface = desk.store().job(job_id), desk.store().surface(surface_id)
    if photos.wants_reading(surface):
        st.rerun()  # another reference or other corners: the whole page waits for the reading
    style = units_of(job.settings)
    for photo in surface.more:
        desk.bench(photo)  # what other devices do to it is noticed
    seen = _look_at(job, surface, words)
    planned = _plan_at_hand(seen, surface_id)
    current = planned is not None and planned.boards == seen.boards
    rows = planned.rows(seen.plan_name) if planned else None
    whole = seen.wall.whole
    wall_state.where_one_is(whole, rows, words, seen.wall.roughly_marked)
    left, right = st.columns([2, 1], gap="medium")
    with left:
        with st.container():
            photos_part.choose_photo(surface, words)
            photos_part.how_joined(surface, seen.wall, words, style)
            wall_state.say_warnings(
                seen.view.reading,
                words,
                height_measured=bool(surface.settings.get("height_in")),
                marks_again=seen.wall.marks_again(seen.view),
            )
        with st.container():  # a place of its own: the editor of another photo takes this one's room
            _editor(surface, seen, rows, current, words, style)
        step = next_step(seen.everything) if seen.everything else None
        if step is not None and step.surface_id != surface_id:
            what_next(step, words)
    with right:
        if planned is not None and rows is not None:
            wall_parts.sheets(planned.plan, rows, words, style)
        boards_part.board_choices(job, surface, words, style)
        wall_parts.framed_in(surface, seen.view.reading, words, style)
        wall_parts.measured_height(surface, whole.reading, words, style)
        if rows is not None:
            wall_parts.boxes_not_cut_out(whole, words)
            wall_parts.cuts(rows, words, style)
            wall_parts.why_seams(rows, words, style)
        framing = next((each.framing for each in seen.everything if each.surface == surface), None)
        if wishes(surface, framing, rows, market_of(job.settings), words, style):
            draw_again()
    wall_parts.known_length(seen.photo, seen.view.reading, usual_of(job.settings), words, style)
    if seen.wall.fault is None or seen.photo is surface:
        one_more_reading(seen.photo, seen.view, words, style)
    photos_part.where_joined(surface, seen.wall, words, style)
    wall_parts.studs(whole, words, style)
    with st.expander(words("wall.caution_title")):
        st.write(words("wall.caution"))
    if seen.boards is not None and not current:
        plan_beside(seen.boards)


def _plan_at_hand(seen: Seen, surface_id: str) -> Planned | None:
    """The plan to draw: while a new one is being made the last one, so that an edit is answered at once."""
    plans: dict[str, Planned] = st.session_state.setdefault("plans", {})
    if seen.boards is None:
        plans.pop(surface_id, None)
        return None
    plan = plan_at_hand(seen.boards)
    if plan is not None:
        _keep_plan(surface_id, seen.boards, plan)
    return plans.get(surface_id)


def _has_plan(surface_id: str, boards: BoardsJob) -> bool:
    """Whether a plan of just these boards is drawn already: one that was stopped is not begun again."""
    held: Planned | None = st.session_state.get("plans", {}).get(surface_id)
    return held is not None and held.boards == boards


def _keep_plan(surface_id: str, boards: BoardsJob, plan: Plan) -> None:
    st.session_state.setdefault("plans", {})[surface_id] = Planned(boards, plan)


def _look_at(job: Job, surface: Surface, words: Words) -> Seen:
    names = plan_names(job)
    name = names[surface.surface_id]
    problem = ""
    market = market_of(job.settings)
    try:
        wall = photos.whole_wall(surface)
    except ReadingError as fault:
        # what the user gave cannot be used: say so, and go on without it
        problem = words.said(str(fault))
        more = tuple(map(_bare_if_unreadable, surface.more))
        wall = photos.whole_wall(replace(_bare_if_unreadable(surface), more=more))
    photo = photos_part.photo_shown(surface)
    seen = Seen(wall, photo, wall.views[photos_of(surface).index(photo)], name, None, problem)
    reading = wall.whole.reading
    if reading.refused or reading.wall is None:
        return seen
    if lacks_lengths(job, surface):
        return replace(seen, problem=problem or boards_part.no_lengths(job, surface, words))
    if not stock_of(job):
        return replace(seen, problem=problem or words("buy.no_stock"))
    try:
        everything = tuple(
            photographed(surface, framing_of(surface, reading, name, market), wall)
            if other.surface_id == surface.surface_id
            else framed(other, names[other.surface_id], market)
            for other in job.surfaces
        )
        boards = boards_job(job, tuple(each.framing for each in everything if each.framing is not None))
        return replace(seen, boards=boards, everything=everything)
    except (NoWallError, JobError) as fault:
        return replace(
            seen, problem=problem or plain_fault(fault, words, board_style(units_of(job.settings)))
        )


def _bare_if_unreadable(photo: Surface) -> Surface:
    """A photo without its known length and corners where it cannot be read by them."""
    try:
        photos.corrected_wall(photo)
    except ReadingError:
        return replace(photo, corrections=replace(photo.corrections, reference=None, corners_px=None))
    return photo


def _editor(
    surface: Surface,
    seen: Seen,
    rows: SurfacePlan | None,
    current: bool,
    words: Words,
    style: str,
) -> None:
    wall, photo, mine = seen.view, seen.photo, desk.bench(seen.photo)
    plane = wall.reading.plane
    drawn = seen.wall.fault is None or photo is surface
    between = None
    if surface.more and plane and wall.reading.wall:
        ends_in = plane.to_wall(wall.reading.wall.corners_px)[:, 0]
        between = (float(ends_in.min()), float(ends_in.max()))
    shapes = board_shapes_px(rows, plane, between) if rows and plane and drawn else None
    marks = (photo.corrections.reference, photo.corrections.second)
    problem = mine.problem or next(filter(None, (reference_problem(m, words) for m in marks)), seen.problem)
    view = editor_view(
        wall,
        photo.corrections,
        photos.photo_shown(photo.photo_sha256 or ""),
        shapes,
        words,
        style,
        session=f"{desk.session_name()} {photo.surface_id}",
        seq=mine.seq,
        revision=mine.revision,
        can_undo=bool(mine.past),
        can_redo=bool(mine.future),
        boards_current=current,
        problem=problem,
        start_tool=wall_state.tool_that_helps(wall.reading),
        marks_again=seen.wall.marks_again(wall),
    )
    # one editor for all photos of a wall: the browser would keep that of another one beside it
    key, ids = f"editor-{surface.surface_id}", frozenset(each.surface_id for each in photos_of(surface))

    def take() -> None:
        _take(key, ids)

    def command() -> None:
        _command(key, ids)

    wall_editor(view, key=key, on_edit=take, on_command=command)


def _photo_meant(said: dict[str, Any] | None, ids: frozenset[str]) -> str:
    """The photo that an edit or command of the editor is about; "" for none of this wall's."""
    photo_id = str((said or {}).get("session", "")).rpartition(" ")[2]
    return photo_id if photo_id in ids else ""


def _take(key: str, ids: frozenset[str]) -> None:
    """An edit has come from the editor: check it, keep it, or say why not."""
    edit = st.session_state[key]["edit"]
    surface_id = _photo_meant(edit, ids)
    if not surface_id:
        return
    surface = desk.store().surface(surface_id)
    mine = desk.bench(surface)
    mine.seq = int(edit["seq"])
    mine.problem = ""
    if edit["revision"] != mine.revision:
        # made on marks that were replaced meanwhile: by another window, or by an undo on its way
        if mine.replaced:
            mine.problem = desk.words()("say.changed_elsewhere")
        mine.replaced = False
        return
    mine.replaced = False
    photo = photos.photo_of(surface.photo_sha256 or "")
    words = desk.words()
    try:
        after = take_edit(edit, surface.corrections, photo.width_px, photo.height_px)
        _refuse_what_cannot_stand(surface, after)
        desk.keep_corrections(surface_id, after)
    except EditRefused as fault:
        mine.problem = words.said(words.or_else(str(fault), str(fault)))
        mine.revision += 1  # the screen goes back to what is kept
    except desk.StaleEdit:
        mine.problem = words("say.changed_elsewhere")
    except desk.StoreError as fault:
        mine.problem = words.said(str(fault))
        mine.revision += 1


def _refuse_what_cannot_stand(surface: Surface, after: Corrections) -> None:
    known = {mark.front_px for mark in surface.corrections.studs}
    for mark in after.studs:
        if mark.front_px not in known:
            fault = photos.line_fault(surface, mark.front_px)
            if fault:
                raise EditRefused(fault)


def _command(key: str, ids: frozenset[str]) -> None:
    command = st.session_state[key]["command"]
    surface_id = _photo_meant(command, ids)
    if not surface_id:
        return
    desk.bench(desk.store().surface(surface_id)).problem = ""
    desk.step_back(surface_id, forward=command["name"] == "redo")
