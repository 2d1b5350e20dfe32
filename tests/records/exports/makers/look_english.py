"""Twelve exports from English-speaking hospitals: United Kingdom, United States, Ireland, Australia and India."""

# ruff: noqa: E501 - one column of the export a line

from __future__ import annotations

import csv
import random
from typing import Any

from . import people
from .shape import (
    C,
    Export,
    I,
    L,
    R,
    Row,
    X,
    by,
    clock,
    days,
    from_type,
    gram,
    months,
    near,
    number,
    of_person,
    one_of,
    plain,
    point,
    random_number,
    serial,
    whole,
    years,
    years_and_tenths,
)

UK, US, IE, AU, IN = (people.staff(country, 6, 7) for country in ("en", "us", "ie", "en", "in"))
YES = {"yes": "Y", "no": "N"}
YES_NO = {"yes": "Yes", "no": "No"}
ONE_NOUGHT = {"yes": 1, "no": 0}

UK_NOTES = {
    "indirect": [
        "Groin crease incision. Indirect sac dissected off cord and vas, transfixed 4/0 PDS at deep ring. {s} testis down.",
        "{S} inguinal herniotomy. Thin walled sac separated from vas and vessels. High ligation. Skin subcuticular.",
        "Indirect sac, contained bowel, reduced. Herniotomy, no floor weakness seen.",
    ],
    "direct": [
        "Sac medial to the inferior epigastrics, direct. No indirect sac on opening cord. Floor plicated.",
        "{S} direct hernia, broad based bulge through posterior wall. Reduced and floor repaired.",
    ],
    "combined": [
        "Pantaloon hernia {s}: direct and indirect components either side of epigastric vessels. Both dealt with."
    ],
    "femoral": [
        "Explored {s} groin. Inguinal canal empty; femoral sac found below ligament, reduced, canal closed."
    ],
}
US_NOTES = {
    "indirect": [
        "{S} inguinal crease incision. Hernia sac identified anteromedial to cord, dissected to internal ring, suture ligated x2.",
    ],
    "indirect laparoscopic": [
        "Laparoscopy: patent {s} internal ring, no floor defect. Ring closed with purse-string, gas let out.",
        "Open {s} ring seen with scope, sac within. Suture closure of the ring under vision.",
    ],
    "direct": [
        "{S} groin explored. No indirect sac. Weakness of transversalis fascia, direct hernia, repaired with interrupted suture."
    ],
    "combined": ["Both an indirect sac and a direct defect on the {s}; sac ligated and floor repaired."],
    "femoral": ["Femoral hernia on the {s}. Reduced. Cooper ligament repair."],
}


def note_from(bank: dict[str, list[str]], *, whole_patient: bool = False) -> Any:
    def cell(row: Row, rng: random.Random) -> str:
        ops = row.patient.ops if whole_patient else [row.op]
        said = []
        for op in ops:
            key = f"{op['type']} {op['approach']}"
            phrase = rng.choice(bank.get(key) or bank[op["type"]])
            said.append(phrase.format(s=op["side"], S=op["side"].capitalize()))
        return " ".join(said)

    return cell


EXPORTS: list[tuple[int, Export]] = []


def add(at: int, export: Export) -> None:
    EXPORTS.append((at, export))


