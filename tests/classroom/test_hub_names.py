"""A hub with names: everyone's server has an origin of its own, so that a learner's page has nobody else's rights."""

import json
import socket

import hubmachine
import pytest
from hubclient import Person

pytestmark = [pytest.mark.browser, pytest.mark.timeout(600)]

PORT, HOST = 18620, "class.localhost"

SERVE = """
import os, socket, threading
page = {page!r}.encode()
place = os.environ["TAPKIT_SOCKET"]
os.unlink(place)
line = socket.socket(socket.AF_UNIX)
line.bind(place); os.chmod(place, 0o660); line.listen(64)
def serve():
    while True:
        one, _ = line.accept()
        one.recv(65536)
        head = "HTTP/1.1 200 OK\\r\\nContent-Type: text/html\\r\\nConnection: close\\r\\nContent-Length: "
        one.sendall(head.encode() + str(len(page)).encode() + b"\\r\\n\\r\\n" + page)
        one.close()
threading.Thread(target=serve, daemon=True).start()
print("listening")
"""
"""What a learner's kernel can do: put a server of its own in the place of the learner's server."""

PAGE = """<!doctype html><title>wait</title><body><script>
const said = {}, hub = HUB, instructor = INSTRUCTOR;
async function tried(name, attack) {
  try { said[name] = String(await attack()); } catch (error) { said[name] = "refused"; }
}
const text = async (url) => (await fetch(url, {credentials: "include"})).text();
async function framed(url) {
  const frame = document.body.appendChild(document.createElement("iframe"));
  const loaded = new Promise((done) => frame.addEventListener("load", done));
  frame.src = url;
  await loaded;
  return frame.contentDocument.cookie + frame.contentDocument.title;
}
(async () => {
  await tried("users", () => text(hub + "/hub/api/users"));
  await tried("home", () => text(hub + "/hub/home"));
  await tried("files", () => text(instructor + "/user/instructor/api/contents"));
  await tried("frame", () => framed(hub + "/hub/home"));
  await tried("lab", () => framed(instructor + "/user/instructor/lab"));
  document.title = JSON.stringify(said);
})();
</script>"""


@pytest.fixture(scope="module")
def machine():
    """A hub on this machine by a name; names below "localhost" lead to the loopback (RFC 6761), in Python's clients
    they are led there here."""
    hubmachine.needed()
    with pytest.MonkeyPatch.context() as patch:
        asked = socket.getaddrinfo
        local = lambda host, *rest, **more: asked("127.0.0.1" if str(host).endswith(HOST) else host, *rest, **more)  # noqa: E731
        patch.setattr(socket, "getaddrinfo", local)
        one = hubmachine.Machine(PORT, "--host", HOST)
        one.url = f"http://{HOST}:{PORT}"
        try:
            yield one.start()
        finally:
            one.clear()


def person(machine, id):
    one = Person(machine.url, id)
    one.home = f"http://{id}.{HOST}:{PORT}/user/{id}"
    assert one.sign_in(machine.slips()[id], machine.password(id)) == ""
    one.open_server()
    return one


def test_a_learners_page_in_the_instructors_browser_reaches_nothing(machine, chromium):
    person(machine, "instructor")
    kai = person(machine, "kai")
    kernel = kai.connect(kai.start_kernel())
    assert kernel.run("import tapkit; print(tapkit.Tap.parse('M10 plug').chamfer_threads)").strip() == "4.0"
    page = chromium.new_context().new_page()
    page.goto(f"{machine.url}/hub/login?next=/hub/home")
    page.fill("#username_input", "instructor")
    page.fill("#password_input", machine.password("instructor"))
    page.click("#login_submit")
    page.wait_for_url("**/hub/home")
    page.goto(f"http://instructor.{HOST}:{PORT}/user/instructor/lab")
    page.wait_for_url(f"http://instructor.{HOST}:{PORT}/user/instructor/**")
    own = f"http://instructor.{HOST}:{PORT}"
    evil = PAGE.replace("HUB", json.dumps(machine.url)).replace("INSTRUCTOR", json.dumps(own))
    assert kernel.run(SERVE.format(page=evil)) == "listening\n"
    page.goto(f"{kai.home}/doc/tree/01.ipynb")
    page.wait_for_function("() => document.title !== 'wait'")
    assert json.loads(page.title()) == dict.fromkeys(("users", "home", "files", "frame", "lab"), "refused")
    page.context.close()
