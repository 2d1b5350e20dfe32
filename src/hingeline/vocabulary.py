"""The trade's words and the schema of a case: one groin, operated once.

Everything else in the package takes its field names, its units and its closed lists of values from here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import pyarrow as pa

UNKNOWN: Final = "unknown"

TYPES: Final = ("indirect", "direct", "combined", "femoral", UNKNOWN)
"""Hernia types; the European Hernia Society's lateral L, medial M, both, femoral F."""

INGUINAL: Final = ("indirect", "direct", "combined")
KNOWN_BY: Final = ("laparoscopic view", "floor examined", "not examined", "code only", UNKNOWN)
REASONS: Final = ("hernia", "processus closed in passing", "hydrocele", "with orchidopexy")
SEXES: Final = ("male", "female")
SIDES: Final = ("left", "right")
OCCURRENCES: Final = ("primary", "recurrent")
REPAIRS: Final = ("high_ligation", "tissue", "mesh", UNKNOWN)
APPROACHES: Final = ("open", "laparoscopic", UNKNOWN)
SPECIALTIES: Final = ("paediatric surgery", "general surgery", "urology", "other", UNKNOWN)
RECURRENCE_KNOWN_BY: Final = ("examined", "telephone", "re-operation", "registry", UNKNOWN)
PAIN: Final = ("none", "mild", "severe", UNKNOWN)
AGE_PRECISIONS: Final = ("day", "month", "year")

DAYS_PER_YEAR: Final = 365.25
DAYS_PER_MONTH: Final = DAYS_PER_YEAR / 12


@dataclass(frozen=True)
class Field:
    """One field of a case.

    Attributes
    ----------
    name : str
    arrow : pyarrow.DataType
    meaning : str
        What it holds, in the trade's words, with its unit.
    values : tuple of str
        The closed list of values; empty when the field is not coded.
    required : bool
        Whether a case without it is set aside.
    default : str or None
        What stands when a hospital has no such column; None leaves the cell empty.
    """

    name: str
    arrow: pa.DataType
    meaning: str
    values: tuple[str, ...] = ()
    required: bool = False
    default: str | None = None


FIELDS: Final[tuple[Field, ...]] = (
    Field("hospital", pa.string(), "the hospital's name in the protocol", required=True),
    Field("patient", pa.int64(), "keyed 64-bit hash of the hospital's own patient key", required=True),
    Field("operated_on", pa.date32(), "date of operation"),
    Field("age_days", pa.int32(), "age at operation in days", required=True),
    Field("age_precision", pa.string(), "span in which the age is known", AGE_PRECISIONS, default="day"),
    Field("corrected_age_days", pa.int32(), "age in days counted from the due date when born preterm"),
    Field("sex", pa.string(), "sex", SEXES, required=True),
    Field("side", pa.string(), "side of the groin", SIDES, required=True),
    Field("type", pa.string(), "hernia type", TYPES, default=UNKNOWN),
    Field("known_by", pa.string(), "how the type was known", KNOWN_BY, default=UNKNOWN),
    Field("reason", pa.string(), "why this groin was operated", REASONS, default="hernia"),
    Field("ehs_size", pa.int8(), "European Hernia Society size, 0 to 3 (finger breadths)"),
    Field("occurrence", pa.string(), "primary or recurrent", OCCURRENCES, default="primary"),
    Field("repair", pa.string(), "kind of repair", REPAIRS, default=UNKNOWN),
    Field("approach", pa.string(), "open or laparoscopic", APPROACHES, default=UNKNOWN),
    Field("sac_divided", pa.bool_(), "whether the sac was divided"),
    Field("ring_narrowed", pa.bool_(), "whether the internal ring was narrowed"),
    Field("percutaneous", pa.bool_(), "whether the ligation was percutaneous"),
    Field("emergency", pa.bool_(), "whether the operation was an emergency"),
    Field("specialty", pa.string(), "the surgeon's specialty", SPECIALTIES, default=UNKNOWN),
    Field("surgeon", pa.int64(), "keyed 64-bit hash of the surgeon's key"),
    Field("preterm", pa.bool_(), "whether born before 37 weeks"),
    Field("connective_tissue_disorder", pa.bool_(), "whether a connective-tissue disorder is known"),
    Field("height_cm", pa.float32(), "height in centimetres"),
    Field("weight_kg", pa.float32(), "weight in kilograms"),
    Field("puberty_stage", pa.int8(), "stage of puberty, 1 to 5"),
    Field("ring_mm", pa.float32(), "diameter of the internal ring in millimetres"),
    Field("followed_until", pa.date32(), "last date at which the patient was seen or heard of"),
    Field(
        "last_well_on",
        pa.date32(),
        "last date on which this groin was known to be without recurrence, before one was found",
    ),
    Field("recurred_on", pa.date32(), "date at which a recurrence in this groin was found"),
    Field("recurrence_known_by", pa.string(), "how a recurrence was known", RECURRENCE_KNOWN_BY),
    Field("reoperation_type", pa.string(), "type found when this groin was operated again", TYPES),
    Field("other_groin_on", pa.date32(), "date of a later hernia of the other groin"),
    Field("died_on", pa.date32(), "date of death"),
    Field("chronic_pain", pa.string(), "pain more than three months after repair", PAIN),
    Field("testicular_atrophy", pa.bool_(), "complication: testicular atrophy"),
    Field("ascending_testis", pa.bool_(), "complication: ascending testis"),
    Field("vas_injury", pa.bool_(), "complication: injury of the vas"),
    Field("infection", pa.bool_(), "complication: infection of the wound or mesh"),
    Field("birth_month_odd", pa.bool_(), "parity of the birth month, a control that can have no turn"),
    Field("source_file", pa.string(), "file the case was read from"),
    Field("source_row", pa.int64(), "row of that file, counted as a spreadsheet shows it"),
)

FIELD: Final[dict[str, Field]] = {field.name: field for field in FIELDS}
CASE_SCHEMA: Final = pa.schema([pa.field(f.name, f.arrow, nullable=not f.required) for f in FIELDS])
"""Arrow schema of ``cases.parquet``: one row a groin operated once."""
