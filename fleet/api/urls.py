"""The addresses of the API, under /api/v1/."""

import datetime

from django.urls import path, re_path, register_converter

from . import (
    backtests,
    bench,
    bursts,
    decisions,
    folders,
    laylines,
    plans,
    policies,
    register,
    stand_ins,
    stock,
    tracing,
    what_ifs,
    work,
    work_sheets,
)
from .accounts import SignIn, SignOut
from .errors import Nowhere
from .schema import DocsView, SchemaView


class Day:
    """A day in an address, as ISO 8601 writes it."""

    regex = r"\d{4}-\d{2}-\d{2}"

    def to_python(self, value: str) -> datetime.date:
        return datetime.date.fromisoformat(value)

    def to_url(self, value: datetime.date) -> str:
        return str(value)


register_converter(Day, "day")

app_name = "api"
urlpatterns = [
    path("sign-in/", SignIn.as_view(), name="sign-in"),
    path("sign-out/", SignOut.as_view(), name="sign-out"),
    *stock.addresses(),
    *bench.addresses(),
    *work.addresses(),
    *bursts.addresses(),
    *decisions.addresses(),
    *laylines.addresses(),
    *stand_ins.addresses(),
    *work_sheets.addresses(),
    *register.addresses(),
    *plans.addresses(),
    *backtests.addresses(),
    *policies.addresses(),
    *tracing.addresses(),
    *what_ifs.addresses(),
    *folders.addresses(),
    path("schema/", SchemaView.as_view(), name="schema"),
    path("docs/", DocsView.as_view(), name="docs"),
    re_path(r"[\s\S]", Nowhere.as_view()),  # a line break in an address too, which <path:…> does not match
]
