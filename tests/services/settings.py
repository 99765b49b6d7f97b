"""The real settings with a bench of jobs that tests can hold, kill and count."""

from boxwort.settings import *  # noqa: F403
from boxwort.settings import INSTALLED_APPS as PRODUCT_APPS

INSTALLED_APPS = [*PRODUCT_APPS, "tests.services.bench"]
