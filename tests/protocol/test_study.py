"""The protocol: what it refuses, and that it names the line."""

from __future__ import annotations

import pytest

from hingeline.desk.new import PROTOCOL
from hingeline.errors import HingelineError
from hingeline.protocol import parse_protocol, read_protocol
from hingeline.protocol.study import is_table

HEAD = """\
format = 1
[study]
title = "Groins"
question = "When?"
cutoff = 2026-06-30
"""
HOSPITAL = """
[[hospitals]]
name = "Alder Vale"
sources = ["sources/a.csv"]
legend = "legends/a.toml"
"""


def line_of(text: str, start: str) -> int:
    return next(i for i, line in enumerate(text.splitlines(), 1) if line.startswith(start))


def test_the_protocol_that_a_new_study_starts_with_is_valid_and_has_the_designs_defaults():
    protocol = parse_protocol(PROTOCOL)
    bare = parse_protocol(HEAD + HOSPITAL)
    assert protocol.counting == bare.counting
    assert bare.counting.thresholds == (0.05, 0.10, 0.20, 0.30)
    assert bare.counting.direct == ("direct", "combined")
    assert bare.privacy.smallest_cell == 5
    assert (bare.turns.most, bare.turns.apart_years) == (3, 2.0)
    assert bare.resampling.replicates == 2000
    assert (protocol.outcomes, protocol.contrast) == (bare.outcomes, bare.contrast)
    assert (bare.outcomes.horizons_years, bare.outcomes.headline_years) == ((1, 2, 5), 5)
    assert (bare.contrast.margin, bare.contrast.reference) == (0.02, "high_ligation")
    assert (bare.series, bare.agreement.enters) == ((), False)


@pytest.mark.parametrize(
    ("wrong", "start", "says"),
    [
        ("[counting]\nthresholds = [0.1, 1.5]\n", "thresholds", "1.5 should be 0.015"),
        ("[counting]\nthresholds = [5, 0.1]\n", "thresholds", "counting.thresholds (1st entry): A threshold"),
        (
            "[counting]\nthresholds = [0.1, 10]\n",
            "thresholds",
            "thresholds (2nd entry): A threshold is a share",
        ),
        ("[counting]\nthresholds = [0.1, 200]\n", "thresholds", "between 0 and 1, not 200"),
        ("[counting]\nheadline_threshold = 10\n", "headline_threshold", "between 0 and 1: 10 should be 0.1"),
        ("[counting]\nthresholds = [0.1, -0.5]\n", "thresholds", "greater than 0"),
        ("[counting]\nheadline_threshold = 0.15\n", "[counting]", "one of 'thresholds'"),
        ("[counting]\ndirect = ['femoral']\n", "[counting]", "among"),
        ("[counting]\ndirect = ['direct']\namong = ['direct']\n", "[counting]", "not counted as direct"),
        ("[counting]\nsex = 'both'\n", "sex", "male"),
        ("[outcomes]\nhorizons_years = [1, 2]\n", "[outcomes]", "'headline_years' must be one of"),
        ("[outcomes]\nhorizons_years = [5, 1]\n", "horizons_years", "must rise"),
        ("[outcomes]\nage_bands = [0, 0]\n", "age_bands", "must rise"),
        ("[outcomes]\nhorizons_years = [-1, 5]\n", "horizons_years", "greater than 0"),
        ("[contrast]\narms = ['mesh']\n", "arms", "at least 2"),
        ("[contrast]\narms = ['mesh', 'mesh']\nreference = 'mesh'\n", "[contrast]", "holds one twice"),
        ("[contrast]\narms = ['mesh', 'tissue']\n", "[contrast]", "'reference' must be one of 'arms'"),
        ("[contrast]\nages = [30, 12]\n", "[contrast]", "must rise"),
        ("[contrast]\nmargin = 2\n", "margin", "less than 1"),
        ("[contrast]\nadjust = ['colour']\n", "adjust", "'age'"),
        ("[[series]]\nfile = '../s.csv'\ntitle = 'S'\n", "file", "inside the study folder"),
        ("[[series]]\nfile = 's.csv'\n", "[[series]]", "title: Field required"),
        ("[agreement]\nsheets = ['/a.csv']\n", "sheets", "inside the study folder"),
        ("[agreement]\nenters = true\nsheets = ['a.csv']\n", "[agreement]", "'enters' needs"),
        ("[turns]\nmost = 4\n", "most", "less than or equal to 3"),
        ("[turns]\napart_years = 'two'\n", "apart_years", "number"),
        ("[privacy]\nsmallest = 3\n", "smallest", "not permitted"),
        ("[privacy]\nevents_may_leave = true\n", "[privacy]", "consent"),
        ("[resampling]\nreplicates = 0\n", "replicates", "greater than or equal to 19"),
        ("[[typing]]\nsensitivity = 0.4\nspecificity = 0.5\n", "[[typing]]", "tells nothing"),
    ],
)
def test_an_impossible_entry_is_refused_with_its_line(wrong, start, says):
    text = HEAD + wrong + HOSPITAL
    with pytest.raises(HingelineError) as caught:
        parse_protocol(text, "study.toml")
    assert says in caught.value.what
    assert caught.value.where == f"study.toml, line {line_of(text, start)}"
    assert caught.value.todo


