"""The cache that REDIS_URL names. What is kept there can be reckoned anew, so no page and no job needs it."""

import logging
from typing import Any

from django.core.cache.backends.base import DEFAULT_TIMEOUT
from django.core.cache.backends.redis import RedisCache
from redis.exceptions import RedisError

log = logging.getLogger(__name__)


class DispensableCache(RedisCache):
    """Where its server does not answer, nothing is found in it and nothing kept."""

    def get(self, key: str, default: Any = None, version: int | None = None) -> Any:
        try:
            return super().get(key, default, version)
        except RedisError as error:
            log.warning("%s was not looked up: %s", key, error)
            return default

    def set(self, key: str, value: Any, timeout: Any = DEFAULT_TIMEOUT, version: int | None = None) -> None:
        try:
            super().set(key, value, timeout, version)
        except RedisError as error:
            log.warning("%s was not kept: %s", key, error)
