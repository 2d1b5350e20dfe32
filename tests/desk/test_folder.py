"""The study folder: written whole or not at all, one run at a time, the key outside, the pointer naming a run."""

from __future__ import annotations

import json
import os
import random
import signal
import stat
import subprocess
import sys
import textwrap
import time

import pytest

from hingeline.desk.folder import Folder, write_whole
from hingeline.desk.runs import Run, current_run, new_run, run_made_from, stand
from hingeline.errors import HingelineError


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setenv("HINGELINE_KEYS", str(tmp_path / "keys"))
    folder = Folder(tmp_path / "study")
    folder.prepare()
    return folder


def test_the_key_lies_outside_the_study_and_only_its_owner_reads_it(folder, tmp_path):
    key = folder.key()
    assert len(key) == 32
    assert folder.key() == key, "a second call gives the same key"
    held = [p for p in folder.root.rglob("*") if p.is_file() and key.hex().encode() in p.read_bytes()]
    assert held == []
    (path,) = (tmp_path / "keys").iterdir()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_two_studies_have_two_keys(folder, tmp_path):
    other = Folder(tmp_path / "other")
    other.prepare()
    assert other.key() != folder.key()


def test_a_second_run_is_told_and_the_first_goes_on(folder):
    with folder.locked():
        script = (
            "import sys; from pathlib import Path; from hingeline.desk.folder import Folder\n"
            "from hingeline.errors import HingelineError\n"
            "try:\n    with Folder(Path(sys.argv[1])).locked(): pass\n"
            "except HingelineError as error: print(error.what)\n"
        )
        told = subprocess.run(
            [sys.executable, "-c", script, str(folder.root)], capture_output=True, text=True, check=True
        )
    assert "Another run" in told.stdout
    with folder.locked():
        pass


def test_a_folder_that_cannot_be_made_is_told_in_three_parts(tmp_path):
    (tmp_path / "file").write_text("not a folder")
    with pytest.raises(HingelineError) as caught:
        Folder(tmp_path / "file" / "study").prepare()
    assert caught.value.what
    assert str(tmp_path) in caught.value.where
    assert caught.value.todo


def test_a_failed_write_leaves_the_old_file_and_no_rest(tmp_path, monkeypatch):
    path = tmp_path / "findings.json"
    write_whole(path, "old")
    monkeypatch.setattr(os, "fsync", lambda _: (_ for _ in ()).throw(OSError("disk full")))
    with pytest.raises(OSError, match="disk full"):
        write_whole(path, "new")
    assert path.read_text() == "old"
    assert [found.name for found in tmp_path.iterdir()] == ["findings.json"]


def _fails_half_way(folder):
    with new_run(folder, "20260102T000000Z-cccccccccccc") as path:
        (path / "run.json").write_text("{}")
        raise RuntimeError("cannot be drawn")


def test_a_run_that_fails_leaves_the_last_one_standing(folder):
    with new_run(folder, "20260101T000000Z-aaaaaaaaaaaa") as path:
        (path / "run.json").write_text('{"made_from": "aaaaaaaaaaaabbbb"}')
        (path / "findings.json").write_text('{"sentences": []}')
    first = Run("20260101T000000Z-aaaaaaaaaaaa", folder.runs / "20260101T000000Z-aaaaaaaaaaaa")
    stand(folder, first)
    with pytest.raises(RuntimeError, match="drawn"):
        _fails_half_way(folder)
    assert current_run(folder) == first
    assert [p.name for p in folder.runs.iterdir()] == [first.id]
    assert run_made_from(folder, "aaaaaaaaaaaabbbb") == first
    assert run_made_from(folder, "aaaaaaaaaaaacccc") is None, "twelve equal digits are not the same run"


def test_killed_at_any_instant_the_pointer_names_a_whole_run(folder):
    seed = random.SystemRandom().randrange(2**32)
    print(f"seed {seed}")
    pick = random.Random(seed)
    script = textwrap.dedent(
        """
        import sys
        from pathlib import Path
        from hingeline.desk.folder import Folder
        from hingeline.desk.runs import Run, new_run, stand
        folder = Folder(Path(sys.argv[1]))
        start = int(sys.argv[2])
        print("ready", flush=True)
        for i in range(start, start + 100000):
            id = f"20260101T000000Z-{i:012x}"
            with new_run(folder, id) as path:
                (path / "findings.json").write_text("x" * 50000)
                (path / "run.json").write_text('{"made_from": "%s"}' % id)
            stand(folder, Run(id, folder.runs / id))
        """
    )
    for kill in range(12):
        child = subprocess.Popen(
            [sys.executable, "-c", script, str(folder.root), str(kill * 100000)],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )
        assert child.stdout is not None
        child.stdout.readline()
        time.sleep(pick.uniform(0.01, 0.08))
        child.send_signal(signal.SIGKILL)
        child.wait()
        child.stdout.close()
        standing = current_run(folder)
        if standing is not None:
            assert standing.meta["made_from"] == standing.id
            assert (standing.path / "findings.json").read_text() == "x" * 50000


