"""The final test on the screen, its record as a file, and the check of its line."""

import re

from test_quiz import typed

from tapkit import panels


def answer(test):
    """Answer the question that is shown, as the page would."""
    quiz = test.quiz
    quiz.record.add(quiz.attempt.question, quiz.attempt.question.right_text)
    quiz.next()


def test_one_answer_each_no_hints_and_nothing_told_before_the_end(record):
    test = panels.final_test(record=record, seed=4)
    quiz = test.quiz
    shown = {k["key"]: k["look"] for k in quiz.keys.shown}
    assert all("tapkit-gone" in shown[key] for key in ("hint", "solve", "next"))
    typed(quiz, "spiral")
    assert "answer is taken" not in quiz.verdict.value, "what cannot be read is no answer"
    typed(quiz, quiz.attempt.question.right_text)
    assert "answer is taken" in quiz.verdict.value
    assert "right" not in quiz.verdict.value
    given = quiz.answer_box.text
    typed(quiz, "straight-flute taper")
    assert quiz.answer_box.text == given
    assert quiz.answer_box.widget.locked
    assert len(record.history().entries) == 2, "the second answer is not taken any more"
    quiz.next_key.click()
    assert "Task 2 of 5" in quiz.asked.value


def test_a_test_is_taken_up_where_it_was_left_and_ends_with_its_record(record):
    test = panels.final_test(record=record, seed=4)
    answer(test)
    again = panels.final_test(record=record, seed=4)
    assert "Task 2 of 5" in again.quiz.asked.value
    while again.quiz:
        answer(again)
    assert "5 of 5 marks. Passed." in again.page_shown.value
    again.save()
    assert "Saved as my-final-test.html" in again.said.value
    kept = (record.path.parent / "my-final-test.html").read_text(encoding="utf-8")
    line = re.search(r"<code>(.*?)</code>", kept)[1]
    check = panels.check_test()
    check.box.value = line
    assert "The sign fits. –" in check.said.value
    check.box.value = line.replace("1 1 1 1 1", "1 1 1 1 0")
    assert "sign does not fit" in check.said.value
    again.begin()
    assert "Task 1 of 5" in again.quiz.asked.value


def test_my_page_links_the_next_lesson_and_shows_the_test(record, monkeypatch):
    monkeypatch.setenv("TAPKIT_SEED", "4")
    test = panels.final_test(record=record)
    while test.quiz:
        answer(test)
    told = panels.my_page(record=record).page_shown.value
    assert 'data-workbook="00-the-first-tap-by-hand.ipynb"' in told
    assert "Final test.</b>" in told


def test_a_class_says_whose_seed_it_is(record, monkeypatch, tmp_path):
    from tapkit.classroom.seeds import learner_seed

    (tmp_path / "key").mkdir()
    (tmp_path / "key" / "seed.txt").write_text("autumn")
    (tmp_path / "key" / "roster.csv").write_text("id,name\nkai,Kai Moor\n")
    monkeypatch.setenv("TAPKIT_CLASS", str(tmp_path))
    for seed, told in ((learner_seed("autumn", "kai"), "The seed is that of kai"), (12, "belongs to nobody")):
        test = panels.final_test(record=record, seed=seed)
        while test.quiz:
            answer(test)
        check = panels.check_test()
        check.box.value = test.done[-1].line("Kai Moor")
        assert told in check.said.value


def test_a_summary_is_kept_as_a_file(record):
    one = panels.summary(3, record=record)
    one.save()
    kept = (record.path.parent / "summary-03-the-load-on-each-tooth.html").read_text(encoding="utf-8")
    assert kept.startswith("<!DOCTYPE html>")
    assert "h = (P / Z)" in kept