@pytest.mark.parametrize(
    ("old", "new", "entry", "says"),
    [
        ('name = "Alder Vale"', 'name = "Alder Vale"', "name", "are named"),
        ("legends/a.toml", "legends/a.toml", "legend", "share the legend"),
        ("sources/a.csv", "sources/a.csv", "sources", "share the export"),
    ],
)
def test_two_legends_names_or_exports_for_one_hospital_are_refused_at_the_second(old, new, entry, says):
    second = HOSPITAL.replace("Alder Vale", "Birch Hill").replace("/a.", "/b.")
    values = {
        "name": ("Birch Hill", "Alder Vale"),
        "legend": ("legends/b", "legends/a"),
        "sources": ("sources/b", "sources/a"),
    }
    text = HEAD + HOSPITAL + second.replace(*values[entry])
    with pytest.raises(HingelineError) as caught:
        parse_protocol(text, "study.toml")
    assert says in caught.value.what
    lines = [i for i, line in enumerate(text.splitlines(), 1) if line.startswith(f"{entry} =")]
    assert caught.value.where == f"study.toml, line {lines[1]}"


@pytest.mark.parametrize("path", ["/etc/passwd", "../other.csv", "a/../../b.csv", "a\\\\..\\\\b.csv"])
def test_a_path_that_leaves_the_study_folder_is_refused(path):
    with pytest.raises(HingelineError, match="inside the study folder"):
        parse_protocol(HEAD + HOSPITAL.replace("sources/a.csv", path))


def test_text_that_is_no_toml_is_refused_with_its_line():
    with pytest.raises(HingelineError) as caught:
        parse_protocol("format = 1\n[study\ntitle = 'x'\n", "study.toml")
    assert "line 2" in caught.value.where


def test_a_newer_format_is_refused():
    with pytest.raises(HingelineError, match="newer"):
        parse_protocol((HEAD + HOSPITAL).replace("format = 1", "format = 99"))


def test_a_missing_protocol_says_how_to_start_one(tmp_path):
    with pytest.raises(HingelineError, match="hingeline new"):
        read_protocol(tmp_path / "study.toml")


def test_the_fingerprint_ignores_layout_and_follows_meaning():
    first = parse_protocol(HEAD + HOSPITAL)
    spaced = parse_protocol(HEAD.replace(" = ", "   =   ") + "# a remark\n" + HOSPITAL)
    other = parse_protocol(HEAD + "[turns]\nmost = 2\n" + HOSPITAL)
    assert first.fingerprint() == spaced.fingerprint()
    assert first.fingerprint() != other.fingerprint()


UNSHOWN = {
    "ESC": "\\u001b]0;x\\u0007",
    "C1": "\\u009b31m",
    "turned": "\\u202e",
    "a break": "\\n",
    "nul": "\\u0000",
}


