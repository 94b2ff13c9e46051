"""Fleets in PostgreSQL that the pages are tried on, and the addresses of their pages.

They are planned, have kits at the bench, and a member who may see every page.
"""

import os
import subprocess
import sys
from pathlib import Path

import psycopg

MANAGE = Path(__file__).parents[2] / "manage.py"
ORGANIZATION = "Page fleet"
MEMBER = "page reader"
SEED = 7
HOSES_A_MACHINE = 18.9  # of invented fleets, on average
UNTIL = "2026-05-29"
KEYS = 20  # a detail page is asked for so many different things


def manage(environment: dict[str, str], *words: str) -> None:
    """Runs a command of `manage.py`; what it says goes to the terminal."""
    subprocess.run([sys.executable, MANAGE, *words], env=environment, check=True, stdout=sys.stderr)


def make_fleet(server: str, folder: Path, hoses: int) -> str:
    """The DATABASE_URL of a fleet of about so many installed assemblies, made as a user would make it.

    One that an earlier run left there is taken as it is.
    """
    name = f"fleet_{hoses}"
    url = f"{server.rpartition('/')[0]}/{name}"
    done = folder / f"{name}.done"
    if done.exists():
        return url
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"DROP DATABASE IF EXISTS {name}")
        connection.execute(f"CREATE DATABASE {name}")
    files = str(folder / name)
    machines = str(round(hoses / HOSES_A_MACHINE))
    environment = {**os.environ, "DATABASE_URL": url, "DEBUG": "1"}
    manage(environment, "migrate", "--verbosity", "0")
    manage(environment, "invent_fleet", files, "--machines", machines, "--seed", str(SEED), "--until", UNTIL)
    manage(environment, "import_fleet", files, "--organization", ORGANIZATION)
    manage(environment, "replan", "--organization", ORGANIZATION, "--as-of", UNTIL)
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute("VACUUM ANALYZE")  # as the server itself does within minutes
    done.touch()
    return url


