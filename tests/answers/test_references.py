"""A work is cited where a part that names it is told, and nowhere else."""

from __future__ import annotations

from hingeline.answers.findings import Part
from hingeline.answers.references import ALWAYS, BY_PART, references_of
from hingeline.wording import recurrence_method_told


def _part(id: str, method: str) -> Part:
    return Part(id=id, heading="h", sentence="s", method=method)


def test_only_parts_that_are_told_bring_their_works():
    assert references_of([_part("records", "m")]) == tuple(sorted(ALWAYS, key=str.casefold))
    assert references_of([_part("recurrence", "")]) == references_of([])
    told = references_of([_part("recurrence", recurrence_method_told())])
    assert any(work.startswith("Turnbull") for work in told)
    assert not any(work.startswith("Walsh") for work in told)


def test_every_work_on_recurrence_is_named_in_its_method():
    missing = [words for words in BY_PART["recurrence"] if words not in recurrence_method_told()]
    assert not missing


def test_works_stand_once_in_the_order_of_their_names():
    texts = [_part(id, " ".join(works)) for id, works in BY_PART.items()]
    told = references_of(texts)
    assert list(told) == sorted(set(told), key=str.casefold)
    assert sum(work.startswith("Miettinen") for work in told) == 1
