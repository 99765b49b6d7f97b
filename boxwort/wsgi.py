"""The door for WSGI servers (waitress, gunicorn)."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "boxwort.settings")

application = get_wsgi_application()
