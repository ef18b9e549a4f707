"""Every row of the tables of published values, one test each; the row names its source."""

import pytest

from tapkit import tables
from tapkit.agreement import library
from tapkit.agreement.row import _library, _published

MAY_NOT_DIFFER = ("digits", "close", "range", "least", "most", "order")


@pytest.mark.parametrize("row", tables.rows("published"), ids=lambda r: f"{r['figure']}, {r['case']}")
def test_published(row):
    found = _published(row)
    if row["judge"] in MAY_NOT_DIFFER:
        assert found.grade != "differs", f"{found.verdict}: {row['source']}"
    if row["judge"] == "digits":
        assert found.grade == "agrees", f"{found.ours} against {row['says']}: {row['source']}"


@pytest.mark.parametrize("ref", library.references(live=False), ids=lambda r: f"{r.figure}, {r.case}")
def test_reference_libraries(ref):
    assert _library(ref).grade == "agrees", f"{ref.ours} against {ref.says}: {ref.source}"
