"""A study run whole, from exports to report: what it writes, what it makes again, what bad input does."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import stat
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from typer.testing import CliRunner

from hingeline import cli
from hingeline.counts import DEFAULT_DIMENSIONS
from hingeline.desk.steps import fingerprint
from hingeline.desk.study import Study
from hingeline.errors import HingelineError
from hingeline.invented import write_study

USUAL = fingerprint(list(DEFAULT_DIMENSIONS))[:12]
"""What the name of the tally by the usual dimensions ends with."""


@pytest.fixture(scope="module")
def ran(tmp_path_factory):
    """A small invented study, run once; tests copy it before they change it."""
    place = tmp_path_factory.mktemp("study")
    mp = pytest.MonkeyPatch()
    mp.setenv("HINGELINE_KEYS", str(place / "keys"))
    root = place / "small"
    write_study(root, seed=7, groins=4000)
    text = (root / "study.toml").read_text(encoding="utf-8")
    text = (
        text.replace("most = 3", "most = 1")
        .replace("= 199", "= 19")
        .replace("calibration = 39", "calibration = 19")
    )
    (root / "study.toml").write_text(text, encoding="utf-8")
    Study(root).run()
    yield root
    mp.undo()


@pytest.fixture
def study(ran, tmp_path):
    root = tmp_path / "copy"
    shutil.copytree(ran, root)
    return root


def fingerprints(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def call(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "hingeline", *words], capture_output=True, text=True, check=False
    )


def test_a_run_writes_findings_pictures_report_and_tallies(ran):
    run = Study(ran).current
    assert run is not None
    findings = run.findings
    assert findings["format"] == 1
    ids = [finding["id"] for finding in findings["findings"]]
    assert len(ids) == len(set(ids))
    assert {"share.overall", "crossing.0.1", "records.cases"} <= set(ids)
    for finding in findings["findings"]:
        assert finding["sentence"]
        assert finding["method"]
        assert finding["cells"]
        assert finding["planned"] is False, "without a seal nothing is planned"
    assert run.report.read_text(encoding="utf-8").startswith("<!doctype html>")
    assert run.report_pdf.read_bytes().startswith(b"%PDF")
    assert {"direct-share.svg", "repairs-by-age.svg", "flow.svg"} <= {
        p.name for p in (run.path / "pictures").iterdir()
    }
    assert {p.name for p in (run.path / "tallies").iterdir()} == {
        "direct-share.csv",
        "recurrence.csv",
        "repairs.csv",
        "withheld.csv",
    }


def test_the_answer_agrees_with_the_cases_counted_by_hand(ran):
    import pyarrow.parquet as pq

    run = Study(ran).current
    overall = next(f for f in run.findings["findings"] if f["id"] == "share.overall")
    total = direct = 0
    for path in (ran / ".hingeline" / "cache").glob("read-*.cases.parquet"):
        for case in pq.read_table(path, columns=["sex", "occurrence", "reason", "type"]).to_pylist():
            if (case["sex"], case["occurrence"], case["reason"]) != ("male", "primary", "hernia"):
                continue
            total += case["type"] in {"indirect", "direct", "combined"}
            direct += case["type"] in {"direct", "combined"}
    assert (overall["n"], overall["events"]) == (total, direct)
    assert overall["estimate"] == pytest.approx(direct / total, rel=1e-5)


def test_no_patient_row_reaches_the_results(ran):
    import pyarrow.parquet as pq

    keys = set()
    for path in (ran / ".hingeline" / "cache").glob("read-*.cases.parquet"):
        keys |= {str(abs(key)) for key in pq.read_table(path, columns=["patient"])["patient"].to_pylist()}
    run = Study(ran).current
    for path in run.path.rglob("*"):
        if path.suffix in {".json", ".csv", ".html", ".svg", ".toml"}:
            text = path.read_text(encoding="utf-8")
            assert not any(key in text for key in list(keys)[:500] if len(key) > 12), path.name
        assert path.suffix != ".parquet", "a table of patterns must not leave"


def test_nothing_is_made_again_when_nothing_changed(study):
    # the copy has the study's own name and key, so its cache still holds
    before = fingerprints(study / ".hingeline" / "cache")
    outcome = Study(study).run()
    assert outcome.fresh is False
    assert fingerprints(study / ".hingeline" / "cache") == before
    assert len(list((study / "results" / "runs").iterdir())) == 1


def test_a_changed_legend_re_reads_one_hospital(study):
    cache = study / ".hingeline" / "cache"
    before = {path.name for path in cache.glob("read-*.cases.parquet")}
    legend = study / "legends" / "ashmarsh.toml"
    legend.write_text(legend.read_text(encoding="utf-8") + "\n# a remark\n", encoding="utf-8")
    Study(study).check()
    after = {path.name for path in cache.glob("read-*.cases.parquet")}
    assert before < after
    assert len(after - before) == 1


def test_a_changed_title_counts_nothing_again_and_keeps_the_old_run(study):
    cache = study / ".hingeline" / "cache"
    before = {path.name for path in cache.iterdir()}
    old = Study(study).current
    protocol = study / "study.toml"
    protocol.write_text(
        protocol.read_text(encoding="utf-8").replace('title = "', 'title = "New: ', 1), encoding="utf-8"
    )
    outcome = Study(study).run()
    assert outcome.fresh
    assert {path.name for path in cache.iterdir()} == before
    assert outcome.run.findings["title"].startswith("New: ")
    assert old.path.exists(), "runs are never changed or removed"


def test_the_same_seed_gives_the_same_findings_on_one_core_and_on_all(study, monkeypatch):
    text = Study(study).current.findings["findings"]
    monkeypatch.setattr("os.cpu_count", lambda: 1)
    monkeypatch.setattr("os.sched_getaffinity", lambda _: {0}, raising=False)
    shutil.rmtree(study / "results")
    assert Study(study).run().run.findings["findings"] == text


def test_sources_are_untouched_by_a_run(ran, tmp_path):
    again = tmp_path / "again"
    write_study(again, seed=7, groins=4000)
    assert fingerprints(ran / "sources") == fingerprints(again / "sources")


def test_check_lists_what_is_wrong_by_rule_and_hospital(study):
    checked = Study(study).check()
    text = checked.text()
    truth = json.loads((study / "truth.json").read_text(encoding="utf-8"))
    for planted in truth["planted"]:
        assert planted["hospital"] in text
        assert planted["rule"] in text
    assert checked.set_aside.exists()


def test_check_tells_visits_apart_from_operations(study):
    checked = Study(study).check()
    blocks = {block.split("\n")[0]: block for block in checked.text().split("\n\n")}
    visited = {row["hospital"] for row in checked.flow.to_pylist() if row["step"] == "visits read"}
    assert visited, "the invented study has a hospital whose visits stand in a sheet of their own"
    for hospital, told in blocks.items():
        assert ("Visits:" in told) == (hospital in visited)
    apart = {
        "visit before the operation",
        "visit after the cut-off",
        "visit of a patient without an operation",
    }
    counts = checked.counts.to_pylist()
    assert apart & {row["rule"] for row in counts if row["of"] == "visit"}
    assert not apart & {row["rule"] for row in counts if row["of"] == "operation"}
    for hospital in visited:
        operations, visits = blocks[hospital].split("Visits:")
        assert not any(rule in operations for rule in apart)
        assert "female with a testicular complication" not in visits


def test_a_second_run_is_told_and_changes_nothing(study):
    held = Study(study)
    with held.folder.locked():
        told = call("run", str(study))
    assert told.returncode == 2
    assert "Another run" in told.stderr
    assert "Traceback" not in told.stderr + told.stdout


def _bomb(path: Path) -> None:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as bomb:
        bomb.writestr("[Content_Types].xml", "<Types/>")
        bomb.writestr("xl/workbook.xml", "<workbook/>")
        bomb.writestr("xl/worksheets/sheet1.xml", b"0" * 300_000_000)


def _truncated(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:20_000])


BAD_SOURCES = {
    "empty": lambda path: path.write_bytes(b""),
    "truncated": _truncated,
    "a zip bomb": _bomb,
    "encrypted": lambda path: path.write_bytes(bytes.fromhex("D0CF11E0A1B11AE1") + b"EncryptedPackage" * 200),
    "a picture": lambda path: path.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40),
    "a folder": lambda path: (path.unlink(), path.mkdir()),
    "gone": lambda path: path.unlink(),
}


@pytest.mark.parametrize("bad", BAD_SOURCES)
def test_a_bad_export_ends_in_three_parts_and_the_last_results_stand(study, bad):
    standing = (study / "results" / "current").read_bytes()
    results = fingerprints(study / "results")
    BAD_SOURCES[bad](study / "sources" / "wrenholt.xlsx")
    sources = fingerprints(study / "sources")
    _is_refused(study, "wrenholt.xlsx")
    assert fingerprints(study / "sources") == sources
    assert (study / "results" / "current").read_bytes() == standing
    assert fingerprints(study / "results") == results


BAD_TEXTS = {
    "a legend that names an absent column": (
        "legends/ashmarsh.toml",
        'column = "EHS class"',
        'column = "EHS klass"',
        "ashmarsh",
    ),
    "a legend of another hospital": (
        "legends/ashmarsh.toml",
        'hospital = "Ashmarsh General"',
        'hospital = "Elsewhere"',
        "ashmarsh.toml",
    ),
    "two legends for one hospital": (
        "study.toml",
        'name = "Lindesund Children\'s"',
        'name = "Wrenholt Children\'s"',
        "study.toml, line",
    ),
    "an impossible threshold": ("study.toml", "thresholds = [0.05", "thresholds = [1.05", "study.toml, line"),
    "a population without person-years": (
        "sources/population.csv",
        "person_years",
        "people",
        "population.csv",
    ),
}


@pytest.mark.parametrize("bad", BAD_TEXTS)
def test_a_bad_legend_or_protocol_ends_in_three_parts_and_the_last_results_stand(study, bad):
    name, old, new, place = BAD_TEXTS[bad]
    results = fingerprints(study / "results")
    text = (study / name).read_text(encoding="utf-8")
    assert old in text
    (study / name).write_text(text.replace(old, new), encoding="utf-8")
    _is_refused(study, place)
    assert fingerprints(study / "results") == results


def _is_refused(study: Path, place: str) -> None:
    with pytest.raises(HingelineError) as caught:
        Study(study).run()
    assert caught.value.what
    assert place in caught.value.where
    assert caught.value.todo


def test_a_folder_that_cannot_be_written_is_refused(ran, tmp_path):
    root = tmp_path / "locked"
    root.mkdir()
    shutil.copy(ran / "study.toml", root / "study.toml")
    (root / ".hingeline").write_text("a file where a folder should be")
    with pytest.raises(HingelineError, match="cannot be written"):
        Study(root).run()


def test_the_command_line_ends_with_2_and_no_traceback(study):
    (study / "sources" / "lindesund.csv").write_bytes(b"")
    told = call("run", str(study))
    assert told.returncode == 2
    assert "where:" in told.stderr
    assert "what to do:" in told.stderr
    assert "Traceback" not in told.stderr + told.stdout


def test_machines_get_json_lines(study):
    told = call("run", str(study), "--json")
    assert told.returncode == 0, told.stderr
    lines = [json.loads(line) for line in told.stdout.splitlines()]
    assert lines[-1]["event"] == "done"
    assert lines[-1]["fresh"] is False
    assert all(line["event"] == "progress" for line in lines[:-1])


def test_the_door_loads_no_numpy():
    heavy = "('numpy', 'pyarrow', 'duckdb', 'pydantic')"
    script = f"import sys, hingeline.cli; print([m for m in {heavy} if m in sys.modules])"
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"


def test_new_starts_a_study_and_never_writes_over_one(tmp_path):
    root = tmp_path / "mine"
    runner = CliRunner()
    assert runner.invoke(cli.app, ["new", str(root)]).exit_code == 0
    assert Study(root).protocol.study.title
    before = fingerprints(root)
    again = runner.invoke(cli.app, ["new", str(root)])
    assert isinstance(again.exception, HingelineError)
    assert fingerprints(root) == before


def test_the_demo_never_writes_over_something_else(tmp_path):
    (tmp_path / "thesis.doc").write_text("mine")
    told = CliRunner().invoke(cli.app, ["demo", str(tmp_path)])
    assert isinstance(told.exception, HingelineError)
    assert (tmp_path / "thesis.doc").read_text() == "mine"


def test_patient_data_are_their_owners_alone_and_results_follow_the_umask(ran):
    private = [ran / ".hingeline", ran / "by-hand"]
    for path in [*private, *(path for one in private for path in one.rglob("*"))]:
        mode = stat.S_IMODE(path.stat().st_mode)
        assert mode & 0o077 == 0, f"{path.name}: {mode:o}"
    umask = os.umask(0)
    os.umask(umask)
    current = ran / "results" / "current"
    assert stat.S_IMODE(current.stat().st_mode) == 0o666 & ~umask


def test_rows_of_an_export_that_was_replaced_do_not_outlive_the_next_run(study):
    cache = study / ".hingeline" / "cache"
    before = {path.name for path in cache.iterdir()}
    legend = study / "legends" / "ashmarsh.toml"
    legend.write_text(legend.read_text(encoding="utf-8") + "\n# a remark\n", encoding="utf-8")
    Study(study).run()
    after = {path.name for path in cache.iterdir()}
    assert len(after) == len(before)
    assert len({n for n in before - after if n.startswith("read-")}) == 5, "the five files of one hospital"
    assert {n for n in before if n.startswith("tally-")}.isdisjoint(after)


@pytest.mark.parametrize(
    "pattern",
    [
        "read-*.json",
        "read-*.cases.parquet",
        "read-*.flow.parquet",
        "read-*.asked.parquet",
        f"tally-*-{USUAL}/cells.parquet",
    ],
)
def test_a_damaged_entry_of_the_cache_is_made_again(study, pattern):
    good = Study(study).tally.cells
    damaged = sorted((study / ".hingeline" / "cache").glob(pattern))[0]
    bytes_before = damaged.read_bytes()
    for bad in (b"", bytes_before[: len(bytes_before) // 2]):
        damaged.write_bytes(bad)
        assert Study(study).tally.cells.equals(good)
        assert damaged.stat().st_size == len(bytes_before)


@pytest.mark.parametrize("name", ["sources/lindesund.csv", "legends/ashmarsh.toml", "sources/population.csv"])
def test_a_pipe_in_place_of_a_file_is_refused_and_never_waited_for(study, name):
    (study / name).unlink()
    os.mkfifo(study / name)
    with pytest.raises(HingelineError, match="not a file") as caught:
        Study(study).run()
    assert name in caught.value.where


@pytest.mark.parametrize("name", ["sources/lindesund.csv", "legends/ashmarsh.toml", "sources/population.csv"])
def test_a_link_that_leads_out_of_the_study_is_refused(study, tmp_path, name):
    (study / name).rename(tmp_path / "outside")
    (study / name).symlink_to(tmp_path / "outside")
    with pytest.raises(HingelineError, match="outside the study") as caught:
        Study(study).run()
    assert name in caught.value.where


def test_a_pipe_in_place_of_the_protocol_is_refused(tmp_path):
    os.mkfifo(tmp_path / "study.toml")
    with pytest.raises(HingelineError, match="not a file"):
        Study(tmp_path)


@pytest.mark.parametrize("ask", [lambda s: s.check(), lambda s: s.run(), lambda s: s.tally])
def test_a_disk_that_fails_is_told_alike_by_check_tally_and_run(study, monkeypatch, ask):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("hingeline.desk.study.read_all", full)
    with pytest.raises(HingelineError, match="No space left") as caught:
        ask(Study(study))
    assert caught.value.todo


def test_the_notebook_tells_what_the_report_tells(ran):
    import hingeline as hl

    study = hl.open(ran)
    told = {finding["id"]: finding for finding in study.current.findings["findings"]}
    crossing = study.ages.crossing(0.10)
    assert crossing.age == pytest.approx(told["crossing.0.1"]["estimate"], rel=1e-5)
    assert crossing.interval == pytest.approx(
        (told["crossing.0.1"]["low"], told["crossing.0.1"]["high"]), rel=1e-5
    )
    for place, turn in enumerate(study.ages.turns(), start=1):
        assert turn.age == pytest.approx(told[f"turn.{place}"]["estimate"], rel=1e-5)
    assert study.tally.margin(by=["age_bin", "type"]).num_rows > 0
