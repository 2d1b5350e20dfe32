"""Operation notes as surgeons dictate, template and abbreviate them, and the type each of them states.

Each phrasing is (type it states, when it can be written, text). `{s}` is the side, `{S}` the side capitalised, `{x}` its
letter. When: open or keyhole; child, grown or any. What a note leaves open is `unknown`; a hydrocele alone has no hernia
and is `unknown` too, with the word hydrocele beside it.
"""

# ruff: noqa: E501 - a note is one unbroken line, as it was dictated

from __future__ import annotations

import random
from typing import Any

NOTES: tuple[tuple[str, str, str, str], ...] = (
    # --- indirect, open ---
    ("indirect", "open", "child", "{S} groin crease incision. Indirect hernia sac found anteromedially on the cord, freed from vas and vessels up to the internal ring, doubly suture ligated. No floor defect."),
    ("indirect", "open", "child", "Procedure: {s} inguinal hernia repair, infant. Findings: patent processus vaginalis w/ small bowel in sac, viable, reduced. High ligation at the internal ring. Testis in scrotum at end of case."),
    ("indirect", "open", "child", "{x}IH. Thin sac off cord structures, twisted, high ligation 3-0 absorbable x2. Floor solid. Closed in layers."),
    ("indirect", "open", "child", "Sac opened, empty, dissected to the level of preperitoneal fat & ligated high. Distal sac left open. {S} side. Tolerated well."),
    ("indirect", "open", "any", "Dissection of the cord showed an indirect sac; the floor of the canal was examined and felt intact, no direct component."),
    ("indirect", "open", "grown", "FINDINGS: Moderate {s} indirect inguinal hernia containing omentum.\nNo direct hernia. \nPROCEDURE: cord encircled, sac dissected to the deep ring, reduced."),
    ("indirect", "open", "grown", "Large inguinoscrotal hernia on the {s}, sac arising lateral to the inferior epigastric vessels. Sac transected, proximal end ligated."),
    ("indirect", "open", "grown", "Patient was prepped and draped. External oblique opened. Lipoma of cord excised. Indirect sac identified and inverted. Posterior wall good."),
    ("indirect", "open", "grown", "{S} sliding hernia, sigmoid forming the wall of an indirect sac, reduced en masse; internal ring tightened with one stitch."),
    ("indirect", "open", "any", "Indirct sac seen at deep ring, disected free and ligated. No evidence of direct defect {s} side."),
    ("indirect", "open", "any", "Preop thought to be direct; at operation the sac came through the internal ring, i.e. indirect. Transversalis fascia sound."),
    # --- indirect, keyhole ---
    ("indirect", "lap", "child", "Diagnostic laparoscopy thru umbilicus. {S} internal ring widely patent. Contralateral ring closed. Ring closed with nonabsorbable purse-string."),
    ("indirect", "lap", "child", "Lap {s} IH repair. PPV on {s}, admits the scope tip. Percutaneous suture passed around ring extraperitoneally, vas and vessels spared, tied. No direct space defect."),
    ("indirect", "lap", "grown", "TEP, {s}. Space developed w/ balloon. Indirect sac reduced off cord, parietalized. Hesselbach's triangle clean."),
    ("indirect", "lap", "grown", "Transabdominal preperitoneal approach. Defect lateral to the epigastrics on {s}. Peritoneal flap raised, sac reduced."),
    ("indirect", "lap", "any", "{S} lateral hernia seen at laparoscopy; medial and femoral spaces normal."),
    # --- direct ---
    ("direct", "open", "any", "{S} groin explored. Cord skeletonized, no indirect sac seen. Bulge through the floor medial to the epigastric vessels: direct hernia. Floor reapproximated."),
    ("direct", "open", "any", "Opened cord carefully - no sac at internal ring. Direct defect about 2 cm, transversalis attenuated. Imbricated."),
    ("direct", "open", "grown", "FINDINGS: {s} direct inguinal hernia, broad based. No indirect component.\nREPAIR: as below."),
    ("direct", "open", "grown", "Dir. hernia {x}, diffuse weakness of inguinal floor. Reduced w/ running suture, not opened."),
    ("direct", "open", "grown", "Weak back wall with a saucer like bulge in Hesselbach's triangle on the {s}; cord lipoma only, no peritoneal sac along the cord."),
    ("direct", "open", "grown", "{S} DIH. Medial sac inverted. Deep ring snug, processus obliterated."),
    ("direct", "open", "any", "Expected indirect hernia was not found. There was a clear direct hernia of the {s} floor w/ preperitoneal fat coming through."),
    ("direct", "lap", "grown", "TEP {s}. Direct defect with pseudosac, pseudosac everted and tacked. Cord parietalized, no indirect sac."),
    ("direct", "lap", "grown", "Laparoscopic view: medial defect {s}, 3 cm, inside the epigastric vessels. Internal ring closed. Flap closed over."),
    ("direct", "lap", "any", "Laparoscopy: both internal rings closed. Small direct hernia on {s}, medial to the epigastrics. Repaired."),
    ("direct", "open", "grown", "Recurrent bulge? No prior surgery per chart. Direct hernai, {s}, fascia thinned out, no lateral sac."),
    # --- combined ---
    ("combined", "open", "grown", "{S} pantaloon hernia, sacs straddling the inferior epigastric vessels. Both reduced."),
    ("combined", "open", "grown", "Indirect sac dissected and ligated. In addition a direct hernia was present through a weak floor ({s})."),
    ("combined", "open", "grown", "Findings {s}: 1) indirect sac, small. 2) direct bulge, moderate."),
    ("combined", "lap", "grown", "TEP {s}: direct and indirect hernias both reduced, femoral canal clear."),
    ("combined", "lap", "grown", "Saddlebag type hernia on {s}. Lateral sac and medial defect covered together."),
    # --- femoral ---
    ("femoral", "open", "any", "{S} groin mass below the ligament. Femoral hernia with incarcerated fat; reduced, canal closed to pectineal ligament. Inguinal canal normal."),
    ("femoral", "open", "grown", "Femoral sac medial to femoral vein on {s}, bowel viable. No inguinal hernia."),
    ("femoral", "open", "grown", "Inguinal floor opened: no direct, no indirect. Femoral hernia found, {s}, reduced from above."),
    ("femoral", "lap", "grown", "Lap: femoral defect {s}, deep ring and floor OK. Fat reduced, covered."),
    # --- left open ---
    ("unknown", "open", "any", "{S} inguinal hernia repaired in standard fashion. See dictated report. No complications."),
    ("unknown", "open", "any", "Hernia {x} groin. Uneventful repair. EBL min. Counts correct."),
    ("unknown", "open", "grown", "Scarred field, anatomy distorted. Hernia reduced; could not tell whether direct or indirect."),
    ("unknown", "lap", "any", "Laparoscopic hernia repair {s}. Pictures in chart."),
    ("unknown", "open", "any", "Procedure performed by covering surgeon, note pending."),
    # --- hydrocele alone ---
    ("hydrocele", "open", "child", "No hernia. Communicating hydrocele {s}, fluid drained, narrow processus ligated at the ring."),
    ("hydrocele", "open", "child", "{S} hydrocele only, no bowel or omentum ever in sac; tract tied off and hydrocele windowed."),
)  # fmt: skip

