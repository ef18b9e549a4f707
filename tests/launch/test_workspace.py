"""The learner's own copy: originals stay clean, an update never overwrites what a learner changed."""

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from tapkit.launch import workspace


def notebook(*sources, outputs=()):
    cells = [
        {"cell_type": "code", "id": str(i), "metadata": {}, "source": [s], "outputs": list(outputs)}
        for i, s in enumerate(sources)
    ]
    return json.dumps({"cells": cells, "metadata": {}, "nbformat": 4, "nbformat_minor": 5}).encode()


def closed(data):
    """A notebook as it should lie in a learner's folder: the same, every cell closed against a stray key."""
    found = json.loads(data)
    for cell in found["cells"]:
        cell["metadata"] = {"editable": False, "deletable": False}
    return found


@pytest.fixture
def given(tmp_path):
    place = tmp_path / "originals"
    place.mkdir()
    (place / "01-a.ipynb").write_bytes(notebook("one"))
    (place / "02-b.ipynb").write_bytes(notebook("two"))
    return {p.name: p for p in sorted(place.iterdir())}


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "mine"


def test_first_time_everything_is_copied(given, folder):
    ready = workspace.prepare(folder, given)
    assert ready.workbooks == ("01-a.ipynb", "02-b.ipynb")
    assert ready.notices == ()
    assert json.loads((folder / "01-a.ipynb").read_bytes()) == closed(given["01-a.ipynb"].read_bytes())


def test_running_a_workbook_is_no_change_of_it(given, folder):
    workspace.prepare(folder, given)
    ran = notebook("one", outputs=[{"output_type": "stream", "name": "stdout", "text": "x"}])
    (folder / "01-a.ipynb").write_bytes(ran)
    assert workspace.prepare(folder, given).notices == ()
    assert json.loads((folder / "01-a.ipynb").read_bytes()) == closed(ran)


def test_update_replaces_what_was_left_untouched(given, folder):
    workspace.prepare(folder, given)
    given["01-a.ipynb"].write_bytes(notebook("one, better"))
    ready = workspace.prepare(folder, given)
    assert len(ready.notices) == 1
    assert "replaced" in ready.notices[0]
    assert b"one, better" in (folder / "01-a.ipynb").read_bytes()


def test_update_never_overwrites_a_learners_change(given, folder):
    workspace.prepare(folder, given)
    own = notebook("one, and my note")
    (folder / "01-a.ipynb").write_bytes(own)
    given["01-a.ipynb"].write_bytes(notebook("one, better"))
    ready = workspace.prepare(folder, given)
    assert (folder / "01-a.ipynb").read_bytes() == own
    assert b"one, better" in (folder / "01-a-new.ipynb").read_bytes()
    assert "yours stays" in ready.notices[0]
    assert "01-a-new.ipynb" in ready.notices[0]
    assert workspace.prepare(folder, given).notices == (), "told once"
    assert (folder / "01-a.ipynb").read_bytes() == own


def test_a_second_update_replaces_the_untouched_new_one_and_spares_a_changed_one(given, folder):
    workspace.prepare(folder, given)
    (folder / "01-a.ipynb").write_bytes(notebook("mine"))
    for text in ("better", "better still"):
        given["01-a.ipynb"].write_bytes(notebook(text))
        workspace.prepare(folder, given)
    assert b"better still" in (folder / "01-a-new.ipynb").read_bytes()
    (folder / "01-a-new.ipynb").write_bytes(notebook("mine too"))
    given["01-a.ipynb"].write_bytes(notebook("best"))
    workspace.prepare(folder, given)
    assert b"mine too" in (folder / "01-a-new.ipynb").read_bytes()
    assert b"best" in (folder / "01-a-new-2.ipynb").read_bytes()


def test_a_deleted_workbook_is_given_again(given, folder):
    workspace.prepare(folder, given)
    (folder / "01-a.ipynb").unlink()
    workspace.prepare(folder, given)
    assert (folder / "01-a.ipynb").exists()


