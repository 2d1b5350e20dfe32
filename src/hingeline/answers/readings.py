"""Readings of the same groins: what readers typed comes in; agreement and errors of the recorded type go out.

Cohen's kappa for two readers and Fleiss' for more, each against the reference reader where there is one; sensitivity
and specificity for direct of what is recorded, and the protocol's typing entries that follow from them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

import numpy as np
import pyarrow as pa

from .. import vocabulary
from ..errors import HingelineError
from ..estimates.agreement import (
    FleissKappa,
    Kappa,
    TypingRates,
    cohen_kappa,
    fleiss_kappa,
    read_twice,
    typing_rates,
)
from ..protocol import Protocol, Typing

KNOWN: Final = tuple(one for one in vocabulary.TYPES if one != vocabulary.UNKNOWN)
ENOUGH: Final = 20
"""Directs and others, each, from which a stratum has rates of its own."""
STRATA: Final = ("known_by", "approach")


@dataclass(frozen=True)
class Readings:
    """What was read, and what the study's records say of the same groins.

    Attributes
    ----------
    table : pyarrow.Table
        Rows: groin, reader, type, ehs_size; each reader once a groin.
    recorded : dict of str to dict of str to str
        Groin → its recorded ``type``, ``known_by`` and ``approach``, of groins that are cases of the study.
    reference : str
        The reader taken as right; empty without one.
    left : int
        Rows of the sheets that could not be used.
    notes : mapping of str to tuple of (str, str, int)
        Hospital → type typed, type read from the note, groins; of hospitals that send both.
    """

    table: pa.Table
    recorded: dict[str, dict[str, str]] = field(default_factory=dict)
    reference: str = ""
    left: int = 0
    notes: Mapping[str, tuple[tuple[str, str, int], ...]] = field(default_factory=dict)

    @cached_property
    def by_groin(self) -> dict[str, dict[str, str]]:
        """Groin → reader → type."""
        found: dict[str, dict[str, str]] = {}
        for groin, reader, typed in zip(
            *(self.table.column(name).to_pylist() for name in ("groin", "reader", "type")), strict=True
        ):
            found.setdefault(groin, {})[reader] = typed
        return found

    @cached_property
    def readers(self) -> tuple[str, ...]:
        """All readers but the reference, then the reference."""
        names = sorted({str(name) for name in self.table.column("reader").to_pylist()})
        if self.reference and self.reference not in names:
            raise HingelineError(
                f"No sheet is of the reference reader {self.reference!r}",
                "study.toml, [agreement], reference",
                f"Name one of the readers: {', '.join(names) or 'there are none'}.",
            )
        return tuple(sorted(names, key=lambda name: (name == self.reference, name)))

    @cached_property
    def judged(self) -> tuple[str, ...]:
        """Readers compared with each other: of more than two without the reference, who is right by agreement."""
        if self.reference in self.readers and len(self.readers) > 2:
            return self.readers[:-1]
        return self.readers

    @cached_property
    def twice(self) -> dict[str, dict[str, str]]:
        """Groins that two readers or more have read."""
        return {groin: read for groin, read in self.by_groin.items() if len(read) > 1}


@dataclass(frozen=True)
class Pair:
    """Two readers of the same groins.

    Attributes
    ----------
    first, second : str
    all : array, (types + 1, types + 1)
        Types of the first by those of the second, unknown at the end.
    kappa : Kappa or None
        Of what both typed; None where that is fewer than two groins.
    """

    first: str
    second: str
    all: np.ndarray
    kappa: Kappa | None


@dataclass(frozen=True)
class Agreed:
    """Agreement of the readers.

    Attributes
    ----------
    kappa : Kappa, FleissKappa or None
        Of those who are `Readings.judged`; None where fewer than two groins were typed by two of them.
    pair : Pair or None
        Of two readers.
    against : tuple of Pair
        Each reader and the reference, where there are more than two.
    differ : int
        Groins on which not all readings that tell a type are alike.
    sizes : Kappa or None
        Of EHS sizes, linear weights, where two readers gave them.
    """

    kappa: Kappa | FleissKappa | None
    pair: Pair | None
    against: tuple[Pair, ...]
    differ: int
    sizes: Kappa | None


def agree(readings: Readings) -> Agreed:
    """Reckon the agreement of all readers."""
    judged = readings.judged
    counts = np.array(
        [
            [sum(read.get(reader) == one for reader in judged) for one in KNOWN]
            for read in readings.twice.values()
        ]
    ).reshape(len(readings.twice), len(KNOWN))
    counts = counts[counts.sum(axis=1) > 1]
    differ = int((counts.max(axis=1, initial=0) < counts.sum(axis=1)).sum())
    against: tuple[Pair, ...] = ()
    if judged != readings.readers:
        against = tuple(pair_of(readings, reader, readings.reference) for reader in judged)
    if len(judged) > 2:
        kappa = None
        if len(counts) > 1:
            given = counts.sum(axis=0) > 0
            labels = [one for one, some in zip(KNOWN, given, strict=True) if some]
            kappa = fleiss_kappa(counts[:, given], labels=labels)
        return Agreed(kappa, None, against, differ, _sizes(readings))
    pair = pair_of(readings, *judged) if len(judged) == 2 else None
    return Agreed(pair.kappa if pair else None, pair, against, differ, _sizes(readings))


def pair_of(readings: Readings, first: str, second: str) -> Pair:
    """Compare two readers on the groins that both read."""
    both = [
        (read[first], read[second]) for read in readings.twice.values() if first in read and second in read
    ]
    return compare(first, second, [(one, two, 1) for one, two in both])


def compare(first: str, second: str, counted: Sequence[tuple[str, str, int]]) -> Pair:
    """Tabulate two readers' types with how many groins have them."""
    if not counted:
        return Pair(first, second, np.zeros((len(KNOWN) + 1,) * 2), None)
    one, two, n = zip(*counted, strict=True)
    told = read_twice(one, two, labels=KNOWN, n=n)
    return Pair(
        first, second, told.all, cohen_kappa(told.known, labels=KNOWN) if told.known.sum() > 1 else None
    )


