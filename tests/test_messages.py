"""Sentences take their language and units at the edge; a bare float is refused; plurals follow the number."""

import gettext

import pytest

from tapkit import messages
from tapkit.messages import Quantity, Span, _, length, listed, ngettext, said


class Bracketed(gettext.NullTranslations):
    """Each message in brackets, as a catalogue of another language would replace it."""

    def gettext(self, message):
        return f"[{message}]"

    def ngettext(self, one, many, n):
        return f"[{one if n == 1 else many}]"

    def pgettext(self, context, message):
        return "," if context == "decimal mark" else f"[{message}]"


@pytest.fixture
def bracketed():
    messages.use(Bracketed())
    yield
    messages.use("")


def test_a_sentence_is_said_in_the_readers_units():
    sentence = _("a hole {hole} wide", hole=length(25.4))
    assert (str(sentence), sentence.said("inch")) == ("a hole 25.4 mm wide", "a hole 1 in wide")


def test_one_made_before_the_language_was_chosen_follows_it(bracketed):
    sentence = _("{n} of {things}", n=Quantity(0.5, "length"), things=listed(["a", "b"], "or"))
    assert str(sentence) == "[0,5 mm of [a or b]]"


@pytest.mark.parametrize(("count", "text"), [(0, "0 threads"), (1, "1 thread"), (2, "2 threads")])
def test_plurals(count, text):
    assert str(ngettext("{count} thread", "{count} threads", count)) == text


def test_a_bare_float_has_no_unit_and_is_refused():
    with pytest.raises(TypeError, match="has no unit"):
        _("a hole {hole} wide", hole=8.5)


def test_a_range_of_ends_printed_alike_is_one_value():
    assert Span(4.01, 4.02, "torque", digits=2).said() == "4 N·m"


def test_an_error_carries_its_sentence_to_the_edge():
    assert said(ValueError(_("{hole} is wide", hole=length(2.54))), "inch") == "0.1 in is wide"
