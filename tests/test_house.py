"""The house keeps its own rules: format, lint, layers, clean notebooks, seven names at the top, sources in tables."""

import ast
import collections
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tapkit import tables

ROOT = Path(__file__).parents[1]
TOP = {"pyproject.toml", "README.md", "DEVELOPERS.md", "workbooks", "tapkit", "tests", "figures"}
MODULES = sorted((ROOT / "tapkit").rglob("*.py"))


def run(*command):
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=300)


def tool(name):
    return shutil.which(name, path=str(Path(sys.executable).parent)) or name


@pytest.mark.parametrize("command", [("check",), ("format", "--check")], ids=" ".join)
def test_ruff(command):
    done = run(sys.executable, "-m", "ruff", *command, ".")
    assert done.returncode == 0, done.stdout + done.stderr


def test_layers_are_kept():
    done = run(tool("lint-imports"))
    assert done.returncode == 0, done.stdout + done.stderr


def test_only_the_door_knows_pint():
    for path in MODULES:
        imports = re.findall(r"^\s*(?:import|from)\s+pint\b", path.read_text(encoding="utf-8"), re.MULTILINE)
        assert not imports or path.name == "door.py", path


def test_nothing_touches_pyplot():
    for path in MODULES:
        assert not re.search(r"^\s*(import|from) .*\bpyplot\b", path.read_text(encoding="utf-8"), re.MULTILINE), path


def test_notebooks_hold_no_outputs():
    books = [str(p) for p in (ROOT / "workbooks").glob("*.ipynb")]
    done = run(tool("nbstripout"), "--verify", *books)
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_top_level_holds_seven_names():
    listed = run("git", "ls-files")
    if listed.returncode:
        pytest.skip("not a git checkout")
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert {name for name in top if not name.startswith(".")} == TOP


@pytest.mark.parametrize("name", tables.names())
def test_every_row_of_every_table_names_its_source(name):
    assert all(row["source"].strip() for row in tables.rows(name))


def test_modules_and_functions_stay_small():
    for path in MODULES:
        text = path.read_text(encoding="utf-8")
        assert len(text.splitlines()) <= 450, path
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef):
                assert node.end_lineno - node.lineno < 60, f"{path}:{node.lineno}"


def test_public_functions_say_what_they_do():
    for path in MODULES:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        assert ast.get_docstring(tree), path
        for node in tree.body:
            made = [ast.unparse(d) for d in getattr(node, "decorator_list", ())]
            is_exercise = any(d.startswith("exercise(") for d in made)
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_") and not is_exercise:
                assert ast.get_docstring(node), f"{path}:{node.lineno} {node.name}"


def public(path, kinds):
    """Public names that a module defines: classes and names of types, or functions but exercises."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    made = [
        n for n in tree.body if isinstance(n, kinds) and not any("exercise(" in ast.unparse(d) for d in decorators(n))
    ]
    names = [n.name if not isinstance(n, ast.Assign) else ast.unparse(n.targets[0]) for n in made]
    return [name for name in names if name[0] != "_" and not name.isupper()]


def decorators(node):
    return getattr(node, "decorator_list", ())


def more_than(most, things):
    return {name: n for name, n in collections.Counter(things).items() if n > most}


TYPES = (ast.ClassDef, ast.Assign)
FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)
PANELS = ROOT / "tapkit" / "panels"
OF_A_PANEL = {"spec", "model_from", "controls", "draw", "update", "describe", "details"}
"""What every panel has under the same name, as its `PanelSpec` asks for them."""
COMMANDS_HAVE = {"configure", "run", "main"}
"""What every command has."""
READ_AND_SAID = {"length", "angle"}
"""Kinds of quantity: `door.length` reads one, `messages.length` says it."""


def offered():
    """What `tapkit.panels` offers to workbooks: a panel is called, and its module named, for what it shows."""
    return {name.asname or name.name for node in ast.parse((PANELS / "__init__.py").read_text()).body
            if isinstance(node, ast.ImportFrom) for name in node.names}  # fmt: skip


def test_no_two_public_classes_or_types_have_one_name():
    assert more_than(1, [name for path in MODULES for name in public(path, TYPES)]) == {}


def test_no_two_public_functions_have_one_name():
    """An exercise is named for the quantity it asks for, a function of the agreement for the one it holds beside ours."""
    names = []
    for path in MODULES:
        own = OF_A_PANEL | offered() if path.is_relative_to(PANELS) else set()
        own = own | (READ_AND_SAID if path.name == "messages.py" else set())
        names += [name for name in public(path, FUNCTIONS) if name not in own | COMMANDS_HAVE]
    assert more_than(1, names) == {}


def test_no_two_modules_have_one_name():
    """But a panel and what it shows."""
    shown = {path.name for path in PANELS.glob("*.py")}
    names = [path.name for path in MODULES if path.name != "__init__.py" and path.parent != PANELS]
    assert more_than(1, names) == {}
    assert more_than(2, [*names, *shown]) == {}


def test_what_an_installed_tapkit_needs_beside_its_code_is_there():
    given = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]["data-files"]
    assert [pattern for patterns in given.values() for pattern in patterns if not list(ROOT.glob(pattern))] == []
    assert "share/tapkit/workbooks" in given


def test_import_is_light():
    """`import tapkit` brings numpy, and neither pictures nor widgets nor pint."""
    code = "import sys, tapkit; print([m for m in ('matplotlib', 'ipywidgets', 'pint', 'IPython') if m in sys.modules])"
    assert run(sys.executable, "-c", code).stdout.strip() == "[]"


def test_import_time():
    """0.3 s beyond numpy on a quiet machine, where numpy itself takes 0.1 s; on a busy one three times numpy."""
    code = (
        "import time; a = time.perf_counter(); import numpy; b = time.perf_counter(); import tapkit; "
        "c = time.perf_counter(); print(b - a, c - b)"
    )
    times = [tuple(map(float, run(sys.executable, "-c", code).stdout.split())) for _ in range(3)]
    assert any(own < max(0.3, 3 * numpy) for numpy, own in times)


WALKS = ["flute form", "metal", "lesson", "exercise", "parameter", "language", "thread standard", "panel"]
"""What the guide must show how to add."""


def walks():
    """What is added, and what the guide says to touch for it."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    part = text[text.index("## Eight walks") :].split("\n## ")[0]
    rows = [line.strip("| ").split(" | ") for line in part.splitlines() if line.startswith("| ")]
    return {row[0]: row[1] for row in rows[1:]}


