"""The demo's folder: a user's file beside it is never lost, and only a demo is made again."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from hingeline.desk import demo
from hingeline.desk.folder import Folder
from hingeline.errors import HingelineError
from hingeline.invented import write_study


@pytest.fixture(autouse=True)
def small(monkeypatch, tmp_path):
    monkeypatch.setenv("HINGELINE_KEYS", str(tmp_path / "keys"))
    monkeypatch.setattr(demo, "write_study", lambda root, **how: write_study(root, groins=600, **how))


@pytest.fixture
def made(tmp_path):
    demo.make_demo(tmp_path / "demo", seed=1)
    return tmp_path / "demo"


def seed_of(root):
    return json.loads((root / "truth.json").read_text(encoding="utf-8"))["seed"]


def files(root):
    return {path: path.read_bytes() for path in root.rglob("*") if path.is_file()}


def test_a_demo_is_made_again_with_another_seed_and_nothing_is_left_half_made(made):
    (made / "results" / "current").write_text("20260101T000000Z-aaaaaaaaaaaa\n")
    demo.make_demo(made, seed=2)
    assert seed_of(made) == 2
    assert {path.name for path in made.iterdir()} == set(demo.OWN)
    assert not list((made / ".hingeline").glob("partial-*"))
    assert not (made / "results" / "current").exists(), "the old answer does not stand beside new records"


@pytest.mark.parametrize("name", ["thesis.doc", "truth.json.bak", "mine/notes.txt"])
def test_a_file_of_the_user_at_the_top_keeps_the_demo_from_being_made_again(made, name):
    (made / name).parent.mkdir(exist_ok=True)
    (made / name).write_text("mine")
    before = files(made)
    with pytest.raises(HingelineError, match="not the demo"):
        demo.make_demo(made, seed=2)
    assert files(made) == before


@pytest.mark.parametrize(
    "name", ["sources/mine.csv", "results/letter.txt", ".hingeline/notes", "by-hand/notes", "legends/a/b"]
)
def test_a_file_of_the_user_among_the_demos_is_kept(made, name):
    (made / name).parent.mkdir(exist_ok=True)
    (made / name).write_text("mine")
    demo.make_demo(made, seed=2)
    assert seed_of(made) == 2
    assert (made / name).read_text() == "mine"


@pytest.mark.parametrize("truth", ["", "{}", "[1]", '{"seed": 1}', "what is true"])
def test_a_folder_with_some_truth_of_its_own_is_no_demo(tmp_path, truth):
    (tmp_path / "truth.json").write_text(truth)
    (tmp_path / "sources").mkdir()
    (tmp_path / "sources" / "mine.csv").write_text("mine")
    before = files(tmp_path)
    for stamped in (False, True):
        if stamped:
            (tmp_path / ".hingeline").mkdir()
            (tmp_path / ".hingeline" / "demo-seed").write_text("default")
            before = files(tmp_path)
        with pytest.raises(HingelineError, match="not the demo"):
            demo.make_demo(tmp_path, seed=2)
        assert files(tmp_path) == before


def test_a_link_out_of_the_demo_is_not_followed(made, tmp_path):
    theirs = tmp_path / "theirs"
    (made / "sources").rename(theirs)
    (made / "sources").symlink_to(theirs)
    before = files(theirs)
    with pytest.raises(HingelineError, match="not the demo"):
        demo.make_demo(made, seed=2)
    assert files(theirs) == before


def test_a_demo_whose_making_failed_is_made_at_the_next_call(tmp_path, monkeypatch):
    def fails(root, **how):
        root.mkdir()
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken:
        broken.setattr(demo, "write_study", fails)
        with pytest.raises(HingelineError, match="No space left"):
            demo.make_demo(tmp_path / "demo", seed=3)
    demo.make_demo(tmp_path / "demo", seed=3)
    assert seed_of(tmp_path / "demo") == 3


def test_a_demo_that_a_run_is_working_on_is_left_alone(made):
    script = (
        "import sys; from pathlib import Path; from hingeline.desk.demo import make_demo\n"
        "from hingeline.errors import HingelineError\n"
        "try:\n    make_demo(Path(sys.argv[1]), seed=2)\n"
        "except HingelineError as error: print(error.what)\n"
    )
    before = files(made / "sources")
    with Folder(made).locked():
        told = subprocess.run(
            [sys.executable, "-c", script, str(made)], capture_output=True, text=True, check=True
        )
    assert "Another run" in told.stdout
    assert files(made / "sources") == before
