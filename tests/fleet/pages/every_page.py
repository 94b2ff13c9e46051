"""Every page of an organization, with rows for those that the small fleet and its plan leave empty.

A page added to `urls.py` belongs into PAGES, or into NOT_PAGES with the reason; a test holds them together.
"""

from django.core.files.base import ContentFile
from django.urls import reverse
from django.utils import timezone

from fleet.models import (
    Assembly,
    Design,
    DesignPart,
    FolderReading,
    OpenOrder,
    Organization,
    Part,
    Plan,
    Position,
    ReadingState,
    Role,
    RunState,
    Site,
    StockPiece,
    User,
)
from fleet.services.decisions.tracing import ask_inspections, set_changeouts
from fleet.services.folders.matching import receive_sheet
from fleet.services.people.invitations import invite_person
from fleet.services.plans.calendars import open_calendar
from fleet.services.shop.bench import accept_build
from fleet.services.shop.kits import begin_kit
from tests.fleet.bench_builders import a_record
from tests.fleet.pages.small_fleet import AS_OF, add_spiral_hose, day

# By name of the address: its keys, or several lists of them where one page shows different things.
PAGES: dict[str, list[list]] = {
    "belong": [[]],
    "due": [[]],
    "changes": [[]],
    "decisions": [[]],
    "decide": [["A-1-2"]],
    "margins": [[]],
    "empty_places": [[]],
    "calendars": [[]],
    "plan": [["running plan"]],
    "build": [[]],
    "cuts": [[]],
    "layline": [[]],
    "ends": [[]],
    "begun": [[]],
    "begin_one": [[]],
    "take_apart": [["K-M-02"]],
    "record_build": [["K-M-02", 1]],
    "scrap_build": [["K-M-02", 1]],
    "built": [["K-M-02", 2]],
    "build_sheet": [["K-M-01"], ["K-M-02"]],
    "kit": [["K-M-01"], ["K-M-02"]],
    "order": [[]],
    "shelves": [[]],
    "count_stock": [[]],
    "place_order": [[]],
    "coming": [[]],
    "receive": [[]],
    "change_order": [[]],
    "transfers": [[]],
    "move_stock": [[]],
    "suspects": [[]],
    "gaps": [[]],
    "enter_gap": [[]],
    "past_forecasts": [[]],
    "compare": [[]],
    "age_rules": [[]],
    "machines": [[]],
    "burst": [["M-01", "boom 1"]],
    "stand_ins": [["M-01", "boom 1"]],
    "choose_design": [["M-01", "boom 1"]],
    "changeout": [["M-01", "C-M-01"], ["M-02", "C-M-02"]],
    "worn_stand_ins": [[]],
    "machine_day": [["M-01"]],
    "machine": [["M-01"]],
    "assemblies": [[]],
    "assembly": [["A-1-1"], ["A-MADE"]],
    "tags": [[]],
    "tag": [["A-1-1"], ["A-MADE"]],
    "paste": [[]],
    "meters": [[]],
    "lots": [[]],
    "people": [[]],
    "looks": [[]],
    "parts": [[]],
    "part": [["H-2SN-08"]],
    "search": [[]],
    "rests_on": [[]],
    "tried": [[]],
    "folders": [[]],
    "folder": [["refused folder"]],
    "match_columns": [["sheet"]],
}
OF_PART = {"part": "H-2SN-08", "site": "north"}
ASKED: dict[str, dict] = {  # what pages are asked with that show nothing otherwise
    "count_stock": OF_PART,
    "place_order": OF_PART,
    "receive": OF_PART | {"order": "O-1"},
    "change_order": OF_PART | {"order": "O-1"},
    "move_stock": OF_PART,
    "enter_gap": {"file": "positions", "name": "M-01/boom 2", "column": "peak_pressure_bar"},
    "choose_design": {"hose": "H-4SP-08", "end_a": "E-08", "end_b": "E-08"},
    "search": {"q": "boom"},
    "worn_stand_ins": {"construction": "2SN", "dash": 8},
}
SHEET = "Machine no.,Hose position,Fitted\nEX-1,boom left,2023-04-03\n"
FINDING = {
    "severity": "error",
    "file": "positions",
    "line": 14,
    "column": "working_pressure_bar",
    "value": "3500",
    "wrong": "3500 is above 1,000 bar.",
    "right": "Enter bar, not psi (3500 psi = 241 bar).",
}
POSTED = "only posted to"
NOT_PAGES = {
    "organization": "leads to the first page of the reader's role",
    "empty_folder": "a download",
    "empty_workbook": "a download",
    "folder_findings": "a download",
    "change_role": POSTED,
    "leave": POSTED,
    "offer_password": POSTED,
    "withdraw_invited": POSTED,
    "withdraw": POSTED,
    "revoke_calendar": POSTED,
    "make_plan": POSTED,
    "supply_kit": POSTED,
    "begin_kit": POSTED,
    "try_past_forecasts": POSTED,
    "ask_what_if": POSTED,
    "set_age_rule": POSTED,
    "look_at_group": POSTED,
    "change_group": POSTED,
    "record": POSTED,
    "withdraw_look": POSTED,
    "send_folder": POSTED,
    "send_sheet": POSTED,
    "match_anew": POSTED,
    "read_again": POSTED,
    "store_folder": POSTED,
    "leave_folder": POSTED,
}


