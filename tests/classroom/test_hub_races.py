"""A thousand races for the place of a server that has ended (`test_hub_live.py` runs some of them each time)."""

import os

import hubmachine
import pytest
from races import race

VICTIMS = 12


@pytest.mark.slow
@pytest.mark.timeout(4 * 3600)
def test_a_thousand_races_for_the_place_of_a_server():
    ids = [*(f"v{n}" for n in range(VICTIMS)), "attacker"]
    with hubmachine.Machine(18710, roster="id,name\n" + "".join(f"{i},Learner {i}\n" for i in ids)) as machine:
        *people, attacker = [machine.comes(id) for id in ids]
        kernel = attacker.connect(attacker.start_kernel())
        times = int(os.environ.get("TAPKIT_RACES", "1000")) // VICTIMS
        tally, taken, seen = race(machine, people, kernel, times)
        print(f"{times * VICTIMS} races, {sum(tally.values())} tries: {tally}; the owners saw {dict(seen)}; {taken}")
        assert taken == []
        assert seen["taken"] == 0
        assert {why.split(": ")[1] for why in tally} <= {"PermissionError", "FileExistsError"}
