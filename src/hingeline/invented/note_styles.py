"""One operation note: what was found and done comes in, free text as surgeons write it goes out.

Dictated, printed as a form, or terse. Written without sight of the tool's own reader of notes.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import Final

from hingeline.invented import note_around as around
from hingeline.invented import note_beside as beside
from hingeline.invented import note_findings as findings
from hingeline.invented.note_repairs import FEMORAL_REPAIRS, REPAIRS, TERSE_FEMORAL, TERSE_REPAIRS
from hingeline.invented.note_slips import shortened, slipped
from hingeline.invented.note_told import Told

STYLES: Final = ("dictated", "templated", "terse")
WEIGHTS: Final = (5, 4, 3)


def write_note(groins: Sequence[Told], dice: random.Random) -> str:
    """Write the note of one operation on one groin or on both.

    Parameters
    ----------
    groins : sequence of Told
        One, or the two of a bilateral operation.
    dice : random.Random

    Returns
    -------
    str
    """
    style = dice.choices(STYLES, WEIGHTS)[0]
    write = {"dictated": _dictated, "templated": _templated, "terse": _terse}[style]
    return slipped(shortened(write(list(groins), dice), dice), dice)


# ---- the parts of a note


def _filled(text: str, groin: Told, style: str, dice: random.Random) -> str:
    other = "right" if groin.side == "left" else "left"
    side = dice.choice(around.SIDES[style][groin.side])
    return text.format(
        cord="cord" if groin.male else "round ligament",
        vas="vas and vessels" if groin.male else "round ligament",
        side=side,
        Side=side[0].upper() + side[1:],
        other=other,
        Other=other.capitalize(),
        years=dice.randint(2, 20),
    )


def _title(groins: list[Told], style: str, dice: random.Random) -> str:
    first = groins[0]
    if len(groins) == 2:
        if any(groin.reason != "hernia" for groin in groins):
            first_title, other_title = (_title([groin], style, dice) for groin in groins)
            return f"{first_title} and {other_title[0].lower()}{other_title[1:]}"
        return dice.choice(around.TITLES["both laparoscopic" if first.scope else "both"])
    if first.reason != "hernia":
        kind = first.reason
    elif first.occurrence == "recurrent":
        kind = "recurrent laparoscopic" if first.scope else "recurrent"
    elif first.scope:
        kind = "laparoscopic"
    else:
        kind = "herniotomy" if first.repair == "high_ligation" and first.child else "open"
    title = _filled(dice.choice(around.TITLES[kind]), first, style, dice)
    if first.type == "femoral" and dice.random() < 0.6:
        title = title.replace("inguinal", "femoral")
    return title


def _finding(groin: Told, style: str, dice: random.Random) -> str:
    """What was found in this groin, and what was not."""
    if groin.reason == "hydrocele":
        return dice.choice(beside.HYDROCELE)
    if groin.reason == "with orchidopexy":
        return _filled(dice.choice(beside.ORCHIDOPEXY), groin, style, dice)
    if groin.reason == "processus closed in passing":
        return dice.choice(beside.IN_PASSING)
    frames = findings.BY_TYPE[groin.type]
    if groin.scope:
        choice = (*frames[findings.ANY], *frames[findings.SCOPE])
    elif groin.child and findings.CHILD in frames:
        choice = (*frames[findings.ANY], *frames[findings.CHILD])
    else:
        choice = (*frames[findings.ANY], *frames[findings.OPEN])
    said = [dice.choice(choice), *_looked(groin, dice)]
    if groin.occurrence == "recurrent":
        said.insert(0, dice.choice(around.AGAIN))
    return _filled(" ".join(said), groin, style, dice)


def _looked(groin: Told, dice: random.Random) -> list[str]:
    """What a note says of the floor and of other hernias."""
    chance = dice.random()
    if groin.known_by == "laparoscopic view":
        return [dice.choice(beside.ABSENT_BY_SCOPE[groin.type])] if chance < 0.5 else []
    if groin.known_by == "floor examined":
        seen = beside.FLOOR_SEEN.get(groin.type, ())
        said = [dice.choice(seen)] if seen and chance < 0.6 else []
        if not said or chance < 0.2:
            said.append(dice.choice(beside.ABSENT[groin.type]))
        return said
    left_alone = groin.known_by == "not examined" and groin.repair != "tissue"
    if left_alone and groin.type in ("indirect", "unknown") and chance < 0.5:
        return [dice.choice(beside.FLOOR_LEFT)]
    return []


def _repair(groin: Told, style: str, dice: random.Random) -> str:
    frames = REPAIRS[groin.operation]
    if groin.type == "femoral":
        frames = FEMORAL_REPAIRS.get(groin.operation, frames)
    return _filled(dice.choice(frames), groin, style, dice)


def _indication(groin: Told, dice: random.Random) -> str:
    kind = "emergency" if groin.emergency else "child" if groin.child else "adult"
    return dice.choice(around.INDICATIONS[kind])


def _aside(groins: list[Told], style: str, dice: random.Random) -> list[str]:
    """Now and then something of the other side, of the past, or of what was thought before."""
    first, chance = groins[0], dice.random()
    if len(groins) == 2 or first.reason != "hernia":
        return []
    if first.scope and chance < 0.25:
        return [_filled(dice.choice(around.OTHER_SIDE_CLOSED), first, style, dice)]
    if chance < 0.28 and not first.child and dice.random() < 0.12:
        return [_filled(dice.choice(around.OLD_OTHER), first, style, dice)]
    if chance > 0.97 and first.type in around.THOUGHT:
        return [around.THOUGHT[first.type]]
    return []


# ---- the three styles


def _dictated(groins: list[Told], dice: random.Random) -> str:
    first = groins[0]
    said = [_title(groins, "dictated", dice) + "."]
    if dice.random() < 0.6:
        said.append(_indication(first, dice))
    said.append(dice.choice(around.WAY_IN[first.approach]))
    if len(groins) == 1:
        said += _aside(groins, "dictated", dice)
        said += [_finding(first, "dictated", dice), _repair(first, "dictated", dice)]
    elif _alike(groins) and dice.random() < 0.6:
        said += ["On both sides:", _finding(first, "dictated", dice), _repair(first, "dictated", dice)]
    else:
        opening = dice.choice(
            ("On the {side}:", "{Side} side:", "On the {side} side the following was found.", "{Side} groin.")
        )
        for groin in groins:
            said.append(_filled(opening, groin, "dictated", dice))
            said += [_finding(groin, "dictated", dice), _repair(groin, "dictated", dice)]
    if dice.random() < 0.8:
        said.append(dice.choice(around.WAY_OUT[first.approach]) if first.male else "Skin closed.")
    if dice.random() < 0.6:
        said.append(dice.choice(around.AFTERWARDS))
    return " ".join(said)


_HEADINGS: Final = (
    ("OPERATION", "INDICATION", "FINDINGS", "PROCEDURE", "CLOSURE", "AFTERWARDS"),
    ("Operation", "Indication", "Findings", "Procedure", "Closure", "Plan"),
    ("Title", "History", "Operative findings", "Technique", "Closure", "Post-op"),
)


def _templated(groins: list[Told], dice: random.Random) -> str:
    if dice.random() < 0.25 and all(groin.reason == "hernia" for groin in groins):
        return "\n".join(_form(groin, dice) for groin in groins)
    first, style = groins[0], "templated"
    title, why, found, done, closed, after = dice.choice(_HEADINGS)
    lines = [f"{title}: {_title(groins, style, dice)}"]
    if dice.random() < 0.7:
        lines.append(f"{why}: {' '.join([_indication(first, dice), *_aside(groins, style, dice)])}")
    if len(groins) == 1:
        lines += [f"{found}: {_finding(first, style, dice)}", f"{done}: {_repair(first, style, dice)}"]
    else:
        for groin in groins:
            side = _filled("{side}", groin, style, dice)
            lines.append(f"{found} {side}: {_finding(groin, style, dice)}")
            lines.append(f"{done} {side}: {_repair(groin, style, dice)}")
    if dice.random() < 0.7 and first.male:
        lines.append(f"{closed}: {dice.choice(around.WAY_OUT[first.approach])}")
    if dice.random() < 0.7:
        lines.append(f"{after}: {dice.choice(around.AFTERWARDS)}")
    return "\n".join(lines)


def _form(groin: Told, dice: random.Random) -> str:
    """A printed form with a word after each heading."""
    floor = {"floor examined": "yes", "laparoscopic view": "seen by camera", "not examined": "no"}
    mesh = "yes" if groin.repair == "mesh" else "no"
    lines = (
        _filled("Side: {side}", groin, "templated", dice),
        f"Hernia: {groin.occurrence}",
        f"Type: {dice.choice(around.TYPE_WORDS[groin.type])}",
        f"Floor examined: {floor.get(groin.known_by, '-')}",
        f"Access: {groin.approach}",
        f"Repair: {dice.choice(around.REPAIR_WORDS[groin.repair])}",
        f"Mesh: {mesh}",
    )
    return dice.choice(("\n", "; ")).join(lines)


def _terse(groins: list[Told], dice: random.Random) -> str:
    if len(groins) == 2 and all(groin.reason == "hernia" for groin in groins):
        each = [f"{_filled('{Side}', groin, 'terse', dice)}: {_brief(groin, dice)}" for groin in groins]
        return f"{dice.choice(('Bilateral hernias', 'Bilat', 'Bilateral IH', 'Both sides'))}. " + " ".join(
            each
        )
    return " ".join(f"{_filled('{Side}', groin, 'terse', dice)} {_brief(groin, dice)}" for groin in groins)


def _brief(groin: Told, dice: random.Random) -> str:
    """One groin in a few words."""
    if groin.reason == "processus closed in passing":
        return "PPV, no hernia, closed in passing lap."
    if groin.reason == "hydrocele":
        said = ["hydrocele, PPV ligated"]
    elif groin.reason == "with orchidopexy":
        said = ["orchidopexy + indirect sac"]
    else:
        again = "recurrent " if groin.occurrence == "recurrent" else ""
        said = [again + dice.choice(findings.TERSE[groin.type])]
    if groin.type == "indirect" and groin.known_by == "floor examined":
        said.append(dice.choice(("floor ok", "post wall intact", "no direct", "back wall sound")))
    elif groin.known_by == "not examined" and groin.type == "indirect" and dice.random() < 0.4:
        said.append(dice.choice(("floor not seen", "post wall not looked at")))
    frames = TERSE_REPAIRS[groin.operation]
    if groin.type == "femoral":
        frames = TERSE_FEMORAL.get(groin.operation, frames)
    said.append(dice.choice(frames))
    return dice.choice((". ", ", ", "; ")).join(said) + "."


def _alike(groins: list[Told]) -> bool:
    one, two = groins
    names = ("type", "known_by", "reason", "occurrence", "repair", "approach")
    return all(getattr(one, name) == getattr(two, name) for name in names)
