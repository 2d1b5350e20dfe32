"""What `look` guesses of codes, against published standards: sexes as numbers and letters, EHS codes, gestation.

ISO/IEC 5218:2022 codes for human sexes: 0 not known, 1 male, 2 female, 9 not applicable. HL7 FHIR R4 value set
``administrative-gender`` and HL7 version 2 table 0001 (memory): M, F, U among its codes. The European Hernia Society's
classification: Miserez et al., Hernia 2007;11:113-116: P or R, then L, M or F with 0 to 3 or x.
"""

from __future__ import annotations

import pytest

from hingeline.records.propose_cells import dates_of, numbers_of
from hingeline.records.propose_codes import codes_of
from hingeline.records.propose_columns import Column
from hingeline.records.propose_content import is_ehs
from hingeline.records.propose_values import meaning_of


def _column(header: str, cells: dict[str, int]) -> Column:
    listed = [cell for cell, times in cells.items() for _ in range(times)]
    return Column(
        name=header,
        header=header,
        letter="A",
        position=0,
        rows=len(listed),
        filled=len(listed),
        distinct=len(cells),
        counts=cells,
        cells=listed,
        dates=dates_of(listed),
        numbers=numbers_of(listed, "."),
    )


def test_sexes_as_numbers_follow_iso_5218():
    found = codes_of("sex", _column("Sex", {"1": 80, "2": 12, "9": 1, "0": 2}))
    assert found.basis == "standard"
    assert found.meanings == {"1": "male", "2": "female", "9": "", "0": ""}


def test_numbers_outside_iso_5218_are_not_guessed():
    assert codes_of("sex", _column("Sex", {"3": 80, "4": 12})).meanings == {}


def test_administrative_sex_letters_are_read():
    # HL7 version 2, table 0001: M male, F female, U unknown (memory)
    found = codes_of("sex", _column("Gender", {"M": 80, "F": 12, "U": 2}))
    assert found.meanings == {"M": "male", "F": "female", "U": ""}


@pytest.mark.parametrize("word", ["male", "female"])
def test_administrative_gender_words_need_no_codes(word):
    # HL7 FHIR R4, administrative-gender: male, female, other, unknown
    found = codes_of("sex", _column("gender", {"male": 5, "female": 3}))
    assert word not in found.meanings
    assert found.share == 1.0


@pytest.mark.parametrize(
    ("code", "type_"),
    [
        ("PL2", "indirect"),
        ("RM1", "direct"),
        ("PL1M1", "combined"),
        ("PF2", "femoral"),
        ("L3", "indirect"),
        ("PL2 M0 F0", "indirect"),
    ],
)
def test_ehs_codes_are_known_and_mean_their_type(code, type_):
    assert is_ehs(code)
    assert meaning_of("type", code) == type_


@pytest.mark.parametrize("code", ["PX2", "L4", "ASA2", "K40.9", "M", "PL2PL2", "XL"])
def test_what_is_no_ehs_code_is_none(code):
    assert not is_ehs(code)


@pytest.mark.parametrize("icd", ["K40.2", "K40.3", "K40.9", "K41.9"])
def test_icd_10_codes_tell_no_type(icd):
    # ICD-10 K40 is inguinal hernia, bilateral or not, obstructed or not; it does not part lateral from medial (WHO)
    assert meaning_of("type", icd) is None
