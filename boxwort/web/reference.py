"""The API's description of itself, and a page to read it on."""

from __future__ import annotations

from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView
from rest_framework.renderers import TemplateHTMLRenderer

from boxwort.roles import Right


class Schema(SpectacularAPIView):
    """The OpenAPI document."""

    right = Right.READ


class Reference(SpectacularSwaggerSplitView):
    """The OpenAPI document as a page whose script is a file of its own."""

    right = Right.READ
    url_name = "api-schema"
    template_name = "web/api_reference.html"
    renderer_classes = [TemplateHTMLRenderer]
