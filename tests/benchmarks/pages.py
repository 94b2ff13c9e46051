"""How long each page takes under load at two sizes of fleet, how often it asks the database, what it weighs.

    python -m tests.benchmarks.pages FOLDER [--sizes 1000,100000] [--each 40] [--rate 10] [--without PAGES]

For each size a fleet is invented, read and planned in a PostgreSQL of FOLDER (with 100,000 installed
assemblies that took 40 minutes on two busy cores; a second run finds it there). Then gunicorn serves it with
eight workers, and every list and detail page and the sign-in page is asked for `--each` times, in rounds of
random order, at moments that are set beforehand: who comes does not wait for who came before. The time of a
page runs from its moment to its last byte. Pages of one thing ask for up to twenty different ones.

    queries    the most that one of three addresses of the page took (aim: 12)
    p95_ms     95th percentile with the largest fleet
    to_sign_in that as a multiple of the sign-in page's in the same run (aim: 5)
    to_small   the same page's p95 with the largest fleet over that with the smallest (aim: 2)
    kb         what travels, compressed, with style sheets and scripts (aim: 60, with charts 450)

A burst and what may stand in are judged anew each time, for half a second or so, and whoever comes meanwhile
shares the processors with that. `--without burst,stand_ins,worn_stand_ins` shows the others by themselves.

Times of a busy machine say little; its load average stands beside them.
"""

import argparse
import contextlib
import gzip
import http.client
import json
import os
import random
import re
import subprocess
import sys
import time
from collections import defaultdict
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pandas as pd

from tests import servers

from .page_fleets import MEMBER, fleet_addresses, furnish_fleet, make_fleet, manage

WORKERS = 8  # as README serves them
MOST_AT_ONCE = 200  # requests under way; an open load must never wait for one to be free
SEED = 1
LINKED = re.compile(r'(?:href|src)="(/static/[^"]+)"')
SIGN_IN = "sign_in"
AIMS = {"queries": 12, "to_sign_in": 5, "to_small": 2}


def served_environment(url: str, broker: str, folder: Path) -> dict[str, str]:
    """What a server of the fleet needs: not a development server, over plain HTTP on this machine."""
    own = {name: value for name, value in os.environ.items() if name != "DEBUG"}
    services = {"DATABASE_URL": url, "REDIS_URL": broker, "VAR_DIR": str(folder / "var")}
    served = {"SECRET_KEY": "b" * 60, "ALLOWED_HOSTS": "127.0.0.1,testserver", "PLAIN_HTTP": "1"}
    return own | services | served | {"DJANGO_SETTINGS_MODULE": "fleet.settings"}


@contextlib.contextmanager
def serving() -> Iterator[int]:
    """The port on which gunicorn serves the fleet of this process's environment."""
    port = servers.free_port()
    command = [sys.executable, "-m", "gunicorn", "--preload", "--workers", str(WORKERS), "--timeout", "900"]
    command += ["--bind", f"127.0.0.1:{port}", "--log-level", "warning", "fleet.wsgi"]
    server = subprocess.Popen(command, stdout=sys.stderr)
    try:
        give_up = time.monotonic() + 60
        while True:
            try:
                ask(port, "/sign-in/", "")
                break
            except OSError:
                if server.poll() is not None or time.monotonic() > give_up:
                    raise
                time.sleep(0.2)
        yield port
    finally:
        server.terminate()
        server.wait(timeout=30)


def ask(port: int, address: str, cookie: str) -> tuple[int, bytes, bool]:
    """Status, body as it travelled, and whether that is compressed."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
    try:
        connection.request("GET", address, headers={"Cookie": cookie, "Accept-Encoding": "gzip"})
        answer = connection.getresponse()
        return answer.status, answer.read(), answer.getheader("Content-Encoding") == "gzip"
    finally:
        connection.close()


def count_queries(addresses: dict[str, list[str]], client) -> dict[str, int]:
    """The most queries that one of the first three addresses of each page takes."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    most: dict[str, int] = defaultdict(int)
    for name, of_page in addresses.items():
        if name == SIGN_IN:  # it leads on who is signed in
            continue
        for address in of_page[:3]:
            with CaptureQueriesContext(connection) as queries:
                client.get(address)
            most[name] = max(most[name], len(queries))
    return most


def weigh(port: int, addresses: dict[str, list[str]], cookie: str) -> dict[str, dict]:
    """The heaviest of the first three addresses of each page in kB, and whether it draws charts."""
    known: dict[str, int] = {}
    weights: dict[str, dict] = {}
    for name, of_page in addresses.items():
        weights[name] = {"kb": 0.0, "charts": False}
        for address in of_page[:3]:
            status, body, packed = ask(port, address, "" if name == SIGN_IN else cookie)
            if status != 200:
                raise RuntimeError(f"{address} answered {status}")
            text = (gzip.decompress(body) if packed else body).decode()
            linked = set(LINKED.findall(text))
            for one in linked - known.keys():
                known[one] = len(ask(port, one, "")[1])
            kb = (len(body) + sum(known[one] for one in linked)) / 1000
            if kb > weights[name]["kb"]:
                weights[name] = {"kb": kb, "charts": any("echarts" in one for one in linked)}
    return weights


