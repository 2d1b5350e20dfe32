"""Readers of the same groins: readings come in; agreement, errors of typing and the part of the answer go out.

Cohen's kappa for two readers and Fleiss' for more, sensitivity and specificity for direct of what is recorded
against the reference reader, and the protocol's typing entries that follow from them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

import numpy as np
import pyarrow as pa

from .. import vocabulary, wording
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
from .findings import Finding, Grid, Part
from .outcome_cells import Leaving, leaving_of

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
    """

    table: pa.Table
    recorded: dict[str, dict[str, str]] = field(default_factory=dict)
    reference: str = ""
    left: int = 0

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
    def twice(self) -> dict[str, dict[str, str]]:
        """Groins that two readers or more have read."""
        return {groin: read for groin, read in self.by_groin.items() if len(read) > 1}


@dataclass(frozen=True)
class Agreed:
    """Agreement of the readers.

    Attributes
    ----------
    kappa : Kappa, FleissKappa or None
        None where fewer than two groins were typed by two readers.
    table : array or None
        Of two readers: types of the first by those of the second, unknown at the end.
    unknown : int
        Readings that leave the type open.
    sizes : Kappa or None
        Of EHS sizes, linear weights, where two readers gave them.
    """

    kappa: Kappa | FleissKappa | None
    table: np.ndarray | None
    unknown: int
    sizes: Kappa | None


def agree(readings: Readings) -> Agreed:
    """Reckon the agreement of all readers."""
    twice, readers = readings.twice, readings.readers
    unknown = sum(typed == vocabulary.UNKNOWN for read in twice.values() for typed in read.values())
    counts = np.array(
        [[sum(typed == one for typed in read.values()) for one in KNOWN] for read in twice.values()]
    ).reshape(len(twice), len(KNOWN))
    counts = counts[counts.sum(axis=1) > 1]
    sizes = _sizes(readings)
    if len(counts) < 2:
        return Agreed(None, None, unknown, sizes)
    if len(readers) > 2:
        given = counts.sum(axis=0) > 0
        labels = [one for one, some in zip(KNOWN, given, strict=True) if some]
        return Agreed(fleiss_kappa(counts[:, given], labels=labels), None, unknown, sizes)
    pairs = [(read[readers[0]], read[readers[1]]) for read in twice.values()]
    told = read_twice([one for one, _ in pairs], [two for _, two in pairs], labels=KNOWN)
    return Agreed(cohen_kappa(told.known, labels=KNOWN), told.all, unknown, sizes)


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


def agreement_part(readings: Readings, protocol: Protocol) -> tuple[Part, tuple[Finding, ...]]:
    """Tell how well readers agree and how often the record is right.

    Parameters
    ----------
    readings : Readings
    protocol : Protocol

    Returns
    -------
    Part, tuple of Finding
        What cannot be told is said in the sentence.
    """
    leaving = leaving_of(protocol)
    groins = len(readings.twice)
    agreed = agree(readings)
    rates = record_rates(readings, protocol)
    grids: list[Grid] = []
    findings: list[Finding] = []
    recorded = ""
    if groins < leaving.least:
        sentence = wording.readers_few(groins, leaving.least) if groins else wording.readers_without()
        return _part(sentence, (), readings, agreed), ()
    if agreed.table is not None:
        grids.append(_pairs(agreed.table, readings.readers, leaving))
    if agreed.kappa is not None:
        grids.append(_by_answer(agreed.kappa))
        findings.append(_kappa_finding(agreed.kappa, groins, readings))
    if rates is not None and rates.directs[0] + rates.others[0] >= leaving.least:
        grids.append(_rates(rates, leaving))
        findings += _rate_findings(rates, leaving)
        told = wording.typing_rates_told({}, *_first(rates, leaving), rates.level)
        recorded = " ".join(
            (
                wording.readers_rates_told(readings.reference, told),
                wording.readers_enter(protocol.agreement.enters, len(protocol.typing)),
            )
        )
    sentence = wording.readers_sentence(
        readings.readers, groins, str(agreed.kappa or wording.readers_without()), recorded
    )
    return _part(sentence, tuple(grids), readings, agreed), tuple(findings)


def _part(sentence: str, grids: tuple[Grid, ...], readings: Readings, agreed: Agreed) -> Part:
    return Part(
        id="readers",
        heading=wording.readers_heading(),
        sentence=sentence,
        grids=grids,
        method=wording.readers_method(agreed.sizes is not None, isinstance(agreed.kappa, FleissKappa)),
        cannot=wording.readers_cannot(readings.reference),
        operations=False,
        leads=False,
    )


