"""What `look` shows of a file: no identifying value, nothing a terminal would obey, and no crash on what is odd."""

from __future__ import annotations

import json
import random
import re
from datetime import date
from pathlib import Path

import pytest

from hingeline.errors import HingelineError
from hingeline.records.describe import Description, describe
from hingeline.records.legend import legend_from_text
from hingeline.records.propose import Proposal, propose

NAMES = ("Anna Smith", "John Jones", "Maria Weber", "Peter Novak", "Ali Khan")


def _rows(header: str, row: str, n: int = 40) -> str:
    return (
        header + "\n" + "".join(row.replace("#", str(i)).replace("@", NAMES[i % 5]) + "\n" for i in range(n))
    )


ODD = {
    "control": _rows("Pat\x1b[31m;Se\x07x;S\u202eide;Ty\"pe", "#;M;L;ind"),
    "repeated names": _rows("id;type;type;date;date;side", "#;direct;indirect;2015-01-03;1990-02-03;L"),
    "no names": _rows("0;M;L;indirect;01.02.2015", "#;M;L;indirect;03.04.2016"),
    "one column": _rows("a", "#"),
    "one row": _rows("id;sex;dob;op date;side;type", "#;M;01.02.2000;03.04.2010;L;indirect", 1),
    "no row": "a;b;c\n",
    "long cells": _rows("id;" + "x" * 5_000, "#;" + "y" * 3_000, 10),
    "quotes": _rows('id;"a ""q"" = [x]";sex', "#;1;F"),
    "emoji": _rows("id;\U0001f600 side;sex", "#;L;M"),
    "names of people": _rows("id;sex;side;type;who", "#;M;L;direct;@"),
    "a name among codes": _rows("id;sex;side;type", "#;M;L;direct") + "77;M;L;Maria Weber 0171 2345678\n",
    "a telephone": _rows("id;sex;side;type;tel", "#;M;L;direct;0171 23456#"),
    "many columns": ";".join(f"c{i}" for i in range(1_500)) + "\n" + ";".join("1" for _ in range(1_500)) + "\n",
}  # fmt: skip


def _looked(text: str, folder: Path) -> tuple[Description, Proposal]:
    path = folder / "odd.csv"
    path.write_text(text, encoding="utf-8", newline="")
    return describe(path), propose(path, hospital="Alder\x1b Vale")


@pytest.mark.parametrize("name", ODD)
def test_whatever_a_file_holds_it_is_described_and_no_one_named(name: str, tmp_path: Path):
    told, proposal = _looked(ODD[name], tmp_path)
    shown = f"{told.text()}{told}{proposal.text()}{proposal}{proposal.legend_text}"
    assert not [one for one in shown if (ord(one) < 32 and one != "\n") or one in "\u202e\x7f"]
    for person in (*NAMES, "2345678", "0171"):
        assert person not in shown + json.dumps(proposal.to_json(), ensure_ascii=False)
        assert person not in str(told.to_frame().to_pylist())
    legend = legend_from_text(re.sub(r"^confirm = .*\n", "", proposal.legend_text, flags=re.MULTILINE))
    assert legend.hospital == "Alder\x1b Vale"


def test_names_that_do_not_print_lead_back_to_their_column(tmp_path: Path):
    _, proposal = _looked(ODD["control"], tmp_path)
    guess = proposal.guess("side")
    assert guess is not None
    assert guess.column == "S\u202eide"


def test_columns_are_told_by_what_their_cells_are(tmp_path: Path):
    note = "Sac ligated, floor firm and whole, number"
    rows = [
        f"P{i:04d}X;{'M' if i % 9 else 'F'};{i % 28 + 1:02d}.{i % 12 + 1:02d}.20{i % 15 + 5:02d};{i % 70},5;;{note} {i}"
        for i in range(80)
    ]
    path = tmp_path / "kinds.csv"
    path.write_text("Key;Sex;Op date;Weight;Empty;Note\n" + "\n".join(rows) + "\n", encoding="utf-8")
    told = {one["column"]: one for one in describe(path).to_frame().to_pylist()}
    assert [told[name]["kind"] for name in ("Key", "Sex", "Op date", "Weight", "Empty", "Note")] == [
        "keys", "codes", "dates", "numbers", "empty", "free text",
    ]  # fmt: skip
    assert told["Sex"]["told"] == "“M” 71, “F” 9"
    assert "day, month, year" in told["Op date"]["told"]
    assert told["Weight"]["told"] == "0.5 to 69.5"
    assert told["Empty"]["filled"] == 0


@pytest.mark.parametrize(
    ("cell", "order"),
    [
        ("05/06/20{:02d}", "which no cell settles"),
        ("25/06/20{:02d}", "day, month, year"),
        ("06/25/20{:02d}", "month, day, year"),
    ],
)
def test_the_order_of_dates_is_told_or_said_to_be_open(cell: str, order: str, tmp_path: Path):
    path = tmp_path / "dates.csv"
    path.write_text(
        "id;when\n" + "".join(f"{i};{cell.format(i % 9 + 10)}\n" for i in range(20)), encoding="utf-8"
    )
    assert order in describe(path).text()


def test_dates_that_nothing_settles_are_asked_about(tmp_path: Path):
    text = _rows("id;sex;age;op date;side;type", "#;M;40;05/06/2015;L;direct")
    _, proposal = _looked(text, tmp_path)
    assert any(question.key == "operated_on.order" for question in proposal.questions)
    path = tmp_path / "odd.csv"
    settled = propose(path, hospital="x", answers={"dates.order": "mdy"})
    assert 'order = "mdy"' in settled.legend_text
    assert not any(question.key.endswith("order") for question in settled.questions)


def test_dates_and_ages_settle_the_order_together(tmp_path: Path):
    # every day is 12 or less, so that no cell tells the order; only one order makes every age
    rng = random.Random(8)
    rows = []
    for i in range(200):
        born = date(rng.randrange(1940, 2000), rng.randrange(1, 13), rng.randrange(1, 13))
        operated = date(rng.randrange(2005, 2020), rng.randrange(1, 13), rng.randrange(1, 13))
        age = operated.year - born.year - ((operated.month, operated.day) < (born.month, born.day))
        rows.append(f"{i};M;{age};{born:%m/%d/%Y};{operated:%m/%d/%Y};L;direct\n")
    path = tmp_path / "settled.csv"
    path.write_text("id;sex;age;dob;op date;side;type\n" + "".join(rows), encoding="utf-8")
    proposal = propose(path, hospital="x")
    assert 'order = "mdy"' in proposal.legend_text
    assert not any(question.key.endswith("order") for question in proposal.questions)


def test_what_cannot_be_opened_is_refused(tmp_path: Path):
    with pytest.raises(HingelineError, match="no such file"):
        describe(tmp_path / "not there.csv")
    with pytest.raises(HingelineError):
        propose([], hospital="x")
