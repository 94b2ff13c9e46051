"""A program asks what may stand in, and has it belong in a position."""

import pytest

from fleet.models import Design, Organization, Position, Role
from tests.fleet.pages.small_fleet import add_spiral_hose, small_fleet


def test_what_may_stand_in_comes_with_the_cautions_and_the_reasons(planner):
    answer = planner.get("/api/v1/positions/gravel-1/gravel boom/stand-ins/")
    told = answer.json()
    assert answer.status_code == 200
    assert told["cautions"][0]["code"] == "never_reuse"
    assert (told["machine"], told["design"], told["demanded_pressure_bar"]) == (
        "gravel-1", "gravel design", None,
    )  # fmt: skip
    (own,) = told["candidates"]
    assert (own["hose"]["part"], own["kinship"], own["verdict"]) == ("gravel-bulk_hose", "own", "not_judged")
    assert "neither peak nor working pressure of the position is known" in own["reason"]
    assert planner.get("/api/v1/positions/quarry-1/quarry boom/stand-ins/").status_code == 404


def test_a_worn_hose_is_asked_for_by_what_is_printed_on_it(planner):
    asked = {"construction": "2SN", "dash": 8, "rated_pressure_bar": 350}
    told = planner.get("/api/v1/stand-ins/", asked).json()
    assert [one["hose"]["part"] for one in told["candidates"]] == ["gravel-bulk_hose"]
    assert told["position"] is None
    refused = planner.get("/api/v1/stand-ins/", {"construction": "2SN"})
    assert (refused.status_code, "dash" in str(refused.json())) == (400, True)


def test_the_ends_of_a_worn_hose_are_those_of_the_catalogue(planner):
    asked = {"construction": "2SN", "dash": 8, "end_a": "gravel-hose_end"}
    told = planner.get("/api/v1/stand-ins/", asked).json()
    assert {(end["place"], end["part"], end["verdict"]) for end in told["ends"]} == {
        ("a", "gravel-hose_end", "fits"),
        ("b", "gravel-hose_end", "fits"),
    }
    refused = planner.get("/api/v1/stand-ins/", asked | {"end_b": "quarry-hose_end"})
    assert (refused.status_code, refused.json()["code"]) == (400, "not_in_register")


class TestChoosing:
    ADDRESS = "/api/v1/positions/M-01/boom 1/stand-ins/"
    SPIRAL = {
        "hose": "H-4SP-08", "end_a": "E-08", "end_b": "E-08", "design": "D-100-2",
        "reason": "under its rating",
    }  # fmt: skip

    @pytest.fixture
    def fleet(self, db):
        fleet = Organization.objects.create(name="Slate Works", slug="slate-works")
        small_fleet(fleet, positions=2)
        add_spiral_hose(fleet)
        return fleet

    def choose(self, client, **sent):
        return client.post(self.ADDRESS, self.SPIRAL | sent, format="json")

    def test_a_candidate_that_fits_belongs_there_from_now_on(self, fleet, member, client_of):
        client = client_of(member(fleet))
        fitting = [
            {name: one[name]["part"] for name in ("hose", "end_a", "end_b")}
            for one in client.get(self.ADDRESS).json()["candidates"]
            if one["verdict"] == "fits"
        ]
        answer = client.post(self.ADDRESS, self.SPIRAL | fitting[0], format="json")
        assert answer.status_code == 200
        told = answer.json()
        assert told.pop("cautions")[0]["code"] == "never_reuse"
        assert told == {"machine": "M-01", "position": "boom 1", "design": "D-100-2"}
        place = Position.objects.select_related("design__hose_part").get(machine__key="M-01", key="boom 1")
        assert (place.design.key, place.design.hose_part.key) == ("D-100-2", "H-4SP-08")
        (record,) = place.history.filter(history_type="~")
        assert (record.history_user.username, record.history_change_reason) == ("ada", "under its rating")

    @pytest.mark.parametrize(
        ("sent", "code", "told"),
        [
            ({"hose": "H-2SN-08"}, "not_a_stand_in", "Choose one of those that may stand in."),
            ({"design": "D-100"}, "design_taken", "is drawn already"),
            ({"reason": " "}, "why_missing", "Say why"),
            ({"design": " "}, "invalid", "design"),
        ],
    )
    def test_what_is_refused_has_a_code_and_a_sentence_and_is_not_stored(
        self, fleet, member, client_of, sent, code, told
    ):
        answer = self.choose(client_of(member(fleet)), **sent)
        assert (answer.status_code, answer.json()["code"]) == (400, code)
        assert told in answer.json()["text"]
        assert [one.key for one in Design.objects.of(fleet)] == ["D-100"]

    def test_of_a_critical_position_the_sender_says_to_be_competent(self, fleet, member, client_of):
        Position.objects.update(critical=True)
        client = client_of(member(fleet))
        assert self.choose(client).json()["code"] == "not_competent"
        assert self.choose(client, competent=True).status_code == 200

    def test_who_may_not_change_the_register_chooses_nothing(self, fleet, member, client_of):
        assert self.choose(client_of(member(fleet, Role.SHOP))).status_code == 403
        assert self.choose(client_of(member(fleet, Role.MANAGER, "bob"))).status_code == 200

    def test_a_position_of_another_organization_is_not_there(self, fleet, planner):
        assert self.choose(planner).status_code == 404