add(
    1,
    Export(
        "theatre_system_children_uk", "en-GB", "theatre system, children's hospital", "en",
        rows=46, mix="children", dates="dmy",
        columns=[
            X("Theatre", one_of("TH1", "TH2", "TH4", "DSU")),
            C("Hospital No.", "patient", "H{:06d}"),
            I("NHS Number", of_person("999 {p.national:.3} {p.national:.4}")),
            I("Surname", of_person("{p.last}")),
            I("Forename", of_person("{p.first}")),
            C("D.O.B.", "born_on", "%d/%m/%Y"),
            C("Sex", "sex", {"male": "M", "female": "F"}),
            C("Op Date", "operated_on", "%d/%m/%Y"),
            X("List", one_of("AM", "PM", "ALL DAY")),
            X("Knife to skin", clock),
            X("Anaesthetist", one_of(*UK[3:])),
            X("ASA", one_of(1, 1, 1, 2, 3)),
            X("Anaes. type", one_of("GA", "GA + caudal", "GA + ilioinguinal block", "Spinal")),
            C("Surgeon", "surgeon", [f"Mr {name}" for name in UK]),
            C("Urgency", "emergency", {"yes": "Emergency", "no": ["Elective", "Elective", "Elective"]}),
            X("Procedure booked", one_of("Inguinal herniotomy", "Herniotomy +/- proceed", "Groin exploration")),
            C("Side", "side", {"left": "L", "right": "R"}),
            C("Hernia Type", "type", {"indirect": "Indirect", "direct": "Direct", "combined": "Pantaloon",
                                      "femoral": "Femoral"}, 0.06),
            C("Approach", "approach", {"open": "Open", "laparoscopic": ["Lap", "Laparoscopic"]}),
            C("Wt (kg)", "weight_kg", point(1), 0.1),
            X("Ward", one_of("Bluebell", "Starfish", "Day Case")),
            X("Admitted", near(-1, 0)),
            X("Discharged", near(0, 2)),
            X("Specimen sent", one_of("N", "N", "N", "Y")),
        ],
    ),
)  # fmt: skip

add(
    2,
    Export(
        "pas_extract_uk", "en-GB", "PAS extract with OPCS-like and ICD-10 codes", "en",
        rows=54, mix="all", extension="txt", delimiter="|", dates="ymd",
        columns=[
            X("PROVIDER_SPELL_ID", random_number("SP#######")),
            C("LOCAL_PATIENT_ID", "patient", "{:08d}"),
            I("NHS_NO", of_person("999{p.national:.7}")),
            I("PATIENT_NAME", of_person("{p.last}, {p.first}")),
            I("POSTCODE", of_person("{p.postcode}")),
            I("USUAL_ADDRESS", of_person("{p.address}")),
            C("DATE_OF_BIRTH", "born_on", "%Y%m%d"),
            C("SEX_CODE", "sex", {"male": 1, "female": 2}),
            X("ETHNIC_CAT", one_of("A", "B", "H", "M", "Z")),
            C("ADMISSION_METHOD", "emergency", {"yes": ["21", "22"], "no": ["11", "12", "13"]}),
            X("ADMISSION_DATE", near(-1, 0, "%Y%m%d")),
            X("DISCHARGE_DATE", near(0, 4, "%Y%m%d")),
            X("LOS", number(0, 4)),
            X("WARD_CODE", one_of("DSU", "W12", "W07", "CAU")),
            C("CONSULTANT_CODE", "surgeon", [f"C{3100400 + 17 * k}" for k in range(6)]),
            C("MAIN_SPECIALTY", "specialty", {"paediatric surgery": "171", "general surgery": "100"}),
            X("DIAG_1", from_type(indirect=["K409", "K409", "K403"], direct=["K409"], combined=["K409"],
                                  femoral=["K419"])),
            X("DIAG_2", one_of("", "", "I10X", "J459", "Z864")),
            X("PROC_1", from_type(indirect=["T192", "T201", "T202"], direct=["T202", "T203"], combined=["T202"],
                                  femoral=["T222"])),
            C("PROC_1_DATE", "operated_on", "%Y%m%d"),
            C("LATERALITY", "side", {"left": "Z943", "right": "Z942"}),
            C("TYPE_OF_HERNIA_LOCAL", "type", {"indirect": "IIH", "direct": "DIH", "combined": "IIH+DIH",
                                               "femoral": "FH"}, 0.05),
            C("RECURRENT_FLAG", "occurrence", {"primary": "N", "recurrent": "Y"}),
            X("HRG", one_of("FF62A", "FF62B", "FF61C", "PF71Z")),
            X("TARIFF_GBP", number(780, 2410)),
            C("DATE_OF_DEATH", "died_on", "%Y%m%d"),
            I("REG_GP_NAME", one_of(*(f"DR {name.upper()}" for name in UK))),
        ],
    ),
)  # fmt: skip

