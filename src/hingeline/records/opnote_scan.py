"""Words of a note to spots: what each phrase names, in which sentence and under which heading.

A spot is one phrase of the tables at its place. Sentences end at full stops that are no abbreviation's, at semicolons,
and at line breaks that are no mere wrapping; a heading holds until the next.
"""

from __future__ import annotations

from typing import Final

from .opnote_codes import Coded, code, letters, nyhus
from .opnote_forms import BLOT, chosen
from .opnote_marks import listed
from .opnote_phrases import HEADS, ROOT, longest
from .opnote_text import Read
from .opnote_triggers import NOUNS

ABBREVIATED: Final = listed(
    """
    left right dr mr ms mrs approx vs eg ie e g i resp inferior internal external lateral medial post ant
    sup inguinal no nr fig cf incl excl ca r l dx hx pt pts epig vess lap bilateral hern incl op ligament
    laparoscopic h dir indir
    """
)
"""Words whose full stop ends no sentence, unless a new line follows."""

_NO_END: Final = frozenset(("dx", "hx", "op", "h", "no"))
_STATES: Final = frozenset(("sound", "shut", "clear", "open", "wide", "weak"))


class Spot:
    """One phrase of the tables where it stands.

    ``tags`` are what it names; ``first`` and ``after`` its words; ``negated``, ``unsure`` and ``when`` what scopes say
    of it (``when`` is ``now``, ``past``, ``before``, ``maybe`` or ``search``); ``side`` the side it is told of, and
    ``told`` whether its own sentence names that side.
    """

    __slots__ = ("after", "alive", "first", "negated", "sentence", "side", "tags", "told", "unsure", "when")

    def __init__(self, tags: frozenset[str], first: int, after: int) -> None:
        self.tags = tags
        self.first = first
        self.after = after
        self.negated = False
        self.unsure = False
        self.when = "now"
        self.side = ""
        self.told = False
        self.alive = True
        self.sentence: Sentence

    def __repr__(self) -> str:
        return f"{'+'.join(sorted(self.tags))}@{self.first}"


class Sentence:
    """A stretch of spots under one heading: ``section`` is the heading's kind, ``""`` when the note has none."""

    __slots__ = ("lead", "section", "spots")

    def __init__(self, section: str, lead: bool) -> None:
        self.section = section
        self.lead = lead
        self.spots: list[Spot] = []


_FULLSTOP: Final = frozenset(("fullstop",))
_COMMA: Final = frozenset(("comma",))
_UNSURE_AFTER: Final = frozenset(("unsure_after",))
_MARKS: Final = frozenset(".;\n!")


def scan(read: Read) -> tuple[list[Sentence], list[str]]:
    """Find the sentences of a note with their spots, and the words, what a form did not choose blotted out."""
    words = chosen(read.words)
    sentences: list[Sentence] = []
    section = ""
    label = ""
    lead = True
    now = Sentence(section, lead)
    fresh = True
    at = headed = 0
    count = len(words)
    spans = read.spans
    tree = ROOT
    heads = HEADS
    while at < count:
        word = words[at]
        if word not in _TELLING and word[-1] not in _CODE_ENDS:
            if word != BLOT:
                fresh = fresh and not word[0].isalpha()
            at += 1
            continue
        if word in heads and at >= headed and (fresh or word in _STRONG):
            kind, headed = _heading(read, words, at, fresh)
            if kind:
                if now.spots:
                    sentences.append(now)
                if kind == "label":
                    label = (
                        "findings" if section not in ("before", "postop", "title", "procedure") else section
                    )
                    lead = False
                else:
                    section, label, lead = kind, "", True
                now = Sentence(label or section, lead)
        if word in tree:
            tags, after = longest(tree, words, at)
            if tags is not None:
                fresh = False
                if not tags or "left_alone" in tags:
                    if word in _SIDE_WORDS and _names_side(words, at):
                        tags, after = frozenset((word,)), at + 1  # "on the left for two years"
                    elif not tags:
                        at = after
                        continue
                if (
                    word == "direct"
                    and at
                    and words[at - 1] == "in"
                    and words[after : after + 1] in _IN_DIRECT
                ):
                    tags = _INDIRECT
                if word == "open" and _of_operation(words, at):
                    tags = _OPEN
                if "fullstop" in tags:
                    now, lead = _next(sentences, now, label or section, lead)
                    fresh = True
                    at = after
                    continue
                if _counts(tags, words, spans, at, after):
                    spot = Spot(tags, at, after)
                    spot.sentence = now
                    now.spots.append(spot)
                at = after
                continue
        first = word[0]
        if first in _MARKS:
            if _ends(read, words, at, first):
                now, lead = _next(sentences, now, label or section, lead)
                if first == "\n":
                    label = ""
                    if now.section != section:
                        now = Sentence(section, lead)
                fresh = True
            at += 1
            continue
        if first.isalpha():
            fresh = False
            coded, after = _coded(words, at, word)
            for tags, none in coded:
                spot = Spot(tags, at, max(after, at + 1))
                spot.sentence = now
                spot.negated = none
                now.spots.append(spot)
            at = max(after, at + 1)
            continue
        at += 1
    if now.spots:
        sentences.append(now)
    return sentences, words


