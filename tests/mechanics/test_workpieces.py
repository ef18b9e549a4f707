"""Metals: the names people use are found, each leads to one metal, and every table has what that metal needs."""

import pytest

from tapkit import Hole, Operation, Tap, Thread, Workpiece, panels, parameters, tables
from tapkit.geometry import proportions
from tapkit.geometry.fluteform import FLUTE_FORMS, form_of
from tapkit.mechanics import chiproom
from tapkit.mechanics.workpiece import fold, workpiece_names
from tapkit.planning import speed
from tapkit.planning.candidate import candidate

NAMES = {
    "mild steel": "S235JR", "A36": "S235JR", "1018": "C15", "1020": "C15", "1045": "C45", "1.0503": "C45",
    "free-cutting steel": "11SMn30", "12L14": "11SMn30", "1215": "11SMn30", "4140": "42CrMo4",
    "4140 prehard": "42CrMo4 30 HRC", "4140 HT": "42CrMo4 30 HRC", "tool steel": "C105U", "O1": "C105U",
    "303": "X8CrNiS18-9", "304": "X5CrNi18-10", "1.4301": "X5CrNi18-10", "316L": "X5CrNiMo17-12-2",
    "17-4 PH": "X5CrNiCuNb16-4", "6061-T6": "AlMgSi", "7075": "AlZnMgCu1.5", "cast aluminum": "AlSi",
    "leaded brass": "CuZn40Pb2", "C360": "CuZn40Pb2", "bronze": "CuSn8", "copper": "Cu-ETP",
    "nodular iron": "EN-GJS-400", "65-45-12": "EN-GJS-400", "grey iron": "EN-GJL-250", "titanium": "Ti-6Al-4V",
    "Ti-6Al-4V": "Ti-6Al-4V", "nickel alloy": "NiCr19Fe19Nb5Mo3", "718": "NiCr19Fe19Nb5Mo3", "acetal": "POM",
}  # fmt: skip


@pytest.mark.parametrize(("said", "name"), NAMES.items())
def test_names_and_numbers_of_the_shop_are_found(said, name):
    assert Workpiece.parse(said).name == name
    assert Workpiece.parse(said.upper().replace("-", " ")).name == name


MORE_NAMES = {
    "S235JR": "St37|S275JR|St44-2|SS400|1.0038|hot rolled|HRS|structural steel",
    "C15": "AISI 1018|SAE 1020|1018 CRS|cold rolled steel|CRS|EN3B|Ck15|1018 steel",
    "C45": "steel 1045|C45E|Ck45|1.1191|S45C|AISI 1045|steel|carbon steel",
    "11SMn30": "leaded steel|1213|free machining|EN1A|1.0715|free cutting",
    "42CrMo4": "SAE 4140|4140 steel|4140 annealed|SCM440|1.7225|chrome-moly",
    "42CrMo4 30 HRC": "4140 PH|4140 30 HRC|4140 hard|4140 prehardened",
    "X5CrNi18-10": "304L|304 SS|type 304|V2A|18-8|A2 stainless|EN 1.4301|304 stainless steel|stainless",
    "X8CrNiS18-9": "type 303|1.4305|303 stainless",
    "X5CrNiMo17-12-2": "316 stainless|W.Nr. 1.4404|V4A|A4|A4-80|AISI 316L",
    "X5CrNiCuNb16-4": "17-4PH|17-4 PH stainless|630|1.4542",
    "AlMgSi": "6061 aluminum|6082|EN AW-6082|6063",
    "AlZnMgCu1.5": "7075 T6|7075 aluminium|3.4365",
    "AlCuMg1": "2024|aluminium|aluminum",
    "AlSi": "A380|ADC12|AlSi9Cu3|die-cast aluminium",
    "CuZn40Pb2": "brass|Brass C360|CZ121|2.0401",
    "CuSn8": "phosphor bronze|SAE 660|C932",
    "Cu-ETP": "C110|C101|electrolytic copper",
    "EN-GJL-250": "GG25|GJL-250|cast iron|gray iron|class 35 iron",
    "EN-GJS-400": "GGG40|SG iron|ductile iron|GJS 400",
    "Ti-6Al-4V": "titanium grade 5|Ti64|Ti 6-4|grade 5",
    "NiCr19Fe19Nb5Mo3": "Inconel 718|alloy 718|2.4668",
    "POM": "Delrin|plastic|POM-C",
}


@pytest.mark.parametrize(("said", "name"), [(s, n) for n, many in MORE_NAMES.items() for s in many.split("|")])
def test_more_spellings_of_the_shop_are_found(said, name):
    assert Workpiece.parse(said).name == name
    assert Workpiece.parse(said.lower()).name == name


@pytest.mark.parametrize(
    ("said", "near"),
    [("S355", "E295"), ("EN8", "C45"), ("4340", "42CrMo4 30 HRC"), ("8620 steel", "16MnCr5"), ("1.2379", "C105U"),
     ("316Ti", "X5CrNiMo17-12-2"), ("AISI 416", "X5CrNiCuNb16-4"), ("5052", "AlMgSi"), ("naval brass", "CuZn40Pb2"),
     ("GG20", "EN-GJL-250"), ("Inconel 625", "NiCr19Fe19Nb5Mo3"), ("nylon", "POM"), ("Grade 2 titanium", "Ti-6Al-4V")],
)  # fmt: skip
def test_a_metal_not_in_the_table_is_told_the_nearest(said, near):
    with pytest.raises(ValueError, match="is not in the table; the nearest there is") as told:
        Workpiece.parse(said)
    assert f"nearest there is {near} (" in str(told.value)


