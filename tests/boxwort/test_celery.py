from __future__ import annotations

from pathlib import Path

from boxwort.celery import app, broker


def test_without_redis_the_numbers_travel_through_a_private_folder(tmp_path: Path):
    chosen = broker("", 30, tmp_path / "broker")

    waiting = Path(chosen["broker_transport_options"]["data_folder_in"])
    assert chosen["broker_url"].startswith("filesystem://")
    assert waiting.stat().st_mode & 0o777 == 0o700
    assert waiting == Path(chosen["broker_transport_options"]["data_folder_out"])


def test_with_redis_a_lost_number_comes_back_when_the_lease_has_run_out(tmp_path: Path):
    chosen = broker("redis://broker.example/0", 30, tmp_path / "broker")

    assert chosen["broker_url"] == "redis://broker.example/0"
    assert chosen["broker_transport_options"]["visibility_timeout"] == 30
    assert not (tmp_path / "broker").exists()


def test_only_plain_messages_are_read_and_only_after_the_work_let_go():
    assert app.conf.accept_content == ["json"]
    assert app.conf.task_acks_late
    assert app.conf.worker_prefetch_multiplier == 1
