"""An inch job from what a person types to the card, and the same job in millimetres to 1e-9."""

from dataclasses import replace

import pytest

from tapkit import Hole, Operation, Thread, Workpiece, door
from tapkit.drawing.setupcard import setup_card_page
from tapkit.geometry.drillsize import read_drill
from tapkit.messages import said
from tapkit.planning.candidate import Job
from tapkit.planning.choice import choose, what_goes_wrong
from tapkit.planning.cycle import Cycle, feed_settings
from tapkit.planning.diagnosis import Diagnosis, Seen
from tapkit.planning.drill import nearest_drills, read_shelf
from tapkit.planning.holeask import DrawingAsk
from tapkit.planning.holefit import smallest_change
from tapkit.planning.holeplan import HolePlan
from tapkit.planning.machine import Machine
from tapkit.planning.setup import SetUp

SHELF = "#1 to #60; A to Z; 1/16 to 1/2 by 1/64"


def ask_in_inches():
    thread = Thread.parse("3/8-16 UNC-2B")
    drill = nearest_drills(thread, 75, read_shelf(SHELF))[0].drill
    assert drill.name == "5/16"
    return DrawingAsk(
        thread=thread,
        drill=drill.diameter,
        full_thread=door.length("3/4 in"),
        thickness=door.length('1 1/4"'),
        floor=door.length(".06 in"),
        countersink_diameter=door.length("25/64 in"),
    )


def ask_in_millimetres():
    return DrawingAsk(
        thread=replace(Thread.parse("3/8-16"), designation="own", major=9.525, pitch=1.5875),
        drill=7.9375,
        full_thread=19.05,
        thickness=31.75,
        floor=1.524,
        countersink_diameter=9.921875,
    )


@pytest.mark.parametrize("machine", ["hand", "drill press", "rigid"])
def test_plan_choice_and_cycle_agree_in_both_systems(machine):
    inch, metric = ask_in_inches().on(Machine.parse(machine)), ask_in_millimetres().on(Machine.parse(machine))
    for threads in (1.5, 2.5, 4, 8):
        a, b = HolePlan(inch, threads), HolePlan(metric, threads)
        for one, other in zip(a.stack(), b.stack()):
            assert one[2:6] == pytest.approx(other[2:6], rel=1e-9)
        assert a.spare == pytest.approx(b.spare, rel=1e-9)
    chosen = [choose(Job.make(ask, "4140", machine)) for ask in (inch, metric)]
    assert chosen[0].best.tap.name == chosen[1].best.tap.name
    assert chosen[0].best.score == pytest.approx(chosen[1].best.score, rel=1e-9)
    if machine != "hand":
        work = Workpiece.parse("4140")
        cycles = [Cycle.make(c.best.plan, Machine.parse(machine), work) for c in chosen]
        assert cycles[0].time == pytest.approx(cycles[1].time, rel=1e-9)


def test_words_and_card_in_inches():
    setup = SetUp.make(Job.make(ask_in_inches(), "4140", "rigid"))
    page = setup_card_page(setup, system="inch")
    assert "5/16, ⌀ 0.3125 in" in page
    assert "0.0625 in per turn" in page
    assert "limits of 2B" in page
    assert " mm" not in page.split("</style>")[1].replace("data:image/svg+xml", "").split("Take care")[0]


def test_a_change_in_inches_has_no_millimetres():
    tight = ask_in_inches().with_(thickness=door.length("0.95 in")).on(Machine.parse("rigid"))
    change = smallest_change(tight, 4.0, Workpiece.parse("4140"))
    assert change is not None
    assert " mm" not in said(change.what, "inch")


def test_sixteen_threads_feed_a_sixteenth():
    """Plain arithmetic: 16 threads an inch feed 1/16 in a turn; at 320 rpm that is 20 in a minute."""
    cycle = Cycle(plan=HolePlan(ask_in_inches(), 4), machine=Machine.parse("rigid"), rpm=320)
    told = {s.mode: str(s.text) for s in feed_settings(cycle)}
    assert told["in per turn"] == "0.0625 in per turn"
    assert told["in per minute"] == "20.00 in per minute"


def test_a_hole_named_by_its_drill_is_the_operation_of_that_drill():
    by_name = Operation.parse("1/4-20 spiral-point plug", "through #7 x 0.5 in", "1045")
    by_size = Operation.parse("1/4-20 spiral-point plug", Hole(kind="through", diameter=5.1054, depth=12.7), "C45")
    assert by_name.torque_curve.peak == pytest.approx(by_size.torque_curve.peak, rel=1e-12)
    assert by_name.hole.diameter == read_drill("#7")


def test_no_sentence_of_an_inch_job_speaks_of_millimetres():
    job = Job.make(ask_in_inches().with_(thickness=door.length("1.12 in")), "4140", "rigid")
    made = choose(job)
    told = [made.in_words(), *(r.words for r in made.practice())]
    for judged in (*made.ranked, *made.refused):
        told += [*judged.refusals, *(p.words for p in judged.points), *judged.notes(), *what_goes_wrong(judged, made)]
    for broke in ("snapped", "chipped", "worn", "thread"):
        found = Diagnosis(made.ranked[0].operation, Seen(broke=broke))
        told += [f.in_words() for f in found.findings]
    told = [said(t, "inch") for t in told]
    assert any(" in " in t for t in told)
    assert not [t for t in told if " mm" in t or "N·m" in t or " N " in t or " N," in t]
