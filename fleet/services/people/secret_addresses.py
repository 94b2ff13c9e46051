"""Secrets in addresses that answer whoever has them: long, shown once, and kept as a digest alone."""

import hashlib
import logging
import re
import secrets

SECRET_BYTES = 24
# What follows any of the names goes, spelt as the address is or not; so does the number of an invitation or
# calendar in an organization's own pages, which a log can do without.
_IN_AN_ADDRESS = re.compile(r"(/(?:invitations|calendars|new-passwords/[^\s/?\"']+)/)[^\s/?\"']+")


def new_secret() -> str:
    """A secret that nobody guesses, as it may stand in an address."""
    return secrets.token_urlsafe(SECRET_BYTES)


def digest_of(secret: str) -> str:
    """What is stored of the secret, and by which it is known again."""
    return hashlib.sha256(secret.encode()).hexdigest()


class WithoutSecrets(logging.Filter):
    """Takes the secret out of an address that is logged, as a refused password or a wrong address is.

    Whoever reads a log could else use an invitation that is still open.
    """

    def filter(self, record: logging.LogRecord) -> bool:
        told, hidden = _IN_AN_ADDRESS.subn(r"\1…", record.getMessage())
        if hidden:
            record.msg, record.args = told, ()
        return True
