"""Headings of operation notes, by what their section tells.

A label ("Type:", "Posterior wall:") opens a line that counts as findings unless a section is open already. Common
practice of operation notes, no source.
"""

from __future__ import annotations

from typing import Final

HEADINGS: Final[dict[str, str]] = {
    "before": """
    indication; indications; reason for operation|surgery|procedure; preoperative diagnosis; pre operative
    diagnosis; preop diagnosis; pre op diagnosis; preop dx; pre op dx; preop; pre op; clinical diagnosis;
    presenting complaint; presentation; referral; clinical details; clinical; examination; on examination; o
    / e; clinical findings; exam; diagnosis on admission; admission diagnosis; preop diag; pre operative dx;
    provisional diagnosis; ultrasound; uss; imaging; preoperative; pre operative; reason; working diagnosis;
    clinical information; pc; ind; examination under anaesthesia; eua; examination under anaesthetic;
    preoperative findings; pre op findings; dx pre op; diagnosis pre op; pre op imaging; investigations;
    planned procedure; planned operation; proposed procedure; intended procedure; booked procedure; listed
    procedure; listed for; booked for; planned; preassessment""",
    "history": """
    history; hx; pmh; past medical history; past history; past surgical history; psh; background; medical
    history; family history; surgical history; hpc; history of presenting complaint; fh; previous
    operations; previous surgery; previous; previous procedures; previous surgical history; comorbidities;
    clinical history; brief history; h / o; drug history""",
    "consent": """
    consent; consent obtained; informed consent; risks; risks discussed; consented for; consent form;
    discussion; consent discussion; options discussed; counselling; risks and benefits""",
    "plan": """
    plan; post operative plan; postoperative plan; post op plan; postop plan; post op; postop; postoperative
    instructions; post op instructions; postoperative; post operative; post operative instructions; post
    operative care; postoperative care; follow up; fu; f / u; instructions; discharge; disposition;
    aftercare; post op orders; advice; discharge plan; recovery; post op care; postop care; postop
    instructions; recommendations; after care; post procedure; further plan; future plan""",
    "ignored": """
    anaesthesia; anaesthetic; anesthesia; anaesthetist; anesthetist; surgeon; assistant; assistants;
    surgeons; team; specimen; specimens; date; antibiotics; position; allergies; histology; counts; swab
    count; who checklist; drains; blood loss; ebl; complications; count; nurse; scrub; theatre; time;
    consultant; vte; dvt; prophylaxis; hospital; medications; drugs; weight; implant log; estimated blood
    loss; positioning; prep; preparation; patient; sex; urgency; ward; skin preparation; time out; who; sign
    out""",
    "postop": """
    postoperative diagnosis; post operative diagnosis; postop diagnosis; post op diagnosis; postop dx; post
    op dx; diagnosis; operative diagnosis; final diagnosis; dx; impression; post operative dx; summary;
    conclusion; intraoperative diagnosis; intra operative diagnosis; diag; surgical diagnosis; diagnoses""",
    "title": """
    operation; procedure; operation performed; procedure performed; operation title; title; op; name of
    operation; operation name; procedure name; operative procedure; procedures; operations; procedures
    performed; operation done; surgery; operation carried out; procedure done; operation / procedure;
    operative title; name of procedure; surgical procedure; actual procedure; procedure carried out; type of
    operation; proc; operations performed; surgery performed; done; performed; actual; carried out;
    actually done; was done""",
    "findings": """
    findings; operative findings; finding; intraoperative findings; intra operative findings; intraop
    findings; intra op findings; at operation; op findings; operation findings; surgical findings; f;
    laparoscopic findings; on laparoscopic; found; at surgery; at laparoscopic; intraoperative; intra
    operative; intraop; intra op; on exploration""",
    "label": """
    hernia type; type; type of hernia; hernia; ehs; ehs class; ehs classification; classification; hernia
    classification; sac; contralateral; contralateral side; posterior wall; wall; floor; deep ring; mesh;
    hernia side; recurrent; recurrence; sliding; sliding component; direct; indirect; femoral; direct
    component; femoral component; femoral canal; internal ring; left; right; left side; right side; lateral;
    medial""",
    "procedure": """
    description; operative details; operation details; procedure details; details of procedure; technique;
    description of procedure; description of operation; operative technique; operative note; details; steps;
    op details; procedure description; operative description; procedure in detail; operative procedure in
    detail; narrative; operation note; op note; details of operation; body; operative steps; course;
    operative report; operative course; repair; method; closure; approach; incision; procedure detail;
    operation detail; operative narrative; tep; tapp; etep; lichtenstein; shouldice; bassini;
    type of repair; repair type; procedure narrative; description of
    surgery; surgical technique; dictation""",
}

KINDS: Final = (
    "findings",
    "postop",
    "before",
    "title",
    "procedure",
    "plan",
    "consent",
    "history",
    "ignored",
    "label",
)
"""Kinds of section; a heading of two kinds is taken for the earlier one."""
