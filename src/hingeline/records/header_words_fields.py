"""What names the columns of a field have: each field as combinations of senses, with what speaks against it.

Weights say how much a name of these senses tells (1: nothing else is meant); they were set by judgement on exports of
our own (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from .header_words import Part, parts
from .layout_header import JOINED


@dataclass(frozen=True)
class Naming:
    """Combinations of senses that name a field, and senses that belong to something else.

    Attributes
    ----------
    named : tuple of (tuple of str, float)
        Senses that must all be there, each from a part of its own, and the weight of the combination.
    beside : frozenset of str
        Senses that may stand beside them without harm.
    against : frozenset of str
        Senses that show that another thing is meant.
    """

    named: tuple[tuple[tuple[str, ...], float], ...]
    beside: frozenset[str]
    against: frozenset[str]


def _naming(named: str, beside: str = "", against: str = "") -> Naming:
    combinations = []
    for one in named.split():
        senses, _, weight = one.partition(":")
        combinations.append((tuple(senses.split("+")), float(weight or 1)))
    return Naming(tuple(combinations), frozenset(beside.split()), frozenset(against.split()))


_NOT_OPERATION: Final = (
    "admission discharge booking consent entered first_visit next birth death last follow recurrent again other "
    "anaesthesia duration icd diagnosis"
)
_GROIN: Final = "hernia patient operation"

NAMINGS: Final[dict[str, Naming]] = {
    "patient": _naming(
        "patient+key patient+code:.9 key+hospital_record:.8 patient:.75 key:.7 case+key:.45 case:.4 "
        "row+key:.2",
        "hospital_record registry",
        "place surgeon operation type diagnosis insurance icd anaesthesia grade place phone contact_way "
        "person_name month_of mesh ehs row insurance",
    ),
    "born_on": _naming(
        "birth+date birth:.8 birth+operation:.8",
        "patient",
        "weight place gestation preterm weight_of_birth operation admission discharge booking consent "
        "entered first_visit next last follow recurrent again other death other_person",
    ),
    "operated_on": _naming(
        "operation+date operation:.65 date:.5",
        "hernia patient repair method",
        "admission discharge booking consent entered first_visit next birth death last follow recurrent "
        "again other anaesthesia duration icd diagnosis type surgeon side age reason approach birth "
        "registry",
    ),
    "age": _naming(
        "age age+years age+months age+days age+weeks years:.35 months:.3",
        "operation patient years months weeks days date",
        "gestation grade birth death first_visit follow recurrent score other_person gestation",
    ),
    "gestation_weeks": _naming(
        "gestation gestation+age gestation+weeks birth+weeks:.9 birth+age:.6 weeks:.3",
        "age weeks birth days patient",
        "preterm",
    ),
    "sex": _naming(
        "sex male+female:.9 female+male:.9",
        "patient birth code male female",
    ),
    "side": _naming(
        "side side+hernia left+right:.9 hernia+side operation+side both:.3",
        "hernia patient operation left right both type diagnosis code",
        "surgeon other recurrent again testis pain complication",
    ),
    "type": _naming(
        "type+hernia hernia+finding:.9 finding:.8 indirect+direct:.95 hernia+direct:.8 type+finding "
        "hernia+diagnosis:.75 type:.75 diagnosis:.6 hernia:.55 hernia+method:.5 indirect+direct+combined "
        "diagnosis+finding:.9 operation+diagnosis:.8 ring+type:.6 type+known:.62 hernia+known:.6",
        "hernia patient operation code primary diagnosis finding direct indirect combined femoral classif "
        "ehs side left right",
        "anaesthesia mesh again recurrent approach method repair admission discharge pain surgeon used "
        "other insurance emergency operation birth",
    ),
    "ehs": _naming(
        "ehs ehs+type ehs+code ehs+size:.6 ehs+finding",
        "hernia type code finding diagnosis operation",
        "size ring",
    ),
    "ehs_size": _naming(
        "ehs+size size:.6 hernia+size:.85 ring+size:.75 size+finding:.75 diameter:.2 ehs+grade:.8",
        "hernia ring finding ehs operation",
        "mesh testis height weight type",
    ),
    "known_by": _naming(
        "type+known type+by:.75 floor+examined floor:.7 known:.62 known+finding:.8 floor+view:.9 "
        "floor+finding:.9 diagnosis+known:.9 type+examined:.8 known+code:.5 hernia+known:.8 examined:.35 "
        "indirect+known:.8 floor+known floor+follow:.7",
        "hernia type finding diagnosis method code operation view examined direct",
        "recurrent follow last again other death reason",
    ),
    "reason": _naming(
        "reason reason+operation hernia+reason diagnosis:.4 hydrocele+processus:.7 diagnosis+operation:.45",
        "hernia patient operation diagnosis type primary",
        "again recurrent death anaesthesia discharge admission mesh",
    ),
    "occurrence": _naming(
        "primary+recurrent recurrent+primary recurrent+hernia:.75 recurrent:.7 primary:.7 "
        "occurrence primary+hernia:.75 recurrent+operation:.75 type+recurrent:.6 again:.35 recurrent+yes:.7 "
        "again+repair:.65 again+operation:.4",
        "hernia patient operation yes no type code side",
        "date follow known finding last reason death other until months years",
    ),
    "repair": _naming(
        "repair+type repair+method operation+method method:.85 repair:.85 operation+type:.85 operation:.6 "
        "mesh+tissue:.7 repair+operation:.9 method+hernia:.85 operation+code:.45 repair+hernia:.85 icd:.3 "
        "type+method:.85",
        "hernia patient operation type code method primary mesh",
        "admission discharge booking consent entered first_visit next birth death last follow recurrent "
        "again other anaesthesia duration icd diagnosis age side surgeon key place emergency specialty "
        "reason finding approach date",
    ),
    "approach": _naming(
        "approach approach+operation open+laparoscopic laparoscopic+open laparoscopic:.75 open:.65 "
        "laparoscopic+operation:.7 operation+mode:.6 method+approach approach+type known:.3",
        "hernia patient operation method type used yes no repair code",
        "follow again known view",
    ),
    "mesh_used": _naming(
        "mesh+used mesh mesh+yes",
        "hernia patient operation used yes no repair",
        "type size key surgeon date infection pain removed recurrent code",
    ),
    "sac_divided": _naming(
        "sac+divided sac+ligation:.75 sac+excision divided:.5 sac:.5 sac+divided+ligation",
        "hernia patient operation yes no ligation",
        "size type findings hydrocele",
    ),
    "ring_narrowed": _naming(
        "ring+narrowed narrowed:.75 ring+tissue:.5 ring+repair:.6 ring+narrowed+injury",
        "hernia patient operation yes no tissue repair",
        "size diameter",
    ),
    "percutaneous": _naming(
        "percutaneous",
        "hernia patient operation yes no ligation method approach laparoscopic repair",
    ),
    "emergency": _naming(
        "emergency emergency+elective elective+emergency emergency+operation elective:.8 "
        "admission+type:.7 admission+method:.8 admission+known:.6 operation+emergency urgency urgency+admission "
        "urgency+operation urgency+emergency",
        "hernia patient operation yes no type elective admission urgency grade",
        "date contact_way phone discharge follow",
    ),
    "specialty": _naming(
        "specialty specialty+surgeon specialty+operation specialty+hospital_record:.6 paediatric:.3 "
        "specialty+place:.7",
        "hernia patient operation surgeon code",
        "anaesthesia admission discharge grade disease",
    ),
    "surgeon": _naming(
        "surgeon surgeon+key surgeon+code operation+by:.8 operation+surgeon operation:.42",
        "key code operation first_visit primary known examined",
        "grade specialty assistant anaesthesia second referr age date method type grade type method "
        "approach reason finding diagnosis note code_",
    ),
    "preterm": _naming(
        "preterm preterm+birth birth+preterm",
        "birth yes no patient",
        "weeks gestation date",
    ),
    "connective_tissue_disorder": _naming(
        "connective connective+tissue connective+disease",
        "tissue disease yes no patient known diagnosis",
    ),
    "height_cm": _naming(
        "height height+patient size:.3",
        "patient operation size side",
        "birth ring mesh weight_of_birth",
    ),
    "weight_kg": _naming(
        "weight weight+operation",
        "patient operation age",
        "birth mesh weight_of_birth testis bmi birth",
    ),
    "puberty_stage": _naming(
        "puberty puberty+stage stage:.4",
        "stage patient score",
    ),
    "ring_mm": _naming(
        "ring+diameter ring:.7 ring+size:.75 diameter:.5 ring+diameter+size diameter+hernia:.6",
        "hernia patient operation size diameter finding little",
        "narrowed mesh repair",
    ),
    "followed_until": _naming(
        "last+follow follow+date:.8 follow+until last+date:.8 last+follow+date last+examined:.9 "
        "last+date+follow follow+last until+follow follow:.65 last:.5 until+date:.4 examined+date:.5",
        "patient examined clinic yes status phone little until date",
        "recurrent death pain type birth operation age next booking known entered planned score",
    ),
    "last_well_on": _naming(
        "last+not+recurrent last+date+not+recurrent",
        "hernia date patient examined clinic follow until",
        "pain death other type next",
    ),
    "recurred_on": _naming(
        "recurrent+date recurrent:.7 again+operation+date:.4 again+date:.35",
        "hernia date patient diagnosis known operation again follow finding until",
        "type method primary other death reason",
    ),
    "recurrence_known_by": _naming(
        "recurrent+known known+recurrent recurrent+examined:.75 recurrent+method:.8 recurrent+finding:.75 "
        "recurrent+diagnosis:.75 recurrent+follow:.5 recurrent+registry:.6 recurrent+by:.9",
        "hernia method diagnosis finding known type follow examined code by little",
        "date primary",
    ),
    "reoperation_type": _naming(
        "again+operation+type again+type again+operation+finding again+finding recurrent+type:.8 "
        "again+diagnosis:.8 recurrent+hernia+type:.85 again:.45 again+operation:.55 "
        "again+operation+hernia:.8 again+hernia:.7 again+finding recurrent+finding:.85 again+finding",
        "hernia operation finding type recurrent diagnosis by",
        "date primary method repair reason surgeon yes",
    ),
    "other_groin_on": _naming(
        "other+hernia+date other+side+date other+date:.9 other+side:.75 other+hernia:.75 other:.5 "
        "other+side+hernia other+recurrent:.5 both+date:.3",
        "hernia side date operation patient indirect diagnosis again follow finding",
        "type diagnosis_ disease complication comment specialty",
    ),
    "died_on": _naming(
        "death death+date",
        "date patient registry follow status",
        "reason",
    ),
    "chronic_pain": _naming(
        "pain+chronic pain:.8 pain+follow:.85 pain+months:.85",
        "hernia patient operation follow months chronic grade score severe mild yes no last stage days "
        "little",
        "anaesthesia date medic",
    ),
    "testicular_atrophy": _naming(
        "testis+atrophy atrophy:.85 testis+complication:.5",
        "yes no complication follow patient testis side",
        "date volume size ascending",
    ),
    "ascending_testis": _naming(
        "ascending+testis testis+ascending ascending:.75 orchidopexy+again:.5 testis+orchidopexy:.4",
        "yes no complication follow patient again orchidopexy testis",
        "date atrophy volume reason",
    ),
    "vas_injury": _naming(
        "vas+injury injury:.55 vas:.65",
        "yes no complication testis divided operation injury vas",
        "score pain date sac",
    ),
    "infection": _naming(
        "infection infection+wound wound+complication:.7 wound:.5",
        "wound yes no complication mesh operation place",
        "date antibiotic blood",
    ),
    "note": _naming(
        "operation+note note:.75 operation+finding+note finding+note:.85 operation+comment:.6 comment:.4 "
        "finding:.3 operation+method+note operation+note+hernia",
        "hernia patient operation finding comment method",
        "discharge admission follow anaesthesia entered date key patient_ surgeon",
    ),
    "seen_on": _naming(
        "follow+date examined+date follow:.85 date:.75 examined:.6 last+follow:.7 phone+date:.7",
        "patient examined follow clinic phone little operation",
        "birth death entered recurrent next booking known type other pain discharge admission",
    ),
    "recurred": _naming(
        "recurrent recurrent+hernia recurrent+finding recurrent+yes",
        "hernia yes no finding follow patient examined",
        "date known type method primary other",
    ),
    "other_groin": _naming(
        "other+hernia other+side other+side+hernia other:.6",
        "hernia side yes no finding follow indirect examined",
        "date type recurrent disease complication",
    ),
}
"""How columns of each field are named."""

_BESIDE_ALL: Final = frozenset({"little"})


def naming_score(field: str, header: str) -> tuple[float, tuple[str, ...]]:
    """How well a column's name fits a field, and the words of it that tell.

    Returns
    -------
    score : float
        1 when it can hardly mean anything else, 0 when it says nothing, less when it says something else.
    words : tuple of str
    """
    above, joined, last = header.rpartition(JOINED)
    whole = _score(field, header)
    if not joined or not any(part.senses - _BESIDE_ALL for part in parts(last)):
        return whole
    # names in two rows: the lower one is what the column holds, the upper one says of what
    own = _score(field, last)
    if own[0] <= _NOTHING and whole[0] <= _score(field, above)[0]:
        return min(whole[0], _ABOVE_ALONE), whole[1]
    if any(part.senses & NAMINGS[field].against - NAMINGS[field].beside for part in parts(above)):
        return whole
    return max(whole, (own[0] - 0.02, own[1]), key=lambda one: one[0])


_NOTHING: Final = 0.12
_ABOVE_ALONE: Final = 0.2
"""Most that a name tells of which only the upper row speaks of a field."""


def _score(field: str, header: str) -> tuple[float, tuple[str, ...]]:
    """How well a name of one row fits, or one of two rows read as one."""
    found = parts(header)
    naming = NAMINGS[field]
    best: tuple[float, tuple[str, ...]] = (0.0, ())
    for combination, weight in naming.named:
        taken = _taken(combination, found)
        if taken is None:
            continue
        clear = sum(found[at].clear for at in taken) / len(taken)
        score = weight * clear - _rest(naming, found, taken, frozenset(combination))
        if len(taken) > 1:
            score += 0.02 * len(taken)  # of two that fit alike, the one that explains more
        if score > best[0] or not best[1]:
            best = (
                min(score, 1.05),
                tuple(dict.fromkeys(found[at].word or found[at].text for at in sorted(taken))),
            )
    if not best[1] and any(
        part.senses & naming.against and not part.senses & naming.beside for part in found
    ):
        return -0.3, ()
    return best


def _taken(combination: tuple[str, ...], found: tuple[Part, ...]) -> tuple[int, ...] | None:
    """Places of the parts that carry a combination, each its own; None when one is missing.

    A part such as ``dob`` may stand for both of a pair when no other part is left for it.
    """
    taken: list[int] = []
    for sense in combination:
        free = [at for at, part in enumerate(found) if sense in part.senses and at not in taken]
        if free:
            taken.append(max(free, key=lambda at: (found[at].clear, -len(found[at].senses))))
            continue
        double = [at for at in taken if sense in found[at].senses]
        if not double:
            return None
    return tuple(taken)


def _rest(naming: Naming, found: tuple[Part, ...], taken: tuple[int, ...], said: frozenset[str]) -> float:
    """What the words left over take off."""
    off = 0.0
    for at, part in enumerate(found):
        if at in taken and "date" in part.senses and part.senses & naming.against - naming.beside:
            off += 0.5  # ``dob`` is a date, and no other than that of birth
        if at in taken or (part.senses & _BESIDE_ALL and not part.senses & naming.against):
            continue
        if not part.senses:
            off += 0.06 if len(part.text) > 1 else 0.02
        elif part.senses & (naming.beside | said):
            off += 0.01
        elif part.senses & naming.against:
            off += 0.6
        else:
            off += 0.16
    return off