@pytest.mark.parametrize("kind", UNSHOWN)
@pytest.mark.parametrize(
    ("entry", "value"),
    [
        ("title", "Groins"),
        ("question", "When?"),
        ("name", "Alder Vale"),
        ("sources", "sources/a"),
        ("legend", "legends/a"),
        ("consent", "the data"),
        ("file", "people"),
    ],
)
def test_a_character_that_a_terminal_obeys_is_refused_with_its_line(kind, entry, value):
    text = HEAD + (
        '[privacy]\nconsent = "the data officer"\n'
        '[population]\nfile = "people.csv"\ncoverage = 1.0\nyears = [2020, 2021]\n'
    )
    text += HOSPITAL
    assert parse_protocol(text)
    text = text.replace(value, value + UNSHOWN[kind], 1)
    with pytest.raises(HingelineError) as caught:
        parse_protocol(text, "study.toml")
    assert "control character" in caught.value.what
    assert caught.value.where == f"study.toml, line {line_of(text, entry)}"
    assert str(caught.value).count("\n") == 2
    assert str(caught.value).replace("\n", "").isprintable()


def test_letters_of_any_script_are_no_control_characters():
    name = "Kórház Šø 北京 مستشفى"
    assert parse_protocol(HEAD + HOSPITAL.replace("Alder Vale", name)).hospitals[0].name == name


def test_an_entry_of_the_second_hospital_is_named_so():
    second = HOSPITAL.replace("Alder Vale", "Birch Hill").replace("/a.", "/b.") + "takes_ages = [9, 3]\n"
    with pytest.raises(HingelineError) as caught:
        parse_protocol(HEAD + HOSPITAL + second)
    assert "hospitals (2nd entry): " in caught.value.what


@pytest.mark.parametrize(
    "source",
    [
        "jdbc:postgresql://h/d?password=hunter2",
        "mysql://bob:hunter2@h/d",
        "host=h password=hunter2",
        " postgresql://b:hunter2@h/d",
    ],
)
def test_a_source_that_may_hold_a_secret_is_refused_and_not_repeated(source):
    with pytest.raises(HingelineError) as refused:
        parse_protocol(HEAD + HOSPITAL.replace("sources/a.csv", source))
    assert "hunter" not in str(refused.value)


@pytest.mark.parametrize(
    "source", ["postgresql://h/d?table=t", "PostgreSQL://h/d?table=t", "postgres:/h/d?table=t"]
)
def test_a_table_of_a_database_is_a_source_however_its_address_is_written(source):
    assert is_table(source)
    assert parse_protocol(HEAD + HOSPITAL.replace("sources/a.csv", source)).hospitals[0].sources == (source,)


def test_bands_of_ages_part_no_age_bin():
    def outcomes(ages: str, bands: str) -> str:
        return HEAD + f"[ages]\n{ages}\n[outcomes]\nage_bands = {bands}\n" + HOSPITAL

    assert parse_protocol(outcomes("half_years_to = 20", "[0, 12.5, 30]")).outcomes.age_bands == (0, 12.5, 30)
    for ages, bands in (
        ("half_years_to = 12", "[0, 12.5]"),
        ("highest = 40", "[0, 50]"),
        ("half_years_to = 30", "[0, 12.3]"),
    ):
        with pytest.raises(HingelineError, match="'age_bands' must be whole years, or half-years below"):
            parse_protocol(outcomes(ages, bands))
    # a study whose ages end early is not refused for a default that it never wrote
    assert parse_protocol(HEAD + "[ages]\nhighest = 40\n" + HOSPITAL).ages.highest == 40


def test_one_file_of_series_stands_once():
    series = "[[series]]\nfile = 'series/s.csv'\ntitle = 'S'\n"
    assert [one.title for one in parse_protocol(HEAD + series + HOSPITAL).series] == ["S"]
    with pytest.raises(HingelineError, match="name one file"):
        parse_protocol(HEAD + series + series + HOSPITAL)
