"""Legends: what is read, and what is refused with file, line and a way out."""

from __future__ import annotations

import re
import textwrap

import pytest

from hingeline.errors import HingelineError
from hingeline.records import legend as legend_module
from hingeline.records.legend import legend_from_text, read_legend, read_legends

from .making import PLAIN


def _examples() -> list[str]:
    blocks = re.findall(r"::\n\n((?:    .*\n|\n)+)", legend_module.__doc__ or "")
    return [textwrap.dedent(block) for block in blocks]


def test_the_documented_format_is_a_legend():
    whole, _, _ = _examples()
    legend = legend_from_text(whole)
    assert legend.hospital == "Alder Vale"
    assert legend.file.header_row == 3
    assert legend.fields["infection"].codes == {"J": True, "N": False}
    assert legend.fields["approach"].value == "laparoscopic"
    assert legend.columns()[:3] == ("Pat. no.", "Age", "DOB")


def test_the_documented_form_of_two_sides_is_a_legend():
    _, sides, _ = _examples()
    shared = """
    hospital = "Alder Vale"
    form = "patients"
    [fields]
    patient = { column = "P" }
    sex = { column = "S" }
    age = { column = "A", unit = "years" }
    """
    legend = legend_from_text(textwrap.dedent(shared) + sides)
    assert legend.side("left")["type"].column == "Left: type"
    assert legend.side("right")["type"].column == "Right: type"
    assert "operated_on" not in legend.side("right")


WRONG = [
    ("form =", "something is missing or too much on this line", 1),
    ('hospital = "A"\nform = "operations', "often a quotation mark", 2),
    (PLAIN + "[fields]", "says again what already stands further up", 13),
    (PLAIN + 'reason = { column = "x", codes = { N = "herna" } }', "Did you mean 'hernia'? Use one of", 13),
    ('hospital = "A"\nfrom = "operations"', "did you mean 'form'", 2),
    ('hospital = "A"\nform = "visits"', "form", 2),
    (PLAIN + 'tipe = { column = "x" }', "did you mean 'type'", 13),
    (PLAIN + 'known_by = { colum = "x" }', "did you mean 'column'", 13),
    (PLAIN + 'repair = { column = "x", codes = { N = "sutures" } }', "repair cannot be 'sutures'", 13),
    (PLAIN + 'infection = { column = "x", codes = { N = "false" } }', "infection cannot be 'false'", 13),
    (PLAIN + 'approach = { value = "keyhole" }', "approach cannot be 'keyhole'", 13),
    (PLAIN + "approach = { }", "either column", 13),
    (PLAIN + 'approach = { column = "x", value = "open" }', "either column", 13),
    (PLAIN + 'age = { column = "x" }', "age has no unit", 13),
    (PLAIN + 'age = { column = "x", unit = "decades" }', "age cannot be in 'decades'", 13),
    (PLAIN + 'ring_mm = { column = "x", unit = "kg" }', "ring_mm cannot be in 'kg'", 13),
    (PLAIN + 'surgeon = { value = "me" }', "cannot be a constant", 13),
    (PLAIN + 'died_on = { value = "31.12.2020" }', "is no date", 13),
    (PLAIN + 'height_cm = { value = "tall" }', "is no number", 13),
    (PLAIN + 'age_days = { column = "x" }', "worked out by intake", 13),
    (PLAIN + 'known_by = { column = "x", order = "dmy" }', "no date", 13),
    (PLAIN + 'ring_mm = { column = "x", codes = { a = 1 } }', "takes no codes", 13),
    (PLAIN + 'emergency = { column = "x", codes = { J = true, j = false } }', "read alike", 13),
    (PLAIN + '[file]\nencoding = "klingon"', "is not an encoding", 14),
    *(
        (PLAIN + f'[file]\nencoding = "{codec}"', "is not an encoding of text", 14)
        for codec in (
            *(
                "rot13",
                "idna",
                "punycode",
                "unicode_escape",
                "raw_unicode_escape",
                "undefined",
                "hex",
                "zlib",
            ),
            *("base64", "uu", "quopri", "bz2", "utf-7", "hz", "cp037", "mbcs"),
        )
    ),
    (PLAIN + '[file]\ndelimiter = ";;"', "one character", 14),
    (PLAIN + "[file]\nheader_row = -1", "header_row", 14),
    (PLAIN + '[dates]\norder = "dym"', "", 14),
    (PLAIN + '[drop]\ncolumns = ["pat"]', "mapped to patient and dropped", 7),
    (PLAIN + '[left.type]\ncolumn = "x"', "a row is an operation", None),
    (
        PLAIN.replace('sex = { column = "Sex", codes = { M = "male", F = "female" } }', ""),
        "does not map sex",
        None,
    ),
    (PLAIN.replace("born_on", "died_on"), "does not tell the age", None),
    (PLAIN.replace('"operations"', '"patients"'), "sides are not mapped", None),
]


