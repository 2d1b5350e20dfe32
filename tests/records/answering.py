"""A person who knows an export answers what the proposed legend asks, and nothing more."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from hingeline.records.legend_model import ABSENT
from hingeline.records.propose import Proposal, Question, propose

_MEANS: Mapping[str, Any] = {"yes": True, "no": False, "no operation": ABSENT}


def answered(path: Path, hospital: str, truth: Mapping[str, Any], rounds: int = 4) -> tuple[Proposal, int]:
    """Propose, answer what is asked, propose again, until nothing is asked; return how many answers it took."""
    answers: dict[str, Any] = {}
    for _ in range(rounds):
        proposal = propose(path, hospital=hospital, answers=answers)
        if not proposal.questions:
            break
        for question in proposal.questions:
            answers[question.key] = answer(question, truth)
    return proposal, len(answers)


def answer(question: Question, truth: Mapping[str, Any]) -> Any:
    """What the truth says to one question; whatever is not in the file is left out (False)."""
    parts = question.key.split(".")
    part = parts[-1] if parts[-1] in ("column", "codes", "unit", "order") else ""
    name = parts[-2] if part else parts[-1]
    table = parts[0] if parts[0] in ("left", "right", "follow_up") and len(parts) > (2 if part else 1) else ""
    if question.key == "dates.order" or part == "order":
        return truth["dates"]
    if part == "unit":
        return truth["unit"][name]
    columns = truth["columns"]
    if table in ("left", "right"):
        columns = {**columns, **truth[table]}
    if table == "follow_up":
        visits = truth["follow_up"]
        columns = {
            **visits["columns"],
            "seen_on": visits["visited_on"],
            "recurred": visits["recurrence"]["column"],
        }
    if part == "codes":
        codes = truth["codes"] if table != "follow_up" else truth["follow_up"]["codes"]
        meanings = codes.get(name, {})
        if name == "recurred":
            meanings = truth["follow_up"]["recurrence"]["codes"]
        # a code that stands in no list is left unanswered, and is told by a rule
        return {value: _means(meanings[value]) for value in question.values or meanings if value in meanings}
    return columns.get(name, False)


def _means(word: str) -> Any:
    return "" if word == "unknown" else _MEANS.get(word, word)