add(
    3,
    Export(
        "consultants_own_list_uk", "en-GB", "spreadsheet kept by a consultant", "en",
        rows=38, mix="infants", extension="xlsx", sheet="Hernias", sheet_date="dd-mmm-yy", dates="dmy",
        unit={"age": "months"}, needs=("indirect",),
        above=[["My inguinal hernias 2009 - 2018"], ["RIH = right, LIH = left; PPV only = closed at laparoscopy"], []],
        below=lambda table: [[], ["TOTAL", "", "", len(table)]],
        columns=[
            X("No", serial()),
            C("Unit no", "patient", "{}"),
            I("Initials", of_person("{p.initials}")),
            C("Date", "operated_on", ("true", "true", "true", "%d.%m.%y")),
            C("Age (mths)", "age", months),
            C("M/F", "sex", {"male": ["M", "M", "m"], "female": "F"}),
            C("Gest (wks)", "gestation_weeks", plain, 0.15),
            C("Wt", "weight_kg", lambda value, _: value, 0.1),
            C("R/L", "side", {"left": ["LIH", "LIH", "L"], "right": ["RIH", "RIH", "R"]}),
            C("Sac", "type", {"indirect": ["ind", "ind", "Indirect"], "direct": "dir", "combined": "both",
                              "femoral": "fem"}, 0.1),
            C("Lap / open", "approach", {"open": ["open", "O"], "laparoscopic": ["lap", "LAP"]}),
            C("Why done", "reason", {"hernia": "hernia", "hydrocele": "hydroc.", "with orchidopexy": "with orchidopexy",
                                     "processus closed in passing": "PPV only"}),
            C("Incarc / emerg", "emergency", {"yes": "y", "no": ["n", "n", "-"]}),
            X("Assistant", one_of("SpR", "CT2", "self", "Fellow")),
            X("Caudal", one_of("y", "y", "n")),
            C("Last seen", "followed_until", "true", 0.2),
            C("Testis small", "testicular_atrophy", {"yes": "y", "no": "n"}, 0.2),
            C("Rec'd on", "recurred_on", ("true", "%d/%m/%Y")),
            X("Comments", one_of("", "", "", "mum to ring", "DNA x1", "interpreter", "audit 2014 done")),
        ],
    ),
)  # fmt: skip

add(
    4,
    Export(
        "research_db_terse_us", "en-US", "research database, terse variable names", "us",
        rows=58, mix="teens", dates="mdy", encoding="utf-8-sig",
        columns=[
            C("record_id", "patient", "{}"),
            X("event_name", one_of("baseline_arm_1")),
            C("dob", "born_on", "%m/%d/%Y"),
            C("sx", "sex", {"male": 1, "female": 2}),
            X("race", one_of(1, 2, 3, 4, 9)),
            X("consent_dt", near(-30, 0, "%m/%d/%Y")),
            C("op_dt", "operated_on", "%m/%d/%Y"),
            C("ht_cm", "height_cm", whole, 0.05),
            C("wt_kg", "weight_kg", point(1), 0.05),
            X("bmi_z", lambda _, rng: f"{rng.gauss(0, 1):.2f}"),
            C("tanner", "puberty_stage", plain, 0.12),
            C("preterm", "preterm", ONE_NOUGHT, 0.05),
            C("ctd", "connective_tissue_disorder", ONE_NOUGHT),
            C("lat", "side", {"left": 1, "right": 2}),
            C("typ_h", "type", {"indirect": 1, "direct": 2, "combined": 3, "femoral": 4, None: 9}),
            C("typ_how", "known_by", {"laparoscopic view": 1, "floor examined": 2, "not examined": 3,
                                      "code only": 4}),
            C("irr_mm", "ring_mm", plain, 0.2),
            C("recur", "occurrence", {"primary": 0, "recurrent": 1}),
            C("appr", "approach", {"open": 1, "laparoscopic": 2}),
            C("rep_typ", "repair", {"high_ligation": 1, "tissue": 2, "mesh": 3}),
            C("irnarrow", "ring_narrowed", ONE_NOUGHT, 0.1),
            C("surg_id", "surgeon", [11, 12, 13, 14, 17, 21]),
            X("anes_typ", one_of(1, 1, 2)),
            X("or_min", number(18, 96)),
            C("lfu_dt", "followed_until", "%m/%d/%Y", 0.1),
            C("recur_dt", "recurred_on", "%m/%d/%Y"),
            C("cl_hern_dt", "other_groin_on", "%m/%d/%Y"),
            C("pain3m", "chronic_pain", {"none": 0, "mild": 1, "severe": 2, "unknown": 9}, 0.2),
            X("form_complete", one_of(2, 2, 2, 1)),
        ],
    ),
)  # fmt: skip

