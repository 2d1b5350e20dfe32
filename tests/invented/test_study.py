"""The invented study: complete, the same for a seed, and true to its truth file."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
from collections import Counter
from pathlib import Path

import numpy as np
import pyarrow.parquet as pq
import pytest
from python_calamine import CalamineWorkbook
from scipy.stats import binomtest

from hingeline.counts.population import read_population
from hingeline.errors import HingelineError
from hingeline.invented import Planted, Truth, write_study
from hingeline.invented.hospitals import HOSPITALS
from hingeline.invented.outcomes import add_outcomes
from hingeline.invented.patients import CUTOFF, LAST_DAY, draw_groins, shape
from hingeline.protocol.study import read_protocol
from hingeline.records.legend import read_legends

GROINS = 3_000


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Truth]:
    folder = tmp_path_factory.mktemp("invented")
    return folder, write_study(folder, seed=11, groins=GROINS)


def test_the_folder_holds_what_a_study_holds(study: tuple[Path, Truth]) -> None:
    folder, _ = study
    protocol = read_protocol(folder / "study.toml")
    assert [hospital.name for hospital in protocol.hospitals] == [hospital.name for hospital in HOSPITALS]
    for hospital in protocol.hospitals:
        assert all((folder / source).is_file() for source in hospital.sources)
    legends = read_legends(folder / hospital.legend for hospital in protocol.hospitals)
    assert {legend.hospital for legend in legends} == {hospital.name for hospital in HOSPITALS}
    assert protocol.population is not None
    assert read_population(folder / protocol.population.file)["person_years"].to_numpy().min() > 0


def test_hospitals_are_of_three_kinds_and_hand_on_at_their_ages(study: tuple[Path, Truth]) -> None:
    protocol = read_protocol(study[0] / "study.toml")
    assert Counter(hospital.setting for hospital in protocol.hospitals) == {
        "children": 2,
        "general": 3,
        "all ages": 1,
    }
    for hospital in protocol.hospitals:
        if hospital.setting == "children":
            assert hospital.takes_ages[1] == 18
        if hospital.setting == "general":
            assert 15 <= hospital.takes_ages[0] <= 18


def test_the_same_seed_writes_the_same_bytes_and_another_does_not(
    study: tuple[Path, Truth], tmp_path: Path
) -> None:
    folder, truth = study
    assert write_study(tmp_path / "again", seed=11, groins=GROINS) == truth
    assert write_study(tmp_path / "other", seed=12, groins=GROINS) != truth
    for file in sorted(path for path in folder.rglob("*") if path.is_file()):
        here, there = file.read_bytes(), (tmp_path / "again" / file.relative_to(folder)).read_bytes()
        assert hashlib.sha256(here).digest() == hashlib.sha256(there).digest(), file.name


def test_exports_are_as_six_hospitals_send_them(study: tuple[Path, Truth]) -> None:
    sources = study[0] / "sources"
    wide = (sources / "hohenwiek.csv").read_bytes().decode("cp1252")
    assert wide.count(";") > wide.count("\n") * 20
    assert re.search(r";\d+,\d;", wide)
    with pytest.raises(UnicodeDecodeError):
        (sources / "hohenwiek.csv").read_bytes().decode("utf-8")
    assert (sources / "lindesund.csv").read_bytes().startswith(b"\xef\xbb\xbf")
    sheet = CalamineWorkbook.from_path(sources / "wrenholt.xlsx").get_sheet_by_index(0).to_python()
    assert sheet[3][0] == "Record no."
    kinds = Counter(type(row[4]).__name__ for row in sheet[4:])
    assert kinds["str"] > 10
    assert kinds["date"] + kinds["datetime"] > 10
    assert str(pq.read_schema(sources / "brackwater.parquet").field("operated").type).startswith("date32")


def test_one_hospital_keeps_all_but_dates_in_notes(study: tuple[Path, Truth]) -> None:
    table = pq.read_table(study[0] / "sources" / "brackwater.parquet")
    assert not {"side", "finding", "repair", "approach", "known_from"} & set(table.column_names)
    notes = [note for note in table["operation_note"].to_pylist() if note]
    assert len(notes) > 0.95 * table.num_rows
    assert np.mean([len(note) for note in notes]) > 150


def test_one_hospital_has_ages_in_months_and_codes_that_are_numbers(study: tuple[Path, Truth]) -> None:
    text = (study[0] / "sources" / "lindesund.csv").read_text(encoding="utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    for name in ("kjonn", "side", "funn", "vurdert", "metode", "tilgang", "inngrep", "akutt"):
        odd = {row[name] for row in rows if row[name] and not row[name].isdigit()}
        assert odd <= {"?"}, name
    ages = [int(row["alder_mnd"]) for row in rows if row["alder_mnd"]]
    assert sorted(ages)[-5] in range(180, 216)


def test_one_hospital_has_its_visits_on_a_second_sheet(study: tuple[Path, Truth]) -> None:
    book = CalamineWorkbook.from_path(study[0] / "sources" / "ashmarsh.xlsx")
    assert book.sheet_names == ["Hernia repairs", "Clinic"]
    head, *visits = book.get_sheet_by_name("Clinic").to_python(skip_empty_area=False)
    place = {name: head.index(name) for name in ("Hospital number", "Groin", "Recurrence")}
    many = Counter(visit[place["Hospital number"]] for visit in visits)
    assert max(many.values()) >= 4
    assert Counter(many.values())[1] > 10
    assert {visit[place["Recurrence"]] for visit in visits} >= {"yes", "no"}
    assert {visit[place["Groin"]] for visit in visits} == {"left", "right", "both", ""}


def _rows(folder: Path, fault: Planted) -> list[str]:
    """Cells of the row of a planted fault, read with other libraries than the writer's."""
    path = folder / fault.file
    if path.suffix == ".xlsx":
        sheet = (
            CalamineWorkbook.from_path(path).get_sheet_by_name(fault.sheet).to_python(skip_empty_area=False)
        )
        return [str(cell) for cell in sheet[fault.row - 1]]
    if path.suffix == ".parquet":
        return [str(cell) for cell in pq.read_table(path).slice(fault.row - 2, 1).to_pylist()[0].values()]
    wide = fault.hospital in ("Hohenwiek General", "Torvenes General")
    text = path.read_bytes().decode("cp1252" if wide else "utf-8-sig")
    return list(csv.reader(io.StringIO(text), delimiter=";" if wide else ","))[fault.row - 1]


