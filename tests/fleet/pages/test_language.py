"""Another language reaches pages, refusals of services, the findings of a folder and answers of the API."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.template import TemplateSyntaxError, engines
from django.urls import reverse
from django.utils import translation

from fleet.exchange.findings import Findings
from fleet.exchange.pasting import read_pasted
from fleet.models import RemovalCause
from fleet.services.errors import FolderRefused
from fleet.services.plans.age_rules import NoSuchAgeRule, choose_age_rule
from tests.fleet.catalogues import LANGUAGE, write_catalogue

SENTENCES = {
    "There is no age rule %(rule)s. Choose one of: %(rules)s.": "Uno de %(rules)s, no %(rule)s.",
    "%(fault)s. Send one .zip or .xlsx, or several .csv files named as a fleet folder's.": "Zip! %(fault)s.",
    "You sent %(names)s": "Venis %(names)s",
    "The first line names no known column.": "Nenia kolumno.",
    "There is no plan yet. Ask for one with POST /api/v1/plans/.": "Nenia plano.",
    "Found worn": "Eluzita",
    "%(n)s error\0%(n)s errors": "%(n)s eraro\0%(n)s eraroj",
}


@pytest.fixture(autouse=True)
def catalogue(settings, tmp_path):
    settings.LOCALE_PATHS = [write_catalogue(tmp_path / "locale", SENTENCES)]
    settings.LANGUAGES = [("en", "English"), (LANGUAGE, "Made up")]


def test_a_refusal_is_told_in_the_language_that_is_active(gravel):
    def refused() -> str:
        with pytest.raises(NoSuchAgeRule) as refusal:
            choose_age_rule(organization=gravel, user=None, rule="ours")
        return str(refusal.value)

    with translation.override(LANGUAGE):
        told = refused()
    assert told.startswith("Uno de ") and told.endswith(", no ours.")
    assert refused().startswith("There is no age rule ours. Choose one of: ")


def test_what_is_wrong_in_rows_and_the_words_of_choices_are_told_in_it():
    findings = Findings()
    with translation.override(LANGUAGE):
        read_pasted("what\tis\tthis", findings)
        assert RemovalCause.WORN.label == "Eluzita"
    assert [one.wrong for one in findings.listed()] == ["Nenia kolumno."]
    assert str(RemovalCause.WORN.label) == "Found worn"


def test_how_many_there_are_is_told_in_its_own_plural():
    with translation.override(LANGUAGE):
        assert str(FolderRefused(errors=1, findings=[])).startswith("1 eraro ")
        assert str(FolderRefused(errors=2, findings=[])).startswith("2 eraroj ")


def test_a_page_is_read_in_the_language_that_a_browser_asks_for(gravel, member_of):
    client = member_of(gravel)
    client.defaults["HTTP_ACCEPT_LANGUAGE"] = LANGUAGE
    sent = {"folder": [SimpleUploadedFile("fleet.pdf", b"%PDF")]}
    told = client.post(reverse("send_folder", args=[gravel.slug]), sent).content.decode()
    assert "Zip! Venis fleet.pdf." in told
    assert f'<html lang="{LANGUAGE}"' in told


def test_the_api_answers_in_it(gravel, member_of):
    answer = member_of(gravel).get("/api/v1/plan/margins/", headers={"accept-language": LANGUAGE})
    assert answer.json()["text"] == "Nenia plano."


def test_a_word_of_every_row_is_asked_for_once_a_page_in_the_language_of_each(monkeypatch):
    asked = []
    monkeypatch.setattr(
        "fleet.templatetags.tables.render_value_in_context",
        lambda words, _: asked.append(str(words)) or asked[-1],
    )
    rows = engines["django"].from_string(
        '{% load tables %}{% for _ in "ab" %}{% once _("Found worn") %} {% endfor %}'
    )
    assert rows.render() == "Found worn Found worn "
    with translation.override(LANGUAGE):
        assert rows.render() == "Eluzita Eluzita "
    assert asked == ["Found worn", "Eluzita"]


@pytest.mark.parametrize("words", ["row", '"Found worn"', '_("Found worn")|lower', '_("5 % off")'])
def test_only_words_to_be_translated_are_asked_for_once(words):
    with pytest.raises(TemplateSyntaxError):
        engines["django"].from_string("{% load tables %}{% once " + words + " %}")