add(
    5,
    Export(
        "billing_extract_us", "en-US", "billing export with procedure and diagnosis codes", "us",
        rows=50, mix="adults", dates="mdy", quoting=csv.QUOTE_ALL, male=0.9,
        columns=[
            X("Claim #", random_number("CLM-########")),
            C("MRN", "patient", "{:07d}"),
            I("Patient Last Name", of_person("{p.last}")),
            I("Patient First Name", of_person("{p.first}")),
            I("SSN (last 4)", random_number("####")),
            I("Home Phone", of_person("{p.phone}")),
            I("Address Line 1", of_person("{p.street}")),
            I("ZIP", of_person("{p.postcode}")),
            C("Birth Date", "born_on", "%-m/%-d/%Y"),
            C("Gender", "sex", {"male": "Male", "female": "Female"}),
            X("Payer", one_of("COMMERCIAL", "MEDICARE", "SELF PAY", "MEDICAID")),
            X("Service From", near(0, 0, "%-m/%-d/%Y")),
            C("Surgery Date", "operated_on", "%-m/%-d/%Y"),
            X("Posted", near(3, 20, "%-m/%-d/%Y")),
            X("CPT", from_type(indirect=[49505, 49650], direct=[49505, 49650], combined=[49505], femoral=[49550])),
            X("Modifier", by(side__left=["LT"], side__right=["RT"])),
            X("ICD-10-CM Dx1", from_type(indirect=["K40.90"], direct=["K40.90"], combined=["K40.90"],
                                         femoral=["K41.90"])),
            C("Laterality", "side", {"left": "Left", "right": "Right"}),
            C("Hernia Classification", "type", {"indirect": "Indirect", "direct": "Direct",
                                                "combined": "Combined (direct + indirect)",
                                                "femoral": "Femoral"}, 0.04),
            C("Initial/Recurrent", "occurrence", {"primary": "Initial", "recurrent": "Recurrent"}),
            C("Mesh Implanted", "mesh_used", YES_NO),
            C("Technique", "approach", {"open": "Open", "laparoscopic": ["Laparoscopic", "Robotic-assisted lap"]}),
            C("Attending Surgeon", "surgeon", [f"{name}, MD" for name in US]),
            X("Facility", one_of("MAIN OR", "ASC EAST")),
            X("Charges", lambda _, rng: f"${rng.randint(4, 19)},{rng.randint(100, 999)}.00"),
            X("LOS (days)", one_of(0, 0, 0, 1)),
        ],
    ),
)  # fmt: skip

