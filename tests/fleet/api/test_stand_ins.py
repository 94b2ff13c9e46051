"""A program asks what may stand in."""


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
