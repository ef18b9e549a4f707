"""Every row of the tables of published values, one test each; the row names its source."""

import pytest

from tapkit import tables
from tapkit.agreement import library
from tapkit.agreement.row import _library, _published

MAY_NOT_DIFFER = ("digits", "close", "range", "least", "most", "order")
CONTRADICT = {
    ("torque against a straight tap of 5 threads", "spiral-point, 5 threads"),
    ("torque, 72 over 60 % of thread", "1020"),
}
"""What is published on torque and does not agree with our sum; `tapkit agreement` says so."""


@pytest.mark.parametrize("row", tables.rows("published"), ids=lambda r: f"{r['figure']}, {r['case']}")
def test_published(row):
    found = _published(row)
    if row["judge"] in MAY_NOT_DIFFER:
        known = (row["figure"], row["case"]) in CONTRADICT
        assert (found.grade == "differs") is known, f"{found.verdict}: {row['source']}"
    if row["judge"] == "digits":
        assert found.grade == "agrees", f"{found.ours} against {row['says']}: {row['source']}"


@pytest.mark.parametrize("ref", library.references(live=False), ids=lambda r: f"{r.figure}, {r.case}")
def test_reference_libraries(ref):
    assert _library(ref).grade == "agrees", f"{ref.ours} against {ref.says}: {ref.source}"