def _pairs(table: np.ndarray, readers: Sequence[str], leaving: Leaving) -> Grid:
    """Types of one reader by those of the other; small cells hidden, two at least."""
    cells = table.astype(int)
    hidden = np.zeros(cells.shape, dtype=bool)
    if not leaving.consent:
        hidden = (cells > 0) & (cells < leaving.least)
        if hidden.sum() == 1:
            left = np.where((cells > 0) & ~hidden, cells, np.iinfo(cells.dtype).max)
            hidden[np.unravel_index(int(np.argmin(left)), cells.shape)] = True
    names = (*KNOWN, vocabulary.UNKNOWN)
    return Grid(
        title=wording.readers_pairs_title(readers[0], readers[1]),
        heads=(readers[0], *names),
        rows=tuple(
            (name, *(wording.readers_cell(int(n), bool(h)) for n, h in zip(row, hide, strict=True)))
            for name, row, hide in zip(names, cells, hidden, strict=True)
        ),
        numeric=tuple(range(1, len(names) + 1)),
    )


def _by_answer(kappa: Kappa | FleissKappa) -> Grid:
    rows: list[tuple[str, ...]] = []
    for row in kappa.to_frame().to_pylist():
        if isinstance(kappa, Kappa):
            rows.append((str(row["what"]), *wording.readers_figure(row["estimate"], row["low"], row["high"])))
        else:
            rows.append((str(row["answer"]), *wording.readers_figure(row["kappa"], row["low"], row["high"])))
    return Grid(
        title=wording.readers_by_answer_title(isinstance(kappa, FleissKappa)),
        heads=("", "estimate", "95% CI"),
        rows=tuple(row for row in rows if row[1]),
        numeric=(1, 2),
    )


def _few(part: float, whole: float, leaving: Leaving) -> bool:
    """Whether a rate may not leave: too few behind it, or too few errors."""
    if whole < leaving.least:
        return True
    return not leaving.consent and (0 < whole - part < leaving.least or 0 < part < leaving.least)


def _shown(rates: TypingRates, at: int, which: str, leaving: Leaving) -> tuple[float, float, float]:
    whole = float((rates.directs if which == "sensitivity" else rates.others)[at])
    value = float(getattr(rates, which)[at])
    if whole == 0 or _few(value * whole, whole, leaving):
        return (float("nan"),) * 3
    return value, float(getattr(rates, f"{which}_low")[at]), float(getattr(rates, f"{which}_high")[at])


def _first(
    rates: TypingRates, leaving: Leaving
) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    return _shown(rates, 0, "sensitivity", leaving), _shown(rates, 0, "specificity", leaving)


def _rates(rates: TypingRates, leaving: Leaving) -> Grid:
    rows = []
    for at, stratum in enumerate(rates.strata):
        row = [wording.stratum_told(stratum)]
        for which, whole in (("sensitivity", rates.directs[at]), ("specificity", rates.others[at])):
            row += [
                wording.few(round(whole), leaving.least)
                if not leaving.consent
                else wording.count(round(whole)),
                wording.readers_rate(_shown(rates, at, which, leaving), leaving.least),
            ]
        rows.append(tuple(row))
    return Grid(
        title=wording.readers_rates_title(),
        heads=("groins", "directs", "sensitivity", "others", "specificity"),
        rows=tuple(rows),
        note=wording.readers_rates_note(ENOUGH),
        numeric=(1, 2, 3, 4),
    )


def _kappa_finding(kappa: Kappa | FleissKappa, groins: int, readings: Readings) -> Finding:
    return Finding(
        id="agreement.kappa",
        estimand="agreement of readers on the hernia's type beyond chance",
        estimate=kappa.kappa,
        unit="kappa",
        low=kappa.low,
        high=kappa.high,
        method="Fleiss 1971"
        if isinstance(kappa, FleissKappa)
        else "Cohen 1960; Fleiss, Cohen and Everitt 1969",
        n=groins,
        events=None,
        cells=f"typing sheets, readers {', '.join(readings.readers)}",
        sentence=str(kappa),
        status="told" if kappa.kappa == kappa.kappa else "not identified",
    )


def _rate_findings(rates: TypingRates, leaving: Leaving) -> list[Finding]:
    found = []
    for which, groins in (("sensitivity", rates.directs[0]), ("specificity", rates.others[0])):
        value, low, high = _shown(rates, 0, which, leaving)
        if value != value:
            continue
        found.append(
            Finding(
                id=f"typing.{which}",
                estimand=f"{which} for direct of the recorded type against the reference reader",
                estimate=value,
                unit="share",
                low=low,
                high=high,
                method="Wilson 1927",
                n=round(groins),
                events=round(value * groins),
                cells="typing sheets joined to the recorded types",
                sentence=wording.readers_rate_told(which, (value, low, high), round(groins)),
            )
        )
    return found
