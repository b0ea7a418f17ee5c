"""Sentences that the inside of the program says in English, in the language of the screens.

`vision`, `layout` and the store give each sentence whole, with its lengths and names in it. A sentence
is found by its pattern; what stands in the gaps is taken over as it is, unless it is such a sentence itself.
"""

from __future__ import annotations

import re
from functools import cache

from ui.words.faults_spanish import FAULTS_SPANISH
from ui.words.said_spanish import SAID_SPANISH

_PATTERNS: dict[str, dict[str, str]] = {"es": {**FAULTS_SPANISH, **SAID_SPANISH}}
_GAP = re.compile(r"\\\{(\w+)\\\}")


def said_in(language: str, sentence: str) -> str:
    """The sentence in that language; itself when its pattern is not known there."""
    for pattern, template in _compiled(language):
        match = pattern.fullmatch(sentence)
        if match:
            return template.format(
                **{gap: said_in(language, text) for gap, text in match.groupdict().items()}
            )
    return sentence


@cache
def _compiled(language: str) -> tuple[tuple[re.Pattern[str], str], ...]:
    found = []
    # the longest first: a short pattern with wide gaps must not take a longer sentence
    for english, other in sorted(_PATTERNS.get(language, {}).items(), key=lambda item: -len(item[0])):
        found.append((re.compile(_GAP.sub(r"(?P<\1>.+?)", re.escape(english)), re.DOTALL), other))
    return tuple(found)
