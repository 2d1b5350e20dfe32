"""Operation notes written for the reader's own development, with what each tells: text, side, fields.

A field without a prefix is that of the operated groin; ``L.`` and ``R.`` name one of two. None of these is the blind set.
"""

from __future__ import annotations

from typing import Any

Example = tuple[str, str | None, dict[str, Any]]

TERSE: list[Example] = [
    (
        "L herniotomy. Indirect sac ligated. PW sound.",
        "left",
        {"type": "indirect", "repair": "high_ligation", "known_by": "floor examined"},
    ),
    (
        "RIH. Large direct defect. Lichtenstein.",
        "right",
        {"type": "direct", "repair": "mesh", "mesh": True, "approach": "open"},
    ),
    ("Lt IH - herniotomy, sac transfixed. Home.", "left", {"type": "unknown", "repair": "high_ligation"}),
    (
        "TEP b/l, direct L + R, mesh x2",
        "both",
        {"L.type": "direct", "R.type": "direct", "L.repair": "mesh", "R.approach": "laparoscopic"},
    ),
    (
        "Rt inguinal hernia, pantaloon, Shouldice",
        "right",
        {"type": "combined", "repair": "tissue", "approach": "open"},
    ),
    ("(R) PPV - ligated at IIR", "right", {"type": "indirect", "repair": "high_ligation"}),
    (
        "LIIH, IIR wide, herniotomy, no mesh",
        "left",
        {"type": "indirect", "mesh": False, "repair": "high_ligation"},
    ),
    ("R femoral hernia, McEvedy, omentum reduced", "right", {"type": "femoral"}),
    (
        "L hydrocele, PPV ligated",
        "left",
        {"type": "unknown", "reason": "hydrocele", "repair": "high_ligation"},
    ),
    (
        "R orchidopexy, sac found and ligated",
        "right",
        {"type": "unknown", "reason": "with orchidopexy", "repair": "high_ligation"},
    ),
    ("PL2 left, TAPP", "left", {"type": "indirect", "occurrence": "primary", "approach": "laparoscopic"}),
    (
        "Right groin. EHS RM1. Lichtenstein.",
        "right",
        {"type": "direct", "occurrence": "recurrent", "mesh": True},
    ),
    ("Left herniotomy", "left", {"type": "unknown", "repair": "high_ligation"}),
    ("Recurrent RIH. Direct. Mesh.", "right", {"type": "direct", "occurrence": "recurrent", "mesh": True}),
    ("LIH ?direct, herniotomy", "left", {"type": "unknown"}),
    (
        "Sliding left indirect hernia, caecum no, sigmoid in sac, reduced, high ligation",
        "left",
        {"type": "indirect", "sliding": True},
    ),
    (
        "L indirect, R direct. TAPP both sides.",
        "both",
        {"L.type": "indirect", "R.type": "direct", "L.approach": "laparoscopic", "R.repair": "mesh"},
    ),
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
        {
            "type": "indirect",
            "repair": "high_ligation",
            "approach": "laparoscopic",
            "known_by": "laparoscopic view",
        },
    ),
    (
        "Laparoscopic repair of right inguinal hernia. At laparoscopy the right internal ring was widely open. The contralateral "
        "processus was also found to be patent and was closed in passing with a purse string suture. Both rings closed.",
        "both",
        {
            "R.type": "indirect",
            "L.type": "indirect",
            "L.reason": "processus closed in passing",
            "R.reason": "hernia",
        },
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
        "both",
        {"L.type": "direct", "R.type": "unknown", "L.repair": "tissue"},
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
    (
        "Side: R\nHernia type (L/M/F): M\nMesh: N\nTechnique: Shouldice",
        "right",
        {"type": "direct", "mesh": False, "repair": "tissue"},
    ),
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
    (
        "Rigth ingiunal herina. Inderect sac disected to deap ring and ligatd. Posteior wall intcat.",
        "right",
        {"type": "indirect"},
    ),
    ("left inguinl hernai, dirrect defct, lichtenstien repair", "left", {"type": "direct", "repair": "mesh"}),
    ("L hernia.Indirectsac.Posterior wall firm.No mesh", "left", {"type": "indirect", "mesh": False}),
    (
        "Right side pattent processus vaginals, high ligaton",
        "right",
        {"type": "indirect", "repair": "high_ligation"},
    ),
    (
        "Lt. inguinal hernia. Bulge med. to inf. epigastric vessels. Post. wall repaired with Bassini.",
        "left",
        {"type": "direct", "repair": "tissue"},
    ),
    (
        "bilat IH findings colon left indirect sac full stop right direct hernia full stop mesh both sides",
        "both",
        {"L.type": "indirect", "R.type": "direct"},
    ),
    ("No direct,femoral or obturator hernia. Rt indirect sac.", "right", {"type": "indirect"}),
    (
        "Right sac left in situ distally, right angled forceps used, indirect, ligated with no 1 suture",
        "right",
        {"type": "indirect"},
    ),
    (
        "No. 15 blade. Direct pressure. Left indirect sac ligated. Direct closure of skin.",
        "left",
        {"type": "indirect"},
    ),
    (
        "hernia left groin, defect lateral of the epigastrics, mesh not required, sac tied",
        "left",
        {"type": "indirect", "mesh": False},
    ),
]

