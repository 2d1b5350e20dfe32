"""`look` on exports of invented hospitals in eleven languages: fields, codes, sureness, and the text it writes."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from hingeline.errors import HingelineError
from hingeline.records.legend import legend_from_text
from hingeline.records.propose import Proposal, propose
from hingeline.records.propose_codes import own_word

from .propose_forms import Form, truth, write
from .propose_hospitals import FORMS


@pytest.fixture(scope="session")
def proposals(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Proposal]:
    """Every form's proposal, made once."""
    folder = tmp_path_factory.mktemp("forms")
    return {
        form.name: propose(write(form, folder, seed), hospital=form.name)
        for seed, form in enumerate(FORMS, 1)
    }


@cache
def _without_confirm(text: str) -> str:
    return re.sub(r"^confirm = .*\n", "", text, flags=re.MULTILINE)


def test_nearly_every_field_is_named_rightly(proposals):
    wrong = []
    total = 0
    for form in FORMS:
        found = {(one.table, one.field): one.column for one in proposals[form.name].guesses}
        for key, column in truth(form).items():
            total += 1
            if found.get(key) != column:
                wrong.append((form.name, key, column, found.get(key)))
    assert len(wrong) / total < 0.02, wrong


def test_nothing_that_is_wrong_is_called_sure(proposals):
    for form in FORMS:
        right = truth(form)
        for one in proposals[form.name].guesses:
            if one.sure == "sure":
                assert right.get((one.table, one.field)) == one.column, (form.name, one)


def test_columns_that_are_no_field_are_left_alone(proposals):
    for form in FORMS:
        right = set(truth(form).values())
        for one in proposals[form.name].guesses:
            assert one.column in right, (form.name, one.field, one.column)


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.name)
def test_codes_whose_words_tell_are_read_rightly(proposals, form: Form):
    for column in form.columns:
        if column.codes is None or column.truth is None:
            continue
        table, _, name = column.truth.rpartition(".")
        guess = proposals[form.name].guess(name, table or "fields")
        if (
            guess is None
            or guess.column != column.name
            or name not in ("sex", "side", "type", "approach", "occurrence")
        ):
            continue
        for meaning, code in column.codes.items():
            told = guess.codes.get(str(code), own_word(name, str(code)))
            if told is not None:
                assert told == meaning or (meaning == "unknown" and told == ""), (name, code)


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.name)
def test_the_text_is_a_legend_once_it_is_confirmed(proposals, form: Form):
    proposal = proposals[form.name]
    if proposal.to_confirm:
        with pytest.raises(HingelineError, match="wait"):
            legend_from_text(proposal.legend_text)
    legend = legend_from_text(_without_confirm(proposal.legend_text))
    assert legend.form == proposal.form == ("patients" if form.wide else "operations")
    assert {how.column for _, _, how in legend.mapped()} <= {column.name for column in form.columns}


def test_names_are_dropped(proposals):
    for form in FORMS:
        names = [column.name for column in form.columns if column.holds == "name"]
        assert set(names) <= set(proposals[form.name].drop)


def test_answers_settle_what_was_asked(tmp_path: Path):
    terse = next(form for form in FORMS if form.name == "cawdor-hall")
    path = write(terse, tmp_path, 5)
    asked = propose(path, hospital="x")
    assert "type.codes" in {question.key for question in asked.questions}
    answers = {
        question.key: {value: _meant(terse, question.key.split(".")[0], value) for value in question.values}
        if question.values
        else True
        for question in asked.questions
    }
    answers = {key.removesuffix(".codes") if value is True else key: value for key, value in answers.items()}
    settled = propose(path, hospital="x", answers=answers)
    assert settled.to_confirm == ()
    legend = legend_from_text(settled.legend_text)
    assert legend.fields["type"].codes["2"] == "direct"
    assert legend.dates.order == "mdy"


def _meant(form: Form, name: str, code: str) -> object:
    column = next(column for column in form.columns if column.truth == name)
    return next(meaning for meaning, own in (column.codes or {}).items() if own == code)


def test_an_answer_about_what_is_not_there_is_refused(tmp_path: Path):
    path = write(FORMS[0], tmp_path, 6, n=40)
    with pytest.raises(HingelineError, match="no proposed entry"):
        propose(path, hospital="x", answers={"typ.codes": {"1": "direct"}})
    with pytest.raises(HingelineError, match="no column"):
        propose(path, hospital="x", answers={"side.column": "Sidde"})


def test_an_entry_can_be_left_out_and_another_column_taken(tmp_path: Path):
    path = write(FORMS[0], tmp_path, 6, n=40)
    told = propose(path, hospital="x", answers={"emergency": False, "operated_on.column": "Admitted"})
    assert told.guess("emergency") is None
    taken = told.guess("operated_on")
    assert taken is not None
    assert taken.column == "Admitted"


def test_a_list_of_codes_beside_the_records_is_read(proposals):
    guess = proposals["mossbank"].guess("type")
    assert guess is not None
    assert [guess.codes[code] for code in "123"] == ["indirect", "direct", "combined"]


def test_visits_in_a_second_sheet_are_found(proposals):
    legend = legend_from_text(_without_confirm(proposals["lyngby-vest"].legend_text))
    assert legend.follow_up is not None
    assert legend.follow_up.file.sheet == "Ambulant kontrol"
    assert legend.follow_up.fields["seen_on"].column == "Kontroldato"


def test_numbers_as_codes_of_type_are_never_guessed(proposals):
    guess = proposals["cawdor-hall"].guess("type")
    assert guess is not None
    assert guess.codes == {}
