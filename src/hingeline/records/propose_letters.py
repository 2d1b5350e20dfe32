"""Single letters and short codes of side and sex, told by the set that they stand in.

The distinct cells of a column come in; their meanings go out, or None when no set of a language holds them all.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final, Literal

from .header_words import senses
from .identifier_words import flat
from .legend_model import BOTH, Meaning

_SIDES: Final = (
    # left, right: English, German, Dutch; French; Italian; Spanish; Portuguese; Nordic; Polish
    ("l lt lft li lks links left", "r rt rgt re rts rechts right"),
    ("g ga gau gche gauche", "d dr dte droite droit"),
    ("s sn sin sx sinistra sinistro", "d dx ds des dex destra destro"),
    ("i iz izq izqda izquierda izquierdo", "d de der dcha derecha derecho"),
    ("e es esq esquerda esquerdo", "d di dir dta dto direita direito"),
    ("v ve ven vs vsn va venstre vanster", "h ho hoj hoy hog hojre hoyre hoger"),
    ("l le lew lewa lewy lewe", "p pr praw prawa prawy prawe"),
    ("sin s", "dx dex dxt dext"),
)
_BOTH_LISTED: Final = (
    "b bi bil bilat bds bs beids beid lr rl l+r r+l both ambos amb ambi dz o ob obu obie obustr bb "
    "a 2 dg gd d+g g+d sd ds d+s s+d id di hv vh v+h h+v lp pl l+p p+l be bdz dob dbl bilateral "
    "beidseits ed de e+d d+e i+d d+i bilaterale l/r r/l hb"
)
_BOTH: Final = frozenset(_BOTH_LISTED.split())
_SEXES: Final = (
    # male, female
    ("m ma male man men mann maennl mannl mnl masc mas", "f fe fem female fr"),
    ("m man mann mannl mnl", "w we weib weibl wbl"),
    ("m man mann mand mezczyzna mez", "k kv kvinne kvinde kvinna kob kobieta ki"),
    ("m man", "v vr vrouw"),
    ("h ho hom homme", "f fe fem femme"),
    ("h ho hom hombre", "m mu muj mujer"),
    ("v var varon", "m mu muj mujer"),
    ("v var varon", "h hem hembra"),
    ("h ho hom homem", "m mu mul mulher"),
    ("b boy boys", "g girl girls"),
    ("j junge jongen", "m ma madchen maedchen meisje"),
    ("p pojke", "f flicka"),
    ("d dreng", "p pige"),
    ("g gutt garcon", "j jente"),
    ("g garcon", "f fille"),
    ("u uomo", "d donna"),
    ("c chlopiec", "d dziewczynka"),
    ("m", "z"),
    ("m", "n"),
)
_NOT_KNOWN: Final = frozenset(
    ["u", "uk", "unk", "x", "i", "?", "o", "n/a", "na", "nk", "ukn", "d", "nb", "ub", "ind"]
)


def by_letters(
    field: str, cells: Mapping[str, int], header: str
) -> tuple[dict[str, Meaning], Literal["letters", "standard"]] | None:
    """Meanings of the cells of a column of side or sex."""
    if field == "side":
        found = _sides(cells)
    elif field == "sex":
        if (standard := _standard(cells, header)) is not None:
            return standard, "standard"
        found = _sexes(cells)
    else:
        return None
    return (found, "letters") if found is not None else None


def _plain(cell: str) -> str:
    return re.sub(r"[^\w+/?]", "", flat(cell))


def _sides(cells: Mapping[str, int]) -> dict[str, Meaning] | None:
    short = {cell: _plain(cell) for cell in cells}
    best: tuple[int, dict[str, Meaning]] | None = None
    for left, right in _SIDES:
        lefts, rights = set(left.split()), set(right.split())
        told: dict[str, Meaning] = {}
        for cell, plain in short.items():
            if plain in lefts:
                told[cell] = "left"
            elif plain in rights:
                told[cell] = "right"
        if len(set(told.values())) < 2:
            continue
        told |= {cell: BOTH for cell, plain in short.items() if plain in _BOTH and cell not in told}
        weight = sum(cells[cell] for cell in told)
        if best is None or weight > best[0]:
            best = (weight, told)
    if best is None or best[0] < 0.5 * sum(cells.values()):
        return None
    return best[1]


def _sexes(cells: Mapping[str, int]) -> dict[str, Meaning] | None:
    short = {cell: _plain(cell) for cell in cells}
    best: tuple[float, dict[str, Meaning]] | None = None
    for male, female in _SEXES:
        males, females = set(male.split()), set(female.split())
        told: dict[str, Meaning] = {}
        for cell, plain in short.items():
            if plain in males:
                told[cell] = "male"
            elif plain in females:
                told[cell] = "female"
        if len(set(told.values())) < 2:
            continue
        told |= {cell: "" for cell, plain in short.items() if plain in _NOT_KNOWN and cell not in told}
        weight = float(sum(cells[cell] for cell in told))
        men = sum(cells[cell] for cell, meaning in told.items() if meaning == "male")
        # nine in ten groin hernias are men's (Burcharth 2013), so of two readings the one with more men
        weight *= 1.0 if men > 0.5 * weight else 0.9
        if best is None or weight > best[0]:
            best = (weight, told)
    if best is None or best[0] < 0.5 * sum(cells.values()):
        return None
    return best[1]


def _standard(cells: Mapping[str, int], header: str) -> dict[str, Meaning] | None:
    """Numbers of ISO/IEC 5218, where both sexes stand and nothing but them and its two others."""
    meanings: dict[str, Meaning] = {"1": "male", "2": "female", "0": "", "9": ""}
    plain = {cell: cell.strip().removesuffix(".0").removesuffix(",0") for cell in cells}
    if "sex" not in senses(header) or not {"1", "2"} <= set(plain.values()) <= set(meanings):
        return None
    return {cell: meanings[number] for cell, number in plain.items()}
