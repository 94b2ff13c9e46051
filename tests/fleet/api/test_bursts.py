"""A program asks what there is for a hose that burst."""

from fleet.models import StockPiece


def test_what_there_is_comes_with_the_cautions_and_what_is_missing(planner):
    StockPiece.objects.update(on_hand=12.5)
    answer = planner.get("/api/v1/positions/gravel-1/gravel boom/burst/")
    told = answer.json()
    assert answer.status_code == 200
    assert told["cautions"][0]["code"] == "injection"
    assert (told["machine"], told["position"], told["design"]) == ("gravel-1", "gravel boom", "gravel design")
    (way,) = told["ways"]
    assert (way["kind"], way["site"], way["complete"], way["ready_on"]) == (
        "stock",
        "gravel yard",
        False,
        None,
    )
    assert {line["part"]: line["short_by"] for line in way["lines"]} == {
        "gravel-bulk_hose": 0, "gravel-hose_end": 2, "gravel-ferrule": 1,
    }  # fmt: skip
    assert way["lines"][1]["missing"].startswith("2 of gravel-hose_end are missing")


def test_a_position_of_another_organization_is_not_there(planner, quarry):
    answer = planner.get("/api/v1/positions/quarry-1/quarry boom/burst/")
    assert (answer.status_code, answer.json()["code"]) == (404, "not_found")
