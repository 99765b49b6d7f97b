"""Workbooks that people send, kept under the hash of their content until a job takes them up."""

from __future__ import annotations

import hashlib
from pathlib import Path

from django.conf import settings

from boxwort.accounts.models import User
from boxwort.accounts.services import service
from boxwort.errors import Refusal
from boxwort.jobs.models import Job
from boxwort.jobs.services import ask
from boxwort.sheets.opening import refuse_too_big
from planning.jobs import IMPORT_WORKBOOK


@service
def ask_import(*, by: User, name: str, content: bytes) -> Job:
    """Keep a workbook and ask for its import.

    Raises
    ------
    Refusal: ``not-a-workbook`` or ``workbook-too-big``, before anything is kept.
    """
    return ask(
        kind=IMPORT_WORKBOOK,
        key="books",  # imports run one after another
        arguments={"digest": keep_upload(by=by, content=content), "name": name[:120]},
        by=by,
    )


@service
def keep_upload(*, by: User, content: bytes) -> str:
    """Keep a workbook that somebody sends, and return its hash.

    Raises
    ------
    Refusal: ``not-a-workbook`` or ``workbook-too-big``, before anything is kept.
    """
    refuse_too_big(content)
    digest = digest_of(content)
    path = _path(digest)
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_suffix(f".{by.pk}.part")
    part.write_bytes(content)
    part.replace(path)
    return digest


def upload(digest: str) -> bytes:
    """Return a kept workbook.

    Raises
    ------
    Refusal: ``upload-gone`` when the file was removed, or is no longer what was sent.
    """
    path = _path(digest)
    content = path.read_bytes() if path.is_file() else b""
    if digest_of(content) != digest:
        raise Refusal(
            "upload-gone",
            "The workbook that was sent is no longer kept.",
            "Send it again.",
        )
    return content


def digest_of(content: bytes) -> str:
    """Return the hash that a workbook is kept under."""
    return hashlib.sha256(content).hexdigest()


def _path(digest: str) -> Path:
    return Path(settings.MEDIA_ROOT) / "workbooks" / f"{digest}.xlsx"
