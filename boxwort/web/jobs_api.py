"""Background work over the API, for programs that asked for some and wait for it."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from boxwort.jobs.models import JobState
from boxwort.jobs.queries import JobRow, job_row, job_rows
from boxwort.roles import Right

MOST = 1000


class JobSerializer(serializers.Serializer[JobRow]):
    """A job as a program reads it."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    title = serializers.CharField()
    key = serializers.CharField()
    by = serializers.CharField()
    state = serializers.ChoiceField(choices=JobState.choices)
    asked_at = serializers.DateTimeField()
    not_before = serializers.DateTimeField(allow_null=True)
    started_at = serializers.DateTimeField(allow_null=True)
    ended_at = serializers.DateTimeField(allow_null=True)
    attempts = serializers.IntegerField()
    most_attempts = serializers.IntegerField()
    progress = serializers.IntegerField()
    total = serializers.IntegerField()
    stage = serializers.CharField()
    joined_to = serializers.IntegerField(allow_null=True)
    result = serializers.DictField()
    error = serializers.CharField()


class Jobs(GenericViewSet[Any]):
    """The newest jobs, and one job."""

    right = Right.READ
    serializer_class = JobSerializer
    filter_backends = []

    @extend_schema(responses=JobSerializer(many=True))
    def list(self, request: Request) -> Response:
        """List jobs, newest first."""
        rows = self.paginate_queryset(job_rows(MOST))
        return self.get_paginated_response(self.get_serializer(rows, many=True).data)

    @extend_schema(responses=JobSerializer)
    def retrieve(self, request: Request, pk: int) -> Response:
        """Return one job."""
        row = job_row(pk)
        if row is None:
            raise Http404
        return Response(self.get_serializer(row).data)