add(
    6,
    Export(
        "surgical_audit_ie", "en-IE", "surgical audit workbook", "ie",
        rows=35, mix="all", extension="xlsx", sheet="Audit 2010-2018", dates="dmy", merge_both=True, both=0.2,
        above=[["General & Paediatric Surgery Audit", "", "", "Groin hernia", "", "Printed 04/02/2019"]],
        below=lambda table: [["Total operations", len(table)]],
        columns=[
            C("Chart No", "patient", "{}"),
            I("Pt Name", of_person("{p.first} {p.last}")),
            I("Eircode", of_person("{p.postcode}")),
            C("DOB", "born_on", "true"),
            C("Gender", "sex", {"male": "Male", "female": "Female"}),
            C("Date of Surgery", "operated_on", "true"),
            X("Day case?", one_of("Y", "Y", "N")),
            X("Public/Private", one_of("Public", "Private")),
            C("Cons", "surgeon", [f"{name[:3].upper()}" for name in IE]),
            C("Speciality", "specialty", {"paediatric surgery": "Paeds Surg", "general surgery": "Gen Surg"}),
            C("Lt/Rt/Bilat", "side", {"left": "Lt", "right": "Rt", "both": "Bilat"}),
            C("Direct/Indirect", "type", {"indirect": "Indirect", "direct": "Direct", "combined": "Both",
                                          "femoral": "Femoral"}, 0.08),
            C("1° or Rec", "occurrence", {"primary": "1°", "recurrent": "Rec"}),
            C("Op performed", "repair", {"high_ligation": "Herniotomy", "tissue": ["Darn", "Sutured repair"],
                                         "mesh": ["Mesh repair", "Mesh repair (plug)"]}),
            C("Wound infection", "infection", YES),
            C("Chronic pain >3/12", "chronic_pain", {"none": "Nil", "mild": "Mild", "severe": "Severe",
                                                     "unknown": "N/K"}, 0.15),
            C("Date last OPD", "followed_until", "true", 0.2),
            X("NCHD", one_of("Reg 1", "Reg 2", "SHO")),
            X("Entered by", one_of("AB", "CK", "MT")),
        ],
    ),
)  # fmt: skip

add(
    7,
    Export(
        "district_theatre_au", "en-AU", "theatre register with item numbers", "en",
        rows=44, mix="all", dates="dmy",
        columns=[
            X("Case ID", random_number("T######")),
            C("URN", "patient", "{:07d}"),
            I("Medicare No", random_number("#### ##### #")),
            I("Family Name", of_person("{p.last}")),
            I("Given Name", of_person("{p.first}")),
            I("Mobile", random_number("0491 570 ###")),
            C("Age at procedure (yrs)", "age", years),
            C("Sex", "sex", {"male": "M", "female": "F"}),
            X("Indigenous status", one_of(1, 4, 4, 4, 9)),
            C("Procedure Date", "operated_on", "%d-%b-%Y"),
            X("Item No", one_of(30614, 30609, 44114, 43835)),
            X("Booking category", one_of("Cat 2", "Cat 3")),
            X("Wait days", number(7, 310)),
            C("Op side", "side", {"left": ["LEFT", "LEFT", "left"], "right": "RIGHT"}),
            C("Hernia found", "type", {"indirect": "INDIRECT", "direct": "DIRECT", "combined": "DIRECT & INDIRECT",
                                       "femoral": "FEMORAL", None: "NOT RECORDED"}),
            C("Repair method", "repair", {"high_ligation": "HERNIOTOMY ONLY", "tissue": "SUTURE REPAIR",
                                          "mesh": "MESH"}),
            C("Keyhole/Open", "approach", {"open": "OPEN", "laparoscopic": "KEYHOLE"}),
            C("Emergency Y/N", "emergency", YES),
            C("Primary surgeon", "surgeon", [name.upper() for name in AU]),
            X("Surgeon grade", one_of("VMO", "Registrar", "Staff Specialist")),
            X("Anaesthetist", one_of("OKAFOR", "PRYCE")),
            X("Recovery mins", number(25, 95)),
            C("Operation report", "note", note_from(UK_NOTES)),
        ],
    ),
)  # fmt: skip

