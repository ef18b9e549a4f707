"""Slider moves sent to a real kernel faster than it can draw: stale ones are dropped, the last one is drawn."""

import time

import pytest
from jupyter_client.manager import start_new_kernel

CODE = """
from tapkit import panels
panel = panels.load()
controls = panel.controls
"""
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
    time.sleep(0.4)
    assert ask(kernel, "(controls.values.chamfer, panel.model.tap.chamfer_threads)") == (last, last)
    drawn = ask(kernel, "panel.stage.pictures") - before
    assert 1 <= drawn <= 12, f"{drawn} pictures for 50 moves in one burst"
    assert ask(kernel, "panel.stage.widget.tooltip == panel.sentence")


def test_moves_as_slow_as_a_hand_are_all_drawn(kernel):
    comm = ask(kernel, "controls.comm.comm_id")
    before = ask(kernel, "panel.stage.pictures")
    for k in range(8):
        move(kernel, comm, 2 + 0.25 * k)
        time.sleep(0.12)
    assert ask(kernel, "panel.stage.pictures") - before == 8


def test_at_rest_the_picture_is_made_fine_once(kernel):
    comm = ask(kernel, "controls.comm.comm_id")
    move(kernel, comm, 5)
    time.sleep(0.1)
    before = ask(kernel, "panel.stage.pictures")
    time.sleep(1.2)
    assert ask(kernel, "panel.stage.pictures") == before + 1
    width = ask(kernel, "int.from_bytes(bytes(panel.stage.widget.value)[16:20], 'big')")
    assert width == 2 * ask(kernel, "panel.stage.size[0]")
