"""How a note departs from clean English: abbreviations and slips of the keyboard.

A text and dice come in, a text goes out. Slips fall on long words only, never on the words for a side.
"""

from __future__ import annotations

import random
import re
from typing import Final

SHORTER: Final = (
    ("inguinal hernia", "ing. hernia"),
    ("inguinal hernia", "inguinal hern"),
    ("posterior wall", "post wall"),
    ("posterior wall", "post. wall"),
    ("Posterior wall", "Post wall"),
    ("transversalis fascia", "TF"),
    ("patent processus vaginalis", "PPV"),
    ("patent processus", "PPV"),
    ("inferior epigastric vessels", "IEV"),
    ("epigastric vessels", "epigastrics"),
    ("external oblique", "ext. oblique"),
    ("General anaesthesia", "GA"),
    ("general anaesthesia", "GA"),
    ("non-absorbable", "non-abs."),
    ("internal ring", "int. ring"),
    ("Laparoscopic", "Lap."),
    ("bilateral", "bilat."),
    ("Bilateral", "Bilat"),
    ("with", "w/"),
    ("dissected", "diss."),
)

SLIPS_IN_NOTES: Final = 0.12
SHORT_IN_NOTES: Final = 0.30

_WORD: Final = re.compile(r"[A-Za-z]{6,}")


def shortened(text: str, dice: random.Random) -> str:
    """Abbreviate some of what can be, in some notes."""
    if dice.random() >= SHORT_IN_NOTES:
        return text
    for long, short in dice.sample(SHORTER, 8):
        text = re.sub(rf"\b{re.escape(long)}\b", short, text)
    return text


def slipped(text: str, dice: random.Random) -> str:
    """Misspell one or two words of some notes: two letters turned, one left out, one doubled."""
    if dice.random() >= SLIPS_IN_NOTES:
        return text
    for _ in range(dice.choice((1, 1, 2))):
        words = list(_WORD.finditer(text))
        if not words:
            break
        word = dice.choice(words)
        at = dice.randrange(word.start() + 1, word.end() - 2)
        letters = text[at : at + 2]
        made = dice.choice((letters[::-1], letters[0], letters[0] * 2 + letters[1]))
        text = text[:at] + made + text[at + 2 :]
    return text
