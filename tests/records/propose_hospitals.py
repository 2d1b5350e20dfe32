"""The twelve forms in which invented hospitals write their operations (`propose_forms` says how)."""

from __future__ import annotations

from .propose_forms import Form, columns

YES = {True: "yes", False: "no"}


def flags(yes: str, no: str) -> dict[str, dict[object, object]]:
    """The codes of every yes or no."""
    names = (
        "mesh_used sac_divided ring_narrowed percutaneous emergency preterm connective_tissue_disorder "
        "testicular_atrophy ascending_testis "
        "vas_injury infection recurred other_groin"
    )
    return {name: {True: yes, False: no, None: ""} for name in names.split()}


ENGLISH_CHILDREN = Form(
    "thornbury",
    columns(
        """
        Hospital no. | patient
        Surname | name | -
        D.O.B. | born_on
        Date listed | booked | -
        Admitted | admitted | -
        Date of op | operated_on
        Discharged | discharged | -
        M/F | sex
        Wt at op (kg) | weight_kg
        Gestation (wks) | gestation_weeks
        Ex-prem | preterm
        Side | side
        Findings | type
        Floor seen? | known_by
        Indication | reason
        Op performed | repair
        Open/lap | approach
        Percut. | percutaneous
        Sac divided | sac_divided
        Urgent | emergency
        Cons. surgeon | surgeon
        ASA | asa | -
        Anaesthetic | anaesthesia | -
        Last clinic | followed_until
        Recurrence (date) | recurred_on
        How picked up | recurrence_known_by
        Contralateral hernia | other_groin_on
        Testis atrophied | testicular_atrophy
        Testis ascended | ascending_testis
        Wound infected | infection
        """,
        flags("Y", "N")
        | {
            "sex": {"male": "M", "female": "F"},
            "side": {"left": "L", "right": "R", "both": "B"},
            "type": {
                "indirect": "indirect",
                "direct": "direct",
                "combined": "both",
                "femoral": "femoral",
                "unknown": "n/k",
            },
            "known_by": {
                "laparoscopic view": "lap view",
                "floor examined": "yes, examined",
                "not examined": "not examined",
                "code only": "code only",
            },
            "reason": {
                "hernia": "hernia",
                "hydrocele": "hydrocele",
                "with orchidopexy": "UDT + hernia",
                "processus closed in passing": "PPV incidental",
            },
            "repair": {"high_ligation": "herniotomy", "mesh": "mesh repair", "tissue": "darn"},
            "approach": {"open": "open", "laparoscopic": "lap"},
            "recurrence_known_by": {
                "examined": "clinic",
                "telephone": "phone call",
                "re-operation": "at redo",
                "registry": "registry",
                None: "",
            },
        },
    ),
    ages=(0, 17),
    dates="%d/%m/%Y",
    sheet="Hernias",
    titles=[["Thornbury Children's: groin hernia list"], []],
)

GERMAN_WIDE = Form(
    "eibenstein",
    columns(
        """
        Pat.-Nr. | patient
        Name, Vorname | name | -
        Geb.-Dat. | born_on
        Geschl. | sex
        Frühgeb. | preterm
        SSW | gestation_weeks
        OP-Datum li | left.operated_on | left.operated_on
        Befund li | left.type | left.type
        Verfahren li | left.repair | left.repair
        Zugang li | left.approach | left.approach
        Rezidiveingriff li | left.occurrence | left.occurrence
        Rezidiv am li | left.recurred_on | left.recurred_on
        Hodenatrophie li | left.testicular_atrophy | left.testicular_atrophy
        OP-Datum re | right.operated_on | right.operated_on
        Befund re | right.type | right.type
        Verfahren re | right.repair | right.repair
        Zugang re | right.approach | right.approach
        Rezidiveingriff re | right.occurrence | right.occurrence
        Rezidiv am re | right.recurred_on | right.recurred_on
        Hodenatrophie re | right.testicular_atrophy | right.testicular_atrophy
        letzte Nachunters. | followed_until
        verstorben am | died_on
        """,
        {
            "sex": {"male": "m", "female": "w"},
            "preterm": {True: "ja", False: "nein"},
        }
        | {
            f"{side}.{name}": codes
            for side in ("left", "right")
            for name, codes in {
                "type": {
                    "indirect": "lateral",
                    "direct": "medial",
                    "combined": "komb.",
                    "femoral": "femoral",
                    "unknown": "unklar",
                },
                "repair": {"high_ligation": "Herniotomie", "mesh": "Lichtenstein", "tissue": "Shouldice"},
                "approach": {"open": "offen", "laparoscopic": "lap."},
                "occurrence": {"primary": "nein", "recurrent": "ja"},
                "testicular_atrophy": {True: "ja", False: "nein"},
            }.items()
        },
    ),
    encoding="cp1252",
    wide=True,
    language="de",
)

