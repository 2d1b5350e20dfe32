"""What stands around finding and repair in an operation note: titles, indications, the way in and out, asides.

Constants come out. ``{Side}`` and ``{side}`` are the side in some spelling, ``{other}`` the other side.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

SIDES: Final[Mapping[str, Mapping[str, Sequence[str]]]] = {
    "dictated": {"left": ("left",), "right": ("right",)},
    "templated": {"left": ("left", "left", "LEFT", "Lt"), "right": ("right", "right", "RIGHT", "Rt")},
    "terse": {"left": ("L", "Lt", "left", "lt"), "right": ("R", "Rt", "right", "rt")},
}
"""How each side is written in each style."""

TITLES: Final[Mapping[str, Sequence[str]]] = {
    "open": (
        "{Side} inguinal hernia repair",
        "Repair of {side} inguinal hernia",
        "{Side} groin hernia, open repair",
        "Open repair of a {side} inguinal hernia",
        "{Side} inguinal hernia",
        "Operation on a {side} groin hernia",
    ),
    "herniotomy": (
        "{Side} inguinal herniotomy",
        "{Side} herniotomy",
        "Herniotomy, {side}",
        "{Side} inguinal hernia, herniotomy",
        "{Side} open herniotomy",
    ),
    "laparoscopic": (
        "Laparoscopic repair of {side} inguinal hernia",
        "Laparoscopic {side} inguinal hernia repair",
        "{Side} inguinal hernia, laparoscopic repair",
        "Lap repair of {side} groin hernia",
    ),
    "hydrocele": (
        "{Side} hydrocele",
        "Ligation of patent processus, {side} hydrocele",
        "{Side} hydrocele operation",
    ),
    "with orchidopexy": ("{Side} orchidopexy", "{Side} orchidopexy with herniotomy", "Orchidopexy, {side}"),
    "processus closed in passing": (
        "Closure of {side} patent processus at laparoscopy",
        "{Side} patent processus closed at laparoscopy",
    ),
    "recurrent": (
        "Recurrent {side} inguinal hernia",
        "Repair of recurrent {side} inguinal hernia",
        "{Side} recurrent groin hernia",
        "Redo repair, {side} recurrent inguinal hernia",
    ),
    "recurrent laparoscopic": (
        "Laparoscopic repair of recurrent {side} inguinal hernia",
        "Recurrent {side} inguinal hernia, laparoscopic repair",
    ),
    "both": (
        "Bilateral inguinal hernia repair",
        "Bilateral inguinal hernias",
        "Repair of both groins",
        "Bilateral groin hernia repair",
    ),
    "both laparoscopic": (
        "Laparoscopic bilateral inguinal hernia repair",
        "Bilateral inguinal hernias, laparoscopic repair",
        "Lap repair, bilateral groin hernias",
    ),
}

AGAIN: Final = (
    "This groin had been repaired {years} years ago elsewhere.",
    "Recurrence after a repair of the same groin {years} years before.",
    "Previous repair of this side, {years} years back; now recurrent.",
    "Scar tissue from the earlier repair of this groin.",
)

INDICATIONS: Final[Mapping[str, Sequence[str]]] = {
    "child": (
        "Swelling noticed by the parents.",
        "Lump in the groin when crying.",
        "Reducible groin swelling since some weeks.",
        "Referred by the family doctor with a groin lump.",
        "Intermittent swelling, seen in clinic.",
    ),
    "adult": (
        "Painful lump on lifting.",
        "Reducible groin lump for some months.",
        "Symptomatic hernia.",
        "Dragging discomfort in the groin.",
        "Lump, slowly growing over two years.",
        "Seen in clinic, keen on repair.",
    ),
    "emergency": (
        "Irreducible since this morning.",
        "Came as an emergency with a tender lump.",
        "Obstructed hernia, taken to theatre tonight.",
    ),
}

WAY_IN: Final[Mapping[str, Sequence[str]]] = {
    "open": (
        "General anaesthesia, supine.",
        "Skin-crease incision in the groin.",
        "Groin incision, external oblique opened in the line of its fibres.",
        "Incision over the canal; ilioinguinal nerve seen and kept.",
        "Prepped and draped in the usual manner. Groin incision.",
        "Under general anaesthesia with a local block, a short groin incision was made.",
    ),
    "laparoscopic": (
        "General anaesthesia. Umbilical port by open entry.",
        "Umbilical camera port and two 5 mm ports.",
        "Pneumoperitoneum to 10 mmHg through the umbilicus.",
        "Supine, bladder emptied; camera at the umbilicus.",
        "Preperitoneal space opened by blunt dissection from below the umbilicus.",
    ),
}

WAY_OUT: Final[Mapping[str, Sequence[str]]] = {
    "open": (
        "Wound closed in layers, absorbable suture to the skin.",
        "External oblique closed, subcuticular skin.",
        "Layers closed. Local anaesthetic to the wound.",
        "Haemostasis good. Skin closed.",
        "Testis seen in the scrotum at the end.",
        "Closure in layers; dry dressing.",
    ),
    "laparoscopic": (
        "Ports out under vision, gas let off, skin closed.",
        "Umbilicus closed, glue to the skin.",
        "No bleeding from port sites.",
        "Gas released slowly, ports closed.",
    ),
}

AFTERWARDS: Final = (
    "Home today.",
    "Home when comfortable.",
    "Review in clinic in six weeks.",
    "Simple analgesia.",
    "No lifting for two weeks.",
    "Day case.",
    "Routine care.",
    "Discharged by nurse.",
)

OTHER_SIDE_CLOSED: Final = (
    "The {other} ring was closed.",
    "Opposite side inspected, no open processus.",
    "{Other} side normal on inspection.",
    "Contralateral ring closed.",
)
"""What the camera sees of a groin that needs no operation."""

OLD_OTHER: Final = (
    "Past history: {other} inguinal hernia repaired in childhood.",
    "The {other} side was done some years ago.",
    "Old {other} groin scar.",
)

THOUGHT: Final[Mapping[str, str]] = {
    "indirect": "Thought to be direct before operation.",
    "direct": "Clinically thought to be indirect.",
    "femoral": "Sent in as an inguinal hernia.",
}
"""What was believed before anybody looked."""

TYPE_WORDS: Final[Mapping[str, Sequence[str]]] = {
    "indirect": ("indirect", "indirect", "lateral", "indirect (lateral)", "L (lateral)"),
    "direct": ("direct", "direct", "medial", "direct (medial)", "M (medial)"),
    "combined": ("combined", "pantaloon", "direct + indirect", "combined (pantaloon)"),
    "femoral": ("femoral",),
    "unknown": ("not stated", "?", "unclear", "not known", ""),
}
"""After "Type:" on a printed form."""

REPAIR_WORDS: Final[Mapping[str, Sequence[str]]] = {
    "high_ligation": ("high ligation", "herniotomy", "ligation of sac"),
    "tissue": ("Shouldice", "Bassini", "suture repair", "tissue repair"),
    "mesh": ("mesh", "mesh repair"),
}
"""After "Repair:" on a printed form."""