@pytest.mark.parametrize("spoiled", [b"", b"{", b"[1]", b"\xff\xfe"])
def test_a_lost_record_counts_everything_as_the_learners(given, folder, spoiled):
    workspace.prepare(folder, given)
    own = notebook("mine")
    (folder / "01-a.ipynb").write_bytes(own)
    (folder / ".tapkit" / "handed-out.json").write_bytes(spoiled)
    workspace.prepare(folder, given)
    assert (folder / "01-a.ipynb").read_bytes() == own


def fingerprint_of(path):
    return workspace.fingerprint(path.read_bytes(), path.name)


@pytest.mark.parametrize("broken", [b"", b"not json", b'{"cells": 3}', b'{"cells": [{}]}', b"[]"])
def test_a_broken_notebook_is_kept_beside_and_given_anew(given, folder, broken):
    """As a full disk or a lost connection leaves one: no page could show it."""
    workspace.prepare(folder, given)
    (folder / "01-a.ipynb").write_bytes(broken)
    (told,) = workspace.prepare(folder, given).notices
    assert "given anew" in told
    assert (folder / "01-a-before.ipynb").read_bytes() == broken
    assert fingerprint_of(folder / "01-a.ipynb") == fingerprint_of(given["01-a.ipynb"])
    assert workspace.prepare(folder, given).notices == (), "told once"


def test_other_files_of_the_learner_are_left_alone(given, folder):
    folder.mkdir()
    (folder / "record.jsonl").write_text("{}\n", encoding="utf-8")
    workspace.prepare(folder, given)
    assert (folder / "record.jsonl").read_text(encoding="utf-8") == "{}\n"


def test_the_originals_cannot_be_the_workspace(given):
    with pytest.raises(ValueError, match="originals"):
        workspace.prepare(next(iter(given.values())).parent, given)


def test_a_folder_that_cannot_be_made_is_told_in_a_sentence(given, tmp_path):
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(ValueError, match="choose another place with --folder"):
        workspace.prepare(tmp_path / "file" / "sub", given)
    with pytest.raises(ValueError, match="choose another place with --folder"):
        workspace.free_folder(tmp_path / "file" / "sub")


def test_a_folder_in_use_gives_the_next(folder):
    first, lock, notice = workspace.free_folder(folder)
    assert (first, notice) == (folder.resolve(), None)
    with lock:
        second, other, notice = workspace.free_folder(folder)
        other.close()
        assert second.name == "mine-2"
        assert "open already" in notice
    again, lock, _ = workspace.free_folder(folder)
    lock.close()
    assert again == folder.resolve()


def test_the_lock_ends_with_its_process(folder):
    code = f"from tapkit.launch import workspace; from pathlib import Path; keep = workspace.free_folder(Path({str(folder)!r}))"
    subprocess.run([sys.executable, "-c", code], check=True, timeout=300)
    again, lock, _ = workspace.free_folder(folder)
    lock.close()
    assert again == folder.resolve()


BOOKS = ("01-names.ipynb", "03-the-load-on-each-tooth.ipynb", "10-the-load-card.ipynb")


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        (None, 0),
        ("3", 1),
        ("03", 1),
        ("10", 2),
        ("load-card", 2),
        ("The load on each tooth", 1),
        ("03-the-load-on-each-tooth.ipynb", 1),
        ("names", 0),
    ],
)
def test_choosing_a_workbook(wanted, found):
    assert workspace.wanted_workbook(BOOKS, wanted) == BOOKS[found]


@pytest.mark.parametrize(("wanted", "said"), [("load", "fits more than one"), ("torque", "no workbook is called")])
def test_a_workbook_that_is_not_there(wanted, said):
    with pytest.raises(ValueError, match=said):
        workspace.wanted_workbook(BOOKS, wanted)


def test_the_originals_are_found_in_a_checkout():
    found = workspace.originals()
    assert "03-the-load-on-each-tooth.ipynb" in found
    assert all(Path(p).is_file() for p in found.values())


class Listed:
    """A file as the installed package lists it."""

    def __init__(self, name, place):
        self.name, self.place = name, place

    def as_posix(self):
        return self.name

    def locate(self):
        return self.place


