"""What hypothesis draws from: threads, taps, holes, faults and whole jobs, over all that tapkit allows."""

from hypothesis import assume
from hypothesis import strategies as st

from tapkit import Faults, Hole, Operation, Tap, Workpiece
from tapkit.geometry.designation import standard_threads
from tapkit.mechanics.workpiece import workpiece_names

THREADS = tuple(t for s in ("metric", "unified") for t in standard_threads(s) if 1.5 <= t.major <= 40)
AXIAL = {
    "straight": (0.0, 0.0),
    "spiral-point": (-20.0, -5.0),
    "spiral-flute": (5.0, 50.0),
    "left-hand-flute": (-40.0, -5.0),
}

threads = st.sampled_from(THREADS)


@st.composite
def fitting(draw, thread=None, chamfer=(0.6, 12.0), shallowest=0.05):
    """A tap and a hole that go together: any form, 1 to 8 flutes, any chamfer."""
    thread = draw(threads) if thread is None else thread
    d, p = thread.major, thread.pitch
    form = draw(st.sampled_from(tuple(AXIAL)))
    bore = d - draw(st.floats(shallowest, 1.4)) * p
    try:
        tap = Tap.make(
            thread,
            form,
            draw(st.floats(*chamfer)),
            flutes=draw(st.integers(1, 8)),
            radial_rake=draw(st.floats(0, 20)),
            axial_rake=draw(st.floats(*AXIAL[form])),
            point_diameter=bore - draw(st.floats(0, 0.4)) * p,
        )
    except ValueError:
        assume(False)
    kind = draw(st.sampled_from(("through", "blind")))
    return tap, Hole(kind=kind, diameter=bore, depth=draw(st.floats(0.3, 3.0)) * d)


@st.composite
def mild_faults(draw, tap):
    """Faults that leave every whole tooth in place and the last teeth sound."""
    last = int(tap.chamfer_threads * tap.flutes)
    return Faults(
        first_tooth=draw(st.floats(0.01, 1.0)),
        chamfer_runout=draw(st.floats(0, 0.05)) * tap.thread.pitch,
        chamfer_runout_angle=draw(st.floats(0, 360)),
        missing_teeth=frozenset(draw(st.lists(st.integers(1, max(last, 1)), max_size=3))),
        flute_offsets=draw(
            st.one_of(
                st.just(()),
                st.lists(st.floats(-0.02, 0.02), min_size=tap.flutes, max_size=tap.flutes).map(tuple),
            )
        ),
    )


@st.composite
def jobs(draw, faulty=False, **more):
    """A whole operation."""
    tap, hole = draw(fitting(**more))
    faults = draw(mild_faults(tap)) if faulty else Faults(first_tooth=draw(st.floats(0.01, 1.0)))
    work = Workpiece.parse(draw(st.sampled_from(workpiece_names())))
    try:
        return Operation(tap=tap, hole=hole, workpiece=work, faults=faults)
    except ValueError:
        assume(False)
