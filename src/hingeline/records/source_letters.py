"""Letters that look like Latin ones but are not, typed into codes on a keyboard of another script.

A cell comes in; it goes out with its look-alikes as Latin letters when it is Latin throughout then, else as it stood.
The pairs are a subset, typed from memory, of the confusables of Unicode Technical Standard 39 (version 15, 2022).
"""

from __future__ import annotations

import unicodedata
from typing import Final

_LATIN: Final = "ABEKMHOPCTYXSIJaeopcyxsijhdqwABEZHIKMNOPTYXo"
_ALIKE: Final = "АВЕКМНОРСТУХЅІЈаеорсухѕіјһԁԛԝΑΒΕΖΗΙΚΜΝΟΡΤΥΧο"
LOOK_ALIKES: Final = dict(zip(_ALIKE, _LATIN, strict=True))
"""Cyrillic and Greek letters to the Latin letter that each looks like."""

_TABLE: Final = str.maketrans(LOOK_ALIKES)


def plain_letters(text: str) -> str:
    """Write look-alike letters as Latin ones, if the whole text is Latin then.

    A word of another script holds a letter that looks like no Latin one nearly always, so it stays as it is.

    Examples
    --------
    >>> plain_letters("РL2")  # the first letter is the Cyrillic Er
    'PL2'
    >>> plain_letters("левая")
    'левая'
    """
    if text.isascii():
        return text
    plain = text.translate(_TABLE)
    latin = all(not one.isalpha() or unicodedata.name(one, "").startswith("LATIN ") for one in plain)
    return plain if latin else text
