"""Intake stops at columns that identify people until the legend drops them, and at no others."""

from __future__ import annotations

import pytest

from hingeline.errors import HingelineError
from hingeline.records.identifiers import masked, suspects
from hingeline.records.source import open_source

from .making import PLAIN_HEADER, legend, sound, take, write_csv

NAMES = [
    "Name",
    "Patient name",
    "Surname",
    "FIRST NAME",
    "PatientName",
    "pt_name",
    "Name of the patient",
    "Vorname",
    "Nachname",
    "Name des Patienten",
    "Prénom",
    "Nom de famille du patient",
    "Nom",
    "Apellidos",
    "Nombre",
    "Cognome",
    "Achternaam",
    "Fødselsnummer",
    "Etternavn",
    "NHS number",
    "Hospital no.",
    "MRN",
    "Record number",
    "Patient ID",
    "Krankenversicherung Nr",
    "Versichertennummer",
    "Telephone",
    "Tel.",
    "Mobile",
    "Handy",
    "Téléphone",
    "E-Mail",
    "Address",
    "Straße",
    "Anschrift",
    "Indirizzo",
    "Dirección",
    "Initials",
]
HARMLESS = [
    "Name of operation",
    "Hospital name",
    "Side",
    "Date of operation",
    "Diagnosis",
    "Patient weight",
    "Contact date",
    "Number of groins",
    "No.",
    "ID",
    "Mesh brand name",
    "Nom de l'opération",
    "Telemetry",
    "Ward",
    "Birth weight",
    "Surgeon grade",
]


def _suspected(tmp_path, header, cells):
    path = write_csv(
        tmp_path / "a.csv", [["Key", header], *[[f"k{i}", cell] for i, cell in enumerate(cells)]]
    )
    return [(one.column, one.letter) for one in suspects(open_source(path, columns=("Key",)), ["Key"], [])]


def test_columns_of_identifiers_are_known_by_their_names_in_several_languages(tmp_path):
    path = write_csv(tmp_path / "a.csv", [NAMES, ["x"] * len(NAMES)])
    found = {one.column for one in suspects(open_source(path, columns=NAMES), [], [])}
    assert set(NAMES) - found == set()


def test_columns_of_other_things_are_left_alone(tmp_path):
    path = write_csv(tmp_path / "a.csv", [HARMLESS, ["x"] * len(HARMLESS)])
    assert suspects(open_source(path, columns=HARMLESS), [], []) == ()


CONTENTS = [
    ["0151 2345678", "+44 20 7946 0018", "(030) 901820", "0049 30 901820"],
    ["a.b@example.org", "c@example.com", "see notes", "d@example.net"],
    ["Smith, John", "Garcia, Maria", "Weber, Anna", "Rossi, Paolo"],
    ["John Smith", "Maria Garcia", "Anna Weber", "Thomas Meier"],
    ["Anna", "Lukas", "Emma", "Paul", "Mustafa", "Ingrid"],
    ["10023456", "10023999", "10024711", "10031234"],
    ["AB123456", "AB123457", "CD998877", "EF445566"],
    ["943 476 5919", "943 476 5870", "401 023 2137"],
]


@pytest.mark.parametrize("cells", CONTENTS)
def test_columns_of_identifiers_are_known_by_what_they_hold(tmp_path, cells):
    assert _suspected(tmp_path, "Column", cells) == [("Column", "B")]


OTHERS = [
    ["2015-06-05", "2015-06-06", "2015-06-07"],
    ["05.06.2015 10:30", "05.06.2015 11:30", "06.06.2015 09:00"],
    ["20150605", "20150606", "20150711", "20151212"],
    ["42160", "42161", "42162"],
    ["3250", "3100", "2980", "4100"],
    ["12.5", "13.25", "0.1234567", "0.7654321"],
    ["PL2", "RM1", "PL1M1"],
    ["Indirect Hernia", "Direct Hernia", "Pantaloon Hernia"],
    ["left", "right", "left"],
    ["Open Repair", "Lichtenstein", "Shouldice"],
    ["K40.90", "K40.20", "K40.91"],
    ["1.2.2015", "03/04/15", "5-6-2016"],
]


@pytest.mark.parametrize("cells", OTHERS)
def test_columns_of_dates_codes_and_measures_are_left_alone(tmp_path, cells):
    assert _suspected(tmp_path, "Column", cells) == []


def test_intake_stops_at_identifiers_until_the_legend_drops_them(tmp_path):
    header = [*PLAIN_HEADER, "Surname", "Telephone"]
    path = write_csv(tmp_path / "a.csv", [header, [*sound(), "Invented", "000"]])
    with pytest.raises(HingelineError, match="'Surname' and 'Telephone'") as refused:
        take(path)
    assert "columns G and H" in refused.value.where
    assert "[drop]" in refused.value.todo
    dropped = take(path, legend('[drop]\ncolumns = ["surname", "Telephone", "Not there"]\n'))
    assert dropped.cases.num_rows == 1
    assert "Invented" not in str(dropped)


def test_the_key_the_birth_date_and_the_surgeon_may_be_identifiers_since_none_is_kept(tmp_path):
    header = ["MRN" if name == "Pat" else name for name in PLAIN_HEADER]
    path = write_csv(
        tmp_path / "a.csv", [[*header, "Surname of surgeon"], [*sound(patient="K1234567"), "Smith"]]
    )
    how = legend('surgeon = { column = "Surname of surgeon" }\n')
    how = how.model_copy(
        update={
            "fields": how.fields | {"patient": how.fields["patient"].model_copy(update={"column": "MRN"})}
        }
    )
    found = take(path, how)
    everything = str(found.cases.to_pylist()) + str(found.set_aside.to_pylist()) + str(found.detected)
    for identifier in ("K1234567", "Smith", "2010-04-03", "03.04.2010"):
        assert identifier not in everything


def test_identifying_values_are_masked_in_the_list(tmp_path):
    rows = [
        sound(patient="K1234567", born="31.13.2010", sex="0151 2345678"),
        sound(patient="K1234568", side="john@example.org"),
        sound(patient="K1234569", sex="Anna Weber"),
        sound(patient="K1234569", type="99912345678"),
        sound(patient="K1234569", type="99912345678"),
        sound(patient="K1234570", type="see note"),
    ]
    path = write_csv(tmp_path / "a.csv", [PLAIN_HEADER, *rows])
    values = {line["value"] for line in take(path).set_aside.to_pylist()}
    assert values == {"(masked)", "see note"}


def test_a_date_or_a_code_is_not_masked():
    assert masked("operated_on", "31.02.2015") == "31.02.2015"
    assert masked("type", "lateral?") == "lateral?"
    assert masked("age", "214") == "214"
    assert masked("type", "x" * 200).endswith("…")
    assert len(masked("type", "x" * 200)) == 80
