"""JupyterLab's settings: every name in them is one JupyterLab knows."""

import json
from pathlib import Path

import pytest
from jupyterlab.commands import get_app_dir
from jupyterlab.labapp import LabApp

from tapkit.launch import settings

SCHEMAS = Path(get_app_dir()) / "schemas"
WIDGETS = Path(get_app_dir()).parent / "labextensions" / "@jupyter-widgets" / "jupyterlab-manager" / "schemas"
OVERRIDES = json.loads((settings.LAB / "settings" / "overrides.json").read_text(encoding="utf-8"))


def schema(plugin):
    package, name = plugin.split(":")
    for place in (SCHEMAS, WIDGETS):
        file = place / package / f"{name}.json"
        if file.exists():
            return json.loads(file.read_text(encoding="utf-8"))
    pytest.fail(f"no schema of {plugin}")


@pytest.mark.parametrize("plugin", sorted(OVERRIDES))
def test_overrides_name_settings_that_exist(plugin):
    known = schema(plugin)["properties"]
    for name, value in OVERRIDES[plugin].items():
        assert name in known
        if "enum" in known[name]:
            assert value in known[name]["enum"]
        if "oneOf" in known[name]:
            assert value in [one["const"] for one in known[name]["oneOf"]]


def test_no_news_no_updates_no_questions(tmp_path):
    config = settings.server_config(tmp_path, tmp_path / ".tapkit")
    assert config["LabApp"]["news_url"] is None
    assert config["LabApp"]["check_for_updates_class"].endswith("NeverCheckForUpdate")
    assert OVERRIDES["@jupyterlab/apputils-extension:notification"]["fetchNews"] == "false"
    assert set(config["LabApp"]) <= set(LabApp.class_trait_names(config=True))


def test_every_start_has_its_own_token(tmp_path):
    tokens = {settings.server_config(tmp_path, tmp_path)["IdentityProvider"]["token"] for _ in range(3)}
    assert len(tokens) == 3
    assert all(len(t) >= 32 for t in tokens)


def test_files_for_jupyterlab_are_laid_out(tmp_path):
    settings.lay_out(tmp_path)
    assert (tmp_path / "jupyter" / "custom" / "custom.css").stat().st_size > 100
    page = json.loads((tmp_path / "jupyter" / "labconfig" / "page_config.json").read_text(encoding="utf-8"))
    assert page["disabledExtensions"]["@jupyterlab/apputils-extension:announcements"]
