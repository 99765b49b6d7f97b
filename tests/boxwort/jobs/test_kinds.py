from __future__ import annotations

import pytest

from boxwort.jobs.kinds import JobKind, title_of


def test_a_declared_kind_has_its_title():
    JobKind(name="tests.mill", title="Mill the grain")

    assert title_of("tests.mill") == "Mill the grain"


def test_two_kinds_cannot_share_a_name():
    JobKind(name="tests.cool", title="Cool the wort")

    with pytest.raises(ValueError, match=r"tests\.cool"):
        JobKind(name="tests.cool", title="Cool the beer")
