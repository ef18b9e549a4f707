"""The line between the proxy and a server, a Unix socket: a page never gets 503 in place of a server's answer."""

import os
import socket
import subprocess
import sys
from urllib.parse import quote

import hubmachine
import psutil
import pytest
import requests
from opening import soon

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


def test_behind_a_busy_proxy_every_answer_arrives(server):
    """Proxy and server on one processor, the proxy the less urgent: there more than half came as 503 before."""
    place, how = server
    if how != "mended":
        pytest.skip("so it comes from Tornado, see above")
    hubmachine.needed()
    with socket.socket() as one, socket.socket() as other:
        one.bind(("127.0.0.1", 0))
        other.bind(("127.0.0.1", 0))
        port, inside = one.getsockname()[1], other.getsockname()[1]
    target = f"http+unix://{quote(str(place), safe='')}"
    command = [hubmachine.proxy(), "--port", str(port), "--api-port", str(inside), "--default-target", target]
    proxy = subprocess.Popen(["nice", "-n", "10", *command], stdout=subprocess.DEVNULL)
    try:
        core = min(os.sched_getaffinity(0))
        for process in psutil.process_iter(["cmdline"]):
            if str(place) in (process.info["cmdline"] or ()) or process.pid == proxy.pid:
                process.cpu_affinity([core])
        with requests.Session() as web:
            web.trust_env = False
            assert soon(lambda: status(web, port), lambda told: told != 0, seconds=60) == 200
            assert [status(web, port) for _turn in range(150)] == [200] * 150
    finally:
        proxy.kill()
        proxy.wait()


def status(web, port):
    """The status of one answer, 0 where the proxy does not listen yet."""
    try:
        return web.post(f"http://127.0.0.1:{port}/x", json={"a": 1}, timeout=60).status_code
    except requests.ConnectionError:
        return 0
