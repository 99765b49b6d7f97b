"""Play one scene in a process of its own: ``python -m tests.services.bench.play MODULE SCENE``.

The test that starts it gives it a database, a data folder and perhaps a Redis by environment
variables, and reads from its last line what became of it.
"""

from __future__ import annotations

import json
import sys
from importlib import import_module

import django
from django.core.management import call_command

if __name__ == "__main__":
    module, scene = sys.argv[1:]
    django.setup()
    call_command("migrate", interactive=False, verbosity=0)
    played = getattr(import_module(f"tests.services.bench.{module}"), scene)()
    print(json.dumps(played))  # noqa: T201
