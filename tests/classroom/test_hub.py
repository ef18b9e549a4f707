"""`tapkit hub` without starting anything: what it refuses, what it writes, passwords, control groups, certificates."""

import argparse
import os
import ssl
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from tapkit.classroom import accounts, controlgroup, hub, leaving, shortfalls
from tapkit.classroom.certificate import self_signed
from tapkit.classroom.folder import ClassFolder, read_untrusted, write_safely
from tapkit.classroom.hubsettings import HubSettings, config_text
from tapkit.classroom.passwordfile import PasswordFile, PasswordSlip, RefusedError, first_use_password, slips_page
from tapkit.classroom.roster import roster_from
from tapkit.classroom.seeds import LARGEST, derive, learner_seed
from tapkit.cli import main


@pytest.fixture
def roster(tmp_path):
    path = tmp_path / "roster.csv"
    path.write_text("id,name\nkai,Kai Moor\n")
    return str(path)


def options(*given):
    parser = argparse.ArgumentParser()
    hub.configure(parser)
    return parser.parse_args(["--roster", "r.csv", *given])


def test_another_system_is_told_the_way_out(monkeypatch, roster, capsys):
    monkeypatch.setattr(sys, "platform", "win32")
    assert main(["hub", "--roster", roster]) == 2
    said = capsys.readouterr().err
    assert "does not run on Windows" in said
    assert "tapkit open" in said
    assert said.count("\n") == 1


@pytest.mark.skipif(sys.platform != "linux", reason="Linux accounts")
def test_without_root_it_says_why(monkeypatch, roster, capsys):
    monkeypatch.setattr("os.geteuid", lambda: 1000)
    assert main(["hub", "--roster", roster]) == 2
    assert "sudo" in capsys.readouterr().err


@pytest.mark.parametrize("address", ["0.0.0.0", "192.168.1.20", "::", "10.0.0.1"])
def test_tls_is_asked_for_where_others_can_listen(address):
    with pytest.raises(ValueError, match="plain sight"):
        hub._check_network(options("--address", address))
    hub._check_network(options("--address", address, "--self-signed"))


@pytest.mark.parametrize("address", ["127.0.0.1", "localhost", "::1"])
def test_a_local_address_needs_none(address):
    hub._check_network(options("--address", address))


def test_certificate_and_key_belong_together(tmp_path):
    with pytest.raises(ValueError, match="belong together"):
        hub._check_network(options("--tls-cert", "a.pem"))
    with pytest.raises(ValueError, match="no file"):
        hub._check_network(options("--tls-cert", str(tmp_path / "a"), "--tls-key", str(tmp_path / "b")))


@pytest.mark.parametrize(
    ("flag", "text"),
    [
        ("--address", "home"),
        ("--host", "192.168.1.20"),
        ("--host", "class room"),
        ("--port", "0"),
        ("--port", "65534"),
        ("--memory", "12"),
        ("--memory", "100 MB"),
    ],
)
def test_unusable_options_are_refused(flag, text, capsys):
    with pytest.raises(SystemExit):
        options(flag, text)
    assert text in capsys.readouterr().err


def test_nobody_is_learner_and_instructor_at_once():
    roster = roster_from(b"id,name\nkai,Kai\n")
    with pytest.raises(ValueError, match="learner and instructor at once"):
        hub._ids(roster, ["Kai"])
    assert hub._ids(roster, ["Ms Boss", "ms boss"]) == (("kai",), ("ms-boss",))


def test_a_missing_proxy_is_told_with_the_command_that_brings_it():
    with pytest.raises(ValueError, match="npm install -g configurable-http-proxy"):
        hub._proxy("/nowhere/proxy")


def test_the_configuration_is_python_and_holds_no_class_seed(tmp_path):
    made = HubSettings(folder=ClassFolder(tmp_path), python="py", proxy="chp", learners=("kai",), instructors=("boss",),
                       accounts={"kai": "tapkit001", "boss": "tapkit002"})  # fmt: skip
    text = config_text(made)
    compile(text, "config", "exec")
    assert "4711" not in text
    assert "access:servers" not in text
    assert "ssl_cert" not in text
    assert config_text(made) == text
    assert "gate.mjs" in text
    assert "gate" not in config_text(replace(made, host="taps.school.example"))


