"""What a surgeon writes of the repair: frames by repair and approach, in full and in brief.

Constants come out; femoral hernias have ligations and sutures of their own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

REPAIRS: Final[Mapping[str, Sequence[str]]] = {
    "open high_ligation": (
        "The sac was twisted, transfixed and ligated at the internal ring, and excised.",
        "High ligation of the sac with an absorbable transfixion stitch.",
        "Herniotomy: sac ligated high and divided. No repair of the canal needed.",
        "Sac tied off at its neck with two ligatures and removed.",
        "Simple herniotomy.",
        "The neck was transfixed flush with the ring; stump slipped back.",
        "Sac doubly ligated at the deep ring, distal part left open.",
        "High ligation only, no mesh.",
        "Herniotomy through a short skin-crease incision.",
        "Ligation and division of the sac at the deep ring.",
    ),
    "laparoscopic high_ligation": (
        "The internal ring was closed with a purse-string of non-absorbable suture.",
        "Percutaneous closure of the internal ring, knot buried.",
        "Laparoscopic high ligation of the sac at the ring.",
        "Ring encircled extraperitoneally with a needle and tied.",
        "Laparoscopic herniotomy: ring closed with an N-shaped stitch.",
        "The sac was divided at the ring and the peritoneum closed by suture.",
        "Ring closed by suture under vision, good closure.",
        "Laparoscopic ligation of the ring, no mesh.",
    ),
    "open tissue": (
        "Shouldice repair in layers.",
        "Bassini repair with interrupted non-absorbable sutures.",
        "Posterior wall plicated and the conjoint tendon brought to the inguinal ligament.",
        "Sutured repair of the floor; no mesh used.",
        "Tissue repair: transversalis fascia doubled over, ring tightened.",
        "Darn of non-absorbable suture without tension.",
        "The floor was reconstructed by suture (Shouldice).",
        "Herniorrhaphy after Bassini.",
        "Suture repair of the posterior wall. Mesh was not used.",
    ),
    "open mesh": (
        "Lichtenstein repair with a flat mesh.",
        "A polypropylene mesh was laid behind the {cord} and fixed to the inguinal ligament.",
        "Tension-free mesh repair, tails crossed round the {cord}.",
        "Mesh hernioplasty (Lichtenstein).",
        "Flat mesh 6 x 11 cm sutured to the inguinal ligament and conjoint area.",
        "Onlay mesh placed.",
        "Open preperitoneal mesh.",
        "Plug and patch of mesh.",
        "Lightweight mesh, Lichtenstein technique, nerves kept.",
        "Repair with mesh in the usual way.",
    ),
    "laparoscopic mesh": (
        "TEP repair with a 10 x 15 cm mesh.",
        "TAPP: mesh laid over the myopectineal orifice, peritoneum closed.",
        "Totally extraperitoneal mesh repair.",
        "Transabdominal preperitoneal repair, mesh fixed with three tacks.",
        "Large mesh placed preperitoneally, no fixation.",
        "Laparoscopic mesh repair without incident.",
        "Mesh covering all three orifices, glue fixation.",
        "TAPP with lightweight mesh.",
    ),
}
"""By operation: approach and repair."""

FEMORAL_REPAIRS: Final[Mapping[str, Sequence[str]]] = {
    "open high_ligation": (
        "The sac was ligated at its neck and excised, nothing more.",
        "High ligation of the sac alone.",
        "Sac tied high and removed.",
    ),
    "open tissue": (
        "The canal was closed by sutures between the inguinal and pectineal ligaments.",
        "Sutured repair, three stitches to the pectineal ligament. No mesh.",
        "McVay repair.",
        "Ring narrowed by suture, tissue repair.",
    ),
    "open mesh": (
        "A rolled mesh plug was placed in the canal and stitched.",
        "Preperitoneal mesh placed by the open route.",
        "Mesh repair from above.",
        "Mesh plug.",
    ),
}

TERSE_REPAIRS: Final[Mapping[str, Sequence[str]]] = {
    "open high_ligation": (
        "herniotomy",
        "high ligation",
        "sac ligated",
        "HL open",
        "sac transfixed, excised",
    ),
    "laparoscopic high_ligation": (
        "lap ring closure",
        "lap herniotomy",
        "lap high ligation",
        "ring sutured lap.",
    ),
    "open tissue": ("Shouldice", "Bassini", "suture repair", "tissue repair, no mesh", "darn"),
    "open mesh": ("Lichtenstein", "open mesh", "flat mesh", "mesh, Lichtenstein", "plug + mesh"),
    "laparoscopic mesh": ("TEP", "TAPP", "lap mesh", "TEP, mesh", "TAPP, mesh tacked"),
}

TERSE_FEMORAL: Final[Mapping[str, Sequence[str]]] = {
    "open high_ligation": ("sac ligated", "sac tied, excised", "high ligation"),
    "open tissue": ("McVay", "suture repair", "three stitches, no mesh"),
    "open mesh": ("mesh plug", "open mesh", "preperitoneal mesh, open"),
}
