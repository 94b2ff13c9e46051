"""The addresses of the service: pages at the root, programs under /api/v1/."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("admin/", admin.site.urls),
    path("api/v1/", include("fleet.api.urls")),
    path("", include("fleet.pages.urls")),
]
