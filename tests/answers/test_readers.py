"""Readers of the same groins: what is told, what is hidden, and what entering the likelihood does."""

from __future__ import annotations

import itertools

import numpy as np
import pyarrow as pa
import pytest

from hingeline import wording
from hingeline.answers.outcome_cells import Leaving
from hingeline.answers.readers import Readings, agree, agreement_part, record_rates, typing_entries
from hingeline.answers.readers_cells import band_told, hidden_cells
from hingeline.answers.readers_grids import strata_told
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
    assert found.pair is not None
    assert found.pair.all[:, -1].sum() == 5


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


def of_three(*, reference: str = "") -> Readings:
    two = readings({("direct", "direct"): 20, ("indirect", "indirect"): 20, ("direct", "indirect"): 5})
    third = pa.table(
        {
            "groin": [str(i) for i in range(45)],
            "reader": ["Cleo"] * 45,
            "type": ["direct"] * 20 + ["indirect"] * 25,
            "ehs_size": pa.array([None] * 45, two.table.schema.field("ehs_size").type),
        }
    )
    return Readings(pa.concat_tables([two.table, third]), reference=reference)


def test_three_readers_have_fleiss_kappa():
    found = agree(of_three())
    assert type(found.kappa).__name__ == "FleissKappa"
    assert found.kappa.groins == 45
    assert found.differ == 5


def test_of_three_readers_the_reference_judges_the_others():
    """Ann and Ben are compared with each other, each then with Cleo, who is not in their kappa."""
    found = agree(of_three(reference="Cleo"))
    assert found.kappa is not None
    assert found.kappa.kappa == pytest.approx(cohen_kappa([[20, 0], [5, 20]]).kappa)
    assert [(pair.first, pair.second) for pair in found.against] == [("Ann", "Cleo"), ("Ben", "Cleo")]
    # Cleo types the first 20 direct, as both do; of the 5 on which they differ she sides with Ben
    assert [pair.kappa.kappa for pair in found.against if pair.kappa] == pytest.approx(
        [cohen_kappa([[20, 5], [0, 20]]).kappa, 1.0]
    )
    part, findings = agreement_part(of_three(reference="Cleo"), protocol())
    assert "Of Ann and Ben without the reference" in part.sentence
    assert [row[0] for row in part.grids[2].rows] == ["Ann", "Ben"]
    assert findings[0].cells == "typing sheets, readers Ann, Ben"


def test_small_cells_are_hidden_without_consent_and_nothing_else_tells_them():
    pairs = {("indirect", "indirect"): 60, ("direct", "indirect"): 2, ("direct", "direct"): 30}
    told, _ = agreement_part(readings(pairs, reference="Ben"), protocol(consent=True))
    kept, findings = agreement_part(readings(pairs, reference="Ben"), protocol(consent=False))
    assert "2" in {cell for row in told.grids[0].rows for cell in row}
    cells = [cell for row in kept.grids[0].rows for cell in row[1:]]
    assert "2" not in cells
    assert cells.count("few") == 2
    # neither kappa nor the agreement observed, from which two among 92 would follow
    assert findings == () or {one.id for one in findings} == {"typing.sensitivity"}
    assert "%" not in kept.sentence.split("Against")[0]


def test_no_small_cell_can_be_worked_back_from_what_is_told_of_two_readers():
    """All tables of two types and an open one, up to ten groins, grouped by all that is told of each."""
    rule = Leaving(5, consent=False)
    for total in range(5, 11):
        alike: dict[tuple[object, ...], list[np.ndarray]] = {}
        for cells in itertools.product(range(total + 1), repeat=4):
            if sum(cells) > total:
                continue
            table = np.zeros((3, 3), dtype=np.int64)
            table[0, :2], table[1, :2], table[2, 0] = cells[:2], cells[2:], total - sum(cells)
            hidden = hidden_cells(table, rule)
            if hidden.any() and not hidden.all():
                shown = tuple(np.where(hidden, -1, table).ravel().tolist())
                alike.setdefault((*shown, band_told(table, rule)), []).append(table)
        for told, tables in alike.items():
            stack = np.array(tables)
            hidden = np.array(told[:9]).reshape(3, 3) == -1
            fixed = (stack == stack[0]).all(axis=0) & hidden & (stack[0] > 0) & (stack[0] < 5)
            assert not fixed.any(), (told, tables)


def test_a_table_that_is_hidden_as_a_whole_gives_no_cell_away():
    """Of five groins all nine cells are tried: those hidden as a whole have no cell in common."""
    rule = Leaving(5, consent=False)
    whole = []
    for bars in itertools.combinations(range(13), 8):
        cells = np.diff(np.array([-1, *bars, 13])) - 1
        table = cells.reshape(3, 3).astype(np.int64)
        if hidden_cells(table, rule).all():
            assert band_told(table, rule) is None
            whole.append(cells)
    assert len(whole) > 1
    assert not (np.array(whole) == whole[0]).all(axis=0).any()


