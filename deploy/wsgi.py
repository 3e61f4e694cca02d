"""The WSGI entry for gunicorn."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
os.environ["BOLEWARD_SERVES"] = "web"  # settings bound how long a statement of a request may run
application = get_wsgi_application()
