"""Filled sheets in a study folder: joined to the record, listed where they cannot be, entering where asked."""

from __future__ import annotations

import json
import re
import shutil

import pytest

from hingeline.desk.progress import silent
from hingeline.desk.readers import entering, readings_of, sheets_fingerprint
from hingeline.desk.steps import read_all
from hingeline.desk.study import Study
from hingeline.errors import HingelineError
from hingeline.invented import write_study
from hingeline.invented.readings import FILE


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    place = tmp_path_factory.mktemp("readers")
    mp = pytest.MonkeyPatch()
    mp.setenv("HINGELINE_KEYS", str(place / "keys"))
    root = place / "small"
    write_study(root, seed=7, groins=2000)
    study = Study(root)
    study.folder.prepare()
    read_all(study.folder, study.protocol, silent)
    yield root
    mp.undo()


@pytest.fixture
def root(made, tmp_path):
    shutil.copytree(made, tmp_path / "copy")
    return tmp_path / "copy"


def found(root):
    study = Study(root)
    reads = read_all(study.folder, study.protocol, silent)
    return study, reads, readings_of(study.folder, study.protocol, reads)


def test_every_groin_that_was_read_again_is_found_among_the_cases(root):
    study, _, readings = found(root)
    assert readings.left == 0
    assert set(readings.recorded) == set(readings.by_groin)
    assert len(readings.by_groin) == 120
    assert not (study.folder.by_hand / "typing-left.csv").exists()


def test_a_row_that_is_no_case_is_listed(root):
    path = root / FILE
    head, first, *rest = path.read_text(encoding="utf-8").splitlines()
    cells = first.split(",")
    cells[2] = "999999"
    path.write_text("\n".join([head, ",".join(cells), *rest]) + "\n", encoding="utf-8")
    study, _, readings = found(root)
    assert readings.left == 1
    told = (study.folder.by_hand / "typing-left.csv").read_text(encoding="utf-8-sig")
    assert "999999" in told
    assert "draw again" in told


def test_a_changed_sheet_is_another_study(root):
    study = Study(root)
    before = sheets_fingerprint(study.folder, study.protocol)
    (root / FILE).write_text((root / FILE).read_text().replace("direct", "indirect", 1))
    assert sheets_fingerprint(study.folder, study.protocol) != before


def test_errors_of_typing_enter_only_where_asked(root):
    study, reads, _ = found(root)
    assert entering(study.folder, study.protocol, reads) is study.protocol
    text = (root / "study.toml").read_text(encoding="utf-8")
    (root / "study.toml").write_text(text.replace("enters = false", "enters = true"), encoding="utf-8")
    study, reads, _ = found(root)
    (entry, *_) = entering(study.folder, study.protocol, reads).typing
    assert entry.hospital is entry.approach is entry.known_by is None
    assert 1 < entry.sensitivity + entry.specificity < 2


def test_a_run_with_errors_of_typing_tells_so_in_the_report(root):
    text = (root / "study.toml").read_text(encoding="utf-8")
    text = re.sub(r"replicates = \d+", "replicates = 20", text).replace("enters = false", "enters = true")
    (root / "study.toml").write_text(text, encoding="utf-8")
    study = Study(root)
    outcome = study.run()
    report = (outcome.run.path / "writing" / "report.html").read_text(encoding="utf-8")
    section = report[report.index('id="readers"') :]
    assert "These rates enter the likelihood" in section
    told = json.loads((outcome.run.path / "findings.json").read_text(encoding="utf-8"))
    ids = {one["id"] for one in told["findings"]}
    assert {"agreement.kappa", "typing.sensitivity", "typing.specificity"} <= ids
    assert any(one.startswith("agreement.notes.") for one in ids)


def test_sheets_are_opened_once_a_run(root, monkeypatch):
    from hingeline.records import sampling_filled

    opened = []
    plain = sampling_filled.read_filled
    monkeypatch.setattr(sampling_filled, "read_filled", lambda paths: opened.append(paths) or plain(paths))
    text = (root / "study.toml").read_text(encoding="utf-8")
    (root / "study.toml").write_text(text.replace("enters = false", "enters = true"), encoding="utf-8")
    study, reads, readings = found(root)
    entering(study.folder, study.protocol, reads)
    assert readings_of(study.folder, study.protocol, reads) is readings
    assert len(opened) == 1
    (root / FILE).write_text((root / FILE).read_text().replace("direct", "indirect", 1))
    assert readings_of(study.folder, study.protocol, reads) is not readings
    assert len(opened) == 2


def test_a_sheet_that_is_not_there_is_told(root):
    (root / FILE).unlink()
    with pytest.raises(HingelineError) as refused:
        found(root)
    assert refused.value.todo


def test_notes_are_compared_with_the_typed_column_where_both_are_sent(root):
    study = Study(root)
    checked = study.check()
    assert checked.compared
    told = checked.to_json()["notes_beside_types"]
    for hospital, one in checked.compared.items():
        n = sum(cell["groins"] for cell in told[hospital]["cells"])
        assert n == int(one.table.all.sum()) > 0
        assert f"{hospital}: notes read beside the typed column" in checked.text()
    again = Study(root).check()
    assert again.to_json()["notes_beside_types"] == told
    typed_and_noted = {
        read.hospital: read.compared for read in read_all(study.folder, study.protocol, silent)
    }
    assert all(typed_and_noted[hospital] == one.cells for hospital, one in checked.compared.items())