def _sizes(readings: Readings) -> Kappa | None:
    """Agreement on sizes of the two readers who gave most of them."""
    if "ehs_size" not in readings.table.column_names:
        return None
    sized: dict[str, dict[str, int]] = {}
    for groin, reader, size in zip(
        *(readings.table.column(name).to_pylist() for name in ("groin", "reader", "ehs_size")), strict=True
    ):
        if size is not None:
            sized.setdefault(reader, {})[groin] = size
    if len(sized) < 2:
        return None
    first, second = sorted(sorted(sized), key=lambda name: -len(sized[name]))[:2]
    table = np.zeros((4, 4))
    for groin in sized[first].keys() & sized[second].keys():
        table[sized[first][groin], sized[second][groin]] += 1
    return cohen_kappa(table, weights="linear", labels=("0", "1", "2", "3")) if table.sum() else None


def record_rates(readings: Readings, protocol: Protocol) -> TypingRates | None:
    """How often the recorded type is right, against the reference reader: of all, and by strata with enough.

    Parameters
    ----------
    readings : Readings
    protocol : Protocol
        Which types are direct, and among which.

    Returns
    -------
    TypingRates or None
        The first row holds for all; None without a reference, or when no read groin is a typed case.
    """
    if not readings.reference or readings.reference not in readings.readers:
        return None
    among, direct = protocol.counting.among, protocol.counting.direct
    tables: dict[tuple[str, str], np.ndarray] = {}
    for groin, read in readings.by_groin.items():
        truth, record = read.get(readings.reference), readings.recorded.get(groin)
        if record is None or truth not in among or record["type"] not in among:
            continue
        cell = (int(truth not in direct), int(record["type"] not in direct))
        for stratum in (("", ""), *((name, record[name]) for name in STRATA)):
            tables.setdefault(stratum, np.zeros((2, 2)))[cell] += 1
    if ("", "") not in tables:
        return None
    kept = [
        ("", ""),
        *sorted(one for one, table in tables.items() if one[0] and table.sum(axis=1).min() >= ENOUGH),
    ]
    return typing_rates(
        np.array([tables[one] for one in kept]),
        strata=[{name: value} if name else {} for name, value in kept],
        source=f"typed again by {readings.reference}",
    )


def typing_entries(readings: Readings | None, protocol: Protocol) -> tuple[Typing, ...]:
    """Return the protocol's typing entries, those found against the reference before its own when they enter.

    Of entries that match a cell the last counts: what the protocol states itself stands before what was found.
    Rates by how the type was known are used where there are some, those of all elsewhere; those by approach are told
    only, since one groin lies in one stratum of each.

    Raises
    ------
    HingelineError
        When rates shall enter and cannot be known, or say that the record tells nothing.
    """
    if readings is None or not protocol.agreement.enters:
        return protocol.typing
    rates = record_rates(readings, protocol)
    found = [entry for entry in (rates.entries() if rates else []) if "approach" not in entry]
    if rates is None or not found or "known_by" in found[0]:
        raise HingelineError(
            "Errors of typing shall enter, and the readings do not tell them",
            "study.toml, [agreement], enters",
            "Let the reference reader type groins of the study, directs and others, or set 'enters = false'.",
        )
    return (*(Typing.model_validate(entry) for entry in found), *protocol.typing)
