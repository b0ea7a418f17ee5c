"""A long wall in several photos: joined through shared studs, each photo with its own marks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.ui.walls import plane, stud
from ui.corrections import CorrectedWall, Corrections, StudMark, correct
from ui.rough_marks import marks_matter
from ui.store_rows import Surface
from ui.tape_readings import TapeReading
from ui.wall_photos import (
    WholeWall,
    check_photo_settings,
    find_shared,
    outer_of,
    photos_of,
    renamed,
    shared_from_json,
    stud_at,
    telling,
    told_of,
    whole_wall,
)
from vision import JoiningError, measure_member
from vision.advice import warning
from vision.reading import Opening, Reading, Reference, Wall

STUDS_IN = (0.75, 16.25, 32.0, 48.5, 64.25, 80.0, 90.4, 112.25, 128.0, 144.25, 160.1, 193.25)
LENGTH_IN, HEIGHT_IN = 194.0, 97.125


def photo(low_in: float, high_in: float, *, openings: tuple[Opening, ...] = ()) -> Reading:
    """What a photo says that shows the wall only from `low_in` to `high_in`: its inches start at `low_in`."""
    whole = plane()
    left_px, right_px = whole.to_photo([(low_in, HEIGHT_IN / 2), (high_in, HEIGHT_IN / 2)])[:, 0]
    x_px, y_px = whole.principal_px
    shifted = np.array([[1, 0, -low_in], [0, 1, 0], [0, 0, 1.0]]) @ np.asarray(whole.wall_from_view)
    own = replace(
        whole,
        principal_px=(x_px - float(left_px), y_px),
        wall_from_view=tuple(tuple(float(v) for v in row) for row in shifted),
    )
    members = []
    for centre_in in STUDS_IN:
        if low_in <= centre_in <= high_in:
            seen = stud(centre_in)
            front = tuple((x - float(left_px), y) for x, y in seen.front_px)
            members.append(replace(seen, centre_in=centre_in - low_in, front_px=front))
    length_in = high_in - low_in
    corners = own.to_photo([(0, HEIGHT_IN), (length_in, HEIGHT_IN), (length_in, 0), (0, 0)])
    return Reading(
        width_px=int(right_px - left_px),
        height_px=3000,
        reference=Reference.on_centre(16.0),
        wall=Wall(length_in, 0.2, HEIGHT_IN, 0.3, tuple((float(x), float(y)) for x, y in corners)),
        plane=own,
        members=tuple(members),
        openings=openings,
        warnings=(),
    )


LEFT, RIGHT = photo(0.0, 130.0), photo(79.25, LENGTH_IN)
BY_PHOTO = {"left photo": LEFT, "right photo": RIGHT}
LEFT_STUD, RIGHT_STUD = 6, 1  # 90.4 in from the left end, in both


def wall(*, own: Corrections | None = None, further: Corrections | None = None, **settings) -> Surface:
    """The wall with its own photo at the left and a further one at the right."""
    kept = {"place": 1, **settings}
    more = Surface("more", "job", "North", "right photo", further or Corrections(), kept, 1, "north")
    return Surface("north", "job", "North", "left photo", own or Corrections(), {}, 1, None, (more,))


def corrected(part: Surface, tapes: bool) -> CorrectedWall:
    reading = BY_PHOTO[str(part.photo_sha256)]
    return correct(reading, part.corrections, lambda line: measure_member(reading, *line))


def both(left: int = LEFT_STUD, right: int = RIGHT_STUD):
    return (LEFT.members[left].front_px, RIGHT.members[right].front_px)


def joined(surface: Surface) -> WholeWall:
    return whole_wall(surface, corrected, lambda *_: (both(),))


def places(wall: CorrectedWall) -> list[float]:
    return [shown.member.centre_in for shown in wall.members]


def test_two_photos_are_one_wall_and_each_shows_its_part_of_it() -> None:
    found = joined(wall())
    assert found.fault is None
    assert places(found.whole) == pytest.approx(STUDS_IN, abs=0.05)
    assert found.whole.reading.wall.length_in == pytest.approx(LENGTH_IN, abs=0.05)
    assert found.shared == 4
    left, right = found.views
    assert [s.number for s in left.members] == [1, 2, 3, 4, 5, 6, 7, 8, 9]
    assert [s.number for s in right.members] == [6, 7, 8, 9, 10, 11, 12]
    # each photo's own lines stay its own, in inches of the whole wall
    for shown, seen in zip(right.members, RIGHT.members, strict=True):
        assert shown.member.front_px == seen.front_px
        (x, _), _ = right.reading.plane.to_wall(shown.member.front_px)
        assert x == pytest.approx(shown.member.centre_in, abs=0.1)


def test_marks_that_were_set_roughly_are_asked_for_at_the_photo_that_has_them() -> None:
    rough = {
        name: replace(read, members=tuple(m.doubted("wide_error") for m in read.members))
        for name, read in BY_PHOTO.items()
    }
    rough["right photo"] = replace(rough["right photo"], warnings=(warning("rough_marks"),))

    def roughly(part: Surface, tapes: bool) -> CorrectedWall:
        return correct(rough[str(part.photo_sha256)], part.corrections, lambda line: None)

    found = whole_wall(wall(), roughly, lambda *_: (both(),))
    assert marks_matter(found.whole.reading)
    assert [found.marks_again(view) for view in found.views] == [False, True]
    assert found.roughly_marked == (2,)
    alone = replace(wall(), photo_sha256="right photo", more=())
    assert whole_wall(alone, roughly, lambda *_: ()).roughly_marked == (), "one photo needs no number"
    assert joined(wall()).roughly_marked == ()


def test_rough_marks_are_asked_for_where_they_are_though_they_widen_the_studs_of_the_other_photo() -> None:
    left = tuple(m.doubted("wide_error") if i > 4 else m for i, m in enumerate(LEFT.members))
    right = tuple(m.doubted("wide_error") for m in RIGHT.members)
    rough = {
        "left photo": replace(LEFT, members=left, warnings=(warning("rough_marks"),)),
        "right photo": replace(RIGHT, members=right),
    }

    def roughly(part: Surface, tapes: bool) -> CorrectedWall:
        return correct(rough[str(part.photo_sha256)], part.corrections, lambda line: None)

    found = whole_wall(wall(), roughly, lambda *_: (both(),))
    assert found.roughly_marked == (1,)
    assert not marks_matter(found.views[0].reading), "most of its own studs are placed well enough"
    assert [found.marks_again(view) for view in found.views] == [True, False]


def test_what_was_changed_on_each_photo_holds_on_the_whole_wall() -> None:
    gone = LEFT.members[2].front_px
    a, b = RIGHT.plane.to_photo([(90.0, 1.5), (90.0, 95.6)])  # 169.25 in from the wall's left end
    added = StudMark("mine", ((float(a[0]), float(a[1])), (float(b[0]), float(b[1]))))
    found = joined(wall(own=Corrections(removed_px=(gone,)), further=Corrections(studs=(added,))))
    wanted = sorted([*(x for x in STUDS_IN if x != 32.0), 169.25])
    assert places(found.whole) == pytest.approx(wanted, abs=0.1)
    (mine,) = [shown for shown in found.whole.members if shown.yours]
    assert mine.member.sure
    assert mine.key == "mine"


def test_a_stud_beyond_the_first_photo_is_sure_once_the_user_keeps_it() -> None:
    last = RIGHT.members[-1].front_px
    before, after = joined(wall()), joined(wall(further=Corrections(confirmed_px=(last,))))
    assert not before.whole.members[-1].member.sure
    assert after.whole.members[-1].member.sure
    assert after.views[1].members[-1].member.sure
    assert after.doubtful == before.doubtful - 1


def test_a_tape_reading_on_any_photo_counts_from_the_left_end_of_the_whole_wall() -> None:
    taken = TapeReading(RIGHT.members[-2].front_px, 160.1 * 1.001, "")
    before, after = joined(wall()), joined(wall(further=Corrections(tape_readings=(taken,))))
    # the weighted mean of photo and tape, so most of the way
    moved_in = places(after.whole)[-2]
    assert 160.1 * 1.0003 < moved_in < 160.1 * 1.001
    assert places(after.views[1])[-2] == moved_in
    longer = after.whole.reading.wall.length_in / before.whole.reading.wall.length_in
    # the stud's own error has a share in what the tape found, which the wall's length has not
    assert longer == pytest.approx(moved_in / places(before.whole)[-2], abs=0.0006)
    assert longer > 1.0001
    assert after.whole.members[-2].member.sigma_in < before.whole.members[-2].member.sigma_in
    (x, _), _ = after.views[1].reading.plane.to_wall(RIGHT.members[-2].front_px)
    assert x == pytest.approx(moved_in, abs=0.1)


def test_a_door_seen_in_both_photos_is_one_door_and_the_accepted_one() -> None:
    left = photo(0.0, 130.0, openings=(Opening("door", 98.0, 111.0, 0.0, 80.0),))
    right = photo(79.25, LENGTH_IN, openings=(Opening("door", 18.75, 31.75, 0.0, 80.0, sure=True),))
    readings = {"left photo": left, "right photo": right}
    found = whole_wall(
        wall(),
        lambda part, tapes: correct(readings[str(part.photo_sha256)], part.corrections, lambda line: None),
        lambda *_: (both(),),
    )
    (door,) = found.whole.reading.openings
    assert door.sure
    assert (door.left_in, door.right_in) == pytest.approx((98.0, 111.0), abs=0.1)


def test_photos_that_do_not_fit_leave_the_wall_as_its_own_photo_shows_it() -> None:
    found = whole_wall(wall(), corrected, lambda *_: (both(2, 1),))
    assert found.fault is not None
    assert found.fault.pair == 0
    assert "Name another pair" in str(found.fault)
    assert places(found.whole) == places(corrected(wall(), True))
    assert len(found.views) == 2
    assert found.doubtful > sum(not shown.member.sure for shown in found.whole.members)


def test_a_photo_that_could_not_be_read_is_named() -> None:
    refused = replace(RIGHT, refused=True)

    def seen(part: Surface, tapes: bool) -> CorrectedWall:
        return CorrectedWall(refused) if part.part_of else corrected(part, tapes)

    found = whole_wall(wall(), seen, lambda *_: pytest.fail("nothing is looked for in it"))
    assert str(found.fault).startswith("Photo 2 cannot be joined.")
    assert found.fault.pair is None


def test_the_user_says_which_stud_is_in_both_photos() -> None:
    surface = wall()
    assert told_of(surface, 0) is None
    settings = telling(surface, 0, both())
    check_photo_settings(settings)
    told = replace(surface, more=(replace(surface.more[0], settings=settings),))
    assert told_of(told, 0) == both()
    found = whole_wall(told, corrected, lambda *_: pytest.fail("the user has said it"))
    assert found.shared == 4
    # said about another photo than the one that stands there now: asked anew
    assert told_of(replace(told, photo_sha256="another"), 0) is None
    # unpacked elsewhere, photos may go by other digests
    other = replace(told.more[0], settings=renamed(settings, {"left photo": "new"}))
    assert told_of(replace(told, photo_sha256="new", more=(other,)), 0) == both()


def test_a_photo_taken_further_left_stands_first() -> None:
    more = Surface("more", "job", "North", "left photo", Corrections(), {"place": -1}, 1, "north")
    surface = Surface("north", "job", "North", "right photo", Corrections(), {}, 1, None, (more,))
    assert [each.surface_id for each in photos_of(surface)] == ["more", "north"]
    assert outer_of(surface, 0) is more
    told = replace(surface, more=(replace(more, settings=telling(surface, 0, both())),))
    assert told_of(told, 0) == both()
    assert places(whole_wall(told, corrected, lambda *_: ()).whole) == pytest.approx(STUDS_IN, abs=0.05)


def test_a_stud_is_found_by_its_line_and_not_where_none_stands() -> None:
    assert stud_at(RIGHT, RIGHT.members[3].front_px) == 3
    (x0, y0), (x1, y1) = RIGHT.members[3].front_px
    assert stud_at(RIGHT, ((x0 + 90, y0), (x1 + 90, y1))) is None


def test_what_the_pictures_do_not_tell_is_kept_with_its_reason() -> None:
    # even spacing alone must not decide
    even = [replace(m, centre_in=16.0 * k + 0.75) for k, m in enumerate(LEFT.members)]
    reading = replace(LEFT, members=tuple(even))
    kept = find_shared(reading, reading, None, 1)
    with pytest.raises(JoiningError, match="Photos 2 and 3") as fault:
        shared_from_json(kept, 1)
    assert fault.value.pair == 1
