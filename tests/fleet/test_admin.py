"""The service's own staff see every noun with its history, and cannot rewrite what a job did."""

import pytest
from django.contrib import admin
from django.test import Client

from fleet.models import FolderReading, Organization, Plan, Site, User
from fleet.models.organizations import Owned


@pytest.fixture
def staff(db) -> Client:
    client = Client()
    client.force_login(
        User.objects.create_superuser("root"), backend="django.contrib.auth.backends.ModelBackend"
    )
    return client


@pytest.fixture
def gravel(db) -> Organization:
    return Organization.objects.create(name="Gravel Works", slug="gravel-works")


def test_every_noun_of_the_register_is_there():
    assert [noun.__name__ for noun in Owned.__subclasses__() if noun not in admin.site._registry] == []


@pytest.mark.parametrize("model", sorted(admin.site._registry, key=lambda one: one.__name__))
def test_each_list_opens(model, staff):
    assert staff.get(f"/admin/{model._meta.app_label}/{model._meta.model_name}/").status_code == 200


def test_a_row_shows_who_changed_it(staff, gravel):
    site = Site.objects.create(organization=gravel, key="yard")

    staff.post(
        f"/admin/fleet/site/{site.pk}/change/", {"organization": gravel.pk, "key": "yard", "name": "Yard"}
    )

    history = site.history.first()
    assert (history.name, history.history_user.username) == ("Yard", "root")
    assert staff.get(f"/admin/fleet/site/{site.pk}/history/").status_code == 200


@pytest.mark.parametrize("model", [Plan, FolderReading])
def test_what_a_job_did_is_looked_at_and_never_edited(model, staff, gravel):
    done = model.objects.create(organization=gravel, **({"as_of": "2024-01-01"} if model is Plan else {}))
    address = f"/admin/fleet/{model._meta.model_name}/{done.pk}/change/"

    assert staff.get(address).status_code == 200
    assert staff.post(address, {"state": "failed"}).status_code == 403
