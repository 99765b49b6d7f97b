from __future__ import annotations

from pathlib import Path

import pytest
from kombu import Connection

from boxwort.jobs.folder import Transport


@pytest.fixture
def queue(tmp_path: Path):
    options = {
        "data_folder_in": str(tmp_path),
        "data_folder_out": str(tmp_path),
        "control_folder": str(tmp_path / "control"),
    }
    with Connection(transport=Transport, transport_options=options) as connection:
        queue = connection.SimpleQueue(tmp_path.name)  # kombu remembers names for the process
        yield queue
        queue.close()


def test_messages_are_taken_in_the_order_they_came(queue):
    for number in range(12):
        queue.put({"job": number})

    assert [queue.get_nowait().payload["job"] for _ in range(12)] == list(range(12))


def test_a_message_that_is_still_being_written_is_not_taken(queue, monkeypatch):
    renamed = []
    monkeypatch.setattr(Path, "replace", lambda *names: renamed.append(names))

    queue.put({"job": 1})

    with pytest.raises(queue.Empty):
        queue.get_nowait()
    assert len(renamed) == 1
