"""Moves of a panel's controls as the page sends them."""

from tapkit.panels.state import Pick, Tick
from tapkit.parameters import Parameter


def slide(controls, key, position):
    controls.hear({"key": key, "position": position, "from": ["test", 1]})


def type_in(controls, key, text):
    controls.hear({"key": key, "text": text, "from": ["test", 1]})


def any_move(controls, key, rng):
    one, item = controls._by_key[key], controls.shown["items"][key]
    if isinstance(one, Parameter):
        slide(controls, key, rng.randint(0, item["count"]))
    elif isinstance(one, Pick):
        controls.hear({"key": key, "pick": rng.randrange(len(one.pairs)), "from": ["test", 1]})
    elif isinstance(one, Tick):
        controls.hear({"key": key, "tick": rng.random() < 0.5, "from": ["test", 1]})
