"""The protocol: ``study.toml``, typed and validated before anything is counted.

Text comes in, a frozen `Protocol` goes out. It says what the question is, which types count as direct, which
cases are the headline, how ages are binned, which thresholds and hospitals there are and where exports lie.
A mistake is told with the line it stands on. Nothing here reads a patient.
"""

from __future__ import annotations

import hashlib
import json
import re
from datetime import date
from pathlib import Path, PurePosixPath
from typing import Annotated, Any, Literal

import tomlkit
from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    ValidationError,
    field_validator,
    model_validator,
)
from tomlkit.exceptions import ParseError, TOMLKitError

from .. import wording
from ..errors import HingelineError
from .lines import lines_of

FORMAT = 1
"""Version of ``study.toml``; older ones are upgraded when opened, newer ones refused."""


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
Reason = Literal["hernia", "processus closed in passing", "hydrocele", "with orchidopexy"]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class About(_Part):
    """``[study]``: what is asked, of which records, until when."""

    title: Text = Field(min_length=1)
    question: Text = Field(min_length=1)
    cutoff: date
    """Data cut-off: operations after it are in the future."""
    seed: int = Field(default=1, ge=0)
    invented: bool = False
    """Whether the records are made up, so that every page says so."""


class Counting(_Part):
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


class Ages(_Part):
    """``[ages]``: half-years up to an age, whole years after; the ages at which the share is drawn."""

    half_years_to: int = Field(default=30, ge=0, le=110)
    highest: int = Field(default=110, ge=1, le=110)
    drawn_to: int = Field(default=95, ge=1, le=110)


class Turns(_Part):
    """``[turns]``: how many are sought and how far apart they must lie."""

    most: int = Field(default=3, ge=0, le=3)
    apart_years: float = Field(default=2.0, ge=0.25, le=20)


class Resampling(_Part):
    """``[resampling]``: replicates of the bootstrap and of the calibrated cut-offs."""

    replicates: int = Field(default=2000, ge=19, le=100_000)
    calibration: int = Field(default=499, ge=19, le=100_000)
    audited: float = Field(default=0.05, ge=0, le=1)
    """Share of the bootstrap's hinge fits whose maximum is proved."""


class Privacy(_Part):
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


class Population(_Part):
    """``[population]``: person-years of the catchment, for rates."""

    file: Text
    coverage: Annotated[float, Field(gt=0, le=1)]
    """Share of the catchment's repairs that the hospitals perform, as declared."""
    years: tuple[int, int]
    """First and last whole calendar year that the person-years cover."""
    standard: Literal["european-2013", "who-world"] = "european-2013"

    _path = field_validator("file")(_inside)


class Typing(_Part):
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


class Hospital(_Part):
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


class Protocol(_Part):
    """A whole ``study.toml``."""

    format: int = FORMAT
    study: About
    counting: Counting = Counting()
    ages: Ages = Ages()
    turns: Turns = Turns()
    resampling: Resampling = Resampling()
    privacy: Privacy = Privacy()
    population: Population | None = None
    typing: tuple[Typing, ...] = ()
    hospitals: tuple[Hospital, ...] = Field(min_length=1)

    @model_validator(mode="after")
    def _hangs_together(self) -> Protocol:
        if self.format > FORMAT:
            raise ValueError(f"format {self.format} is newer than this program knows ({FORMAT})")
        names = {h.name for h in self.hospitals}
        for entry in self.typing:
            if entry.hospital is not None and entry.hospital not in names:
                raise ValueError(
                    f"typing names the hospital {entry.hospital!r}, which the study does not have"
                )
        return self

    def canonical(self) -> str:
        """Return the protocol as JSON with sorted keys: the form that is fingerprinted."""
        return json.dumps(
            self.model_dump(mode="json"), sort_keys=True, ensure_ascii=False, separators=(",", ":")
        )

    def fingerprint(self) -> str:
        """Return the SHA-256 of the canonical form, in hexadecimal."""
        return hashlib.sha256(self.canonical().encode()).hexdigest()


