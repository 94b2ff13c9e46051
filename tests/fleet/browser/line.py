"""The line between a browser and the service, which a test cuts and mends.

A browser that is told to be without a connection says so to each of its pages by itself, and forgets it while
a page is closed. A line that is cut carries nothing, whoever asks.
"""

import contextlib
import socket
import threading
from urllib.parse import urlsplit


class Line:
    """Carries bytes between a port of its own, at `url`, and the service's until it is cut."""

    def __init__(self, service_url: str) -> None:
        service = urlsplit(service_url)
        self._service = service.hostname, service.port
        self._listening = socket.create_server(("localhost", 0))
        self.url = f"http://localhost:{self._listening.getsockname()[1]}"
        self._lock = threading.Lock()
        self._is_cut = False
        self._ends: list[socket.socket] = []
        threading.Thread(target=self._accept, daemon=True).start()

    def cut(self) -> None:
        """Ends what is under way; whoever asks from here on is hung up on."""
        with self._lock:
            self._is_cut = True
            for end in self._ends:
                _hang_up(end)
            self._ends.clear()

    def mend(self) -> None:
        with self._lock:
            self._is_cut = False

    def close(self) -> None:
        self.cut()
        _hang_up(self._listening)

    def _accept(self) -> None:
        while True:
            try:
                browser = self._listening.accept()[0]
            except OSError:  # closed
                return
            self._connect(browser)

    def _connect(self, browser: socket.socket) -> None:
        try:
            service = socket.create_connection(self._service)
        except OSError:
            _hang_up(browser)
            return
        with self._lock:
            if self._is_cut:
                _hang_up(browser)
                _hang_up(service)
                return
            self._ends += [browser, service]
        for one, other in ((browser, service), (service, browser)):
            threading.Thread(target=_carry, args=(one, other), daemon=True).start()


def _carry(one: socket.socket, other: socket.socket) -> None:
    with contextlib.suppress(OSError):  # hung up
        while heard := one.recv(65536):
            other.sendall(heard)
    _hang_up(other)


def _hang_up(end: socket.socket) -> None:
    with contextlib.suppress(OSError):  # the other side was first
        end.shutdown(socket.SHUT_RDWR)
    end.close()
