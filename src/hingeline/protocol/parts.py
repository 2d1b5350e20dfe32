"""The protocol's sections, typed: what each entry may be and how the entries of one section fit together.

Parsed TOML comes in, frozen sections go out. What holds between sections is for `hingeline.protocol.study`.
"""

from __future__ import annotations

import itertools
import re
from datetime import date
from pathlib import PurePosixPath
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, field_validator, model_validator

from .. import wording


def _shown(text: str) -> str:
    character = wording.unshown(text)
    if character is not None:
        raise ValueError(
            f"the text holds {character}, a control character that is not shown; write it without, on one line"
        )
    return text


_ADDRESS = re.compile(r"\s*[a-z][a-z0-9+.-]+:", re.IGNORECASE)
_TABLE = re.compile(r"postgres(ql)?:/+", re.IGNORECASE)


def is_table(source: str) -> bool:
    """Whether a source is the address of a database table rather than a file."""
    return _TABLE.match(source) is not None


def _source(source: str) -> str:
    if is_table(source):
        return source
    # what may hold a secret is not repeated
    if _ADDRESS.match(source) or "password" in source.lower():
        raise ValueError("a source is a file of the study or postgresql://host/database?table=schema.name")
    return _inside(source)


Text = Annotated[str, AfterValidator(_shown)]
"""Text on one line, without characters that a terminal obeys or that a reader cannot see."""
Share = Annotated[float, Field(gt=0, lt=1)]
Type = Literal["indirect", "direct", "combined", "femoral", "unknown"]
Years = Annotated[float, Field(gt=0, le=50)]
Repair = Literal["high_ligation", "tissue", "mesh"]
Covariate = Literal[
    "age",
    "hospital",
    "approach",
    "emergency",
    "operated_year",
    "sex",
    "specialty",
    "known_by",
    "preterm",
    "connective_tissue_disorder",
]
Reason = Literal["hernia", "processus closed in passing", "hydrocele", "with orchidopexy"]


class Part(BaseModel):
    """A section that knows its entries and refuses any other."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class About(Part):
    """``[study]``: what is asked, of which records, until when."""

    title: Text = Field(min_length=1)
    question: Text = Field(min_length=1)
    cutoff: date
    """Data cut-off: operations after it are in the future."""
    seed: int = Field(default=1, ge=0)
    invented: bool = False
    """Whether the records are made up, so that every page says so."""


class Counting(Part):
    """``[counting]``: which cases the direct share is taken over (design, section 12)."""

    direct: tuple[Type, ...] = ("direct", "combined")
    among: tuple[Type, ...] = ("indirect", "direct", "combined")
    sex: Literal["male", "female"] = "male"
    occurrence: Literal["primary", "recurrent"] = "primary"
    reasons: tuple[Reason, ...] = ("hernia",)
    thresholds: tuple[Share, ...] = (0.05, 0.10, 0.20, 0.30)
    headline_threshold: Share = 0.10

    @model_validator(mode="after")
    def _fits(self) -> Counting:
        if not self.direct or not set(self.direct) <= set(self.among):
            raise ValueError("every type in 'direct' must also stand in 'among', and there must be one")
        if set(self.direct) == set(self.among):
            raise ValueError("'among' must hold a type that is not counted as direct")
        if "unknown" in self.among:
            raise ValueError("'unknown' cannot be counted among the known types")
        if self.headline_threshold not in self.thresholds:
            raise ValueError("'headline_threshold' must be one of 'thresholds'")
        return self


class Ages(Part):
    """``[ages]``: half-years up to an age, whole years after; the ages at which the share is drawn."""

    half_years_to: int = Field(default=30, ge=0, le=110)
    highest: int = Field(default=110, ge=1, le=110)
    drawn_to: int = Field(default=95, ge=1, le=110)

    def is_edge(self, age_years: float) -> bool:
        """Whether an age parts two age bins."""
        halves = 2 * age_years
        parts = 1 if age_years < self.half_years_to else 2
        return halves == int(halves) and int(halves) % parts == 0 and 0 <= age_years <= self.highest


class Turns(Part):
    """``[turns]``: how many are sought and how far apart they must lie."""

    most: int = Field(default=3, ge=0, le=3)
    apart_years: float = Field(default=2.0, ge=0.25, le=20)


class Resampling(Part):
    """``[resampling]``: replicates of the bootstrap and of the calibrated cut-offs."""

    replicates: int = Field(default=2000, ge=19, le=100_000)
    calibration: int = Field(default=499, ge=19, le=100_000)
    audited: float = Field(default=0.05, ge=0, le=1)
    """Share of the bootstrap's hinge fits whose maximum is proved."""


class Privacy(Part):
    """``[privacy]``: the fewest people at risk in a cell that may leave."""

    smallest_cell: int = Field(default=5, ge=1, le=1000)
    events_may_leave: bool = False
    """The data officer's recorded consent that small event counts of cells that pass may leave."""
    consent: Text = ""
    """Who gave that consent and when."""

    @model_validator(mode="after")
    def _consented(self) -> Privacy:
        if self.events_may_leave and not self.consent.strip():
            raise ValueError("'events_may_leave' needs 'consent': who agreed, and when")
        return self


def _inside(folder: str) -> str:
    path = PurePosixPath(folder)
    if path.is_absolute() or ".." in path.parts or "\\" in folder or "\0" in folder:
        raise ValueError("a path must lie inside the study folder")
    return folder


class Population(Part):
    """``[population]``: person-years of the catchment, for rates."""

    file: Text
    coverage: Annotated[float, Field(gt=0, le=1)]
    """Share of the catchment's repairs that the hospitals perform, as declared."""
    years: tuple[int, int]
    """First and last whole calendar year that the person-years cover."""
    standard: Literal["european-2013", "who-world"] = "european-2013"

    _path = field_validator("file")(_inside)


