"""Keys of codes that a file brings along are matched to their columns; a yes means what its column's name says.

The keys are our own, written as hospitals write them in eleven languages (common practice, no source).
"""

from __future__ import annotations

from pathlib import Path

import pytest

from hingeline.records.propose import Proposal, propose
from hingeline.records.propose_keys import keys_in
from hingeline.records.propose_poles import flags_of

from .making import write_csv, write_xlsx
from .propose_forms import Form, _cell, columns, people, truth, write

NUMBERS = {
    "sex": {"male": "1", "female": "2"},
    "side": {"left": "1", "right": "2", "both": "3"},
    "type": {"indirect": "1", "direct": "2", "combined": "3", "femoral": "4", "unknown": "9"},
    "repair": {"high_ligation": "1", "mesh": "2", "tissue": "3"},
    "occurrence": {"primary": "1", "recurrent": "2"},
    "emergency": {True: "1", False: "0"},
}

KEYS = {
    "english": (
        "Pat no | Sex | DOB | Op date | Side | Type | Repair | Prim/Rec",
        [
            "Groin hernia list 2008 to 2023",
            "Key: sex 1=male 2=female / side 1=left 2=right 3=both / type 1=indirect 2=direct 3=both 4=femoral "
            "9=unknown",
            "repair 1=herniotomy 2=mesh 3=suture / Prim/Rec 1=primary 2=recurrent",
        ],
    ),
    "german": (
        "Pat.-Nr. | Geschl. | Geb.-Dat. | OP-Datum | Seite | Bruchtyp | Verfahren | PrimRez",
        [
            "Schlüssel: Geschlecht: 1 = männlich, 2 = weiblich; Seite: 1 = links, 2 = rechts, 3 = beidseits",
            "Bruchtyp 1 indirekt, 2 direkt, 3 kombiniert, 4 femoral, 9 unbekannt | "
            "Verfahren 1 Herniotomie, 2 Netz, 3 Naht",
            "Prim/Rez: 1=primär 2=Rezidiv",
        ],
    ),
    "french": (
        "N° patient | Sexe | DDN | Date op | Côté | Type | Technique | Primaire/récidive",
        [
            "Légende : sexe (1 = homme, 2 = femme) ; côté (1 = gauche, 2 = droit, 3 = bilatéral)",
            "type (1 = indirecte, 2 = directe, 3 = mixte, 4 = crurale, 9 = inconnu)",
            "technique 1=ligature du sac 2=prothèse 3=raphie / récidive 1=primaire 2=récidive",
        ],
    ),
    "spanish": (
        "NHC | Sexo | F. nac. | Fecha IQ | Lado | Tipo | Técnica | Prim/Recid",
        [
            "Códigos: sexo 1-hombre 2-mujer; lado 1-izquierdo 2-derecho 3-bilateral; "
            "tipo 1-indirecta 2-directa 3-mixta 4-femoral 9-desconocido; técnica 1-ligadura 2-malla 3-sutura",
            "prim/recid 1-primaria 2-recidivada",
        ],
    ),
    "italian": (
        "Codice | Sesso | Data nascita | Data intervento | Lato | Tipo ernia | Tecnica | Prim/Rec",
        [
            "Legenda - sesso: 1 maschio, 2 femmina - lato: 1 sinistra, 2 destra, 3 bilaterale",
            "tipo: 1=obliqua esterna, 2=diretta, 3=mista, 4=crurale, 9=non nota",
            "tecnica: 1=legatura, 2=rete, 3=rafia; prim/rec: 1=primitiva, 2=recidiva",
        ],
    ),
    "dutch": (
        "Patnr | Geslacht | Geb.datum | OK-datum | Zijde | Type breuk | Techniek | Primair/recidief",
        [
            "Codes: geslacht 1=man 2=vrouw, zijde 1=links 2=rechts 3=dubbelzijdig, type 1=indirect 2=direct "
            "3=gecombineerd 4=femoraal 9=onbekend",
            "techniek 1=herniotomie 2=mat 3=hechting, primair/recidief 1=primair 2=recidief",
        ],
    ),
    "danish": (
        "Patientnr | Køn | Fødselsdato | Opr.dato | Side | Type | Metode | Prim/Rec",
        [
            "Koder: køn 1=mand 2=kvinde / side 1=venstre 2=højre 3=begge / type 1=indirekte 2=direkte 3=kombineret "
            "4=femoral 9=uoplyst / metode 1=ligatur 2=net 3=sutur / prim/rec 1=primær 2=recidiv"
        ],
    ),
    "swedish": (
        "Patient-id | Kön | Födelsedatum | Op-datum | Sida | Typ | Teknik | Prim/Rec",
        [
            "Kodnyckel: kön man=1, kvinna=2; sida vänster=1, höger=2, båda=3; typ indirekt=1, direkt=2, kombinerad=3, "
            "femoral=4, okänd=9; teknik ligatur=1, nät=2, sutur=3; prim/rec primär=1, recidiv=2"
        ],
    ),
    "norwegian": (
        "Pasientnr | Kjønn | Født | Opr.dato | Side | Type | Metode | Prim/Res",
        [
            "Kjønn 1=mann 2=kvinne | Side 1=venstre 2=høyre 3=begge | Type 1=lateral 2=medial 3=kombinert 4=femoral "
            "9=ukjent | Metode 1=ligatur 2=nett 3=sutur | Prim/Res 1=primær 2=residiv"
        ],
    ),
    "portuguese": (
        "Nº processo | Sexo | Data nasc. | Data cirurgia | Lado | Tipo | Técnica | Prim/Rec",
        [
            "Legenda: Sexo 1=masculino; 2=feminino. Lado 1=esquerdo; 2=direito; 3=bilateral.",
            "Tipo 1=indireta; 2=direta; 3=mista; 4=femoral; 9=desconhecido",
            "Técnica 1=laqueação 2=rede 3=rafia. Prim/Rec 1=primária 2=recidivada",
        ],
    ),
    "polish": (
        "Nr pacjenta | Płeć | Data ur. | Data zabiegu | Strona | Typ | Metoda | Pierw/Nawr",
        [
            "Kody: płeć: 1 - mężczyzna, 2 - kobieta; strona: 1 - lewa, 2 - prawa, 3 - obustronna; "
            "typ: 1 - skośna, 2 - prosta, 3 - mieszana, 4 - udowa, 9 - nieznany",
            "metoda: 1 - podwiązanie worka, 2 - siatka, 3 - szew; pierw/nawr: 1 - pierwotna, 2 - nawrotowa",
        ],
    ),
}  # fmt: skip
FIELDS = ("patient", "sex", "born_on", "operated_on", "side", "type", "repair", "occurrence")