def test_the_guide_walks_to_eight_new_things_in_at_most_three_places():
    assert list(walks()) == WALKS
    for name, touched in walks().items():
        assert 1 <= touched.count(";") + 1 <= 3, name


def test_what_the_guide_names_is_there():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = set(re.findall(r"(?<![\w/…])((?:tapkit|tests|workbooks)/[\w/-]+(?:\.\w+|/))", text)) - {
        "workbooks/LANGUAGE/"
    }
    assert len(named) > 40
    assert [name for name in sorted(named) if not (ROOT / name).exists()] == []


def test_the_guide_names_every_module_and_folder_of_the_package():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    parts = [p.name for p in (ROOT / "tapkit").iterdir() if p.name[0] not in "_." and p.suffix in (".py", "")]
    assert [name for name in sorted(parts) if name not in text] == []


INSIDE = {
    "nbclient": {"nbclientinternals.py"},
    "jupyterhub": {"spawner.py", "singleuser.py", "authenticator.py"},
    "jupyter_server": {"live.py", "prefork.py", "work.py"},
    "jupyterlab": {"server.py"},
}
"""Packages whose inside is used, and the modules that may know them."""


def test_the_inside_of_packages_is_used_in_few_modules_and_bounded():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [*project["dependencies"], *project["optional-dependencies"]["hub"]]
    for package, allowed in INSIDE.items():
        own = re.compile(rf"^\s*(?:import|from)\s+{package}\b", re.MULTILINE)
        assert {path.name for path in MODULES if own.search(path.read_text(encoding="utf-8"))} == allowed
        assert [w for w in wanted if re.match(rf"{package}\b.*<\d", w)], package


def foreign_privates(path):
    """Private names that a module takes from things it does not define itself."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    own = {n.name for n in ast.walk(tree) if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)}
    stored = [n for n in ast.walk(tree) if isinstance(getattr(n, "ctx", None), ast.Store)]
    own |= {n.id for n in stored if isinstance(n, ast.Name)}
    own |= {n.attr for n in stored if isinstance(n, ast.Attribute) and ast.unparse(n.value) == "self"}
    used = {n.attr for n in ast.walk(tree) if isinstance(n, ast.Attribute) and ast.unparse(n.value) != "self"}
    return {name for name in used - own if name.startswith("_") and not name.startswith("__")}


def test_private_names_of_packages_are_used_only_where_it_is_said():
    allowed = {"_replace", "_asdict", "_fields", "_exit", "_"}  # named tuples, os._exit, messages
    inside = {"matplotlibinternals.py": {"_renderer"}, "door.py": {"_is_multiplicative"}}
    inside["singleuser.py"] = {"_can_keep_alive"}
    for path in MODULES:
        assert foreign_privates(path) <= allowed | inside.get(path.name, set()), path