def test_a_pointer_to_a_run_that_was_removed_says_what_to_do(folder):
    write_whole(folder.current, "gone\n")
    with pytest.raises(HingelineError, match="hingeline run"):
        current_run(folder)


@pytest.mark.parametrize(
    "name", ["../../../elsewhere", "gone", "", "20260101T000000Z-aaaaaaaaaaaa/..", "/etc"]
)
def test_a_pointer_is_followed_only_to_a_run_of_this_study(folder, tmp_path, name):
    for place in (tmp_path / "elsewhere", folder.runs):
        place.mkdir(exist_ok=True)
        (place / "run.json").write_text('{"made_from": "x"}')
    folder.current.write_text(name + "\n")
    with pytest.raises(HingelineError, match="hingeline run"):
        current_run(folder)


@pytest.mark.parametrize("held", [b"", b"\n", b"ab" * 31, b"not hexadecimal", b"\xff" * 64, b"ab" * 33])
def test_a_damaged_key_is_refused_and_left_as_it_is(folder, tmp_path, held):
    folder.key()
    (path,) = (tmp_path / "keys").iterdir()
    path.write_bytes(held)
    with pytest.raises(HingelineError, match="damaged") as caught:
        folder.key()
    assert str(path) == caught.value.where
    assert path.read_bytes() == held


def test_a_key_made_by_another_at_the_same_moment_stands(folder, tmp_path, monkeypatch):
    theirs = "5a" * 32
    link = os.link

    def late(new, path):
        path.write_text(theirs)
        link(new, path)

    monkeypatch.setattr(os, "link", late)
    assert folder.key() == bytes.fromhex(theirs)
    assert len(list((tmp_path / "keys").iterdir())) == 1, "no half-made key is left"


def test_on_a_disk_without_links_the_key_is_still_made_once(folder, tmp_path, monkeypatch):
    def refused(new, path):
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refused)
    assert folder.key() == folder.key()
    (path,) = (tmp_path / "keys").iterdir()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_damaged_name_of_the_study_never_becomes_a_path(folder):
    for name in ("../../other", "", 7):
        (folder.hidden / "identity.json").write_text(json.dumps({"study": name}))
        with pytest.raises(HingelineError, match="damaged"):
            folder.key()
    (folder.hidden / "identity.json").write_text("")
    with pytest.raises(HingelineError, match="damaged"):
        folder.key()


def test_what_others_could_read_before_is_taken_from_them(tmp_path):
    old = Folder(tmp_path / "old")
    old.cache.mkdir(parents=True)
    for path in (old.hidden, old.cache):
        path.chmod(0o755)
    old.prepare()
    assert [stat.S_IMODE(path.stat().st_mode) for path in (old.hidden, old.cache)] == [0o700, 0o700]


def test_litter_of_a_killed_run_is_swept_and_nothing_else(folder):
    litter = [
        folder.hidden / "partial-20260101T000000Z-aaaaaaaaaaaa",
        folder.cache / "tally-abc.partial",
        folder.cache / "read-abc.cases.parquet.partial",
        folder.by_hand / ".set-aside.csv.123",
    ]
    for path in litter[:2]:
        path.mkdir()
        (path / "half").write_text("x")
    for path in litter[2:]:
        path.write_text("x")
    kept = [
        folder.set_aside,
        folder.hidden / "set-aside.csv",
        folder.hidden / "notes.txt",
        folder.cache / "read-abc.json",
    ]
    for path in kept:
        path.write_text("x")
    folder.sweep()
    assert not any(path.exists() for path in litter)
    assert all(path.exists() for path in kept)


def test_what_people_fill_in_lies_in_sight_private_and_out_of_version_control(folder):
    assert not folder.by_hand.name.startswith(".")
    assert stat.S_IMODE(folder.by_hand.stat().st_mode) == 0o700
    assert "*" in (folder.by_hand / ".gitignore").read_text().split()
