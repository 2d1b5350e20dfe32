"""Readers of the same groins: what is told, what is hidden, and what entering the likelihood does."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pytest

from hingeline.answers.readers import Readings, agree, agreement_part, record_rates, typing_entries
from hingeline.errors import HingelineError
from hingeline.estimates.agreement import cohen_kappa
from hingeline.estimates.hinge import fit_hinges
from hingeline.invented.protocol import protocol_text
from hingeline.protocol import Protocol, parse_protocol


def protocol(*, enters: bool = False, consent: bool = True, typing: str = "") -> Protocol:
    text = protocol_text(7)
    text = text.replace("enters = false", f"enters = {str(enters).lower()}").replace(
        "events_may_leave = true", f"events_may_leave = {str(consent).lower()}"
    )
    return parse_protocol(text + typing, "study.toml")


def readings(
    pairs: dict[tuple[str, str], int], *, reference: str = "", known_by: str = "floor examined"
) -> Readings:
    """Groins by the types of two readers, Ann (the record's type too) and Ben."""
    rows, recorded = [], {}
    for (ann, ben), n in pairs.items():
        for _ in range(n):
            groin = str(len(recorded))
            recorded[groin] = {"type": ann, "known_by": known_by, "approach": "open"}
            rows += [(groin, "Ann", ann, None), (groin, "Ben", ben, None)]
    table = pa.table(
        {name: [row[i] for row in rows] for i, name in enumerate(("groin", "reader", "type", "ehs_size"))}
    )
    return Readings(table, recorded, reference)


PAIRS = {
    ("indirect", "indirect"): 60,
    ("indirect", "direct"): 6,
    ("direct", "indirect"): 9,
    ("direct", "direct"): 45,
    ("direct", "unknown"): 5,
}


def test_two_readers_have_cohens_kappa_of_what_both_typed():
    found = agree(readings(PAIRS))
    assert found.kappa is not None
    assert found.kappa.kappa == pytest.approx(cohen_kappa([[60, 6], [9, 45]]).kappa)
    # by hand: (105/120 - (66·69 + 54·51)/120²) / (1 - (66·69 + 54·51)/120²)
    chance = (66 * 69 + 54 * 51) / 120**2
    assert found.kappa.kappa == pytest.approx((105 / 120 - chance) / (1 - chance))
    assert found.unknown == 5


def test_the_record_is_judged_by_the_reference_reader():
    rates = record_rates(readings(PAIRS, reference="Ben"), protocol())
    assert rates is not None
    assert rates.sensitivity[0] == pytest.approx(45 / 51)
    assert rates.specificity[0] == pytest.approx(60 / 69)
    assert [dict(one) for one in rates.strata] == [{}, {"approach": "open"}, {"known_by": "floor examined"}]
    part, findings = agreement_part(readings(PAIRS, reference="Ben"), protocol())
    assert {one.id for one in findings} == {"agreement.kappa", "typing.sensitivity", "typing.specificity"}
    assert part.id == "readers"
    assert "do not enter" in part.sentence


def test_three_readers_have_fleiss_kappa():
    two = readings({("direct", "direct"): 20, ("indirect", "indirect"): 20, ("direct", "indirect"): 5})
    third = pa.table(
        {
            "groin": [str(i) for i in range(45)],
            "reader": ["Cleo"] * 45,
            "type": ["direct"] * 20 + ["indirect"] * 25,
            "ehs_size": pa.array([None] * 45, two.table.schema.field("ehs_size").type),
        }
    )
    found = agree(Readings(pa.concat_tables([two.table, third])))
    assert type(found.kappa).__name__ == "FleissKappa"
    assert found.kappa.groins == 45


def test_small_cells_are_hidden_without_consent_and_never_one_alone():
    pairs = {("indirect", "indirect"): 60, ("direct", "indirect"): 2, ("direct", "direct"): 30}
    told, _ = agreement_part(readings(pairs, reference="Ben"), protocol(consent=True))
    kept, findings = agreement_part(readings(pairs, reference="Ben"), protocol(consent=False))
    assert "2" in {cell for row in told.grids[0].rows for cell in row}
    cells = [cell for row in kept.grids[0].rows for cell in row[1:]]
    assert "2" not in cells
    assert cells.count("few") == 2
    # two mistaken among 62: the rate would tell them
    assert "typing.specificity" not in {one.id for one in findings}


def test_too_few_readings_are_not_told():
    part, findings = agreement_part(readings({("direct", "direct"): 3}), protocol())
    assert findings == ()
    assert not part.grids


def test_a_reference_without_a_sheet_is_refused():
    with pytest.raises(HingelineError, match="Zoe"):
        agreement_part(readings(PAIRS, reference="Zoe"), protocol())


def test_found_rates_enter_before_the_protocols_own_entries():
    stated = (
        '\n[[typing]]\nknown_by = "code only"\nsensitivity = 0.8\nspecificity = 0.95\nsource = "stated"\n'
    )
    entries = typing_entries(readings(PAIRS, reference="Ben"), protocol(enters=True, typing=stated))
    assert [entry.known_by for entry in entries] == [None, "floor examined", "code only"]
    assert entries[0].sensitivity == pytest.approx(45 / 51)
    assert entries[-1].source == "stated"
    assert typing_entries(readings(PAIRS, reference="Ben"), protocol()) == ()


def test_rates_that_cannot_be_known_do_not_enter():
    with pytest.raises(HingelineError):
        typing_entries(readings({("indirect", "indirect"): 30}, reference="Ben"), protocol(enters=True))


def test_a_turn_lies_nearer_the_truth_when_errors_of_typing_enter():
    """15% of directs missed and 3% false directs, at their expectation; the truth turns at 20 and 45."""
    age = np.arange(0.5, 80.0, 1.0)
    truth = 1 / (1 + np.exp(-(-5.0 + 0.16 * np.maximum(age - 20, 0) - 0.13 * np.maximum(age - 45, 0))))
    n = np.full(len(age), 4000.0)
    sensitivity, specificity = 0.85, 0.97
    seen = np.round(n * (1 - specificity + (sensitivity + specificity - 1) * truth))
    plain = fit_hinges(age, seen, n, turns=2, intervals=False)
    told = fit_hinges(
        age,
        seen,
        n,
        turns=2,
        intervals=False,
        sensitivity=np.full(len(age), sensitivity),
        specificity=np.full(len(age), specificity),
    )
    apart = [
        max(abs(turn.age - at) for turn, at in zip(fit.turns, (20, 45), strict=True)) for fit in (plain, told)
    ]
    assert apart[1] < apart[0]
