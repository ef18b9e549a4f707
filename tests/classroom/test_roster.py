"""The roster reader against what spreadsheets really write."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapkit.classroom.roster import ID, Learner, plain_id, read_roster, roster_from

PLAIN = "id,name\nkm01,Kai Moor\nlr02,Lea Ruß\n"
WANTED = [("km01", "Kai Moor"), ("lr02", "Lea Ruß")]


def pairs(data):
    return [(x.id, x.name) for x in roster_from(data)]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_every_usual_form_reads_the_same(encoding, separator, ending):
    text = PLAIN.replace(",", separator).replace("\n", ending)
    assert pairs(text.encode(encoding)) == WANTED


def test_separator_line_quotes_and_commas_inside_cells():
    data = b'sep=;\r\n"ID";"Name"\r\n"km01";"Moor; Kai ""the Lathe"""\r\n'
    assert pairs(data) == [("km01", 'Moor; Kai "the Lathe"')]


def test_first_and_last_names_make_name_and_id():
    data = "Vorname;Nachname;Klasse\nZoë;Müller;T1\nJosé María;Peña;T1\n".encode("utf-8-sig")
    roster = roster_from(data)
    assert list(roster) == [
        Learner("zoe-muller", "Zoë Müller", "T1", 2),
        Learner("jose-maria-pena", "José María Peña", "T1", 3),
    ]


def test_a_bare_list_of_names_is_enough():
    assert pairs(b"Kai Moor\nLea Russ\n") == [("kai-moor", "Kai Moor"), ("lea-russ", "Lea Russ")]


def test_empty_and_double_rows_are_told_by_line():
    data = b"id,name\nkm01,Kai\n\n,,\nkm01,Kai\nKM01,Karl\nlr02,Lea\n,Nobody\n"
    roster = roster_from(data)
    assert [x.id for x in roster] == ["km01", "lr02"]
    told = {note.line: str(note.text) for note in roster.notes}
    assert told[3] == told[4] == "empty row, skipped"
    assert "already on line 2" in told[5]
    assert "left out" in told[6]
    assert "Kai has on line 2" in told[6]
    assert "has no id" in told[8]
    assert set(told) == {3, 4, 5, 6, 8}


def test_two_people_of_one_name_need_an_id_column():
    roster = roster_from(b"name\nAna Silva\nAna Silva\n")
    assert len(roster) == 1
    assert "add an id column" in roster.notes[0].text


def test_lines_are_counted_through_cells_with_line_breaks():
    roster = roster_from(b'id,name\nkm01,"Kai\nMoor"\n\nkm01,Kai Moor\n')
    assert roster.learners[0].name == "Kai Moor"
    assert [note.line for note in roster.notes] == [4, 5]


def test_hidden_signs_are_taken_out_of_names():
    roster = roster_from("id,name\nkm01,Kai\u202eMoor\x07\u200b\n".encode())
    assert roster.learners[0].name == "KaiMoor"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"id,name\n", "no learner"),
        (b"PK\x03\x04xxxx", "save the list as CSV"),
        (b"a,b\nc,d\n", "does not name the columns"),
        (b'id,name\nkm01,"Kai\nlr02,Lea\n', "line 2: a quotation mark is not closed"),
        (b"x" * 4_000_001, "larger than 4 MB"),
        ("name\n王芳\n".encode(), "cannot make an id from '王芳'"),
        ("id,name\nä\n".encode("utf-16")[:-1], "cut off"),
    ],
)
def test_what_is_no_roster_is_refused_in_one_sentence(data, words):
    with pytest.raises(ValueError, match=words) as caught:
        roster_from(data)
    assert "\n" not in str(caught.value)


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(ValueError, match=r"class\.csv: No such file"):
        read_roster(tmp_path / "class.csv")


def test_find_takes_any_case():
    assert roster_from(PLAIN.encode()).find("KM01").name == "Kai Moor"
    assert roster_from(PLAIN.encode()).find("nobody") is None


@given(st.text(max_size=60))
def test_a_plain_id_is_safe_as_a_file_name(text):
    found = plain_id(text)
    assert found == "" or ID.fullmatch(found)
    assert plain_id(found) == found


@given(st.binary(max_size=400))
def test_any_bytes_give_a_roster_or_a_sentence(data):
    try:
        roster, told = roster_from(data), ""
    except ValueError as error:
        roster, told = (), str(error)
    assert "\n" not in told
    assert len({x.id for x in roster}) == len(roster)
    assert bool(told) != bool(roster)


@given(
    st.lists(st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "Zs")), min_size=1, max_size=20),
             min_size=1, max_size=20),
    st.sampled_from(",;\t"),
)  # fmt: skip
def test_what_a_spreadsheet_writes_comes_back(names, separator):
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, quoting=csv.QUOTE_ALL)
    writer.writerow(["id", "name"])
    writer.writerows([f"x{i}", name] for i, name in enumerate(names))
    roster = roster_from(out.getvalue().encode("utf-8-sig"))
    assert [x.id for x in roster] == [f"x{i}" for i in range(len(names))]


def test_a_column_name_beside_a_first_name_is_the_last_name():
    roster = roster_from("Nr.;Name;Vorname\n1;Müller;Zoë\n2;Müller;Ada\n".encode())
    assert [(one.id, one.name) for one in roster] == [("zoe-muller", "Zoë Müller"), ("ada-muller", "Ada Müller")]
