"""Nine exports from German-, French- and Dutch-speaking hospitals."""

# ruff: noqa: E501 - one column of the export a line

from __future__ import annotations

import random
from typing import Any

from . import people
from .shape import (
    C,
    Export,
    I,
    L,
    R,
    X,
    clock,
    comma,
    from_type,
    gram,
    months,
    near,
    number,
    of_person,
    one_of,
    plain,
    random_number,
    serial,
    weeks_and_days,
    whole,
)

DE, FR, NL = (people.staff(country, 6, 11) for country in ("de", "fr", "nl"))
JA_NEIN = {"yes": "ja", "no": "nein"}
J_N = {"yes": "J", "no": "N"}
O_N = {"yes": "O", "no": "N"}
OUI_NON = {"yes": "oui", "no": "non"}

NOTES_DE = {
    "indirect": ["Leistenschnitt {s}. Indirekter Bruchsack, bis zum inneren Ring präpariert, Durchstechungsligatur.",
                 "Offener Processus vaginalis {s}, Bruchsack zart, hohe Ligatur. Hinterwand fest."],
    "direct": ["Kein lateraler Bruchsack. Mediale Vorwölbung der Hinterwand {s}, direkte Hernie, gedoppelt."],
    "combined": ["Sowohl lateraler als auch medialer Sack {s}."],
    "femoral": ["Bruchlücke unterhalb des Leistenbandes {s}, Schenkelhernie, Verschluss."],
}  # fmt: skip
NOTES_FR = {
    "indirect": ["Incision au pli inguinal {s}. Sac indirect disséqué jusqu'à l'orifice profond, ligature haute.",
                 "Canal péritonéo-vaginal {s} perméable, section et ligature. Paroi postérieure solide."],
    "direct": ["Pas de sac indirect. Faiblesse de la paroi postérieure {s}, hernie directe, raphie."],
    "combined": ["Hernie mixte {s}, deux sacs de part et d'autre des vaisseaux épigastriques."],
    "femoral": ["Hernie crurale {s}, sac réduit, fermeture."],
}  # fmt: skip


def note_from(bank: dict[str, list[str]], sides: dict[str, str]) -> Any:
    return lambda row, rng: rng.choice(bank[row.op["type"]]).format(s=sides[row.op["side"]])


MONTHS_DE = ["Jan.", "Feb.", "März", "Apr.", "Mai", "Juni", "Juli", "Aug.", "Sept.", "Okt.", "Nov.", "Dez."]


def spoken_date(value: Any, _: random.Random) -> str:
    return f"{value.day}. {MONTHS_DE[value.month - 1]} {value.year}"


EXPORTS: list[tuple[int, Export]] = []


def add(at: int, export: Export) -> None:
    EXPORTS.append((at, export))