_SIDE_WORDS: Final = frozenset(("left", "right"))
_ARTICLES: Final = frozenset(("the", "on"))
_ADVERBS: Final = listed(
    "for to in at as with over out well up down through open alone behind or long free was"
)


def _names_side(words: list[str], at: int) -> bool:
    """Whether "left" names a side after all: "on the left for two years", "left open inguinal hernia repair"."""
    following = words[at + 1 : at + 3]
    if following[:1] == ["open"] and len(following) > 1 and following[1] in _OPENED:
        return True
    return bool(at and following) and following[0] in _ADVERBS and words[at - 1] in _ARTICLES


_OPEN: Final = frozenset(("openop",))
_INDIRECT: Final = frozenset(("indirect",))
_IN_DIRECT: Final = tuple([noun] for noun in ("hernia", "sac", "inguinal", "defect", "component"))
_NO: Final = frozenset(("no",))
_SIDED: Final = listed(
    """
    inguinal hernia ih groin herniotomy orchidopexy hydrocele laparoscopic tapp tep lichtenstein open direct indirect femoral
    udt testis ppv shouldice bassini recurrent repair inguinoscrotal mesh scrotal sliding undescended desarda sac ring
    internal deep high pantaloon primary communicating medial lateral processus cord combined side sided iih hernioplasty
    patent dih explored mcevedy post posterior floor darn herniorrhaphy inguino plug large small reducible irreducible
    incarcerated strangulated obstructed scrotum ihr congenital pv etep inguinotomy encysted mcvay component
    """
)
"""Words that a bare "L" or "R" stands beside when it names a side."""

_OPENED: Final = listed(
    """
    inguinal hernia left right bilateral herniotomy lichtenstein mesh tissue shouldice bassini direct indirect femoral groin
    desarda recurrent orchidopexy repair l r lih rih primary hernioplasty hydrocele darn herniorrhaphy bih high
    """
)
_BOTH_OF: Final = listed(
    "closed ligated repair tied transfixed suture excised indirect direct hernia divided patent open was were had"
)
_WAYS: Final = frozenset(("approach", "technique", "method", "access", "procedure", "operation"))


def _of_operation(words: list[str], at: int) -> bool:
    """Whether "open" is said of the operation and not of a ring or sac."""
    following = words[at + 1 : at + 3]
    if at > 1 and words[at - 1] in (":", "-", ",", BLOT) and _WAYS & set(words[max(0, at - 5) : at]):
        return True
    return following[:1] != [] and following[0] in _OPENED and following[1:] not in (["ring"], ["orifice"])


def _letter(words: list[str], at: int) -> str:
    """The side that a bare "l" or "r" names, or nothing."""
    word = words[at]
    side = "left" if word == "l" else "right"
    before = words[at - 1] if at else "\n"
    following = words[at + 1] if at + 1 < len(words) else "\n"
    if before in ("(", "[") and following in (")", "]"):
        return side
    if following in _SIDED or (following == "-" and at + 2 < len(words) and words[at + 2] in _SIDED):
        return side
    if before in (":", "-", "=", ",") and {"side", "laterality", "site", "groin"} & set(
        words[max(0, at - 4) : at]
    ):
        return side
    if before in ("on", "the", "side"):
        return side
    if before[0] in "\n.;" and (following in (":", "-", ")", ".")):
        return side
    return side if before in _SIDED and not following[0].isalnum() and following != "/" else ""


_CODE_ENDS: Final = frozenset("0123x")
_TELLING: Final = (
    frozenset(ROOT)
    | frozenset(HEADS)
    | frozenset(".;!\n")
    | listed("l r n type ehs class classification nyhus both")
) | {"\n\n"}
"""Words at which anything can begin; all others are passed over at once."""

_STRONG: Final = listed(
    """
    findings procedure operation indication indications plan consent description technique diagnosis postop
    preop postoperative preoperative operative history impression operations procedures details title
    intraop
    """
)


def _next(sentences: list[Sentence], now: Sentence, section: str, lead: bool) -> tuple[Sentence, bool]:
    """Close a sentence and open the next; only the first with words leads its section."""
    if now.spots:
        sentences.append(now)
        lead = False
    return Sentence(section, lead), lead


