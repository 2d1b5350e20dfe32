"""From the evidence of a note to what was done to one groin: repair, mesh, approach, how it was known, occurrence.

What was done outweighs the title. The most that was done is told: a mesh, else a suture repair of the wall, else a
high ligation; a repair that is plainly without a mesh tells that there was none.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from .. import wording
from .opnote_evidence import BEFORE, INFERRED, OPERATIVE, OUTRIGHT, TITLE, Evidence


@dataclass
class Done:
    """What was done to one groin, with the evidence that decided."""

    type: str = "unknown"
    repair: str = "unknown"
    approach: str = "unknown"
    known_by: str = "unknown"
    occurrence: str | None = None
    mesh: bool | None = None
    doubts: list[str] = field(default_factory=list)
    deciding: list[Evidence] = field(default_factory=list)


def _best(told: list[Evidence]) -> list[Evidence]:
    """Evidence of the highest tier that has any."""
    for tier in (OPERATIVE, TITLE, BEFORE):
        here = [one for one in told if one.tier == tier and one.sure]
        if here:
            return here
    return []


def repair_done(verdict: Done, meshes: list[Evidence], repairs: list[Evidence]) -> None:
    """The most that was done: a mesh, else a repair with tissue, else a high ligation."""
    meshes = [one for one in meshes if one.tier >= TITLE and one.sure]
    named = [one for one in repairs if one.positive and one.tier >= TITLE]
    refused = [one for one in meshes if not one.positive]
    put = [one for one in meshes if one.positive and one.grade > INFERRED]
    if not put and not refused and not any(one.value in ("tissue", "high_ligation") for one in named):
        put = [one for one in meshes if one.positive]  # spoken of, and nothing else was done
    if refused and any(one.grade == OUTRIGHT for one in put):
        put = [one for one in put if one.grade == OUTRIGHT]
    if put and refused:
        first = max(put, key=lambda one: one.tier)
        denied = max(refused, key=lambda one: one.tier)
        if denied.tier > first.tier:
            put = []
        else:
            named_mesh = any(one.value == "mesh" for one in named)
            if not named_mesh:
                verdict.doubts.append(wording.note_mesh_both())
    if put:
        verdict.mesh = True
        verdict.deciding.append(put[0])
    elif refused:
        verdict.mesh = False
        verdict.deciding.append(refused[0])
    by: dict[str, list[Evidence]] = {}
    for one in named:
        by.setdefault(one.value, []).append(one)
    if verdict.mesh is False:
        by.pop("mesh", None)
    if verdict.mesh:
        verdict.repair = "mesh"
        verdict.deciding.extend(by.get("mesh", [])[:1])
        return
    for kind in ("mesh", "tissue", "high_ligation"):
        if kind in by:
            verdict.repair = kind
            verdict.deciding.append(by[kind][0])
            if kind != "mesh" and verdict.mesh is None:
                verdict.mesh = False  # a repair that is plainly without
                verdict.deciding.append(by[kind][0]._replace(field="mesh", value="mesh", positive=False))
            return


def approach_used(verdict: Done, told: list[Evidence]) -> None:
    """Open or laparoscopic; a conversion is open, and so is a scope through the sac."""
    told = [one for one in told if one.positive and one.tier >= TITLE]
    by: dict[str, list[Evidence]] = {}
    for one in told:
        by.setdefault(one.value, []).append(one)
    named = [one for one in by.get("open", []) if one.grade == OUTRIGHT]
    if "converted" in by:
        chosen = ("open", by["converted"][0])
    elif "laparoscopic" in by and named:
        scopes = by["laparoscopic"]
        if "scopy" in by or len(named) > 2 * len(scopes) or (len(scopes) == 1 and len(named) > 1):
            chosen = ("open", named[0])
        else:
            chosen = ("laparoscopic", scopes[0])
    elif "laparoscopic" in by:
        chosen = ("laparoscopic", by["laparoscopic"][0])
    elif "open" in by:
        chosen = ("open", (named or by["open"])[0])
    else:
        return
    verdict.approach = chosen[0]
    verdict.deciding.append(chosen[1])


def known_by(verdict: Done, told: list[Evidence]) -> None:
    """By the laparoscope, or by what is said of the floor in an open operation."""
    if verdict.approach == "laparoscopic":
        verdict.known_by = "laparoscopic view"
        return
    told = [one for one in told if one.tier >= TITLE and one.positive]
    seen = [one for one in told if one.value == "floor examined"]
    unseen = [one for one in told if one.value == "not examined"]
    if unseen:
        verdict.known_by = "not examined"
        verdict.deciding.append(unseen[0])
    elif seen:
        verdict.known_by = "floor examined"
        verdict.deciding.append(seen[0])
    elif verdict.repair == "tissue" or (
        verdict.approach == "open" and verdict.type in ("direct", "combined")
    ):
        # a floor that was repaired, or a direct hernia that was found from in front, has been seen
        verdict.known_by = "floor examined"


def occurrence_told(verdict: Done, told: list[Evidence], earlier: list[Evidence]) -> None:
    """Primary or recurrent."""
    best = _best(told)
    recurrent = [one for one in best if (one.value == "recurrent") and one.positive]
    primary = [one for one in best if one.value == "primary" and one.positive]
    denied = [one for one in best if one.value == "recurrent" and not one.positive]
    if recurrent:
        verdict.occurrence, why = "recurrent", recurrent
    elif earlier:
        verdict.occurrence, why = "recurrent", earlier
    elif primary or denied:
        verdict.occurrence, why = "primary", primary or denied
    else:
        return
    verdict.deciding.append(why[0])
