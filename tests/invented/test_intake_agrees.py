"""Intake finds in the invented exports what the truth file says, and nothing else."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from hingeline.invented import Truth, write_study
from hingeline.invented.hospitals import HOSPITALS, Hospital
from hingeline.protocol.study import read_protocol
from hingeline.records.intake import Intake, read_hospital
from hingeline.records.legend import read_legend
from hingeline.records.rules import RULE


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Truth]:
    folder = tmp_path_factory.mktemp("invented")
    return folder, write_study(folder, seed=29, groins=2_500)


def _intake(folder: Path, hospital: Hospital) -> Intake:
    legend = read_legend(folder / "legends" / f"{hospital.slug}.toml")
    cutoff = read_protocol(folder / "study.toml").study.cutoff
    return read_hospital([folder / hospital.path], legend, cutoff=cutoff, key=bytes(32))


@pytest.mark.parametrize("hospital", HOSPITALS, ids=lambda hospital: hospital.slug)
def test_each_planted_error_is_found_on_its_row_and_no_other(
    study: tuple[Path, Truth], hospital: Hospital
) -> None:
    folder, truth = study
    read = _intake(folder, hospital)
    found = {(row["row"], row["rule"]) for row in read.set_aside.to_pylist()}
    planted = [fault for fault in truth.planted if fault.hospital == hospital.name]
    assert found == {(fault.row, fault.rule) for fault in planted}
    cases = sum(RULE[fault.rule].severity != "set aside" for fault in planted)
    assert read.cases.num_rows == truth.by_hospital[hospital.name] + cases


def test_the_headline_cases_are_as_many_as_the_truth_says(study: tuple[Path, Truth]) -> None:
    folder, truth = study
    headline = direct = 0
    for hospital in HOSPITALS:
        table = _intake(folder, hospital).cases
        column = {name: np.array(table[name].to_pylist()) for name in ("sex", "occurrence", "reason", "type")}
        here = (
            (column["sex"] == "male") & (column["occurrence"] == "primary") & (column["reason"] == "hernia")
        )
        here &= np.isin(column["type"], ("indirect", "direct", "combined"))
        headline += int(here.sum())
        direct += int((here & (column["type"] != "indirect")).sum())
    # The copies of sound rows whose fault costs them no place among the cases are the difference.
    spare = sum(RULE[fault.rule].severity != "set aside" for fault in truth.planted)
    assert 0 <= headline - truth.headline <= spare
    assert 0 <= direct - truth.headline_direct <= spare
