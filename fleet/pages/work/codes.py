"""Addresses as QR codes, drawn by a template without a style of its own."""

from dataclasses import dataclass
from itertools import groupby
from urllib.parse import urljoin

import segno
from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse

QUIET = 4  # modules of white around it, as ISO/IEC 18004 asks


@dataclass(frozen=True, slots=True)
class Code:
    """A QR code: `path` draws its dark modules into a square of `size` modules."""

    size: int
    path: str


def code_of(text: str) -> Code:
    """The text as a QR code of error level M, or Q where that takes no more room: a tag gets scratched."""
    rows = [bytes(row) for row in segno.make(text, error="m", micro=False).matrix_iter(border=QUIET)]
    drawn = []
    for y, row in enumerate(rows):
        x = 0
        for dark, run in groupby(row):
            width = len(list(run))
            if dark:
                drawn.append(f"M{x} {y}h{width}v1h-{width}z")
            x += width
    return Code(len(rows), "".join(drawn))


def tag_address(request: HttpRequest, slug: str, key: str) -> str:
    """Where the assembly's tag leads to: at the origin that the settings name, else at the request's own."""
    path = reverse("tag", args=[slug, key])
    return urljoin(settings.TAG_ORIGIN, path) if settings.TAG_ORIGIN else request.build_absolute_uri(path)
