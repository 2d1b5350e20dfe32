"""The trade's words as tables: what a phrase of an operation note names.

A table's key is one or more tags; its phrases are parted by ``;``, ``|`` parts alternatives, ``?`` marks a
word that
may be missing. Articles and hyphens inside a phrase are passed over. A key that begins with a hyphen
swallows its
phrases: their words mean something else ("direct vision"). The longest phrase wins. Common practice, no
source.
"""

from __future__ import annotations

from typing import Final

SAME: Final[dict[str, str]] = {
    "hernia": "hernias herniae hernia's hernation",
    "sac": "sacs sack sacks",
    "nothing": "nothign nothin nohting",
    "defect": "defects defct defcts defetcs defekt",
    "component": "components",
    "bulge": "bulges bulged bulg buldge",
    "vessel": "vessels",
    "epigastric": "epigastrics epigastic",
    "canal": "canals",
    "ring": "rings annulus anulus rng rign",
    "space": "spaces",
    "area": "areas",
    "fossa": "fossae fossas",
    "site": "sites",
    "region": "regions",
    "orifice": "orifices orfice orifce orifise",
    "wall": "walls",
    "floor": "floors",
    "side": "sides",
    "groin": "groins",
    "testis": "testes testicle testicles",
    "hydrocele": "hydroceles hydrocoele hydrocoel hydrocel hydroceoele",
    "orchidopexy": "orchiopexy orchidopexies orchipexy orchiopexies orchidopexia",
    "mesh": "meshes meshed mehs mseh msh meshh mash",
    "stitch": "stitches",
    "suture": "sutures sutured suturing",
    "sewn": "sewed sewing stitched stitching stitchd suturd",
    "purse": "pursed",
    "pursestring": "pursestrings pursestringed",
    "lichtenstein": "licht lichten lichstein lichenstein lichtensteins lichtenstein's",
    "incision": "incisions incison incsion incision's",
    "transfixed": "transfix transfixes transfixd transfx transfixing transfixion",
    "high": "higth hgh hi",
    "closed": "closd clsed cloesd closing",
    "percutaneous": "percut perc",
    "closure": "closre clousure",
    "port": "ports",
    "trocar": "trocars",
    "clip": "clips",
    "tack": "tacks tacker tackers tacked",
    "staple": "staples stapled stapler",
    "laparoscopic": "laparoscopically laparoscopy lap laparascopic laparoscopical laproscopic",
    "bilateral": "bilaterally bilat bilaterall",
    "left": "lt lft letf elft leeft lefft sinistra sinister sinistr sin links",
    "indirect": "indirecta indirekt indirekte indirekter indir",
    "direct": "directa direkt direkte direkter",
    "femoral": "femoralis crural fem",
    "right": "rt rgt rigth rihgt rigt rigjt riht righ rght dextra dexter dextr dext rechts",
    "repair": "repairs repaired repairing",
    "ligament": "ligaments",
    "inguinal": "inguinale ing",
    "inferior": "inf infr",
    "internal": "int",
    "external": "ext",
    "lateral": "lat",
    "medial": "med",
    "fascia": "fasciae facia fascial",
    "herniotomy": "herniotomies herniotmies",
    "weakness": "weaknesses",
    "lipoma": "lipomas lipomata",
    "artery": "arteries",
    "peritoneum": "peritoneal",
    "hesselbach": "hesselb hesselbach's hesselbachs hasselbach hasselbach's hesselbachs'",
    "plug": "plugs plugged",
    "recurrent": "recurring recidiv rezidiv recidive",
    "recurrence": "recurrences",
    "triangle": "trigone",
    "ipsilateral": "ipsilaterally",
    "contralateral": "contralaterally",
    "patent": "patency",
    "attenuated": "attenuation",
    "separated": "seperated seprated separeted separted",
    "from": "frm fron",
    "ligated": "ligations ligation ligating ligature ligate ligatured",
}
"""One spelling: what it stands for."""

