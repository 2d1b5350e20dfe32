"""Intake stops at columns that identify people until the legend drops them, and at no others."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from hingeline.errors import HingelineError
from hingeline.records.describe import describe
from hingeline.records.identifier_cells import by_content
from hingeline.records.identifiers import masked, suspects
from hingeline.records.propose import propose
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
    "Patient's name",
    "Patient’s name",
    "Child's name",
    "Mother's name",
    "Surnames",
    "GP name",
    "Geburtsname",
    "Hosp No",
    "Unit number",
    "Case no",
    "Registration number",
    "Passport no",
    "Fall-Nr.",
    "Aufnahme-Nr",
    "SVNR",
    "Postcode",
    "Post code",
    "PLZ",
    "Wohnort",
    "DOB",
    "Date of birth",
    "geb. am",
    "Next of kin",
    "Phone 2",
    "NHS",
    "CHI number",
    "Contact number",
    "姓名",
    "患者姓名",
    "ФИО",
    "Имя пациента",
    "اسم",
    "اسم المريض",
    "Date of Birth (dd/mm/yyyy)",
    "D.O.B.",
    "Født dato",
    "G.P. name",
    "NOK",
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
    "Last contact",
    "Last phone contact",
    "Cap",
    "Phone follow-up (y/n)",
    "Contact",
    "Initials of assistant",
    "Mobile hernia",
    "Street drugs",
    "CHI-square",
    "Private/NHS",
    "Email consent",
    "Unit",
    "Case mix",
    "Year of birth",
    "Weeks at birth",
    "Время операции",
    "手术名称",
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
    ["(555) 123-4567", "(555) 987-6543", "(555) 222-1111"],
    ["10023456", "10023456", "10023999", "10023999", "10024711", "10024711", "10031234", "10031234"],
    ["Иванов Иван", "Петрова Анна", "Сидоров Пётр", "Смирнова Ольга"],
    ["Зимородов", "Кленовский", "Осинин", "Рябинов", "Ольховский", "Дубравин", "Ясенев", "Липовой"],
    ["王小明", "李娜", "张伟", "刘洋"],
    ["Rahul Sharma", "Priya Iyer", "Sunita Reddy", "Amit Patel"],
    ["Mehmet Yılmaz", "Ayşe Kaya", "Hatice Demir", "Zeynep Çelik"],
    ["Smith", "Jones", "Taylor", "Müller"],
    ["J. Smith", "P. Jones", "A. Taylor"],
    ["राहुल शर्मा", "प्रिया सिंह", "अमित कुमार"],
    ["محمد علي", "فاطمة حسن", "احمد عمر"],
    ["佐藤花子", "鈴木一郎", "高橋健"],
    ["김민수", "이영희", "박지훈"],
    ["Astley", "Walmor", "Craley", "Dendenber", "Morfen", "Thornby", "Harlow", "Ebbing", "Quarrie"],
    ["ASTLEY", "WALMOR", "CRALEY", "DENDENBER", "MORFEN", "THORNBY", "HARLOW", "EBBING"],
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
    ["20150605103000", "20150606114500", "20150711090000"],
    ["201506051030", "201506061145", "201507110900"],
    ["050615", "060615", "110715", "121215"],
    ["St Mary", "St John", "St Thomas", "Royal Anne Infirmary", "St Mary"],
    ["Lichtenstein", "Shouldice", "Bassini", "McVay", "Marcy", "Desarda", "Stoppa", "Lichtenstein", "Rives"],
    ["Mitchell Banks", "Gilbert", "Marcy", "Lucas Championniere"][:3],
    ["396232000", "396232000", "396232000", "236029005", "236029005", "236029005", "396232000", "396232000"],
]


@pytest.mark.parametrize("cells", OTHERS)
def test_columns_of_dates_codes_and_measures_are_left_alone(tmp_path, cells):
    assert _suspected(tmp_path, "Column", cells) == []


@pytest.mark.parametrize("header", ["Mesh lot", "LOT-No.", "Serial number of mesh"])
def test_lot_numbers_of_meshes_are_no_record_numbers(tmp_path, header):
    assert _suspected(tmp_path, header, ["SK1234567", "SK1234568", "AB7654321", "CD1112223"]) == []


def test_a_name_is_forgiven_when_the_cells_are_plainly_something_else(tmp_path):
    assert _suspected(tmp_path, "Telephone", ["yes", "no", "yes", "yes"]) == []
    assert _suspected(tmp_path, "Mobile", ["2015-06-05", "2015-06-06", "2015-06-07"]) == []
    assert _suspected(tmp_path, "Case no", ["1", "2"] * 10) == []
    assert _suspected(tmp_path, "DOB", ["2015-06-05", "2015-06-06", "2015-06-07"]) == [("DOB", "B")]
    assert _suspected(tmp_path, "Postcode", ["AB1", "AB2"] * 10) == [("Postcode", "B")]


def test_a_mapped_column_is_not_judged_by_its_name_when_its_cells_are_what_the_legend_says(tmp_path):
    more = 'followed_until = { column = "Phone" }\nknown_by = { column = "E-Mail", codes = { a = "examined" } }\n'
    more = more.replace("known_by", "recurrence_known_by")
    good = write_csv(tmp_path / "a.csv", [[*PLAIN_HEADER, "Phone", "E-Mail"], [*sound(), "01.02.2016", "a"]])
    assert take(good, legend(more)).cases.num_rows == 1
    bad = write_csv(tmp_path / "b.csv", [[*PLAIN_HEADER, "Phone", "E-Mail"], [*sound(), "none", "b@c"]])
    with pytest.raises(HingelineError, match="'Phone' and 'E-Mail'"):
        take(bad, legend(more))


def test_a_column_of_names_mapped_as_type_is_refused(tmp_path):
    names = ["Astley Bo", "Walmor Cy", "Craley Di", "Dendenber Ed", "Morfen Fay", "Thornby Gil"]
    rows = [sound(patient=f"p{i}", type=name) for i, name in enumerate(names)]
    with pytest.raises(HingelineError, match="'Type' seems to identify people"):
        take(write_csv(tmp_path / "a.csv", [PLAIN_HEADER, *rows]))


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
    assert masked("operated_on", "x" * 200).endswith("…")
    assert len(masked("operated_on", "x" * 200)) == 80


NAMES_IN_A_CODED_COLUMN = [
    "Astley Bo",
    "Walmor, Cy",
    "Зимородов",
    "王小明",
    "ASTLEY BO",
    "Astley",
    "Rahul Sharma",
]


@pytest.mark.parametrize("name", NAMES_IN_A_CODED_COLUMN)
def test_a_name_in_a_coded_column_does_not_reach_the_list(tmp_path, name):
    rows = [sound(patient=f"p{i}") for i in range(9)] + [sound(patient="q", type=name)]
    listed = take(write_csv(tmp_path / "a.csv", [PLAIN_HEADER, *rows])).set_aside.to_pylist()
    assert {line["value"] for line in listed} == {"(masked)"}
    assert [line["row"] for line in listed if line["field"] == "type"] == [11]


def test_an_unknown_code_is_shown_when_its_words_are_known_or_it_is_short():
    assert masked("type", "ind.") == "ind."
    assert masked("type", "Pantaloon Hernia") == "Pantaloon Hernia"
    assert masked("type", "a long remark that may tell whose groin it was") == "(masked)"
    assert masked("type", "Zweifach Gesehen", 50) == "(masked)"
    assert masked("type", "Anna Weber", 50) == "(masked)"


NO_CODES = [
    *(
        "okwuosa",
        "tamsin okwuosa",
        "oKWuosa t.",
        "astley",
        "Hernandez",
        "mcDendenber",
        "Bo Cy",
        "direct (okwuosa)",
    ),
    *(
        "4471",
        "A1234",
        "K/20417",
        "p0093",
        "no 311",
        "8001",
        "1010 AB",
        "SW1A 2AA",
        "ab1 2cd",
        "31.02.2014",
        "2014",
    ),
    *(
        "зимородов",
        "κλεάνθης",
        "左右田",
        "Kim",
        "lee",
        "rightham",
        "Linkswalmor",
        "okwuosa okwuosa okwuosa okwuosa",
    ),
]
CODES = [
    *(
        "ind.",
        "PL2",
        "M2R",
        "Leistenhernie li",
        "lateral?",
        "Nyhus 3b",
        "IIIb",
        "K40.90",
        "5-530.33",
        "T20.1",
        "49505",
    ),
    *(
        "TAPP re.",
        "hernie inguinale indirecte",
        "Lichtenstein",
        "Shouldice + high ligation",
        "no hernia found",
        "x",
        "n.k.",
    ),
    *(
        "laparoskopisk",
        "ernia obliqua esterna",
        "offener PV mitverschlossen",
        "brokk hø",
        "pantaloon (L+M)",
        "PX9",
    ),
]


@pytest.mark.parametrize("cell", NO_CODES)
def test_what_holds_a_word_that_nobody_knows_or_a_number_is_no_code_however_often_it_stands(cell):
    for field in ("type", "side", "repair", "emergency", "ehs_size", "recurred"):
        assert masked(field, cell, 100) == "(masked)"


@pytest.mark.parametrize("cell", CODES)
def test_what_a_data_officer_needs_to_see_is_shown(cell):
    assert masked("type", cell) == cell


def test_codes_of_exports_that_were_made_without_sight_of_the_code_are_shown():
    codes = {
        (path.name, code)
        for path in sorted((Path(__file__).parent / "exports" / "look").glob("*.truth.json"))
        for told in json.loads(path.read_text(encoding="utf-8"))["codes"].values()
        for code in told
    }
    hidden = [(file, code) for file, code in codes if masked("type", code) != code]
    assert len(codes) > 400
    assert len(hidden) <= len(codes) // 100, hidden


def test_characters_that_steer_a_terminal_are_not_listed():
    assert masked("type", "a\x1b[31m\u202eb") == "a [31m b"


@pytest.mark.parametrize(
    "header",
    [
        "Patient Last",
        "Patient First",
        "Pat. Last",
        "First",
        "Last",
        "Middle",
        "Patient / Last",
        "Last, first",
    ],
)
def test_parts_of_names_are_known_where_cells_are_names(tmp_path, header):
    assert _suspected(tmp_path, header, ["Astley", "Walmor", "Craley", "Thornby", "Astley"]) == [
        (header, "B")
    ]


NO_NAMES = [
    ["2015-06-05", "2015-06-06", "2015-06-07"],
    ["yes", "no", "yes", "no"],
    ["Clinic", "Phone", "Letter", "Clinic", "Phone", "Letter"],
    ["Lichtenstein", "Shouldice", "Herniotomy", "Mesh repair"],
    ["1", "2", "1", "3"],
]


@pytest.mark.parametrize(
    "header", ["Last visit", "First operation", "Last contact", "Last seen", "First side"]
)
@pytest.mark.parametrize("cells", NO_NAMES)
def test_what_was_first_or_last_is_left_alone(tmp_path, header, cells):
    assert _suspected(tmp_path, header, cells) == []


@pytest.mark.parametrize("header", ["First", "Last", "Middle"])
@pytest.mark.parametrize("cells", [NO_NAMES[0], NO_NAMES[1], NO_NAMES[3], NO_NAMES[4]])
def test_first_and_last_alone_are_left_alone_where_cells_are_no_names(tmp_path, header, cells):
    assert _suspected(tmp_path, header, cells) == []


STAFF = ["Anaesthetist", "Referring doctor", "GP", "Consultant", "Narkosearzt", "Hausarzt", "Surgeon"]


@pytest.mark.parametrize("header", STAFF)
def test_names_of_staff_that_repeat_are_known_by_the_column_and_its_cells(tmp_path, header):
    assert _suspected(tmp_path, header, ["Dr Harlow", "Mr Astley", "Dr Quarrie"] * 9) == [(header, "B")]
    assert _suspected(tmp_path, header, ["Harlow", "Astley", "Quarrie", "Thornby"] * 9) == [(header, "B")]


@pytest.mark.parametrize("header", STAFF)
@pytest.mark.parametrize(
    "cells",
    [
        ["SH", "JA", "SQ"],
        ["S01", "S02", "S03"],
        ["Consultant", "Registrar", "Trainee"],
        ["Oberarzt", "Facharzt", "Chefarzt"],
    ],
)
def test_codes_and_ranks_of_staff_are_left_alone(tmp_path, header, cells):
    assert _suspected(tmp_path, header, cells * 9) == []


def test_a_huge_cell_is_judged_by_its_beginning():
    """Work grows with the part that is shown, not with the square of the cell: a million letters are no trap."""
    assert masked("type", "a" * 1_000_000) == "(masked)"
    assert by_content(["QUJD" * 250_000] * 3, set()) is None


@pytest.mark.parametrize("field", ["operated_on", "age", "weight_kg"])
def test_a_number_or_a_date_is_shown_without_the_words_beside_it(field):
    assert masked(field, "5 (tamsin okwuosa)") == "5 (xxxxxx xxxxxxx)"
    assert masked(field, "31/02/2014") == "31/02/2014"


@pytest.mark.parametrize("header", ["Comment", "Note 2", "Remarks", "Operation note", "Follow-up remark"])
def test_telephone_numbers_are_known_in_columns_of_free_text(tmp_path, header):
    cells = [
        "well",
        "mother rang from 0151 2345678",
        "tel +44 20 7946 0018",
        "see 10.30-11.15",
        "call 0049 30 901820",
    ]
    assert _suspected(tmp_path, header, cells) == [(header, "B")]


@pytest.mark.parametrize("header", ["Comment", "Note 2", "Operation note"])
def test_dates_times_and_measures_in_free_text_are_no_telephone_numbers(tmp_path, header):
    cells = [
        "seen 03.04.2015 at 09.15 - 10.30",
        "mesh 10 x 15, 08:30-09:45",
        "0.5 cm ring, 02.02.15, drain 0",
        "6/10/2014",
    ]
    assert _suspected(tmp_path, header, cells * 3) == []


NO_NAMES_ABOVE = [
    "okwuosa tamsin;m;left;indirect;4471",
    "okwuosa tamsin;m;left;indirect;herniotomy",
    "K-20417;okwuosa;m;left;lateral",
    "okwuosa;12 Jan 2014;m;left;lateral",
]
BELOW = [
    "walmor cy;f;left;indirect;5012\nastley di;m;right;direct;3377\n",
    "walmor cy;f;left;indirect;herniotomy\nastley di;m;right;direct;mesh\n",
    "K-31177;walmor;f;left;medial\nK-80771;astley;m;left;lateral\n",
    "walmor;13 Feb 2014;f;left;lateral\nastley;14 Mar 2015;m;right;medial\n",
]


@pytest.mark.parametrize("at", range(4))
def test_a_first_patient_is_never_taken_for_the_names_of_columns(tmp_path, at):
    path = tmp_path / "a.csv"
    path.write_text(NO_NAMES_ABOVE[at] + "\n" + BELOW[at], encoding="utf-8")
    described = describe(path)
    assert described.tables[0].rows == 3
    told = described.text() + propose([path], hospital="Alder Vale").legend_text
    assert "okwuosa" not in told.casefold()
    assert "20417" not in told


@pytest.mark.parametrize(
    "name", ["Weber, Anna", "Okwuosa, Tamsin", "0151 2345678", "anna weber", "K1234567", "c@example.org"]
)
def test_a_columns_name_that_could_name_somebody_is_not_shown(tmp_path, name):
    path = write_csv(
        tmp_path / "a.csv",
        [["Pat", name, "Sex", "Side"], ["p1", "x", "m", "left"], ["p2", "y", "f", "right"]],
    )
    with pytest.raises(HingelineError, match="seem to be a patient's data") as refused:
        describe(path)
    assert refused.value.where.endswith("column B")
    assert name not in str(refused.value)


def test_cells_of_records_are_no_names_of_columns(tmp_path):
    rows = [["okwuosa tamsin", "m", "left", "lat"], ["walmor cy", "f", "right", "med"]]
    with pytest.raises(HingelineError, match="seem to be a patient's data") as refused:
        describe(write_csv(tmp_path / "a.csv", rows))
    assert refused.value.where.endswith("columns B, C and D")
    wide = [["Pat", "Age", "Left", "Right"], ["p1", "3", "lat", ""], ["p2", "4", "", "med"]]
    assert describe(write_csv(tmp_path / "b.csv", wide)).tables[0].rows == 2


def test_names_printed_again_on_each_page_are_names_still(tmp_path):
    rows = [["Pat", "Sex", "Side"], ["p1", "m", "left"], ["Pat", "Sex", "Side"], ["p2", "f", "right"]]
    assert open_source(write_csv(tmp_path / "a.csv", rows)).header == ("Pat", "Sex", "Side")
