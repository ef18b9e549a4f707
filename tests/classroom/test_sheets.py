"""Paper sheets: the same seed makes the same bytes, a sheet gives nothing away, and it prints cleanly."""

import os
import re
from html import unescape

import pytest

from tapkit import door
from tapkit.classroom.answerkey import right_answers, short_answer
from tapkit.classroom.questions import exercise_set, questions_for
from tapkit.classroom.seeds import class_code, learner_seed, question_seed, sheet_code
from tapkit.classroom.sheetpage import known_mistakes
from tapkit.cli import main
from tapkit.exercises import bank
from tapkit.exercises.number import NumberAsked

SET, SEED = "1, predict-the-chip, load-first-tooth, set-chips-up", "20260302-long-and-secret"
ROSTER = "id,name,group\nkai,Kai </style><script>,T1\nlea,Lea Ruß,T1\n"


def make(folder, *more, seed=SEED, chosen=SET):
    folder.mkdir(exist_ok=True)
    (folder / "roster.csv").write_text(ROSTER)
    out = folder / "out"
    code = main(
        ["sheets", "--roster", str(folder / "roster.csv"), "--set", chosen, "--seed", seed, "--out", str(out), *more]
    )
    return code, {p.relative_to(out).as_posix(): p.read_text("utf-8") for p in out.rglob("*") if p.is_file()}


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    code, made = make(tmp_path_factory.mktemp("sheets"))
    assert code == 0
    return made


def test_a_sheet_for_each_learner_and_one_key(files):
    assert set(files) == {
        "sheets/sheet-kai.html", "sheets/sheet-lea.html", "sheets/class.html", "key/key.html", "key/grid.html",
        "key/answers.csv",
    }  # fmt: skip
    whole = files["sheets/class.html"]
    for name in ("sheets/sheet-kai.html", "sheets/sheet-lea.html"):
        assert files[name].split("<header>", 1)[1].rsplit("</article>", 1)[0] in whole


def test_a_late_learner_is_added_and_nothing_typed_is_lost(files, tmp_path):
    make(tmp_path)
    answers = tmp_path / "out" / "key" / "answers.csv"
    lines = answers.read_text("utf-8-sig").splitlines()
    lines[1] = lines[1].replace('""', '"4, 2"', 1)
    answers.write_text("\n".join(lines), encoding="utf-8")
    (tmp_path / "late").mkdir()
    (tmp_path / "late.csv").write_text(ROSTER + "uma,Uma Berg,T1\n")
    out = tmp_path / "out"
    common = ["--set", SET, "--seed", SEED, "--out", str(out)]
    assert main(["sheets", "--roster", str(tmp_path / "late.csv"), *common]) == 0
    after = answers.read_text("utf-8-sig").splitlines()
    assert '"4, 2"' in after[1]
    assert after[3].startswith('"uma","Uma Berg"')
    late = (out / "sheets" / "late.html").read_text("utf-8")
    assert "Uma Berg" in late
    assert "Lea Ruß" not in late
    for id in ("kai", "lea"):
        name = f"sheets/sheet-{id}.html"
        assert (out / name).read_text("utf-8") == files[name]


def test_the_same_seed_makes_the_same_bytes_and_another_seed_others(files, tmp_path):
    assert make(tmp_path)[1] == files
    assert make(tmp_path / "other", seed="8")[1]["sheets/sheet-lea.html"] != files["sheets/sheet-lea.html"]


def test_another_seed_into_the_same_folder_is_refused_and_nothing_is_lost(files, tmp_path, capsys):
    make(tmp_path)
    code, after = make(tmp_path, seed="8")
    assert code == 2
    assert "choose another folder" in capsys.readouterr().err
    assert after == files


def test_paper_and_screen_ask_the_same(files):
    for id in ("kai", "lea"):
        seed = question_seed(learner_seed(SEED, id))
        sheet = unescape(files[f"sheets/sheet-{id}.html"])
        for one in exercise_set(SET):
            assert one.variant(seed).text.splitlines()[0] in sheet


def test_learners_have_variants_of_their_own():
    asked = {tuple(q.index for q in questions_for(exercise_set("1"), SEED, f"learner-{n}")) for n in range(30)}
    assert len(asked) == 30


def test_a_sheet_gives_nothing_away(files):
    for id in ("kai", "lea"):
        sheet = files[f"sheets/sheet-{id}.html"]
        assert SEED not in sheet
        assert str(learner_seed(SEED, id)) not in sheet
        for question in questions_for(exercise_set(SET), SEED, id):
            assert f">{question.right_text}<" not in sheet
            assert all(name not in sheet for _, name in known_mistakes(question) if "-" in name)


def test_the_key_has_every_answer_tolerance_and_mistake(files):
    key = unescape(files["key/key.html"])
    assert SEED in key
    for id in ("kai", "lea"):
        assert sheet_code(learner_seed(SEED, id), [e.name for e in exercise_set(SET)]) in key
        for question in questions_for(exercise_set(SET), SEED, id):
            assert all(line in key for line in right_answers(question))
            assert str(question.seed) not in key
            assert short_answer(question) in unescape(files["key/grid.html"])
            assert all(value in key and name.replace("-", " ") in key for value, name in known_mistakes(question))
            assert all(line in key for line in question.solution)


