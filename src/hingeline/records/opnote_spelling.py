"""One spelling for a word: variants, typing errors in the trade's long words, and spaces that were left out.

Only a word that no table holds is looked at, and each such word once. A typing error is one or two letters added, left
out, changed or swapped (Damerau 1964, Commun ACM 7:171) in a word long enough that no other is near.
"""

from __future__ import annotations

from typing import Final

from .opnote_marks import TICKED, UNTICKED, listed
from .opnote_phrases import VOCABULARY, canonical

KEPT: Final = 100_000
"""Words remembered before the memory is emptied, so that a file of noise cannot fill it."""

_LONG: Final = listed(
    """
    indirect direct femoral lateral medial pantaloon combined hernia hernias inguinal inguinoscrotal
    component posterior transversalis hesselbach epigastric inferior internal external processus vaginalis
    patent hydrocele orchidopexy orchiopexy undescended herniotomy hernioplasty herniorrhaphy lichtenstein
    shouldice bassini desarda plication plicated preperitoneal extraperitoneal transabdominal laparoscopic
    laparoscopically laparoscopy pneumoperitoneum bilateral contralateral ipsilateral recurrent recurrence
    sliding weakness attenuated bulging intact ligated ligation transfixed percutaneous aponeurosis oblique
    previous previously findings procedure indication operation diagnosis preoperative postoperative
    identified visualised evidence without absent excluded reinforced approximated mobilised skeletonised
    dissected dilated obliterated deficient peritoneal prosthesis converted conversion sutured correction
    repaired history pursestring incision transfixed consent present anaesthesia defect ligament fascia
    vessels canal repair
    """
)
"""Words in which typing errors are mended."""

_GUARDS: Final = listed(
    """
    absence absent absently accentuated accidents acquired activated advice alternated anaesthetic
    anaesthetised anaesthetist anal analysed anchored anesthesia anesthetic anterior anteriorly applicated
    application armament artificial ascent assent asserted attempt attempted attended attention attenuate
    audience averted banal basal basin basins beneath bilaterals bilging binding bindings biphasic bisected
    budging building bulking bulky bundling bunging canalised canals cancel cannula cannulated cantle canvas
    captured carnal certified channel classic classini collateral collected collection colostomy combine
    combines combining command commenced comment common compare competent complicated complication
    components composed composite compound compounds concert concluded concurrence concurrent conduced
    confirm conform connection consents consist constant construct consult contact content contents contract
    contrast convection converse covered covers infusion infusions transfused inclusion collision
    recovered recovery convened convent converted conviction cooperation correct corrected corrections
    corrective corrupted crescent current currents cutaneous darkness decent decision dedication defected
    defects defer deficiency deficit deflect deformed delated delayed delegated deleted deputy deserted
    deserved despair detect detected device diagnose diagnosed diagnoses diagnostic diagnostics dictated
    difference dilatation dilate dilates dilation diluted direct's directed direction directions directive
    director dissecting dissection dissects diverted divided division donation duplicated duplication
    education effect effects efficiency efficient ejected ejection elevated elongated emerged enact enforced
    enlarged equilateral eradication erection eternal eternity evacuated event evidenced evident evidently
    examined excised excited exclude excludes excluding executed executes explication exponent exposed
    extended extension exterior externally extraperitoneum facial facials factory fading fascial fascicle
    fashion federal feeding fetal fibrous filament final finalised finding fission fitness fixture
    fluctuated focal forced formed fracture fraternal funding funeral funnel fusel future general gliding
    gorged harbored hardness hernia's hernial herniate herniated hernioscopy hiding hindings historic
    histories humeral hypothesis identical identifiable identifies identify identity ileal illness
    immobilised impact impair implicated incidence incident incision included indicate indicated indicates
    indications induced inefficient infected infection inferiorly inflow influx inform informed inguinally
    inguino inject injected injection injured inquired insect inserted inspected inspection instructed
    insulted intact intake integral intention interact interior internally intersected intersection interval
    intraabdominal intraperitoneal introduced inverted irrigated irrigation isolated journal judging
    justified laminectomy laparotomy lateralised lateralising laterally ligament ligaments ligating likeness
    literal litigated litigation localised located marginal maternal matured medially median mediate medical
    medically medication medications mention merged mineral mission mitigated mitigation mobile mobilise
    mobilising modified motion nasal navigation nervous normalised notified numeral obligated oblivious
    observed obstructed obvious occluded occurrence occurrences official operate operated operating
    operations operative operatively operator opponent opponents option orchidectomy orchiectomy orchitis
    original ornament ovation panel paralysed parent parenthesis parents patents paternal patient patients
    peasant penal percutaneously performed peritoneum peritonitis pervious pleasant pleural porous portion
    position posteriorly potion precede preceded precedure precious precision preclude precluded precordial
    predicate predict preference preparation prepare prepared presence presented presenter presents
    preserved preset pressing prevent previews procedures proceed proceeded proceeds produced producer
    proficient prognosis proponent prostatic prostheses prosthetic protected provided prudence publication
    puncture purged quadrilateral quantified racial radial ramified reaped reappear reappears recent
    recently reconstructed rectified recur recurred recurrently redirect reduced refected reference
    references referral reflected reformed regained regent regional rehired reinforce rejected rejection
    relapse related relation relegated remained renal rental reoccur repaid repaints repairing reparation
    repeated repelled replaced replicated replication reply reported required resected resection resent
    reserved residence resident restoration result resulted retained retention retired retroperitoneal
    reversal reverted revision sacrament sealing section selected selection separation serous service
    several sheath shielding sickness siding situated sled slicing sliding spatial spontaneous stabilised
    sterilised sternal story structure structured subcutaneous suction sufficient superficial superior
    superiorly sutures synthesis tassels temporal temporary tenement tension tensions textured theory
    thickness thinness tightness tilted transected transfer transferred transfused transient translated
    transposed transvers transversal transverse transverses transversus trilateral tunnel ulterior umbilical
    umbilicus unified uniform unilateral universal utilised vagina vaginal vaginally vassal venal venous
    verified vernal vessel victory vindication violence vision visual visualise visualising visually
    vocalised weaning weekends wellness wetness winding witness
    """
)
"""English words that stand near one of the trade's and are not it."""


