"""Who asks for a page, of which organization, and what they may do there."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, wraps
from urllib.parse import urlsplit

from django.contrib import messages
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render, resolve_url
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django_htmx.middleware import HtmxDetails

from fleet.frames.register import core_settings
from fleet.models import Membership, Organization, Plan, Role, Site, User
from fleet.permissions import Action, may, membership_of

# The page with which each role's day begins.
FIRST_PAGES: dict[str, str] = {
    Role.VIEWER: "machines",
    Role.SHOP: "build",
    Role.PLANNER: "due",
    Role.MANAGER: "order",
    Role.OWNER: "due",
}


@dataclass
class Reader:
    """The member who reads a page: their organization, its units and the plan in force there."""

    membership: Membership

    @property
    def organization(self) -> Organization:
        return self.membership.organization

    @property
    def first_page(self) -> str:
        return FIRST_PAGES.get(self.membership.role, "machines")

    @cached_property
    def units(self):
        """The organization's settings: units, currency and the rest."""
        return core_settings(self.organization)

    @cached_property
    def sites(self) -> list[tuple[str, str]]:
        """The key of each site of the organization, in their order, and what a choice of sites calls it."""
        rows = Site.objects.of(self.organization).order_by("key").values_list("key", "name")
        return [(key, f"{key} – {name}" if name else key) for key, name in rows]

    @cached_property
    def plan(self) -> Plan | None:
        """The plan in force."""
        return Plan.objects.in_force(self.organization)

    @property
    def plan_age_days(self) -> int | None:
        """Days since the day that the plan in force speaks of; None where there is none."""
        return (timezone.localdate() - self.plan.as_of).days if self.plan else None

    def may(self, action: Action) -> bool:
        return may(self.membership.role, action)

    @property
    def may_replan(self) -> bool:
        return self.may(Action.REPLAN)

    @property
    def may_decide(self) -> bool:
        return self.may(Action.DECIDE_CHANGEOUT)

    @property
    def may_order(self) -> bool:
        return self.may(Action.ORDER)

    @property
    def may_change_stock(self) -> bool:
        return self.may(Action.CHANGE_STOCK)

    @property
    def may_record_work(self) -> bool:
        return self.may(Action.RECORD_WORK)

    @property
    def may_record_build(self) -> bool:
        return self.may(Action.RECORD_BUILD)

    @property
    def may_set_policy(self) -> bool:
        return self.may(Action.SET_POLICY)

    @property
    def may_manage_members(self) -> bool:
        return self.may(Action.MANAGE_MEMBERS)

    @property
    def may_import(self) -> bool:
        return self.may(Action.IMPORT)


class PageRequest(HttpRequest):
    """What a view behind `member_page` is asked with: by somebody who signed in."""

    user: User
    htmx: HtmxDetails
    reader: Reader


def signed_in(view: Callable) -> Callable:
    """A decorator of a view: who is not signed in does that first, and comes back to what they were reading.

    A form that was sent cannot be opened again by its address, so it leads back to the page that it stood on.
    """

    @wraps(view)
    def page(request: HttpRequest, *places, **keys):
        if request.user.is_authenticated:
            return view(request, *places, **keys)
        if request.method in ("GET", "HEAD"):
            return redirect_to_login(request.get_full_path())
        messages.warning(
            request, _("You were signed out, so nothing was stored. Sign in, then send the form once more.")
        )
        return redirect_to_login(_stood_on(request))

    return page


def _stood_on(request: HttpRequest) -> str:
    """The page that the form of this request stood on, as the browser names it, or the first page."""
    named = request.headers.get("Referer", "")
    if not url_has_allowed_host_and_scheme(named, {request.get_host()}, require_https=request.is_secure()):
        return resolve_url("home")
    page = urlsplit(named)
    return f"{page.path}?{page.query}" if page.query else page.path


def form_only(view: Callable) -> Callable:
    """A decorator of a view that takes a form: whoever opens its address alone is told where forms stand."""

    @wraps(view)
    def page(request: HttpRequest, *places, **keys):
        if request.method == "POST":
            return view(request, *places, **keys)
        answer: HttpResponse = render(request, "405.html", status=405)
        answer["Allow"] = "POST"
        return answer

    return page


def member_page(action: Action = Action.READ) -> Callable:
    """A decorator of a view: it gets the Reader in place of the slug.

    The page does not exist (404) for who is no member, and is refused (403) to a member whose role may not
    do `action`.
    """

    def wrap(view: Callable) -> Callable:
        @signed_in
        @wraps(view)
        def page(request: PageRequest, slug: str, **keys):
            reader = Reader(membership_of(request.user, slug))
            request.reader = reader
            if not reader.may(action):
                raise PermissionDenied(
                    _("As %(role)s you may not do this. An owner of %(organization)s can change your role.")
                    % {
                        "role": reader.membership.get_role_display().lower(),
                        "organization": reader.organization,
                    }
                )
            return view(request, reader, **keys)

        return page

    return wrap


def reader(request: HttpRequest) -> dict:
    """What every template may use: the reader and the units. A context processor."""
    found = getattr(request, "reader", None)
    return {"reader": found, "units": found.units if found else None}
