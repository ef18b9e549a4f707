"""What a question says, for tests of its words."""

from tapkit.exercises.blanks import BlanksAsked, SettingAsked


def words_of(question):
    """All that a learner may read of it: the question, what helps, its drawings, and what is said to known mistakes."""
    ask = question.ask
    yield from (question.exercise.title, question.text, question.how)
    yield from (*question.lines, *question.hints, *question.solution)
    yield from (sketch.alt for sketch in (question.sketch, question.reveal) if sketch)
    yield from (question.say(m.says) for m in getattr(ask, "mistakes", ()))
    if isinstance(ask, SettingAsked):
        yield from (question.say(text) for r in ask.requests for text in (r.says, r.missed))
    if isinstance(ask, BlanksAsked):
        yield from (question.say(m.says) for p in ask.parts for m in p.number.mistakes)