def test_planted_texts_stand_on_the_rows_that_the_truth_names(study: tuple[Path, Truth]) -> None:
    folder, truth = study
    texts = [fault for fault in truth.planted if fault.value is not None]
    assert len(texts) > 20
    for fault in texts:
        assert fault.value in _rows(folder, fault), fault


def test_notes_are_told_apart_by_whether_they_tell_the_type(study: tuple[Path, Truth]) -> None:
    (told,) = study[1].notes
    typed, left_open = sum(told.typed.values()), sum(told.left_open.values())
    assert typed + left_open == study[1].by_hospital[told.hospital]
    assert 0 < left_open < 0.06 * typed
    assert "unknown" not in told.typed
    assert "unknown" not in told.left_open
    assert len(told.open_rows) <= left_open


def test_each_export_has_a_column_that_its_legend_drops(study: tuple[Path, Truth]) -> None:
    folder, _ = study
    for legend in read_legends((folder / "legends").glob("*.toml")):
        assert legend.drop.columns


def test_the_truth_file_says_what_was_returned(study: tuple[Path, Truth]) -> None:
    folder, truth = study
    told = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    assert told["groins"] == truth.groins == sum(truth.by_hospital.values())
    assert [turn[1] for turn in told["turns"]] == ["up", "down", "up"]
    assert len(told["planted"]) == len(truth.planted)
    assert f"{truth.groins:,} groins" in str(truth)
    assert truth.to_frame().num_rows == len(truth.planted)


def test_a_study_is_about_as_large_as_asked(study: tuple[Path, Truth]) -> None:
    assert study[1].groins == pytest.approx(GROINS, rel=0.05)


