"""The walls of a job: add, open, name; the other jobs."""

from __future__ import annotations

import streamlit as st

from ui import desk, look, photos, places
from ui.first_job import letter, make_sample_job
from ui.framed import Framed, framed_surfaces
from ui.plus_minus import along_wall
from ui.store import Job
from ui.words import LANGUAGE_NAMES, Words
from vision import PhotoError
from vision.photo_privacy import without_position


def show() -> None:
    """Draw the page."""
    words = desk.words()
    job = desk.open_job()
    if job is None:
        desk.choose_job(make_sample_job(desk.store(), words))
        st.rerun()
    desk.say_now()
    st.header(job.name, anchor=False)
    if job.settings.get("sample"):
        st.caption(words("job.sample_note"))
    _add_wall(job, words)
    if not job.surfaces:
        st.info(words("job.empty"))
    for each in framed_surfaces(job):
        _line(each, words, str(job.settings.get("units", "inches")))
    _removed(words)
    _job_settings(job, words)
    _other_jobs(job, words)


def _add_wall(job: Job, words: Words) -> None:
    turn = st.session_state.setdefault("upload_turn", 0)
    upload = st.file_uploader(words("job.add"), type=photos.PHOTO_KINDS, key=f"upload-{turn}")
    st.caption(words("job.add_hint"))
    if upload is None:
        return
    try:
        with st.spinner(words("job.photo_busy")):
            jpeg = without_position(upload.getvalue())
    except PhotoError as fault:
        st.error(str(fault))
        return
    # the uploader forgets its file on a page switch, and must: a second run must not add it twice
    st.session_state["upload_turn"] = turn + 1
    name = words("job.wall_name", letter=letter(len(job.surfaces)))
    desk.choose_surface(desk.store().add_surface(job.job_id, name, photo_jpeg=jpeg))
    places.go("wall")


def _line(each: Framed, words: Words, style: str) -> None:
    surface = each.surface
    with st.container(border=True, horizontal=True, vertical_alignment="center"):
        if surface.photo_sha256:
            with st.container(width=76):
                look.small_picture(photos.thumbnail(surface.photo_sha256), surface.name)
        with st.container(width="stretch"):
            st.markdown(f"**{look.plain(surface.name)}**")
            st.caption(_state(each, words, style))
        if st.button(words("job.open_wall"), key=f"open-{surface.surface_id}", type="secondary"):
            desk.choose_surface(surface.surface_id)
            places.go("wall")


def _state(each: Framed, words: Words, style: str) -> str:
    framing = each.framing
    if framing is None:
        return words("job.not_read") if each.read else words("job.not_looked")
    size = {
        "length": along_wall(framing.width_in, style),
        "height": along_wall(framing.height_in, style),
    }
    if framing.kind == "wall":
        line = words("job.line", studs=len(framing.members), **size)
    else:
        line = words("walk.line", members=len(framing.members), **size)
    return line + (" · " + words("job.line_doubt", n=each.doubtful) if each.doubtful else "")


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


def _job_settings(job: Job, words: Words) -> None:
    with st.expander(words("job.settings")):
        name = st.text_input(words("job.name"), job.name, max_chars=120)
        if name.strip() and name.strip() != job.name:
            desk.store().save_job(job.job_id, job.revision, name=name)
            st.rerun()
        styles = ["inches", "feet_inches", "mm"]
        now = str(job.settings.get("units", "inches"))
        chosen = st.radio(
            words("job.units"),
            styles,
            index=styles.index(now) if now in styles else 0,
            format_func=lambda style: words(f"job.units_{style}"),
            horizontal=True,
        )
        if chosen != now:
            desk.keep_job_settings(job, units=chosen)
            st.rerun()
        languages = list(LANGUAGE_NAMES)
        language = st.radio(
            words("job.language"),
            languages,
            index=languages.index(words.language),
            format_func=lambda code: LANGUAGE_NAMES[code],
            horizontal=True,
        )
        if language != words.language:
            desk.choose_language(language)
            st.rerun()


def _other_jobs(job: Job, words: Words) -> None:
    with st.expander(words("job.other")):
        for line in desk.store().jobs():
            if line.job_id == job.job_id:
                continue
            if st.button(f"{line.name} ({line.surface_count})", key=f"job-{line.job_id}"):
                desk.choose_job(line.job_id)
                st.rerun()
        if st.button(words("job.new"), type="primary"):
            desk.choose_job(desk.store().new_job(words("job.new_name"), {}))
            st.rerun()
