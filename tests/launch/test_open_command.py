"""`tapkit open` refuses in one sentence."""

import pytest

from tapkit.cli import main


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--workbook", "no-such-thing"], "no workbook is called 'no-such-thing'"),
        (["--port", "99"], "1024 to 65535"),
        (["--port", "many"], "1024 to 65535"),
        (["--fulder", "x"], "--help"),
    ],
)
def test_refused_in_one_line(arguments, said, capsys, tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("USERPROFILE", str(tmp_path))
    try:
        code = main(["open", *arguments])
    except SystemExit as stopped:
        code = stopped.code
    words = capsys.readouterr().err
    assert code == 2
    assert said in words
    assert words.count("\n") == 1
    assert not (tmp_path / "tapkit-workbooks").exists()


def test_a_folder_that_is_a_file(capsys, tmp_path):
    (tmp_path / "f").write_text("", encoding="utf-8")
    assert main(["open", "--folder", str(tmp_path / "f"), "--no-browser"]) == 2
    assert "choose another place with --folder" in capsys.readouterr().err
