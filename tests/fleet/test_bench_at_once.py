"""Of two at the bench who record one build at once, one is told."""

import pytest

from fleet.models import StockPiece
from fleet.services.shop.bench import accept_build
from fleet.services.shop.errors import AssemblyMade
from fleet.services.shop.kits import begin_kit
from tests.fleet.at_once import at_once
from tests.fleet.bench_builders import TODAY, a_record, lay_plenty, open_shop, plan_kit

pytestmark = pytest.mark.django_db(transaction=True)


def test_of_two_who_accept_one_line_of_a_kit_at_once_one_is_told():
    shop = open_shop()
    lay_plenty(shop)
    plan_kit(shop, "boom")
    begin_kit(organization=shop, user=None, kit="K-1", today=TODAY)

    def accept():
        return accept_build(organization=shop, user=None, kit="K-1", number=1, record=a_record(), today=TODAY)

    said = at_once(*[lambda: accept().assembly.key] * 2)
    assert sorted(said) == ["A-0001", "assembly_made"]
    left = StockPiece.objects.exclude(part__key="F-08").values_list("piece", "on_hand")
    assert dict(left) == {"R-1": 18.997, "LE": 18}
    with pytest.raises(
        AssemblyMade, match=r"No. 1 of K-1 is made already: A-0001, accepted by Ada on 4 May 2026"
    ):
        accept()