# --- passwords -----------------------------------------------------------------------------------------


@pytest.fixture
def store(tmp_path):
    return PasswordFile(tmp_path / "passwords.json")


def test_a_first_use_password_is_replaced_by_ones_own(store):
    slip = store.issue(["kai"])["kai"]
    with pytest.raises(RefusedError, match="first time"):
        store.check("kai", slip)
    assert store.check("kai", slip.upper().replace("-", " "), "own-password", "own-password")
    assert not store.check("kai", slip, "again-mine", "again-mine")
    assert store.check("kai", "own-password")
    assert store.issue(["kai"]) == {}
    assert store.path.stat().st_mode & 0o077 == 0
    assert "own-password" not in store.path.read_text()


@pytest.mark.parametrize("wrong", ["", "x", "KAI", "é" * 5000, "\x00"])
def test_wrong_passwords_are_wrong(store, wrong):
    slip = store.issue(["kai"])["kai"]
    assert not store.check("kai", wrong, "own-password", "own-password")
    assert store.check("kai", slip, "own-password", "own-password")
    assert not store.check("kai", wrong)
    assert not store.check("nobody", "own-password")


def test_a_class_that_signs_in_at_once_keeps_every_password(store):
    slips = store.issue([f"l{n}" for n in range(12)])
    with ThreadPoolExecutor(12) as beside:
        assert all(beside.map(lambda id: store.check(id, slips[id], f"own-of-{id}", f"own-of-{id}"), slips))
    assert [id for id in slips if not store.check(id, f"own-of-{id}")] == []


def test_first_use_passwords_differ_and_are_long():
    made = {first_use_password() for _ in range(500)}
    assert len(made) == 500
    assert all(len(one.replace("-", "")) == 12 for one in made)


def test_slips_are_escaped():
    page = slips_page([PasswordSlip("<b>Kai</b>", "kai", "abcd-efgh-jkmn")], "http://127.0.0.1:8000")
    assert "<b>Kai" not in page
    assert "abcd-efgh-jkmn" in page


# --- seeds, control groups, files ------------------------------------------------------------------------------


def test_seeds_follow_from_the_class_seed_and_from_nothing_else():
    assert learner_seed(7, "kai") == learner_seed("7", "kai") == 4006620466064977  # regression value
    many = {derive(str(k), "learner", f"id{i}") for k in range(20) for i in range(200)}
    assert len(many) == 4000
    assert max(many) < LARGEST


def test_a_fence_in_both_versions_of_control_groups(tmp_path):
    two, one = tmp_path / "two", tmp_path / "one"
    (two / "tapkit").mkdir(parents=True)
    (two / "cgroup.controllers").write_text("cpu memory pids")
    (one / "memory").mkdir(parents=True)
    assert controlgroup.build("tapkit001", memory=300, root=two) == [two / "tapkit/tapkit001/cgroup.procs"]
    assert (two / "tapkit/tapkit001/memory.max").read_text() == "300"
    assert controlgroup.build("tapkit001", memory=300, root=one) == [one / "memory/tapkit/tapkit001/cgroup.procs"]
    assert controlgroup.build("tapkit001", memory=None, root=one) == []
    assert controlgroup.build("tapkit001", memory=300, root=tmp_path / "missing") == []


@pytest.mark.parametrize("name", ["192.168.1.20", "taps.school.example", "kai.taps.school.example"])
def test_a_self_signed_certificate_serves_tls(tmp_path, name):
    cert, key = self_signed("192.168.1.20", "taps.school.example")
    (tmp_path / "c.pem").write_text(cert)
    (tmp_path / "k.pem").write_text(key)
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(tmp_path / "c.pem", tmp_path / "k.pem")
    client = ssl.create_default_context(cafile=str(tmp_path / "c.pem"))
    raw_in, raw_out = ssl.MemoryBIO(), ssl.MemoryBIO()
    a = client.wrap_bio(raw_in, raw_out, server_hostname=name)
    b = server.wrap_bio(raw_out, raw_in, server_side=True)
    for _ in range(6):
        for side in (a, b):
            try:
                side.do_handshake()
            except ssl.SSLWantReadError:
                continue
    assert a.version() == b.version() == "TLSv1.3"


