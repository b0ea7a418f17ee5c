"""What this browser session has open: the store, the job, the wall, and the way back (undo).

Every accepted change is in the store before anything is drawn; the session keeps only what may be
lost with it: which wall is open, the undo steps, and what the editor was last told.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass, field
from typing import Any

import streamlit as st

from ui.corrections import Corrections
from ui.store import Job, StaleEdit, Store, Surface
from ui.store_schema import StoreError, data_folder
from ui.words import Words, language_of

MOST_UNDO_STEPS = 200


@dataclass
class Bench:
    """One wall as this session works on it.

    `seq`: newest edit of the editor that has arrived. `revision`: rises when the marks were replaced
    here. `kept_revision`: the store's revision that the screen shows. `replaced`: another window
    changed the marks, and the screen has not said so yet.
    """

    kept_revision: int
    seq: int = 0
    revision: int = 1
    problem: str = ""
    replaced: bool = False
    past: list[Corrections] = field(default_factory=list)
    future: list[Corrections] = field(default_factory=list)


@st.cache_resource(show_spinner=False)
def _store(folder: str) -> Store:
    return Store(folder)


def store() -> Store:
    """The store of this computer's user."""
    return _store(str(data_folder()))


def words() -> Words:
    """The words of the language this browser asks for, or of the one the user chose."""
    chosen = st.session_state.get("language")
    return Words(chosen or language_of(st.context.locale))


def choose_language(language: str) -> None:
    """Speak this language from now on, whatever the browser asks for."""
    st.session_state["language"] = language


def session_name() -> str:
    """Tells this session from the one before a restart of the server."""
    return st.session_state.setdefault("session_name", uuid.uuid4().hex)


def open_job() -> Job | None:
    """The job at hand: the one this session opened, else the one in the address, else the newest."""
    wanted = [st.session_state.get("job_id"), st.query_params.get("job")]
    wanted += [line.job_id for line in store().jobs()[:1]]
    for job_id in wanted:
        if not job_id:
            continue
        try:
            job = store().job(str(job_id))
        except StoreError:
            continue
        if not job.archived:
            st.session_state["job_id"] = job.job_id
            return job
    return None


def open_surface(job: Job) -> Surface | None:
    """The wall at hand: the one this session opened, else the one in the address, else the first."""
    by_id = {surface.surface_id: surface for surface in job.surfaces}
    for surface_id in (st.session_state.get("surface_id"), st.query_params.get("wall")):
        if surface_id in by_id:
            return by_id[str(surface_id)]
    photographed = [surface for surface in job.surfaces if surface.photo_sha256]
    return next(iter((*photographed, *job.surfaces)), None)


def choose_job(job_id: str) -> None:
    """Open another job, at its first wall."""
    st.session_state["job_id"] = job_id
    st.session_state.pop("surface_id", None)
    st.query_params.clear()


def leave_job() -> None:
    """Open whichever job is the newest from now on."""
    st.session_state.pop("job_id", None)
    st.session_state.pop("surface_id", None)
    st.query_params.clear()


def kept_revision(surface_id: str) -> int | None:
    """The store's revision of a wall that this session shows; None for one it never opened."""
    mine = st.session_state.get("benches", {}).get(surface_id)
    return None if mine is None else mine.kept_revision


def choose_surface(surface_id: str) -> None:
    """Open another wall of the job."""
    st.session_state["surface_id"] = surface_id


def bench(surface: Surface) -> Bench:
    """This session's bench for a wall; what another window changed meanwhile is taken over."""
    benches: dict[str, Bench] = st.session_state.setdefault("benches", {})
    mine = benches.get(surface.surface_id)
    if mine is None:
        mine = benches[surface.surface_id] = Bench(surface.revision)
    elif mine.kept_revision != surface.revision:
        mine.kept_revision = surface.revision
        mine.revision += 1
        mine.replaced = True
        mine.past.clear()
        mine.future.clear()
    return mine


def keep_corrections(surface_id: str, after: Corrections) -> None:
    """Put changed marks into the store, then remember the way back. StaleEdit leaves all as it was."""
    mine: Bench = st.session_state["benches"][surface_id]
    before = store().surface(surface_id)
    if before.corrections == after:
        return
    mine.kept_revision = store().save_surface(surface_id, mine.kept_revision, corrections=after)
    mine.past.append(before.corrections)
    del mine.past[:-MOST_UNDO_STEPS]
    mine.future.clear()


def step_back(surface_id: str, *, forward: bool = False) -> None:
    """Undo, or redo: the marks as they were one step before (after)."""
    mine: Bench = st.session_state["benches"][surface_id]
    source, target = (mine.future, mine.past) if forward else (mine.past, mine.future)
    if not source:
        return
    now = store().surface(surface_id).corrections
    mine.kept_revision = store().save_surface(surface_id, mine.kept_revision, corrections=source[-1])
    source.pop()
    target.append(now)
    mine.revision += 1


def keep_settings(surface: Surface, **changed: Any) -> None:
    """Put changed settings of a wall into the store."""
    mine = bench(surface)
    mine.kept_revision = store().save_surface(
        surface.surface_id, mine.kept_revision, settings={**surface.settings, **changed}
    )


def add_photo(wall: Surface, jpeg: bytes, *, left: bool) -> str:
    """Add a further photo to a wall; returns its id."""
    mine = bench(wall)
    photo_id = store().add_photo(wall.surface_id, mine.kept_revision, jpeg, left=left)
    mine.kept_revision += 1
    return photo_id


def take_photo_away(wall: Surface, photo_id: str) -> None:
    """Take a further photo away from a wall."""
    mine = bench(wall)
    store().take_photo_away(wall.surface_id, mine.kept_revision, photo_id)
    mine.kept_revision += 1


def keep_job_settings(job: Job, **changed: Any) -> None:
    """Put changed settings of the job into the store."""
    store().save_job(job.job_id, job.revision, settings={**job.settings, **changed})


def say_later(sentence: str) -> None:
    """Say a sentence at the top of the next page that is drawn."""
    st.session_state["to_say"] = sentence


def say_now() -> None:
    """Say what was kept for this page."""
    sentence = st.session_state.pop("to_say", "")
    # always a place of its own: else all that follows moves by one, and while a plan is being made the
    # page shows its form twice, the old one below the new one
    with st.container():
        if sentence:
            st.info(sentence)


__all__ = ["Bench", "StaleEdit", "StoreError"]