def furnish(organization: Organization) -> None:
    """Adds what the small fleet and its plan leave empty.

    Shelves with an order to come, a kit at the bench of which one assembly is made (A-MADE), a folder that
    was refused, a sheet to be matched, a running plan, and what people asked for.
    """
    own = {"organization": organization}
    planner = User.objects.create_user(f"planner of {organization.slug}")
    parts = {part.key: part for part in Part.objects.of(organization)}
    positions = Position.objects.of(organization).filter(machine__key="M-02")
    for site in Site.objects.of(organization):
        for part in parts.values():
            StockPiece.objects.create(
                **own, part=part, site=site, on_hand=3 * positions.count(), piece="R-1", lot="L-80"
            )
        OpenOrder.objects.create(**own, order="O-1", part=parts["H-2SN-08"], site=site, quantity=20)
    DesignPart.objects.create(
        **own, design=Design.objects.of(organization).get(), place="b", part=parts["F-08"], quantity=1
    )
    positions.update(working_pressure_bar=200)  # what its hose bears by the table
    begin_kit(**own, user=planner, kit="K-M-02")
    record = a_record(built_on=AS_OF, cut_length_mm=812.8)
    accept_build(
        **own, user=planner, kit="K-M-02", number=2, record=record, assembly="A-MADE", today=AS_OF,
        confirmed=["rating_unknown"],
    )  # fmt: skip
    lot = {"groups": {"hose_lot": "L-77"}, "reason": "rubbed", "today": AS_OF}
    set_changeouts(**own, **lot, user=planner, not_after=day(30))
    ask_inspections(**own, **lot, user=planner, by_day=day(14))
    for name in ("mine", "of the bench"):
        open_calendar(**own, user=planner, name=name)
        invite_person(**own, user=planner, name=name.replace(" ", "."), role=Role.SHOP)
    FolderReading.objects.create(**own, state=ReadingState.REFUSED, failure="1 error", findings=[FINDING])
    receive_sheet(**own, user=planner, file=ContentFile(SHEET, "hoses.csv"))
    running = {"state": RunState.RUNNING, "seen_at": timezone.now(), "progress": "Forecasting"}
    Plan.objects.create(**own, as_of=AS_OF, **running)
    add_spiral_hose(organization)
    for position in Position.objects.of(organization).filter(machine__key="M-02"):
        empty = Position.objects.create(**own, machine=position.machine, key=f"empty {position.key}")
        Assembly.objects.create(
            **own, key=f"{empty.key}-last", position=empty, installed_on=day(-90), removed_on=day(-2)
        )


def page_addresses(organization: Organization) -> dict[str, str]:
    """The address of every page of the furnished organization; the first of a name by it alone."""
    readings = FolderReading.objects.filter(organization=organization)
    numbers = {
        "running plan": Plan.objects.of(organization).get(state=RunState.RUNNING).pk,
        "refused folder": readings.get(state=ReadingState.REFUSED).pk,
        "sheet": readings.get(state=ReadingState.TO_MATCH).pk,
    }
    addresses = {"organizations": reverse("organizations")}
    for name, several in PAGES.items():
        for keys in several:
            args = [organization.slug, *(numbers.get(key, key) for key in keys)]
            title = name if keys == several[0] else f"{name} of {' '.join(map(str, keys))}"
            addresses[title] = reverse(name, args=args, query=ASKED.get(name))
    return addresses
