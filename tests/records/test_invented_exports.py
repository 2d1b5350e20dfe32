"""The invented hospitals' exports: every planted fault is found where it was planted, and nothing else."""

from __future__ import annotations

from pathlib import PurePosixPath

import pytest

from hingeline.invented.study import write_study
from hingeline.protocol.study import parse_protocol
from hingeline.records.intake import read_hospital
from hingeline.records.legend import read_legend

from .making import KEY


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    folder = tmp_path_factory.mktemp("invented")
    truth = write_study(folder, seed=20_074, groins=900)
    return folder, truth, parse_protocol((folder / "study.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def intakes(study):
    return dict(_intakes(study))


def _intakes(study):
    folder, _, protocol = study
    for hospital in protocol.hospitals:
        sources = [folder / name for name in hospital.sources]
        legend = read_legend(folder / hospital.legend)
        yield hospital.name, read_hospital(sources, legend, cutoff=protocol.study.cutoff, key=KEY)


def _notes_hospital(truth):
    return {told.hospital for told in truth.notes}


def test_every_planted_fault_is_found_and_every_sound_groin_is_a_case(study, intakes):
    _, truth, _ = study
    for name, found in intakes.items():
        faults = [fault for fault in truth.planted if fault.hospital == name]
        planted = {(PurePosixPath(fault.file).name, fault.sheet, fault.row, fault.rule) for fault in faults}
        lines = found.set_aside.to_pylist()
        listed = {(line["file"], line["sheet"], line["row"], line["rule"]) for line in lines}
        extra = sum(fault.extra for fault in faults)
        if name in _notes_hospital(truth):
            assert planted <= listed
            assert found.cases.num_rows <= truth.by_hospital[name] + extra
        else:
            assert listed == planted
            assert found.cases.num_rows == truth.by_hospital[name] + extra


def test_the_invented_legends_raise_no_doubt(study, intakes):
    _, truth, _ = study
    for name, found in intakes.items():
        if name not in _notes_hospital(truth):
            assert not [sentence for sentence in found.detected if sentence.startswith("look at this")]