add(
    8,
    Export(
        "medical_college_in", "en-IN", "medical college register", "in",
        rows=48, mix="all", dates="dmy", encoding="cp1252", male=0.92,
        above=[["Dept. of Surgery - Hernia Register"]],
        columns=[
            X("Sl. No.", serial()),
            C("UHID", "patient", "{:09d}"),
            I("IP No.", random_number("IP/##/#####")),
            I("Name of the patient", of_person("{p.first} {p.last}")),
            I("S/o, D/o, W/o", of_person("{p.kin}")),
            I("Address", of_person("{p.address}")),
            I("Mobile No.", of_person("{p.phone}")),
            C("Age in yrs", "age", years_and_tenths),
            C("Gender", "sex", {"male": "Male", "female": "Female"}),
            X("Occupation", one_of("Farmer", "Student", "Coolie", "Clerk", "-")),
            X("DOA", near(-3, -1, "%d-%m-%Y")),
            C("DOS", "operated_on", ("%d-%m-%Y", "%d-%m-%Y", "%d.%m.%y")),
            X("DOD", near(1, 5, "%d-%m-%Y")),
            X("Anaesthesia", one_of("SA", "GA", "SA", "LA")),
            X("Unit", one_of("S1", "S2", "S3", "PS")),
            C("Side of hernia", "side", {"left": "Lt.", "right": "Rt."}),
            C("Type of hernia (per-op)", "type", {"indirect": ["Indirect", "Indirect, complete"], "direct": "Direct",
                                                  "combined": "Pantaloon", "femoral": "Femoral"}),
            C("Primary / Recurrent", "occurrence", {"primary": "Primary", "recurrent": "Recurrent"}),
            C("Elective / Emergency", "emergency", {"yes": "Emergency", "no": "Elective"}),
            C("Procedure done", "repair", {"high_ligation": "Herniotomy",
                                           "tissue": ["Modified tissue repair", "Herniorrhaphy"],
                                           "mesh": ["Hernioplasty (mesh)", "Mesh hernioplasty"]}),
            C("SSI", "infection", {"yes": "Present", "no": "Absent"}),
            C("Post-op testicular atrophy", "testicular_atrophy", {"yes": "Present", "no": "Absent"}),
            X("Hb%", lambda _, rng: f"{rng.uniform(9, 15):.1f}"),
            X("Scheme", one_of("APL", "BPL", "Cash")),
        ],
    ),
)  # fmt: skip

add(
    25,
    Export(
        "urology_boys_wide_uk", "en-GB", "urology list, one row a boy, left and right columns", "en",
        form="patients", rows=34, mix="children", male=1.0, both=0.3, extension="xlsx", sheet="Boys", dates="dmy",
        columns=[
            C("Hosp No", "patient", "{}"),
            I("Patient name", of_person("{p.last} {p.first}")),
            I("Tel (parent)", of_person("{p.phone}")),
            I("GP", one_of(*(f"Dr {name}" for name in UK[:3]))),
            C("Date of birth", "born_on", "true"),
            C("Gender", "sex", {"male": "M", "female": "F"}),
            C("Born < 37/40", "preterm", YES_NO, 0.05),
            X("Referral rec'd", near(-200, -60, "true")),
            L("L op date", "operated_on", "true"),
            L("L found", "type", {"indirect": "indirect", "direct": "direct", "combined": "both", "femoral": "femoral",
                                  "absent": "-"}),
            L("L reason", "reason", {"hernia": "hernia", "hydrocele": "hydrocele", "with orchidopexy": "at orchidopexy",
                                     "processus closed in passing": "incidental PPV"}),
            L("L sac divided", "sac_divided", YES),
            L("L testis atrophied", "testicular_atrophy", YES, 0.1),
            L("L testis high later", "ascending_testis", YES, 0.1),
            R("R op date", "operated_on", "true"),
            R("R found", "type", {"indirect": "indirect", "direct": "direct", "combined": "both", "femoral": "femoral",
                                  "absent": "-"}),
            R("R reason", "reason", {"hernia": "hernia", "hydrocele": "hydrocele", "with orchidopexy": "at orchidopexy",
                                     "processus closed in passing": "incidental PPV"}),
            R("R sac divided", "sac_divided", YES),
            R("R testis atrophied", "testicular_atrophy", YES, 0.1),
            R("R testis high later", "ascending_testis", YES, 0.1),
            C("Surgeon", "surgeon", UK),
            X("Clinic letter sent", one_of("Y", "Y", "N")),
            C("Discharged from clinic", "followed_until", "true", 0.1),
        ],
    ),
)  # fmt: skip

