"""A person at a browser, as far as a hub can tell: signs in, opens a server, runs code on kernels of it."""

import contextlib
import json
import queue
import re
import threading
import time
import uuid
from urllib.parse import quote

import requests
import websocket
from opening import SECONDS


class Person:
    """One session of one person at the hub at `url`."""

    def __init__(self, url: str, id: str, verify: bool | str = True, home: str = "") -> None:
        self.url, self.id, self.home = url, id, f"{home or url}/user/{id}"
        self.lines: list[Kernel] = []
        self.web = requests.Session()
        self.web.verify, self.web.trust_env = verify, False  # no proxy and no certificates but those given
        self.web.headers["Sec-Fetch-Mode"] = "navigate"

    # --- signing in ---

    def sign_in(self, password: str, chosen: str = "", repeated: str | None = None) -> str:
        """The sentence shown where it fails, "" where it works."""
        self.web.get(f"{self.url}/hub/login", timeout=SECONDS)
        form = dict(
            username=self.id, password=password, chosen=chosen, repeated=chosen if repeated is None else repeated
        )
        token = self.web.cookies.get("_xsrf", path="/hub/")
        answer = self.web.post(
            f"{self.url}/hub/login?next=/hub/home",
            data={**form, "_xsrf": token},
            timeout=SECONDS,
            allow_redirects=False,
        )
        if answer.status_code == 302:
            return ""
        found = re.search(r'class="login_error">([^<]*)<', answer.text)
        return found[1].strip() if found else f"status {answer.status_code}"

    def open_server(self, seconds: float = SECONDS) -> float:
        """Start the server and sign in to it; the seconds it took."""
        start = time.monotonic()
        self.web.get(f"{self.url}/hub/spawn/{self.id}", timeout=SECONDS)
        while time.monotonic() - start < seconds:
            answer = self.web.get(f"{self.home}/lab", timeout=SECONDS)
            if answer.ok and answer.url.startswith(self.home):
                return time.monotonic() - start
            if answer.status_code == 424:  # the hub has only now seen that the server before had ended
                self.web.get(f"{self.url}/hub/spawn/{self.id}", timeout=SECONDS)
            time.sleep(0.3)
        raise TimeoutError(f"the server of {self.id} did not start in {seconds} s: {answer.status_code} {answer.url}")

    # --- the server's interface ---

    def api(self, method: str, path: str, **more) -> requests.Response:
        tokens = [c.value for c in self.web.cookies if c.name == "_xsrf" and c.path.startswith(f"/user/{self.id}")]
        headers = {"X-XSRFToken": tokens[-1] if tokens else "", "Sec-Fetch-Mode": "cors"}
        return self.web.request(method, f"{self.home}/api/{path}", headers=headers, **{"timeout": SECONDS, **more})

    def read(self, path: str, **more) -> requests.Response:
        return self.api("GET", f"contents/{quote(path)}", **more)

    def write(self, path: str, text: str) -> requests.Response:
        return self.api("PUT", f"contents/{quote(path)}", json=dict(type="file", format="text", content=text))

    def start_kernel(self) -> str:
        answer = self.api("POST", "kernels", json=dict(name="python3"))
        answer.raise_for_status()
        return answer.json()["id"]

    def connect(self, kernel: str, session: str | None = None) -> "Kernel":
        self.lines.append(Kernel(self, kernel, session))
        return self.lines[-1]


class Kernel:
    """A connection to one kernel, as JupyterLab makes it."""

    def __init__(self, person: Person, kernel: str, session: str | None = None, at: str = "") -> None:
        self.person, self.id, self.session = person, kernel, session or uuid.uuid4().hex
        cookies = "; ".join(
            f"{c.name}={c.value}" for c in person.web.cookies if person.home.endswith(c.path.rstrip("/"))
        )
        address = (at or person.home).replace(
            "http", "ws", 1
        ) + f"/api/kernels/{kernel}/channels?session_id={self.session}"
        known = {"ca_certs": person.web.verify} if isinstance(person.web.verify, str) else {}
        origin = person.home.partition("/user/")[0]
        self.socket = websocket.create_connection(address, timeout=SECONDS, cookie=cookies, origin=origin, sslopt=known)
        self.socket.settimeout(None)
        self.heard: queue.Queue[bytes | str | None] = queue.Queue()
        threading.Thread(target=self._listen, daemon=True).start()

    def send(self, kind: str, content: dict, channel: str = "shell") -> str:
        number = uuid.uuid4().hex
        header = dict(msg_id=number, msg_type=kind, username="", session=self.session, version="5.3", date="")
        self.socket.send(
            json.dumps(dict(header=header, parent_header={}, metadata={}, content=content, channel=channel, buffers=[]))
        )
        return number

    def _listen(self) -> None:
        """Hear all the time: a server closes the line of one who does not answer its pings."""
        with contextlib.suppress(websocket.WebSocketException, OSError):
            while data := self.socket.recv():
                self.heard.put(data)
        self.heard.put(None)

    def receive(self, seconds: float = SECONDS) -> dict:
        """The next message, without its buffers. Raises TimeoutError, or ConnectionError where the line is cut."""
        try:
            data = self.heard.get(timeout=seconds)
        except queue.Empty:
            raise TimeoutError(f"no message in {seconds:.0f} s") from None
        if data is None:
            self.heard.put(None)
            raise ConnectionError("the line to the kernel was cut")
        if isinstance(data, bytes):
            count = int.from_bytes(data[:4], "big")
            ends = [int.from_bytes(data[4 * i + 4 : 4 * i + 8], "big") for i in range(count)] + [len(data)]
            data = data[ends[0] : ends[1]].decode()
        return json.loads(data)

    def run(self, code: str, seconds: float = SECONDS) -> str:
        """What the code prints, or its error; returns when the kernel is idle again."""
        number = self.send(
            "execute_request",
            dict(code=code, silent=False, store_history=False, user_expressions={}, allow_stdin=False),
        )
        said, end = [], time.monotonic() + seconds
        while time.monotonic() < end:
            message = self.receive(max(end - time.monotonic(), 0.1))
            if message["parent_header"].get("msg_id") != number:
                continue
            content = message["content"]
            if message["msg_type"] == "stream":
                said.append(content["text"])
            elif message["msg_type"] == "error":
                said.append(f"{content['ename']}: {content['evalue']}")
            elif message["msg_type"] == "status" and content["execution_state"] == "idle":
                return "".join(said)
        raise TimeoutError(f"the kernel did not finish in {seconds} s")

    def drain(self) -> None:
        """Throw away whatever has come in."""
        with contextlib.suppress(queue.Empty):
            while True:
                self.heard.get_nowait()

    def close(self) -> None:
        """Cut the line at once, where it is not cut already."""
        with contextlib.suppress(OSError, AttributeError):
            self.socket.sock.shutdown(2)
