"""Whatever is done at the bench in whatever order, nothing of a lot is lost or comes from nowhere."""

import random
from collections import defaultdict

import pytest
from django.db import connection

from fleet.models import Assembly, KitAssembly, KitPart, Setting, StockPiece
from fleet.services.errors import ServiceError
from fleet.services.shop.bench import accept_build, scrap_build
from fleet.services.shop.kits import begin_assembly, take_apart_kit
from fleet.services.stock.moving import move_stock, order_part, receive_order
from fleet.services.work.recording import install_assembly, remove_assembly
from fleet.services.work.rows import Fitted
from tests.fleet.bench_builders import CUT_MM, TODAY, a_record, lay, open_shop

pytestmark = pytest.mark.django_db


SEEDS = {"sqlite": 3, "postgresql": 2}  # a hundred acts of its own on each database
ACTS = ["begin"] * 2 + ["accept"] * 3 + ["scrap", "apart", "receive", "move", "fit", "remove"]


def test_after_a_hundred_acts_every_lot_balances_to_the_millimetre():
    """Laid down and received = on hand + cut + kerf + scrap, for each lot of hose; each end is somewhere."""
    chance = random.Random(SEEDS[connection.vendor])
    shop = open_shop("Balance Works")
    Setting.objects.create(organization=shop, name="keep_length_mm", value="400")
    lay(shop, "H-08", 7.35, "R-1", lot="LH")
    lay(shop, "E-08", 20, "LE", lot="LE")
    lay(shop, "F-08", 20, "LF", lot="LF")
    came: dict[tuple[str, str], float] = defaultdict(float)
    for piece in StockPiece.objects.of(shop).select_related("part"):
        came[piece.part.key, piece.lot] += piece.on_hand
    for step in range(100):
        act, which, off = chance.choice(ACTS), chance.randrange(8), round(chance.uniform(-3, 7), 1)
        try:
            for part, lot, much in do(shop, act, which, off, step):
                came[part, lot] += much
        except ServiceError as refusal:
            assert refusal.code in EXPECTED, refusal  # a refusal stores nothing
        if step % 5 == 4:
            check_balance(shop, came)
    assert Assembly.objects.count() > 5
    assert Assembly.objects.filter(removal_cause__in=("worn", "failed")).exists()


EXPECTED = {"kit_lacks", "kit_begun", "kit_closed", "assembly_made", "nothing_set_aside", "build_refused",
            "not_enough", "held_by_kits", "kit_not_there"}  # fmt: skip


def do(shop, act: str, which: int, off: float, step: int) -> list[tuple[str, str, float]]:
    """Does one thing; what came into the shop by it: part, lot, how much."""
    own = {"organization": shop, "user": None, "today": TODAY}
    rows = KitAssembly.objects.of(shop).filter(assembly=None, kit__state="begun").select_related("kit")
    one = rows.order_by("pk")[which % rows.count()] if rows else None
    if act == "begin":
        begin_assembly(**own, site="north", design="D-100")
    elif act == "receive":
        part, much = ("H-08", 2.4 + which) if which % 2 else ("E-08", 2.0 + which)
        order_part(**own, part=part, site="north", quantity=much, order=f"PO-{step}")
        receive_order(**own, order=f"PO-{step}", part=part, site="north", quantity=much, lot=f"L{step}")
        return [(part, f"L{step}", much)]
    elif act == "move":
        pieces = StockPiece.objects.of(shop).filter(part__key="H-08", site__key="north").order_by("pk")
        piece = pieces[which % pieces.count()]
        move_stock(
            organization=shop, user=None, part="H-08", from_site="north", to_site="south",
            quantity=1.0 + which, piece=piece.piece,
        )  # fmt: skip
    elif act == "fit":
        shelf = Assembly.objects.of(shop).filter(position=None).order_by("pk")
        if new := shelf.first():
            seen = Assembly.objects.of(shop).filter(position__key="boom", removed_on=None).first()
            off = {"removal_cause": "worn", "comes_off": seen.key} if seen else {}
            install_assembly(
                **own, machine="M-01", position="boom", fitted=Fitted(new.key), installed_on=TODAY, **off
            )
    elif act == "remove":
        fitted = Assembly.objects.of(shop).filter(position__isnull=False, removed_on=None).first()
        if fitted:
            remove_assembly(**own, assembly=fitted.key, removed_on=TODAY, removal_cause="failed")
    elif one is not None and act == "accept":
        accept_build(**own, kit=one.kit.key, number=1, record=a_record(cut_length_mm=CUT_MM + off))
    elif one is not None and act == "scrap":
        scrap_build(**own, kit=one.kit.key, number=1, reason="dropped", cut_length_mm=CUT_MM + off)
    elif one is not None and act == "apart":
        take_apart_kit(**own, kit=one.kit.key, cut=[1] if which % 2 else [])
    return []


def check_balance(shop, came: dict[tuple[str, str], float]) -> None:
    there: dict[tuple[str, str], float] = defaultdict(float)
    for piece in StockPiece.objects.of(shop).select_related("part").with_reserved():
        assert piece.on_hand >= piece.reserved - piece.last_kerf - 1e-6, piece
        there[piece.part.key, piece.lot] += piece.on_hand
    for part in KitPart.objects.of(shop).exclude(state="reserved").select_related("part"):
        gone = part.quantity if part.state == "used" else 0.0
        there[part.part.key, part.lot] += gone + (part.kerf_mm + part.scrap_mm) / 1000
    wrong = {key: (came[key], there[key]) for key in came | there if abs(came[key] - there[key]) > 5e-4}
    assert not wrong