add(
    26,
    Export(
        "childrens_quality_wide_us", "en-US", "quality database, one row a patient", "us",
        form="patients", rows=52, mix="children", both=0.25, same_day=True, dates="mdy",
        columns=[
            C("PatientKey", "patient", "PK{:06d}"),
            I("PatientName", of_person("{p.last}^{p.first}")),
            I("GuardianEmail", of_person("{p.email}")),
            I("Zip", of_person("{p.postcode}")),
            C("BirthDate", "born_on", "%m/%d/%y"),
            C("LegalSex", "sex", {"male": "M", "female": "F"}),
            C("GestAgeWks", "gestation_weeks", plain, 0.1),
            X("BirthWeight_g", lambda row, rng: round(rng.gauss(3400 - 190 * max(0, 40 - row.patient.gestation_weeks), 120))),
            C("SurgeryDate", "operated_on", "%m/%d/%y"),
            C("WeightAtSurgeryKg", "weight_kg", point(1), 0.05),
            C("SurgeonNPI_Masked", "surgeon", ["S-01", "S-02", "S-03", "S-04", "S-05", "S-06"]),
            X("PrimaryCPT", one_of(49495, 49500, 49505)),
            X("ASAClass", one_of("I", "I", "II", "III")),
            X("AnesthesiaMinutes", number(35, 120)),
            C("CaseClass", "emergency", {"yes": ["Emergent", "Urgent"], "no": "Elective"}),
            C("OpenVsLap", "approach", {"open": "Open", "laparoscopic": "Laparoscopic"}),
            C("PercutaneousRingSuture", "percutaneous", {"yes": "TRUE", "no": "FALSE"}),
            L("LeftHerniaType", "type", {"indirect": "Indirect", "direct": "Direct", "combined": "Combined",
                                         "femoral": "Femoral", "absent": "None"}),
            R("RightHerniaType", "type", {"indirect": "Indirect", "direct": "Direct", "combined": "Combined",
                                          "femoral": "Femoral", "absent": "None"}),
            L("LeftRecurDate", "recurred_on", "%m/%d/%y"),
            R("RightRecurDate", "recurred_on", "%m/%d/%y"),
            L("LeftRingDiam_mm", "ring_mm", plain, 0.3),
            R("RightRingDiam_mm", "ring_mm", plain, 0.3),
            C("SSI30d", "infection", {"yes": "TRUE", "no": "FALSE"}),
            X("ReadmitWithin30", one_of("FALSE", "FALSE", "FALSE", "TRUE")),
            C("LastContact", "followed_until", "%m/%d/%y"),
            C("OpNote", "note", note_from(US_NOTES, whole_patient=True)),
        ],
    ),
)  # fmt: skip

