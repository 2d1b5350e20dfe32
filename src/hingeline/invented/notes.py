"""Operation notes of invented operations: what was found and done comes in, free text as surgeons write it goes out.

Dictated, printed as a form, or terse; a note of a bilateral operation tells both groins. Where the type was not
recorded the note leaves it open. Written without sight of the tool's own reader of notes.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from hingeline.invented import note_around as around
from hingeline.invented import note_findings as findings
from hingeline.invented.cells import Cells
from hingeline.invented.note_repairs import FEMORAL_REPAIRS, REPAIRS, TERSE_FEMORAL, TERSE_REPAIRS
from hingeline.invented.note_slips import shortened, slipped
from hingeline.invented.outcomes import Rows
from hingeline.invented.patients import Booleans

STYLES: Final = ("dictated", "templated", "terse")
WEIGHTS: Final = (5, 4, 3)

SHARED: Final = ("followed_until", "recurred_on", "recurrence_known_by", "reoperation_type", "other_groin_on")
"""What stands in columns of its own: groins of one operation share a note and a row where these agree."""

CHILD_YEARS: Final = 14

REMARKED: Final = 0.04
"""Share of groins with a remark, where remarks stand beside typed columns."""

_PLAIN_TYPES: Final = {
    "indirect": "indirect inguinal hernia",
    "direct": "direct inguinal hernia",
    "combined": "combined inguinal hernia, direct and indirect",
    "femoral": "femoral hernia",
}
_PLAIN_REPAIRS: Final = {
    "open high_ligation": "Open herniotomy, sac ligated high",
    "laparoscopic high_ligation": "Laparoscopic high ligation of the sac",
    "open tissue": "Open suture repair, no mesh",
    "open mesh": "Open mesh repair",
    "laparoscopic mesh": "Laparoscopic mesh repair",
}


@dataclass(frozen=True)
class Told:
    """What a note tells of one groin, in the trade's words."""

    side: str
    type: str
    known_by: str
    reason: str
    occurrence: str
    repair: str
    approach: str
    male: bool
    age_years: float
    emergency: bool

    @property
    def operation(self) -> str:
        """Approach and repair."""
        return f"{self.approach} {self.repair}"

    @property
    def scope(self) -> bool:
        """Whether it was done by laparoscopy."""
        return self.approach == "laparoscopic"

    @property
    def child(self) -> bool:
        """Whether the patient is a child."""
        return self.age_years < CHILD_YEARS


def write_notes(rows: Rows, seed: int) -> Cells:
    """Write the notes of one hospital's operations.

    Parameters
    ----------
    rows : Rows
        Sound groins; those of one operation share patient and date.
    seed : int
        Of dice of the notes' own, so that nothing else is drawn otherwise.

    Returns
    -------
    Cells
        A text for each groin; the groins of one operation have the same where `SHARED` agrees.
    """
    dice = random.Random(f"notes {seed}")
    told = told_of(rows)
    notes = np.empty(len(told), dtype=object)
    for group in _operations(rows):
        notes[group] = write_note([told[i] for i in group], dice)
    return notes


def told_of(rows: Rows) -> list[Told]:
    """What there is to tell of each groin."""
    columns = [rows[name].tolist() for name in Told.__annotations__]
    return [Told(*cells) for cells in zip(*columns, strict=True)]


def write_remarks(rows: Rows, seed: int, among: Booleans) -> Cells:
    """Write a plain remark on a few groins whose types stand in columns; the others have none.

    Parameters
    ----------
    rows : Rows
    seed : int
        Of dice of the remarks' own.
    among : ndarray of bool, (groins,)
        Groins that may have one.
    """
    dice = random.Random(f"remarks {seed}")
    alone = np.bincount(rows["patient"])[rows["patient"]] == 1
    may = among & alone & (rows["reason"] == "hernia") & (rows["type"] != "unknown")
    remarks = np.full(len(may), None, dtype=object)
    for i, told in enumerate(told_of(rows)):
        if may[i] and dice.random() < REMARKED:
            remarks[i] = remark(told)
    return remarks


def remark(groin: Told) -> str:
    """One plain sentence on what was found, and one on what was done."""
    again = "recurrent " if groin.occurrence == "recurrent" else ""
    return f"{groin.side.capitalize()} {again}{_PLAIN_TYPES[groin.type]}. {_PLAIN_REPAIRS[groin.operation]}."


def _operations(rows: Rows) -> list[list[int]]:
    """Groups of rows that share a note."""
    order = np.lexsort((rows["operated_on"], rows["patient"]))
    keys = [rows[name][order] for name in ("patient", "operated_on", *SHARED)]
    same = np.ones(max(len(order) - 1, 0), dtype=bool)
    for key in keys:
        alike = key[1:] == key[:-1]
        if key.dtype.kind == "M":
            alike |= np.isnat(key[1:]) & np.isnat(key[:-1])
        same &= alike
    groups: list[list[int]] = []
    for i, row in enumerate(order.tolist()):
        if i and same[i - 1] and len(groups[-1]) == 1:
            groups[-1].append(row)
        else:
            groups.append([row])
    return groups


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
        return dice.choice(findings.HYDROCELE)
    if groin.reason == "with orchidopexy":
        return _filled(dice.choice(findings.ORCHIDOPEXY), groin, style, dice)
    if groin.reason == "processus closed in passing":
        return dice.choice(findings.IN_PASSING)
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
        return [dice.choice(findings.ABSENT_BY_SCOPE[groin.type])] if chance < 0.5 else []
    if groin.known_by == "floor examined":
        seen = findings.FLOOR_SEEN.get(groin.type, ())
        said = [dice.choice(seen)] if seen and chance < 0.6 else []
        if not said or chance < 0.2:
            said.append(dice.choice(findings.ABSENT[groin.type]))
        return said
    left_alone = groin.known_by == "not examined" and groin.repair != "tissue"
    if left_alone and groin.type in ("indirect", "unknown") and chance < 0.5:
        return [dice.choice(findings.FLOOR_LEFT)]
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
