import os

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fleet.settings")

from django.core.wsgi import get_wsgi_application

from fleet.settings import require_own_secret

require_own_secret()
application = get_wsgi_application()
