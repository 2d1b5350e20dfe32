"""Words that change what other words say: negation, doubt, time and side, and the headings of a note.

The kinds of trigger and where their scope runs follow Chapman et al. 2001 (J Biomed Inform 34:301-310):
before, after,
pseudo, and words that end a scope; the lists are the trade's own, and the scopes are cut by clauses, not by
five words.
"""

from __future__ import annotations

from typing import Final

from .opnote_marks import listed

TRIGGERS: Final[dict[str, str]] = {
    "no": """
    no; nothing; without; w / o; neither; negative for; absence of; lack of; free of; free from; devoid of; no
    evidence of; ruling out; never; rather than; instead of; as opposed to; in place of; zero; no sign of;
    failed to show|reveal|demonstrate|find|identify; did not
    show|reveal|demonstrate|find|identify|have|see|require|need|use|place|insert; did not
    contain|include|involve|extend; unable to find|identify|see|demonstrate; could not
    find|identify|see|demonstrate|feel; not have; not require; nil; lacked; lacks; nor was|is|were there;
    none of; excluding; not associated with; not consistent with; not in keeping with; not in favour of; and
    not; cannot find|see; can not find|see; couldn't find|see; didn't find|see|show|need|use|require;
    doesn't have; no such""",
    "not": """
    not; wasn't; isn't; weren't; cannot; can not; could not; couldn't; didn't; did not; won't; hasn't; non;
    unable to be; never been; aren't; was never; failed to be""",
    "nor": "nor; or",
    "absent": """
    absent; excluded; ruled out; was excluded; none; nil found|seen|noted; negative; neg; declined; refused;
    not applicable; unnecessary; contraindicated; inappropriate; unsuitable; avoided; omitted; n / a; none
    seen|found|noted|identified|used; none present|evident|visible; nowhere; deferred; withheld; nowhere to
    be found|seen; denied""",
    "colon": ":; =",
    "double_no": """
    not absent; not without; no absence of; not lacking; not negative; without absence of; cannot deny;
    undeniable; undoubtedly; not missing; never absent""",
    "not_so": """
    not case that; not true that; not correct that; not be said that; cannot be said that|there;
    can not be said that|there; wrong to say; incorrect to say; untrue
    that""",
    "- pseudo": """
    non absorbable|resorbable|dissolving; nonabsorbable; instead of which|that|this; for all to see; plain
    to see; easy to see;
    good to see;     previous note; earlier note; old fashioned; old suture; old scar; old stitch; old line;
    old incision; no doubt; without doubt; no question; without question; not only; no
    longer; no difficulty; no complication; no complications; without complication|complications; without
    difficulty; without incident; no immediate; no tension; without tension; no bleeding; not surprisingly;
    no further; no change; no increase; no specimen; no drain; without opening; without injury; without
    damage; without entering; without breaching; no injury; no damage; no intraoperative; no intra
    operative; no problem; no problems; no issue; no issues; no blood; no allergies; nil allergies; no
    antibiotics; not to mention; no more; no other; no time; nkda; no tear; not infrequently; no
    significant; left or right not; no known; no comorbidities; no medical; no past; no previous medical;
    not unexpectedly; no regular; no lifting; no heavy; no strenuous; no school; no sport; no need to; not
    just; not merely; no concern; no concerns; no deficit; no hesitation""",
    "stop": """
    but; however; although; though; whereas; while; instead; except; except for; other than; apart from;
    aside from; besides; yet; still; save for; only; nevertheless; on contrary; in contrast; because; since;
    due to; therefore; thus; hence; simply; just; merely; then; which; so; despite; nonetheless; when;
    until; aside; consistent with; suggesting; indicating; confirming; revealing; revealed; showing;
    confirmed; rather; on opening; on inspection; in keeping with; reveals; barring; bar; nothing but; none
    other than; compatible with; turned out; identifying; demonstrating""",
    "fullstop": "full stop; new paragraph|line; next line|paragraph|point",
    "search": """
    to exclude; looked for; searched for; checked for; to check; to look for; to assess; to rule out;
    inspected for; examined for; sought; search for; looking for; checking for; searching for; in order to
    exclude; exclude; to see; was sought; were sought; assess for; assessed for; explored for; look for;
    check for; to identify; evaluated for; to confirm; to find""",
    "and": """
    and; &; plus; +; along with; together with; as well as; with; /; also; in addition; additionally""",
    "comma": """
    ,; comma; -; (; ); --; *; |; >; "; [; ]; >>; ->""",
    "saw": """
    seen; found; identified; noted; present; demonstrated; detected; visible; evident; apparent; palpable;
    felt; encountered; observed; visualised; visualized; discovered; appreciated; recognised; recognized;
    demonstrable; confirmed; located; discernible; shown; obvious; existed; exists; revealed; there;
    noticed; established; convincing; find; see; detectable; discerned; uncovered; exposed; disclosed""",
    "did": """
    used; required; needed; necessary; placed; inserted; performed; done; implanted; indicated; repair;
    undertaken; carried out; positioned; laid; fixed; opened; examined; inspected; assessed; explored;
    checked; touched; attempted; planned; employed; deployed; applied; fashioned; utilised; utilized;
    anchored; tested; looked at; entered; formally examined|inspected|assessed; commented on; evaluated;
    addressed; described; documented; recorded; mentioned; stated; specified; specifically
    examined|inspected|assessed; fitted; introduced; spread; available; put in; put; sited; visualised;
    divided; reinforced""",
    "examined": """
    examined; inspected; assessed; explored; checked; tested; looked at; evaluated; palpated; visualised;
    visualized; exposed; viewed; seen; opened; entered; commented on; described""",
    "be": """
    is; was; are; were; be; been; being; has; had; have; appears; appeared; looked; looks; seemed; seems;
    felt; remained; remains; proved; became; found""",
    "unsure": """
    cannot exclude; can not exclude; could not exclude; couldn't exclude; cannot rule out; can not rule out;
    could not rule out; not exclude; not rule out; unable to exclude; unable to rule out; possible;
    possibly; probable; probably; likely; suspicious for; suspicion of; suspected; may be; might be; could
    be; may have; might have; could have; maybe; perhaps; questionable; query; unsure; uncertain; unclear;
    equivocal; difficult to say; hard to say|tell; difficult to tell|know|determine; presumably; presumed;
    whether; either; doubtful; indeterminate; suggestive of; suggestion of; cannot be sure; not sure; not
    certain; cannot be certain; could not be certain; cannot say; could not say; cannot tell; could not
    tell; hint of; impression of; may represent; might represent; could represent; difficult to be sure;
    borderline; ? possible; not entirely exclude; not confidently exclude; not completely exclude; not
    definitely exclude; wondered; unable to determine|tell|say|confirm; could not be determined; cannot be
    determined; cannot confidently exclude; could not confidently exclude; cannot entirely exclude; could
    not entirely exclude; may well; might well; cannot completely exclude; could not completely exclude;
    cannot definitely exclude; could not definitely exclude; cannot fully exclude; could not fully exclude;
    not fully exclude; can't exclude; can't rule out; could not be sure; couldn't be sure; not clear;
    unlikely; undetermined; not convinced; may of been; could of been; might of been; i think; i suspect;
    i guess;
    i suppose; i believe; i fancy; ambiguous; hard to be sure; debatable; differential; cannot
    discount; cannot confirm; could not confirm""",
    "unsure_after": """
    not excluded; not ruled out; could not be excluded; cannot be excluded; cannot be ruled out; could not
    be ruled out; can not be excluded; not be excluded; not be ruled out; is possible; was possible;
    suspected; not certain; is likely; was suspected; could not be determined; not determined; not
    determinable; uncertain; unclear; not clear; not be determined; not be confirmed; not be established;
    not be entirely excluded; not be confidently excluded; not be completely excluded; not be fully
    excluded; not entirely excluded; not definitely excluded; couldn't be excluded; couldn't be ruled out;
    equivocal; indeterminate; questionable; difficult to exclude; not confidently excluded; undetermined;
    not fully excluded; not completely excluded""",
    "?": "?; ??",
    "undecided": """
    could|cannot|can not settle; not settle; not commit myself; could|cannot not? commit; leave open;
    left open
    in record; leave matter open; left matter open; not established; not certain which; not sure which; no
    way of telling|knowing; cannot honestly? call; honestly cannot call; not swear; would not like to say;
    difficult|hard|impossible to say|tell|know|decide whether|which|if; could argue;
    unable to decide|classify; nature must remain open; no opinion can be; no statement can be;
    remain|remains|remained open whether|which;
    would not swear|commit|like; less certain; could not commit; leave matter open; left matter open;
    leave question open; might equally; not
    be told which; not tell which; could not decide; cannot decide; undecided; not decide; not determine
    which; type uncertain|unclear|undetermined; not be classified|typed|called; could not classify; could not
    be made out which""",
    "past": """
    previous; previously; prior; history of; hx of; hx; h / o; s / p; sp; status post; past; pmh; psh; known
    previous; had been; underwent; had undergone; old; ex; earlier; former; formerly; years ago; months ago;
    weeks ago; year ago; elsewhere; background of; post previous; already had; in past; original;
    originally; years earlier; last year; years previously; months previously; initial|first
    operation|repair|surgery; months earlier; years before; old note|notes|letter; as child; as toddler; as
    infant; as baby; as boy; as girl; in childhood; in infancy; in boyhood; at age of; when child; prev;
    in another place|town|hospital; at another place|hospital|town; somewhere else; discharge letter; their
    letter|note; year earlier; decades ago; decade ago; in 19; back then; last time; missed then;
    brother|father|uncle|sister|mother|cousin|grandfather|grandmother|son|dad|mum|aunt had|has|underwent;
    brother|father|uncle|sister|mother|cousin|grandfather|grandmother|dad|mum|aunt
    reports|reported|mentions|mentioned|recalls|recalled|remembers|says|said""",
    "nowadays": """
    now; presenting; presents; presented; today; current; currently; new; this time; represents;
    represented; subsequently; at present; on this occasion; since then; here we are;
    what he|she has now; it is turn of""",
    "before": """
    clinically; clinical; told me|us; on examination; o / e; preoperatively; pre operatively; preop; pre op;
    preoperative; pre operative; ultrasound; uss; us showed; ultrasound scan; u / s; on uss; referred;
    referral; thought to be; thought to have; believed to be; listed; booked; booked as; listed as; listed
    for; admitted; admitted with; expected; expecting; expect; diagnosed; diagnosed as|with; initially
    thought|felt|considered; what looked like; looked at first like; looked first like; at first sight;
    at first glance; taken for;
    took for; took it for; assumed; consulted; sonography; ct; mri; scan; imaging; working diagnosis;
    provisional diagnosis; suspected preoperatively; at clinic; in clinic; outpatient; outpatients;
    referring; gp; ed; emergency department; complaining of; noted by parents|mother|father|parent;
    presentation; clinical impression; scheduled for; scheduled; planned; planned procedure|operation;
    anticipated; from outside; on listing; waiting list; clinical diagnosis; labelled as|labelled;
    labelled""",
    "at_operation": """
    at operation; intraoperatively; intra operatively; intraop; intra op; at surgery; at exploration; at
    laparoscopic; on exploration; proved to be; proved; proven; turned out to be; turned out; in fact;
    actually; operative finding; found to be; found to have; operatively; on table; in theatre; revealed;
    confirmed; on laparoscopic; found; showed to be; at time of surgery; was seen; on entering; on opening;
    under anaesthetic; under anaesthesia; on inspection; in reality; findings; finding""",
    "maybe": """
    risk of; risks of; risks; risk; consent; consented; discussion; plan; planned for; advised; will need;
    will require; if; in case; should; would; to prevent; prevent; may need; may require; might need; might
    require; possibility of; possible need; potential; including recurrence; chance of; warned; counselled;
    return if; follow up; review; to avoid; prophylaxis against; information; understand; understood;
    options; option; alternative; could be repair; future; in future; we|i|had|having|first considered;
    thought of|about using|doing; later date; at later date; later;
    lest; hypothetical; would have; preferred;
    told that|him|her|his|parents|patient|them|mother|father|about|of; aware; awaiting; arrange|arranged;
    await; for review;
    decide; signed; recommended""",
    "maybe_after": """
    discussed; offered; considered; explained; available; would be; entertained; contemplated; reserved;
    planned""",
    "passing": """
    in passing; incidental; incidentally; asymptomatic; prophylactic; prophylactically; no clinical hernia;
    clinically silent; not clinically apparent|evident; no hernia clinically; clinically normal;
    unsuspected; silent; while there; at same time; opportunistic; opportunistically; without hernia; pre
    emptively; preventively; unexpected; previously unsuspected; occult""",
    "same": """
    same; identical; identically; similarly; similar; likewise; repeated; same findings; same procedure;
    ditto; mirror; in same way; in same manner; in same fashion; as above; mirrored; as for; in like manner;
    exactly as""",
    "correction": """
    should be; should have been; should say; correction; corrected to; sorry; i mean; i meant; rather i
    mean; amend; amended; amendment; scratch that; strike that; should read; error; erratum; typo; no sorry;
    apologies; correct that; wrong side; make that; no wait; i beg your pardon; pardon; delete that; change
    that to; beg pardon; addendum; my mistake; oops; mis typed; mistyped; please read; wrong box""",
    "removed": "explanted; explantation; removed; removal; previous mesh; old mesh|patch|plug|sheet|darn; explant",
    "tool": """
    tack; staple; port; trocar; mesh; clip; fixation; fixed; incised; incision; peritoneum incised; flap;
    plane; space; dissector; pocket; anchored; sutured to; stapling; glue; balloon; creating; retracted;
    retraction; retractor; developed; camera; window; opened; placed; injected; infiltrated; peritoneotomy;
    drain""",
    "left_alone": """
    left alone; left open; left it|that be|alone; let it be; not repair; not ligated; not closed; left
    undisturbed; left untouched; not
    treated; no repair; no intervention; observed only; left unrepaired; no action; not operated; not
    touched; not explored""",
}

