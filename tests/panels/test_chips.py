"""The chips panel: what it shows, what it refuses, and the prediction before the film."""

import html

import pytest

from tapkit import panels
from tapkit.drawing import filmwords
from tapkit.geometry.fluteform import FLUTE_FORMS
from tapkit.mechanics.chipflow import AHEAD, TO_SHANK, UNDECIDED, chip_flow
from tapkit.panels.prediction import REASONS, WAYS, Prediction, prediction_verdict, right_reason


def film(panel):
    return panel.stage.widget.film


def test_it_starts_with_the_film_of_an_ordinary_case():
    panel = panels.chips()
    assert panel.model.chip_flow.direction == AHEAD
    assert panel.stage.widget.plays
    assert film(panel)["chips"]["way"] == "ahead"
    assert panel.stage.widget.name == panel.sentence
    assert film(panel)["torque"]["high"] == pytest.approx(panel.model.expected_torque.high.total, abs=1e-4)


def test_another_metal_sends_another_film_and_the_same_tap_only_once():
    panel, sent = panels.chips(), []
    panel.stage.widget.observe(lambda change: sent.append(change["name"]))
    panel.set(speed=20)
    assert "film" in sent
    assert "vertices" not in sent


@pytest.mark.parametrize("form", FLUTE_FORMS)
@pytest.mark.parametrize("hole", ["through", "blind"])
def test_every_flute_form_starts_with_its_own_rake(form, hole):
    panel = panels.chips(form=form, kind=hole)
    assert panel.problem is None
    assert panel.model.tap.flute_form == form
    assert panel.model.hole.kind == hole


def test_a_flute_form_picked_later_brings_its_rake():
    panel = panels.chips().set(form="spiral-flute")
    assert panel.problem is None
    assert panel.model.chip_flow.direction == TO_SHANK
    assert "toward the shank" in panel.sentence


def test_the_speed_reaches_picture_and_words():
    slow, fast = panels.chips(speed=5), panels.chips(speed=20)
    assert "5 m/min" in slow.sentence
    assert "20 m/min" in fast.sentence
    fast.set_system("inch")
    assert "sfm" in fast.sentence


def test_a_steep_chamfer_on_a_spiral_point_carries_its_caution():
    panel = panels.chips(chamfer=1.5)
    assert panel.model.chip_flow.direction == UNDECIDED
    assert any("too steep" in c for c in panel.spec.cautions(panel.model))


def test_the_saved_page_plays_and_hides_beside_the_live_panel():
    page = panels.chips().still()
    inside = html.unescape(page.split("srcdoc=")[1])
    assert '"plays": true' in inside
    assert '"way": "ahead"' in inside
    assert page.split('class="')[1].startswith("tapkit-")
    assert len(page.encode()) < 1_200_000


# --- predict, then see --------------------------------------------------------------------------------------


def test_before_the_prediction_nothing_is_told():
    panel = panels.chips(predict=True, form="spiral-flute")
    assert not film(panel)["chips"], "nothing of it is sent"
    assert not film(panel)["torque"]
    assert not panel.stage.widget.teeth
    told = panel.stage.widget.name + panel.words.value + panel._caption()
    told += panel.still().split("function ")[0] + html.unescape(panel.still()).split("</script>")[0]
    assert not any(str(words) in told for words in filmwords.HEADLINES.values())
    assert "toward the shank" not in told
    assert panel._left not in panel.widget.children, "the controls come later"


def test_the_prediction_is_locked_before_the_film_and_stays_so(tmp_path, monkeypatch):
    monkeypatch.setenv("TAPKIT_RECORDS", str(tmp_path))
    panel = panels.chips(predict=True, form="spiral-flute")
    panel.prediction.lock()
    assert panel.asking, "nothing was picked"
    panel.prediction.pick(AHEAD, "weight").lock()
    assert panel.prediction.is_locked
    assert panel.prediction.answers.locked
    assert film(panel)["chips"]["way"] == "up"
    assert "You said: ahead of the point" in panel.prediction.verdict.value
    assert "toward the shank" in panel.sentence
    assert '"way": "up"' in html.unescape(panel.still())
    assert set(panel._left.children) <= set(panel._asked.children)
    again, other = (panels.chips(predict=True, form=form) for form in ("spiral-flute", "straight"))
    assert (again.prediction.is_locked, other.prediction.is_locked) == (True, False)
    assert again.prediction.verdict.value == panel.prediction.verdict.value
    assert not again.asking
    panel.set(form="straight")
    assert film(panel)["chips"]["way"] == "either"


def test_lock_tells_its_listener_once():
    calls = []
    prediction = Prediction(lambda: calls.append(1))
    prediction.lock()
    assert "Choose an answer and a reason" in prediction.verdict.value
    prediction.keys.hear({"press": "lock", "chosen": {"way": 0, "reason": 0}, "number": 0})
    prediction.lock()
    assert calls == [1]


@pytest.mark.parametrize(
    ("angles", "way", "reason"),
    [
        (dict(radial_rake=10, axial_rake=40, chamfer_angle=15), TO_SHANK, "lifted"),
        (dict(radial_rake=10, axial_rake=-12, chamfer_angle=8), AHEAD, "driven"),
        (dict(radial_rake=10, axial_rake=0, chamfer_angle=8), UNDECIDED, "neutral"),
        (dict(radial_rake=10, axial_rake=-10, chamfer_angle=23), UNDECIDED, "steep"),
    ],
)
def test_reasons(angles, way, reason):
    flow = chip_flow(**angles)
    assert flow.direction == way
    assert right_reason(flow) == reason
    assert "As you said" in prediction_verdict(way, reason, flow)
    assert "reason is right" in prediction_verdict(way, reason, flow)
    wrong_way = next(w for w in WAYS if w != way)
    wrong_reason = next(r for r in REASONS if r != reason)
    told = prediction_verdict(wrong_way, wrong_reason, flow)
    assert "You said" in told
    assert str(REASONS[reason]) in html.unescape(told)
