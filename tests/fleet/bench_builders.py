"""A small shop with a bench: a machine with two positions, a design with its chart, a plan that builds it."""

import datetime

from fleet.models import (
    LINES,
    CrimpSpec,
    Design,
    DesignPart,
    Machine,
    Organization,
    Part,
    PartKind,
    Plan,
    Position,
    RunState,
    Site,
    StockPiece,
)
from fleet.services.shop.bench import accept_build
from fleet.services.shop.build_rules import BuildRecord
from fleet.services.shop.kits import begin_kit

TODAY = datetime.date(2026, 5, 4)
STOP = datetime.date(2026, 6, 1)
CUT_MM = 1000.0  # 1100 mm over all less twice 50 mm


def open_shop(name: str = "Gravel Works") -> Organization:
    """The shop with an empty shelf. D-100 is a hose H-08, two ends E-08 and two ferrules F-08."""
    shop = Organization.objects.create(name=name, slug=name.lower().replace(" ", "-"))
    own = {"organization": shop}
    north, _south = (Site.objects.create(**own, key=key) for key in ("north", "south"))
    hose = Part.objects.create(
        **own, key="H-08", kind=PartKind.BULK_HOSE, unit="metre", rated_pressure_bar=300, lead_time_days=20
    )
    end = Part.objects.create(
        **own, key="E-08", kind=PartKind.HOSE_END, rated_pressure_bar=350, cutoff_mm=50, lead_time_days=10
    )
    ferrule = Part.objects.create(**own, key="F-08", kind=PartKind.FERRULE, lead_time_days=10)
    design = Design.objects.create(
        **own, key="D-100", hose_part=hose, end_a_part=end, end_b_part=end, overall_length_mm=1100
    )
    for place in "ab":
        DesignPart.objects.create(**own, design=design, place=place, part=ferrule, quantity=1)
    CrimpSpec.objects.create(
        **own, hose_part=hose, end_part=end, ferrule_part=ferrule, crimp_diameter_mm=21.2, crimp_over_mm=0.13,
        crimp_under_mm=0.13, die="21", chart="chart 7 rev. 2",
    )  # fmt: skip
    machine = Machine.objects.create(**own, key="M-01", site=north)
    for key in ("boom", "arm"):
        Position.objects.create(**own, machine=machine, key=key, design=design, peak_pressure_bar=250)
    return shop


def lay(shop, part: str, on_hand: float, piece: str = "", **more) -> StockPiece:
    place = {
        "part": Part.objects.of(shop).get(key=part),
        "site": Site.objects.of(shop).get(key=more.pop("site", "north")),
    }
    return StockPiece.objects.create(organization=shop, **place, on_hand=on_hand, piece=piece, **more)


def lay_plenty(shop) -> None:
    """A reel, ends and ferrules for many assemblies, each of one lot."""
    lay(shop, "H-08", 20.0, "R-1", lot="LH", made_on=datetime.date(2026, 1, 1))
    lay(shop, "E-08", 20, "LE", lot="LE")
    lay(shop, "F-08", 20, "LF", lot="LF")


def plan_kit(
    shop, *positions: str, kit: str = "K-1", piece: str = "R-1", planned_on: datetime.date = STOP
) -> Plan:
    """A plan in force that changes those positions of M-01 in one stop, with the kit and its cuts."""
    plan = Plan.objects.create(
        organization=shop, state=RunState.DONE, as_of=TODAY,
        finished_at=datetime.datetime(2026, 5, 4, 6, Plan.objects.count(), tzinfo=datetime.UTC),
    )  # fmt: skip
    LINES["kits"].objects.create(
        plan=plan, row=0, kit=kit, purpose="changeout", changeout=kit[2:], machine="M-01", site="north",
        needed_by=planned_on, ready=True,
    )  # fmt: skip
    line = 0
    for row, position in enumerate(positions):
        LINES["changeouts"].objects.create(
            plan=plan, row=row, changeout=kit[2:], machine="M-01", planned_on=planned_on, special_stop=False,
            assembly=f"OLD-{position}", position=position, design="D-100", due_reason="economy",
        )  # fmt: skip
        bill = [("H-08", "bulk_hose", CUT_MM / 1000, "metre"), *[("E-08", "hose_end", 1, "each")] * 2]
        for part, kind, quantity, unit in [*bill, *[("F-08", "ferrule", 1, "each")] * 2]:
            line += 1
            cut = CUT_MM if kind == "bulk_hose" else None
            LINES["kit_lines"].objects.create(
                plan=plan, row=line, kit=kit, line=line, position=position, design="D-100", part=part,
                kind=kind, quantity=quantity, unit=unit, cut_length_mm=cut, short_by=0,
            )  # fmt: skip
            if cut:
                LINES["cut_list"].objects.create(
                    plan=plan, row=row, site="north", hose_part=part, piece=piece, kit=kit, line=line,
                    cut_length_mm=cut, left_on_piece_mm=0,
                )  # fmt: skip
    return plan


def open_shop_with_kit() -> Organization:
    """The shop with a kit of two assemblies, begun."""
    shop = open_shop()
    lay_plenty(shop)
    plan_kit(shop, "boom", "arm")
    begin_kit(organization=shop, user=None, kit="K-1", today=TODAY)
    return shop


def a_record(**more) -> BuildRecord:
    """A build with nothing against it."""
    usual: dict = {
        "built_on": TODAY,
        "built_by": "bench 1",
        "accepted_by": "Ada",
        "cut_length_mm": CUT_MM,
        "inserted_before": {"a": True, "b": True},
        "inserted_after": {"a": True, "b": True},
        "cleanings_before": 2,
        "cleanings_after": 1,
        "readings": {"a": (21.18, 21.2, 21.24), "b": (21.2, 21.2, 21.22)},
        "gauge": "calliper 1",
        "die": "21",
        "proof_pressure_bar": 600.0,
        "proof_seconds": 30.0,
        "proof_medium": "water",
    }
    return BuildRecord(**usual | more)


def accepted(shop, number: int = 1, *, assembly: str = "", confirmed=(), kit: str = "K-1", **record):
    return accept_build(
        organization=shop, user=None, kit=kit, number=number, record=a_record(**record), assembly=assembly,
        confirmed=confirmed, today=TODAY,
    )  # fmt: skip


def on_hand(part: str = "H-08") -> dict[str, float]:
    return {row.piece: row.on_hand for row in StockPiece.objects.filter(part__key=part)}
