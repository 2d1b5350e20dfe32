"""Names of columns as hospitals write them, in eleven languages and in terse variable names: which field they name.

The list is our own (common practice, no source); it was written field by field and language by language before the
glossaries were mended by it, and exports of other hands measure the rest.
"""

from __future__ import annotations

from pathlib import Path

from hingeline.records.header_words_fields import NAMINGS, naming_score
from hingeline.records.legend_model import KINDS
from hingeline.records.propose_codes import kind_of

TEXT = (Path(__file__).parent / "propose_headers.txt").read_text(encoding="utf-8")
LISTED, _, DECOYS = TEXT.partition("[decoys]")


def _best(header: str) -> str:
    """The field of an operation whose naming fits best."""
    return max(KINDS, key=lambda field: naming_score(field, header)[0])


def _listed() -> list[tuple[str, str, str]]:
    found = []
    for line in LISTED.strip().splitlines():
        place, _, headers = line.partition(": ")
        field, language = place.split()
        found += [(field, language, one.strip()) for one in headers.split(" | ")]
    return found


def _alike(field: str, header: str) -> bool:
    """Whether a field is the best by name, or alike to the best and of another kind of cells."""
    best = _best(header)
    if best == field:
        return True
    own, other = naming_score(field, header)[0], naming_score(best, header)[0]
    return own >= 0.3 and (kind_of(best) != kind_of(field) or own >= other - 0.1)


def test_names_of_columns_tell_their_field_in_eleven_languages():
    wrong = [(field, language, header) for field, language, header in _listed() if not _alike(field, header)]
    assert len(wrong) / len(_listed()) < 0.02, wrong


def test_no_language_is_far_behind_the_others():
    shares = {}
    for language in {language for _, language, _ in _listed()}:
        own = [(field, header) for field, one, header in _listed() if one == language]
        shares[language] = sum(_alike(field, header) for field, header in own) / len(own)
    assert min(shares.values()) > 0.94, shares


def test_decoys_do_not_pass_for_the_field_beside_them():
    wrong = []
    for line in DECOYS.strip().splitlines():
        field, _, headers = line.partition(": ")
        wrong += [
            (field, one.strip()) for one in headers.split(" | ") if naming_score(field, one.strip())[0] > 0.45
        ]
    assert not wrong


def test_every_field_of_a_legend_has_a_naming():
    assert set(NAMINGS) >= set(KINDS)
