"""Which side each spot is told of, and which groins were operated.

A sentence that names one side speaks of it; one that names two is parted at commas and "and". A side holds until
another is named or a new heading begins. "Contralateral" is the side that the note is not about.
"""

from __future__ import annotations

from typing import Final

from . import opnote_tags as t
from .opnote_scan import Sentence, Spot

OTHER: Final = {"left": "right", "right": "left"}
_NAMED: Final = t.mask("left right both contra")
_PARTS: Final = t.COMMA | t.AND | t.STOP
OPERATIVE: Final = frozenset(("", "findings", "procedure", "postop", "title"))
_DISEASE: Final = t.mask(
    "hernia sac indirect direct femoral combined ppv hydrocele udt orchidopexy defect pv"
)
_ACTS: Final = t.mask("tied highlig tissue meshrepair mesh orchidopexy excised")
_IDLE: Final = frozenset(("consent", "plan", "ignored"))
_RINGS: Final = t.RING | t.BARE_RING | t.PV
_OUTRIGHT: Final = t.mask("hernia indirect direct femoral combined hydrocele orchidopexy udt")
_WORK: Final = _DISEASE | _ACTS | t.REPAIR | t.LAP | t.OPENOP


_WEIGHED: Final = _NAMED | _WORK | t.SHUT | t.OPEN | t.WEAK | t.SAME
"""Tags that tell which groins were operated; spots without any are passed over."""


def assign(sentences: list[Sentence], words: list[str]) -> None:
    """Give every spot the side that it is told of."""
    running = ""
    concrete = ""
    headed = False
    _bare_both(sentences, words)
    for sentence in sentences:
        if sentence.lead:
            running = ""
        spots = sentence.spots
        if not sentence.tags & _NAMED:
            if running:
                for spot in spots:
                    spot.side, spot.told = running, headed
            continue
        headed = not any(spot.tags & ~_HEADING for spot in spots)
        marks = [
            (at, _named(spot))
            for at, spot in enumerate(spots)
            if spot.tags & _NAMED and not _likened(spot, words)
        ]
        if not marks:
            for spot in spots:
                spot.side, spot.told = running, headed
            continue
        marks = [(at, _turned(side, concrete, marks, at)) for at, side in marks]
        if len({side for _, side in marks}) == 1:
            side = marks[0][1]
            begin = _part_of(spots, marks[0][0], words) if running in OTHER and running != side else 0
            for spot in spots[:begin]:
                spot.side, spot.told = running, False
            for spot in spots[begin:]:
                spot.side, spot.told = side, True
        else:
            _by_parts(spots, dict(marks), words)
        if "respectively" in words[spots[0].first : spots[-1].after + 2]:
            _respectively(spots, words)
        _of_old(spots)
        for at, side in marks:
            quiet = spots[at].tags & t.CONTRA or (running == OTHER.get(side) and _at_rest(spots, side))
            if quiet and not _worked(spots, side):
                continue  # the other side was only looked at
            if spots[at].when in ("now", "before") and spots[at].alive and not spots[at].negated:
                running = "" if side == "both" else side
                concrete = side if side in OTHER else concrete


def _part_of(spots: list[Spot], at: int, words: list[str]) -> int:
    """Where the part of a sentence begins in which the other side is named, when something is told before it."""
    if not spots[at].tags & t.CONTRA:
        return 0
    for step in range(at - 1, -1, -1):
        if spots[step].tags & (_PARTS | t.COLON) and words[spots[step].first] != "also":
            return step if any(spot.tags & _WORK for spot in spots[:step]) else 0
    return 0


def _at_rest(spots: list[Spot], side: str) -> bool:
    """Whether a sentence says of a side that it was left as it was."""
    return any(spot.side == side and spot.tags & _RESTING for spot in spots)


def _worked(spots: list[Spot], side: str) -> bool:
    """Whether something was found or done on a side in a sentence."""
    return any(
        spot.side == side and spot.tags & (_DISEASE | _ACTS | _OPENED) and spot.alive and not spot.negated
        for spot in spots
    )


_RESTING: Final = t.LEFT_ALONE
_OPENED: Final = t.mask("open wide weak same repair")
_HEADING: Final = _NAMED | t.mask("be comma colon saw nowadays at_operation and did stop openop lap repair")
_RENEWED: Final = t.mask("nowadays at_operation recurrent primary")


def _bare_both(sentences: list[Sentence], words: list[str]) -> None:
    """A bare "both" ("both were tied") means both groins only in a note that names both."""
    sides = 0
    bare: list[tuple[Sentence, Spot]] = []
    for sentence in sentences:
        if sentence.tags & _NAMED:
            for spot in sentence.spots:
                if _bare(spot, words):
                    bare.append((sentence, spot))
                else:
                    sides |= spot.tags & _NAMED
    one = sides & (t.LEFT | t.RIGHT)
    if bare and not (sides & t.BOTH or one == t.LEFT | t.RIGHT or (one and sides & t.CONTRA)):
        for sentence, spot in bare:
            sentence.spots.remove(spot)
            sentence.tags = 0
            for other in sentence.spots:
                sentence.tags |= other.tags


