"""The protocol: ``study.toml``, typed and validated before anything is counted.

Text comes in, a frozen `Protocol` goes out. It says what the question is, which types count as direct, which
cases are the headline, how ages are binned, which thresholds and hospitals there are and where exports lie.
A mistake is told with the line it stands on. Nothing here reads a patient.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import tomlkit
from pydantic import Field, ValidationError, model_validator
from tomlkit.exceptions import ParseError, TOMLKitError

from .. import wording
from ..errors import HingelineError
from .lines import lines_of
from .parts import (
    About,
    Ages,
    Agreement,
    Contrast,
    Counting,
    Hospital,
    Outcomes,
    Part,
    Population,
    Privacy,
    Resampling,
    Series,
    Turns,
    Typing,
    is_table,
)

__all__ = ["FORMAT", "Protocol", "is_table", "parse_protocol", "read_protocol", "read_text"]

FORMAT = 1
"""Version of ``study.toml``; older ones are upgraded when opened, newer ones refused."""


class Protocol(Part):
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
    outcomes: Outcomes = Outcomes()
    contrast: Contrast = Contrast()
    series: tuple[Series, ...] = ()
    agreement: Agreement = Agreement()
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
        # follow-up is counted by age bins: a band cannot part one
        for part, entry_name in ((self.outcomes, "age_bands"), (self.contrast, "ages")):
            given = entry_name in part.model_fields_set
            strange = [age for age in getattr(part, entry_name) if given and not self.ages.is_edge(age)]
            if strange:
                raise ValueError(
                    f"'{entry_name}' must be whole years, or half-years below 'half_years_to', "
                    f"up to 'highest'; {strange[0]:g} is not"
                )
        files = [series.file for series in self.series]
        if len(set(files)) < len(files):
            raise ValueError("two [[series]] name one file")
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
