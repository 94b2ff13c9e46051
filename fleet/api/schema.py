"""The description of the API, and the page that shows it without asking any other host."""

from csp.constants import SELF, UNSAFE_INLINE
from csp.decorators import csp_update
from django.utils.decorators import method_decorator
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView


class SchemaView(SpectacularAPIView):
    """The API as OpenAPI 3; open to all, for it says nothing of anybody's fleet."""

    permission_classes = ()
    authentication_classes = ()


@method_decorator(csp_update({"style-src": [SELF, UNSAFE_INLINE]}), name="dispatch")
class DocsView(SpectacularSwaggerSplitView):
    """A page to read and try the API; it styles itself inline, which no other page may."""

    url_name = "api:schema"
    permission_classes = ()
    authentication_classes = ()
