"""Operation notes written for the reader's own development, with what each tells: text, side, fields.

A field without a prefix is that of the operated groin; ``L.`` and ``R.`` name one of two. None of these is the blind set.
"""

from __future__ import annotations

from typing import Any

Example = tuple[str, str | None, dict[str, Any]]

TERSE: list[Example] = [
    ("L herniotomy. Indirect sac ligated. PW sound.", "left", {"type": "indirect", "repair": "high_ligation", "known_by": "floor examined"}),
    ("RIH. Large direct defect. Lichtenstein.", "right", {"type": "direct", "repair": "mesh", "mesh": True, "approach": "open"}),
    ("Lt IH - herniotomy, sac transfixed. Home.", "left", {"type": "unknown", "repair": "high_ligation"}),
    ("TEP b/l, direct L + R, mesh x2", "both", {"L.type": "direct", "R.type": "direct", "L.repair": "mesh", "R.approach": "laparoscopic"}),
    ("Rt inguinal hernia, pantaloon, Shouldice", "right", {"type": "combined", "repair": "tissue", "approach": "open"}),
    ("(R) PPV - ligated at IIR", "right", {"type": "indirect", "repair": "high_ligation"}),
    ("LIIH, IIR wide, herniotomy, no mesh", "left", {"type": "indirect", "mesh": False, "repair": "high_ligation"}),
    ("R femoral hernia, McEvedy, omentum reduced", "right", {"type": "femoral"}),
    ("L hydrocele, PPV ligated", "left", {"type": "unknown", "reason": "hydrocele", "repair": "high_ligation"}),
    ("R orchidopexy, sac found and ligated", "right", {"type": "unknown", "reason": "with orchidopexy", "repair": "high_ligation"}),
    ("PL2 left, TAPP", "left", {"type": "indirect", "occurrence": "primary", "approach": "laparoscopic"}),
    ("Right groin. EHS RM1. Lichtenstein.", "right", {"type": "direct", "occurrence": "recurrent", "mesh": True}),
    ("Left herniotomy", "left", {"type": "unknown", "repair": "high_ligation"}),
    ("Recurrent RIH. Direct. Mesh.", "right", {"type": "direct", "occurrence": "recurrent", "mesh": True}),
    ("LIH ?direct, herniotomy", "left", {"type": "unknown"}),
    ("Sliding left indirect hernia, caecum no, sigmoid in sac, reduced, high ligation", "left", {"type": "indirect", "sliding": True}),
    ("L indirect, R direct. TAPP both sides.", "both", {"L.type": "indirect", "R.type": "direct", "L.approach": "laparoscopic", "R.repair": "mesh"}),
    ("RIH: weak floor, Bassini", "right", {"type": "direct", "repair": "tissue"}),
    ("Lft ing hernia, in direct sac, herniotomy", "left", {"type": "indirect"}),
    ("s/p L herniotomy, now R IH, indirect, herniotomy", "right", {"type": "indirect", "occurrence": None}),
]

