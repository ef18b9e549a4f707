"""Slips to print and cut: how each learner signs in for the first time."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from tapkit.classroom.roster import Learner
from tapkit.pages import page


class PasswordSlip(NamedTuple):
    """One slip: the name, the id to type, the first-use password."""

    name: str
    id: str
    password: str


def slips_page(slips: Sequence[PasswordSlip], address: str) -> str:
    """A page with all slips; `address` is where the class signs in."""
    return page("slips.html", slips=slips, address=address)


def start_page(learners: Iterable[Learner], shared: str = "") -> str:
    """Slips for a class without passwords: the name to write at Start here, and the folder to hand answers in to."""
    return page("startslips.html", learners=list(learners), shared=shared)