add(
    9,
    Export(
        "hernienregister_de", "de", "hernia register, coded", "de",
        rows=57, mix="adults", encoding="cp1252", delimiter=";", dates="dmy", male=0.9,
        columns=[
            X("lfd. Nr.", serial()),
            C("Pat.-Nr.", "patient", "{}"),
            I("Fallnummer", random_number("40######")),
            I("Name, Vorname", of_person("{p.last}, {p.first}")),
            C("Geb.-Datum", "born_on", "%d.%m.%Y"),
            C("Geschlecht (1=m, 2=w)", "sex", {"male": 1, "female": 2}),
            C("OP-Datum", "operated_on", "%d.%m.%Y"),
            X("Schnittzeit", clock),
            X("Naht", clock),
            X("ASA-Klasse", one_of(1, 2, 2, 3)),
            X("BMI", lambda _, rng: f"{rng.uniform(20, 33):.1f}".replace(".", ",")),
            C("Größe (cm)", "height_cm", whole, 0.1),
            C("Gewicht kg", "weight_kg", comma(1), 0.1),
            C("Seite (1=re, 2=li)", "side", {"right": 1, "left": 2}),
            C("Lokalisation (L/M/K/F)", "type", {"indirect": "L", "direct": "M", "combined": "K", "femoral": "F"}, 0.04),
            C("Bruchpforte (Querfinger)", "ehs_size", plain, 0.1),
            C("Primär/Rezidiv", "occurrence", {"primary": "P", "recurrent": "R"}),
            C("Netz", "mesh_used", {"yes": 1, "no": 0}),
            C("Zugang", "approach", {"open": "offen", "laparoscopic": ["TEP", "TAPP"]}),
            C("Operateur", "surgeon", ["KRÖ", "BÄU", "VOG", "SCH", "LIN", "HÜT"]),
            X("Anästhesie", one_of("ITN", "SPA", "LA", "LAMA")),
            X("OPS", from_type(indirect=["5-530.31", "5-530.73"], direct=["5-530.33"], combined=["5-530.33"],
                               femoral=["5-531.31"])),
            X("Aufnahme", near(-1, 0, "%d.%m.%Y")),
            X("Entlassung", near(0, 4, "%d.%m.%Y")),
            X("Station", one_of("C2", "C3", "TK")),
            C("Schmerz > 3 Mon.", "chronic_pain", {"none": "0", "mild": "1", "severe": "2", "unknown": "9"}, 0.2),
        ],
    ),
)  # fmt: skip

add(
    10,
    Export(
        "kinderchirurgie_breit_de", "de", "paediatric surgeon's workbook, one row a child", "de",
        form="patients", rows=36, mix="children", both=0.3, extension="xlsx", sheet="Leistenhernien",
        sheet_date="dd.mm.yyyy", dates="dmy",
        above=[["Leistenhernien Kinderchirurgie 2009–2018"], []],
        below=lambda table: [["Summe", len(table)]],
        columns=[
            C("Patienten-ID", "patient", "KC{:06d}"),
            I("Nachname", of_person("{p.last}")),
            I("Vorname", of_person("{p.first}")),
            I("Telefon Eltern", of_person("{p.phone}")),
            I("PLZ Ort", of_person("{p.postcode} {p.town}")),
            C("Geburtsdatum", "born_on", "true"),
            C("m/w", "sex", {"male": "m", "female": "w"}),
            C("SSW", "gestation_weeks", weeks_and_days, 0.1),
            C("Gewicht bei OP (g)", "weight_kg", gram, 0.1),
            X("Kinderarzt informiert", one_of("x", "x", "")),
            L("OP links am", "operated_on", ("true", "true", "%d.%m.%Y")),
            L("Befund links", "type", {"indirect": ["indirekt", "indir."], "direct": "direkt",
                                       "combined": "kombiniert", "femoral": "Schenkelhernie", "absent": "keine"}),
            L("Anlass links", "reason", {"hernia": "Hernie", "hydrocele": "Hydrozele", "with orchidopexy": "bei Orchidopexie",
                                         "processus closed in passing": "offener PV mitverschlossen"}),
            L("Rezidiv links am", "recurred_on", "true"),
            R("OP rechts am", "operated_on", ("true", "true", "%d.%m.%Y")),
            R("Befund rechts", "type", {"indirect": ["indirekt", "indir."], "direct": "direkt",
                                        "combined": "kombiniert", "femoral": "Schenkelhernie", "absent": "keine"}),
            R("Anlass rechts", "reason", {"hernia": "Hernie", "hydrocele": "Hydrozele", "with orchidopexy": "bei Orchidopexie",
                                          "processus closed in passing": "offener PV mitverschlossen"}),
            R("Rezidiv rechts am", "recurred_on", "true"),
            C("offen / lap.", "approach", {"open": "offen", "laparoscopic": "lap."}),
            C("Inkarzeration / Notfall", "emergency", {"yes": "ja", "no": "nein"}),
            C("letzte Kontrolle", "followed_until", "true", 0.2),
            X("Bemerkung", one_of("", "", "Eltern wünschen Termin nachmittags", "Brief versandt")),
        ],
        unit={"weight_kg": "g"},
    ),
)  # fmt: skip