class Spelling(dict[str, str]):
    """Words, with a blank before them or none, to their one spelling; a new one is worked out once and remembered."""

    def __missing__(self, word: str) -> str:
        if len(self) > KEPT:
            self.clear()
        spelt = _spelt(word[1:] if word[0] == " " and len(word) > 1 else word)
        self[word] = spelt
        return spelt


def _spelt(word: str) -> str:
    """One spelling of a word that has not been met."""
    first = word[0]
    if not first.isalpha():
        return _mark(word)
    if word in VOCABULARY or len(word) < 5 or word in _GUARDS or len(word) > 40:
        return canonical(word)
    if word.endswith("'s") and word[:-2] in VOCABULARY:
        return canonical(word[:-2])
    near = _nearest(word)
    if near is None and len(word) >= 8:
        near = _joined(word)
    return canonical(near) if near else word


def _mark(word: str) -> str:
    """Line breaks, boxes and marks; blanks tell nothing."""
    if word == "_" or (word.isspace() and word[0] != "\n"):
        return ""
    if word[0] == "\n":
        return "\n\n" if word.count("\n") > 1 else "\n"
    if len(word) > 1 and word[0] in "[(":
        return TICKED if word[1:-1].strip(" _.-") else UNTICKED
    if len(word) > 2 and word[0] == "_" and word.strip("_"):
        return TICKED
    if word in ("✗", "✘", "✕", "×"):
        return "no"
    return ":" if word[0] == ":" else "-" if word[0] == "-" else word


def _fewer(word: str, letters: int) -> set[str]:
    """All strings with up to so many letters left out."""
    found = {word}
    edge = {word}
    for _ in range(letters):
        edge = {one[:i] + one[i + 1 :] for one in edge for i in range(len(one))}
        found |= edge
    return found


def _allowed(word: str) -> int:
    """Letters that may be wrong in a word."""
    return 2 if len(word) >= 8 else 1


_NEAR: Final[dict[str, list[str]]] = {}
for _word in _LONG:
    for _form in _fewer(_word, _allowed(_word)):
        _NEAR.setdefault(_form, []).append(_word)


def _nearest(word: str) -> str | None:
    """Find the trade's word nearest to a mistyped one, or None when none is near enough or two are as near."""
    candidates = {
        target for form in _fewer(word, 2 if len(word) >= 7 else 1) for target in _NEAR.get(form, ())
    }
    best: list[tuple[int, str]] = []
    for target in candidates:
        apart = distance(word, target)
        # A first letter is seldom mistyped, so a changed one counts once more; a word of seven letters or
        # fewer may hold one error.
        apart += word[0] != target[0]
        if apart <= _allowed(target):
            best.append((apart, target))
    if not best:
        return None
    best.sort()
    if len(best) > 1 and best[0][0] == best[1][0] and canonical(best[0][1]) != canonical(best[1][1]):
        return None
    return best[0][1]


def distance(one: str, other: str) -> int:
    """Letters added, left out, changed or swapped with their neighbour, to come from one word to the other."""
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, letter in enumerate(one, 1):
        now = [i]
        for j, target in enumerate(other, 1):
            cost = min(row[j] + 1, now[j - 1] + 1, row[j - 1] + (letter != target))
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == target:
                cost = min(cost, before[j - 2] + 1)
            now.append(cost)
        before, row = row, now
    return row[-1]


_STARTS: Final = listed(
    """
    no not the left right indirect direct inguinal posterior deep inferior internal large small hernia with
    without and of bilateral open patent mesh weak intact femoral medial lateral sac wall high
    """
)


def _joined(word: str) -> str | None:
    """Part a word into two of the trade's when a space was left out."""
    for at in range(2, len(word) - 2):
        head, tail = word[:at], word[at:]
        if head in _STARTS and tail in VOCABULARY and len(tail) >= 3 and len(word) >= 8:
            return f"{canonical(head)} {canonical(tail)}"
    return None


CANON: Final = Spelling()