def test_only_plain_files_of_a_sane_size_are_read(tmp_path):
    write_safely(tmp_path / "a", "hello")
    assert read_untrusted(tmp_path / "a", 100) == b"hello"
    with pytest.raises(ValueError, match="more than 3"):
        read_untrusted(tmp_path / "a", 3)
    (tmp_path / "b").symlink_to(tmp_path / "a")
    with pytest.raises(ValueError, match="link"):
        read_untrusted(tmp_path / "b", 100)
    with pytest.raises(ValueError, match="plain file"):
        read_untrusted(tmp_path, 100)


@pytest.mark.skipif(sys.platform != "linux", reason="Linux accounts")
def test_an_account_that_was_there_before_is_never_used(tmp_path, monkeypatch):
    made, there = [], {"tapkit001", "root"}
    monkeypatch.setattr(accounts, "_exists", lambda name: name in there)
    monkeypatch.setattr(accounts, "_do", lambda *command: (made.append(command[-1]), there.add(command[-1])))
    folder = ClassFolder(tmp_path)
    folder.hub.mkdir()
    assert accounts.accounts_for(folder, ["root", "kai"]) == {"root": "tapkit002", "kai": "tapkit003"}
    assert accounts.accounts_for(folder, ["kai", "lea"])["lea"] == "tapkit004"
    assert made == ["tapkit002", "tapkit003", "tapkit004"]


# --- what is promised is checked ------------------------------------------------------------------------


def test_what_a_machine_does_not_give_is_said_in_one_sentence(tmp_path, monkeypatch):
    monkeypatch.setattr(shortfalls.controlgroup, "build", lambda account, memory: [])
    monkeypatch.setattr(shortfalls, "_options", lambda path: {"rw"})
    monkeypatch.setattr(shortfalls, "_can_read", lambda account, path: True)
    told = shortfalls.shortfalls(ClassFolder(tmp_path), "tapkit001", 2**29, (tmp_path / "class-book.ipynb",)).said()
    assert told.startswith("Not set up on this machine: memory by control group")
    for word in ("memory by control group", "disk quotas", "hidden processes", "class-book.ipynb"):
        assert word in told
    assert told.count(". ") == 0
    monkeypatch.setattr(shortfalls.controlgroup, "build", lambda account, memory: ["group"])
    monkeypatch.setattr(shortfalls, "_options", lambda path: {"rw", "usrquota", "hidepid=2"})
    monkeypatch.setattr(shortfalls, "_can_read", lambda account, path: False)
    assert shortfalls.shortfalls(ClassFolder(tmp_path), "tapkit001", 2**29) is None


@pytest.mark.skipif(sys.platform != "linux", reason="owners and modes")
def test_the_instructors_workbook_is_shut_wherever_it_lies(tmp_path):
    for name in ("class-book.ipynb", "01.ipynb"):
        (tmp_path / name).write_text("{}")
        (tmp_path / name).chmod(0o644)
    given = {name: tmp_path / name for name in ("class-book.ipynb", "01.ipynb")}
    assert shortfalls.shut_class_books(given, os.getgid())[0] == tmp_path / "class-book.ipynb"
    assert [path.stat().st_mode & 0o777 for path in given.values()] == [0o640, 0o644]


def test_nothing_but_the_folder_of_a_class_is_erased(tmp_path):
    (tmp_path / "learners").mkdir()
    with pytest.raises(ValueError, match="is not the folder of a class; nothing was erased"):
        leaving.erase(ClassFolder(tmp_path))
    assert (tmp_path / "learners").exists()
