"""How JupyterLab looks and behaves around the workbooks."""

import os
import secrets
import shutil
from pathlib import Path
from typing import Any

PAPER = {
    "exclude_input": True,
    "exclude_input_prompt": True,
    "exclude_output_prompt": True,
    "exclude_anchor_links": True,
    "require_js_url": "",
    "mathjax_url": "",
    "jquery_url": "",
    "widget_renderer_url": "",
    "preprocessors": ["tapkit.launch.handout.OnPaper"],
    "filters": {"clean_html": "tapkit.launch.safehtml.clean_html"},
}
"""Of the exporter to HTML, for File › Export and for handouts: no code, nothing fetched, no widgets that would need a
kernel."""

LAB = Path(__file__).parent / "lab"
"""Files given to JupyterLab: settings and style."""

PAGE = "open-workbooks.html"
"""Page in the learner's folder that leads the browser to the running workbooks; gone when they are stopped."""

KEYS = "@jupyterlab/shortcuts-extension/shortcuts.jupyterlab-settings"
"""Where JupyterLab reads a person's own keys."""

LOG = "server.log"
"""What the server has to say, in the hidden folder, of the last start only."""

KERNEL_IMPORTS = "import ipywidgets, matplotlib.figure, matplotlib.backends.backend_agg, tapkit.panels"
"""What a kernel may load before a workbook asks for it."""


def environment(state: Path) -> dict[str, str]:
    """Environment of JupyterLab: settings kept apart from the user's own, kernels of this very Python.

    To be set before JupyterLab is imported.
    """
    return {
        "JUPYTER_CONFIG_DIR": str(state / "jupyter"),
        "JUPYTERLAB_SETTINGS_DIR": str(state / "jupyter" / "settings"),
        "JUPYTERLAB_WORKSPACES_DIR": str(state / "jupyter" / "workspaces"),
        "JUPYTER_PREFER_ENV_PATH": "1",
        "JUPYTER_PLATFORM_DIRS": "1",
        "IPYTHONDIR": str(state / "ipython"),
        "PYTHONSAFEPATH": "1",
        "TAPKIT_FOLDER": str(state.parent),
    }


def lay_out(state: Path) -> None:
    """Put the settings and the style where JupyterLab looks for them."""
    for folder, file in (("custom", "custom.css"), ("labconfig", "page_config.json")):
        place = state / "jupyter" / folder
        place.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(LAB / file, place / file)
    keys = state / "jupyter" / "settings" / KEYS
    if not keys.exists():  # off: keys that change the document, as a letter typed beside a box would
        keys.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(LAB / "keys.json", keys)
    profile = state / "ipython" / "profile_default"
    profile.mkdir(parents=True, exist_ok=True)
    # The terminal is the learner's; what lies beside a workbook is never taken for a module.
    told = 'c = get_config()\nc.IPKernelApp.log_level = "ERROR"\nc.InteractiveShellApp.ignore_cwd = True\n'
    (profile / "ipython_kernel_config.py").write_text(told, encoding="utf-8")


def server_config(folder: Path, state: Path, *, port: int = 8888, token: str | None = None) -> dict[str, Any]:
    """Configuration of the server, by class; also for a classroom's server (no port or token is needed there)."""
    return {
        "ServerApp": {
            "root_dir": str(folder),
            "port": port,
            "port_retries": 200,
            "open_browser": False,
            "allow_root": _is_root(),
            "answer_yes": True,
            "quit_button": True,
            "terminals_enabled": False,
            "contents_manager_class": "tapkit.launch.live.LiveContents",
            "jpserver_extensions": {"jupyterlab": True},
        },
        "ContentsManager": {"hide_globs": ["__pycache__", "*.pyc", "*~", "*.part", PAGE]},
        "IdentityProvider": {"token": token or secrets.token_hex(24)},
        "ZMQChannelsWebsocketConnection": {"iopub_data_rate_limit": 1e8, "iopub_msg_rate_limit": 1e5},
        "NotebookNotary": {"db_file": str(state / "signatures.db"), "secret_file": str(state / "secret")},
        "HTMLExporter": dict(PAPER),
        "KernelManager": {"shutdown_wait_time": 2.0, "transport_encryption": encryption()},
        "LabApp": {
            "app_settings_dir": str(LAB / "settings"),
            "custom_css": True,
            "news_url": None,
            "check_for_updates_class": "jupyterlab.NeverCheckForUpdate",
            "extension_manager": "readonly",
        },
    }


def encryption() -> str:
    """Keep the kernels' messages from other users of the machine, where the message library can."""
    import zmq

    return "auto" if zmq.has("curve") else "disabled"


def _is_root() -> bool:
    return hasattr(os, "geteuid") and os.geteuid() == 0
