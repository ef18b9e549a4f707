"""A hub with names: everyone's server has an origin of its own, so that a learner's page has nobody else's rights."""

import json
import socket

import hubmachine
import pytest
from evilpage import SERVE, evil
from test_hub_soak import soak

pytestmark = [pytest.mark.browser, pytest.mark.timeout(600)]

PORT, HOST = 18620, "class.localhost"


@pytest.fixture(scope="module")
def machine():
    """A hub on this machine by a name; names below "localhost" lead to the loopback (RFC 6761), in Python's clients
    they are led there here."""
    with pytest.MonkeyPatch.context() as patch:
        asked = socket.getaddrinfo
        local = lambda host, *rest, **more: asked("127.0.0.1" if str(host).endswith(HOST) else host, *rest, **more)  # noqa: E731
        patch.setattr(socket, "getaddrinfo", local)
        one = hubmachine.Machine(PORT, "--host", HOST)
        one.url, one.host = f"http://{HOST}:{PORT}", HOST
        with one:
            yield one


def test_a_learners_page_in_the_instructors_browser_reaches_nothing(machine, chromium):
    machine.comes("instructor")
    kai = machine.comes("kai")
    kernel = kai.connect(kai.start_kernel())
    assert kernel.run("import tapkit; print(tapkit.Tap.parse('M10 plug').chamfer_threads)").strip() == "4.0"
    page = machine.browsed(chromium, "instructor", "/hub/home")
    page.wait_for_url("**/hub/home")
    page.goto(f"http://instructor.{HOST}:{PORT}/user/instructor/lab")
    page.wait_for_url(f"http://instructor.{HOST}:{PORT}/user/instructor/**")
    own = f"http://instructor.{HOST}:{PORT}"
    assert kernel.run(SERVE.format(page=evil(machine.url, own))) == "listening\n"
    page.goto(f"{kai.home}/doc/tree/01.ipynb")
    page.wait_for_function("() => document.title !== 'wait'")
    assert json.loads(page.title()) == dict.fromkeys(("users", "home", "files", "frame", "lab"), "refused")
    page.context.close()


def test_learners_at_work_lose_nothing_and_memory_stays_flat(machine):
    soak(machine, ["lea", "noa"], 0.15, 1.0)
