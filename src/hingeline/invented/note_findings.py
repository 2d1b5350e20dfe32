"""What a surgeon writes of the hernia found: frames by type.

Constants come out. Written as surgeons dictate, without sight of the tool's own reader of notes. ``{cord}`` is the cord
or the round ligament, ``{vas}`` what is spared; `ANY` fits every operation, `OPEN` and `SCOPE` one approach, `CHILD` an
open operation on a child.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

Frames = Mapping[str, Sequence[str]]

ANY: Final = "any"
OPEN: Final = "open"
SCOPE: Final = "scope"
CHILD: Final = "child"

INDIRECT: Final[Frames] = {
    ANY: (
        "Indirect inguinal hernia found.",
        "The hernia was of the indirect type.",
        "An indirect sac was identified.",
        "This was an indirect hernia.",
        "Lateral (indirect) hernia confirmed.",
        "The sac left the abdomen through the deep ring, lateral to the inferior epigastric vessels.",
        "Findings were of an indirect hernia with a moderate sac.",
        "Indirect hernia, no surprises.",
    ),
    OPEN: (
        "The {cord} was mobilised and an indirect sac was found on its anteromedial aspect.",
        "Cremaster split; a thin-walled indirect sac was separated from the {vas}.",
        "A long indirect sac was met, containing omentum, which was returned.",
        "A peritoneal sac arose at the internal ring and ran within the coverings of the {cord}.",
        "Large indirect sac, contents reduced without trouble.",
        "Moderate indirect hernia with a lipoma of the {cord}.",
        "An indirect hernia with a wide internal ring was encountered.",
        "The sac was traced up to the deep ring, where preperitoneal fat was seen; it was indirect.",
        "An indirect sac holding a loop of viable small bowel was opened and the bowel returned.",
        "Sliding indirect hernia: large bowel formed part of the wall of the sac.",
        "The external oblique was opened and an indirect hernia delivered with the {cord}.",
        "Indirect sac dissected free to its neck at the internal ring.",
        "On opening the canal a lateral sac was obvious, emerging with the {cord}.",
        "Small indirect sac, easily missed, lay at the deep ring.",
    ),
    CHILD: (
        "A patent processus vaginalis was found and dissected off the {vas}.",
        "Typical thin hernial sac of childhood on the {cord}, opened and empty; indirect.",
        "The processus vaginalis was widely patent down to its end.",
        "PPV with a loop of bowel, easily reduced. Indirect hernia.",
        "Indirect sac picked up and separated from the {vas} under magnification.",
        "Delicate indirect sac torn a little on handling, no harm done.",
        "Indirect hernial sac running the whole length of the canal.",
        "The sac, an open processus, was freed as far as the internal ring.",
    ),
    SCOPE: (
        "On laparoscopy the internal ring stood open with a peritoneal sac passing down the canal.",
        "Laparoscopy showed a defect lateral to the epigastric vessels.",
        "Camera view: indirect defect; the sac was drawn back out of the canal.",
        "The peritoneum dipped into the deep ring beside the {cord}; indirect hernia.",
        "Indirect sac peeled back off the {cord}.",
        "Widely open deep ring on inspection with the scope, an indirect hernia.",
        "Lateral defect of 2 cm.",
        "Laparoscopic view: patent processus on this side.",
    ),
}

DIRECT: Final[Frames] = {
    ANY: (
        "Direct inguinal hernia found.",
        "The hernia was direct.",
        "This was a direct hernia.",
        "Medial (direct) hernia confirmed.",
        "There was a defect medial to the inferior epigastric vessels.",
        "Direct bulge through Hesselbach's triangle.",
        "Findings were of a direct hernia, two fingers wide.",
        "Direct defect of about 3 cm.",
    ),
    OPEN: (
        "The posterior wall bulged along its whole length; direct hernia.",
        "Diffuse weakness of the transversalis fascia with a direct bulge.",
        "A direct sac the size of a walnut was pushed back.",
        "The floor of the canal was deficient medially and a direct hernia protruded.",
        "A broad-based direct hernia lay behind the {cord}.",
        "The transversalis fascia had given way medially, making a direct hernia.",
        "Blow-out of the back wall, direct.",
        "The medial floor was thinned and ballooned on coughing.",
        "Narrow-necked direct hernia close to the pubic tubercle.",
        "Direct sac with bladder in its wall, not opened.",
        "The hernia arose from the posterior wall, separate from the {cord}, and was direct.",
        "Direct hernia containing preperitoneal fat, inverted.",
        "On opening the external oblique the floor bulged medially.",
        "With the {cord} lifted away a direct defect was plain.",
        "The back wall was torn through medially; a direct sac came through it.",
        "A direct hernia was the only finding.",
    ),
    SCOPE: (
        "Medial defect seen and its fat reduced.",
        "Direct defect medial to the epigastric vessels on laparoscopy.",
        "Camera view: direct hernia, pseudosac turned inside out.",
        "A medial (direct) hernia came back with gentle traction.",
        "The defect lay within Hesselbach's triangle.",
        "On laparoscopy a direct hernia was obvious.",
        "Direct space opened: fat drawn out of a medial defect.",
        "Laparoscopic view of a direct hernia of 2 cm.",
    ),
}

COMBINED: Final[Frames] = {
    ANY: (
        "Pantaloon hernia.",
        "Combined direct and indirect hernia found.",
        "Combined hernia, lateral and medial.",
        "Both an indirect and a direct hernia were present.",
        "The hernia straddled the inferior epigastric vessels, a pantaloon.",
        "Direct and indirect components were both found.",
        "There were two sacs, one lateral and one medial to the epigastric vessels.",
        "Indirect hernia with a direct component as well.",
        "Findings: pantaloon type.",
        "A direct as well as an indirect hernia was present.",
    ),
    OPEN: (
        "An indirect sac was found on the {cord} and, in addition, the posterior wall bulged.",
        "Besides the lateral sac there was a direct bulge in the floor.",
        "Indirect sac freed to the deep ring; a direct defect was then seen medially.",
        "A small indirect sac lay beside a broad direct hernia.",
        "The floor had given way (direct) and there was an indirect sac on the {cord} too.",
        "Pantaloon hernia, the lateral sac the larger.",
        "Pantaloon hernia, mostly direct.",
        "The {cord} held an indirect sac; the back wall was weak and a direct hernia came through.",
        "Two hernias in one groin: indirect sac and direct bulge.",
        "Both components, indirect and direct, were dealt with.",
        "Direct bulge first, then an indirect sac on opening the {cord}.",
        "A saddle-shaped sac lay on both sides of the epigastric vessels.",
    ),
    SCOPE: (
        "On laparoscopy a lateral and a medial defect were both seen.",
        "Camera view: pantaloon hernia.",
        "Indirect sac and direct defect both reduced.",
        "Defects on either side of the epigastric vessels, a combined hernia.",
        "Direct fat reduced, then an indirect sac drawn back.",
        "Lateral sac and medial defect in the same groin.",
        "Laparoscopic view of a combined (direct + indirect) hernia.",
        "A medial defect lay beside an open deep ring with its sac.",
    ),
}

FEMORAL: Final[Frames] = {
    ANY: (
        "Femoral hernia found.",
        "This was a femoral hernia.",
        "The lump turned out to be a femoral hernia.",
        "The hernia was femoral.",
        "The femoral canal contained a hernial sac.",
        "Femoral hernia with omentum in it.",
        "Femoral hernia, content reduced.",
        "Hernia through the femoral ring.",
    ),
    OPEN: (
        "The sac lay below the inguinal ligament, medial to the femoral vein.",
        "Low approach; a femoral sac in its fat was cleared to the neck.",
        "A femoral hernia the size of a hazelnut was freed.",
        "Inguinal canal opened, no hernia in it; a femoral sac was then drawn up.",
        "The femoral sac held a knuckle of small bowel, which pinked up.",
        "Femoral sac opened: omentum, partly divided.",
        "The canal medial to the femoral vein held a sac with a tight neck.",
        "Femoral hernia approached from above the inguinal ligament.",
        "A tight femoral ring was widened medially to reduce the hernia.",
        "The femoral hernia contained fat only.",
        "Femoral hernia, irreducible, freed from below.",
        "A sac came out under the inguinal ligament: femoral hernia.",
        "Femoral hernial sac dissected from the saphenous opening.",
        "Old woody fat round a small femoral sac.",
    ),
    SCOPE: (
        "On laparoscopy the defect lay below the iliopubic tract: femoral.",
        "Camera view: femoral hernia with fat drawn back.",
        "Fat was pulled out of the femoral canal.",
        "Laparoscopy showed a femoral defect medial to the vein.",
        "Laparoscopic view of a femoral hernia.",
        "The femoral ring was wide with a sac in it.",
        "Femoral hernia reduced under vision.",
        "A femoral sac came back with traction.",
    ),
}

OPEN_TYPE: Final[Frames] = {
    ANY: (
        "Hernia found and repaired.",
        "A groin hernia was present.",
        "The hernia was reduced.",
        "Hernia repaired as planned; for details see the theatre sheet.",
        "Type of hernia not recorded.",
        "Whether direct or indirect could not be told.",
        "? direct ? indirect.",
        "Direct or indirect, hard to say.",
        "The anatomy was too scarred to say which type of hernia this was.",
        "The usual findings.",
        "An inguinal hernia was confirmed.",
        "Inguinal hernia of moderate size.",
        "Small hernia.",
        "Large hernia, long standing.",
        "Inguinal hernia with fat in it.",
        "Type unclear.",
    ),
    OPEN: (
        "The canal was opened and the hernia dealt with.",
        "Sac found, opened, contents returned.",
        "Sac identified and freed; its origin was not certain.",
        "The tissues were matted and the type of the hernia could not be made out.",
        "A sac was excised; it was not possible to tell direct from indirect.",
        "The hernia had been out for years and the landmarks were lost.",
        "Incarcerated hernia; bowel viable and returned. Origin of the sac not noted.",
        "A bulge in the groin was reduced.",
        "Hernia sac, type not stated by the operator.",
        "Dense scar; type of defect uncertain.",
        "Possibly direct; the bleeding did not allow a proper look.",
        "Probably indirect, but the ring was not seen clearly.",
    ),
    SCOPE: (
        "Laparoscopy: hernia seen on this side and reduced.",
        "Defect covered; its position was not noted.",
        "Adhesions hid the vessels, so the type could not be told.",
        "Fat reduced from the groin; type of defect not recorded.",
    ),
}

BY_TYPE: Final[Mapping[str, Frames]] = {
    "indirect": INDIRECT,
    "direct": DIRECT,
    "combined": COMBINED,
    "femoral": FEMORAL,
    "unknown": OPEN_TYPE,
}

TERSE: Final[Mapping[str, Sequence[str]]] = {
    "indirect": (
        "indirect",
        "indirect sac",
        "indir. sac",
        "lateral hernia",
        "ind hernia, small",
        "indirect, wide ring",
        "PPV, indirect",
        "indirect IH",
    ),
    "direct": (
        "direct",
        "direct bulge",
        "medial defect",
        "dir. hernia",
        "direct, 2 fingers",
        "direct IH",
        "direct sac inverted",
        "bulge of post. wall, direct",
    ),
    "combined": (
        "pantaloon",
        "direct + indirect",
        "combined, lat and med",
        "indirect sac plus direct bulge",
        "indirect & direct",
    ),
    "femoral": ("femoral", "femoral sac", "fem. hernia", "femoral hernia, fat only", "femoral, tight neck"),
    "unknown": ("hernia", "sac excised", "type not stated", "?type", "IH", "hernia, see sheet"),
}