def parse_protocol(text: str, where: str = "study.toml") -> Protocol:
    """Parse and validate the text of a ``study.toml``.

    Parameters
    ----------
    text : str
    where : str
        The file's name, for the error.

    Returns
    -------
    Protocol

    Raises
    ------
    HingelineError
        When the text is not TOML or says something impossible; names the line.
    """
    try:
        document: dict[str, Any] = tomlkit.parse(text).unwrap()
    except ParseError as error:
        raise HingelineError(
            f"The protocol is not valid TOML: {str(error).split(' at line')[0]}",
            f"{where}, line {error.line}",
            "Mend that line; text stands in quotes, lists in square brackets.",
        ) from None
    except (TOMLKitError, ValueError) as error:
        raise HingelineError(
            f"The protocol is not valid TOML: {error}", where, "Mend the file; each name may stand once."
        ) from None
    _no_two_alike(document, text, where)
    try:
        return Protocol.model_validate(document)
    except ValidationError as error:
        first = error.errors()[0]
        _, line = lines_of(text).find(first["loc"])
        place = wording.entry_of(first["loc"])
        message = first["msg"].removeprefix("Value error, ")
        if first["type"] == "less_than" and set(first["loc"]) & {"thresholds", "headline_threshold"}:
            message = wording.threshold_meant(float(first["input"]))
        todo = {
            "extra_forbidden": "Remove it, or correct its spelling; docs/protocol.md lists every entry.",
            "missing": "Add it; docs/protocol.md lists every entry.",
        }.get(first["type"], "Correct the value; docs/protocol.md lists what each entry may be.")
        more = f" (and {error.error_count() - 1} more)" if error.error_count() > 1 else ""
        raise HingelineError(
            f"The protocol cannot be used: {place}: {message}{more}", f"{where}, line {line}", todo
        ) from None


def _no_two_alike(document: dict[str, Any], text: str, where: str) -> None:
    """Refuse two hospitals of one name, or one legend or export for two, at the line of the second."""
    hospitals = document.get("hospitals")
    if not isinstance(hospitals, list):
        return
    seen: dict[tuple[str, str], int] = {}
    for index, hospital in enumerate(h for h in hospitals if isinstance(h, dict)):
        sources = hospital.get("sources")
        entries = [("name", hospital.get("name")), ("legend", hospital.get("legend"))]
        entries += [("sources", source) for source in (sources if isinstance(sources, list) else [])]
        for what, value in entries:
            if not isinstance(value, str):
                continue
            if (what, value) in seen:
                told = {"name": "are named", "legend": "share the legend", "sources": "share the export"}[
                    what
                ]
                _, line = lines_of(text).find(("hospitals", index, what))
                raise HingelineError(
                    f"Two hospitals of the protocol {told} {value!r}",
                    f"{where}, line {line}",
                    "Give each hospital one entry with its own name, legend and exports; "
                    "several exports of one hospital stand in one list.",
                )
            seen[what, value] = index


def read_text(path: Path) -> str:
    """Return the text of a ``study.toml``; `HingelineError` when it is not there or is not text."""
    try:
        if path.exists() and not path.is_file():  # a pipe would be waited for
            raise HingelineError(
                "The protocol is not a file", str(path), "Put the protocol itself there, as text."
            )
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise HingelineError(
            "There is no protocol here",
            str(path),
            "Start a study with 'hingeline new FOLDER', or try 'hingeline demo'.",
        ) from None
    except UnicodeDecodeError:
        raise HingelineError("The protocol is not UTF-8 text", str(path), "Save it as UTF-8.") from None
    except OSError as error:
        raise HingelineError(
            f"The protocol cannot be read: {error.strerror}", str(path), "Check that the file may be read."
        ) from None


def read_protocol(path: Path) -> Protocol:
    """Read and validate a ``study.toml``; errors as `parse_protocol`, and when the file cannot be read."""
    return parse_protocol(read_text(path), str(path))