TYPES: Final[dict[str, str]] = {
    "indirect": "indirect; lateral indirect; indirect lateral; oblique inguinal hernia",
    "direct": "direct; direct medial; medial direct; non|not indirect direct",
    "indirect hernia": "iih; indirect ih; bubonocele",
    "direct hernia": "dih; direct ih; pseudosac; pseudo sac",
    "left indirect hernia": "liih",
    "right indirect hernia": "riih",
    "left direct hernia": "ldih",
    "right direct hernia": "rdih",
    "combined hernia": """
    pantaloon; pantaloons; pantalon; saddlebag; saddle bag; combined direct and|& indirect; combined
    indirect and|& direct; combined direct /|+ indirect; combined indirect /|+ direct; combined inguinal?
    hernia|defect|sac|type; mixed inguinal? hernia|type|defect; dual inguinal? hernia|sac|component; double
    sac; double
    inguinal? hernia; both an? indirect and|& a? direct; both a? direct and|& an? indirect; both medial
    and|& lateral; both lateral and|& medial; romberg;
    lateral and|&|+ medial defect|hernia; medial and|&|+ lateral defect|hernia""",
    "femoral hernia": """
    femoral hernia|sac|defect|component|recurrence; femoral type; femoral inguinal? hernia; femorocele;
    fh; strangulated|incarcerated femoral""",
    "femoral": "femoral",
    "lateral": "lateral; lateral inguinal",
    "medial": "medial; medial inguinal",
    "lateral adverb": "laterally",
    "medial adverb": "medially",
    "hernia": """
    hernia; inguinal hernia; ih; inguinal swelling; inguinoscrotal swelling|hernia; inguino scrotal hernia;
    groin hernia; scrotal hernia; hernia component; herniation; inguinoscrotal; rupture|ruptured hernia""",
    "left hernia": "lih; lihr; left ih",
    "right hernia": "rih; rihr; right ih",
    "both hernia": "bih; bihr; b ih",
    "sac": """
    sac; hernia sac; peritoneum sac; inguinal sac; hernia contents; hernia bag; bag;
    peritoneum pouch|process|pocket|tongue|finger|funnel|tube|evagination|projection|protrusion;
    pouch|process|pocket|tongue|finger|tube|bag|sleeve|cone|funnel|knuckle|protrusion|evagination of
    peritoneum; glove finger of peritoneum; funnel""",
    "defect": """
    defect; bulge; bulging; protrusion; protruding; protruded; ballooning; component; herniating; element;
    outpouching; out pouching; evagination; eventration; bulges through; hole; gap; dome; crater; cave;
    caves; craters; lump; lumps; swelling; hernia gate; pouch; knuckle; hernia opening""",
    "sliding": "sliding; slider",
    "recurrent": "recurrent; recurrence; re recurrent; redo; re do; rerecurrent; recurred; recurs",
    "recurrent hernia": "recurrent inguinal? hernia|ih",
    "primary hernia": "primary inguinal? hernia|ih",
    "primary": "first time repair; primary",
    "- other senses of type words": """
    direct vision; direct visualisation; direct visualization; direct view; direct pressure; direct closure;
    direct laryngoscopy; direct supervision; direct suture; direct contact; direct puncture; direct
    inspection; direct access; direct entry; direct approach; direct continuity; direct trauma; direct
    injury; direct cautery; direct repair; direct trocar; direct visual; direct palpation; direct line;
    direct diathermy; direct cut down; direct observation; direct infiltration; direct apposition; direct
    communication; direct haemostasis; indirect vision|laryngoscopy|view|coombs|bilirubin; femoral
    nerve|vein|vessel|artery|pulse|sheath|block|head|neck|catheter|line|triangle|branch|fracture; lateral
    cutaneous; lateral femoral cutaneous; lateral
    thigh|border|edge|aspect|part|position|wall|abdominal|decubitus|third|crus|end|half|leaf|leaves|flap|umbilical|pelvic|extent|side|tilt|incision|port|corner|limb|margin|tail;
    medial
    thigh|border|edge|aspect|part|third|crus|end|half|leaf|retraction|flap|umbilical|extent|side|corner|limb|margin;
    medial to lateral; lateral to medial; combined general|spinal|epidural|with|anaesthesia|ga; primary
    closure|surgeon|operator|care|intention|port|repair|suture|team|consultant|trocar; hernia
    incision|scar|repair? set|clinic|list|surgery|operation|wound; recurrent laryngeal; recurrence rate;
    risk of recurrence; incisional hernia; umbilical hernia; paraumbilical hernia; para umbilical hernia;
    ventral hernia; epigastric hernia; port site hernia; hiatus hernia; hiatal hernia; diaphragmatic hernia;
    spigelian hernia; obturator hernia; inguinal hernia service|clinic; epigastric
    incision|region|pain|port; mesh sac; scrotal sac; sliding knot; slider knot; sliding scissors; sac
    contents; lateral position; left lateral; right lateral; posterior rectus sheath; urinary catheter; no
    direct entry""",
}

