"""The Celery application: it carries the numbers of jobs, and nothing else.

The job row is the queue (``boxwort.jobs``), so Celery's retries, times, chains and results are
left alone. With ``BOXWORT_REDIS`` the numbers travel through Redis; without it, through a folder of
the data directory that needs no server.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from celery import Celery
from django.conf import settings

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "boxwort.settings")

_POLL_SECONDS = 0.03
_SOCKET_SECONDS = 2


def broker(redis_url: str, lease_seconds: int, folder: Path) -> dict[str, Any]:
    """Return the settings of the broker: Redis where a URL is given, else a folder.

    A number that a killed worker had taken from Redis is delivered again when the lease of its
    job has run out; from a folder it is gone, and the sweeper publishes the job again.
    """
    if redis_url:
        return {
            "broker_url": redis_url,
            "broker_transport_options": {
                "visibility_timeout": lease_seconds,
                "unacked_restore_interval": 5,
                "unacked_restore_throttle": 1,
                "socket_timeout": _SOCKET_SECONDS,
                "socket_connect_timeout": _SOCKET_SECONDS,
            },
        }
    for part in ("waiting", "control"):
        (folder / part).mkdir(mode=0o700, parents=True, exist_ok=True)
    return {
        "broker_url": "filesystem://localhost",
        "broker_transport": "boxwort.jobs.folder:Transport",
        "broker_transport_options": {
            "data_folder_in": str(folder / "waiting"),
            "data_folder_out": str(folder / "waiting"),
            "control_folder": str(folder / "control"),
            "polling_interval": _POLL_SECONDS,
        },
        "worker_enable_remote_control": False,
    }


app = Celery("boxwort")
app.conf.update(
    broker(settings.REDIS_URL, settings.JOB_LEASE_SECONDS, settings.DATA_DIR / "broker"),
    accept_content=["json"],
    task_serializer="json",
    task_ignore_result=True,
    task_acks_late=True,
    task_default_queue="boxwort",
    worker_prefetch_multiplier=1,
    worker_hijack_root_logger=False,
    worker_redirect_stdouts=False,
    broker_connection_retry_on_startup=True,
    timezone=settings.TIME_ZONE,
)
app.autodiscover_tasks()