add(
    27,
    Export(
        "outcome_registry_uk", "en-GB", "long-term outcome registry", "en",
        rows=56, mix="teens", extension="tsv", delimiter="\t", dates="ymd",
        columns=[
            C("Study ID", "patient", "ST-{:06d}"),
            I("NHS no.", of_person("999-{p.national:.3}-{p.national:.4}")),
            C("Born", "born_on", "%Y-%m-%d"),
            C("Sex at birth", "sex", {"male": "male", "female": "female"}),
            C("Index operation date", "operated_on", "%Y-%m-%d"),
            C("Groin", "side", {"left": "left", "right": "right"}),
            C("EHS grade", "ehs", plain, 0.08),
            C("Method by which type established", "known_by",
              {"laparoscopic view": "seen at laparoscopy", "floor examined": "posterior wall inspected",
               "not examined": "posterior wall not inspected", "code only": "from coding only"}),
            C("Repair class", "repair", {"high_ligation": "herniotomy", "tissue": "suture", "mesh": "mesh"}),
            C("Internal ring narrowed", "ring_narrowed", {"yes": "yes", "no": "no"}, 0.1),
            C("Connective tissue disorder", "connective_tissue_disorder", {"yes": "yes", "no": "no"}),
            C("Pubertal stage (1-5)", "puberty_stage", plain, 0.3),
            C("Follow-up complete to", "followed_until", "%Y-%m-%d", 0.03),
            C("Recurrence date", "recurred_on", "%Y-%m-%d"),
            C("Recurrence ascertained by", "recurrence_known_by",
              {"examined": "clinic", "telephone": "phone", "registry": "linkage", "re-operation": "re-do"}),
            C("Type at redo", "reoperation_type", {"indirect": "indirect", "direct": "direct", "combined": "both",
                                                   "femoral": "femoral"}),
            C("Contralateral hernia date", "other_groin_on", "%Y-%m-%d"),
            C("Pain score at 3+ months", "chronic_pain", {"none": "none", "mild": "mild", "severe": "severe"}, 0.15),
            C("Testicular atrophy", "testicular_atrophy", {"yes": "yes", "no": "no"}, 0.1),
            C("Vas damage", "vas_injury", {"yes": "yes", "no": "no"}, 0.1),
            C("Wound/mesh infection", "infection", {"yes": "yes", "no": "no"}),
            X("Questionnaire version", one_of("v2", "v3")),
            X("Data entered on", near(200, 1500, "%Y-%m-%d")),
            X("Smoker", one_of("never", "ex", "current")),
        ],
    ),
)  # fmt: skip

add(
    30,
    Export(
        "tertiary_unit_wide_in", "en-IN", "tertiary paediatric unit, one row a child", "in",
        form="patients", rows=40, mix="children", both=0.3, same_day=True, dates="dmy", encoding="utf-8-sig",
        unit={"age": "days", "weight_kg": "g"},
        columns=[
            X("S.No", serial()),
            C("CR No.", "patient", "{:08d}"),
            I("Child's name", of_person("{p.first}")),
            I("Father's name / contact", of_person("{p.last}, {p.phone}")),
            C("Age at Sx (days)", "age", days),
            C("Sex (M/F)", "sex", {"male": "M", "female": "F"}),
            C("Weight (gm)", "weight_kg", gram, 0.08),
            C("Preterm", "preterm", {"yes": "+", "no": "-"}),
            X("Birth order", number(1, 4)),
            X("Referred from", one_of("PHC", "Self", "District Hosp.")),
            C("Date of Sx", "operated_on", "%d/%m/%Y"),
            C("Emergency Sx", "emergency", {"yes": "+", "no": "-"}),
            C("Operating surgeon", "surgeon", [f"Dr. {name}" for name in IN]),
            X("Anaesthetist name", one_of(*(f"Dr. {name}" for name in IN[3:]))),
            L("Lt. sac", "type", {"indirect": "indirect", "direct": "direct", "combined": "pantaloon",
                                  "femoral": "femoral"}),
            L("Lt. deep ring (mm)", "ring_mm", plain, 0.2),
            L("Lt. recurrence (date)", "recurred_on", "%d/%m/%Y"),
            L("Lt. testis atrophy", "testicular_atrophy", {"yes": "+", "no": "-"}, 0.1),
            R("Rt. sac", "type", {"indirect": "indirect", "direct": "direct", "combined": "pantaloon",
                                  "femoral": "femoral"}),
            R("Rt. deep ring (mm)", "ring_mm", plain, 0.2),
            R("Rt. recurrence (date)", "recurred_on", "%d/%m/%Y"),
            R("Rt. testis atrophy", "testicular_atrophy", {"yes": "+", "no": "-"}, 0.1),
            C("Last FU", "followed_until", "%d/%m/%Y", 0.15),
            X("Hosp. stay", number(1, 4)),
            X("Remarks", one_of("", "", "lost to f/u, called", "records in old file", "insurance pending")),
        ],
    ),
)  # fmt: skip
