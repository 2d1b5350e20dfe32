"""The invented hospitals' exports: every planted fault is found where it was planted, and nothing else."""

from __future__ import annotations

from pathlib import PurePosixPath

import pytest

from hingeline.invented.study import write_study
from hingeline.protocol.study import parse_protocol
from hingeline.records.intake import read_hospital
from hingeline.records.legend import read_legend
from hingeline.records.rules import RULE

from .making import KEY


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    folder = tmp_path_factory.mktemp("invented")
    truth = write_study(folder, seed=20_071, groins=900)
    return folder, truth, parse_protocol((folder / "study.toml").read_text(encoding="utf-8"))


def _intakes(study):
    folder, _, protocol = study
    for hospital in protocol.hospitals:
        sources = [folder / name for name in hospital.sources]
        legend = read_legend(folder / hospital.legend)
        yield hospital.name, read_hospital(sources, legend, cutoff=protocol.study.cutoff, key=KEY)


def test_every_planted_fault_is_found_and_every_sound_groin_is_a_case(study):
    _, truth, _ = study
    for name, found in _intakes(study):
        planted = {
            (PurePosixPath(fault.file).name, fault.row, fault.rule)
            for fault in truth.planted
            if fault.hospital == name
        }
        listed = {(line["file"], line["row"], line["rule"]) for line in found.set_aside.to_pylist()}
        assert listed == planted
        still_cases = sum(RULE[rule].severity != "set aside" for _, _, rule in planted)
        assert found.cases.num_rows == truth.by_hospital[name] + still_cases


def test_the_invented_legends_raise_no_doubt(study):
    for _, found in _intakes(study):
        assert not [sentence for sentence in found.detected if sentence.startswith("look at this")]
