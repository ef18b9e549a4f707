"""The line between the proxy and a server, a Unix socket: a page never gets 503 in place of a server's answer."""

import os
import socket
import subprocess
import sys

import pytest

pytestmark = pytest.mark.skipif(os.name == "nt", reason="the sockets are those of POSIX")

ASKED = b"POST /x HTTP/1.1\r\nHost: x\r\nConnection: close\r\nContent-Length: 2\r\n\r\n{}"

SERVE = """
import asyncio, sys
from tornado import httpserver, netutil, web
from tapkit.classroom.singleuser import let_the_proxy_close
class Handler(web.RequestHandler):
    def post(self):
        self.write({"size": len(self.request.body)})
async def main():
    server = httpserver.HTTPServer(web.Application([("/.*", Handler)]))
    if sys.argv[2] == "mended":
        let_the_proxy_close(server)
    server.add_socket(netutil.bind_unix_socket(sys.argv[1]))
    print("listening", flush=True)
    await asyncio.Event().wait()
asyncio.run(main())
"""


@pytest.fixture(params=["as it comes", "mended"])
def server(tmp_path, request):
    """A small server on a socket, Tornado's own as it comes or mended; the socket's path, and which it is."""
    place = tmp_path / "server.sock"
    running = subprocess.Popen([sys.executable, "-c", SERVE, str(place), request.param], stdout=subprocess.PIPE)
    try:
        assert running.stdout.readline() == b"listening\n"
        yield place, request.param
    finally:
        running.kill()
        running.communicate()


def test_a_server_that_has_answered_leaves_the_line_to_the_one_who_asked(server):
    place, how = server
    with socket.socket(socket.AF_UNIX) as line:
        line.settimeout(60)
        line.connect(str(place))
        line.sendall(ASKED)
        said = b""
        while b'{"size": 2}' not in said:
            said += line.recv(65536)
        if how == "mended":
            line.send(b"")  # what Node.js does after every body
            line.sendall(ASKED)
            assert b"200 OK" in line.recv(65536)
        else:
            assert line.recv(1) == b""
            with pytest.raises(BrokenPipeError):
                line.send(b"")