FRENCH = Form(
    "valombre",
    columns(
        """
        IPP | patient
        Nom | name | -
        Date naiss. | born_on
        Sexe | sex
        Date entrée | admitted | -
        Date intervention | operated_on
        Date sortie | discharged | -
        Âge (ans) | years | age
        Côté | side
        Type de hernie | type
        Taille | ehs_size
        Prim./récid. | occurrence
        Technique | technique | repair
        Prothèse (O/N) | mesh_used
        Urgence | emergency
        Opérateur | surgeon
        Aide | assistant | -
        Date dern. nouvelles | followed_until
        Récidive le | recurred_on
        Douleur chronique | chronic_pain
        Infection site op. | infection
        Décès le | died_on
        """,
        flags("O", "N")
        | {
            "sex": {"male": "H", "female": "F"},
            "side": {"left": "G", "right": "D", "both": "Bil"},
            "type": {
                "indirect": "oblique externe",
                "direct": "directe",
                "combined": "mixte",
                "femoral": "crurale",
                "unknown": "NP",
            },
            "occurrence": {"primary": "primaire", "recurrent": "récidive"},
            "chronic_pain": {"none": "aucune", "mild": "modérée", "severe": "sévère", None: ""},
        },
    ),
    ages=(16, 92),
    dates="%d/%m/%Y",
    decimal=",",
    encoding="latin-1",
    language="fr",
)

SPANISH = Form(
    "robledal",
    columns(
        """
        NHC | patient
        F. nacimiento | born_on
        Sexo | sex
        Edad | years | age
        F. ingreso | admitted | -
        F. IQ | operated_on
        F. alta | discharged | -
        Lateralidad | side
        Hallazgo | type
        EHS | ehs
        Primaria/recidivada | occurrence
        Técnica quirúrgica | technique | repair
        Abordaje | approach
        Malla | mesh_used
        Urgente/programada | emergency
        Servicio | specialty
        Cirujano | surgeon
        Talla (cm) | height_cm
        Peso (kg) | weight_kg
        IMC | bmi | -
        Última revisión | followed_until
        Fecha recidiva | recurred_on
        Diagnóstico recidiva por | recurrence_known_by
        Dolor crónico | chronic_pain
        Infección herida | infection
        Éxitus (fecha) | died_on
        """,
        flags("Sí", "No")
        | {
            "sex": {"male": "H", "female": "M"},
            "side": {"left": "I", "right": "D", "both": "B"},
            "type": {
                "indirect": "indirecta",
                "direct": "directa",
                "combined": "mixta",
                "femoral": "crural",
                "unknown": "no consta",
            },
            "occurrence": {"primary": "primaria", "recurrent": "recidivada"},
            "approach": {"open": "abierto", "laparoscopic": "laparoscópico"},
            "emergency": {True: "urgente", False: "programada"},
            "specialty": {
                "paediatric surgery": "Cirugía pediátrica",
                "general surgery": "Cirugía general",
                "urology": "Urología",
            },
            "recurrence_known_by": {
                "examined": "consulta",
                "telephone": "teléfono",
                "re-operation": "reintervención",
                "registry": "registro",
                None: "",
            },
            "chronic_pain": {"none": "no", "mild": "leve", "severe": "intenso", None: ""},
        },
    ),
    dates="%d-%m-%Y",
    decimal=",",
    language="es",
)

ITALIAN = Form(
    "pratoverde",
    columns(
        """
        Cod. paziente | patient
        Cognome | name | -
        Data nascita | born_on
        Sesso | sex
        Data ricovero | admitted | -
        Data intervento | operated_on
        Data dimissione | discharged | -
        Lato | side
        Reperto | type
        Dimensioni (EHS) | ehs_size
        Primitiva/recidiva | occurrence
        Intervento | technique | repair
        Accesso | approach
        Regime | emergency
        Operatore | surgeon
        Peso | weight_kg
        Ultimo controllo | followed_until
        Data recidiva | recurred_on
        Tipo al reintervento | reoperation_type
        Ernia controlaterale (data) | other_groin_on
        Dolore > 3 mesi | chronic_pain
        Atrofia testicolare | testicular_atrophy
        Infezione ferita | infection
        """,
        flags("S", "N")
        | {
            "sex": {"male": "M", "female": "F"},
            "side": {"left": "sx", "right": "dx", "both": "bilat."},
            "type": {
                "indirect": "obliqua esterna",
                "direct": "diretta",
                "combined": "mista",
                "femoral": "crurale",
                "unknown": "n.d.",
            },
            "occurrence": {"primary": "primitiva", "recurrent": "recidiva"},
            "approach": {"open": "open", "laparoscopic": "VLS"},
            "emergency": {True: "urgenza", False: "elezione"},
            "reoperation_type": {"indirect": "indiretta", "direct": "diretta", None: ""},
            "chronic_pain": {"none": "assente", "mild": "lieve", "severe": "forte", None: ""},
        },
    ),
    dates="%d/%m/%Y",
    decimal=",",
    language="it",
)

