"""Columns for each side are paired however a file marks its sides, and both sides are asked about once.

The forms are our own, with the marks that hospitals use (common practice, no source).
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from hingeline.records.legend import legend_from_text
from hingeline.records.propose import propose

from .propose_forms import Column, Form, columns, truth, write

WORDS = {
    "en": {
        "sex": {"male": "M", "female": "F"},
        "type": {"indirect": "ind", "direct": "dir", "combined": "both", "femoral": "fem", "unknown": "?"},
        "repair": {"high_ligation": "herniotomy", "mesh": "mesh", "tissue": "darn"},
        "approach": {"open": "open", "laparoscopic": "lap"},
        "occurrence": {"primary": "P", "recurrent": "R"},
    },
    "de": {
        "sex": {"male": "m", "female": "w"},
        "type": {"indirect": "lat", "direct": "med", "combined": "komb", "femoral": "fem", "unknown": "?"},
        "repair": {"high_ligation": "Herniotomie", "mesh": "Netz", "tissue": "Naht"},
        "occurrence": {"primary": "prim", "recurrent": "Rez"},
    },
    "es": {
        "sex": {"male": "V", "female": "M"},
        "type": {"indirect": "ind", "direct": "dir", "combined": "mixta", "femoral": "crural", "unknown": "?"},
        "repair": {"high_ligation": "ligadura", "mesh": "malla", "tissue": "sutura"},
    },
    "pl": {
        "sex": {"male": "M", "female": "K"},
        "type": {"indirect": "skośna", "direct": "prosta", "combined": "miesz", "femoral": "udowa", "unknown": "?"},
        "repair": {"high_ligation": "podwiązanie", "mesh": "siatka", "tissue": "szew"},
    },
    "numbers": {
        "sex": {"male": "1", "female": "2"},
        "type": {"indirect": "1", "direct": "2", "combined": "3", "femoral": "4", "unknown": "9"},
        "repair": {"high_ligation": "1", "mesh": "2", "tissue": "3"},
    },
}  # fmt: skip
SHARED = {
    "en": "Hosp no | patient\nSex | sex\nDOB | born_on\nOp date | operated_on",
    "de": "Pat.-Nr. | patient\nGeschl. | sex\ngeb. | born_on\nOP-Datum | operated_on",
    "es": "NHC | patient\nSexo | sex\nF. nac. | born_on\nF. IQ | operated_on",
    "pl": "Nr pacjenta | patient\nPłeć | sex\nData ur. | born_on",
    "numbers": "Hosp no | patient\nSex | sex\nDOB | born_on\nOp date | operated_on",
}


def _wide(language: str, pairs: str) -> Form:
    listed = SHARED[language] + "\n"
    for line in pairs.strip().splitlines():
        left, right, field = (part.strip() for part in line.split("|"))
        listed += f"{left} | left.{field}\n{right} | right.{field}\n"
    own = [
        Column(one.name, one.holds, one.truth, WORDS[language].get(one.holds.rpartition(".")[2]))
        for one in columns(listed)
    ]
    return Form("wide", own, wide=True)


MARKED = {
    "dots at the start": _wide(
        "en",
        "Lt. sac | Rt. sac | type\nLt. repair | Rt. repair | repair\nLt. prim/rec | Rt. prim/rec | occurrence\n"
        "Lt. rec. date | Rt. rec. date | recurred_on\nLt. ring mm | Rt. ring mm | ring_mm",
    ),
    "letters at the start": _wide(
        "en",
        "L found | R found | type\nL done | R done | repair\nL lap/open | R lap/open | approach\n"
        "L recurred | R recurred | recurred_on\nL wound inf | R wound inf | infection",
    ),
    "german with colons": _wide(
        "de",
        "Li: Typ | Re: Typ | type\nLi: Verfahren | Re: Verfahren | repair\nLi: Prim/Rez | Re: Prim/Rez | occurrence\n"
        "Li: Netz | Re: Netz | mesh_used\nLi: Rezidiv am | Re: Rezidiv am | recurred_on",
    ),
    "spanish, marks mixed": _wide(
        "es",
        "izq. tipo | dcha. tipo | type\nizq. técnica | der. técnica | repair\n"
        "izda. f. recidiva | dcha. fecha recidiva | recurred_on",
    ),
    "english, marks mixed": _wide(
        "en",
        "Lt. sac | R. sac | type\nLt repair | Right repair | repair\nLt mesh | Rt. mesh | mesh_used\n"
        "L approach | Rt. appr | approach\nLt testis atrophy | Rt atrophy testis | testicular_atrophy",
    ),
    "polish": _wide(
        "pl",
        "L. data op | P. data op | operated_on\nL. typ | P. typ | type\nL. metoda | P. metoda | repair\n"
        "L. nawrót data | P. nawrót data | recurred_on",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", MARKED)
def test_columns_are_paired_however_the_sides_are_marked(name: str, tmp_path: Path):
    form = MARKED[name]
    proposal = propose(write(form, tmp_path, 21), hospital="x")
    assert proposal.form == "patients"
    assert {(one.table, one.field): one.column for one in proposal.guesses} == truth(form)


def test_a_side_without_its_other_is_taken_for_nothing(tmp_path: Path):
    form = MARKED["dots at the start"]
    kept = [column for column in form.columns if column.name != "Lt. rec. date"]
    proposal = propose(write(Form("lone", kept, wide=True), tmp_path, 21), hospital="x")
    assert "Rt. rec. date" not in {one.column for one in proposal.guesses}


def test_codes_of_both_sides_are_asked_once(tmp_path: Path):
    form = _wide("numbers", "Lt. type | Rt. type | type\nLt. repair | Rt. repair | repair")
    path = write(form, tmp_path, 21)
    proposal = propose(path, hospital="x")
    keys = [question.key for question in proposal.questions]
    assert sorted(keys) == ["repair.codes", "sex.codes", "type.codes"]
    codes = {code: meaning for meaning, code in WORDS["numbers"]["type"].items()}
    repairs = {code: meaning for meaning, code in WORDS["numbers"]["repair"].items()}
    answers = {"type.codes": codes, "repair.codes": repairs, "sex": True}
    settled = propose(path, hospital="x", answers=answers)
    assert settled.to_confirm == ()
    legend = legend_from_text(settled.legend_text)
    assert legend.left["type"].codes["2"] == legend.right["type"].codes["2"] == "direct"


def test_an_answer_for_one_side_leaves_the_other_asked(tmp_path: Path):
    form = _wide("numbers", "Lt. type | Rt. type | type\nLt. repair | Rt. repair | repair")
    path = write(form, tmp_path, 21)
    codes = {code: meaning for meaning, code in WORDS["numbers"]["type"].items()}
    keys = {one.key for one in propose(path, hospital="x", answers={"left.type.codes": codes}).questions}
    assert "right.type.codes" in keys
    assert not keys & {"type.codes", "left.type.codes"}


def test_every_entry_that_is_asked_about_waits_in_the_legend(tmp_path: Path):
    form = _wide("numbers", "Lt. type | Rt. type | type\nLt. repair | Rt. repair | repair")
    text = propose(write(form, tmp_path, 21), hospital="x").legend_text
    assert len(re.findall(r"^confirm = ", text, re.MULTILINE)) == 5
    assert "To confirm (3)" in text