@pytest.mark.parametrize(("said", "why"), [("magnesium", "nothing there is near"), ("A2", "tool steel"), ("cheese", "there are"), ("  ", "there are")])  # fmt: skip
def test_what_is_near_nothing_is_refused_in_a_sentence(said, why):
    with pytest.raises(ValueError, match=why) as told:
        Workpiece.parse(said)
    assert "\n" not in str(told.value)


def test_near_metals_are_in_the_table_and_no_name_is_in_both():
    known = {
        fold(w) for r in tables.rows("workpieces") for w in (r["name"], r["printed"], *r["other_names"].split("|"))
    }
    owner = {}
    for row in tables.rows("metals_near"):
        assert row["near"] in ("", *workpiece_names())
        assert "[memory]" in row["source"]
        for name in row["names"].split("|"):
            assert fold(name) not in known, name
            assert owner.setdefault(fold(name), row["names"]) == row["names"], name


def test_no_name_leads_to_two_metals():
    owner = {}
    for row in tables.rows("workpieces"):
        for word in (row["name"], row["printed"], *row["other_names"].split("|")):
            assert owner.setdefault(fold(word), row["name"]) == row["name"], word


@pytest.mark.parametrize("name", workpiece_names())
def test_every_metal_has_its_rows_in_every_table(name):
    work = Workpiece.parse(name)
    for table in ("radial_rakes", "engagement", "wanted_percents", "torque_groups"):
        assert [r for r in tables.rows(table) if r["group"] == work.group], table
    assert speed.tapping_speed(work, Thread.parse("M8")).low > 0
    assert chiproom.bulking(work).low > 1
    assert proportions.usual_radial_rake(work) >= 0
    assert 150 <= work.kc11 <= 4000
    assert 0.1 <= work.mc <= 0.35
    assert work.chips in ("long", "medium", "short")
    assert work.source


def test_harder_metal_of_one_kind_is_scaled_as_the_published_resistance():
    resistance = {r["workpiece"]: float(r["kc"]) for r in tables.rows("torque_kc")}
    for name, base in (("42CrMo4 30 HRC", "42CrMo4"), ("42CrMo4 40 HRC", "42CrMo4"), ("C105U", "C45")):
        ours = Workpiece.parse(name).kc11 / Workpiece.parse(base).kc11
        assert ours == pytest.approx(resistance[name] / resistance[base], rel=3e-4)


@pytest.mark.parametrize("name", workpiece_names())
@pytest.mark.parametrize("thread", ["M10x1.5", "1/4-20 UNC", "#8-32 UNC"])
@pytest.mark.parametrize("form", FLUTE_FORMS)
def test_one_default_for_report_choice_and_panels(name, thread, form):
    """Radial rake by metal, helix by chip, flutes by standard: the same tap wherever it is only named."""
    work = Workpiece.parse(name)
    hole = Hole(kind="through", diameter=Thread.parse(thread).hole_for_percent(75), depth=10.0)
    said = Operation.parse(f"{thread} {form_of(form).name()} plug", hole, work).tap
    assert candidate(Thread.parse(thread), work, form, "plug") == said
    assert parameters.job_from({"thread": thread, "form": form, "chamfer": "plug", "work": name}).tap == said
    basis = parameters.Basis(Thread.parse(thread), form=form, work=name)
    assert parameters.find("radial_rake").usual(basis) == said.radial_rake
    assert parameters.find("axial_rake").usual(basis) == said.axial_rake
    assert parameters.find("flutes").usual(basis) == said.flutes


PANELS = ("tip", "hole", "load", "section", "chips", "choice", "cycle", "diagnosis", "sayings", "setup_card", "wrench")


def taps_in(model, deep=0):
    """Every tap in a panel's model, however it is wrapped."""
    if isinstance(model, Tap):
        return [model]
    if isinstance(model, Operation):
        return [model.tap]
    if deep > 4 or isinstance(model, str | int | float | None):
        return []
    parts = model if isinstance(model, tuple | list) else vars(model).values() if hasattr(model, "__dict__") else ()
    return [tap for part in parts for tap in taps_in(part, deep + 1)]


@pytest.mark.parametrize("name", PANELS)
@pytest.mark.parametrize(
    ("thread", "work"), [("1/4-20 UNC", "EN-GJL-250"), ("M16x2", "X5CrNi18-10"), ("M8x1.25", "AlMgSi")]
)
def test_panels_take_the_usual_tap_of_metal_and_standard(name, thread, work):
    """Tip, hole, choice, diagnosis and all others: rake by metal, flutes by standard."""
    found = taps_in(getattr(panels, name)(thread=thread, work=work).model)
    assert found
    for tap in found:
        assert tap.radial_rake == proportions.usual_radial_rake(Workpiece.parse(work))
        assert tap.flutes == proportions.usual_flutes(Thread.parse(thread), tap.flute_form)


def test_inch_hand_taps_have_four_flutes_from_a_quarter_inch():
    """ASME B94.9 [memory]."""
    assert [proportions.usual_flutes(Thread.parse(t)) for t in ("#8-32", "1/4-20", "3/8-16", "M6", "M16")] == [
        3,
        4,
        4,
        3,
        4,
    ]