def furnish_fleet() -> None:
    """Adds a member, kits at the bench and what people ask for, once. Django is set up on the fleet."""
    from django.core.files.base import ContentFile

    from fleet.models import (
        LINES,
        Assembly,
        FolderReading,
        KitAssembly,
        Membership,
        Organization,
        Plan,
        ReadingState,
        Role,
        User,
    )
    from fleet.services.decisions.tracing import ask_inspections, set_changeouts
    from fleet.services.errors import ServiceError
    from fleet.services.folders.matching import receive_sheet
    from fleet.services.plans.calendars import open_calendar
    from fleet.services.shop.kits import begin_kit
    from tests.fleet.pages.every_page import FINDING, SHEET

    organization = Organization.objects.get(name=ORGANIZATION)
    refused = FolderReading.objects.filter(organization=organization, state=ReadingState.REFUSED)
    if refused.exists():  # it comes last
        return
    user, _new = User.objects.get_or_create(username=MEMBER)
    own = {"organization": organization, "user": user}
    Membership.objects.get_or_create(**own, defaults={"role": Role.OWNER})
    plan = Plan.objects.in_force(organization)
    kits = LINES["kits"].objects.filter(plan=plan).exclude(machine="").order_by("needed_by", "row")
    begun = 0
    for kit in kits[: 10 * KEYS]:
        try:
            begin_kit(**own, kit=kit.kit)
        except ServiceError as refusal:  # it lacks something; the next may not
            print(kit.kit, refusal, file=sys.stderr)
            continue
        begun += 1
        if begun == KEYS:
            break
    made = KitAssembly.objects.of(organization).order_by("kit_id", "-number").distinct("kit_id")
    for row in made[: KEYS // 2]:
        made_of = {"design": row.design, "built_on": plan.as_of}
        row.assembly = Assembly.objects.create(organization=organization, key=f"MADE-{row.pk}", **made_of)
        row.save()
    lot = Assembly.objects.of(organization).exclude(hose_lot="").filter(removed_on=None).first().hose_lot
    asked = {"groups": {"hose_lot": lot}, "reason": "rubbed", "today": plan.as_of}
    set_changeouts(**own, **asked, not_after=plan.as_of)
    ask_inspections(**own, **asked, by_day=plan.as_of)
    open_calendar(**own, name="mine")
    receive_sheet(**own, file=ContentFile(SHEET, "hoses.csv"))
    FolderReading.objects.create(
        organization=organization, state=ReadingState.REFUSED, failure="", findings=[FINDING] * 50
    )


def addresses_of(rows, *paths: str) -> list[list]:
    """The keys of up to KEYS of the rows, spread over all of them."""
    count = rows.count()
    step = max(count // KEYS, 1)
    return [list(row) for row in rows.order_by("pk").values_list(*paths)[: step * KEYS : step]]


def fleet_addresses() -> dict[str, list[str]]:
    """The addresses of each page by its name, the sign-in page among them. Django is set up on the fleet."""
    from django.urls import reverse

    from fleet.models import (
        LINES,
        Assembly,
        FolderReading,
        KitAssembly,
        KitPart,
        OpenOrder,
        Organization,
        Part,
        Plan,
        Position,
        ReadingState,
        StockPiece,
    )
    from tests.fleet.pages.every_page import ASKED, PAGES

    organization = Organization.objects.get(name=ORGANIZATION)
    plan = Plan.objects.in_force(organization)
    lines = {name: model.objects.filter(plan=plan) for name, model in LINES.items()}
    of = {
        model: model.objects.of(organization)
        for model in (Assembly, KitAssembly, KitPart, OpenOrder, Part, Position, StockPiece)
    }
    installed = of[Assembly].filter(position__isnull=False, removed_on=None)
    held = of[KitAssembly].filter(assembly=None, parts__state="reserved").distinct()
    readings = FolderReading.objects.filter(organization=organization)
    changeouts, kits = lines["changeouts"], lines["kits"]
    keys: dict[str, list[list]] = {
        "decide": addresses_of(changeouts, "assembly"),
        "plan": [[plan.pk]],
        "take_apart": addresses_of(held, "kit__key"),
        "record_build": addresses_of(held, "kit__key", "number"),
        "scrap_build": addresses_of(held, "kit__key", "number"),
        "built": addresses_of(of[KitAssembly].exclude(assembly=None), "kit__key", "number"),
        "build_sheet": addresses_of(kits, "kit"),
        "kit": addresses_of(kits, "kit"),
        "burst": addresses_of(of[Position], "machine__key", "key"),
        "stand_ins": addresses_of(of[Position], "machine__key", "key"),
        "changeout": addresses_of(changeouts, "machine", "changeout"),
        "machine_day": addresses_of(changeouts, "machine"),
        "machine": addresses_of(of[Position], "machine__key"),
        "assembly": addresses_of(installed, "key"),
        "tag": addresses_of(installed, "key"),
        "part": addresses_of(of[Part], "key"),
        "folder": addresses_of(readings.filter(state=ReadingState.REFUSED), "pk"),
        "match_columns": addresses_of(readings.filter(state=ReadingState.TO_MATCH), "pk"),
    }
    pieces = addresses_of(of[StockPiece].filter(on_hand__gt=0), "part__key", "site__key")
    on_shelf = [{"part": part, "site": site} for part, site in pieces]
    ordered = addresses_of(of[OpenOrder].filter(quantity__gt=0), "part__key", "site__key", "order")
    orders = [{"part": part, "site": site, "order": order} for part, site, order in ordered]
    missing = addresses_of(lines["gaps"].filter(kind="positions"), "kind", "name", "column")
    asked = {name: [query] for name, query in ASKED.items()} | {
        "enter_gap": [dict(zip(("file", "name", "column"), one, strict=True)) for one in missing],
        "count_stock": on_shelf,
        "place_order": on_shelf,
        "move_stock": on_shelf,
        "receive": orders,
        "change_order": orders,
        "search": [{"q": key[:-2]} for (key,) in keys["assembly"]],
    }
    found = {"sign_in": [reverse("sign_in")], "organizations": [reverse("organizations")]}
    for name in PAGES:
        if name == "choose_design":  # opens only for what stand_ins found, and judges as that does
            continue
        found[name] = [
            reverse(name, args=[organization.slug, *of_one], query=query)
            for of_one in keys.get(name, [[]])
            for query in asked.get(name, [None])
        ]
    return found
