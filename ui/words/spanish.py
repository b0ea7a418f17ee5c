# ruff: noqa: E501 (one sentence or rule per line reads best)
"""Spanish words of the screens. The keys are those of the English catalogue."""

SPANISH: dict[str, str] = {}
