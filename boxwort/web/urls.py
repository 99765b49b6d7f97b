"""Addresses of the shell's own pages."""

from __future__ import annotations

from django.urls import path

from boxwort.web import days_off, health, house_settings, jobs, my_settings, my_token, sign_in

urlpatterns = [
    path("sign-in/", sign_in.sign_in, name="sign-in"),
    path("sign-in/once/", sign_in.one_time_sign_in, name="one-time-sign-in"),
    path("sign-out/", sign_in.sign_out, name="sign-out"),
    path("my-settings/", my_settings.my_settings, name="my-settings"),
    path("my-settings/units/", my_settings.my_units, name="my-units"),
    path("my-settings/password/", my_settings.my_password, name="my-password"),
    path("my-settings/token/", my_token.my_token_make, name="my-token-make"),
    path("my-settings/token/revoke/", my_token.my_token_revoke, name="my-token-revoke"),
    path("house-settings/", house_settings.house_settings, name="house-settings"),
    path("house-settings/days-off/new/", days_off.day_off_new, name="day-off-new"),
    path(
        "house-settings/days-off/<int:day_id>/remove/",
        days_off.day_off_remove,
        name="day-off-remove",
    ),
    path("jobs/", jobs.job_list, name="job-list"),
    path("jobs/<int:job_id>/", jobs.job_detail, name="job-detail"),
    path("jobs/<int:job_id>/progress/", jobs.job_progress, name="job-progress"),
    path("jobs/<int:job_id>/cancel/", jobs.job_cancel, name="job-cancel"),
    path("jobs/<int:job_id>/retry/", jobs.job_retry, name="job-retry"),
    path("health/live", health.health_live, name="health-live"),
    path("health/ready", health.health_ready, name="health-ready"),
]