def _heading(read: Read, words: list[str], at: int, fresh: bool) -> tuple[str, int]:
    """Kind of the heading that begins at a word, and the place after it."""
    tags, after = longest(HEADS, words, at)
    if not tags:
        return "", at
    kind = next(iter(tags)) if len(tags) == 1 else ("findings" if "findings" in tags else min(tags))
    following = words[after] if after < len(words) else "\n"
    if following == "(":
        close = next((i for i in range(after + 1, min(after + 9, len(words))) if words[i] == ")"), -1)
        if close > 0 and close + 1 < len(words) and words[close + 1] == ":":
            return (kind if kind != "label" or fresh else ""), close + 2
    if following == ":" or (following == "colon" and fresh):
        return (kind if kind != "label" or fresh else ""), after + 1
    if not fresh:
        return _shouted(read, at, after, kind), after
    if following[0] == "\n" and (at == 0 or words[at - 1][0] == "\n" or words[at - 1] in ("*", "-", "#")):
        return kind if kind != "label" else "", after
    if following == "-" and after + 1 < len(words) and kind != "label":
        if read.spans[after][0] > read.spans[after - 1][1]:
            return kind, after + 1
        return "", at
    return _shouted(read, at, after, kind), after


def _shouted(read: Read, at: int, after: int, kind: str) -> str:
    """A heading in capitals before words that are not: its kind, or nothing."""
    if kind == "label" or after >= len(read.spans):
        return ""
    head = read.text[read.spans[at][0] : read.spans[after - 1][1]]
    following = read.text[read.spans[after][0] : read.spans[after][1]]
    return kind if len(head) > 4 and head.isupper() and following[-1:].islower() else ""


def _ends(read: Read, words: list[str], at: int, first: str) -> bool:
    """Whether a mark ends its sentence."""
    if first == ";" or first == "!":
        return True
    if first == "\n":
        if len(words[at]) > 1 or at + 1 >= len(words) or at == 0:
            return True
        if words[at - 1] in (".", ":", "?", ";", BLOT):
            return True
        start = read.spans[at + 1][0]
        letter = read.text[start]
        if words[at - 1] == "," and letter.isalpha():
            return False
        return not letter.islower() and letter != "("
    before = words[at - 1] if at else "."
    if at + 1 < len(words) and words[at + 1][0] == "\n":
        return True
    if before in ABBREVIATED:
        touching = read.spans[at - 1][1] == read.spans[at][0]
        if touching and at + 1 < len(words):
            if before in _NO_END:
                return True
            follower = read.text[read.spans[at + 1][0]]
            own = read.text[read.spans[at - 1][0] : read.spans[at - 1][1]]
            # "left." is the word, "Lt." its abbreviation: a capital after the word ends the sentence
            return len(own) > 4 and not follower.islower()
    return True


def _counts(
    tags: frozenset[str], words: list[str], spans: list[tuple[int, int]], at: int, after: int
) -> bool:
    """Whether a phrase means what its tags say where it stands."""
    if "comma" in tags:
        word = words[at]
        if word == "-":
            return not _touches(spans, at)
        if word in ("(", "[") and at + 2 < len(words):
            return words[at + 2] not in (")", "]") and not (
                at + 3 < len(words) and words[at + 3] in (")", "]")
            )
        if word in (")", "]"):
            return not {"(", "["} & set(words[max(0, at - 3) : max(0, at - 1)])
        return True
    if after - at == 1:
        word = words[at]
        if "direct" in tags or "indirect" in tags:
            return _names_hernia(words, after)
        if word == "no" and after < len(words):
            # "No. 15 blade", "no 1 suture"
            return not (
                words[after][0].isdigit()
                or (words[after] == "." and after + 1 < len(words) and words[after + 1][0].isdigit())
            )
        if word == "/":
            return True
        if word == "?":
            return True
    return True


def _touches(spans: list[tuple[int, int]], at: int) -> bool:
    """Whether a hyphen joins two words."""
    return 0 < at < len(spans) - 1 and spans[at - 1][1] == spans[at][0] and spans[at + 1][0] == spans[at][1]


_SURE_NOUNS: Final = frozenset(
    [
        "hernia",
        "sac",
        "defect",
        "component",
        "bulge",
        "weakness",
        "inguinal",
        "inguinoscrotal",
        "recurrence",
        "herniation",
        "protrusion",
    ]
)


def _names_hernia(words: list[str], after: int) -> bool:
    """Whether "direct" before these words names a hernia."""
    for step in range(after, min(after + 3, len(words))):
        word = words[step]
        if word in _SURE_NOUNS:
            return True
        if step == after and word in NOUNS:
            return True
    return after >= len(words)


def _coded(words: list[str], at: int, word: str) -> tuple[list[Coded], int]:
    """Codes and letters that name a type at a word."""
    if word[-1] in "0123x" and len(word) <= 7 and word[0] in "prlmf":
        return code(words, at), at + 1
    if word in ("type", "ehs", "classification", "class"):
        return letters(words, at)
    if word in ("l", "r"):
        side = _letter(words, at)
        return ([(frozenset((side,)), False)] if side else []), at + 1
    if word == "both" and at + 1 < len(words) and words[at + 1] in _BOTH_OF:
        return [(frozenset(("both",)), False)], at + 1
    if word == "n" and at and words[at - 1] in (":", "-", "="):
        return [(_NO, False)], at + 1
    if word == "nyhus":
        return nyhus(words, at)
    return [], at