def load(
    port: int, addresses: dict[str, list[str]], cookie: str, each: int, rate: float
) -> dict[str, list[float]]:
    """The seconds that each request of a page took from the moment it was set for."""
    rng = random.Random(SEED)
    order = [name for _ in range(each) for name in rng.sample(sorted(addresses), len(addresses))]
    asked: dict[str, int] = defaultdict(int)
    took: dict[str, list[float]] = defaultdict(list)
    began = time.monotonic() + 1

    def fetch(name: str, address: str, moment: float) -> None:
        status = ask(port, address, "" if name == SIGN_IN else cookie)[0]
        took[name].append(time.monotonic() - moment)
        if status != 200:
            raise RuntimeError(f"{address} answered {status}")

    with ThreadPoolExecutor(MOST_AT_ONCE) as threads:
        under_way = []
        for number, name in enumerate(order):
            moment = began + number / rate
            time.sleep(max(moment - time.monotonic(), 0))
            address = addresses[name][asked[name] % len(addresses[name])]
            asked[name] += 1
            under_way.append(threads.submit(fetch, name, address, moment))
        for one in under_way:
            one.result()
    return took


def measure(each: int, rate: float, without: set[str]) -> dict[str, dict]:
    """What was measured of each page, by its name, with the fleet of this process's environment."""
    import django

    django.setup()
    from django.test import Client

    from fleet.models import User

    furnish_fleet()
    addresses = {name: of_page for name, of_page in fleet_addresses().items() if name not in without}
    empty = [name for name, of_page in addresses.items() if not of_page]
    if empty:
        raise RuntimeError(f"The fleet has nothing to show on {', '.join(empty)}")
    client = Client()
    client.force_login(User.objects.get(username=MEMBER))
    cookie = "; ".join(f"{name}={morsel.value}" for name, morsel in client.cookies.items())
    queries = count_queries(addresses, client)
    with serving() as port:
        for of_page in addresses.values():  # each worker has its code and templates before it is timed
            for address in of_page[:WORKERS]:
                ask(port, address, cookie)
        weights = weigh(port, addresses, cookie)
        before = os.getloadavg()[0]
        took = load(port, addresses, cookie, each, rate)
    print(f"Load average {before:.1f} before, {os.getloadavg()[0]:.1f} after", file=sys.stderr)
    return {
        name: {
            "queries": queries.get(name),
            "p50_ms": 1000 * float(np.median(took[name])),
            "p95_ms": 1000 * float(np.quantile(took[name], 0.95)),
            **weights[name],
        }
        for name in addresses
    }


def report(measured: dict[int, dict[str, dict]]) -> pd.DataFrame:
    """One row per page; `over` says which aims it misses."""
    small, large = (
        pd.DataFrame.from_dict(measured[size], orient="index") for size in (min(measured), max(measured))
    )
    told = large.assign(
        p95_small=small["p95_ms"],
        to_sign_in=large["p95_ms"] / large.loc[SIGN_IN, "p95_ms"],
        to_small=large["p95_ms"] / small["p95_ms"],
    )
    over = pd.DataFrame({name: told[name] > most for name, most in AIMS.items()})
    over["kb"] = told["kb"] > np.where(told["charts"].astype(bool), 450, 60)
    told["over"] = [" ".join(over.columns[row]) for row in over.to_numpy()]
    return told[
        ["queries", "p50_ms", "p95_ms", "p95_small", "to_sign_in", "to_small", "kb", "charts", "over"]
    ]


def main() -> None:
    asked = argparse.ArgumentParser(description="Pages under load at two sizes of fleet.")
    asked.add_argument("folder", type=Path)
    asked.add_argument("--sizes", default="1000,100000")
    asked.add_argument("--each", type=int, default=40, help="how often each page is asked for")
    asked.add_argument("--rate", type=float, default=10.0, help="requests a second")
    asked.add_argument("--without", default="", help="names of pages that are not asked for")
    asked.add_argument("--one", action="store_true", help=argparse.SUPPRESS)
    given = asked.parse_args()
    if given.one:
        print(json.dumps(measure(given.each, given.rate, set(given.without.split(",")))))
        return
    folder = given.folder.resolve()
    folder.mkdir(parents=True, exist_ok=True)
    measured = {}
    with servers.postgresql(folder / "server") as server, servers.valkey() as broker:
        for size in map(int, given.sizes.split(",")):
            environment = served_environment(make_fleet(server, folder, size), broker, folder)
            manage(environment, "migrate", "--verbosity", "0")
            manage(environment, "collectstatic", "--noinput", "--verbosity", "0")
            command = [sys.executable, "-m", "tests.benchmarks.pages", str(folder), "--one"]
            command += ["--each", str(given.each), "--rate", str(given.rate), "--without", given.without]
            said = subprocess.run(command, env=environment, stdout=subprocess.PIPE, check=True)
            measured[size] = json.loads(said.stdout)
    print(report(measured).sort_values("p95_ms", ascending=False).round(1).to_string())


if __name__ == "__main__":
    main()