class Typing(Part):
    """``[[typing]]``: how often a recorded type is right (sensitivity and specificity for direct)."""

    hospital: Text | None = None
    approach: Literal["open", "laparoscopic", "unknown"] | None = None
    known_by: (
        Literal["laparoscopic view", "floor examined", "not examined", "code only", "unknown"] | None
    ) = None
    ages: tuple[float, float] = (0.0, 111.0)
    sensitivity: Annotated[float, Field(gt=0, le=1)] = 1.0
    specificity: Annotated[float, Field(gt=0, le=1)] = 1.0
    source: Text = ""

    @model_validator(mode="after")
    def _tells(self) -> Typing:
        if self.sensitivity + self.specificity <= 1:
            raise ValueError("sensitivity + specificity must exceed 1, else the record tells nothing")
        return self


def _rising(values: tuple[float, ...], what: str) -> tuple[float, ...]:
    if any(low >= high for low, high in itertools.pairwise(values)):
        raise ValueError(f"{what} must rise, each once")
    return values


class Outcomes(Part):
    """``[outcomes]``: after how many years recurrence is told, and between which ages apart."""

    horizons_years: tuple[Years, ...] = Field(default=(1.0, 2.0, 5.0), min_length=1)
    headline_years: Years = 5.0
    age_bands: tuple[Annotated[float, Field(ge=0, le=110)], ...] = Field(
        default=(0.0, 12.0, 18.0, 30.0, 50.0), min_length=1
    )
    """First age of each band; the last band is open."""
    least_at_risk: int = Field(default=10, ge=1, le=1000)
    """With fewer groins still followed, an estimate is told with a warning."""

    @field_validator("horizons_years")
    @classmethod
    def _horizons_rise(cls, value: tuple[float, ...]) -> tuple[float, ...]:
        return _rising(value, "'horizons_years'")

    @field_validator("age_bands")
    @classmethod
    def _bands_rise(cls, value: tuple[float, ...]) -> tuple[float, ...]:
        return _rising(value, "'age_bands'")

    @model_validator(mode="after")
    def _headline_told(self) -> Outcomes:
        if self.headline_years not in self.horizons_years:
            raise ValueError("'headline_years' must be one of 'horizons_years'")
        return self


class Contrast(Part):
    """``[contrast]``: which repairs are compared, among whom, and what counts as worse."""

    arms: tuple[Repair, ...] = Field(default=("high_ligation", "tissue", "mesh"), min_length=2)
    reference: Repair = "high_ligation"
    ages: tuple[float, float] = (12.0, 30.0)
    """Youngest age compared, and the age from which on no one is, in years."""
    types: tuple[Type, ...] = Field(default=("indirect",), min_length=1)
    estimand: Literal["overlap", "all"] = "overlap"
    """Whom the difference is of: those of whom either would be done, or all."""
    margin: Share = 0.02
    """Difference in risk up to which a repair counts as not worse."""
    adjust: tuple[Covariate, ...] = ("age", "hospital", "emergency", "operated_year")

    @model_validator(mode="after")
    def _compares(self) -> Contrast:
        for name in ("arms", "types", "adjust"):
            if len(set(getattr(self, name))) < len(getattr(self, name)):
                raise ValueError(f"'{name}' holds one twice")
        if self.reference not in self.arms:
            raise ValueError("'reference' must be one of 'arms'")
        if not 0 <= self.ages[0] < self.ages[1]:
            raise ValueError("'ages' must rise: youngest age compared, first age that is not")
        return self


class Series(Part):
    """``[[series]]``: one table of published series, typed by hand, to be pooled."""

    file: Text = Field(min_length=1)
    title: Text = Field(min_length=1)

    _path = field_validator("file")(_inside)


class Agreement(Part):
    """``[agreement]``: sheets on which the same notes or pictures were typed by several readers."""

    sheets: tuple[Text, ...] = ()
    reference: Text = ""
    """The reader taken as right; without one, readers are compared with each other only."""
    enters: bool = False
    """Whether the errors of typing found against the reference enter the likelihood of the turns."""

    @field_validator("sheets")
    @classmethod
    def _sheets_inside(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        if len(set(value)) < len(value):
            raise ValueError("'sheets' holds one twice")
        return tuple(_inside(path) for path in value)

    @model_validator(mode="after")
    def _enters_by(self) -> Agreement:
        if self.enters and not (self.sheets and self.reference.strip()):
            raise ValueError("'enters' needs 'sheets' and 'reference': errors are errors against somebody")
        return self


class Hospital(Part):
    """``[[hospitals]]``: one hospital, where its exports and its legend lie, and whom it takes."""

    name: Text = Field(min_length=1, max_length=80)
    sources: tuple[Text, ...] = Field(min_length=1)
    legend: Text
    takes_ages: tuple[float, float] = (0.0, 111.0)
    """Youngest age taken and the age at which patients are handed on, in years."""
    setting: Literal["children", "general", "all ages"] = "all ages"
    since: int | None = None
    until: int | None = None
    approach: Literal["open", "laparoscopic", "both", "unknown"] = "unknown"

    _paths = field_validator("legend")(_inside)

    @field_validator("sources")
    @classmethod
    def _sources_inside(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(_source(path) for path in value)

    @model_validator(mode="after")
    def _ages_fit(self) -> Hospital:
        if not self.takes_ages[0] < self.takes_ages[1]:
            raise ValueError("'takes_ages' must rise: youngest age taken, age of handing on")
        return self
