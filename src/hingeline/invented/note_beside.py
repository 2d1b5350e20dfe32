"""What a surgeon writes besides the hernia found: what is absent, the floor of the canal, and what was no hernia.

Constants come out, with the slots of `note_findings`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

ABSENT: Final[Mapping[str, Sequence[str]]] = {
    "indirect": (
        "No direct component.",
        "Posterior wall intact.",
        "The floor of the canal was sound.",
        "No direct defect.",
        "There was no direct hernia.",
        "No direct or femoral hernia.",
        "The posterior wall was examined and firm.",
        "Transversalis fascia good, nothing medially.",
        "No weakness of the back wall.",
        "Hesselbach's triangle was intact.",
        "Post wall palpated, strong.",
        "The floor was checked: no bulge on straining.",
        "Posterior wall looked at and solid. Femoral canal empty.",
    ),
    "direct": (
        "No indirect sac.",
        "The {cord} was opened up and held no sac.",
        "Deep ring explored: no lateral sac.",
        "No indirect component.",
        "Only a lipoma at the deep ring, no indirect sac.",
        "The internal ring was snug.",
        "There was no indirect hernia.",
        "No patent processus.",
        "The {cord} was searched for an indirect sac and none was found.",
        "Femoral canal empty.",
    ),
    "combined": ("No femoral hernia.", "Femoral canal empty.", "Nothing in the femoral canal."),
    "femoral": (
        "No inguinal hernia.",
        "Neither a direct nor an indirect hernia was present.",
        "The inguinal canal was sound.",
        "No inguinal component.",
    ),
    "unknown": (
        "A direct component could not be excluded.",
        "Cannot exclude a direct component.",
        "The posterior wall could not be judged.",
        "Femoral canal empty.",
    ),
}
"""What is said not to be there, where somebody looked."""

ABSENT_BY_SCOPE: Final[Mapping[str, Sequence[str]]] = {
    "indirect": (
        "No medial defect.",
        "No direct or femoral defect on this side.",
        "Medial wall flat, no direct hernia.",
        "Hesselbach's triangle flat.",
        "No direct component seen.",
    ),
    "direct": (
        "No indirect sac.",
        "The deep ring was closed.",
        "No lateral defect.",
        "No indirect or femoral defect seen.",
        "Internal ring closed, no sac on the {cord}.",
    ),
    "combined": ("No femoral defect.", "Femoral ring closed."),
    "femoral": (
        "No direct or indirect defect.",
        "Inguinal region flat on both aspects.",
        "No inguinal defect.",
    ),
    "unknown": ("Femoral ring closed.", "A direct component cannot be ruled out."),
}

FLOOR_LEFT: Final = (
    "The posterior wall was not inspected.",
    "Floor of the canal not examined.",
    "The back wall was not looked at.",
    "Canal not opened; floor not assessed.",
    "The floor was left alone and not explored.",
    "Posterior wall not seen.",
)
"""Where nobody looked at the floor, and says so."""

FLOOR_SEEN: Final[Mapping[str, Sequence[str]]] = {
    "direct": (
        "The whole floor was inspected.",
        "The posterior wall was examined from the ring to the tubercle.",
        "Posterior wall explored.",
    ),
    "combined": ("The whole floor was inspected.", "Posterior wall and ring both examined."),
    "femoral": ("The inguinal floor was examined as well and was sound.",),
    "unknown": ("The floor was palpated.",),
}
"""Where somebody looked at the floor and says so, besides what is absent."""

HYDROCELE: Final = (
    "Communicating hydrocele; the patent processus was traced to the deep ring.",
    "Hydrocele with a narrow patent processus, no bowel in it.",
    "Hydrocele, emptied through the opened processus. No hernia sac of any size.",
    "A fluid-filled processus (communicating hydrocele) was isolated. No hernia.",
    "Findings: hydrocele, thin patent processus.",
    "Hydrocele of the cord in continuity with the peritoneum.",
)

ORCHIDOPEXY: Final = (
    "Undescended testis brought down; the accompanying indirect sac was separated from the {vas}.",
    "Orchidopexy: testis freed, indirect hernia sac dissected off the cord.",
    "Testis at the external ring, with a patent processus (indirect sac).",
    "Undescended testis with an associated indirect hernia.",
    "The testis was mobilised and the indirect sac that came with it freed to the deep ring.",
)

IN_PASSING: Final = (
    "Patent processus vaginalis seen on this side, no hernia; closed in passing.",
    "Contralateral PPV found on laparoscopy and closed at the same sitting; no clinical hernia here.",
    "The ring on this side was open (PPV, no hernia) and was closed as well.",
    "Asymptomatic patent processus on this side, closed while there.",
    "Incidental open processus, no hernia, closed.",
)
