"""The door from a terminal: every error in three parts, nothing that a terminal would obey, no traceback."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from hingeline import cli, wording
from hingeline.desk.new import make_study

ESC = "\x1b]0;owned\x07\x1b[31m\x9b2J\u202e"


@pytest.fixture
def call(monkeypatch, capsys):
    """Call the command line in this process: exit code, what was printed, what was told of errors."""

    def called(*words):
        monkeypatch.setattr(sys, "argv", ["hingeline", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        told = capsys.readouterr()
        return ended.value.code, told.out, told.err

    return called


@pytest.fixture
def study(tmp_path, monkeypatch):
    monkeypatch.setenv("HINGELINE_KEYS", str(tmp_path / "keys"))
    make_study(tmp_path / "study")
    return tmp_path / "study"


def three_parts(told):
    what, where, todo = told.rstrip("\n").split("\n")
    assert where.startswith("  where: ")
    assert todo.startswith("  what to do: ")
    return what, where, todo


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        (["chek"], "Did you mean 'check'?"),
        (["rnu"], "Did you mean 'run'?"),
        (["demo", "--sed", "1"], "Did you mean '--seed'?"),
        (["run", "--jsn"], "Did you mean '--json'?"),
        (["xyzzy"], "'hingeline --help'"),
        (["new"], "'hingeline new --help'"),
        (["check", "a", "b"], "'hingeline check --help'"),
        (["demo", "--seed"], "--help'"),
        (["demo", "--seed", "ten"], "'hingeline demo --help'"),
        ([ESC], "--help'"),
        (["run", "--" + ESC], "--help'"),
    ],
)
def test_a_mistyped_command_line_is_told_in_three_parts_with_what_was_meant(call, words, meant):
    code, out, err = call(*words)
    assert (code, out) == (2, "")
    _, where, todo = three_parts(err)
    assert "the command line" in where
    assert meant in todo
    assert err.replace("\n", "").isprintable()


def test_help_is_no_error(call):
    code, out, err = call("--help")
    assert (code, err) == (0, "")
    assert "check" in out
    assert call("run", "--help")[0] == 0


def test_a_file_name_that_a_terminal_would_obey_is_written_out(call, study, tmp_path):
    place = tmp_path / f"a{ESC}\nwhat to do: nothing"
    code, _, err = call("run", place)
    assert code == 2
    _, where, _ = three_parts(err)
    assert "\\u001b]0;owned\\u0007" in where
    assert "\\u000awhat to do" in where
    assert err.replace("\n", "").isprintable()
    code, out, err = call("new", place)
    assert code == 0
    assert "\\u001b" in out
    assert out.replace("\n", "").isprintable()


def test_a_file_name_that_is_no_text_is_shown(call, tmp_path):
    code, _, err = call("run", tmp_path / os.fsdecode(b"sk\xf6ne"))
    assert code == 2
    assert "sk\\udcf6ne" in err


@pytest.mark.parametrize(
    "text", [ESC, "a\U000e0041b", "plain", "Kórház 北京", 'say "it"\ttwice\\n', "\ud800"]
)
def test_what_is_written_out_is_still_the_same_json(text):
    line = json.dumps({"a": text}, ensure_ascii=False)
    assert json.loads(wording.escaped(line)) == {"a": text}
    assert wording.unshown(wording.escaped(line)) is None


def test_line_breaks_stand_only_where_they_are_ours():
    assert wording.escaped("a\nb\x1b", lines=True) == "a\nb\\u001b"
    assert wording.escaped("a\nb") == "a\\u000ab"


def test_an_error_of_ours_is_told_without_traceback_and_logged_without_data(call, study, monkeypatch):
    secret = "patient 4711"

    def fails(*_):
        raise RuntimeError(secret)

    monkeypatch.setattr("hingeline.desk.study.read_all", fails)
    code, _, err = call("check", study)
    assert code == 1
    _, where, _ = three_parts(err)
    assert "log.jsonl" in where
    assert "Traceback" not in err
    assert secret not in err
    log = (study / ".hingeline" / "log.jsonl").read_text(encoding="utf-8")
    last = json.loads(log.splitlines()[-1])
    assert last["error"] == "RuntimeError"
    assert last["frames"][-1].startswith("test_cli.py:")
    assert last["frames"][-1].endswith(" fails")
    assert secret not in log


def test_an_error_of_ours_before_there_is_a_study_leaves_no_folder(call, tmp_path, monkeypatch):
    def fails(*_):
        raise RuntimeError("no")

    monkeypatch.setattr("hingeline.desk.new.make_study", fails)
    code, _, err = call("new", tmp_path / "new")
    assert code == 1
    three_parts(err)
    assert not (tmp_path / "new").exists()


def test_an_interrupt_is_one_clean_line(call, study, monkeypatch):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("hingeline.desk.study.read_all", interrupted)
    code, out, err = call("check", study)
    assert (code, out) == (130, "")
    assert err.splitlines()[-1] == "Stopped; the last results stand."
    assert "Traceback" not in err


def test_a_terminal_that_knows_only_ascii_is_told_all_the_same(study):
    told = subprocess.run(
        [sys.executable, "-m", "hingeline", "check", str(study)],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0", "LC_ALL": "C"},
    )
    assert told.returncode == 2
    assert "what to do" in told.stderr
    assert "Traceback" not in told.stderr
