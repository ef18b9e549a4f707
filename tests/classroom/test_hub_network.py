"""A hub on the room's network: with a certificate made here, everything goes encrypted, in a real browser too."""

import socket

import hubmachine
import pytest
import requests
from opening import SECONDS
from realbrowser import settled

pytestmark = [pytest.mark.browser, pytest.mark.timeout(600)]


def own_address() -> str:
    """This machine's address in its network, or the local one where it has none; nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # RFC 5737: an address nobody has
            return probe.getsockname()[0]
        except OSError:
            return "127.0.0.1"


@pytest.fixture(scope="module")
def machine():
    address = own_address()
    one = hubmachine.Machine(18660, "--address", address, "--self-signed")
    one.url, one.verify = f"https://{address}:18660", str(one.folder / "tls" / "cert.pem")
    with one:
        yield one


@pytest.fixture(scope="module")
def kai(machine):
    return machine.comes("kai")


def test_one_who_trusts_the_certificate_signs_in_and_works(kai):
    kernel = kai.connect(kai.start_kernel())
    assert kernel.run("import tapkit; print(tapkit.Tap.parse('M10 plug').chamfer_threads)").strip() == "4.0"
    assert all(cookie.secure for cookie in kai.web.cookies if "hub" in cookie.name or "user" in cookie.name)


def test_one_who_does_not_is_warned_and_nothing_is_open_in_plain(machine):
    with pytest.raises(requests.exceptions.SSLError):
        requests.get(f"{machine.url}/hub/login", timeout=SECONDS)
    with pytest.raises(requests.exceptions.ConnectionError):
        requests.get(f"{machine.url.replace('https', 'http')}/hub/login", timeout=SECONDS)


def test_in_a_browser_a_slider_moves_its_picture(machine, kai, chromium):
    book = "/user/kai/doc/tree/03-the-load-on-each-tooth.ipynb"
    page = machine.browsed(chromium, "kai", book, ignore_https_errors=True)
    panel = page.locator(".tapkit-panel").first
    panel.locator("img.tapkit-picture").wait_for()
    settled(page)
    before = panel.locator(".tapkit-sentence").inner_text()
    panel.get_by_role("slider", name="Chamfer length").focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_function(
        "before => document.querySelector('.tapkit-panel .tapkit-sentence').innerText !== before", arg=before
    )
    page.context.close()
