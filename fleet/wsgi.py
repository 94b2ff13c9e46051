import gc
import os
from importlib import import_module

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fleet.settings")

from django.conf import settings
from django.core.wsgi import get_wsgi_application
from django.template import engines

from fleet.settings import require_own_secret

require_own_secret()
application = get_wsgi_application()

# Every page's code, its templates and what they rest on are loaded now and stay: a server that loads this
# before it forks gives them to each worker, and nobody is the first to wait for one. Otherwise the collector
# looks through all of it again and again, and who asks meanwhile waits for that, up to half a second.
import_module(settings.ROOT_URLCONF)
TEMPLATES = settings.BASE_DIR / "templates"
for path in TEMPLATES.rglob("*.*"):
    engines["django"].get_template(path.relative_to(TEMPLATES).as_posix())
gc.collect()
gc.freeze()