ANATOMY: Final[dict[str, str]] = {
    "wall": """
    posterior|back wall of? inguinal? canal?; posterior|back inguinal wall; post|posterior wall;
    posterior|back canal wall; inguinal|canal floor; floor; floor of? inguinal? canal?; transversalis
    fascia|layer?; fascia transversalis; transversalis; tf; hesselbach triangle?; triangle of hesselbach;
    inguinal triangle; direct space|area|triangle|fossa|site|region|territory|orifice|floor|ring; medial
    inguinal? fossa|triangle|space; medial wall|floor; pw; medial inguinal space; direct inguinal?
    space|floor|triangle; backwall; back of inguinal? canal; fascia transversa; medial region|area;
    fascia between vessel and pubis?|tubercle?; floor behind; fossa inguinalis? medialis;
    medial inguinal? fossa; suture line; old suture line""",
    "- other walls and rings": """
    pelvic floor; floor of mouth; posterior wall of bladder|sac|hernia|stomach|rectus|caecum|bowel|vagina;
    posterior wall of? sac; floor of scrotum|pelvis; internal iliac; internal oblique; internal spermatic;
    external oblique aponeurosis?; external oblique fascia; external ring|inguinal ring|iliac; superficial
    inguinal? ring; external inguinal ring; deep dermis|dermal|fascia|layer|tissue; eoa; urethral ring; ring
    forceps|block; fascia of scarpa|camper; hernia ring forceps; umbilical ring; obturator
    ring|canal|foramen; cord block; anterior wall; abdominal wall; posterior rectus; cremaster|cremasteric
    fascia; spermatic fascia""",
    "wall femcanal": """
    direct|medial and|&|/ femoral space|area|site|ring|fossa|region|orifice|canal; femoral and|&|/
    direct|medial space|area|site|ring|fossa|region""",
    "superficial": "external ring; external inguinal ring; superficial inguinal? ring",
    "oblique": """
    external oblique; external oblique aponeurosis; eoa; aponeurosis; ext oblique; internal oblique""",
    "weak": """
    weak; weakness; weakened; weakish; attenuated; thin; thinned; lax; laxity; stretched; deficient;
    deficiency; patulous; flimsy; splayed; destroyed; poor; disrupted; floppy; blown; blown out; blow out;
    blowout; gave way; giving way; given way; gives way; incompetent; incompetence; defective; stretching;
    very thin; torn; not strong; papery; ragged; bulging; bulge; ballooned; ballooning; everted; pouting;
    sagging; sagged; fallen; caved|cave; yielding; yielded; insufficient; wafer; threadbare; feeble; loose;
    not well developed; came|coming|comes|pushed|pushing|bulged forward; came|comes|coming out
    like|toward|towards|at; gone; billowing; billowed;
    tented; like tent; lifted by;
    affected; involved; occupied; flabby; baggy; spongy; like wet paper; like paper; paper thin;
    breached; breach; failure; failed;
    soft; slack; worn; tissue paper; tissue thin;
    dehiscent; hole; gap""",
    "sound": """
    sound; intact; firm; firmly; strong; good; solid; normal; competent; robust; well supported;
    well-supported; satisfactory; unremarkable; secure; stout; taut; healthy; sturdy; well developed; thick;
    dense; adequate; fine; excellent; preserved; holding; held; flat; well formed; in tact; ok; okay;
    undisturbed; nad; holds; good quality; tough; flat; not weak; no weak; unbroken; uninvolved; rigid;
    supportive""",
    "wall ring": """
    direct and|&|/ indirect space|area|site|ring|fossa; indirect and|&|/ direct space|area|site|ring|fossa""",
    "ring": """
    deep|internal inguinal? ring; deep|internal inguinal? orifice; dir; iir; deep ring; internal ring;
    inguinal ring; abdominal ring; deep abdominal ring; ir; dr ring; anulus|annulus inguinalis;
    inner|inguinal opening; internal opening; inner ring; inner orifice; lateral
    fossa; indirect space|site|area|region|ring|orifice|fossa; lateral inguinal fossa; lateral space;
    fossa inguinalis? lateralis""",
    "bare_ring": "ring; orifice; extraperitoneal|properitoneal|preperitoneal fat; fat at|of neck",
    "open": """
    patent; open; wide open; widely open|patent; opened; gaping; gape; gaped; gapes;
    unclosed; non obliterated; not obliterated;
    unobliterated; persistent; persisting; not closed; failed to close; widely""",
    "wide": """
    wide; dilated; widened; enlarged; large; patulous; stretched; capacious; generous; expanded;
    admits|admitted|admitting one|two|three|2|3|1|fingertip|finger|tip|index; 3 cm; distended; affected;
    involved; occupied""",
    "shut": """
    closed; obliterated; fused; sealed; occluded; closure; shut; not patent; not open; non patent;
    obliteration; not widened; not dilated; closed off; closed by nature|itself;
    closed|covered|sealed by|with peritoneum""",
    "clear": "clear; empty; free; normal; snug; tight; small; clean",
    "epigastric": """
    inferior? deep? epigastric vessel|artery|vein|pedicle|bundle?; deep inferior epigastric vessel?; iev;
    ievs; iea; epigastric; inferior epigastric; dieas?; diev; epigastric a|v|vs; inferior epigastric
    a|v|vs|vv; ie vessel; inf epig; inferior epig vessel?; epig vessel; ieas; ief;
    vessel lay|lying|ran|run|running|lie|pulsing""",
    "femcanal": """
    femoral canal|ring|orifice|space|region|area|opening|fossa|foramen|site; saphenous opening;
    lacuna vasorum""",
    "underligament": """
    below|beneath|under|inferior inguinal|poupart|pouparts|poupart's ligament; below to?
    inguinal|poupart|pouparts|poupart's ligament; inferior to inguinal ligament; below and lateral to pubic
    tubercle; infrainguinal; infra inguinal; deep to inguinal ligament; medial to femoral vein|vessel; below
    and lateral to tubercle; inferior and lateral to pubic tubercle; inferolateral to pubic tubercle;
    inferolateral to tubercle; beneath|below|under|underneath iliopubic? tract;
    underneath|below|beneath ligament""",
    "freed": """
    dissected; dissection; dissecting; traced; tracked; followed; separated; freed; mobilised; mobilized;
    skeletonised; skeletonized; stripped; delivered; isolated; teased; peeled; cleared; pursued; taken;
    tracing; traceable; separation; dissect; developed; parted; skeletonisation; swept; lifted;
    mobilisation; continued; chased; reduced; pulled""",
    "tied": """
    ligated; tied; transfixed; transfixion; transfixing; suture; oversewn; purse string; pursestring;
    stitch; twisted; sutureligated; transfix; ligasure; doubly ligated; tie; secured; endoloop; oversewed;
    oversew; purse; ligd; lig; suture ligated; closed with; closed using; closed by; closed off with; closed
    extraperitoneally; encircled; knotted""",
    "tied lap": "closed laparoscopic; closed percutaneously; ligated laparoscopic; tied laparoscopic",
    "excised": """
    excised; divided; resected; amputated; removed; transected; excision; cut; disconnected; resection""",
    "cord": """
    cord; cord structure; cord structures; spermatic cord; vas; vas deferens; vas and vessel; round
    ligament|lig; gonadal vessel; testicular vessel; gonadal; spermatic vessel; vasa; elements of cord; cord
    elements; v and v; funiculus; spermatic bundle; spermatic chord; chord; testicular cord;
    vas / vessel; vas & vessel; vas + vessel""",
    "ppv": """
    ppv; ppvs; patent processus|process vaginalis?; patent pv; patent tunica|tube; persistent processus
    vaginalis?; patent p v; patent vaginal process|processus; open processus vaginalis?; patent canal of
    nuck; cyst of canal of nuck; widely patent processus vaginalis?; non obliterated processus vaginalis?;
    unobliterated processus vaginalis?; unclosed processus vaginalis?; persistent pv; patent vaginalis;
    congenital sac|type; congenital inguinal? hernia; canal of nuck hernia|sac; hernia of canal of nuck""",
    "pv": """
    processus vaginalis; process vaginalis; processus; pv; vaginal process|processus; canal of nuck; tunica
    processus""",
    "testis": """
    testis; epididymis; scrotum; ovary; tube; appendix; bladder; bowel; omentum; caecum; ilioinguinal; ilio
    inguinal; nerve; nerves; gonad; ilioinguinal nerve; loop; fallopian; wound; skin; haemostasis;
    hemostasis; sigmoid; conjoint tendon; conjoined tendon; inguinal ligament; pubic tubercle; muscle;
    iliohypogastric; genital branch; lipoma; preperitoneal fat; fat; tubercle; node; nodes; umbilicus;
    cooper ligament; obturator""",
    "medplace": """
    medial|medially to|of vessel|artery|pedicle|them|these|those|arteries; inside|within inferior? epigastric?
    vessel|artery|epigastric;
    inner|medial side of inferior? epigastric? vessel|artery|epigastric|arteries|them; inside
    of inferior? epigastric? artery|arteries|vessel;
    between vessel|epigastric and pubis|pubic|tubercle|midline|rectus;
    between epigastric|vessel and pubic tubercle|bone; nearer midline than vessel""",
    "latplace": """
    lateral|laterally to|of vessel|artery|pedicle|them|these|those|arteries; outside
    inferior? epigastric? vessel|artery|epigastric; outer|lateral side of inferior? epigastric?
    vessel|artery|epigastric|arteries|them; outside of inferior? epigastric? artery|arteries|vessel""",
    "nearpubis": """
    near|nearer|towards|toward|beside|by|above|over|against|at|next|close to? pubic?
    tubercle|pubis|midline|bone|pubes; near|beside|by|above|at|next|close to?
    pubic bone; beside|behind bladder;
    lateral|medial|superior|superolateral|cranial|adjacent|close to? pubic? tubercle;
    medial corner|end of? canal?; mesh and pubic? bone|pubis|tubercle; medial end of? repair""",
    "across": """
    other|opposite side of? inferior? epigastric? vessel|artery|epigastric""",
    "straddle": """
    straddling; straddled; straddles; astride; either side of; both sides of; both side of;
    each side of; medial and|& lateral to|of; lateral and|& medial to|of; saddling; medially and laterally
    to""",
    "lipoma": "cord lipoma; lipoma of spermatic? cord; lipoma; lipomatous",
    "hydrocele": """
    hydrocele; communicating hydrocele; hydrocele of cord; encysted hydrocele; hydrocelectomy;
    lord's|jaboulay procedure|repair; lords procedure""",
    "orchidopexy": """
    orchidopexy; orchidofixation; dartos pouch; sub dartos pouch; subdartos pouch; fowler stephens; testis
    fixed; scrotal fixation; orchidopexia; sub dartos""",
    "udt": """
    udt; undescended testis; cryptorchid; cryptorchidism; maldescended testis; maldescent; undescended;
    ectopic testis; inguinal testis; ascending testis; ascended testis; impalpable testis; palpable testis""",
}

