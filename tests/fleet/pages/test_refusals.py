"""What is answered to a request that Django itself refuses before any page sees it."""

from django.conf import settings
from django.urls import reverse

TOO_LONG = "a" * (settings.DATA_UPLOAD_MAX_MEMORY_SIZE + 1)


def test_a_form_with_too_much_in_it_says_how_much_a_form_may_hold(client, db):
    answer = client.post(reverse("sign_in"), {"username": TOO_LONG, "password": "x"})
    assert answer.status_code == 400
    assert "more than 20 MB in its fields" in answer.content.decode()


def test_a_name_that_the_service_does_not_answer_to_says_who_adds_it(client, settings):
    settings.ALLOWED_HOSTS = ["fleet.example"]
    answer = client.get("/", headers={"host": "elsewhere.example"})
    assert answer.status_code == 400
    assert "whoever runs it adds that name to ALLOWED_HOSTS" in answer.content.decode()


def test_the_api_says_how_much_a_request_may_hold(client, db):
    answer = client.post("/api/v1/sign-in/", {"username": TOO_LONG}, content_type="application/json")
    assert (answer.status_code, answer.json()["code"]) == (413, "too_much_sent")
    assert "20 MB" in answer.json()["text"]
