"""The guide's part on Kubernetes, as far as it can be tried without a cluster: its values are read from the page, its
hook is run, KubeSpawner writes the pods, and a server with the mounts of such a pod is worked at and marked."""

import asyncio
import csv
import re
import shutil
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from unittest.mock import Mock

import pytest

if sys.platform != "linux":
    pytest.skip("the hub is for Linux", allow_module_level=True)

import hubmachine
import kubespawner
import podlike
import yaml
from hubclient import Person

from tapkit.classroom import folder, seeds
from tapkit.launch.workspace import originals

GUIDE = Path(__file__).parents[2] / "DEVELOPERS.md"
SEED = "7226910263714427"
PORT = 18740


@pytest.fixture(scope="module")
def values():
    return yaml.safe_load(re.search(r"```yaml\n(.+?)```", GUIDE.read_text(encoding="utf-8"), re.DOTALL)[1])


CLUSTER = """
apiVersion: v1
kind: Config
current-context: none
contexts: [{name: none, context: {cluster: none, user: none}}]
clusters: [{name: none, cluster: {server: "http://127.0.0.1:1"}}]
users: [{name: none, user: {}}]
"""
"""A cluster that is not there: the spawner wants to know of one before it writes a pod."""


@pytest.fixture
def hook(values, monkeypatch, tmp_path):
    """The hub's part of the values, run as the chart's hub runs it: the hook it sets."""
    monkeypatch.setenv("TAPKIT_CLASS_SEED", SEED)
    (tmp_path / "cluster").write_text(CLUSTER)
    monkeypatch.setattr("kubernetes_asyncio.config.kube_config.KUBE_CONFIG_DEFAULT_LOCATION", str(tmp_path / "cluster"))
    config = Mock()
    exec(values["hub"]["extraConfig"]["tapkit"], {"c": config})
    return config.Spawner.pre_spawn_hook


def pod(values, hook, name):
    """The pod that KubeSpawner asks a cluster for, as a dict of the cluster's own names."""
    given = values["singleuser"]
    user = Mock(escaped_name=name, url=f"/user/{name}/")
    user.name = name
    with ThreadPoolExecutor(1) as beside:  # a browser's loop may be running in this thread
        return beside.submit(lambda: asyncio.run(written(given, hook, user))).result()


async def written(given, hook, user):
    spawner = kubespawner.KubeSpawner(
        hub=Mock(api_url="http://hub:8081/hub/api", base_url="/hub/", public_host=""),
        user=user,
        api_token="token",
        oauth_client_id="client",
        image=f"{given['image']['name']}:{given['image']['tag']}",
        cmd=given["cmd"],
        uid=given["uid"],
        fs_gid=given["fsGid"],
        mem_limit=given["memory"]["limit"],
        mem_guarantee=given["memory"]["guarantee"],
        cpu_guarantee=given["cpu"]["guarantee"],
        start_timeout=given["startTimeout"],
    )
    hook(spawner)
    return (await spawner.get_pod_manifest()).to_dict()["spec"]


def test_a_learners_pod_holds_the_own_folders_and_nothing_of_others(values, hook):
    spec = pod(values, hook, "kai")
    server = spec["containers"][0]
    mounts = {m["mount_path"]: (m["sub_path"], bool(m["read_only"])) for m in server["volume_mounts"]}
    assert mounts == {
        "/srv/tapkit": ("learners/kai", False),
        "/class/room": ("room", True),
        "/class/room/answers": (None, False),
        "/class/room/answers/kai": ("room/answers/kai", False),
    }
    kinds = {v["name"]: [k for k, held in v.items() if held is not None and k != "name"] for v in spec["volumes"]}
    hiding = next(m for m in server["volume_mounts"] if m["mount_path"] == "/class/room/answers")
    assert kinds[hiding["name"]] == ["empty_dir"]
    env = {e["name"]: e["value"] for e in server["env"]}
    assert env["TAPKIT_SEED"] == str(seeds.learner_seed(SEED, "kai"))
    assert env["TAPKIT_CLASS_NAME"] == seeds.class_code(SEED)
    assert SEED not in str(spec)
    assert server["args"] == ["python", "-m", "tapkit.classroom.singleuser"]
    assert server["security_context"]["runAsUser"] == podlike.USER
    assert server["resources"]["limits"]["memory"] == 2**30


def test_an_instructors_pod_holds_the_class(values, hook):
    server = pod(values, hook, "teacher")["containers"][0]
    assert {m["mount_path"]: m["sub_path"] for m in server["volume_mounts"]} == {"/class": None}
    env = {e["name"]: e["value"] for e in server["env"]}
    assert "TAPKIT_LEARNER" not in env
    assert env["HOME"] == "/class/instructors/teacher"


# --- servers with such mounts, in a real hub ------------------------------------------------------------------