@pytest.mark.parametrize(("text", "what", "line"), WRONG)
def test_a_wrong_legend_is_refused_with_its_line(tmp_path, text, what, line):
    path = tmp_path / "alder.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(HingelineError) as refused:
        read_legend(path)
    assert what.lower() in str(refused.value).lower()
    assert "alder.toml" in refused.value.where
    assert refused.value.todo
    if line is not None and "dym" not in text:
        assert f"line {line}" in refused.value.where


def test_a_legend_that_is_no_file_or_no_text_is_refused(tmp_path):
    (tmp_path / "latin.toml").write_bytes('hospital = "Ä"'.encode("cp1252"))
    for name in ("absent.toml", "latin.toml", "."):
        with pytest.raises(HingelineError):
            read_legend(tmp_path / name)


def test_two_legends_for_one_hospital_are_refused(tmp_path):
    for name in ("a.toml", "b.toml"):
        (tmp_path / name).write_text(PLAIN, encoding="utf-8")
    with pytest.raises(HingelineError, match="Two legends are for one hospital") as refused:
        read_legends([tmp_path / "a.toml", tmp_path / "b.toml"])
    assert "a.toml" in refused.value.where
    assert "b.toml" in refused.value.where


def test_a_legend_may_begin_with_a_byte_order_mark(tmp_path):
    path = tmp_path / "bom.toml"
    path.write_text(PLAIN, encoding="utf-8-sig")
    assert read_legend(path).hospital == "Alder Vale"


def test_a_proposed_entry_waits_for_a_persons_look():
    text = PLAIN.replace('column = "Type",', 'column = "Type", confirm = "is lat. the type?",')
    with pytest.raises(HingelineError, match="waits for a person's look: is lat") as told:
        legend_from_text(text)
    assert "fields.type" in told.value.what


FOLLOWED = (
    PLAIN
    + """
[follow_up]
files = ["clinic*.csv"]
[follow_up.fields]
patient = { column = "Pat" }
seen_on = { column = "Seen" }
recurred = { column = "Recurrence", codes = { "J" = true } }
"""
)


def test_the_documented_notes_and_visits_are_a_legend():
    *_, more = _examples()
    legend = legend_from_text(
        PLAIN.replace("born_on =", 'age = { column = "Age", unit = "years" }\nborn_on =') + more
    )
    assert legend.follow_up is not None
    assert set(legend.follow_up.fields) == {"patient", "seen_on", "recurred"}


def test_visits_have_files_of_their_own():
    legend = legend_from_text(FOLLOWED)
    assert legend.is_visits("clinic-2019.csv")
    assert not legend.is_visits("list.csv")
    assert legend.follow_up is not None
    assert legend.follow_up.fields["recurred"].codes == {"J": True}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (('files = ["clinic*.csv"]', ""), "where the visits stand"),
        (('patient = { column = "Pat" }\nseen_on', "seen_on"), "Nothing joins"),
        (('seen_on = { column = "Seen" }', ""), "has no date|have no date"),
        (("recurred = {", "recured = {"), "'recured' is no field"),
        (('"J" = true', '"J" = "yes"'), "recurred cannot be 'yes'"),
        (('"Seen" }', '"Seen", confirm = "is it the visit?" }'), "waits for a person"),
    ],
)
def test_visits_that_cannot_be_are_refused(change, said):
    text = PLAIN + FOLLOWED[len(PLAIN) :].replace(*change)
    assert text != FOLLOWED
    with pytest.raises(HingelineError, match=said):
        legend_from_text(text)


def test_a_note_stands_in_for_side_and_type():
    lines = [line for line in PLAIN.splitlines() if not line.startswith(("side", "type"))]
    with pytest.raises(HingelineError, match="side"):
        legend_from_text("\n".join(lines))
    legend_from_text("\n".join([*lines, 'note = { column = "Report" }']))


@pytest.mark.parametrize(
    "codec",
    [
        "utf-8",
        "utf-8-sig",
        "UTF-16",
        "utf_16_le",
        "utf-32",
        "cp1252",
        "latin-1",
        "cp850",
        "shift_jis",
        "gb18030",
    ],
)
def test_encodings_in_which_files_are_written_are_taken(codec: str) -> None:
    found = legend_from_text(PLAIN + f'[file]\nencoding = "{codec}"')
    assert found.file.encoding == codec
