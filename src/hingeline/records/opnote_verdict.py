"""From the evidence of a note to what is told of each groin, by a fixed order of precedence.

What was found and done outweighs the title and the post-operative diagnosis, and these what was expected. Within
one tier what is denied and not said outright elsewhere falls away; two types told of one groin are combined.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from .. import wording
from .opnote_done import Done, approach_used, known_by, occurrence_told, repair_done
from .opnote_evidence import BEFORE, INFERRED, OPERATIVE, OUTRIGHT, PLACED, TITLE, Evidence

_KIND: Final = {"sac": "indirect", "processus": "indirect"}


@dataclass
class Verdict(Done):
    """What is told of one groin, with the evidence that decided."""

    reason: str | None = None
    sliding: bool = False


def judge(evidence: list[Evidence], other_side_operated: bool) -> Verdict:
    """Judge one groin by the evidence that speaks of it."""
    verdict = Verdict()
    by: dict[str, list[Evidence]] = {}
    for one in evidence:
        by.setdefault(one.field, []).append(one)
    _reason(verdict, by.get("reason", []), by.get("type", []), other_side_operated)
    _type(verdict, by.get("type", []))
    if any(one.tier >= TITLE for one in by.get("undecided", [])):
        verdict.type = "unknown"
        verdict.doubts.append(wording.note_type_left_open())
    _left_open(verdict, by.get("type", []), by.get("not excluded", []))
    repair_done(verdict, by.get("mesh", []), by.get("repair", []))
    approach_used(verdict, by.get("approach", []))
    known_by(verdict, by.get("known_by", []))
    occurrence_told(verdict, by.get("occurrence", []), by.get("earlier", []))
    _sliding(verdict, by.get("sliding", []))
    return verdict


def _type(verdict: Verdict, told: list[Evidence]) -> None:
    """The type, and why a person should look."""
    told = [one for one in told if one.tier > 0]
    if verdict.reason == "hydrocele":
        told = [one for one in told if one.value not in ("processus", "sac")]
    doubtful = [one for one in told if not one.sure]
    sure = [one for one in told if one.sure]
    for tier in (OPERATIVE, TITLE, BEFORE):
        here = [one for one in sure if one.tier == tier]
        positive = [one for one in here if one.positive]
        if not positive:
            continue
        denied = {
            _KIND.get(one.value, one.value)
            for one in sure
            if not one.positive and one.tier >= tier and (one.tier > tier or one.grade >= PLACED)
        }
        firmly = {
            _KIND.get(one.value, one.value)
            for one in sure
            if tier == BEFORE and not one.positive and one.tier == OPERATIVE and one.grade >= PLACED
        }
        positive = [one for one in positive if _KIND.get(one.value, one.value) not in firmly]
        kinds = _kinds(positive, denied, verdict) if positive else {}
        if not kinds:
            continue
        verdict.type = _one_type(kinds, verdict)
        verdict.deciding.extend(kept for found in kinds.values() for kept in found[:2])
        verdict.deciding.extend(
            one for one in sure if not one.positive and _KIND.get(one.value, one.value) not in kinds
        )
        if tier == BEFORE:
            verdict.doubts.append(wording.note_type_only_before())
        break
    else:
        verdict.deciding.extend(one for one in sure if not one.positive)
    for one in doubtful:
        kind = _KIND.get(one.value, one.value)
        if kind != verdict.type and (one.tier >= TITLE or verdict.type == "unknown"):
            verdict.doubts.append(wording.note_cannot_exclude(kind))
            verdict.deciding.append(one)


def _left_open(verdict: Verdict, told: list[Evidence], open_: list[Evidence]) -> None:
    """One kind found and the other, said after it, not excluded: whether it was combined is not known."""
    if verdict.type not in ("indirect", "direct"):
        return
    found = [
        one.first
        for one in told
        if one.sure and one.positive and _KIND.get(one.value, one.value) == verdict.type
    ]
    for one in open_:
        if one.tier >= TITLE and one.value != verdict.type and found and one.first > min(found):
            verdict.type = "unknown"
            return


def _kinds(positive: list[Evidence], denied: set[str], verdict: Verdict) -> dict[str, list[Evidence]]:
    """Types told, each with its evidence, strongest first; inferred ones only when nothing stronger is told."""
    by: dict[str, list[Evidence]] = {}
    for one in sorted(positive, key=lambda one: -one.grade):
        by.setdefault(_KIND.get(one.value, one.value), []).append(one)
    best = max(found[0].grade for found in by.values())
    kept: dict[str, list[Evidence]] = {}
    for kind, found in by.items():
        grade = found[0].grade
        outright_other = any(k != kind and f[0].grade == OUTRIGHT for k, f in by.items())
        if grade == INFERRED and best > INFERRED:
            if kind == "direct" and "direct" not in denied:
                verdict.doubts.append(wording.note_weak_floor())
            continue
        if kind == "indirect" and outright_other and not _was_placed(found):
            continue  # a direct sac that was freed and tied
        if kind in denied:
            if grade < OUTRIGHT:
                continue
            verdict.doubts.append(wording.note_told_and_denied(kind))
        kept[kind] = found
    if len(kept) > 1:
        clear = {kind: found for kind, found in kept.items() if kind not in denied}
        kept = clear or kept
    if "indirect" in kept and "femoral" in kept and best == INFERRED:
        del kept["indirect"]  # the sac that was tied was the femoral one
    if "indirect" in kept and "direct" in kept and best == INFERRED:
        verdict.doubts.append(wording.note_weak_floor())
        del kept["direct"]
    return kept


def _was_placed(found: list[Evidence]) -> bool:
    """Whether an indirect hernia is told by more than a sac that was freed or tied."""
    return any(one.value != "sac" and one.grade > INFERRED for one in found) or found[0].value != "sac"


def _one_type(kinds: dict[str, list[Evidence]], verdict: Verdict) -> str:
    """One word for the types told."""
    if "combined" in kinds or ("indirect" in kinds and "direct" in kinds):
        kind = "combined"
    elif "indirect" in kinds:
        kind = "indirect"
    elif "direct" in kinds:
        kind = "direct"
    else:
        kind = "femoral"
    if "femoral" in kinds and kind != "femoral":
        verdict.doubts.append(wording.note_femoral_too())
    only = [one for found in kinds.values() for one in found]
    if all(one.value == "sac" and one.grade == INFERRED for one in only):
        verdict.doubts.append(wording.note_by_ligation())
    return kind


def _reason(verdict: Verdict, told: list[Evidence], types: list[Evidence], other_side_operated: bool) -> None:
    """Why this groin was operated."""
    told = [one for one in told if one.positive and one.sure and one.tier > 0]
    by: dict[str, list[Evidence]] = {}
    for one in told:
        by.setdefault(one.value, []).append(one)
    typed = [
        one
        for one in types
        if one.positive
        and one.sure
        and one.tier > 0
        and (one.grade == OUTRIGHT or one.value not in ("processus", "sac", "indirect"))
    ]
    hernia = by.get("hernia") or typed
    if any(one.tier >= TITLE for one in by.get("orchidopexy", [])):
        chosen, why = "with orchidopexy", by["orchidopexy"]
    elif hernia:
        chosen, why = "hernia", hernia
    elif "hydrocele" in by:
        chosen, why = "hydrocele", by["hydrocele"]
    elif any(one.value == "processus" and one.positive for one in types) and (
        "passing" in by or other_side_operated
    ):
        chosen, why = (
            "processus closed in passing",
            [one for one in types if one.value == "processus" and one.positive],
        )
    elif typed:
        chosen, why = "hernia", typed
    else:
        return
    verdict.reason = chosen
    verdict.deciding.append(why[0])


def _sliding(verdict: Verdict, told: list[Evidence]) -> None:
    """A sliding hernia."""
    found = [one for one in told if one.tier >= TITLE and one.sure]
    if found and any(one.positive for one in found):
        verdict.sliding = True
        verdict.deciding.append(next(one for one in found if one.positive))