def test_a_large_table_with_many_small_cells_has_a_band_and_no_figure():
    pairs = {("indirect", "indirect"): 160, ("direct", "direct"): 90, ("femoral", "femoral"): 7}
    pairs |= {("direct", "indirect"): 3, ("indirect", "direct"): 4, ("combined", "direct"): 2}
    part, findings = agreement_part(readings(pairs), protocol(consent=False))
    assert "Kappa is over 0.8." in part.sentence
    assert findings == ()
    exact, _ = agreement_part(readings(pairs), protocol(consent=True))
    assert "Kappa 0.9" in exact.sentence


def test_strata_of_rates_are_not_told_when_what_is_left_is_small():
    """Of 40 errors 38 are of the one stratum that is told: the other's two would follow."""
    rows, recorded = [], {}
    for known_by, truth, record, n in (
        ("floor examined", "direct", "direct", 60),
        ("floor examined", "direct", "indirect", 38),
        ("floor examined", "indirect", "indirect", 50),
        ("code only", "direct", "direct", 10),
        ("code only", "direct", "indirect", 2),
    ):
        for _ in range(n):
            groin = str(len(recorded))
            recorded[groin] = {"type": record, "known_by": known_by, "approach": "open"}
            rows += [(groin, "Ann", record, None), (groin, "Ben", truth, None)]
    table = pa.table(
        {name: [r[i] for r in rows] for i, name in enumerate(("groin", "reader", "type", "ehs_size"))}
    )
    rates = record_rates(Readings(table, recorded, "Ben"), protocol())
    assert rates is not None
    strata = [dict(rates.strata[at]) for at in strata_told(rates, Leaving(5, consent=False))]
    assert strata == [{}, {"approach": "open"}]
    assert len(strata_told(rates, Leaving(5, consent=True))) == 3


NOTES = {
    "Ash": (
        ("direct", "direct", 30),
        ("indirect", "indirect", 60),
        ("indirect", "direct", 10),
        ("direct", "unknown", 4),
    ),
    "Birch": (("direct", "direct", 30), ("indirect", "direct", 2)),
    "Cedar": (("direct", "direct", 3),),
}


def of_notes() -> Readings:
    empty = readings({("direct", "direct"): 1}).table.slice(0, 0)
    return Readings(empty, notes=NOTES)


def test_notes_beside_a_typed_column_are_told_without_any_sheet():
    part, findings = agreement_part(of_notes(), protocol())
    assert [one.id for one in findings] == ["agreement.notes.Ash", "agreement.notes.Birch"]
    assert findings[0].estimate == pytest.approx(90 / 100)
    assert "93.8% (Birch)" in part.sentence
    assert "1 hospital with small counts" in part.sentence.lower() or "One hospital" in part.sentence
    assert len(part.grids) == 1


def test_hospitals_with_few_differing_notes_are_not_told_without_consent():
    part, findings = agreement_part(of_notes(), protocol(consent=False))
    assert [one.id for one in findings] == ["agreement.notes.Ash"]
    rows = {row[0]: row[1:] for row in part.grids[0].rows}
    assert rows["Birch"] == rows["Cedar"] == (wording.readers_few_cell(), "", "", "")
    assert "93.8" not in part.sentence


def test_one_answer_throughout_has_neither_kappa_nor_limits():
    pairs = {("indirect", "indirect"): 5, ("direct", "indirect"): 2}
    part, (finding,) = agreement_part(readings(pairs), protocol())
    assert "kappa cannot be told" in part.sentence
    assert ("kappa", "cannot be told", "") in part.grids[1].rows
    assert finding.status == "not identified"


def test_rows_that_could_not_be_used_are_told():
    used = readings({("indirect", "indirect"): 30, ("direct", "direct"): 30})
    part, _ = agreement_part(Readings(used.table, used.recorded, left=3), protocol())
    assert "typing-left.csv" in part.sentence
    assert "typing-left.csv" not in agreement_part(used, protocol())[0].sentence


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
    # where 10% are direct: the truth's line, the fitted lines'
    crossings = [
        float(np.interp(0.1, share, age)) for share in (truth, plain.predict(age), told.predict(age))
    ]
    assert abs(crossings[2] - crossings[0]) < abs(crossings[1] - crossings[0])
    assert abs(crossings[2] - crossings[0]) < 0.25
    apart = [
        max(abs(turn.age - at) for turn, at in zip(fit.turns, (20, 45), strict=True)) for fit in (plain, told)
    ]
    assert apart[1] < apart[0]
