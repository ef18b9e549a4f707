"""Every printed step of every variant, done again with the numbers as they are printed, by another calculator."""

import ast
import math
import operator
import re

import pytest

from tapkit.exercises.arithmetic import computed
from tapkit.exercises.bank import exercises

UNITS = (
    "mm/min|mm/rev|in/rev|in/min|m/min|N/mm²|mm³|mm²|mm|in·lbf|N·m|in²|in³|in|lbf|psi|ksi|sfm|rpm|threads|teeth|turns|"
    "flutes|times|hp|N|W|s|%|°"
)
LINE = re.compile(r"(?:.*?: )(?P<formula>[^:]*) = (?P<result>[−\d][^=]*)$")
OPERATIONS = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}
NAMES = {"tan": math.tan, "sin": math.sin, "cos": math.cos}


def by_hand(text):
    """A printed formula evaluated through Python's own grammar, from a list of what is allowed in it."""
    text = re.sub(rf"(?<=\d)\s?(?:{UNITS})(?![A-Za-z])", "", text)
    text = re.sub(r"tan⁻¹\s*(\([^()]*(?:\([^()]*\)[^()]*)*\)|[\d.]+)", r"arctan(\1)", text)
    text = re.sub(r"\b(tan|sin|cos) (\(?−?[\d.]+\)?)", r"\1(\2)", text)
    for sign, code in {"×": "*", "−": "-", "²": "**2", "³": "**3", "^": "**", "π": "pi"}.items():
        text = text.replace(sign, code)
    return _value(ast.parse(text.strip(), mode="eval").body)


def _value(node):
    if isinstance(node, ast.Constant):
        return float(node.value)
    if isinstance(node, ast.Name) and node.id == "pi":
        return math.pi
    if isinstance(node, ast.UnaryOp):
        return -_value(node.operand)
    if isinstance(node, ast.Call):
        x = _value(node.args[0])
        return math.degrees(math.atan(x)) if node.func.id == "arctan" else NAMES[node.func.id](math.radians(x))
    return OPERATIONS[type(node.op)](_value(node.left), _value(node.right))


def printed(result):
    """A printed number and half a unit of its last digit."""
    number = re.match(r"−?\d+(?:\.\d+)?", result)[0].replace("−", "-")
    return float(number), 0.5 * 10.0 ** -len(number.partition(".")[2])


def faults(question):
    for line in question.solution:
        found = LINE.match(line)
        if found:
            value, half = printed(found["result"])
            if abs(by_hand(found["formula"]) - value) > half * (1 + 1e-6):
                yield line


@pytest.mark.parametrize("one", exercises(), ids=lambda e: e.name)
def test_every_printed_step_is_true_on_a_calculator(one):
    assert [line for question in one.questions for line in faults(question)] == []


def test_so_many_steps_were_done_again():
    lines = [line for e in exercises() for q in e.questions for line in q.solution]
    steps = [s for e in exercises() for q in e.questions for s in q.steps if s.formula]
    done = sum(bool(LINE.match(line)) for line in lines)
    assert done == len(steps) > 2300, "each computed step is read, and nothing else"


def test_what_is_printed_before_is_what_is_put_in():
    """A number found in one step stands in the next as it was printed."""
    for one in exercises():
        for question in one.questions:
            found = [s.number.text() for s in question.steps if s.number is not None]
            for step, line in zip(question.steps, question.solution):
                for given in step.given.values():
                    if hasattr(given, "printed"):
                        assert given.text() in found
                        assert given.text() in line


def test_a_false_step_would_be_found():
    assert abs(by_hand("189 N·m / 15.2 N·m") - 12.434) < 0.001
    assert by_hand("(10 mm − 8.5 mm) / 2") == 0.75
    assert abs(by_hand("15.5 mm + 5 mm / 2 / tan 59°") - 17.0022) < 1e-4
    assert abs(by_hand("tan⁻¹(0.1 − (−0.2))") - 16.699) < 1e-3
    assert abs(by_hand("π / 4 × (8.5 mm)²") - 56.745) < 1e-3


@pytest.mark.parametrize("text", ["2 +", "(2", "2 ! 3", "2 3", "x", "__import__('os')", "", "π π"])
def test_what_is_no_formula_is_refused(text):
    with pytest.raises(ValueError, match=r"\w"):
        computed(text)
