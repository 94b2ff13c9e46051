import gc
import os
from importlib import import_module

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fleet.settings")

from django.conf import settings
from django.core.wsgi import get_wsgi_application

from fleet.settings import require_own_secret

require_own_secret()
application = get_wsgi_application()

# Every page's code and what it rests on is loaded now and stays. Otherwise the collector looks through all of
# it again and again, and whoever asks for a page meanwhile waits for that, up to half a second.
import_module(settings.ROOT_URLCONF)
gc.collect()
gc.freeze()