add(
    11,
    Export(
        "op_buch_saeuglinge_de", "de", "theatre log of a children's ward", "de",
        rows=41, mix="infants", extension="tsv", delimiter="\t", encoding="utf-8-sig", dates="dmy",
        unit={"age": "months"}, needs=("indirect",),
        columns=[
            X("Saal", one_of("OP 1", "OP 3", "AOZ")),
            X("Buch-Nr", serial("{}/15", 201)),
            C("Patientennummer", "patient", "{:07d}"),
            I("Patient", of_person("{p.last}, {p.first}")),
            I("Kasse / Vers.-Nr.", random_number("X#########")),
            C("Alter (Mon.)", "age", months),
            C("Geschl.", "sex", {"male": "männl.", "female": "weibl."}),
            C("Datum", "operated_on", ("%d.%m.%y", "%d.%m.%Y", spoken_date)),
            C("Körpergewicht", "weight_kg", comma(2), 0.05),
            C("Frühgeb.", "preterm", {"yes": "FG", "no": "RG"}),
            C("Seite", "side", {"left": ["li", "li.", "links"], "right": ["re", "re.", "rechts"]}),
            C("Hernienart", "type", {"indirect": ["indirekt", "indirekt (Proc. vag.)"], "direct": "direkt",
                                     "combined": "komb.", "femoral": "femoral", None: "?"}),
            C("Op-Methode", "approach", {"open": "offen inguinal", "laparoscopic": "laparoskopisch"}),
            C("1. Operateur", "surgeon", [f"OA Dr. {name}" for name in DE]),
            X("1. Assistenz", one_of("AA Dr. Zahn", "PJ", "AÄ Dr. Vogt")),
            X("Anästhesist", one_of("Dr. Petersen", "Dr. Öztürk")),
            C("Dringlichkeit", "emergency", {"yes": ["N1", "N2"], "no": ["elektiv"]}),
            X("Blutverlust ml", one_of(0, 0, 5)),
            C("OP-Bericht", "note", note_from(NOTES_DE, {"left": "links", "right": "rechts"})),
        ],
    ),
)  # fmt: skip

add(
    28,
    Export(
        "studiendatenbank_de", "de", "research database with a code list on a second sheet", "de",
        rows=60, mix="teens", extension="xlsx", sheet="daten", sheet_date="yyyy-mm-dd", dates="ymd",
        more_sheets={"codes": [["variable", "wert", "bedeutung"], ["geschl", 1, "männlich"], ["geschl", 2, "weiblich"],
                               ["seite", 1, "rechts"], ["seite", 2, "links"], ["typ", 1, "indirekt (lateral)"],
                               ["typ", 2, "direkt (medial)"], ["typ", 3, "kombiniert"], ["typ", 4, "femoral"],
                               ["vers", 1, "Herniotomie"], ["vers", 2, "Naht"], ["vers", 3, "Netz"],
                               ["zug", 1, "offen"], ["zug", 2, "laparoskopisch"], ["fach", 1, "Kinderchirurgie"],
                               ["fach", 2, "Allgemeinchirurgie"]]},
        columns=[
            C("pat_id", "patient", plain),
            C("gebdat", "born_on", ("true", "true", "%Y-%m-%d")),
            C("geschl", "sex", {"male": 1, "female": 2}),
            X("einschl_dat", near(-20, 0, "true")),
            C("opdat", "operated_on", ("true", "true", "%Y-%m-%d")),
            C("seite", "side", {"right": 1, "left": 2}),
            C("typ", "type", {"indirect": 1, "direct": 2, "combined": 3, "femoral": 4}, 0.06),
            C("vers", "repair", {"high_ligation": 1, "tissue": 2, "mesh": 3}, 0.03),
            C("zug", "approach", {"open": 1, "laparoscopic": 2}),
            C("fach", "specialty", {"paediatric surgery": 1, "general surgery": 2}),
            C("operateur_nr", "surgeon", [101, 102, 103, 104, 105, 106]),
            C("groesse", "height_cm", whole, 0.05),
            C("gewicht", "weight_kg", plain, 0.05),
            C("tanner", "puberty_stage", plain, 0.2),
            C("rezidivhernie", "occurrence", {"primary": "nein", "recurrent": "ja"}),
            C("bindegew_erkr", "connective_tissue_disorder", {"yes": 1, "no": 0}),
            C("ring_mm", "ring_mm", plain, 0.3),
            C("fu_bis", "followed_until", ("true", "%Y-%m-%d"), 0.1),
            C("rez_dat", "recurred_on", "true"),
            C("gegenseite_dat", "other_groin_on", "true"),
            X("asa", one_of(1, 1, 2)),
            X("vas_ruhe", number(0, 4)),
            X("raucher", one_of(0, 0, 1)),
            X("monitor_ok", one_of(1, 1, 0)),
        ],
    ),
)  # fmt: skip

