"""A yard in which a hose may burst: what its place asks for, and what of that lies where."""

import datetime

from fleet.models import Design, Machine, Organization, Part, PartKind, Position, Site, StockPiece

TODAY = datetime.date(2026, 5, 4)


def open_yard() -> Organization:
    """A machine at north and a second site; a design of a hose and two ends of one part, nothing in stock."""
    gravel = Organization.objects.create(name="Gravel Works", slug="gravel-works")
    own = {"organization": gravel}
    north, _south = (Site.objects.create(**own, key=key) for key in ("north", "south"))
    hose = Part.objects.create(**own, key="H-08", kind=PartKind.BULK_HOSE, lead_time_days=20)
    end = Part.objects.create(**own, key="E-08", kind=PartKind.HOSE_END, cutoff_mm=50, lead_time_days=10)
    design = Design.objects.create(
        **own, key="D-100", hose_part=hose, end_a_part=end, end_b_part=end, overall_length_mm=1100
    )
    machine = Machine.objects.create(**own, key="M-01", site=north)
    Position.objects.create(**own, machine=machine, key="boom", design=design)
    return gravel


def lay(gravel, part: str, on_hand: float, site: str = "north", piece: str = "") -> None:
    place = {"part": Part.objects.get(key=part), "site": Site.objects.get(key=site)}
    StockPiece.objects.create(organization=gravel, **place, on_hand=on_hand, piece=piece)


def in_days(days: int) -> datetime.date:
    return TODAY + datetime.timedelta(days=days)
