"""Names in two rows: the lower one says what a column holds, the upper one of what; and which date is the operation."""

from __future__ import annotations

from pathlib import Path

import pytest

from hingeline.records.header_words_fields import NAMINGS, naming_score
from hingeline.records.legend_model import KINDS
from hingeline.records.propose import propose

from .propose_forms import Form, columns, truth, write

NAMED = [
    ("patient", "Patient / No."),
    ("patient", "Personalien / Pat.-Nr."),
    ("born_on", "Patient / D.O.B."),
    ("born_on", "Paciente / F. nac."),
    ("age", "Operation / Age (y)"),
    ("operated_on", "Operation / Date"),
    ("operated_on", "Intervención / Fecha"),
    ("operated_on", "Eingriff / Tag"),
    ("type", "Operation / Hernia type"),
    ("occurrence", "Hernia / Prim/Rec"),
    ("repair", "Operation / Technique"),
    ("approach", "Repair / Open/Lap"),
    ("mesh_used", "Repair / Mesh Y/N"),
    ("emergency", "Admission / Urgent"),
    ("followed_until", "Follow-up / Date last seen"),
    ("recurred_on", "Follow-up / Recurrence date"),
    ("testicular_atrophy", "Complications / Atrophy"),
    ("weight_kg", "Admission / Weight"),
]


@pytest.mark.parametrize(("field", "name"), NAMED)
def test_the_lower_name_counts_and_the_upper_is_its_context(field: str, name: str):
    scores = {one: naming_score(one, name)[0] for one in KINDS}
    assert scores[field] == max(scores.values())
    assert scores[field] >= 0.6


OTHERS = [
    ("operated_on", "Operation / Theatre"),
    ("operated_on", "Follow-up / Date"),
    ("operated_on", "Consent / Date"),
    ("operated_on", "Operation / Surgeon"),
    ("patient", "Patient / Ward"),
    ("weight_kg", "Birth / Weight"),
    ("age", "Gestation / Age"),
]


@pytest.mark.parametrize(("field", "name"), OTHERS)
def test_the_upper_name_alone_names_no_field(field: str, name: str):
    assert field in NAMINGS
    assert naming_score(field, name)[0] <= 0.45


CODES = {
    "sex": {"male": "M", "female": "F"},
    "side": {"left": "L", "right": "R", "both": "B"},
    "type": {"indirect": "ind", "direct": "dir", "combined": "both", "femoral": "fem", "unknown": "?"},
    "repair": {"high_ligation": "herniotomy", "mesh": "mesh", "tissue": "darn"},
    "emergency": {True: "Urgent", False: "Elective"},
}
TWO = """
Patient / No. | patient
Patient / Last | name | -
Patient / D.O.B. | born_on
Patient / Sex | sex
Consent / Date | consented | -
Admission / Date | admitted | -
Admission / Method | emergency
Operation / Date | operated_on
Operation / Side | side
Operation / Surgeon | surgeon
Operation / Theatre | ward | -
Hernia / Type | type
Repair / Technique | repair
Discharge / Date | discharged | -
Follow-up / Date last seen | followed_until
Follow-up / Wound inf. | infection
"""


def test_a_file_with_names_in_two_rows_is_read(tmp_path: Path):
    form = Form("two", columns(TWO, CODES), dates="%d/%m/%Y")
    proposal = propose(write(form, tmp_path, 8), hospital="x")
    assert {(one.table, one.field): one.column for one in proposal.guesses} == truth(form)
    assert "Patient / Last" in proposal.drop


@pytest.mark.parametrize("birth", ["Alter | years | age", "geb. | born_on"])
@pytest.mark.parametrize("name", ["OP-Datum", "OP am", "Datum OP"])
def test_the_operation_is_surely_on_the_date_that_says_so(birth: str, name: str, tmp_path: Path):
    text = (
        f"Pat.-Nr. | patient\n{birth}\nGeschl. | sex\nAufklärung am | consented | -\n{name} | operated_on\n"
    )
    form = Form("consent", columns(text + "Seite | side\nBefund | type", CODES))
    guess = propose(write(form, tmp_path, 8), hospital="x").guess("operated_on")
    assert guess is not None
    assert (guess.column, guess.sure) == (name, "sure")