NARRATIVE: list[Example] = [
    (
        "The patient was brought to theatre and placed supine. A right groin skin crease incision was made. The external "
        "oblique aponeurosis was opened in the line of its fibres. An indirect sac was identified on the anteromedial aspect "
        "of the cord and was dissected free to the deep ring, where it was transfixed and divided. The posterior wall was "
        "inspected and found to be firm, with no evidence of a direct hernia. The wound was closed in layers under direct vision.",
        "right",
        {"type": "indirect", "repair": "high_ligation", "approach": "open", "known_by": "floor examined"},
    ),
    (
        "Left inguinal incision. Cord mobilised. No indirect sac was seen despite a careful search. There was a diffuse bulge of "
        "the posterior wall medial to the inferior epigastric vessels. This was plicated and the floor repaired after Shouldice. "
        "Mesh was offered preoperatively and declined.",
        "left",
        {"type": "direct", "repair": "tissue", "mesh": False, "known_by": "floor examined"},
    ),
    (
        "Under direct vision a 5 mm umbilical port was placed. The left deep ring was open with a wide patent processus. The right "
        "deep ring was closed. Percutaneous internal ring suture on the left.",
        "left",
        {"type": "indirect", "repair": "high_ligation", "approach": "laparoscopic", "known_by": "laparoscopic view"},
    ),
    (
        "Laparoscopic repair of right inguinal hernia. At laparoscopy the right internal ring was widely open. The contralateral "
        "processus was also found to be patent and was closed in passing with a purse string suture. Both rings closed.",
        "both",
        {"R.type": "indirect", "L.type": "indirect", "L.reason": "processus closed in passing", "R.reason": "hernia"},
    ),
    (
        "Groin explored on the right. The sac emerged through the deep ring lateral to the inferior epigastric vessels. It was "
        "ligated high and excised. The back wall of the canal was intact.",
        "right",
        {"type": "indirect", "repair": "high_ligation"},
    ),
    (
        "This man had a lump on the left for two years. Clinically this was thought to be a direct hernia but at operation there was "
        "an indirect sac and the floor was sound. Lichtenstein repair.",
        "left",
        {"type": "indirect", "repair": "mesh", "mesh": True},
    ),
    (
        "Right inguinal hernia repair. Neither a direct nor a femoral component was present. The indirect sac contained omentum, "
        "which was reduced. Sac ligated. Flat mesh laid on the posterior wall.",
        "right",
        {"type": "indirect", "repair": "mesh", "mesh": True},
    ),
    (
        "Left side. Hernia sac separated from vas and vessels up to the internal ring and suture ligated. No mesh used.",
        "left",
        {"type": "indirect", "repair": "high_ligation", "mesh": False},
    ),
    (
        "Bilateral inguinal hernias. On the left there was an indirect sac, which was tied high. On the right the floor of the canal was "
        "bulging and there was no indirect sac. A darn was done on the right. Herniotomy only on the left.",
        "both",
        {"L.type": "indirect", "R.type": "direct", "L.repair": "high_ligation", "R.repair": "tissue"},
    ),
    (
        "Both groins explored. On the right a lipoma of the cord only, excised; no sac. On the left a medial hernia, dealt with by plication of "
        "the transversalis fascia.",
        "left",
        {"type": "direct", "repair": "tissue"},
    ),
    (
        "Mr X was reviewed. TAPP. Peritoneum incised lateral to the epigastric vessels. Medial defect of 2 cm on the right, with no lateral "
        "or femoral hernia. 10 x 15 cm mesh placed and tacked medially.",
        "right",
        {"type": "direct", "repair": "mesh", "approach": "laparoscopic"},
    ),
    (
        "Left TEP. Mesh fixed medial to the epigastric vessels with tacks. Indirect sac reduced off the cord. Direct space clear.",
        "left",
        {"type": "indirect", "repair": "mesh", "approach": "laparoscopic"},
    ),
    (
        "Femoral canal explored from below the inguinal ligament: hernia sac containing fat protruding through the right femoral canal. Closed with "
        "three sutures.",
        "right",
        {"type": "femoral"},
    ),
    (
        "Incision over right inguinal canal. Sacs on either side of the inferior epigastric vessels were found. Pantaloon hernia. Mesh repair.",
        "right",
        {"type": "combined", "mesh": True},
    ),
    (
        "Right groin. Indirect sac. We cannot exclude a direct component as the floor was not examined.",
        "right",
        {"type": "indirect", "known_by": "not examined"},
    ),
    (
        "Left hernia repair. Not an indirect hernia but a direct one. The defect in the posterior wall was imbricated.",
        "left",
        {"type": "direct", "repair": "tissue"},
    ),
    (
        "Left inguinal hernia. It was not possible to say whether this was direct or indirect. Repair with mesh.",
        "left",
        {"type": "unknown", "mesh": True},
    ),
    (
        "Right, correction: left inguinal hernia repair. Direct hernia, correction, indirect hernia. High ligation.",
        "left",
        {"type": "indirect", "repair": "high_ligation"},
    ),
    (
        "Previous right Bassini repair as a young man. Now recurrent right inguinal hernia. The hernia came through the floor medially, "
        "a direct recurrence. Lichtenstein mesh.",
        "right",
        {"type": "direct", "repair": "mesh", "occurrence": "recurrent"},
    ),
    (
        "Right inguinal approach for hydrocele. Narrow communicating processus ligated at the deep ring. Distal sac windowed. No hernia.",
        "right",
        {"type": "unknown", "reason": "hydrocele"},
    ),
    (
        "Left UDT. Testis mobilised, indirect hernia sac dissected off the cord, ligated. Testis fixed in dartos pouch.",
        "left",
        {"type": "indirect", "reason": "with orchidopexy", "repair": "high_ligation"},
    ),
    (
        "Laparoscopic converted to open left inguinal hernia repair due to adhesions. Direct hernia, repaired with mesh.",
        "left",
        {"type": "direct", "approach": "open", "mesh": True},
    ),
    (
        "Rt groin. Ext oblique slit. Sac lay behind the cord. Post wall very thin and bulging. Nylon darn. No mesh.",
        "right",
        {"type": "direct", "repair": "tissue", "mesh": False, "approach": "open"},
    ),
    (
        "Right inguinal hernia. No hernia was found lateral to the epigastric vessels. A weakness medial to the epigastrics was seen and reinforced. ",
        "right",
        {"type": "direct"},
    ),
    (
        "There was no doubt that this was a direct hernia of the left groin. Repaired with mesh.",
        "left",
        {"type": "direct", "mesh": True},
    ),
    (
        "Left herniotomy. Sac opened, bowel reduced; no bowel in the indirect sac at the end. Ligated.",
        "left",
        {"type": "indirect"},
    ),
    (
        "Right inguinal herniotomy via the groin. Laparoscope passed through the sac: left ring closed. Sac transfixed at the deep ring.",
        "right",
        {"repair": "high_ligation", "approach": "open"},
    ),
    (
        "Left groin. No weakness of the posterior wall was demonstrated. Sac coming out of the internal ring, ligated.",
        "left",
        {"type": "indirect", "known_by": "floor examined"},
    ),
    (
        "Bilateral TAPP. Left indirect hernia found. Same findings on the right. Mesh both sides.",
        "both",
        {"L.type": "indirect", "R.type": "indirect", "R.repair": "mesh"},
    ),
    (
        "Right sided hernia. The epigastric vessels lay lateral to the defect. Onlay mesh.",
        "right",
        {"type": "direct", "mesh": True},
    ),
]

