"""The addresses of the pages leave room for those of everything else."""

from django.urls import get_resolver

from fleet.models.organizations import RESERVED_SLUGS


def test_no_organization_gets_a_slug_under_which_something_else_answers():
    first_pieces = {str(one.pattern).partition("/")[0] for one in get_resolver().url_patterns}
    pages = next(one for one in get_resolver().url_patterns if not str(one.pattern))
    first_pieces |= {str(one.pattern).partition("/")[0] for one in pages.url_patterns}
    assert {piece for piece in first_pieces if piece and "<" not in piece} <= RESERVED_SLUGS
