"""Commands on a site of their own: the tree they run in, and what the environment tells them."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

TREE = Path(__file__).parents[1]


def environment(data: Path, **changes: str) -> dict[str, str]:
    """Return the environment of a process whose site keeps its data in a folder."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("BOXWORT_")}
    return kept | {"BOXWORT_DATA": str(data)} | changes


def migrate(folder: Path, **changes: str) -> None:
    """Make the tables of a site that keeps its data in a folder."""
    subprocess.run(
        [sys.executable, "manage.py", "migrate", "--verbosity=0"],
        cwd=TREE,
        env=environment(folder, **changes),
        check=True,
    )