def test_the_originals_are_found_among_the_installed_files(monkeypatch, tmp_path):
    away = tmp_path / "site-packages" / "tapkit" / "launch" / "workspace.py"
    monkeypatch.setattr(workspace, "__file__", str(away))
    book = tmp_path / "share" / "tapkit" / "workbooks" / "01-a.ipynb"
    listed = [Listed("../../../share/tapkit/workbooks/01-a.ipynb", book), Listed("tapkit/cli.py", tmp_path / "cli.py")]
    monkeypatch.setattr(workspace.importlib.metadata, "files", lambda name: listed)
    assert workspace.originals() == {"01-a.ipynb": book}
    monkeypatch.setattr(workspace.importlib.metadata, "files", lambda name: None)
    with pytest.raises(ValueError, match="install tapkit again"):
        workspace.originals()


# --- a machine that others use too ------------------------------------------------------------------


ATTACK = """
import fcntl, os, sys
folder = sys.argv[1]
os.setgroups([]); os.setgid(65534); os.setuid(65534)
def tried(act):
    try:
        act()
        print('done')
    except OSError:
        print('refused')
tried(lambda: os.listdir(folder))
tried(lambda: open(folder + '/a.ipynb'))
tried(lambda: fcntl.flock(open(folder + '/.tapkit/in-use'), fcntl.LOCK_EX | fcntl.LOCK_NB))
tried(lambda: open(folder + '/.tapkit/x', 'w'))
tried(lambda: os.chmod(folder, 0o777))
"""


@pytest.mark.skipif(os.name == "nt" or not hasattr(os, "geteuid") or os.geteuid() != 0, reason="needs two accounts")
def test_another_account_reads_nothing_and_cannot_take_the_lock(given):
    with tempfile.TemporaryDirectory(dir="/tmp") as top:
        os.chmod(top, 0o777)
        old = os.umask(0)
        try:
            place, lock, _told = workspace.free_folder(Path(top) / "mine")
            lock.close()
            workspace.prepare(place, given)
        finally:
            os.umask(old)
        (place / "a.ipynb").touch()
        command = [sys.executable, "-c", ATTACK, str(place)]
        said = subprocess.run(command, capture_output=True, text=True, timeout=300)
        assert said.stdout.split() == ["refused"] * 5, said.stderr
        again, lock, told = workspace.free_folder(Path(top) / "mine")
        lock.close()
        assert (again, told) == (place, None)


@pytest.mark.skipif(os.name == "nt" or not hasattr(os, "geteuid") or os.geteuid() != 0, reason="needs two accounts")
def test_a_folder_laid_out_by_another_account_is_refused(tmp_path):
    (tmp_path / "theirs").mkdir()
    os.chown(tmp_path / "theirs", 65534, 65534)
    with pytest.raises(ValueError, match="belongs to another account"):
        workspace.free_folder(tmp_path / "theirs")


@pytest.mark.skipif(os.name == "nt", reason="modes of POSIX")
def test_a_folder_that_stood_open_is_closed(tmp_path):
    (tmp_path / "open").mkdir(mode=0o755)
    place, lock, _told = workspace.free_folder(tmp_path / "open")
    lock.close()
    assert [(p.stat().st_mode & 0o777) for p in (place, place / ".tapkit")] == [0o700, 0o700]
    assert (place / ".tapkit" / "in-use").stat().st_mode & 0o777 == 0o600


def test_a_learner_gets_no_class_book_unless_it_is_asked_for_by_name():
    given = workspace.originals()
    book = next(name for name in given if name.startswith("class-book"))
    assert set(given) - set(workspace.for_learners(given)) == {book}
    assert workspace.for_learners(given, book) == given


def test_first_variants_differ_by_folder_and_stay(tmp_path):
    folders = [tmp_path / name for name in "abc"]
    for folder in folders:
        (folder / workspace.STATE).mkdir(parents=True)
    seeds = [workspace.own_seed(folder) for folder in folders]
    assert len(set(seeds)) == 3
    assert [workspace.own_seed(folder) for folder in folders] == seeds
    (folders[0] / workspace.STATE / "seed").write_text("junk")
    assert workspace.own_seed(folders[0]) >= 0