def _form(names: str) -> Form:
    listed = "\n".join(
        f"{name.strip()} | {field}" for name, field in zip(names.split(" | "), FIELDS, strict=True)
    )
    return Form("keyed", columns(listed, NUMBERS))


def _unlike(form: Form, proposal: Proposal) -> list[tuple[object, ...]]:
    """Codes that are not read as they were written."""
    wrong: list[tuple[object, ...]] = []
    for column in form.columns:
        if column.codes and column.truth:
            guess = proposal.guess(column.truth)
            assert guess is not None, column.truth
            for meaning, code in column.codes.items():
                told = guess.codes.get(str(code))
                if told != meaning and not (meaning == "unknown" and told == ""):
                    wrong.append((column.truth, code, meaning, told))
    return wrong


@pytest.mark.parametrize("language", KEYS)
def test_a_key_above_the_names_answers_for_every_column(language: str, tmp_path: Path):
    names, lines = KEYS[language]
    form = _form(names)
    rows = [
        [_cell(form, column, row.get(column.holds)) for column in form.columns]
        for row in people(7, 200, (0, 90))
    ]
    table = [[line] for line in lines] + [[column.name for column in form.columns], *rows]
    for path in (write_csv(tmp_path / "a.csv", table), write_xlsx(tmp_path / "a.xlsx", {"Liste": table})):
        proposal = propose(path, hospital="x")
        assert {guess.field: guess.column for guess in proposal.guesses} == {
            field: column for (_, field), column in truth(form).items()
        }
        assert not _unlike(form, proposal)
        assert not [one for one in proposal.to_confirm if ".codes" in one]
        told = proposal.guess("type")
        assert told is not None
        assert "the file's own key" in told.why


@pytest.mark.parametrize("quoted", [True, False])
def test_a_key_below_the_records_is_read(quoted: bool, tmp_path: Path):
    form = _form(KEYS["english"][0])
    path = write(form, tmp_path, 3)
    quote = '"' if quoted else ""
    lines = [
        "sex 1 male 2 female; side 1 left, 2 right, 3 both; type 1=indirect 2=direct 3=both 4=femoral 9=n/k",
        "repair 1 = herniotomy 2 = mesh 3 = darn; primary/recurrent 1 = prim 2 = rec",
    ]
    with path.open("a", encoding="utf-8") as file:
        file.write("".join(f"{quote}{line}{quote}\n" for line in lines))
    proposal = propose(path, hospital="x")
    assert not [one for one in proposal.to_confirm if ".codes" in one]
    assert not _unlike(form, proposal)


