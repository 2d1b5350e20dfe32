"""What is told of limits: that few redrawn sets make them rough, and of a crossing before the youngest age."""

from __future__ import annotations

import math

from hingeline import wording
from hingeline.answers.share import LEAST_REPLICATES, _few_replicates


def test_few_redrawn_sets_are_warned_of_and_enough_are_not():
    (told,) = _few_replicates(50)
    assert "50 redrawn sets" in told
    assert "rough" in told
    assert _few_replicates(LEAST_REPLICATES) == ()


def test_a_share_that_is_reached_before_the_youngest_age_is_told_in_plain_words():
    told = wording.crossing(0.1, -math.inf, (-math.inf, 27.7), 0.95, 1, 80)
    assert "10% or more already at age 1, the youngest age told" in told
    assert "at 27.7 years at the latest" in told
    assert "or earlier" not in told
