"""From rectified units to inches: a tape between two marks, or the spacing of the studs.

In rectified units the camera stands 1 from the plane of the front faces, so the scale (inches per
unit) is the camera's distance to the wall in inches.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

# Spacings tried when nothing is stated, inches on centre (trade-common 16 and 24).
ASSUMED_SPACINGS_IN = (16.0, 24.0)
# On centre, inches: 12, 16, 19.2, 24 and 400, 600 mm (trade-common).
USUAL_SPACINGS_IN = (12.0, 15.75, 16.0, 19.2, 23.62, 24.0)
# A layout sharpens a tape's scale when this many members, and this share of all, stand on it and fill this
# share of its marks; it is never trusted closer than LAYOUT_TRUST (a carpenter's own tape).
MEMBERS_TO_SHARPEN, SHARE_TO_SHARPEN, MARKS_FILLED, LAYOUT_TRUST = 5, 0.5, 0.7, 0.001
# A layout within so many sigmas of the tape is the tape's; one farther off, up to OFF_LAYOUT, speaks
# against it.
WITHIN_SIGMAS, OFF_LAYOUT = 2.5, 0.03
# Sigma of a scale that a layout speaks against, and of one that another layout would suit, of the difference.
OFF_SHARE, OTHER_SHARE = 0.7, 0.4
# A stud within this of its layout mark counts as laid out, inches.
ON_LAYOUT_IN = 0.4
LEAST_STUDS_ON_LAYOUT = 4
PITCH_OFF = 0.01  # of a spacing: how far from it the pitch of members whose scale is known may be
FILLS_MARK_IN = 1.2  # a member this near a mark stands for it, if not on it: a double, one nailed beside
BAYS_TRIED = 6  # gaps between members so many places apart, whole, halved and in thirds, may be the pitch
FACE_RELATIVE_SIGMA = 0.06
# Width of the faces that a layout may imply, of the usual one: blurred labels make them look up to twice as
# wide, and with 1.5 at most a 16 in layout with one stud missing was taken for one of 8 in.
FACE_IMPLIED = (0.68, 1.75)
MOST_AGAINST_FACE = 3.5
FACE_LOOKS = 1.03  # median on the tuning scenes, side faces in the same light counted in
# Least scatter about the marks, inches; what is measured counts where it is more (tuning scenes).
LAYOUT_SIGMA_IN = 0.07


@dataclass(frozen=True)
class Scale:
    """Inches per rectified unit with its relative standard deviation.

    Attributes
    ----------
    on_layout, studs : int
        Spacing only: how many members fit the layout, of how many.
    spacing_in : float or None
        Spacing only: the spacing used.
    off_layout : float
        Tape only: how much longer, relative, all would be by the layout that the studs plainly stand on,
        where that is more than the tape's own doubt; else 0.
    """

    inches_per_unit: float
    relative_sigma: float
    on_layout: int = 0
    studs: int = 0
    spacing_in: float | None = None
    off_layout: float = 0.0


def scale_from_marks(
    from_rect: NDArray[np.float64],
    to_rect: NDArray[np.float64],
    length_in: float,
    length_sigma_in: float,
    mark_sigma_units: float,
    stands_proud_in: float = 0.0,
    proud_sigma_in: float = 0.06,
) -> Scale | None:
    """Scale from a length between two marks; None when the marks coincide.

    Marks that stand proud of the faces by p are seen in a plane nearer by p: a length L there
    spans L / (s - p) units, so s = L / span + p.
    """
    span = float(np.hypot(*(np.asarray(to_rect) - np.asarray(from_rect))))
    if span < 1e-6:
        return None
    s = length_in / span + stands_proud_in
    rel = float(
        np.sqrt(
            (length_sigma_in / length_in) ** 2
            + 2 * (mark_sigma_units / span) ** 2
            + (proud_sigma_in / s) ** 2
        )
    )
    return Scale(s, rel)


def scale_from_face(face_units: float, face_in: float) -> Scale:
    """A rough scale from the width of the members' faces alone.

    Faces look 5 % too narrow to 6 % too wide, by eased edges and shading (feasibility study, §0.9): good
    enough to draw on, never to build on.
    """
    return Scale(face_in / face_units, FACE_RELATIVE_SIGMA, 0, 0, None)


def scale_from_spacing(
    centres: NDArray[np.float64],
    spacings_in: tuple[float, ...],
    face_units: float | None,
    face_in: float = 1.5,
    weights: NDArray[np.float64] | None = None,
) -> Scale | None:
    """Scale from members standing on a regular layout.

    Parameters
    ----------
    centres : (N,) array
        Middles of the members, rectified units, left to right.
    spacings_in : tuple of float
        Spacings on centre to consider.
    face_units : float or None
        Typical width of a face in rectified units; settles which spacing it is (a face is
        `face_in` wide to within a third) and nothing else.

    Returns
    -------
    Scale or None
        None when fewer than LEAST_STUDS_ON_LAYOUT members fit any layout.

    Notes
    -----
    The two end members are centred half a face from the ends and off the layout, so they are not
    expected to fit; nor are kings, trimmers and added studs. The scale is the slope of a line fitted
    through (mark number, centre) of those that fit.
    """
    x = np.asarray(centres, float)
    n = len(x)
    if n < LEAST_STUDS_ON_LAYOUT:
        return None
    w = np.ones(n) if weights is None else np.asarray(weights, float)
    reach = x.max() - x.min()
    ahead = np.arange(n)[None, :] - np.arange(n)[:, None]
    i, j = np.nonzero((ahead > 0) & (ahead <= BAYS_TRIED))
    pitches = (np.abs(x[j] - x[i])[:, None] / np.array([1, 2, 3])).ravel()
    pitches = pitches[(pitches > 0) & (pitches >= reach / 40) & (pitches <= reach / 2)]
    best: tuple[float, Scale] | None = None
    for spacing in spacings_in:
        options = pitches
        if face_units is not None:
            implied = face_units * spacing / pitches / face_in
            options = pitches[(implied > FACE_IMPLIED[0]) & (implied < FACE_IMPLIED[1])]
        first = np.unique(np.rint(np.log(options) * 400), return_index=True)[1]
        for pitch in options[np.sort(first)]:
            fitted = fit_layout(x, w, pitch, spacing)
            if fitted is None:
                continue
            score, scale = fitted.score, fitted.scale
            if face_units is not None:
                implied = face_units * scale.inches_per_unit
                off = np.log(implied / (FACE_LOOKS * face_in)) / 0.14
                score -= min(MOST_AGAINST_FACE, 0.8 * off**2)
            if best is None or score > best[0]:
                best = (score, scale)
    return best[1] if best else None


def with_layout(
    tape: Scale,
    centres: NDArray[np.float64],
    weights: NDArray[np.float64],
    inches_more: float,
    rough_relative: float = 0.0,
) -> Scale:
    """A tape's scale sharpened by the layout the members stand on, where there plainly is one.

    A tape across part of the wall fixes the scale less well than a dozen studs set at 16 in do, but
    only it tells which spacing they are set at. Both are weighted by the inverse of their variances.

    Parameters
    ----------
    tape : Scale
    centres, weights : (N,) arrays
        Middles of the members and how well each is seen.
    inches_more : float
        Scale of the faces' edges less that of the tape's plane, inches per unit.
    rough_relative : float
        How far off, relative, marks that were placed roughly may have the tape's scale.

    Returns
    -------
    Scale
        `tape` itself where the members plainly stand on no layout, or several suit it; with a larger sigma
        where the layout speaks against it (`off_layout`).
    """
    s = tape.inches_per_unit + inches_more
    plain = _plain_layouts(np.asarray(centres, float), np.asarray(weights, float), s)
    rel = [float(np.hypot(max(f.relative_sigma, LAYOUT_TRUST), tape.relative_sigma)) for f in plain]
    offs = [f.inches_per_unit / s - 1 for f in plain]
    fits = [f for f, o, r in zip(plain, offs, rel, strict=True) if abs(o) < WITHIN_SIGMAS * r]
    if not fits:
        nearest = min((o for o in offs if abs(o) < OFF_LAYOUT), key=abs, default=0.0)
        doubt = max(tape.relative_sigma, OFF_SHARE * abs(nearest))
        return replace(tape, relative_sigma=doubt, off_layout=nearest)
    if max(f.inches_per_unit for f in fits) > 1.002 * min(f.inches_per_unit for f in fits):
        return tape
    layout = max(fits, key=lambda f: f.on_layout)
    a = 1 / tape.relative_sigma**2
    b = 1 / max(layout.relative_sigma, LAYOUT_TRUST) ** 2
    fused = (a * s + b * layout.inches_per_unit) / (a + b)
    doubt = float((a + b) ** -0.5)
    # Marks placed roughly may have meant a neighbouring spacing: 400 mm and 16 in are 1.6 % apart.
    assert layout.spacing_in is not None
    apart = [other / layout.spacing_in - 1 for other in USUAL_SPACINGS_IN if other != layout.spacing_in]
    off = layout.inches_per_unit / s - 1
    others = [gap for gap in apart if abs(off + gap) < rough_relative]
    if others:
        doubt = float(np.hypot(doubt, OTHER_SHARE * min(others, key=abs)))
    return replace(tape, inches_per_unit=fused - inches_more, relative_sigma=doubt)


def _plain_layouts(x: NDArray[np.float64], w: NDArray[np.float64], inches_per_unit: float) -> list[Scale]:
    """Layouts of usual spacings that most members stand on and that leave few marks empty."""
    if len(x) < MEMBERS_TO_SHARPEN:
        return []
    out = []
    for spacing_in in USUAL_SPACINGS_IN:
        fitted = fit_layout(x, w, spacing_in / inches_per_unit, spacing_in)
        marks = (x.max() - x.min()) * inches_per_unit / spacing_in + 1
        enough = max(MEMBERS_TO_SHARPEN, SHARE_TO_SHARPEN * int((w > 0).sum()), MARKS_FILLED * marks)
        if fitted is not None and fitted.scale.on_layout >= enough:
            out.append(fitted.scale)
    return out


def weighted_line(
    k: NDArray[np.float64], x: NDArray[np.float64], w: NDArray[np.float64]
) -> tuple[float, float]:
    """Slope and intercept of the weighted least-squares line x = slope * k + intercept."""
    total = w.sum()
    k_mean, x_mean = float(w @ k / total), float(w @ x / total)
    slope = float(w @ ((k - k_mean) * (x - x_mean)) / (w @ (k - k_mean) ** 2))
    return slope, x_mean - slope * k_mean


@dataclass(frozen=True)
class LayoutFit:
    """Members on marks one pitch apart.

    Attributes
    ----------
    score : float
        More is likelier.
    scale : Scale
    pitch, first : float
        Marks lie at `first` + k * `pitch`, in the units of the members' places.
    """

    score: float
    scale: Scale
    pitch: float
    first: float

    def mark_near(self, x: NDArray[np.float64]) -> NDArray[np.float64]:
        """The marks nearest to places `x` (N,), in the units of the members' places."""
        return self.first + self.pitch * np.rint((x - self.first) / self.pitch)


