from __future__ import annotations

import os

import pytest

from boxwort.errors import Refusal
from boxwort.lock import only_one


def test_the_second_is_told_who_holds_the_lock(tmp_path):
    lock = tmp_path / "serve.lock"

    with (
        only_one(lock, "serving"),
        pytest.raises(Refusal, match=f"number {os.getpid()}") as refused,
        only_one(lock, "serving"),
    ):
        raise AssertionError

    assert refused.value.code == "already-running"


def test_a_lock_file_left_behind_means_nothing(tmp_path):
    lock = tmp_path / "serve.lock"
    lock.write_text("999999999999")

    with only_one(lock, "serving"):
        assert lock.read_text() == str(os.getpid())
