"""What one more recurrence would do and what study would settle it: what is told, and that nothing stops a run."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hingeline.answers.figures import KINDS, MAY_HAVE
from hingeline.answers.findings import Finding
from hingeline.answers.next_study import (
    Assumed,
    as_good,
    assumed_of,
    likeness_of,
    size_part,
    with_crossing,
)
from hingeline.answers.one_more import fragility_part, lost_of
from hingeline.answers.one_more_arms import main_pair
from hingeline.estimates.proportion import miettinen_nurminen
from hingeline.estimates.size import Allowance

from .followed import Group, protocol_of, tallies_of

NAMES = ("Aldmoor", "Brackwater")


def _two(ligated=(300, 12), meshed=(400, 6), without=0, **how):
    return [
        Group("Aldmoor", "high_ligation", *ligated, without=without, **how),
        Group("Brackwater", "mesh", *meshed, without=without, **how),
    ]


def _words(part):
    texts = [part.sentence, *part.cannot]
    for figure in part.figures:
        texts += [figure.alt, figure.caption]
        for frame in figure.frames.values():
            texts += [str(value) for row in frame.to_pylist() for value in row.values()]
    for grid in part.grids:
        texts += [grid.note, *grid.heads, *(cell for row in grid.rows for cell in row)]
    return texts


def test_the_reference_is_set_against_the_repair_with_the_most_follow_up():
    groups = [*_two(), Group("Aldmoor", "tissue", 100, 4)]
    pair = main_pair(tallies_of(groups).recurrence, protocol_of(NAMES))
    assert [arm.repair for arm in pair.arms] == ["mesh", "high_ligation"]
    assert [arm.events for arm in pair.arms] == [6, 12]
    # followed for all five years but those with a recurrence: worth just about all of them
    assert pair.arms[0].worth == pytest.approx(400, abs=6)
    assert [arm.repair for arm in pair.compared] == ["high_ligation", "tissue", "mesh"]


def test_only_the_protocols_ages_and_types_are_set_against_each_other():
    groups = [*_two(), Group("Aldmoor", "mesh", 500, 40, age_years=5.0)]
    tallies = tallies_of(groups)
    assert main_pair(tallies.recurrence, protocol_of(NAMES)).arms[0].events == 6
    young = main_pair(tallies.recurrence, protocol_of(NAMES, ages=[0, 12]))
    assert young.why == "one arm"
    assert main_pair(tallies.recurrence, protocol_of(NAMES, types=["direct"])).why == "nobody"


@settings(max_examples=25, deadline=None)
@given(
    ligated=st.integers(0, 20),
    meshed=st.integers(0, 20),
    of=st.integers(40, 400),
    margin=st.floats(0.01, 0.1),
)
def test_the_verdict_changes_at_the_event_that_is_told_and_not_before(ligated, meshed, of, margin):
    protocol = protocol_of(NAMES, margin=round(margin, 3))
    tallies = tallies_of(_two((of, ligated), (of, meshed)))
    _, findings = fragility_part(tallies, protocol)
    mesh, ligation = main_pair(tallies.recurrence, protocol).arms

    def side(more):
        limits = miettinen_nurminen(mesh.events + more, mesh.worth, ligation.events, ligation.worth)
        return limits.high < round(margin, 3), limits.low > round(margin, 3)

    more = findings[0].estimate
    if math.isnan(more):
        assert side(mesh.worth - mesh.events) == side(0)
        return
    assert side(int(more)) != side(0)
    assert side(int(more) - 1) == side(0)


def test_everybody_counts_once_as_followed_or_not():
    tallies = tallies_of(_two(without=150, days=900))
    pair = main_pair(tallies.recurrence, protocol_of(NAMES))
    for arm in pair.arms:
        assert arm.worth + arm.lost == arm.groins
        assert arm.lost > 150  # those followed for half the time count by half
    told = lost_of(pair, 0.02)
    assert told.lost == tuple(arm.lost for arm in pair.arms)


def test_what_those_not_followed_would_have_to_show_overturns_it_and_one_fewer_does_not():
    tallies = tallies_of(_two((600, 20), (600, 8), without=300))
    pair = main_pair(tallies.recurrence, protocol_of(NAMES))
    told = lost_of(pair, 0.02)
    mesh, ligation = pair.arms
    usual = round(ligation.lost * ligation.events / ligation.worth)

    def upper(extra):
        return miettinen_nurminen(
            mesh.events + extra,
            mesh.worth + mesh.lost,
            ligation.events + usual,
            ligation.worth + ligation.lost,
        ).high

    least = told.boundary[0]
    assert upper(least) >= 0.02 > upper(least - 1)


def test_one_of_thirty_stands_as_an_example_with_exact_limits():
    part, _ = fragility_part(tallies_of(_two()), protocol_of(NAMES))
    row = next(row for row in part.grids[1].rows if row[0] == "As observed")
    # Clopper–Pearson of 1 of 30: 0.08 to 17.2% (Clopper & Pearson 1934; R binom.test(1, 30))
    assert row[2] == "1 of 30: 3.3% (0.1–17.2%)"


def test_without_consent_few_recurrences_are_not_told():
    tallies = tallies_of(_two((300, 12), (400, 3)))
    part, findings = fragility_part(tallies, protocol_of(NAMES, consent=False))
    assert findings == ()
    assert part.figures == ()
    assert "is not told" in part.sentence
    assert not any("400" in text or "12 recurrences" in text for text in _words(part))
    size, found = size_part(tallies, protocol_of(NAMES, consent=False))
    assert found == ()
    assert "No size can be told" in size.sentence
    assert fragility_part(tallies, protocol_of(NAMES))[1]


@pytest.mark.parametrize("consent", [True, False])
@pytest.mark.parametrize(
    "groups",
    [
        [],
        [Group("Aldmoor", "mesh", 0, without=40)],
        [Group("Aldmoor", "mesh", 80, 6)],
        _two((80, 0), (90, 0)),
        _two((80, 0), (90, 9)),
        _two((80, 9), (90, 0)),
        _two((80, 80), (90, 90)),
        _two((6, 6), (7, 0), without=3),
        _two((60, 7), (60, 9), days=0, event_day=0),
        _two((60, 7), (60, 9), days=3, event_day=1),
        [Group("Aldmoor", "tissue", 80, 6), Group("Aldmoor", "mesh", 80, 6)],
    ],
)
def test_nothing_stops_a_run(groups, consent):
    tallies, protocol = tallies_of(groups), protocol_of(NAMES, consent=consent)
    for made in (fragility_part, size_part):
        part, findings = made(tallies, protocol)
        assert part.sentence.endswith(".")
        assert not part.leads
        for figure in part.figures:
            for frame, columns in KINDS[figure.kind].items():
                assert set(columns) <= set(figure.frames[frame].column_names)
            extra = set(figure.frames) - set(KINDS[figure.kind])
            assert extra <= set(MAY_HAVE[figure.kind])
        assert not any("nan" in text.split() for text in _words(part))
        assert all(math.isnan(finding.estimate) == (finding.status != "told") for finding in findings)


def test_a_risk_of_nought_is_taken_at_its_upper_limit():
    pair = main_pair(tallies_of(_two((80, 0), (90, 0))).recurrence, protocol_of(NAMES))
    assumed = assumed_of(pair, 5.0)
    assert assumed.told_from == "limit"
    # rule of three, Hanley & Lippman-Hand, JAMA 1983;249:1743: about 3/n
    assert assumed.risk == pytest.approx(3 / 170, rel=0.02)


def test_what_is_lost_here_is_allowed_for():
    tallies = tallies_of(_two((150, 6), (150, 4), without=150))
    pair = main_pair(tallies.recurrence, protocol_of(NAMES))
    assumed = assumed_of(pair, 5.0)
    assert assumed.allow.lost == pytest.approx(0.5)
    alone = Assumed(assumed.risk, assumed.told_from, Allowance())
    whole, lossy = as_good(alone, 0.02), as_good(assumed, 0.02)
    assert lossy.per_arm == whole.per_arm
    assert lossy.total == pytest.approx(2 * whole.total, abs=4)


def test_the_size_is_farrington_and_mannings_at_the_risk_seen():
    # equal risks: the restricted estimates lie about the common risk, so that n is near (z₁ + z₂)²·2p(1 − p)/δ²
    # (Blackwelder, Control Clin Trials 1982;3:345, the unrestricted form)
    pair = main_pair(tallies_of(_two((2000, 200), (2000, 180))).recurrence, protocol_of(NAMES, margin=0.05))
    assumed = assumed_of(pair, 5.0)
    size = as_good(assumed, 0.05)
    share = assumed.risk
    unrestricted = (1.959964 + 0.841621) ** 2 * 2 * share * (1 - share) / 0.05**2
    assert size.per_arm[0] == pytest.approx(unrestricted, rel=0.03)


def test_groins_of_different_patients_are_not_alike():
    pair = main_pair(tallies_of(_two()).recurrence, protocol_of(NAMES))
    assert likeness_of(pair.arms, 0.0, 5.0) == 0
    assert likeness_of(pair.arms, 0.3, 5.0) == pytest.approx(0, abs=0.02)


def _crossing(low, high, estimate=18.0):
    return Finding(
        "crossing.0.1", "age", estimate, "years", low, high, "bootstrap", 10_000, 800, "all", "At 18."
    )


def test_half_the_width_of_a_crossing_takes_four_times_the_groins():
    part, _ = size_part(tallies_of(_two()), protocol_of(NAMES))
    (changed,), (finding,) = with_crossing((part,), [_crossing(16.0, 20.0)], protocol_of(NAMES))
    assert finding.id == "size.crossing.0.1"
    assert finding.estimate == 40_000
    assert changed.sentence.startswith(part.sentence)
    assert "within 1.0 years about 40,000 and within 0.5 years about 160,000 groins" in changed.sentence


@pytest.mark.parametrize("crossing", [_crossing(16.0, math.inf), _crossing(math.nan, math.nan, math.inf)])
def test_a_crossing_that_is_not_reached_or_open_has_no_size(crossing):
    part, _ = size_part(tallies_of(_two()), protocol_of(NAMES))
    assert with_crossing((part,), [crossing], protocol_of(NAMES)) == ((part,), ())
    assert with_crossing((part,), [], protocol_of(NAMES)) == ((part,), ())
