"""Several people who act at one moment, each on a connection of their own."""

import threading
from collections.abc import Callable
from typing import Any

from django.db import connections

from fleet.services.errors import ServiceError


def at_once(*acts: Callable[[], Any]) -> list:
    """What each of the acts gave, or the code of what refused it, in the order in which they ended."""
    together, came = threading.Barrier(len(acts)), []

    def one_person(act: Callable[[], Any]) -> None:
        together.wait()
        try:
            came.append(act())
        except ServiceError as refusal:
            came.append(refusal.code)
        finally:
            connections.close_all()

    people = [threading.Thread(target=one_person, args=[act]) for act in acts]
    for person in people:
        person.start()
    for person in people:
        person.join()
    return came