add(
    12,
    Export(
        "bloc_operatoire_fr", "fr", "theatre extract with act codes", "fr",
        rows=49, mix="all", encoding="cp1252", delimiter=";", dates="dmy",
        columns=[
            X("Salle", one_of("Salle 2", "Salle 5", "Ambu")),
            C("N° patient (IPP)", "patient", "{:08d}"),
            I("N° séjour", random_number("18#######")),
            I("Nom", of_person("{p.last}")),
            I("Prénom", of_person("{p.first}")),
            C("Date de naissance", "born_on", "%d/%m/%Y"),
            C("Sexe", "sex", {"male": "M", "female": "F"}),
            C("Date d'intervention", "operated_on", "%d/%m/%Y"),
            X("Date d'entrée", near(-1, 0)),
            X("Date de sortie", near(0, 3)),
            X("Code acte", one_of("LMMA010", "LMMA012", "LMMC002", "LMMA006")),
            X("Diagnostic principal", from_type(indirect=["K409"], direct=["K409"], combined=["K409"], femoral=["K419"])),
            C("Côté", "side", {"left": "G", "right": "D"}),
            C("Type de hernie", "type", {"indirect": ["oblique externe", "indirecte"], "direct": "directe",
                                         "combined": "mixte", "femoral": "crurale"}, 0.05),
            C("Récidive", "occurrence", {"primary": "N", "recurrent": "O"}),
            C("Prothèse", "mesh_used", O_N),
            C("Voie d'abord", "approach", {"open": "ouverte", "laparoscopic": "cœlioscopie"}),
            C("Urgence", "emergency", O_N),
            C("Opérateur", "surgeon", [f"Dr {name.upper()}" for name in FR]),
            X("Aide opératoire", one_of("Interne", "IBODE", "")),
            X("Anesthésie", one_of("AG", "AG + bloc", "Rachi")),
            X("GHM", one_of("06C12J", "06C121", "06C24J")),
            X("Score ASA", one_of(1, 2, 2, 3)),
        ],
    ),
)  # fmt: skip

