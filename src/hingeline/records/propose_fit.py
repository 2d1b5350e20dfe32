"""How well cells fit a field, and what content tests look at beside the column itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from .propose_codes import NOTHING, Codes
from .propose_joint import Together

NEVER: Final = -3.0


@dataclass(frozen=True)
class Fit:
    """How well cells fit a field.

    Attributes
    ----------
    score : float
    why : tuple of str
        Reasons, as parts of a sentence.
    codes : Codes
    unit : str or None
        Unit of a number or an age.
    unit_sure : bool
    """

    score: float
    why: tuple[str, ...] = ()
    codes: Codes = NOTHING
    unit: str | None = None
    unit_sure: bool = True


@dataclass(frozen=True)
class Seen:
    """What content tests look at beside the column itself.

    Attributes
    ----------
    together : Together
    suspects : mapping of str to str
        Columns that seem to identify people, by table name, with the reason.
    listed : mapping of str to mapping
        Lists of codes by column (table name): ``{"1": "indirect"}``.
    visits : bool
        Whether the table holds visits.
    """

    together: Together
    suspects: Mapping[str, str] = field(default_factory=dict)
    listed: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    visits: bool = False