MORE: list[Example] = [
    (
        "Hernia sac traced to the internal ring and found to be lateral to the epigastric vessels. R side.",
        "right",
        {"type": "indirect"},
    ),
    (
        "Left groin. The posterior wall was not weak. An indirect sac was ligated.",
        "left",
        {"type": "indirect"},
    ),
    (
        "Left groin. The posterior wall was not intact, with a bulge the size of a plum. Shouldice.",
        "left",
        {"type": "direct", "repair": "tissue"},
    ),
    ("Right: direct hernia absent, indirect present.", "right", {"type": "indirect"}),
    (
        "Right direct hernia was ruled out; sac through the deep ring tied.",
        "right",
        {"type": "indirect", "repair": "high_ligation"},
    ),
    ("Right hernia. Direct hernia excluded. Indirect hernia confirmed.", "right", {"type": "indirect"}),
    (
        "Possible small direct bulge on the left but the main hernia was indirect. Mesh.",
        "left",
        {"type": "indirect", "mesh": True},
    ),
    ("Left inguinal hernia, probably direct.", "left", {"type": "unknown"}),
    (
        "Risk of recurrence and of a later direct hernia explained. Right indirect sac tied.",
        "right",
        {"type": "indirect", "occurrence": None},
    ),
    (
        "Left repair. The floor was checked for a direct hernia and none was found. Indirect sac.",
        "left",
        {"type": "indirect"},
    ),
    (
        "Looked for an indirect sac on the right and did not find one. Direct hernia, mesh repair.",
        "right",
        {"type": "direct"},
    ),
    ("Right indirect sac divided. On the left, no hernia.", "right", {"type": "indirect"}),
    (
        "Laparoscopy: R PPV, L closed. Ring sutured intracorporeally.",
        "right",
        {"type": "indirect", "approach": "laparoscopic", "repair": "high_ligation"},
    ),
    (
        "Repair of bilateral inguinal herniae. Both indirect. Both sacs ligated at the deep ring. No direct component on either side.",
        "both",
        {"L.type": "indirect", "R.type": "indirect"},
    ),
    (
        "Patient with left inguinal hernia. We found a sac medially, arising from Hesselbach's triangle. Plug and patch.",
        "left",
        {"type": "direct", "mesh": True},
    ),
    (
        "Left groin swelling. Thinned transversalis fascia with diffuse weakness; no indirect sac. Lichtenstein.",
        "left",
        {"type": "direct"},
    ),
    ("Rt groin: two sacs found, one direct and one indirect.", "right", {"type": "combined"}),
    ("Right inguinal hernia: a direct and an indirect component.", "right", {"type": "combined"}),
    ("Indirect rather than direct hernia on the left.", "left", {"type": "indirect"}),
    (
        "Left hernia, turned out to be direct and not indirect as thought on ultrasound.",
        "left",
        {"type": "direct"},
    ),
    (
        "Ultrasound suggested a right femoral hernia. At operation this was an indirect inguinal hernia, femoral canal empty.",
        "right",
        {"type": "indirect"},
    ),
    (
        "Emergency. Strangulated right femoral hernia. Low approach. Sac found below the inguinal ligament, bowel viable. Sutured.",
        "right",
        {"type": "femoral"},
    ),
    (
        "Left side: cord lipoma excised. No sac identified. Posterior wall strong.",
        "left",
        {"type": "unknown", "known_by": "floor examined"},
    ),
    (
        "Encysted hydrocele of the cord on the right, excised. Processus obliterated proximally. No hernia.",
        "right",
        {"type": "unknown", "reason": "hydrocele"},
    ),
    (
        "Right communicating hydrocele and inguinal hernia. Indirect sac, high ligation.",
        "right",
        {"type": "indirect", "reason": "hernia"},
    ),
    (
        "TAPP right. On inspection indirect defect right side. Left side: no hernia. Peritoneal flap raised, mesh placed, peritoneum closed.",
        "right",
        {"type": "indirect", "repair": "mesh", "approach": "laparoscopic"},
    ),
    (
        "Known right inguinal hernia. At laparoscopy bilateral open rings. Bilateral ring closure with purse string.",
        "both",
        {"L.type": "indirect", "R.type": "indirect"},
    ),
    (
        "Left open inguinal hernia repair with mesh. Indirect sac inverted. Weakness in the posterior wall noted as well, bulging. ",
        "left",
        {"type": "combined"},
    ),
    (
        "The hernia was of the direct type. Right. Repair by McVay.",
        "right",
        {"type": "direct", "repair": "tissue"},
    ),
    (
        "left inguinal hernia repair. finding: direct. bulge. mesh 6x11 sutured to inguinal ligament.",
        "left",
        {"type": "direct", "mesh": True},
    ),
    (
        "Left groin opened directly over the lump. Indirectly visualised bladder. Indirect sac.",
        "left",
        {"type": "indirect"},
    ),
    (
        "Femoral vessels protected. Lateral femoral cutaneous nerve seen. Medial retraction of the cord. Right sac via deep ring.",
        "right",
        {"type": "indirect"},
    ),
    (
        "Right inguinal hernia. Femoral hernia not seen. Obturator not seen. Direct hernia seen.",
        "right",
        {"type": "direct"},
    ),
    ("Left. No indirect. Direct yes.", "left", {"type": "direct"}),
    (
        "Sac: indirect. Floor: ok. Repair: none beyond herniotomy. Mesh: no. Side: left.",
        "left",
        {"type": "indirect", "repair": "high_ligation", "mesh": False},
    ),
    (
        "Op: R IHR\nType: Direct (M1)\nMesh: 7.5 x 15\nPrimary/Recurrent: Primary",
        "right",
        {"type": "direct", "occurrence": "primary", "mesh": True},
    ),
    (
        "Procedure: Repair of recurrent left inguinal hernia, laparoscopic (TEP)\nFindings: previous mesh seen; recurrence medial, direct.\n",
        "left",
        {"type": "direct", "occurrence": "recurrent", "repair": "mesh"},
    ),
    ("L inguinal herniotomy. No previous surgery on this side. Indirect.", "left", {"type": "indirect"}),
    (
        "Consent: direct hernia, mesh, recurrence and nerve injury explained.\nOperation: left herniotomy\nFindings: indirect sac",
        "left",
        {"type": "indirect", "mesh": None},
    ),
    (
        "Post op: review for right side hernia later. Op: left herniotomy, indirect.",
        "left",
        {"type": "indirect"},
    ),
    (
        "Reducible swelling left groin. GA. Skin crease incision. Sac isolated, twisted and transfixed. Skin glue.",
        "left",
        {"type": "unknown", "repair": "high_ligation", "approach": "open"},
    ),
    (
        "Right inguinal hernia repair: indirect sac reduced, deep ring narrowed with a stitch, no mesh.",
        "right",
        {"type": "indirect", "mesh": False},
    ),
    (
        "Right groin. Posterior wall intact, hence no floor repair. Indirect sac tied.",
        "right",
        {"type": "indirect", "repair": "high_ligation"},
    ),
    (
        "Left groin. Bassini repair not needed. Indirect sac tied.",
        "left",
        {"type": "indirect", "repair": "high_ligation"},
    ),
    (
        "Left direct hernia. Mesh not available so darn performed.",
        "left",
        {"type": "direct", "mesh": False, "repair": "tissue"},
    ),
    (
        "Right. Sac neck lies lateral to inferior epigastric artery. Left deep ring obliterated.",
        "right",
        {"type": "indirect"},
    ),
    (
        "Broad based direct sac, right, plicated with 2/0. It was not opened. No mesh was inserted.",
        "right",
        {"type": "direct", "repair": "tissue", "mesh": False},
    ),
    (
        "Recurrence after left herniotomy two years ago. Found a direct hernia this time; deep ring closed from before.",
        "left",
        {"type": "direct", "occurrence": "recurrent"},
    ),
    (
        "Large left inguinoscrotal hernia. The sac was entered and the sigmoid formed part of its wall (sliding). Indirect. Lichtenstein.",
        "left",
        {"type": "indirect", "sliding": True},
    ),
    ("Right hernia. No sliding component. Indirect.", "right", {"type": "indirect", "sliding": False}),
    (
        "Right ing hernia. Neither sac nor lipoma in the deep ring. Direct defect only.",
        "right",
        {"type": "direct"},
    ),
    (
        "Left inguinal hernia: whether this is direct or indirect could not be determined because of scarring. Mesh onlay.",
        "left",
        {"type": "unknown", "mesh": True},
    ),
    (
        "Right TEP. Direct defect reduced. Cord parietalised: no indirect sac, but a lipoma was reduced from the deep ring.",
        "right",
        {"type": "direct"},
    ),
    (
        "Right TEP. Deep ring: lipoma only. Direct: nil. Femoral: small hernia, reduced.",
        "right",
        {"type": "femoral"},
    ),
    (
        "LEFT INGUINAL HERNIOTOMY\n\nFINDINGS\nIndirect sac, thin walled, to mid canal\n\nPROCEDURE\nSac ligated\n\nPLAN\nHome",
        "left",
        {"type": "indirect", "repair": "high_ligation"},
    ),
    (
        "Bilateral herniotomy. Right sac dissected from cord to deep ring. Left sac the same.",
        "both",
        {"R.type": "indirect", "L.type": "indirect"},
    ),
    ("left and right direct hernias, TAPP", "both", {"L.type": "direct", "R.type": "direct"}),
    (
        "indirect and direct hernias on the left and right respectively; open repair",
        "both",
        {"L.type": "indirect", "R.type": "direct"},
    ),
    (
        "Right inguinal hernia. It is not the case that there was a direct hernia: the floor was solid and the sac came through the deep ring.",
        "right",
        {"type": "indirect"},
    ),
    ("Left. A direct hernia could not be excluded. Indirect hernia found.", "left", {"type": "indirect"}),
    (
        "Left. The direct component was not absent: it was the larger of the two, beside an indirect sac.",
        "left",
        {"type": "combined"},
    ),
    ("R groin: attenuated back wall, no sac at the ring.", "right", {"type": "direct"}),
    ("Type M right sided. Nylon darn.", "right", {"type": "direct", "repair": "tissue"}),
    ("nyhus IIIa left hernia", "left", {"type": "direct"}),
    (
        "Right indirect hernia via patent processus vaginalis; percutaneous ring suture (PIRS).",
        "right",
        {"type": "indirect", "approach": "laparoscopic", "repair": "high_ligation"},
    ),
    (
        "Girl with left inguinal hernia: sliding ovary in the indirect sac; purse string, sac inverted.",
        "left",
        {"type": "indirect", "sliding": True},
    ),
    (
        "Bilateral. Right: wide open ring. Left: pinhole patent processus. Both closed laparoscopically by purse string.",
        "both",
        {"R.type": "indirect", "L.type": "indirect", "L.repair": "high_ligation"},
    ),
    (
        "The left groin was explored through a transverse incision. There was no hernial sac along the cord, however on straining the floor gave way.",
        "left",
        {"type": "direct"},
    ),
]

ALL: list[Example] = [*TERSE, *NARRATIVE, *FORMS, *SLIPS, *MORE]
