"""What every test may rely on: no broker is spoken to, and absent servers are said, not hidden."""

from __future__ import annotations

import fcntl
import gc
import os
import shutil
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.test import Client
from hypothesis import HealthCheck, settings
from pytest_django import DjangoDbBlocker

from boxwort.roles import Role
from tests.flushing import _guards_step_aside_for_flush  # noqa: F401 - a fixture for all
from tests.sites import migrate

Enter = Callable[[Role], Client]

POSTGRES_URL = os.environ.get("BOXWORT_TEST_POSTGRES", "postgresql://postgres@127.0.0.1:5432")
_RUNNER = int(os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw"))
REDIS_URL = f"{os.environ.get('BOXWORT_TEST_REDIS', 'redis://127.0.0.1:6379')}/{8 + _RUNNER % 8}"
settings.register_profile(
    "untimed",
    settings.get_profile(settings.get_current_profile_name()),
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("untimed")
NEED_SERVICES = os.environ.get("BOXWORT_NEED_SERVICES") == "yes"


@pytest.fixture(autouse=True, scope="session")
def _broker_in_memory() -> None:
    """Publish into the test's own memory: no folder is filled, no server is asked."""
    from boxwort.celery import app

    app.conf.update(broker_url="memory://", broker_transport=None, broker_transport_options={})


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """Drop the test database although a thread of a live server still holds it open."""
    from django.db import connection

    yield
    if connection.vendor == "postgresql":
        with django_db_blocker.unblock(), connection.cursor() as cursor:
            cursor.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
                "WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )


def pytest_collection_finish() -> None:
    """Let the garbage collector pass over thousands of collected tests, which stay to the end."""
    gc.freeze()


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip a test marked ``services`` where they are absent, or fail it where they are owed."""
    if item.get_closest_marker("services") is None:
        return
    if missing := _missing_services():
        if NEED_SERVICES:
            pytest.fail(missing, pytrace=False)
        pytest.skip(missing)


@pytest.fixture
def postgres_url() -> Iterator[str]:
    """Yield the URL of a new, empty PostgreSQL database, dropped after the test."""
    with _postgres_database() as name:
        yield f"{POSTGRES_URL}/{name}"


@pytest.fixture(scope="session")
def _migrated_postgres(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with _postgres_database() as name:
        migrate(tmp_path_factory.mktemp("grown"), BOXWORT_DATABASE=f"{POSTGRES_URL}/{name}")
        yield name


@pytest.fixture
def migrated_postgres_url(_migrated_postgres: str) -> Iterator[str]:
    """Yield the URL of a PostgreSQL database with its tables made, dropped after the test."""
    with _postgres_database(copy_of=_migrated_postgres) as name:
        yield f"{POSTGRES_URL}/{name}"


@pytest.fixture(scope="session")
def _migrated_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a data folder with its tables made, once for all runners."""
    base = tmp_path_factory.getbasetemp()
    shared = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    folder = shared / "migrated"
    with (shared / "migrated.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not folder.exists():
            migrate(folder)
    return folder


@pytest.fixture
def data_folder(_migrated_folder: Path, tmp_path: Path) -> Path:
    """Return a data folder of the test's own with its tables made."""
    return Path(shutil.copytree(_migrated_folder, tmp_path / "data"))


@contextmanager
def _postgres_database(copy_of: str = "template1") -> Iterator[str]:
    """Yield the name of a new PostgreSQL database, dropped afterwards."""
    import psycopg
    from psycopg.sql import SQL, Identifier

    name = f"boxwort_test_{uuid.uuid4().hex[:12]}"
    made = SQL("CREATE DATABASE {} TEMPLATE {}").format(Identifier(name), Identifier(copy_of))
    with psycopg.connect(f"{POSTGRES_URL}/postgres", autocommit=True) as server:
        server.execute(made)
        try:
            yield name
        finally:
            server.execute(SQL("DROP DATABASE {} WITH (FORCE)").format(Identifier(name)))


@pytest.fixture
def redis_url() -> Iterator[str]:
    """Yield the URL of a Redis database for tests (8 to 15 by runner), emptied around the test."""
    import redis

    with redis.Redis.from_url(REDIS_URL) as server:
        server.flushdb()
        try:
            yield REDIS_URL
        finally:
            server.flushdb()


@pytest.fixture
def two_can_write(db: None) -> None:
    """Skip where one write waits for another by itself."""
    from django.db import connection

    if connection.vendor != "postgresql":
        pytest.skip("SQLite lets one write at a time; run with BOXWORT_DATABASE=postgresql://...")


@pytest.fixture
def enter(db: None) -> Enter:
    """Return a way to sign somebody of a role in at a browser."""
    from tests.make import user

    def signed_in(role: Role) -> Client:
        browser = Client()
        browser.force_login(user(role))
        return browser

    return signed_in


@pytest.fixture
def viewer(enter: Enter) -> Client:
    """Return the browser of somebody who may only look."""
    return enter(Role.VIEWER)


def _missing_services() -> str | None:
    """Return what is missing of PostgreSQL and Redis, or nothing when both answer."""
    try:
        import psycopg
        import redis

        psycopg.connect(f"{POSTGRES_URL}/postgres", connect_timeout=2).close()
        with redis.Redis.from_url(REDIS_URL, socket_connect_timeout=2) as server:
            server.ping()
    except ImportError as problem:
        return f"{problem.name} is not installed; the extra “grown” holds it."
    except (psycopg.OperationalError, redis.RedisError) as problem:
        hosts = f"{urlsplit(POSTGRES_URL).netloc} and {urlsplit(REDIS_URL).netloc}"
        return f"PostgreSQL and Redis are needed at {hosts}: {problem}"
    return None
