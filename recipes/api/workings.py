"""The figures of kits and revisions over the API, as papers that show their working."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from boxwort.papers.printing import Reader
from boxwort.web.files_api import PaperReading
from recipes.documents.working_sheet import kit_workings_pdf, revision_workings_pdf
from recipes.queries.brew_day import kit_brew_day, method_brew_days
from recipes.queries.kits import kit_detail
from recipes.queries.recipes import recipe_detail


class KitWorkings(PaperReading):
    """Return the figures of a kit with their working, as a paper."""

    name = "figures"
    problems = (HTTPStatus.UNPROCESSABLE_ENTITY,)

    def drawn(self, reader: Reader, **ids: Any) -> bytes:
        kit = kit_detail(ids["code"])
        return kit_workings_pdf(kit, kit_brew_day(kit.row.id, kit.bill), reader=reader)


class RevisionWorkings(PaperReading):
    """Return the figures of every method of a revision with their working, as a paper."""

    name = "figures"
    problems = (HTTPStatus.UNPROCESSABLE_ENTITY,)

    def drawn(self, reader: Reader, **ids: Any) -> bytes:
        detail = recipe_detail(ids["code"], ids["number"])
        days = method_brew_days(method.id for method in detail.methods)
        return revision_workings_pdf(detail, days, reader=reader)