add(
    13,
    Export(
        "chirurgien_enfants_large_fr", "fr", "surgeon's table, one row a child", "fr",
        form="patients", rows=33, mix="children", both=0.3, same_day=True, encoding="utf-8-sig", delimiter=";",
        dates="dmy", unit={"age": "months"},
        above=[["Hernies de l'enfant - tableau personnel"]],
        columns=[
            C("Dossier", "patient", "{}"),
            I("Nom de l'enfant", of_person("{p.last} {p.first}")),
            I("Tél. mère", of_person("{p.phone}")),
            C("Âge (mois)", "age", months),
            C("Garçon/Fille", "sex", {"male": ["G", "garçon"], "female": ["F", "fille"]}),
            C("Terme (SA)", "gestation_weeks", plain, 0.15),
            C("Poids (kg)", "weight_kg", comma(1), 0.05),
            C("Date opération", "operated_on", ("%d/%m/%Y", "%d/%m/%y")),
            L("Hernie gauche", "type", {"indirect": "indirecte", "direct": "directe", "combined": "mixte",
                                        "femoral": "crurale", "absent": "non opéré"}),
            R("Hernie droite", "type", {"indirect": "indirecte", "direct": "directe", "combined": "mixte",
                                        "femoral": "crurale", "absent": "non opéré"}),
            L("Section du sac G", "sac_divided", OUI_NON),
            R("Section du sac D", "sac_divided", OUI_NON),
            L("Atrophie test. G", "testicular_atrophy", OUI_NON, 0.1),
            R("Atrophie test. D", "testicular_atrophy", OUI_NON, 0.1),
            L("Récidive G (date)", "recurred_on", "%d/%m/%Y"),
            R("Récidive D (date)", "recurred_on", "%d/%m/%Y"),
            C("Cœlio", "approach", {"open": "non", "laparoscopic": "oui"}),
            C("Étranglée / urgence", "emergency", OUI_NON),
            C("Dernière consultation", "followed_until", "%d/%m/%Y", 0.15),
            X("Ambulatoire", one_of("oui", "oui", "non")),
            X("Remarques", one_of("", "", "courrier fait", "reconvoquer", "à revoir dans 6 mois")),
        ],
    ),
)  # fmt: skip

add(
    29,
    Export(
        "etude_pediatrique_fr", "fr", "paediatric study workbook", "fr",
        rows=43, mix="infants", extension="xlsx", sheet="Données", dates="dmy",
        needs=("indirect",), unit={"weight_kg": "g"},
        columns=[
            C("Identifiant hôpital", "patient", "P{:06d}"),
            I("Initiales", of_person("{p.initials}")),
            C("Né(e) le", "born_on", "true"),
            C("Sexe (1 garçon, 2 fille)", "sex", {"male": 1, "female": 2}),
            C("Âge gestationnel", "gestation_weeks", plain, 0.1),
            X("Poids de naissance (g)", lambda row, rng: round(
                rng.gauss(3400 - 190 * max(0, 40 - row.patient.gestation_weeks), 120))),
            C("Poids jour op. (g)", "weight_kg", gram, 0.05),
            C("Opéré(e) le", "operated_on", ("true", "true", "%d/%m/%Y")),
            C("Latéralité", "side", {"left": "gauche", "right": "droite"}),
            C("Nature de la hernie", "type", {"indirect": "indirecte", "direct": "directe", "combined": "mixte",
                                              "femoral": "crurale", None: "NSP"}),
            C("Mode de constatation", "known_by", {"laparoscopic view": "vue cœlioscopique", "floor examined": "plancher vu",
                                                  "not examined": "non exploré", "code only": "codage"}),
            C("Diamètre orifice profond (mm)", "ring_mm", plain, 0.2),
            C("Orifice rétréci", "ring_narrowed", OUI_NON, 0.1),
            C("Percutané", "percutaneous", OUI_NON),
            C("Maladie du tissu conjonctif", "connective_tissue_disorder", OUI_NON),
            C("Compte rendu opératoire", "note", note_from(NOTES_FR, {"left": "gauche", "right": "droit"})),
            C("Perdu de vue / dernières nouvelles", "followed_until", "true", 0.1),
            C("Ascension secondaire du testicule", "ascending_testis", OUI_NON, 0.1),
            C("Infection de paroi", "infection", OUI_NON, 0.05),
            X("Consentement signé le", near(-40, -1, "true")),
            X("Saisie par", one_of("ARC 1", "ARC 2")),
        ],
    ),
)  # fmt: skip