_PAIRED: Final = frozenset(("ring", "ppv", "processus", "deep", "internal", "groin", "testis"))


def _bare(spot: Spot, words: list[str]) -> bool:
    """Whether a spot is a "both" that may mean two things of one groin."""
    if not spot.tags & t.BOTH or spot.after - spot.first != 1 or words[spot.first] != "both":
        return False
    return spot.after >= len(words) or words[spot.after] not in _PAIRED


_LIKE: Final = frozenset(("like", "unlike", "as", "than"))


def _likened(spot: Spot, words: list[str]) -> bool:
    """Whether the other side is only compared: "like the opposite side, this was a direct hernia"."""
    return bool(spot.tags & t.CONTRA) and not _LIKE.isdisjoint(words[max(0, spot.first - 3) : spot.first])


def _of_old(spots: list[Spot]) -> None:
    """What goes on about a side that was named of another time is of that time too, up to a "now" or "but"."""
    past = False
    for spot in spots:
        if spot.tags & _NAMED:
            past = spot.when == "past"
        elif spot.tags & _RENEWED or spot.tags & t.STOP:
            past = False
        elif past and spot.when == "now":
            spot.when = "past"


def _respectively(spots: list[Spot], words: list[str]) -> None:
    """Give "indirect and direct on the left and right respectively" one side each, in order."""
    order = [words[i] for spot in spots if spot.tags & _NAMED for i in range(spot.first, spot.after)]
    sides = [word for word in order if word in OTHER]
    types = [spot for spot in spots if spot.tags & (t.INDIRECT | t.DIRECT | t.FEMORAL)]
    if len(sides) == 2 and len(types) == 2:
        for spot, side in zip(types, sides, strict=True):
            spot.side, spot.told = side, True


def _named(spot: Spot) -> str:
    """Side that a spot names."""
    tags = spot.tags
    return "left" if tags & t.LEFT else "right" if tags & t.RIGHT else "both" if tags & t.BOTH else "contra"


def _turned(side: str, concrete: str, marks: list[tuple[int, str]], at: int) -> str:
    """The side that "contralateral" means: beside a named one that one, else the other of the last named."""
    if side != "contra":
        return side
    beside = [named for place, named in marks if abs(place - at) == 1 and named in OTHER]
    if beside:
        return beside[0]
    earlier = [named for place, named in marks if place < at and named in OTHER]
    last = earlier[-1] if earlier else concrete
    return OTHER.get(last, "contra")


def _by_parts(spots: list[Spot], named: dict[int, str], words: list[str]) -> None:
    """Part a sentence with two sides at its commas and "and"; within a part the nearest name holds."""
    parts: list[list[int]] = [[]]
    for at, spot in enumerate(spots):
        if spot.tags & _PARTS and at not in named and words[spot.first] != "also":
            parts.append([])
        else:
            parts[-1].append(at)
    last = ""
    waiting: list[int] = []
    for part in parts:
        sides = [at for at in part if at in named]
        if not sides:
            if last:
                for at in part:
                    spots[at].side, spots[at].told = last, True
            else:
                waiting.extend(part)
            continue
        leads = sides[0] == part[0] or all(not spots[at].tags & _WORK for at in part if at < sides[0])
        current = named[sides[0]]
        for at in part:
            if leads:
                current = named.get(at, current)
            else:
                following = [named[place] for place in sides if place >= at]
                current = following[0] if following else named[sides[-1]]
            spots[at].side, spots[at].told = current, True
        for at in waiting:
            spots[at].side, spots[at].told = named[sides[0]], True
        waiting = []
        last = named[sides[-1]]


_LABELS: Final = frozenset(("side", "laterality"))


def _labelled(sentences: list[Sentence], words: list[str]) -> set[str]:
    """Sides that answer a label: "Side: left"."""
    return {
        spot.side
        for sentence in sentences
        if sentence.section not in _IDLE
        for spot in sentence.spots
        if spot.tags & (t.LEFT | t.RIGHT) and spot.alive and not spot.negated and spot.when == "now"
        if words[spot.first - 1 : spot.first] == [":"] and words[max(0, spot.first - 2)] in _LABELS
    }