REPAIRS: Final[dict[str, str]] = {
    "highlig": """
    high ligated; high tie; high lig; high transfixion; percutaneous internal? ring suture;
    pirs; lper; percutaneous ring closure; percutaneous suture|closure|ligated; seal; lpec; laparoscopic
    percutaneous extraperitoneal closure; mitchell banks; ferguson; ring closure; closure of ring; closure
    of? deep|internal inguinal? ring; deep ring closure; internal ring closure; purse string closure;
    intracorporeal ring closure; burnia; hook assisted closure; flip flap; high closure;
    needle assisted ligated; intraperitoneal ring closure; potts; percutaneous extraperitoneal closure;
    simple ligated; extraperitoneal ligated|closure; laparoscopic ring closure; single port ligated;
    laparoscopic herniotomy; hl; closed percutaneously; percutaneous closed;
    closed intracorporeally|extracorporeally; cauterised and closed; pursestring closure;
    purse string suture of? ring""",
    "highlig fromfront": "herniotomy; herniotomised; open ligated; groin herniotomy",
    "tissue": """
    shouldice; bassini; bassinis; bassini's; mcvay; mc vay; mcvay's; darn; darned; darning; desarda; marcy;
    marcys; marcy's; plication; plicated; plicating; imbrication; imbricated; iliopubic tract repair;
    halsted; cooper's|cooper|coopers ligament repair; suture repair of? wall?; tissue repair; tissue based
    repair; nyhus iliopubic; andrews; maloney; moloney; wall repair; floor repair; posterior|back wall
    repair; repair of posterior|back wall; repair of floor; double breasting; double breasted; tanner slide;
    relaxing incision; guarnieri; lockwood; mcevedy; lotheissen; non mesh tissue repair; pure tissue repair;
    anatomical repair; native tissue repair; four layer repair; two layer repair; three layer repair;
    herniorrhaphy of? posterior wall; posterior wall reinforced|reinforcement|reconstruction; reinforcement
    of posterior wall; reconstruction of posterior wall; fascial repair; suture plasty; nylon darn;
    repair|closed with suture|stitch only; suture only
    repair; suture repair; suture hernioplasty|herniorrhaphy; repair with suture; stitched repair;
    iliopubic|ilio pubic repair; floor|canal plication; shouldices; sutured repair only; conjoint
    tendon approximated|suture|apposed; conjoined tendon approximated|suture|apposed""",
    "meshrepair": """
    lichtenstein; lichtensteins; endoscopic totally? extraperitoneal; extraperitoneal endoscopic;
    lichtenstein's; lichenstein; tapp; tep; tepp; etep; e tep; plug and patch;
    mesh plug; plug repair; stoppa; rives; gilbert; kugel; tipp; trepp; mesh hernioplasty; mesh repair; mesh
    hernia repair; mesh inguinal hernia repair; tension free repair; tension free hernioplasty;
    preperitoneal mesh; onlay mesh; sublay mesh; ipom; transabdominal preperitoneal; trans abdominal pre
    peritoneum; transabdominal pre peritoneum; transabdominal preperitoneum; trans abdominal preperitoneum;
    totally extraperitoneal; totally extra peritoneum; prosthetic repair; open preperitoneal; hernioplasty
    with mesh; amid; nyhus mesh; totally pre peritoneum; trans abdominal pre peritoneal; mesh plasty;
    meshplasty; mesh hernioplasties""",
    "mesh": """
    mesh; prosthesis; prosthetic; patch; polypropylene sheet; plug; non mesh; meshes; bilayer; prolene mesh;
    flat sheet; synthetic sheet; sheet of polypropylene|polyester|material""",
    "nomesh": """
    mesh free; non mesh repair?; nonmesh; mesh less; meshless; without mesh; no mesh; without prosthesis; no
    prosthesis; no prosthetic; without prosthetic; without any mesh; without use of mesh; without using
    mesh; without the? need for mesh; without implanting mesh; without placing mesh; no need for mesh""",
    "- other senses of repairs": """
    polypropylene suture; polypropylene interrupted|running|continuous|suture|stitch; patch test;
    skin patch; plug of omentum; plug of fat; vein patch; omental
    plug|patch; mesh scissors; seal broken; seal dressing; wound seal; nicotine patch; eye patch; fat plug;
    ligated high? risk; potts scissors; dural patch; patchy; halsted mosquito|forceps|artery; ferguson
    retractor; plug fat; heparin lock; seal of; drape; halsteds mosquito; fentanyl patch; polypropylene
    stitch; bilayer closure""",
    "reinforce": """
    repair; reinforced; reinforce; reinforcement; reconstructed; reconstruction; approximated; strengthened;
    buttressed; tightened; rebuilt; repaired; restored; inverted; closed with; suture; overlapped; apposed;
    reinforcing; strengthening; reapproximated; reefed; tacked down; quilted; oversewn; invaginated;
    layered; sewn; gathered;
    sewn flat; taken in; stitched""",
    "repair hernia": "hernia repair; inguinal hernia repair",
    "repair": """
    repair; hernioplasty; herniorrhaphy; herniorraphy; herniorrhaphies; operation; operated; explored;
    exploration; surgery""",
    "lap": """
    laparoscopic; tapp; tep; tepp; etep; e tep; transabdominal preperitoneal; totally extraperitoneal;
    pneumoperitoneum; pneumo peritoneum; pirs; lpec;
    keyhole surgery|operation|technique|procedure|way|route|repair|approach|method; key hole
    surgery|operation; insufflated; insufflation; capnoperitoneum; robotic; robotically; robot; ipom; lper;
    intracorporeal; intracorporeally; desufflated; pneumopreperitoneum; minimally invasive; minimal access;
    umbilical port; camera port; laparoscope; co2; working port; 5mm port; 3mm port; mm port; balloon
    dissector; balloon trocar; burnia; percutaneous internal ring suture; peritoneal flap; peritoneum flap;
    percutaneously; percutaneous; telescope; telescopic; scope; camera; ports; port; trocar;
    transabdominal approach|route|repair;
    extraperitoneal repair|approach|route; trans abdominal approach|route; from within|inside; gas out|in;
    peritoneum incised|opened|stripped above|about|around|over|round; tap repair; tapp repair;
    under view of laparoscope; lap'd;
    let gas|co2 out; peritoneum was incised; needlescopic; endoscopic; endoscopically; endoscope;
    three ports; two ports; one port""",
    "scopy openop": """
    hernioscopy; herniascopy; transinguinal laparoscopic; trans inguinal laparoscopic; laparoscopic through
    sac; laparoscopic via sac; scope through sac; telescope through sac; diagnostic laparoscopic via|through
    hernia? sac; laparoscope through|via|into hernia? sac; contralateral laparoscopic; goldstein test; scope
    via sac; telescope via sac; laparoscope passed through|via sac; transinguinal scope; scope passed
    through|via sac; laparoscopic evaluation of contralateral; laparoscopic inspection of contralateral;
    laparoscopic of contralateral""",
    "openop": """
    groin incision; inguinal incision; skin crease incision; skin crease; groin crease; inguinal crease;
    groin crease incision; open repair; open approach; open operation; open surgery; open procedure; open
    method; external oblique opened|incised|divided|slit|split|open|exposed|cut; external oblique
    aponeurosis opened|incised|divided|slit|split|open|exposed|cut; external oblique was|is
    opened|incised|divided|slit|split|exposed; external oblique aponeurosis was|is
    opened|incised|divided|slit|split|exposed; opened external oblique; opened external oblique aponeurosis;
    incised external oblique; eoa opened|incised|divided|slit|split; eo opened|incised|divided|slit|split;
    inguinal canal opened|exposed|entered; canal opened|entered; inguinal canal was opened; canal was
    opened; canal laid open; lanz|transverse groin incision; inguinal approach; groin approach;
    lichtenstein; shouldice; bassini; mcvay; desarda; darn; marcy; scarpa's; scarpas; scarpa; mitchell
    banks; ferguson; inguinal exploration; groin exploration; low skin crease; inguinotomy; scrotal
    incision; approach open; ilioinguinal nerve; suprainguinal incision; cremaster; cremasteric; incision
    over inguinal canal; incision above inguinal ligament; transverse incision over; anterior approach;
    external oblique; eoa; from|in in? front; anterior|open access; open groin; through groin; plug; plug
    and patch; plug repair; mesh plug; mcevedy; lockwood; lotheissen; low approach; moloney; halsted;
    andrews; eo; ext obl;
    orchidopexy; dartos pouch; subdartos pouch; sub dartos; subdartos; jaboulay;
    lords|lord's procedure|repair;
    ext oblique; spermatic fascia""",
    "fromfront": """
    incision; crease; crease incision;
    transverse|generous|low|oblique|short|small|groin|inguinal cut|incision; under local; local
    anaesthetic|anaesthesia|anesthesia|block; field block; la; of local; local infiltration;
    old|previous scar; through scar; wound opened;
    gubernaculum; cord lipoma excised; subcutaneous; groin cut; nerve|nerves
    identified|preserved|spared|seen|cut|divided; nerves; explored; exploration; expl; ilioinguinal; onlay;
    ext ring closed; testis pulled|brought|drawn down; testis
    delivered|replaced|repositioned|returned; via|through groin; stump; wound; sac opened|invaginated;
    opened sac; scrotal; subcuticular; scrotum; groin incision;
    distal sac|part; same|own wound|incision; iliohypogastric; genital branch; preperitoneal route;
    rectus sheath incised|opened|divided""",
    "arch": """
    arch; muscle|transversus|conjoint|muscular|tendinous|aponeurotic arch; conjoint|conjoined tendon?;
    conjoint area|muscle; inguinal|poupart|pouparts|poupart's|pectineal|lacunar|cooper|coopers|cooper's
    ligament; pectineal|pectineus fascia; iliopubic|ilio pubic tract; cooper; pectineus; pectineal;
    inguinal|pectineal|cooper|coopers|poupart lig; internal oblique; transversus; shelving edge""",
    "notexamined": """
    canal|oblique not opened; canal|oblique was not opened; external oblique not|un opened; without opening
    canal|external oblique|inguinal canal; external oblique was not opened; inguinal canal not opened;
    inguinal canal was not opened; without opening external oblique aponeurosis?; external oblique left
    intact; canal unopened; external oblique aponeurosis was? not opened; without formal opening of canal;
    canal left intact""",
    "convert": """
    converted; conversion; converting; abandoned; given up; converted to open; conversion to open;
    converted to an open;
    convert to open; open conversion; converted
    to lichtenstein; converted to anterior approach; converted to groin incision""",
    "- open, but not the groin": """
    open hasson; open technique; hasson open; open access; open entry; open umbilical; open introduction;
    open cut down; open port""",
}
