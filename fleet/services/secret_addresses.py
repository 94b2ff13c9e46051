"""Secrets in addresses that answer whoever has them: long, shown once, and kept as a digest alone."""

import hashlib
import secrets

SECRET_BYTES = 24


def new_secret() -> str:
    """A secret that nobody guesses, as it may stand in an address."""
    return secrets.token_urlsafe(SECRET_BYTES)


def digest_of(secret: str) -> str:
    """What is stored of the secret, and by which it is known again."""
    return hashlib.sha256(secret.encode()).hexdigest()
