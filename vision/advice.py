"""What is wrong with a photo or a reading, in plain sentences with the remedy."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.photo import Photo
from vision.placing import Placed
from vision.reading import Member, Reference, Wall, Warning
from vision.scale import USUAL_SPACINGS_IN
from vision.smear import Smear
from vision.survey import Survey
from vision.viewing import Viewed
from vision.wall_ends import end_sigma_in

OBLIQUE_DEG, TOO_OBLIQUE_DEG = 18.0, 38.0
FEW_HORIZONTALS = 4
DARK_MEDIAN = 28  # of 255
BLUR_SHARE = 0.10
SHORT_REFERENCE_SHARE = 0.25
ROUGH_MARKS_SHARE = 0.003  # of the known length, one sigma: 3/8 in at 10 ft
# Half a plate: one more or less is possible. So 15 of 155 tuning walls, among them all four that are over
# 3/4 in off.
HEIGHT_UNSURE_IN = 0.75
# Faces look 5 % too narrow to 6 % too wide (feasibility study, §0.9), and side faces that pass for front
# widen some; beyond this no right reference leads (by judgement).
FACE_SEEN_RANGE = (0.65, 1.55)
# Where the studs come out at a spacing walls are framed at, faces this much narrower or wider tell of a
# wrong length: 16 in for 24, or 24 for 16. The lower end lets 1 1/4 in steel studs pass. A spacing that walls
# seldom have, and that 16 or 24 in give when the length is a fifth off, wants faces that look right. Of 90
# tuning walls with the right length and a sure stud the first doubts one; with lengths a third, a fifth short
# or a fifth, a half long, sure studs fell from 58, 86, 275, 9 to 0, 4, 13, 0.
FACE_LIKELY_RANGE, FACE_SURE_RANGE = (0.80, 1.18), (0.94, 1.10)
# Faces given as TIMBER_FACE_IN that look narrower than both of these are likely 1 1/4 in of steel: the share
# of that width as the labels show it, and the median between fitted edges in inches. So look 7 of 9 tuning
# walls of steel read as timber, and none of 117 of timber.
TIMBER_FACE_IN, STEEL_SEEN, STEEL_WIDTH_IN, LEAST_FACES = (1.4, 1.6), 0.93, 1.39, 3
# Paper over the faces hides how wide they are (0.68 to 1.30 on tuning scenes).
FACE_UNCLEAR_RANGE = (0.66, 1.35)
COMMON_SPACINGS_IN = (15.75, 16.0, 23.62, 24.0)  # 16 and 24 in, 400 and 600 mm (trade-common)
NEAREST_STUDS_IN = 4.5  # nearer ones are kings, trimmers and corners
# A median of gaps strays 3 %.
SPACING_SLACK = 0.03
# A scale by the spacing that strays more, relative, may be off by over 0.3 %: so were 5 of 7, and 12 of 162
# that strayed less (tuning scenes).
LOOSE_SCALE = 0.004
# Single members this near a usual layout from either end speak for the reference, if enough do.
LAYOUT_SLACK_IN, LEAST_ON_LAYOUT, ON_LAYOUT_SHARE = 0.25, 2, 0.4

# Doubts about what is seen, as against where it is.
UNCLEAR = frozenset(("faint", "little_seen", "edges_unclear", "hidden_end"))

WARNINGS = {
    "no_wall": (
        "No framed wall can be made out in this photo.",
        "Stand back until the whole wall is in the picture, face it straight on, and light it well.",
    ),
    "wall_not_found": (
        "It is not clear where the wall begins and ends in this photo.",
        "Tap the wall's four corners on the photo and read it again.",
    ),
    "not_these_corners": (
        "The lines of the photo do not fit a wall with these four corners.",
        "Tap the four corners of one wall again, or read the photo without them.",
    ),
    "plates_curve": (
        "The wall's plates curve, as in a panorama or through a fisheye lens, "
        "so no place on it would be right.",
        "Take an ordinary photo with the main camera; take a long wall in several that overlap, "
        "and they are joined.",
    ),
    "no_members": (
        "No studs could be made out on this wall.",
        "Tap the wall's four corners, or take the photo again closer, straight on and with more light.",
    ),
    "no_layout": (
        "The members found do not stand at an even spacing, so the photo has no scale.",
        "Give a tape length between two marks instead: the longer, the better.",
    ),
    "loose_scale": (
        "Too few of the studs stand on their marks for the spacing to fix the scale.",
        "Give a tape length between two marks, or one tape reading from the left end to a far stud.",
    ),
    "dark": (
        "The photo is dark, so edges are uncertain.",
        "Light the wall with a work light from behind you and take the photo again.",
    ),
    "blurred": (
        "The photo is not sharp.",
        "Wipe the lens, rest the phone against something and take the photo again.",
    ),
    "moved": (
        "The phone moved while it took the photo: edges are smeared.",
        "Rest the phone against something, give the wall more light, and take the photo again.",
    ),
    "focal_unknown": (
        "The photo does not say which lens took it, as in a screen-shot or a cropped picture.",
        "Use the original photo from the camera; heights and the far end are less certain until then.",
    ),
    "oblique": (
        "The wall was photographed from the side.",
        "Stand opposite the middle of the wall and take the photo straight on.",
    ),
    "few_horizontals": (
        "Few level lines are visible, so the view's turn is uncertain.",
        "Keep both plates in the picture, or check the farthest stud with a tape.",
    ),
    "wall_cut_off": (
        "The wall runs out of the picture.",
        "Stand back until both ends are in, or take the wall in two photos; "
        "lengths count from the first member that is seen.",
    ),
    "end_not_seen": (
        "No stud was found at an end of the wall.",
        "Look at that end and add the end stud by hand, or tap the wall's corners.",
    ),
    "end_doubtful": (
        "It is not clear which stud the wall begins with on the left, and every place counts from there.",
        "Look at the left end: remove a stud of the next wall, add a hidden one, or tap the corners.",
    ),
    "height_unsure": (
        "It is not clear where the plates end, so the wall may be a plate higher or lower.",
        "Put a tape from the underside of the bottom plate to the top of the top plate before you count on "
        "the rows of boards.",
    ),
    "assumed_spacing": (
        "No reference was given: the spacing of the studs was taken from the photo.",
        "Measure one length on the wall with a tape and enter it to be sure.",
    ),
    "few_on_layout": (
        "Only some of the studs stand on the assumed layout.",
        "Enter a tape length between two marks: the scale is uncertain.",
    ),
    "off_layout": (
        "By this length the studs stand a little beside every usual spacing.",
        "Look at the length's two marks again, enlarged, or put a tape from the left end to a far stud.",
    ),
    "short_reference": (
        "The reference is short for this wall, so the far end is uncertain.",
        "Use a longer tape length, or check the farthest stud with a tape.",
    ),
    "rough_marks": (
        "The known length's two marks were set on a small picture or in haste, so the scale is uncertain.",
        "Enlarge the photo and set each mark again, slowly.",
    ),
    "face_disagrees": (
        "With this reference the studs' faces come out far from their usual width.",
        "Check the length, where its marks are, and whether they lie on this wall.",
    ),
    "face_doubtful": (
        "With this reference the studs' faces come out wider or narrower than studs are.",
        "Check the length and where its marks are; until then put a tape to every stud.",
    ),
    "like_steel": (
        "The studs' faces look narrower than those of timber, as steel studs are.",
        "If they are steel, say so and have the photo read again; if not, check the length and its marks.",
    ),
    "odd_spacing": (
        "With this reference the studs stand at an unusual spacing.",
        "Check the length and its marks, or check the farthest stud with a tape.",
    ),
    "no_model": (
        "The part of the program that recognises studs is missing; the photo was read by its edges alone.",
        "Install the program again, and check every stud until then.",
    ),
    "none_sure": (
        "The studs are seen, but none is placed surely enough to build on.",
        "Give a longer tape length, or one more tape reading from the left end to a stud far from it.",
    ),
    "sheet_over_faces": (
        "The faces can hardly be told from what is around them.",
        "If a sheet or paper covers the studs, check each with a tape or take the photo before it goes up.",
    ),
}


def warning(code: str) -> Warning:
    """The warning with this code from WARNINGS."""
    message, advice = WARNINGS[code]
    return Warning(code, message, advice)


def photo_warnings(photo: Photo, smear: Smear | None = None) -> list[Warning]:
    """What can be said of the photo alone: too dark, moved (`smear`), not sharp, lens unknown."""
    out = []
    grey = cv2.cvtColor(photo.working_rgb, cv2.COLOR_RGB2GRAY)
    if float(np.median(grey[::2, ::2])) < DARK_MEDIAN:
        out.append(warning("dark"))
    if smear is not None:
        out.append(warning("moved"))
    elif _sharpness(grey) < BLUR_SHARE:
        out.append(warning("blurred"))
    if photo.focal_px is None:
        out.append(warning("focal_unknown"))
    return out


def _sharpness(grey: NDArray[np.uint8]) -> float:
    """Share of the gradient of a softened copy that the picture itself still adds, about 0..1."""
    sharp = grey.astype(np.float32)
    soft = cv2.GaussianBlur(sharp, (0, 0), 2.0)
    fine, coarse = (np.abs(np.diff(each[::3], axis=1)) for each in (sharp, soft))
    top = float(np.quantile(coarse, 0.995))
    return float(np.quantile(fine, 0.995) / max(top, 1e-6) - 1.0)


def reading_warnings(
    viewed: Viewed,
    survey: Survey,
    placed: Placed,
    reference: Reference,
    members: list[Member],
    wall: Wall,
    origin: int | None,
    end: int | None,
) -> tuple[list[Warning], bool]:
    """Warnings about a finished reading, and whether it must be refused."""
    codes: list[str] = []
    wrong_length = False
    region = survey.region
    turn = max(abs(viewed.view.yaw_deg), abs(viewed.view.pitch_deg))
    if turn > OBLIQUE_DEG:
        codes.append("oblique")
    if viewed.adjusted.horizontals < FEW_HORIZONTALS:
        codes.append("few_horizontals")
    if region.cut_left or region.cut_right:
        codes.append("wall_cut_off")
    elif origin is None or end is None:
        codes.append("end_not_seen")
    if origin is not None and end_sigma_in(survey, origin, "left") > 0:
        codes.append("end_doubtful")
    if (survey.height_sigma or 0) * placed.scale.inches_per_unit > HEIGHT_UNSURE_IN:
        codes.append("height_unsure")
    if reference.kind == "on_centre":
        if reference.assumed:
            codes.append("assumed_spacing")
        if placed.scale.on_layout < 0.5 * placed.scale.studs:
            codes.append("few_on_layout")
    else:
        marks = placed.plane.to_wall(np.array([reference.from_px, reference.to_px]))
        if np.hypot(*(marks[1] - marks[0])) < SHORT_REFERENCE_SHARE * wall.length_in:
            codes.append("short_reference")
        if reference.mark_share() > ROUGH_MARKS_SHARE:
            codes.append("rough_marks")
        if placed.scale.off_layout:
            codes.append("off_layout")
    if not reference.assumed:
        seen = (survey.face_seen or survey.face) / survey.face
        if _odd_spacing(members, wall.length_in):
            codes.append("odd_spacing")
            wrong_length = not FACE_SEEN_RANGE[0] < seen < FACE_SEEN_RANGE[1]
        else:
            low, high = _likely_faces(members)
            if not low < seen < high:
                codes.append("face_doubtful")
        if _like_steel(survey, placed, seen):
            codes.append("like_steel")
    if not viewed.model:
        codes.append("no_model")
    full = [m for m in members if m.kind == "full"]
    if viewed.model and full and not any(m.sure for m in full):
        codes.append("sheet_over_faces" if _faces_hidden(members) else "none_sure")
    # What made it refuse is said last.
    loose = reference.kind == "on_centre" and placed.scale.relative_sigma > LOOSE_SCALE
    if loose:
        codes.append("loose_scale")
    if wrong_length:
        codes.append("face_disagrees")
    # A guess is shown as one.
    return [warning(c) for c in dict.fromkeys(codes)], wrong_length or (loose and not reference.assumed)


def _like_steel(survey: Survey, placed: Placed, seen: float) -> bool:
    """Whether faces said to be of timber look as narrow as steel; `seen`: their width, of that said."""
    single = [m.upright.full and m.upright.stretch.plies == 1 for m in survey.members]
    if sum(single) < LEAST_FACES:
        return False
    if not TIMBER_FACE_IN[0] < survey.face * placed.scale.inches_per_unit < TIMBER_FACE_IN[1]:
        return False
    return seen < STEEL_SEEN and float(np.median(placed.face_in[single])) < STEEL_WIDTH_IN


def _faces_hidden(members: list[Member]) -> bool:
    """Whether no full-height member is sure, and most are unclear in the photo themselves."""
    full = [m for m in members if m.kind == "full"]
    unclear = sum(bool(UNCLEAR & set(m.doubts)) for m in full)
    return not any(m.sure for m in full) and unclear > 0.5 * len(full)


def _likely_faces(members: list[Member]) -> tuple[float, float]:
    """How wide faces may look, of their width, where the studs come out at the spacing they do."""
    if _faces_hidden(members):
        return FACE_UNCLEAR_RANGE
    gap = _usual_gap_in(members)
    nearest = None if gap is None else min(USUAL_SPACINGS_IN, key=lambda spacing: abs(gap / spacing - 1))
    return FACE_LIKELY_RANGE if nearest in (None, *COMMON_SPACINGS_IN) else FACE_SURE_RANGE


def _usual_gap_in(members: list[Member]) -> float | None:
    """The gap from stud to stud in the middle of all, inches; None where there are under three."""
    gaps = np.diff(sorted(m.centre_in for m in members if m.kind == "full"))
    gaps = gaps[gaps > NEAREST_STUDS_IN]
    return float(np.median(gaps)) if len(gaps) >= 3 else None


def _odd_spacing(members: list[Member], length_in: float) -> bool:
    """Whether the usual gap between full members is none that studs are set at.

    Openings and displaced studs make odd gaps: where enough single members stand on a usual layout that
    begins at either end, nothing is odd.
    """
    gap = _usual_gap_in(members)
    if gap is None or np.abs(gap / np.array(USUAL_SPACINGS_IN) - 1).min() <= SPACING_SLACK:
        return False
    full = sorted((m for m in members if m.kind == "full"), key=lambda m: m.centre_in)
    inner = [m for m in full[1:-1] if m.plies == 1]
    at = np.array([m.centre_in for m in inner])
    slack = LAYOUT_SLACK_IN + np.array([m.sigma_in for m in inner])
    for spacing_in in USUAL_SPACINGS_IN:
        for start in (at, length_in - at):
            on = int((np.abs(start - spacing_in * np.rint(start / spacing_in)) < slack).sum())
            if on >= LEAST_ON_LAYOUT and on >= ON_LAYOUT_SHARE * len(inner):
                return False
    return True