def operated(sentences: list[Sentence], words: list[str]) -> tuple[str | None, str]:
    """Which groins were operated ("left", "right", "both" or None), and why that is in doubt (a kind, or "")."""
    spared = _spared(sentences)
    title = _labelled(sentences, words)
    body: set[str] = set()
    acts: set[str] = set()
    before: set[str] = set()
    weak: set[str] = set()
    strong: set[str] = set()
    named: set[str] = set()
    held: set[str] = set()
    fresh: set[str] = set()
    anywhere: set[str] = set()
    for sentence in sentences:
        section = sentence.section
        if not sentence.tags & _WEIGHED:
            continue
        marks = {spot.side for spot in sentence.spots if spot.tags & _NAMED}
        ringed = bool(sentence.tags & _RINGS) and any(spot.tags & _RINGS for spot in sentence.spots)
        for spot in sentence.spots:
            if not spot.tags & _WEIGHED:
                continue
            if spot.alive and spot.side in marks and spot.tags & _NAMED:
                anywhere.add(spot.side)
            if spot.alive and spot.side in marks and spot.tags & _NAMED and section not in _IDLE:
                named.add(spot.side)
            if spot.when in ("past", "maybe") or not spot.alive or not spot.side or spot.side == "contra":
                continue
            if section in _IDLE or section == "history":
                if spot.tags & _WORK and spot.told and not spot.negated and section == "history":
                    weak.add(spot.side)
                continue
            if section == "before" or spot.when != "now":
                if spot.told and not spot.negated and spot.tags & _WORK:
                    before.add(spot.side)
                continue
            if spot.negated:
                continue
            if spot.unsure:
                continue
            if spot.side in marks and spot.tags & _NAMED:
                weak.add(spot.side)
                if sentence.tags & t.NOWADAYS and spot.tags & (t.LEFT | t.RIGHT):
                    fresh.add(spot.side)
            if spot.tags & t.SHUT and sentence.tags & t.PPV:
                acts.add(spot.side)
            if ringed and spot.tags & t.OPEN and spot.told:
                body.add(spot.side)
            if (spot.told and spot.tags & t.SAME) or (spot.tags & t.WEAK and sentence.tags & t.WALL):
                body.add(spot.side)
            if not spot.tags & _WORK or (
                spot.tags & t.PV and sentence.tags & t.SHUT and not sentence.tags & t.TIED
            ):
                continue
            if not spot.told and spot.tags & (_DISEASE | _ACTS):
                held.add(spot.side)
            if section in ("title", "postop") and spot.told and (sentence.lead or section == "postop"):
                title.add(spot.side)
            elif spot.told and (spot.tags & _DISEASE or spot.tags & _ACTS):
                body.add(spot.side)
                if spot.tags & _OUTRIGHT:
                    strong.add(spot.side)
            elif spot.told:
                weak.add(spot.side)
            if spot.tags & _ACTS and not spot.tags & (t.OPEN | t.LEFT_ALONE):
                acts.add(spot.side)
    spared -= acts | title
    told: tuple[set[str], ...] = (
        body,
        fresh if len(fresh) == 1 else set(),
        held,
        before,
        weak,
        named,
        anywhere,
    )
    if len(spared) == 1 and any(OTHER[next(iter(spared))] in sides or "both" in sides for sides in told):
        told = tuple(sides - spared for sides in told)
    return _weighed(title, acts | strong, told)


_QUIET: Final = t.mask("left_alone shut clear sound passing")
_FOUND: Final = _DISEASE | _ACTS | t.mask("defect repair lap openop open weak wide")
_DENIED: Final = _DISEASE | t.mask("defect repair open")


def _spared(sentences: list[Sentence]) -> set[str]:
    """Sides of which it is said only that nothing was found or done there: "left ring closed", "right not touched"."""
    quiet: set[str] = set()
    busy: set[str] = set()
    alone: set[str] = set()
    for sentence in sentences:
        if sentence.section in _IDLE or sentence.section in ("before", "history"):
            continue
        for spot in sentence.spots:
            if spot.side not in OTHER or spot.when in ("past", "maybe") or not spot.alive:
                continue
            if not spot.told:
                if spot.tags & (t.DEFECT | t.WEAK) and sentence.tags & t.WALL and not spot.negated:
                    busy.add(spot.side)
                continue
            if spot.tags & t.LEFT_ALONE:
                alone.add(spot.side)
            if spot.tags & _QUIET or (spot.negated and spot.tags & (_DENIED | t.LEFT | t.RIGHT)):
                quiet.add(spot.side)
            elif spot.tags & (_FOUND & ~t.PV) and not spot.negated and spot.when == "now" and not spot.unsure:
                busy.add(spot.side)
    return (quiet - busy) | alone


def _weighed(title: set[str], acts: set[str], told: tuple[set[str], ...]) -> tuple[str | None, str]:
    """Title first, then what was found and done, then what was expected, then any side named at all."""
    body = told[0]
    if title:
        if "both" in title or len(title) == 2:
            return "both", ""
        side = next(iter(title))
        other = OTHER[side]
        if other in body and other in acts:
            # the other groin was worked on too; unless this one never was, and the title is mistaken
            if side not in body and side not in acts:
                return other, "sides differ"
            return "both", ""
        return side, ("sides differ" if other in body and side not in body else "")
    if "both" in body:
        return "both", ""
    if len(body) == 2:
        return "both", ""
    for sides in told:
        if len(sides) == 1:
            return next(iter(sides)), ""
        if "both" in sides:
            return "both", ""
        if len(sides) == 2:
            return None, "two sides"
    return None, ""
