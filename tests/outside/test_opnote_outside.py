"""The note reader against facts of the trade and of language that others published; the source stands beside each."""

from __future__ import annotations

import pytest

from hingeline.records.opnote import read_note


# Miserez M et al. The European hernia society groin hernia classification. Hernia 2007;11:113-116 (memory): L lateral
# = indirect, M medial = direct, F femoral; P primary, R recurrent; 0 none detectable, 1-3 finger breadths, x not
# investigated; a combined hernia has its boxes ticked one by one.
@pytest.mark.parametrize(
    ("code", "kind", "occurrence"),
    [
        ("PL1", "indirect", "primary"),
        ("PL3", "indirect", "primary"),
        ("PM2", "direct", "primary"),
        ("PF1", "femoral", "primary"),
        ("RL2", "indirect", "recurrent"),
        ("RM1", "direct", "recurrent"),
        ("PL2M1", "combined", "primary"),
        ("PL2 PM1", "combined", "primary"),
        ("PL2M0F0", "indirect", "primary"),
        ("PL0M2Fx", "direct", "primary"),
    ],
)
def test_ehs_codes_mean_what_miserez_published(code, kind, occurrence):
    groin = read_note(f"Left groin. EHS {code}.").left
    assert (groin.type, groin.occurrence) == (kind, occurrence)


# The same paper's grounds for the letters, and every anatomy text (common practice, no source): the inferior epigastric
# vessels part lateral from medial, the inguinal ligament parts inguinal from femoral.
@pytest.mark.parametrize(
    ("found", "kind"),
    [
        ("defect lateral to the inferior epigastric vessels", "indirect"),
        ("defect medial to the inferior epigastric vessels", "direct"),
        ("hernia through the deep inguinal ring", "indirect"),
        ("hernia through Hesselbach's triangle", "direct"),
        ("hernia through the femoral canal", "femoral"),
        ("sac protruding below the inguinal ligament", "femoral"),
        ("sacs on both sides of the epigastric vessels", "combined"),
    ],
)
def test_places_mean_what_anatomy_says(found, kind):
    assert read_note(f"Right groin explored. Findings: {found}.").right.type == kind


# Chapman WW et al. A simple algorithm for identifying negated findings and diseases in discharge summaries. J Biomed
# Inform 2001;34:301-310 (memory): triggers before a finding, after it, pseudo-negations, and "but" ends a scope.
@pytest.mark.parametrize(
    "trigger", ["no", "without", "absence of", "no evidence of", "negative for", "no sign of", "free of"]
)
def test_negex_triggers_before_a_finding_negate_it(trigger):
    assert read_note(f"Left groin. {trigger.capitalize()} direct hernia.").left.type == "unknown"


@pytest.mark.parametrize("trigger", ["was ruled out", "is ruled out", "absent", "not seen", "was negative"])
def test_negex_triggers_after_a_finding_negate_it(trigger):
    assert read_note(f"Left groin. Direct hernia {trigger}.").left.type == "unknown"


@pytest.mark.parametrize(
    "pseudo", ["no increase in the", "not only a", "gram negative;", "without difficulty, a"]
)
def test_negex_pseudo_negations_negate_nothing(pseudo):
    assert read_note(f"Left groin. {pseudo.capitalize()} direct hernia.").left.type == "direct"


@pytest.mark.parametrize("end", ["but", "however", "although", "except for", "apart from"])
def test_negex_words_that_end_a_scope_end_it(end):
    assert read_note(f"Left groin. No femoral hernia {end} a direct hernia.").left.type == "direct"


def test_negex_possible_and_cannot_exclude_are_neither_told_nor_denied():
    for phrase in (
        "Possible direct hernia",
        "Direct hernia could not be ruled out",
        "Cannot rule out a direct hernia",
    ):
        groin = read_note(f"Left groin. {phrase}.").left
        assert groin.type == "unknown"
        assert groin.doubt