OPEN_MESH = (
    "Polypropylene mesh laid over floor and fixed.",
    "Onlay mesh to pubic tubercle and shelving edge.",
    "Mesh placed.",
)
KEYHOLE_MESH = ("Flat mesh, 10 x 15, no tacks.", "Preperitoneal polypropylene mesh.", "Mesh placed.")
OF_THE_OTHER_SIDE = ("ontralateral", "both internal rings")
TAILS = (
    "",
    "",
    "",
    "Local infiltrated.",
    "Skin glue.",
    "To PACU stable.",
    "Pt tolerated procedure well.",
    "EBL <5 cc.",
)


def phrasings(kind: str, approach: str, child: bool) -> list[str]:
    """The texts that can be written for an operation of this kind."""
    way = "lap" if approach == "laparoscopic" else "open"
    age = "child" if child else "grown"
    return [text for k, w, a, text in NOTES if k == kind and w == way and a in (age, "any")]


def note(kind: str, op: dict[str, Any], *, child: bool, lone: bool, rng: random.Random) -> str:
    """Write one note. Falls back on the open way, then on any age, when no text fits both.

    `lone` says that the other groin was never operated, so that the note may call it closed.
    """
    approach, side = op["approach"], op["side"]
    texts = (
        phrasings(kind, approach, child)
        or phrasings(kind, "open", child)
        or phrasings(kind, approach, not child)
    )
    if not lone:
        texts = [text for text in texts if not any(words in text for words in OF_THE_OTHER_SIDE)] or texts
    text = rng.choice(texts).format(s=side, S=side.capitalize(), x=side[0].upper())
    if op["mesh_used"] == "yes":
        text += " " + rng.choice(KEYHOLE_MESH if approach == "laparoscopic" else OPEN_MESH)
    text = f"{text} {rng.choice(TAILS)}".strip()
    draw = rng.random()
    if draw < 0.05:
        return text.upper()
    return text.lower() if draw < 0.1 else text