DUTCH = Form(
    "wilgenhoek",
    columns(
        """
        Patnr | patient
        Geslacht | sex
        Geboortedatum | born_on
        Datum opname | admitted | -
        OK-datum | operated_on
        Datum ontslag | discharged | -
        Zijde | side
        Soort breuk | type
        Recidief? | occurrence
        Ingreep | technique | repair
        Benadering | approach
        Spoed | emergency
        Operateur | surgeon
        Zwangerschapsduur (wk) | gestation_weeks
        Prematuur | preterm
        Lengte | height_cm
        Gewicht | weight_kg
        Breukzak doorgenomen | sac_divided
        Laatste controle | followed_until
        Datum recidief | recurred_on
        Overleden op | died_on
        Pijn na 3 mnd | chronic_pain
        Wondinfectie | infection
        Testisatrofie | testicular_atrophy
        """,
        flags("ja", "nee")
        | {
            "sex": {"male": "M", "female": "V"},
            "side": {"left": "links", "right": "rechts", "both": "beiderzijds"},
            "type": {
                "indirect": "lateraal",
                "direct": "mediaal",
                "combined": "pantalon",
                "femoral": "femoraal",
                "unknown": "onbekend",
            },
            "occurrence": {"primary": "nee", "recurrent": "ja"},
            "approach": {"open": "open", "laparoscopic": "scopisch"},
            "chronic_pain": {"none": "geen", "mild": "licht", "severe": "ernstig", None: ""},
        },
    ),
    dates="%d-%m-%Y",
    decimal=",",
    language="nl",
)

DANISH = Form(
    "lyngby-vest",
    columns(
        """
        Løbenr. | patient
        Køn | sex
        Fødselsdato | born_on
        Indlagt | admitted | -
        Opr. dato | operated_on
        Udskrevet | discharged | -
        Side | side
        Hernietype | type
        Primær/recidiv | occurrence
        Operationsmetode | technique | repair
        Adgang | approach
        Akut | emergency
        Operatør | surgeon
        """,
        flags("ja", "nej")
        | {
            "sex": {"male": "M", "female": "K"},
            "side": {"left": "V", "right": "H", "both": "B"},
            "type": {
                "indirect": "lateral",
                "direct": "medial",
                "combined": "kombineret",
                "femoral": "femoral",
                "unknown": "uoplyst",
            },
            "occurrence": {"primary": "primær", "recurrent": "recidiv"},
            "approach": {"open": "åben", "laparoscopic": "laparoskopisk"},
        },
    ),
    sheet="Operationer",
    dates="true",
    visits=columns(
        """
        Løbenr. | patient
        Kontroldato | seen_on
        Recidiv | recurred
        Smerter | chronic_pain
        Infektion | infection
        """,
        flags("ja", "nej")
        | {"chronic_pain": {"none": "ingen", "mild": "lette", "severe": "svære", None: ""}},
    ),
    visits_sheet="Ambulant kontrol",
    language="da",
)

SWEDISH = Form(
    "björkfors",
    columns(
        """
        pat_id | patient
        kon | sex
        alder_man | months | age
        opdat | operated_on
        inskr_dat | admitted | -
        utskr_dat | discharged | -
        sida | side
        bracktyp | type
        indik | reason
        metod | technique | repair
        lap_oppen | approach
        akut | emergency
        operator | surgeon
        vikt | weight_kg
        langd | height_cm
        prematur | preterm
        gest_v | gestation_weeks
        uppfolj_till | followed_until
        recidiv_dat | recurred_on
        testikelatrofi | testicular_atrophy
        infektion | infection
        """,
        {
            "sex": {"male": "P", "female": "F"},
            "side": {"left": "vä", "right": "hö", "both": "bil"},
            "type": {
                "indirect": "indirekt",
                "direct": "direkt",
                "combined": "komb",
                "femoral": "femoral",
                "unknown": "okänt",
            },
            "reason": {
                "hernia": "ljumskbråck",
                "hydrocele": "hydrocele",
                "with orchidopexy": "retentio testis",
                "processus closed in passing": "öppen PV bifynd",
            },
            "approach": {"open": "öppen", "laparoscopic": "lap"},
        },
    ),
    ages=(0, 16),
    dates="%Y-%m-%d",
    delimiter="\t",
    language="sv",
)

