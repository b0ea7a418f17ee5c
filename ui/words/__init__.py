"""Every word the screens show, one file per language, found by a key."""

from __future__ import annotations

from ui.words.buy_english import BUY_ENGLISH
from ui.words.buy_spanish import BUY_SPANISH
from ui.words.english import ENGLISH
from ui.words.house_english import HOUSE_ENGLISH
from ui.words.house_spanish import HOUSE_SPANISH
from ui.words.photos_english import PHOTOS_ENGLISH
from ui.words.photos_spanish import PHOTOS_SPANISH
from ui.words.said import said_in
from ui.words.site_english import SITE_ENGLISH
from ui.words.site_spanish import SITE_SPANISH
from ui.words.spanish import SPANISH

CATALOGUES: dict[str, dict[str, str]] = {
    "en": {**ENGLISH, **HOUSE_ENGLISH, **SITE_ENGLISH, **BUY_ENGLISH, **PHOTOS_ENGLISH},
    "es": {**SPANISH, **HOUSE_SPANISH, **SITE_SPANISH, **BUY_SPANISH, **PHOTOS_SPANISH},
}
LANGUAGE_NAMES = {"en": "English", "es": "Español"}


class Words:
    """The words of one language: ``words("job.wall_name", letter="A")`` fills in the sentence kept there."""

    def __init__(self, language: str) -> None:
        self.language = language
        self._catalogue = CATALOGUES[language]

    def __call__(self, key: str, **values: object) -> str:
        sentence = self._catalogue[key]
        return sentence.format(**values) if values else sentence

    def in_units(self, key: str, style: str, **values: object) -> str:
        """The same in the units of the screen: ``<key>_mm``, where there is one, beside millimetres."""
        metric = f"{key}_mm"
        return self(metric if style == "mm" and metric in self._catalogue else key, **values)

    def or_else(self, key: str, sentence: str) -> str:
        """The words under `key`, or `sentence` when this language has none for it."""
        return self._catalogue.get(key, sentence)

    def said(self, sentence: str) -> str:
        """A sentence that the program's inside says in English, in this language; unknown ones stay."""
        return said_in(self.language, sentence)

    def group(self, prefix: str) -> dict[str, str]:
        """All sentences whose key begins with `prefix` and a dot, without the prefix."""
        start = prefix + "."
        return {key[len(start) :]: text for key, text in self._catalogue.items() if key.startswith(start)}


def language_of(accepted: str | None) -> str:
    """The language to speak, from what the browser asks for ("es-MX", "en-US", ...); else English."""
    first = (accepted or "").replace("_", "-").split("-")[0].strip().lower()
    return first if first in CATALOGUES else "en"
