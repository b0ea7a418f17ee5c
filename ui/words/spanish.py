"""Spanish words of the screens. The keys are those of the English catalogue."""

SPANISH: dict[str, str] = {}