NORWEGIAN = Form(
    "storvika",
    columns(
        """
        PasientID | patient
        Kjønn | sex
        Født | born_on
        Innlagt | admitted | -
        Operert dato | operated_on
        Side | side
        Type brokk | type
        EHS-størrelse | ehs_size
        Vurdering av bakvegg | known_by
        Inngrep | technique | repair
        Tilgang | approach
        Nett | mesh_used
        Ø-hjelp | emergency
        Kirurg | surgeon
        Avdeling | specialty
        Vekt (kg) | weight_kg
        Høyde (cm) | height_cm
        Sist kontrollert | followed_until
        Residiv dato | recurred_on
        Død | died_on
        Kronisk smerte | chronic_pain
        Sårinfeksjon | infection
        """,
        flags("Ja", "Nei")
        | {
            "sex": {"male": "mann", "female": "kvinne"},
            "side": {"left": "venstre", "right": "høyre", "both": "begge"},
            "type": {
                "indirect": "indirekte",
                "direct": "direkte",
                "combined": "begge deler",
                "femoral": "lårbrokk",
                "unknown": "ukjent",
            },
            "known_by": {
                "laparoscopic view": "laparoskopi",
                "floor examined": "undersøkt",
                "not examined": "ikke undersøkt",
                "code only": "bare kode",
            },
            "approach": {"open": "åpen", "laparoscopic": "lap."},
            "specialty": {
                "paediatric surgery": "barnekirurgi",
                "general surgery": "gastrokirurgi",
                "urology": "urologi",
            },
            "chronic_pain": {"none": "ingen", "mild": "lett", "severe": "sterk", None: ""},
        },
    ),
    decimal=",",
    language="no",
)

PORTUGUESE = Form(
    "serra-alta",
    columns(
        """
        Nº processo | patient
        Nome | name | -
        Data nasc. | born_on
        Sexo | sex
        Idade | years | age
        Data internamento | admitted | -
        Data cirurgia | operated_on
        Data alta | discharged | -
        Lado | side
        Tipo hérnia | type
        Primária/recidivada | occurrence
        Procedimento | technique | repair
        Via | approach
        Prótese | mesh_used
        Urgente | emergency
        Cirurgião | surgeon
        Altura | height_cm
        Peso | weight_kg
        Última consulta | followed_until
        Data recidiva | recurred_on
        Óbito | died_on
        Dor crónica | chronic_pain
        Infeção ferida | infection
        """,
        flags("Sim", "Não")
        | {
            "sex": {"male": "M", "female": "F"},
            "side": {"left": "E", "right": "D", "both": "Bilateral"},
            "type": {
                "indirect": "indireta",
                "direct": "direta",
                "combined": "mista",
                "femoral": "femoral",
                "unknown": "desconhecida",
            },
            "occurrence": {"primary": "primária", "recurrent": "recidivada"},
            "approach": {"open": "aberta", "laparoscopic": "laparoscópica"},
            "chronic_pain": {"none": "sem dor", "mild": "ligeira", "severe": "intensa", None: ""},
        },
    ),
    ages=(18, 90),
    dates="%d/%m/%Y",
    decimal=",",
    encoding="cp1252",
    language="pt",
)

