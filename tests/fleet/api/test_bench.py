"""A program begins kits, records builds and is told what refuses them, as the shop's pages are."""

import datetime
import uuid

import pytest
from django.utils import timezone

from fleet.models import Assembly, Membership, Position, Role, StockPiece
from tests.fleet.bench_builders import lay_plenty, open_shop, plan_kit


@pytest.fixture
def smith(db, member, client_of):
    shop = open_shop("Bench Works")
    lay_plenty(shop)
    plan_kit(shop, "boom", "arm")
    return client_of(member(shop, Role.SHOP))


def sent(client, what: str, **data):
    return client.post(f"/api/v1/bench/{what}/", data, format="json")


def a_build(**more) -> dict:
    usual = {
        "kit": "K-1",
        "number": 1,
        "built_on": timezone.localdate().isoformat(),
        "built_by": "bench 1",
        "cut_length_mm": 1000,
        "inserted_before": ["a", "b"],
        "inserted_after": ["a", "b"],
        "cleanings_before": 2,
        "cleanings_after": 1,
        "readings_a_mm": [21.2, 21.2, 21.2],
        "readings_b_mm": [21.2, 21.2, 21.2],
        "proof_pressure_bar": 600,
        "proof_seconds": 45,
    }
    return usual | more


def test_a_kit_is_begun_built_and_taken_apart(smith):
    begun = sent(smith, "kits", kit="K-1")
    assert begun.status_code == 201, begun.json()
    first, second = begun.json()["kit"]["assemblies"]
    assert (first["position"], first["assembly"], len(second["holds"])) == ("boom", None, 5)
    assert sent(smith, "kits", kit="K-1").status_code == 409

    refused = sent(smith, "builds", **a_build(readings_a_mm=[21.2, 21.5, 21.2], cleanings_after=0))
    assert (refused.status_code, refused.json()["code"]) == (400, "build_refused")
    assert [one["code"] for one in refused.json()["fields_wrong"]] == ["over_band", "not_cleaned_after"]
    assert not Assembly.objects.exists()

    made = sent(smith, "builds", **a_build(cleanings_after=0, confirmed=["not_cleaned_after"]))
    accepted = {"assembly": "A-0001", "told": ["A-0001 is accepted."], "again": False}
    assert (made.status_code, made.json()) == (201, accepted)
    again = sent(smith, "builds", **a_build())
    assert (again.status_code, again.json()["code"]) == (409, "assembly_made")

    assert sent(smith, "scraps", kit="K-1", number=2, reason="dropped").json()["ready"]
    (kit,) = smith.get("/api/v1/bench/kits/").json()
    assert [one["assembly"] for one in kit["assemblies"]] == ["A-0001", None]
    apart = sent(smith, "kits/take-apart", kit="K-1", cut=[2])
    assert "1 m of H-08 comes back as offcut R-1-2." in apart.json()["told"]
    hose = StockPiece.objects.filter(part__key="H-08").values_list("on_hand", flat=True)
    assert sum(hose) == pytest.approx(20 - 2 * 1.003 - 0.003)


def test_a_record_that_is_sent_again_under_its_token_counts_once(smith):
    sent(smith, "kits", kit="K-1")
    build = a_build(token=str(uuid.uuid4()))
    first, again = sent(smith, "builds", **build), sent(smith, "builds", **build)
    assert (first.status_code, first.json()["again"]) == (201, False)
    assert (again.status_code, again.json()["again"], again.json()["assembly"]) == (201, True, "A-0001")
    assert Assembly.objects.count() == 1
    hose = StockPiece.objects.filter(part__key="H-08").values_list("on_hand", flat=True)
    assert sum(hose) == pytest.approx(20 - 1.003)
    other = sent(smith, "builds", **build | {"number": 2})
    assert (other.status_code, other.json()["code"]) == (400, "token_spent")


def test_what_was_not_spoilt_is_spared_and_nothing_is_scrapped_twice(smith):
    first = sent(smith, "kits", kit="K-1").json()["kit"]["assemblies"][0]["holds"]
    ends = [one["held"] for one in first if one["part"] == "E-08"]
    scrap = {"kit": "K-1", "number": 1, "reason": "cut askew", "spared": ends}
    scrap["seen"] = [one["held"] for one in first]
    assert sent(smith, "scraps", **scrap).json()["ready"]
    assert StockPiece.objects.get(part__key="E-08").on_hand == 20
    again = sent(smith, "scraps", **scrap)
    assert (again.status_code, again.json()["code"]) == (409, "parts_changed")
    (kit,) = smith.get("/api/v1/bench/kits/").json()
    held = {one["held"] for one in kit["assemblies"][0]["holds"]}
    assert set(ends) < held
    assert held.isdisjoint(set(scrap["seen"]) - set(ends))


def test_one_assembly_is_begun_for_a_position_and_a_viewer_begins_nothing(smith):
    asked = {"site": "north", "machine": "M-01", "position": "boom"}
    assert sent(smith, "assemblies", **asked).status_code == 201
    assert sent(smith, "assemblies", **asked).json()["code"] == "kit_begun"
    Membership.objects.update(role=Role.VIEWER)
    assert smith.get("/api/v1/bench/kits/").status_code == 200
    assert sent(smith, "kits", kit="K-1").status_code == 403


def test_a_program_follows_one_hose_from_worn_to_the_next_one_installed(smith):
    """Found worn, read, stood in for, built anew, taken off and put on: the register tells it all."""
    boom = Position.objects.get(key="boom")
    today = timezone.localdate()
    own = {"organization": boom.organization, "design": boom.design, "position": boom}
    Assembly.objects.create(**own, key="OLD-1", installed_on=today - datetime.timedelta(days=900))
    act = "/api/v1/machine-work/"
    look = {"assembly": "OLD-1", "inspected_on": today, "grade": "replace", "finding": "wire bare"}
    assert smith.post(f"{act}inspections/", look, format="json").status_code == 201
    stand_ins = smith.get("/api/v1/positions/M-01/boom/stand-ins/").json()
    assert stand_ins["candidates"][0]["hose"]["part"] == "H-08"

    begun = sent(smith, "assemblies", site="north", machine="M-01", position="boom").json()["kit"]
    sheet = smith.get(f"/api/v1/kits/{begun['kit']}/sheet/").json()["sheets"][0]
    assert sheet["cut"]["cut_length_mm"] == 1000
    made = sent(smith, "builds", **a_build(kit=begun["kit"])).json()["assembly"]
    put = {"assembly": made, "machine": "M-01", "position": "boom", "installed_on": today}
    put |= {"removal_cause": "worn", "comes_off": "OLD-1"}
    told = smith.post(f"{act}installations/", put, format="json")
    assert (told.status_code, told.json()["warnings"]) == (201, [])
    traced = smith.get("/api/v1/groups/", {"lot": "LH"}).json()["results"]
    assert [(one["assembly"], one["position"], one["in_place"]) for one in traced] == [(made, "boom", True)]
    old = Assembly.objects.get(key="OLD-1")
    assert (old.removed_on, old.removal_cause) == (today, "worn")
