"""Slider moves sent to a real kernel faster than it can draw: stale ones are dropped, the last one is drawn."""

import time

import pytest
from jupyter_client.manager import start_new_kernel
from opening import soon

CODE = """
from tapkit import panels
from tapkit.panels import stage
stage.REST_SECONDS = 3600
panel = panels.load()
controls = panel.controls
"""
"""However busy the machine is, no fine picture comes between the moves."""
SECONDS = 60


@pytest.fixture(scope="module")
def kernel():
    manager, client = start_new_kernel(kernel_name="python3")
    try:
        client.execute_interactive(CODE, timeout=SECONDS)
        yield client
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)


def ask(client, expression):
    reply = client.execute_interactive(
        "", user_expressions={"it": expression}, timeout=SECONDS, output_hook=lambda message: None
    )
    found = reply["content"]["user_expressions"]["it"]
    assert found["status"] == "ok", found
    return eval(found["data"]["text/plain"], {})


def shown(client):
    """The chamfer of the controls and of the model, and whether the picture's words are those of the panel."""
    return ask(
        client,
        "(controls.values.chamfer, panel.model.tap.chamfer_threads, panel.stage.widget.tooltip == panel.sentence)",
    )


def move(client, comm, value):
    move = {"key": "chamfer", "position": round((value - 1) / 0.25), "from": ["test", 1]}
    content = {"comm_id": comm, "data": {"method": "custom", "content": move}}
    client.shell_channel.send(client.session.msg("comm_msg", content))


def test_a_burst_of_fifty_moves(kernel):
    comm = ask(kernel, "controls.comm.comm_id")
    before = ask(kernel, "panel.stage.pictures")
    values = [1 + 0.25 * (5 * k % 37) for k in range(50)]
    assert values[-1] != ask(kernel, "controls.values.chamfer"), "else a burst taken as one move has nothing to draw"
    for value in values:
        move(kernel, comm, value)
    last = values[-1]
    assert soon(lambda: shown(kernel), lambda found: found == (last, last, True)) == (last, last, True)
    drawn = ask(kernel, "panel.stage.pictures") - before
    assert 1 <= drawn <= 25, f"{drawn} pictures for 50 moves in one burst"


def test_moves_as_slow_as_a_hand_are_all_drawn(kernel):
    comm = ask(kernel, "controls.comm.comm_id")
    before = ask(kernel, "panel.stage.pictures")
    for k in range(8):
        value = 2 + 0.25 * k
        move(kernel, comm, value)
        assert soon(lambda: shown(kernel), lambda found, value=value: found == (value, value, True))[0] == value
    assert ask(kernel, "panel.stage.pictures") - before == 8


def test_at_rest_the_picture_is_made_fine_once(kernel):
    comm = ask(kernel, "controls.comm.comm_id")
    before = ask(kernel, "(setattr(stage, 'REST_SECONDS', 0.5), panel.stage.pictures)[1]")
    move(kernel, comm, 5)
    width = "int.from_bytes(bytes(panel.stage.widget.value)[16:20], 'big') / panel.stage.size[0]"
    assert soon(lambda: ask(kernel, width), lambda times: times == 2) == 2
    time.sleep(1.0)  # no third picture comes after it
    assert ask(kernel, "panel.stage.pictures") == before + 2
