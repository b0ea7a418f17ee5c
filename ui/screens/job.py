"""The walls of a job: add, open, name; the other jobs."""

from __future__ import annotations

import streamlit as st

from ui import desk, live, look, photos, places
from ui.first_job import letter, make_sample_job
from ui.framed import Framed, framed_surfaces
from ui.market import units_of
from ui.next_step import next_step
from ui.portions import portion
from ui.screens import job_parts
from ui.screens.next_thing import what_next
from ui.screens.upload import taken, upload_key
from ui.store import Job, StoreError
from ui.surface_line import surface_line
from ui.words import Words
from vision import PhotoError


def show() -> None:
    """Draw the page."""
    words = desk.words()
    job = desk.open_job()
    if job is None:
        desk.choose_job(make_sample_job(desk.store(), words))
        st.rerun()
    desk.say_now()
    st.header(look.plain(job.name), anchor=False)
    if job.settings.get("sample"):
        st.caption(words("job.sample_note"))
    everything = framed_surfaces(job)
    what_next(next_step(everything), words)
    _add_wall(job, words)
    if not job.surfaces:
        st.info(words("job.empty"))
    shown = portion(everything, f"portion-{job.job_id}", words)
    photos.fetch_thumbnails(each.surface for each in shown)
    for each in shown:
        _line(each, words, units_of(job.settings))
    _removed(words)
    job_parts.phone(job, words)
    job_parts.name_and_units(job, words)
    job_parts.keep_and_carry(job, words)
    job_parts.other_jobs(job, words)
    live.follow(job)


def _add_wall(job: Job, words: Words) -> None:
    key = upload_key("upload")
    upload = st.file_uploader(words("job.add"), type=photos.PHOTO_KINDS, key=key)
    with st.container(horizontal=True, vertical_alignment="center"):
        st.caption(words("job.add_hint"))
        if st.button(words("help.title"), type="tertiary", key="to-help"):
            places.go("help")
    jpeg = taken(upload, key, words)
    if jpeg is None:
        return
    name = words("job.wall_name", letter=letter(len(job.surfaces)))
    desk.choose_surface(desk.store().add_surface(job.job_id, name, photo_jpeg=jpeg))
    places.go("wall")


def _line(each: Framed, words: Words, style: str) -> None:
    surface = each.surface
    with st.container(border=True, horizontal=True, vertical_alignment="center"):
        fault = ""
        if surface.photo_sha256:
            try:
                picture = photos.thumbnail(surface.photo_sha256)
                with st.container(width=76):
                    look.small_picture(picture, surface.name)
            except (StoreError, PhotoError) as damaged:
                fault = words.said(str(damaged))
        with st.container(width="stretch"):
            st.markdown(f"**{look.plain(surface.name)}**")
            st.caption(look.plain(fault) or surface_line(each, words, style))
        if st.button(words("job.open_wall"), key=f"open-{surface.surface_id}", type="secondary"):
            desk.choose_surface(surface.surface_id)
            places.go("wall")


def _removed(words: Words) -> None:
    gone = st.session_state.get("removed_wall")
    if not gone:
        return
    surface_id, revision, name = gone
    with st.container(horizontal=True, vertical_alignment="center"):
        st.write(words("wall.removed", name=look.plain(name)))
        if st.button(words("wall.bring_back")):
            desk.store().save_surface(surface_id, revision, removed=False)
            del st.session_state["removed_wall"]
            st.rerun()
