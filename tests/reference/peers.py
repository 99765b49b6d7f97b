"""A peer library to compare with. It stands beside the house and is not owed on every machine."""

from __future__ import annotations

import importlib
from typing import Any

import pytest

from tests.conftest import NEED_SERVICES


def peer(module: str) -> Any:
    """Return a module of the peer, or skip the test; where servers are owed, the peer is too."""
    try:
        return importlib.import_module(module)
    except ImportError as problem:
        missing = f"{module} is not here to compare with ({problem}); .ci/run puts it beside."
    if NEED_SERVICES:
        pytest.fail(missing, pytrace=False)
    pytest.skip(missing)