SIDES: Final[dict[str, str]] = {
    "left": "left; left side; left sided; left groin; lt side; left hand side",
    "right": "right; right side; right sided; right groin; rt side; right hand side",
    "both": """
    bilateral; b / l; both sides; both groin; both inguinal; both hernia; left and right; right and left;
    left & right; right & left; left + right; right + left; both left and right; both right and left; r & l;
    l & r; r + l; l + r; bil; bl; l and r; r and l; either side; each side; left plus right; r / l; two
    sided; double sided; each groin; either groin""",
    "contra": """
    contralateral; other side; opposite side; other groin; opposite groin; contra lateral; other inguinal""",
    "ipsi": "ipsilateral; same side; ipsi lateral; this side",
    "- other senses of sides": """
    left in situ; left behind; left to; left for; left with; has been left;
    left over; left theatre; left undisturbed in; left in place; right angle; right angled; right
    angles; right handed; left handed; right hand; left hand; all right; right down; right up; right
    through; right away; left hand side of table; left in continuity; left long; left lying; left iliac
    fossa; right iliac fossa; lif; rif; left lower quadrant; right lower quadrant; left upper quadrant;
    right upper quadrant; left flank; right flank; left lumbar; right lumbar; left lateral port; left arm;
    right arm; left leg; right leg; left lateral tilt; right lateral tilt; left side of table; right side of
    table; surgeon on left; surgeon on right; surgeon stood on left; surgeon stood on right; standing on
    left; standing on right; left or right; right or left; right / left; left / right; l / r; left mid
    clavicular; right mid clavicular; left port; right port; left paramedian; right paramedian; left
    hypochondrium; right hypochondrium; left working; right working; left pararectal; right pararectal; left
    index; right index; left shoulder; right shoulder; left thumb; right mid abdomen; left mid abdomen; both
    ports; both ends; both testis; left abdomen; right abdomen; right side of bed; left side of bed; right
    side of patient; left side of patient; left ear; right ear; left eye; right eye; right at; right atrium;
    r > l; l > r; left > right; right > left;
    left ventricle; left colon; right colon; right hemicolon; left 5 mm port; right 5 mm port; left 3 mm
    port; right 3 mm port; left 5mm port; right 5mm port; left cephalic vein; left nothing; right position;
    left open; left alone; left untouched; to left of umbilicus; to right of umbilicus; left of umbilicus;
    right of umbilicus; left of midline; right of midline; right thigh; left thigh; right size; left
    undisturbed; left intact; left free; left patent; right amount; right place; right plane; right level;
    right layer; left attached; left loose; left distal; left wide open; left unrepaired; left lateral
    position; left as; left out; left well; left unligated; proved right; put it right;
    month|months|year|years|week|weeks|day|days old;
    year old boy|girl|man|woman|male|female;
    old boy|girl|man|woman|male|female|lady|gentleman|fellow|lad; all right and proper;
    consent allowed|permitted""",
}

