"""What there is to tell of a groin in an operation note: rows come in, one `Told` a groin goes out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from hingeline.invented.outcomes import Rows

CHILD_YEARS: Final = 14


@dataclass(frozen=True)
class Told:
    """What a note tells of one groin, in the trade's words."""

    side: str
    type: str
    known_by: str
    reason: str
    occurrence: str
    repair: str
    approach: str
    male: bool
    age_years: float
    emergency: bool

    @property
    def operation(self) -> str:
        """Approach and repair."""
        return f"{self.approach} {self.repair}"

    @property
    def scope(self) -> bool:
        """Whether it was done by laparoscopy."""
        return self.approach == "laparoscopic"

    @property
    def child(self) -> bool:
        """Whether the patient is a child."""
        return self.age_years < CHILD_YEARS


def told_of(rows: Rows) -> list[Told]:
    """What there is to tell of each groin."""
    columns = [rows[name].tolist() for name in Told.__annotations__]
    return [Told(*cells) for cells in zip(*columns, strict=True)]