def test_all_that_the_key_calls_right_is_judged_right_and_nothing_just_beyond():
    for exercise in bank.exercises():
        for question in exercise.questions[:3]:
            lines = right_answers(question)
            if isinstance(question.ask, NumberAsked) and question.ask.tolerance != "count":
                low, high = re.fullmatch(r".*\((.+) to (.+)\)", lines[0]).groups()
                band = question.ask.band(question.ask.right)
                off = [abs(float(door.plain(x)) - question.ask.right) for x in (low, high)]
                assert off == pytest.approx([band, band], rel=0.06), (exercise.name, lines)
            elif exercise.kind != "set the sliders" and len(lines) == 1 and "(" not in lines[0]:
                assert question.judge(lines[0]).is_right, (exercise.name, lines)


def test_settings_in_the_key_are_all_there_are():
    question = bank.exercise_named("set-the-hole").questions[0]
    slider = question.ask.sliders[0]
    right = [
        v / 100
        for v in range(round(slider.low * 100), round(slider.high * 100) + 1, 5)
        if question.judge(f"{slider.field} = {v / 100}").is_right
    ]
    first, *conditions, said = right_answers(question)
    assert first.startswith("right is every setting")
    assert [question.say(r.says) for r in question.ask.requests] == conditions[:2]
    assert f"{right[0]:g}" in said
    assert f"{right[-1]:g}" in said
    three = right_answers(bank.exercise_named("set-chips-ahead").questions[0])
    assert any("The radial rake is at least" in line for line in three)
    assert any(line.startswith("for example: Chamfer") for line in three)


def test_every_known_mistake_of_the_key_is_judged_as_that_mistake():
    for exercise in bank.exercises():
        if exercise.kind != "number":
            continue
        for question in exercise.questions[:6]:
            for value, name in known_mistakes(question):
                assert question.judge(value).mistake == name, (exercise.name, question.index, value)


def test_pages_need_nothing_from_elsewhere_and_run_nothing(files):
    for name, text in files.items():
        if name.endswith(".html"):
            assert not re.search(r'(src|href)="(?!data:)', text), name
            assert "<script" not in text, name
            assert "url(" not in text, name


def test_the_key_is_for_the_owner_alone(tmp_path):
    make(tmp_path)
    if os.name == "posix":
        assert (tmp_path / "out" / "key").stat().st_mode & 0o077 == 0
        assert (tmp_path / "out" / "key" / "key.html").stat().st_mode & 0o077 == 0


@pytest.mark.parametrize(
    ("chosen", "words"),
    [
        ("nothing-like-it", "did you mean"),
        (",,", "names no exercise"),
        ("99", "lessons go from 0"),
        ("\x00", "there is no exercise"),
    ],
)
def test_a_set_that_is_none_is_told(tmp_path, capsys, chosen, words):
    assert make(tmp_path, chosen=chosen)[0] == 2
    assert words in capsys.readouterr().err


def test_sets_by_lesson_topic_and_name():
    assert {e.lesson for e in exercise_set("3")} == {3} == {e.lesson for e in exercise_set("lesson-3")}
    assert (
        {e.topic for e in exercise_set("tooth load")} == {"tooth load"} == {e.topic for e in exercise_set("Tooth-Load")}
    )
    assert [e.name for e in exercise_set("inclination, chamfer-length, inclination")] == [
        "inclination",
        "chamfer-length",
    ]
    assert len(exercise_set("all")) == len(bank.exercises())


def test_codes_say_nothing_and_differ():
    codes = {sheet_code(learner_seed(SEED, f"l{n}"), ["a"]) for n in range(200)}
    assert len(codes) == 200
    assert all(re.fullmatch("[B-Z]{5}", c) for c in codes)
    assert class_code("7") != class_code("8")


MEASURE = """() => {
  const page = document.body.getBoundingClientRect();
  const wide = [...document.querySelectorAll('body *')].filter(e => e.getBoundingClientRect().right > page.right + 1);
  const tall = [...document.querySelectorAll('article.page')].map(e => e.getBoundingClientRect().height);
  return {wide: wide.map(e => e.outerHTML.slice(0, 80)), tallest: Math.max(0, ...tall), pages: tall.length,
          sheets: document.querySelectorAll('header').length};
}"""


@pytest.mark.browser
@pytest.mark.parametrize(("paper", "box", "height"), [("A4", (594.96, 841.92), 277), ("Letter", (612, 792), 259.4)])
def test_sheets_print_cleanly(tmp_path, chromium, paper, box, height):
    make(tmp_path, "--paper", paper, chosen="1, 2, 3, 4")
    for name in ("sheets/sheet-lea.html", "sheets/class.html", "key/key.html", "key/grid.html"):
        page = chromium.new_page(viewport={"width": 703 if name != "key/grid.html" else 980, "height": 900})
        page.goto((tmp_path / "out" / name).as_uri())
        page.emulate_media(media="print")
        found = page.evaluate(MEASURE)
        assert found["wide"] == []
        if name.startswith("sheets"):
            assert found["tallest"] / 96 * 25.4 < height
        pdf = page.pdf(prefer_css_page_size=True)
        printed = len(re.findall(rb"/Type\s*/Page\b", pdf))
        if name == "sheets/class.html":  # each begins on a front page
            assert printed == found["pages"]
            assert printed % (2 * found["sheets"]) == 0
        if name == "key/grid.html":
            assert printed == 1
            box = box[::-1]
        sizes = {tuple(map(float, m)) for m in re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)}
        assert len(sizes) == 1
        assert sizes.pop() == pytest.approx(box, abs=0.6)
        page.close()
