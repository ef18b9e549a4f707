"""A line to a server that can be cut: a forwarder of TCP, for the tests."""

import contextlib
import select
import socket
import threading


class Line:
    """Passes everything on to a port of this machine. `cut`: lines are closed and none is taken. `deaf`: what the server
    says is thrown away. `mute`: what the page says is thrown away. `heal`: all is as before, on new lines."""

    def __init__(self, port):
        self._to, self._how = port, ""
        self._listens = socket.create_server(("127.0.0.1", 0))
        self.port = self._listens.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    def cut(self):
        self._how = "cut"

    def deaf(self):
        self._how = "deaf"

    def mute(self):
        self._how = "mute"

    def heal(self):
        self._how = ""

    def close(self):
        self.cut()
        self._listens.close()

    def _accept(self):
        with contextlib.suppress(OSError):
            while True:
                page, _ = self._listens.accept()
                if self._how == "cut":
                    page.close()
                    continue
                threading.Thread(target=self._pass_on, args=(page,), daemon=True).start()

    def _pass_on(self, page):
        with contextlib.suppress(OSError), page, socket.create_connection(("127.0.0.1", self._to)) as server:
            while self._how != "cut":
                for one in select.select((page, server), (), (), 0.1)[0]:
                    data = one.recv(2**16)
                    if not data:
                        return
                    if self._how != ("mute" if one is page else "deaf"):
                        (server if one is page else page).sendall(data)