def fit_layout(
    x: NDArray[np.float64],
    w: NDArray[np.float64],
    pitch: float,
    spacing_in: float,
    least: int = LEAST_STUDS_ON_LAYOUT,
) -> LayoutFit | None:
    """Fit marks about `pitch` apart to members at `x` (N,), weighted by `w`; None where under `least` fit.

    A member of no weight (a double: either ply may be the one laid out) fills its mark and fixes nothing.
    """
    tol = ON_LAYOUT_IN / spacing_in * pitch
    apart = x[None, :] - x[:, None]  # from every possible anchor
    marks = np.rint(apart / pitch)
    # Tolerance grows slowly with distance while the pitch is rough.
    near = (np.abs(apart - marks * pitch) < tol * (1 + 0.15 * np.abs(marks))) & (w > 0)
    anchor = int(np.argmax(near @ w))
    k, inl = marks[anchor], near[anchor]
    line = (pitch, float(x[anchor]))
    for _ in range(4):
        if inl.sum() < least or len(set(k[inl])) < 3:
            return None
        line = weighted_line(k[inl], x[inl], w[inl] ** 2)
        if line[0] <= 0:
            return None
        before = inl
        k = np.rint((x - line[1]) / line[0])
        inl = (np.abs(x - line[1] - k * line[0]) < ON_LAYOUT_IN / spacing_in * line[0]) & (w > 0)
        if (inl == before).all():
            break
    if inl.sum() < least or len(set(k[inl])) < 3:
        return None
    s = spacing_in / line[0]
    resid_in = (x[inl] - line[1] - k[inl] * line[0]) * s
    kk = k[inl] - k[inl].mean()
    sigma_in = max(LAYOUT_SIGMA_IN, float(np.sqrt(np.mean(resid_in**2))))
    rel = sigma_in / spacing_in / float(np.sqrt(np.sum(kk**2)))
    # Few marks fix a line less well than their scatter says (two parameters were fitted to them).
    rel *= float(np.sqrt((len(kk) - 1) / max(len(kk) - 3, 0.5)))
    # Each layout mark inside the span without a member at or near it counts against this layout.
    span = int(k[inl].max() - k[inl].min()) + 1
    filled = np.abs(x - line[1] - k * line[0]) * s < FILLS_MARK_IN
    filled &= (k >= k[inl].min()) & (k <= k[inl].max())
    missing = span - len(set(k[filled]))
    score = float(w[inl].sum()) - 0.5 * missing - 1.5 * float(np.mean(resid_in**2)) / 0.15**2 * 0.3
    scale = Scale(float(s), rel, int(inl.sum()), int((w > 0).sum()), spacing_in)
    return LayoutFit(score, scale, line[0], line[1])


def layout_of(x: NDArray[np.float64], known: float | None, least: int, share: float) -> LayoutFit | None:
    """The layout that at least `least` members at `x` (N,), inches, stand on, and that share of all of them.

    `known` is its spacing where that is known; else all usual ones are tried.
    """
    best: LayoutFit | None = None
    for spacing in (known,) if known else USUAL_SPACINGS_IN:
        fit = fit_layout(x, np.ones(len(x)), spacing, spacing, least) if len(x) >= least else None
        if fit is None or abs(fit.pitch / spacing - 1) > PITCH_OFF:
            continue
        if fit.scale.on_layout >= share * len(x) and (best is None or fit.score > best.score):
            best = fit
    return best
