"""The parts of the job's screen below its walls: name and units, the phone, the file, the other jobs."""

from __future__ import annotations

import re

import streamlit as st

from layout import JobError
from ui import desk, look
from ui.edge import draw_again
from ui.first_job import make_sample_job
from ui.job_archive import ArchiveError, pack_job, unpack_job
from ui.market import MARKETS, SETTING, STYLES, market_said, market_to_json, units_of
from ui.sharing import share_at_hand
from ui.sharing.share import qr_svg
from ui.store import Job
from ui.words import LANGUAGE_NAMES, Words

CODE_PERIOD_S = 3.0


def name_and_units(job: Job, words: Words) -> None:
    """What the job is called, where the house is, how lengths are printed, the language."""
    with st.expander(words("job.settings")):
        name = st.text_input(words("job.name"), job.name, max_chars=120, key=f"job-name-{job.job_id}")
        if name.strip() and name.strip() != job.name:
            desk.store().save_job(job.job_id, job.revision, name=name)
            st.rerun()
        _where(job, words)
        now = units_of(job.settings)
        chosen = st.radio(
            words("job.units"),
            STYLES,
            index=STYLES.index(now),
            format_func=lambda style: words(f"job.units_{style}"),
            horizontal=True,
            key=f"units-{job.job_id}-{now}",
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


def _where(job: Job, words: Words) -> None:
    """Where the house is: nothing that was typed or chosen before is touched by another answer."""
    try:
        now = market_said(job.settings)
        about = words("job.where_unsaid" if now is None else "job.where_how")
    except JobError:
        now, about = None, words("job.where_unread")
    chosen = st.radio(
        words("job.where"),
        MARKETS,
        index=None if now is None else MARKETS.index(now),
        format_func=lambda market: words(f"job.where_{market}"),
        horizontal=True,
        key=f"where-{job.job_id}-{now}",
    )
    st.caption(about)
    if chosen is not None and chosen != now:
        desk.keep_job_settings(job, **{SETTING: market_to_json(chosen)})
        st.rerun()


def phone(job: Job, words: Words) -> None:
    """The way in for a phone; shown on the computer that runs the app only."""
    if st.context.ip_address is not None:
        return
    with st.expander(words("share.title")):
        if share_at_hand() is None:
            st.write(words("share.off"))
        else:
            _way_in(job.job_id)


@st.fragment(run_every=CODE_PERIOD_S)
def _way_in(job_id: str) -> None:
    # each device uses its code up: the picture must follow
    share, words = share_at_hand(), desk.words()
    if share is None:
        return
    look.square(qr_svg(share.url_with_code(job_id)), words("share.qr_alt", url=share.url))
    st.markdown(words("share.how", url=f"**{share.url}**", code=f"**{share.door.code}**"))
    st.caption(words("share.caution"))
    count = share.door.visitors()
    if count:
        st.write(words("share.in", n=count))
        if st.button(words("share.end")):
            share.door.end_all()
            draw_again()


def keep_and_carry(job: Job, words: Words) -> None:
    """The job as one file, a copy of it, putting it away."""
    with st.expander(words("job.file_title")):
        store = desk.store()
        st.download_button(
            words("job.export"),
            data=lambda: pack_job(store, job.job_id),
            file_name=_file_name(job.name),
            mime="application/zip",
            on_click="ignore",
        )
        st.caption(words("job.export_how"))
        if st.button(words("job.copy")):
            desk.choose_job(store.copy_job(job.job_id, words("job.copy_name", name=job.name)[:120]))
            st.rerun()
        if st.button(words("job.archive")):
            store.save_job(job.job_id, job.revision, archived=True)
            desk.say_later(words("job.archived", name=look.plain(job.name)))
            desk.leave_job()
            st.rerun()
        if job.settings.get("sample") and st.button(words("job.reset_sample")):
            store.save_job(job.job_id, job.revision, archived=True)
            desk.choose_job(make_sample_job(store, words))
            desk.say_later(words("job.reset_done"))
            st.rerun()


def other_jobs(job: Job, words: Words) -> None:
    """The other jobs, those put away, a new one, one from a file."""
    store = desk.store()
    with st.expander(words("job.other")):
        for line in store.jobs():
            if line.job_id == job.job_id:
                continue
            if st.button(f"{look.plain(line.name)} ({line.surface_count})", key=f"job-{line.job_id}"):
                desk.choose_job(line.job_id)
                st.rerun()
        if st.button(words("job.new"), type="primary"):
            desk.choose_job(store.new_job(words("job.new_name"), {}))
            st.rerun()
        if not any(
            line for line in store.jobs() if store.job(line.job_id).settings.get("sample")
        ) and st.button(words("job.sample_again")):
            desk.choose_job(make_sample_job(store, words))
            st.rerun()
        _import(words)
        away = store.jobs(archived=True)
        if away:
            st.markdown(f"**{words('job.away')}**")
        for line in away:
            if st.button(words("job.bring_back", name=look.plain(line.name)), key=f"away-{line.job_id}"):
                store.save_job(line.job_id, store.job(line.job_id).revision, archived=False)
                desk.choose_job(line.job_id)
                st.rerun()


def _import(words: Words) -> None:
    turn = st.session_state.setdefault("import_turn", 0)
    packed = st.file_uploader(words("job.import"), type=["zip"], key=f"import-{turn}")
    if packed is None:
        return
    try:
        with st.spinner(words("job.import_busy")):
            job_id = unpack_job(desk.store(), packed)
    except ArchiveError as fault:
        st.error(look.plain(words.said(str(fault))))
        return
    st.session_state["import_turn"] = turn + 1
    desk.choose_job(job_id)
    desk.say_later(words("job.imported"))
    st.rerun()


def _file_name(name: str) -> str:
    kept = re.sub(r"[^\w\- ]+", "", name).strip()[:60] or "job"
    return f"{kept}.zip"