FORMS: list[Example] = [
    (
        "OPERATION: Left inguinal hernia repair\nINDICATION: left groin lump, clinically direct\nCONSENT: risks of bleeding, recurrence, mesh infection\n"
        "FINDINGS: Indirect sac. Posterior wall intact.\nPROCEDURE: Herniotomy. High ligation.\nPLAN: if recurs consider mesh",
        "left",
        {"type": "indirect", "repair": "high_ligation", "mesh": None, "occurrence": None},
    ),
    (
        "Side: ☐ Left ☒ Right ☐ Bilateral\nType: ☐ Indirect ☒ Direct ☐ Femoral ☐ Pantaloon\nApproach: ☒ Open ☐ Laparoscopic\nMesh: ☒ Yes ☐ No",
        "right",
        {"type": "direct", "mesh": True, "repair": "mesh", "approach": "open"},
    ),
    (
        "Side: [x] Left [ ] Right\nHernia type: [x] indirect [ ] direct [ ] femoral\nMesh used: [ ] yes [x] no\nRepair: [x] high ligation [ ] tissue [ ] mesh",
        "left",
        {"type": "indirect", "mesh": False, "repair": "high_ligation"},
    ),
    (
        "Left ☐ Right ☒\nIndirect ☒ Direct ☐\nRecurrent ☐ Primary ☒",
        "right",
        {"type": "indirect", "occurrence": "primary"},
    ),
    ("Side: R\nHernia type (L/M/F): M\nMesh: N\nTechnique: Shouldice", "right", {"type": "direct", "mesh": False, "repair": "tissue"}),
    ("Side: L\nType: L\nSize: 2\nRepair: Lichtenstein", "left", {"type": "indirect", "repair": "mesh"}),
    (
        "Procedure: R inguinal hernia repair\nIndirect component: yes\nDirect component: no\nFemoral component: no\nMesh: none\nRecurrent: no",
        "right",
        {"type": "indirect", "mesh": False, "occurrence": "primary"},
    ),
    (
        "Pre-operative diagnosis: Right direct inguinal hernia\nPost-operative diagnosis: Right indirect inguinal hernia\nProcedure: Right herniotomy",
        "right",
        {"type": "indirect", "repair": "high_ligation"},
    ),
    (
        "Preop dx: RIH\nPostop dx: same\nFindings: sac through deep ring, floor good\nProcedure: open mesh repair",
        "right",
        {"type": "indirect", "mesh": True, "approach": "open"},
    ),
    (
        "Hernia type: direct / indirect / femoral\nSide: left / right\nRight Lichtenstein.",
        "right",
        {"type": "unknown", "repair": "mesh"},
    ),
    (
        "EHS: L2 M1 F0\nSide left\nTAPP with mesh",
        "left",
        {"type": "combined", "mesh": True},
    ),
    (
        "LEFT: indirect, herniotomy\nRIGHT: direct, Bassini repair",
        "both",
        {"L.type": "indirect", "R.type": "direct", "L.repair": "high_ligation", "R.repair": "tissue"},
    ),
    (
        "History: previous left mesh repair 2011.\nOperation: Right TEP\nFindings: M2 hernia. Lateral: none. Femoral: none.",
        "right",
        {"type": "direct", "repair": "mesh", "occurrence": None},
    ),
    (
        "Diagnosis: Left inguinal hernia\nFindings:\n- Deep ring: closed\n- Posterior wall: bulging\n- Femoral canal: empty\nRepair: plication",
        "left",
        {"type": "direct", "repair": "tissue"},
    ),
    (
        "Findings:\n1. Deep ring: dilated, indirect sac\n2. Posterior wall: sound\n3. Contralateral: not explored\nOperation: L herniotomy",
        "left",
        {"type": "indirect", "repair": "high_ligation"},
    ),
]

