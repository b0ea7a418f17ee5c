"""Clusters: a large job cut into groups of neighbouring surfaces; its time grows with their number."""

from __future__ import annotations

from layout.rows import SurfaceRows

__all__ = ["clusters_for", "clusters_of"]

WHOLE_SEGMENTS = 260
"""Segments (stretches of a course) up to which a job is solved whole."""
CLUSTER_SEGMENTS = 160
"""Segments of a cluster of a larger job.  Larger clusters share more off-cuts and take longer."""
CLUSTER_KINDS = 2_600
"""Kinds of pieces (length, height, tapers) of a cluster at most, few enough not to be rounded."""


def clusters_for(all_rows: tuple[SurfaceRows, ...], opposite: tuple[tuple[int, int], ...]) -> list[list[int]]:
    """As few clusters as can be solved: by their segments, and by the kinds of their pieces."""
    total = sum(len(rows.segments) for rows in all_rows)
    count = 1 if total <= WHOLE_SEGMENTS else -(-total // CLUSTER_SEGMENTS)
    kinds = [
        {(span.length, span.height, span.tapers) for part in rows.segments for span in part.spans}
        for rows in all_rows
    ]
    while True:
        clusters = clusters_of(all_rows, opposite, count)
        most = max(len(set().union(*(kinds[s] for s in cluster))) for cluster in clusters)
        if most <= CLUSTER_KINDS or count >= len(all_rows):
            return clusters
        count = -(-count * 5 // 4)


def clusters_of(
    all_rows: tuple[SurfaceRows, ...], opposite: tuple[tuple[int, int], ...], count: int
) -> list[list[int]]:
    """Surfaces in their order, cut into clusters of about equal size; faces stay together.

    With `count` 0 every surface, or partition with its two faces, is a cluster.
    """
    leader = list(range(len(all_rows)))

    def find(surface: int) -> int:
        while leader[surface] != surface:
            surface = leader[surface]
        return surface

    for one, two in opposite:
        a, b = sorted((find(one), find(two)))
        leader[b] = a
    families: dict[int, list[int]] = {}
    for surface in range(len(all_rows)):
        families.setdefault(find(surface), []).append(surface)
    if not count:
        return list(families.values())
    sizes = {key: sum(len(all_rows[s].segments) for s in family) for key, family in families.items()}
    total = sum(sizes.values())
    clusters: list[list[int]] = [[] for _ in range(count)]
    before = 0
    for key, family in families.items():
        middle = before + sizes[key] / 2
        clusters[min(count - 1, int(middle * count / max(total, 1)))] += family
        before += sizes[key]
    return [cluster for cluster in clusters if cluster]