def test_too_few_groins_and_a_folder_that_cannot_be_written_are_refused(tmp_path: Path) -> None:
    with pytest.raises(HingelineError, match="too few"):
        write_study(tmp_path / "small", groins=10)
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    with pytest.raises(HingelineError, match="cannot be written"):
        write_study(tmp_path / "file", groins=600)


def test_progress_is_told_and_rises(tmp_path: Path) -> None:
    told: list[tuple[str, float]] = []
    write_study(tmp_path, groins=600, progress=lambda doing, done: told.append((doing, done)))
    shares = [done for _, done in told]
    assert shares == sorted(shares)
    assert shares[-1] == 1


def test_a_whole_study_looks_like_the_trade() -> None:
    """The sizes of the issue, and Burcharth 2013, PLoS ONE 8:e54367: 88.6% male, 97% inguinal, femoral rising."""
    seed = int(np.random.default_rng().integers(2**32))
    print("seed", seed)
    generator = np.random.default_rng(seed)
    rows = add_outcomes(draw_groins(25_000, generator), generator)
    age, male, kind = rows["age_years"], rows["male"], rows["true_type"]
    assert len(age) == pytest.approx(25_000, rel=0.03)
    assert age.min() >= 0
    assert age.max() < 105
    headline = male & (rows["occurrence"] == "primary") & (rows["reason"] == "hernia")
    assert (headline & (age >= 10) & (age < 25)).sum() >= 3_000
    assert male.mean() == pytest.approx(0.886, abs=0.03)
    assert (kind != "femoral").mean() == pytest.approx(0.97, abs=0.015)
    femoral = [(kind[(age >= low) & (age < low + 30)] == "femoral").mean() for low in (0, 30, 60)]
    assert femoral == sorted(femoral)
    assert (kind[~male] == "femoral").mean() > (kind[male] == "femoral").mean()
    inguinal = headline & (kind != "femoral")
    for low, high in ((0, 10), (20, 40), (60, 80)):
        here = inguinal & (age >= low) & (age < high)
        expected = (
            shape().share(age[here], np.array([h.logit for h in HOSPITALS])[rows["hospital"][here]]).mean()
        )
        direct = int(np.isin(kind[here], ("direct", "combined")).sum())
        # Two groins of a patient are alike, which widens the count's spread by at most a tenth here.
        assert binomtest(direct, int(here.sum()), float(expected)).pvalue > 1e-8


def test_no_event_comes_before_its_operation_or_after_the_end() -> None:
    generator = np.random.default_rng(3)
    rows = add_outcomes(draw_groins(5_000, generator), generator)
    operated = rows["operated_on"]
    assert operated.max() <= LAST_DAY
    assert (rows["born_on"] <= operated).all()
    for name in ("followed_until", "recurred_on", "other_groin_on", "died_on"):
        told = ~np.isnat(rows[name])
        assert told.any(), name
        assert (rows[name][told] >= operated[told]).all(), name
        assert (rows[name][told] <= CUTOFF).all(), name
    limits = np.array([hospital.takes_ages for hospital in HOSPITALS])[rows["hospital"]]
    assert (rows["age_years"] >= limits[:, 0] - 0.01).all()
    assert (rows["age_years"] < limits[:, 1]).all()


def test_true_risks_are_those_that_the_generator_intends(study: tuple[Path, Truth]) -> None:
    truth = study[1].outcomes
    # nothing recurs in the first thirty days, so that a risk lies a little under the one meant for five years
    meant = {"tissue": 0.03, "mesh": 0.015}
    for name, risk in meant.items():
        exact = 1 - (1 - risk) ** ((5 - 30 / 365.25) / 5)
        for told in (truth.by_repair, truth.compared, truth.all, truth.overlap):
            assert abs(told[name] - exact) < 1e-6
    # ligation at 12 to 17 is meant to fail in 2 to 3%, from 18 on in 4 to 6%
    assert 0.0196 < truth.overlap["high_ligation"] < 0.06
    assert truth.by_repair_and_type["direct"]["high_ligation"] > 0.29
    assert json.loads((study[0] / "truth.json").read_text())["outcomes"]["overlap"] == truth.overlap