CONFIG = """
import sys
sys.path.insert(0, {tests!r})
exec({part!r})
PLACES.update(originals={originals!r}, **{{"class": {inside!r} + "/class", "home": {inside!r} + "/home"}})
c.JupyterHub.spawner_class = "podlike.PodSpawner"
c.PodSpawner.volume = {volume!r}
c.PodSpawner.cmd = {cmd!r}
c.Spawner.http_timeout = {http_timeout!r}
c.JupyterHub.authenticator_class = "dummy"
c.DummyAuthenticator.password = "a-test-password"
c.Authenticator.allowed_users = set({users!r})
c.JupyterHub.bind_url = "http://127.0.0.1:{port}"
c.JupyterHub.hub_bind_url = "http://127.0.0.1:{hub}"
c.ConfigurableHTTPProxy.api_url = "http://127.0.0.1:{api}"
c.ConfigurableHTTPProxy.command = [{proxy!r}]
c.ConfigurableHTTPProxy.pid_file = {top!r} + "/proxy.pid"
c.JupyterHub.db_url = "sqlite:///" + {top!r} + "/hub.sqlite"
c.JupyterHub.cookie_secret_file = {top!r} + "/cookie"
"""


def lay_out(top):
    """The shared volume as the guide lays it out, and the image's workbooks."""
    volume, image = top / "volume", top / "image"
    for place in ("originals", "room/answers", "key", "marks", "learners", "instructors/teacher"):
        (volume / place).mkdir(parents=True)
    for id in ("kai", "lea"):
        (volume / "learners" / id).mkdir()
        (volume / "room" / "answers" / id).mkdir()
    image.mkdir()
    for name, path in originals().items():
        shutil.copy(path, volume / "originals" / name)
        if not name.startswith(folder.FOR_INSTRUCTORS):
            shutil.copy(path, image / name)
    (volume / "room" / "answers" / "lea" / "000001.json").write_text("{}")
    (volume / "key" / "roster.csv").write_text("id,name\nkai,Kai Moor\nlea,Lea Ruß\n", encoding="utf-8")
    (volume / "key" / "seed.txt").write_text(SEED)
    subprocess.run(["chown", "-R", f"{podlike.USER}:100", volume], check=True)
    return volume, image


class Pods(hubmachine.Machine):
    """A machine whose hub is that of the guide."""

    def command(self, *more):
        config = ["-m", "jupyterhub", "-f", str(self.top / "config.py"), "--log-level=WARN"]
        return [*hubmachine.reachable(), sys.executable, *config]


@pytest.fixture(scope="module")
def cluster(values):
    one = Pods(PORT)
    volume, image = lay_out(one.top)
    (one.top / "inside").mkdir()
    (one.top / "config.py").write_text(
        CONFIG.format(
            tests=str(Path(__file__).parent),
            part=values["hub"]["extraConfig"]["tapkit"],
            cmd=[sys.executable, *values["singleuser"]["cmd"][1:]],
            http_timeout=values["hub"]["config"]["Spawner"]["http_timeout"],
            users=values["hub"]["config"]["Authenticator"]["allowed_users"],
            originals=str(image),
            inside=str(one.top / "inside"),
            volume=str(volume),
            proxy=hubmachine.proxy(),
            top=str(one.top),
            port=PORT,
            api=PORT + 1,
            hub=PORT + 2,
        ),
        encoding="utf-8",
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TAPKIT_CLASS_SEED", SEED)
        with one:
            yield volume


def at_work(name):
    """Somebody signed in, with a kernel."""
    person = Person(f"http://127.0.0.1:{PORT}", name)
    assert person.sign_in("a-test-password") == ""
    person.open_server()
    return person, person.connect(person.start_kernel())


LOOK = """
import os
from pathlib import Path
room, class_ = Path(os.environ["TAPKIT_ROOM"]), Path(os.environ["TAPKIT_CLASS"])
print(os.getuid(), sorted(p.name for p in class_.iterdir()), os.listdir(room / "answers"), Path(os.environ["HOME"], "workbooks", "class-book.ipynb").exists())
try:
    (room / "question.json").write_text("{}")
except OSError as error:
    print(error.strerror)
print([k for k in os.environ if "CLASS_SEED" in k])
"""
ANSWER = """
import warnings; warnings.simplefilter("ignore")
from tapkit import panels
quiz = panels.quiz("chamfer-length")
quiz.answer_box.fill("6 mm")
quiz.check()
print(quiz.saved.saved)
"""
MARK = """
import os, subprocess, sys
done = subprocess.run([sys.executable, "-m", "tapkit", "marks", "--class", os.environ["TAPKIT_CLASS"], "--set", "all"],
                      capture_output=True, text=True)
print(done.stdout, done.stderr)
"""


def test_a_server_with_a_pods_mounts_is_worked_at_and_marked(cluster):
    kai, kernel = at_work("kai")
    names = {c["name"] for c in kai.read("").json()["content"]}
    assert "03-the-load-on-each-tooth.ipynb" in names
    assert kernel.run(LOOK).splitlines() == [f"{podlike.USER} ['room'] ['kai'] False", "Read-only file system", "[]"]
    assert kernel.run(ANSWER).strip() == "True"
    kernel.close()
    assert (cluster / "learners" / "kai" / "records" / "answers-kai.jsonl").exists()
    teacher, kernel = at_work("teacher")
    assert {"originals", "marks", "key"} <= {c["name"] for c in teacher.read("").json()["content"]}
    assert "1 answer judged" in kernel.run(MARK)
    kernel.close()
    with open(next(cluster.glob("marks/marks-*/details.csv")), encoding="utf-8-sig", newline="") as file:
        [row] = csv.DictReader(file)
    assert (row["id"], row["exercise"], row["answer"]) == ("kai", "chamfer-length", "6 mm")
    assert row["seed"] == str(seeds.learner_seed(SEED, "kai")), "the learner's own variant"