POLISH = Form(
    "debowiec",
    columns(
        """
        Lp. | row | -
        Nr hist. chor. | patient
        Płeć | sex
        Data ur. | born_on
        Wiek | years | age
        Data przyjęcia | admitted | -
        Data zabiegu | operated_on
        Data wypisu | discharged | -
        Strona | side
        Rodzaj przepukliny | type
        Pierwotna/nawrotowa | occurrence
        Metoda operacji | technique | repair
        Dostęp | approach
        Tryb | emergency
        Operator | surgeon
        Masa ciała | weight_kg
        Wzrost | height_cm
        Ostatnia kontrola | followed_until
        Data nawrotu | recurred_on
        Zgon | died_on
        Ból przewlekły | chronic_pain
        Zakażenie rany | infection
        """,
        flags("tak", "nie")
        | {
            "sex": {"male": "M", "female": "K"},
            "side": {"left": "L", "right": "P", "both": "obustr."},
            "type": {
                "indirect": "skośna",
                "direct": "prosta",
                "combined": "mieszana",
                "femoral": "udowa",
                "unknown": "b.d.",
            },
            "occurrence": {"primary": "pierwotna", "recurrent": "nawrotowa"},
            "approach": {"open": "otwarty", "laparoscopic": "laparoskopowy"},
            "emergency": {True: "nagły", False: "planowy"},
            "chronic_pain": {"none": "brak", "mild": "łagodny", "severe": "silny", None: ""},
        },
    ),
    decimal=",",
    encoding="utf-8-sig",
    language="pl",
)

TERSE = Form(
    "cawdor-hall",
    columns(
        """
        pid | patient
        sx | sex
        dob | born_on
        adm_dt | admitted | -
        op_dt | operated_on
        dc_dt | discharged | -
        age_op | years_exact | age
        lat | side
        htype | type
        hsize | ehs_size
        prim_rec | occurrence
        proc | repair
        lap | approach
        emerg | emergency
        ans | anaesthesia | -
        dur_min | minutes | -
        surg | surgeon
        ht_cm | height_cm
        wt_kg | weight_kg
        bmi | bmi | -
        tanner | puberty_stage
        ring_mm | ring_mm
        ctd | connective_tissue_disorder
        lfu_dt | followed_until
        rec_dt | recurred_on
        rec_how | recurrence_known_by
        redo_type | reoperation_type
        contra_dt | other_groin_on
        dth_dt | died_on
        cpip | chronic_pain
        atrophy | testicular_atrophy
        vas_inj | vas_injury
        ssi | infection
        """,
        {
            "sex": {"male": "1", "female": "2"},
            "side": {"left": "1", "right": "2", "both": "3"},
            "type": {"indirect": "1", "direct": "2", "combined": "3", "femoral": "4", "unknown": "9"},
            "occurrence": {"primary": "P", "recurrent": "R"},
            "repair": {"high_ligation": "1", "tissue": "2", "mesh": "3"},
            "approach": {"open": "0", "laparoscopic": "1"},
            "recurrence_known_by": {
                "examined": "1",
                "telephone": "2",
                "re-operation": "3",
                "registry": "4",
                None: "",
            },
            "reoperation_type": {"indirect": "1", "direct": "2", None: ""},
            "chronic_pain": {"none": "0", "mild": "1", "severe": "2", None: ""},
        },
    ),
    dates="%m/%d/%Y",
    delimiter=",",
)

LISTED_CODES = Form(
    "mossbank",
    columns(
        """
        Study ID | patient
        Sex (1=male, 2=female) | sex
        Age in months | months | age
        Operation date | operated_on
        Consent date | consented | -
        Entered on | entered | -
        Side | side
        Hernia type | type
        Repair type | repair
        Operation note | note
        Birth weight (g) | birth_weight | -
        Weight | weight_kg
        Surgeon code | surgeon
        Last seen | followed_until
        """,
        {
            "sex": {"male": "1", "female": "2"},
            "side": {"left": "1", "right": "2", "both": "3"},
            "type": {"indirect": "1", "direct": "2", "combined": "3", "femoral": "4", "unknown": "9"},
            "repair": {"high_ligation": "1", "tissue": "2", "mesh": "3"},
        },
    ),
    ages=(0, 18),
    dates="true",
    sheet="Data",
    list_of_codes=[
        ["Column", "Code", "Meaning"],
        ["Side", "1", "left"],
        ["Side", "2", "right"],
        ["Side", "3", "bilateral"],
        ["Hernia type", "1", "indirect (lateral)"],
        ["Hernia type", "2", "direct (medial)"],
        ["Hernia type", "3", "pantaloon"],
        ["Hernia type", "4", "femoral"],
        ["Hernia type", "9", "not known"],
        ["Repair type", "1", "herniotomy"],
        ["Repair type", "2", "suture repair"],
        ["Repair type", "3", "mesh"],
    ],
)

FORMS = (
    ENGLISH_CHILDREN,
    GERMAN_WIDE,
    FRENCH,
    SPANISH,
    ITALIAN,
    DUTCH,
    DANISH,
    SWEDISH,
    NORWEGIAN,
    PORTUGUESE,
    POLISH,
    TERSE,
    LISTED_CODES,
)
