"""The sheets on paper: black, one assembly on each page of A4 and of Letter, in a real browser."""

import pytest
from django.urls import reverse

from fleet.models import CrimpSpec, DesignPart, Part

from .pictures import keep_picture

pytestmark = pytest.mark.browser


@pytest.fixture
def sheets(gravel):
    """The addresses of the sheets of a kit of eight assemblies that lacks nothing, and of its stop."""
    own = {"organization": gravel}
    Part.objects.filter(key="E-08").update(cutoff_mm=44.45, insertion_depth_mm=28, rated_pressure_bar=400)
    Part.objects.filter(key="H-2SN-08").update(rated_pressure_bar=350)
    first = DesignPart.objects.get()
    DesignPart.objects.create(**own, design=first.design, place="b", part=first.part, quantity=1)
    CrimpSpec.objects.update(die="die 20")
    names = {"build_sheet": ["K-M-01"], "changeout": ["M-01", "C-M-01"], "stand_ins": ["M-01", "boom 1"]}
    return {name: reverse(name, args=[gravel.slug, *keys]) for name, keys in names.items()}


def pages_of(page, size: str) -> int:
    return page.pdf(format=size, prefer_css_page_size=False).count(b"/Type /Page\n")


def test_each_assembly_has_a_page_of_its_own_on_either_paper(sheets, open_pages):
    page = open_pages(viewport={"width": 760, "height": 1000}, color_scheme="dark")
    page.emulate_media(media="print")
    for name, count in (("build_sheet", 8), ("changeout", 2)):
        page.goto(sheets[name])
        keep_picture(page, f"{name}-print")
        assert page.evaluate("getComputedStyle(document.body).color") == "rgb(0, 0, 0)"
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
        assert not page.locator("nav, form").locator("visible=true").count(), name
        assert [pages_of(page, size) for size in ("A4", "Letter")] == [count] * 2, name
