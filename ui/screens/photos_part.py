"""Several photos of one wall: which one is looked at, how they are joined, one more, one less."""

from __future__ import annotations

import streamlit as st

from layout import format_length
from ui import desk, look, photos
from ui.edge import draw_again
from ui.plus_minus import along_wall, plus_minus
from ui.screens.upload import taken, upload_key
from ui.store import MOST_PHOTOS, Surface
from ui.wall_photos import WholeWall, outer_of, photos_of, telling, told_of
from ui.words import Words


def photo_shown(surface: Surface) -> Surface:
    """The photo of the wall that is being looked at: the one chosen last, else the wall's own."""
    chosen = st.session_state.get("photo_shown", {}).get(surface.surface_id)
    return next((photo for photo in surface.more if photo.surface_id == chosen), surface)


def show_photo(surface: Surface, photo_id: str) -> None:
    """Look at this photo of the wall from now on."""
    st.session_state.setdefault("photo_shown", {})[surface.surface_id] = photo_id


def choose_photo(surface: Surface, words: Words) -> Surface:
    """The photos of a wall as a row of choices, from left to right; one photo needs none."""
    now = photo_shown(surface)
    if not surface.more:
        return now
    ids = [photo.surface_id for photo in photos_of(surface)]
    key = f"photo-of-{surface.surface_id}"
    if st.session_state.get(key) != now.surface_id:
        st.session_state[key] = now.surface_id  # another was added or taken away, or none is pressed

    def take() -> None:
        # before the run, not in the midst of it: one press, one run, and no editor is drawn twice
        show_photo(surface, st.session_state[key] or now.surface_id)

    st.segmented_control(
        words("photos.choose"),
        ids,
        format_func=lambda photo_id: words("photos.one", n=ids.index(photo_id) + 1),
        label_visibility="collapsed",
        key=key,
        on_change=take,
    )
    return now


def how_joined(surface: Surface, wall: WholeWall, words: Words, style: str) -> None:
    """The joined wall in one line; or why the photos are not joined, and the question that may help."""
    if not surface.more:
        return
    if wall.fault is not None:
        st.error(look.plain(words.said(str(wall.fault))))
        st.caption(words("photos.alone", n=photos_of(surface).index(surface) + 1))
        if wall.fault.pair is not None:
            st.markdown(f"**{words('photos.ask')}**")
            _ask(surface, wall, wall.fault.pair, words, style)
        now = photo_shown(surface)
        if now is not surface:
            _take_away(surface, now, "now", words)
        return
    size = wall.whole.reading.wall
    if size is not None:
        st.write(
            words(
                "photos.joined",
                photos=len(wall.views),
                length=format_length(size.length_in, style),
                pm=plus_minus(size.length_sigma_in, style)[2:],
                studs=len(wall.whole.members),
                shared=wall.shared,
            )
        )


def _ask(surface: Surface, wall: WholeWall, pair: int, words: Words, style: str) -> None:
    """Which stud is in both photos: its number in each, as the photos show it now."""
    chosen = []
    for photo, view in zip((pair, pair + 1), wall.views[pair : pair + 2], strict=True):
        texts = [
            words("photos.stud", n=shown.number, place=along_wall(shown.member.centre_in, style))
            for shown in view.members
        ]
        text = st.selectbox(
            words("photos.stud_of", n=photo + 1),
            texts,
            index=None,
            placeholder="",
            key=f"in-both-{surface.surface_id}-{pair}-{photo}",
        )
        if text in texts:
            chosen.append(view.members[texts.index(text)].member.front_px)
    if st.button(words("photos.say"), disabled=len(chosen) < 2, key=f"join-{surface.surface_id}-{pair}"):
        settings = telling(surface, pair, (chosen[0], chosen[1]))
        desk.keep_settings(outer_of(surface, pair), same=settings["same"])
        draw_again()


def where_joined(surface: Surface, wall: WholeWall, words: Words, style: str) -> None:
    """Per two neighbours how they were joined, and a way to say it otherwise."""
    if not surface.more:
        return
    with st.expander(words("photos.wrong")):
        for pair in range(len(wall.views) - 1):
            told = told_of(surface, pair) is not None
            if wall.fault is None:
                code = "photos.told" if told else "photos.found"
                st.write(words(code, left=pair + 1, right=pair + 2))
            if told and st.button(words("photos.forget"), key=f"forget-{surface.surface_id}-{pair}"):
                desk.keep_settings(outer_of(surface, pair), same=None)
                st.rerun()  # the pictures may have to be compared first
            if wall.fault is None:
                _ask(surface, wall, pair, words, style)


def more_photos(surface: Surface, words: Words) -> None:
    """One more photo of the wall, or one less."""
    count = len(surface.more) + 1
    with st.expander(words("photos.title") if count == 1 else words("photos.title_many", n=count)):
        st.write(words("photos.how"))
        if count < MOST_PHOTOS:
            _add(surface, words)
        for number, photo in enumerate(photos_of(surface), start=1):
            if photo is surface:
                if count > 1:
                    st.caption(words("photos.first", n=number))
            else:
                _take_away(surface, photo, "list", words)


def _take_away(surface: Surface, photo: Surface, where: str, words: Words) -> None:
    number = photos_of(surface).index(photo) + 1
    if st.button(words("photos.take_away", n=number), key=f"away-{where}-{photo.surface_id}"):
        desk.take_photo_away(surface, photo.surface_id)
        st.rerun()


def _add(surface: Surface, words: Words) -> None:
    side = st.segmented_control(
        words("photos.side"),
        ["right", "left"],
        default="right",
        format_func=lambda name: words(f"photos.{name}"),
        key=f"side-{surface.surface_id}",
    )
    key = upload_key("more")
    jpeg = taken(st.file_uploader(words("photos.add"), type=photos.PHOTO_KINDS, key=key), key, words)
    if jpeg is None:
        return
    show_photo(surface, desk.add_photo(surface, jpeg, left=side == "left"))
    st.rerun()