SLIPS: list[Example] = [
    ("Rigth ingiunal herina. Inderect sac disected to deap ring and ligatd. Posteior wall intcat.", "right", {"type": "indirect"}),
    ("left inguinl hernai, dirrect defct, lichtenstien repair", "left", {"type": "direct", "repair": "mesh"}),
    ("L hernia.Indirectsac.Posterior wall firm.No mesh", "left", {"type": "indirect", "mesh": False}),
    ("Right side pattent processus vaginals, high ligaton", "right", {"type": "indirect", "repair": "high_ligation"}),
    ("Lt. inguinal hernia. Bulge med. to inf. epigastric vessels. Post. wall repaired with Bassini.", "left", {"type": "direct", "repair": "tissue"}),
    ("bilat IH findings colon left indirect sac full stop right direct hernia full stop mesh both sides", "both", {"L.type": "indirect", "R.type": "direct"}),
    ("No direct,femoral or obturator hernia. Rt indirect sac.", "right", {"type": "indirect"}),
    ("Right sac left in situ distally, right angled forceps used, indirect, ligated with no 1 suture", "right", {"type": "indirect"}),
    ("No. 15 blade. Direct pressure. Left indirect sac ligated. Direct closure of skin.", "left", {"type": "indirect"}),
    ("hernia left groin, defect lateral of the epigastrics, mesh not required, sac tied", "left", {"type": "indirect", "mesh": False}),
]

ALL: list[Example] = [*TERSE, *NARRATIVE, *FORMS, *SLIPS]
