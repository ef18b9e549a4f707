"""Coverage-guided fuzzing of the answer readers and judges with atheris: no error but "cannot read", and in time.

    python tests/exercises/fuzz_answers.py -max_total_time=600     the long run
    pytest -m slow tests/exercises/test_fuzz.py                    the same from the test run

atheris is not among the test packages; where it is not installed the tests are skipped.
"""

import sys
import time

import atheris

with atheris.instrument_imports(include=["tapkit.exercises", "tapkit.units", "tapkit.geometry"]):
    from tapkit.exercises import answer
    from tapkit.exercises.bank import exercise_named
    from tapkit.exercises.record import parse_record

SLOWEST = 0.05
"""Longest time for one answer [s]; instrumented code is slower, so a miss is measured twice more."""

QUESTIONS = [
    exercise_named(name).variant(3)
    for name in (
        "chamfer-length", "inclination", "hole-for-a-percent", "handbook-torque", "feed-per-turn-inch",
        "choose-the-tap", "order-by-chamfer-length", "name-the-drawn-tap", "name-from-the-list",
        "inch-drill-by-name", "fill-the-hole-plan", "set-chips-ahead",
    )
]  # fmt: skip
READERS = (answer.read_tap, lambda t: answer.read_measurement(t, "length"))


def judge_all(text: str) -> None:
    for question in QUESTIONS:
        verdict = question.judge(text)
        assert verdict.kind
        assert len(verdict.message) < 600
        assert question.judge(text) == verdict
    for reader in READERS:
        try:
            reader(text)
        except answer.ReadingError:
            continue


def timed(text: str) -> float:
    """Seconds for everything, shared among the judges."""
    start = time.perf_counter()
    judge_all(text)
    return (time.perf_counter() - start) / (2 * len(QUESTIONS) + len(READERS))


def one_input(data: bytes) -> None:
    """One input: as text for the judges, and as a record."""
    if data[:1] < b"\x40":
        text = atheris.FuzzedDataProvider(data[1:]).ConsumeUnicode(sys.maxsize)
    else:
        text = data[1:].decode("utf-8", "surrogateescape")
    if min(timed(text) for _ in range(1)) > SLOWEST:
        assert min(timed(text) for _ in range(2)) <= SLOWEST, f"slow on {text!r:.200}"
    found = parse_record(data)
    assert len(found.entries) + len(found.damaged) <= data.count(b"\n") + 1


if __name__ == "__main__":
    for question in QUESTIONS:
        judge_all(question.right_text)
    atheris.Setup(sys.argv, one_input)
    atheris.Fuzz()