def test_a_key_in_the_names_is_read(tmp_path: Path):
    form = _form(
        "Pat no | Sex (1=m, 2=f) | DOB | Op date | Side 1 left 2 right 3 both | "
        "Type [1: lateral; 2: medial; 3: both; 4: femoral; 9: n/k] | Repair 1)ligation 2)mesh 3)suture | "
        "Primary=1 Recurrent=2"
    )
    proposal = propose(write(form, tmp_path, 3), hospital="x")
    assert not [one for one in proposal.to_confirm if ".codes" in one]
    assert not _unlike(form, proposal)


def test_a_key_of_another_column_is_not_taken(tmp_path: Path):
    form = _form(KEYS["english"][0])
    form = Form(
        form.name, form.columns, titles=[["Key: ASA grade 1=healthy 2=ill 3=very ill; ward 1=K2 2=K3"]]
    )
    asked = {question.key for question in propose(write(form, tmp_path, 3), hospital="x").questions}
    assert {"sex.codes", "side.codes", "type.codes", "repair.codes", "occurrence.codes"} <= asked


def test_dates_and_pages_are_no_key():
    assert keys_in("Exported 12.03.2020 10:15 - Page 1 of 3") == ()
    assert keys_in("Cohort 2008-2023, n = 412, 3 hospitals") == ()


ASKED = [
    ("occurrence", "PrimRez"),
    ("occurrence", "Prim/Rec"),
    ("occurrence", "P/R"),
    ("occurrence", "Primair of recidief"),
    ("approach", "Open/Lap"),
    ("emergency", "Elec/Emerg"),
    ("emergency", "Urgent/Elective"),
    ("emergency", "Admission method"),
    ("emergency", "Tryb"),
    ("emergency", "Spoed/electief"),
    ("mesh_used", "Netz/Naht"),
    ("sex", "M/F"),
]


@pytest.mark.parametrize(("field", "name"), ASKED)
@pytest.mark.parametrize("cells", [("1", "2"), ("0", "1"), ("Y", "N")])
def test_a_name_that_holds_both_has_its_codes_asked(field: str, name: str, cells: tuple[str, str]):
    assert set(flags_of(field, name, cells).values()) == {None}


@pytest.mark.parametrize(
    ("field", "name", "cells", "meant"),
    [
        ("occurrence", "Rezidiv", ("0", "1"), ["primary", "recurrent"]),
        ("occurrence", "Recurrent hernia", ("N", "Y"), ["primary", "recurrent"]),
        ("occurrence", "Primäreingriff", ("nein", "ja"), ["recurrent", "primary"]),
        ("occurrence", "Recidiva", ("1", "2"), [None, None]),
        ("emergency", "Spoed", ("0", "1"), [False, True]),
        ("emergency", "Notfall", ("1", "2"), [None, None]),
        ("emergency", "Elective", ("yes", "no"), [False, True]),
        ("approach", "Skopi", ("nej", "ja"), ["open", "laparoscopic"]),
        ("approach", "Laparoscopic", ("0", "1"), ["open", "laparoscopic"]),
        ("infection", "Wound infection", ("1", "2"), [None, None]),
    ],
)
def test_a_flag_means_what_its_name_says(field: str, name: str, cells: tuple[str, str], meant: list[object]):
    assert [flags_of(field, name, cells)[cell] for cell in cells] == meant


@pytest.mark.parametrize("name", ["PrimRez", "Prim/Rec"])
def test_numbers_for_primary_or_recurrent_are_asked(name: str, tmp_path: Path):
    form = _form(f"Pat no | Sex | DOB | Op date | Side | Type | Repair | {name}")
    proposal = propose(write(form, tmp_path, 3), hospital="x")
    asked = {question.key: question.values for question in proposal.questions}
    assert set(asked["occurrence.codes"]) == {"1", "2"}
    guess = proposal.guess("occurrence")
    assert guess is not None
    assert guess.codes == {}


def test_letters_explained_without_a_sign_are_read():
    [key] = keys_in("Urgency: E elective, U urgent")
    assert (key.label, dict(key.codes)) == ("Urgency", {"e": "elective", "u": "urgent"})


def test_a_key_of_yes_and_no_does_not_tell_before_from_after(tmp_path: Path):
    # a recurrence with 1=yes may be what was operated on, or what came back later
    form = _form("Pat no | Sex | DOB | Op date | Side | Type | Repair | Recurrence (2=yes, 1=no)")
    asked = {
        question.key: question.text for question in propose(write(form, tmp_path, 3), hospital="x").questions
    }
    assert "came back later" in asked["occurrence.codes"]
