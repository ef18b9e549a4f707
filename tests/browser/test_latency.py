"""Short form of measure_latency.py: the load panel against the usual way, in this browser, on this machine."""

from measure_latency import measure, table


def test_a_panel_answers_a_key_in_a_fraction_of_the_usual_time(chromium, capsys):
    rows = measure(["load"], 7, chromium, bare=False)
    with capsys.disabled():
        print("\n" + table(rows))
    ours, usual = rows
    # the quickest quarter: what else the machine does only adds to the others; a third of the usual is the aim,
    # measured by the script on a quiet machine, and this form only asks that it is clearly quicker
    assert ours["quarter"] <= 0.7 * usual["quarter"]
    assert ours["pictures"] >= usual["pictures"]
    assert ours["lag"] < 3000
