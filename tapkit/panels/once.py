"""A message is heard once: a page whose line was cut says again what no answer came to (`line.js`), heard or not."""

from collections import OrderedDict
from collections.abc import Callable
from typing import Any

KEPT = 5000
"""Numbers of messages that are remembered; a page holds far fewer without an answer."""


def heard_once(hear: Callable[..., Any]) -> Callable[..., Any]:
    """A handler `hear(stream, ident, message)` that lets a message pass whose number came before."""
    seen: OrderedDict[str, None] = OrderedDict()

    def once(stream: Any, ident: Any, message: dict[str, Any]) -> Any:
        number = message["header"]["msg_id"]
        if number in seen:
            return None
        seen[number] = None
        if len(seen) > KEPT:
            seen.popitem(last=False)
        return hear(stream, ident, message)

    return once


def hear_once() -> None:
    """Let this kernel, where there is one, hear each message of the page once."""
    from IPython import get_ipython

    handlers = getattr(getattr(get_ipython(), "kernel", None), "shell_handlers", {})
    hear = handlers.get("comm_msg")
    if hear is not None and not getattr(hear, "is_once", False):
        once = handlers["comm_msg"] = heard_once(hear)
        once.is_once = True
