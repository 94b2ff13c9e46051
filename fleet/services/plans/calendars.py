"""Calendars of changeouts that other programs read at an address of their own, until it is revoked.

The address is all that its reader shows, so its secret is long, stored as a digest alone and shown once. It
answers no longer than the person who made it is a member.
"""

import hashlib
from collections.abc import Callable
from datetime import date, timedelta
from itertools import groupby

from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from icalendar import Calendar, Event

from fleet.models import LINES, CalendarFeed, Machine, Membership, Organization, Plan, Site, User
from fleet.trade.cautions import AT_THE_MACHINE

from ..errors import ServiceError
from ..people.secret_addresses import digest_of, new_secret

# Of an organization's short name, a machine and a changeout.
SheetAt = Callable[[str, str, str], str]
NAME = "-//Fleet hoses//Changeouts//EN"


class NoSuchSite(ServiceError):
    """A calendar was asked for a site that the organization does not have."""

    code = "no_such_site"
    message = gettext_lazy("There is no site %(site)s. Choose one of: %(sites)s.")


@transaction.atomic
def open_calendar(
    *, organization: Organization, user: User, name: str = "", site: str = ""
) -> tuple[CalendarFeed, str]:
    """The calendar and the secret of its address, which is told this once. Empty `site`: of all sites.

    Raises NoSuchSite.
    """
    sites = Site.objects.of(organization).order_by("key").values_list("key", flat=True)
    if site and site not in sites:
        raise NoSuchSite(site=site, sites=", ".join(sites))
    secret = new_secret()
    feed = CalendarFeed(
        organization=organization, made_by=user, name=name, site=site, digest=digest_of(secret)
    )
    feed.full_clean()
    feed.save()
    return feed, secret


def revoke_calendar(*, organization: Organization, user: User, calendar: int) -> bool:
    """Whether a calendar of that number, made by `user` and open till now, answers no more."""
    return bool(
        CalendarFeed.objects.filter(
            organization=organization, made_by=user, pk=calendar, revoked_at=None
        ).update(revoked_at=timezone.now())
    )


def read_calendar(secret: str, sheet_at: SheetAt) -> bytes | None:
    """The changeouts of the plan in force as iCalendar (RFC 5545), one whole-day event a day of a stop.

    `sheet_at` gives the address at which the sheet of a stop is read, by who may sign in there.
    None where no calendar answers at that secret: there never was one, it was revoked, or who made it is no
    longer a member. Without a plan it has no events.
    """
    feed = (
        CalendarFeed.objects.filter(digest=digest_of(secret), revoked_at=None)
        .select_related("organization")
        .first()
    )
    if feed is None or not _still_member(feed):
        return None
    CalendarFeed.objects.filter(pk=feed.pk).update(read_at=timezone.now())
    calendar = Calendar()
    calendar.add("prodid", NAME)
    calendar.add("version", "2.0")
    calendar.calendar_name = _("Changeouts of %(owner)s") % {
        "owner": f"{feed.organization}, {feed.site}" if feed.site else feed.organization
    }
    plan = Plan.objects.in_force(feed.organization)
    for event in _events(plan, feed, sheet_at) if plan else []:
        calendar.add_component(event)
    return calendar.to_ical()


def _events(plan: Plan, feed: CalendarFeed, sheet_at: SheetAt) -> list[Event]:
    lines = LINES["changeouts"].objects.filter(plan=plan).order_by("planned_on", "changeout", "row")
    if feed.site:
        machines = Machine.objects.of(feed.organization).filter(site__key=feed.site)
        lines = lines.filter(machine__in=machines.values("key"))
    begins: dict[str, date] = {}
    for line in lines:
        begins.setdefault(line.changeout, line.planned_on)
    return [
        _event(plan, feed.organization, list(of_day), sheet_at, later=day > begins[changeout])
        for (day, changeout), of_day in groupby(lines, key=lambda line: (line.planned_on, line.changeout))
    ]


def _event(plan: Plan, organization: Organization, lines: list, sheet_at: SheetAt, *, later: bool) -> Event:
    """One day of a stop. The stop names the event of its first day, so that a new plan moves only the stops
    it moves; a `later` one has its day in its name too."""
    event = Event()
    first = lines[0]
    named = f"{organization.pk} {first.changeout}" + (f" {first.planned_on}" if later else "")
    event.add("uid", f"{hashlib.sha256(named.encode()).hexdigest()[:32]}@hoses")
    event.add("dtstamp", plan.finished_at)
    event.add("dtstart", first.planned_on)
    event.add("url", sheet_at(organization.slug, first.machine, first.changeout))
    event.add("dtend", first.planned_on + timedelta(days=1))
    special = _(" (special stop)") if first.special_stop else ""
    told = ngettext("%(machine)s: change %(n)s hose", "%(machine)s: change %(n)s hoses", len(lines))
    event.add("summary", told % {"machine": first.machine, "n": len(lines)} + special)
    work = [f"{line.position}: {line.assembly}. {line.reason}" for line in lines]
    known = [line.minutes for line in lines if line.minutes is not None]
    if known:
        work.append(_("Work: %(known)s min.") % {"known": f"{sum(known):.0f}"})
    cautions = [f"{caution.title}. {caution.text}" for caution in AT_THE_MACHINE]
    event.add("description", "\n".join([*work, "", *cautions]))
    event.add("transp", "TRANSPARENT")
    return event


def calendars_of(organization: Organization, user: User):
    """The person's calendars, those that answer first and the newest of each first."""
    mine = CalendarFeed.objects.filter(organization=organization, made_by=user)
    return mine.order_by(F("revoked_at").desc(nulls_first=True), "-made_at")


def _still_member(feed: CalendarFeed) -> bool:
    return Membership.objects.filter(
        user_id=feed.made_by_id, organization=feed.organization, user__is_active=True
    ).exists()