add(
    18,
    Export(
        "operatieregister_nl", "nl", "theatre register", "nl",
        rows=51, mix="adults", delimiter=";", dates="dmy", male=0.9,
        columns=[
            X("OK-kamer", one_of("OK 3", "OK 7", "Dagbeh.")),
            C("Patiëntnummer", "patient", "{:07d}"),
            I("BSN", random_number("0########")),
            I("Achternaam", of_person("{p.last}")),
            I("Voorletters", of_person("{p.first:.1}.")),
            C("Geb.datum", "born_on", "%d-%m-%Y"),
            C("Geslacht", "sex", {"male": "M", "female": "V"}),
            C("Operatiedatum", "operated_on", "%d-%m-%Y"),
            X("Opnamedatum", near(-1, 0, "%d-%m-%Y")),
            X("Ontslagdatum", near(0, 2, "%d-%m-%Y")),
            C("Zijde", "side", {"left": ["L", "Li"], "right": ["R", "Re"]}),
            C("Soort breuk", "type", {"indirect": ["lateraal", "laterale"], "direct": ["mediaal"],
                                      "combined": "pantalon", "femoral": "femoralis"}, 0.05),
            C("Recidief", "occurrence", {"primary": "nee", "recurrent": "ja"}),
            C("Mat geplaatst", "mesh_used", {"yes": "ja", "no": "nee"}),
            C("Techniek", "approach", {"open": "open", "laparoscopic": ["TEP", "lap."]}),
            C("Spoed", "emergency", {"yes": "S", "no": "E"}),
            C("Operateur", "surgeon", NL),
            X("Anesthesist", one_of(*NL[3:])),
            X("ASA", one_of(1, 2, 3)),
            C("Gewicht (kg)", "weight_kg", comma(1), 0.1),
            C("Overlijdensdatum", "died_on", "%d-%m-%Y"),
            X("Zorgproduct", random_number("9900#####")),
            X("Ligduur", one_of(0, 0, 1, 2)),
        ],
    ),
)  # fmt: skip

add(
    19,
    Export(
        "liesbreuk_kinderen_breed_nl", "nl", "research file, one row a child", "nl",
        form="patients", rows=45, mix="children", both=0.3, dates="ymd",
        columns=[
            C("pt_nr", "patient", "{}"),
            C("geb_dat", "born_on", "%Y-%m-%d"),
            C("geslacht", "sex", {"male": "jongen", "female": "meisje"}),
            C("zwduur_wk", "gestation_weeks", plain, 0.1),
            X("geb_gewicht", lambda row, rng: round(
                rng.gauss(3400 - 190 * max(0, 40 - row.patient.gestation_weeks), 120))),
            I("huisarts", one_of("Kuipers", "Smeets", "Brouwer")),
            L("li_opdat", "operated_on", "%Y-%m-%d"),
            L("li_type", "type", {"indirect": "indirect", "direct": "direct", "combined": "beide", "femoral": "femoraal"}),
            L("li_scopie", "approach", {"open": 0, "laparoscopic": 1}),
            L("li_recidief_dat", "recurred_on", "%Y-%m-%d"),
            L("li_wondinf", "infection", {"yes": 1, "no": 0}),
            R("re_opdat", "operated_on", "%Y-%m-%d"),
            R("re_type", "type", {"indirect": "indirect", "direct": "direct", "combined": "beide", "femoral": "femoraal"}),
            R("re_scopie", "approach", {"open": 0, "laparoscopic": 1}),
            R("re_recidief_dat", "recurred_on", "%Y-%m-%d"),
            R("re_wondinf", "infection", {"yes": 1, "no": 0}),
            C("bindweefselziekte", "connective_tissue_disorder", {"yes": 1, "no": 0}),
            C("laatste_contact", "followed_until", "%Y-%m-%d", 0.05),
            X("ic_getekend", near(-60, 0, "%Y-%m-%d")),
            X("invoer_door", one_of("MB", "LK")),
        ],
    ),
)  # fmt: skip
