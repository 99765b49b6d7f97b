"""All addresses: the shell's pages, each app's pages, and the API; apps are named by string."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver, include, path

from boxwort.web.jobs_api import Jobs
from boxwort.web.reference import Reference, Schema
from boxwort.web.tokens_api import TokenSignIn

api: list[URLPattern | URLResolver] = [
    path("", include("inventory.api.urls")),
    path("", include("recipes.api.urls")),
    path("", include("planning.api.urls")),
    path("token/", TokenSignIn.as_view(), name="api-token"),
    path("jobs/", Jobs.as_view({"get": "list"}), name="api-job-list"),
    path("jobs/<int:pk>/", Jobs.as_view({"get": "retrieve"}), name="api-job-detail"),
    path("schema/", Schema.as_view(), name="api-schema"),
    path("reference/", Reference.as_view(), name="api-reference"),
]

urlpatterns = [
    path("", include("boxwort.web.urls")),
    path("", include("inventory.urls")),
    path("", include("recipes.urls")),
    path("", include("planning.urls")),
    path("api/v1/", include(api)),
]

handler400 = "boxwort.web.failures.bad_request"
handler403 = "boxwort.web.failures.forbidden"
handler404 = "boxwort.web.failures.not_found"
handler500 = "boxwort.web.failures.server_error"