NOUNS: Final = listed(
    """
    & ( ) + , - . / : ; ? absent after also although and apparent appeared appears are as at because big bih
    bilateral both broad bulge bulging but by can cannot clinically combined component confirmed contents
    could defect did diffuse direct due ehs either element evident excluded femoral floor found from groin
    hence here hernia herniation hernioplasty herniorrhaphy herniotomy however huge identified if ih in
    incarcerated indirect inguinal inguinoscrotal intraop intraoperatively irreducible is kind l l1 l2 l3
    large lateral left lih like lipoma m1 m2 m3 may medial moderate nil no none nor not noted obstructed
    obvious of on one only or pantaloon possible posterior present primary protrusion proved r rather
    recurrence recurrent reduced reducible repair right rih ring ruled sac scrotal seemed seen side since
    sized sliding small so strangulated suspected swelling than that then through tiny to today type unlike
    variety versus via visible vs was weakness part portion parts elements we he she it they i you who that
    this these those next
    near close medially
    laterally just very too again inverted lichtenstein shouldice tapp tep mesh darn bassini desarda repaired
    treated dealt respectively according into onto out up down behind beside between before during until
    while without never still now there have has had do does bulged seen noted inguinoscrotal bubonocele
    cases variety sacs herniae well were when where which wide with y yes ☐ ☑
    """
) | {"\n", "\n\n", "\u00b6"}
"""Words that may follow "direct" when it names a hernia; before any other noun it means something else."""
