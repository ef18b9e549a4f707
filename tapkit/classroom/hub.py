"""`tapkit hub`: a class on JupyterHub, on one classroom machine with Linux."""

from __future__ import annotations

import argparse
import ipaddress
import os
import re
import secrets
import shutil
import sys
from pathlib import Path

from tapkit.classroom import accounts as linux
from tapkit.classroom import folder as places
from tapkit.classroom.classargs import ROSTER, SEED
from tapkit.classroom.folder import ClassFolder, write_safely
from tapkit.classroom.hubsettings import HubSettings, config_text
from tapkit.classroom.leaving import LEFT, erase, let_go, take_back
from tapkit.classroom.passwordfile import PasswordFile
from tapkit.classroom.roster import Roster, plain_id, read_roster
from tapkit.classroom.seeds import class_code, learner_seed
from tapkit.classroom.shortfalls import shortfalls, shut_class_books
from tapkit.classroom.slips import PasswordSlip, slips_page
from tapkit.launch.workspace import originals
from tapkit.messages import Sentence, _, listed, ngettext

CONFIG = "jupyterhub_config.py"


def configure(parser: argparse.ArgumentParser) -> None:
    """Options of `tapkit hub`."""
    add = parser.add_argument
    add("--roster", type=Path, help=str(_("CSV file with the learners (columns id and name)")))
    add(
        "--class",
        dest="folder",
        type=Path,
        default=Path("/srv/tapkit"),
        help=str(_("class folder (default: /srv/tapkit)")),
    )
    add(
        "--instructor",
        action="append",
        metavar="ID",
        help=str(_("sign-in name of an instructor (default: instructor)")),
    )
    add(
        "--address",
        type=_address,
        default="127.0.0.1",
        help=str(_("address to listen on (default: this machine alone)")),
    )
    add(
        "--port",
        type=_port,
        default=8000,
        help=str(_("port to listen on; the next two are used inside (default: 8000)")),
    )
    add(
        "--host",
        type=_host,
        metavar="NAME",
        help=str(_("name of this machine, if *.NAME leads to it too: everyone's server gets a name of its own")),
    )
    add("--tls-cert", type=Path, metavar="FILE", help=str(_("certificate, for any address others can reach")))
    add("--tls-key", type=Path, metavar="FILE", help=str(_("private key of the certificate")))
    add(
        "--self-signed",
        action="store_true",
        help=str(_("make a certificate here; browsers ask once whether to trust it")),
    )
    add("--memory", type=_memory, default=_memory("512 MB"), help=str(_("memory for each learner (default: 512 MB)")))
    add(
        "--idle",
        type=int,
        default=60,
        metavar="MINUTES",
        help=str(_("stop what nobody has used for so long (default: 60)")),
    )
    add("--seed", help=str(_("class seed, any text; without it one is drawn and kept in the class folder")))
    add("--proxy", help=str(_("path of configurable-http-proxy (default: found on the PATH)")))
    add("--reset", metavar="ID", action="append", default=[], help=str(_("give this person a new first-use password")))
    erase = _("erase this class for good: accounts, folders, passwords, marks, copies; NAME is the class folder's name")
    add("--erase", metavar="NAME", help=str(erase))
    add("--write-only", action="store_true", help=str(_("write everything, start nothing")))


def run(arguments: argparse.Namespace) -> int:
    """Write the configuration and become the hub; returns only with --write-only or --reset."""
    linux.require_linux_root()
    if arguments.erase is not None:
        return _erase(arguments)
    if arguments.roster is None:
        raise ValueError(_("give the list of the class with --roster, a CSV file"))
    roster = read_roster(arguments.roster)
    for note in roster.notes:
        print(f"{arguments.roster.name}, {note}", file=sys.stderr)
    settings = set_up(roster, arguments)
    slips = issue(settings, roster, again=arguments.reset)
    write_safely(settings.folder.hub / CONFIG, config_text(settings), mode=0o600)
    print(ngettext("{count} learner", "{count} learners", len(roster)))
    print(ngettext("{count} instructor", "{count} instructors", len(settings.instructors)))
    print(_("The class folder is {folder}", folder=settings.folder.root))
    if told := _shortfalls(settings):
        print(told)
    if slips:
        print(_("First-use passwords to print and hand out (only root can read them): {slips}", slips=slips))
    if arguments.write_only or arguments.reset:
        print(_("The configuration is in {file}", file=settings.folder.hub / CONFIG))
        return 0
    print(_("The class signs in at {address}   (Ctrl-C here stops the hub)", address=settings.url), flush=True)
    return _become_hub(settings)


def set_up(roster: Roster, arguments: argparse.Namespace) -> HubSettings:
    """Accounts, folders, workbooks and certificate of a class; what the configuration has to say."""
    folder = ClassFolder(arguments.folder.absolute())
    learners, instructors = _ids(roster, arguments.instructor or ["instructor"])
    proxy = _proxy(arguments.proxy)
    _check_network(arguments)
    linux.proxy_account()
    linux.check_proxy(proxy)
    places.guard(folder, linux.group_number)
    if gone := let_go(folder, (*learners, *instructors)):
        _tell_gone(folder, gone)
    known = linux.accounts_for(folder, (*learners, *instructors))
    linux.check_reach(known[learners[0]], folder.root)
    take_back(folder, learners)
    linux.settle(folder, known, learners=learners, instructors=instructors)
    places.copy_originals(folder)
    _keep_certificate(folder, arguments)
    _keep(folder.key / ROSTER, arguments.roster.read_bytes())
    seed = _class_seed(folder, arguments.seed)
    return HubSettings(
        folder=folder,
        python=sys.executable,
        proxy=proxy,
        address=arguments.address,
        host=arguments.host or "",
        port=arguments.port,
        certificate=bool(arguments.tls_cert or arguments.self_signed),
        learners=learners,
        instructors=instructors,
        accounts={id: known[id] for id in (*learners, *instructors)},
        code=class_code(seed),
        seeds={id: learner_seed(seed, id) for id in learners},
        memory=arguments.memory,
        idle=arguments.idle * 60,
    )


def issue(settings: HubSettings, roster: Roster, *, again: list[str] = ()) -> Path | None:
    """First-use passwords for whoever has none, and for those to be reset; the page of slips, if there are any."""
    everyone = [*settings.instructors, *settings.learners]
    wanted = [plain_id(id) for id in again]
    for id in wanted:
        if id not in everyone:
            raise ValueError(
                _("nobody in this class has the id {id!r}; the roster has {ids} …", id=id, ids=", ".join(everyone[:8]))
            )
    store = PasswordFile(settings.folder.hub / "passwords.json")
    made = store.issue(wanted, again=True) if wanted else store.issue(everyone)
    if not made:
        return None
    names = {one.id: one.name for one in roster}
    page = settings.folder.hub / ("slips-new.html" if wanted else "slips.html")
    slips = [PasswordSlip(names.get(id, "Instructor"), id, password) for id, password in made.items()]
    write_safely(page, slips_page(slips, settings.url), mode=0o600)
    return page


def _tell_gone(folder: ClassFolder, gone: tuple[str, ...]) -> None:
    told = _(
        "No longer on the roster, so without account and password: {gone}. Their work lies in {place}; it comes back "
        "with them.",
        gone=listed(gone),
        place=folder.marks / LEFT,
    )
    print(told)


def _shortfalls(settings: HubSettings) -> Sentence | None:
    """What this machine does not give, in one sentence."""
    shut = shut_class_books(originals(), linux.group_number(places.TEACHERS))
    books = tuple(settings.folder.originals.rglob(f"{places.FOR_INSTRUCTORS}*"))
    learner = settings.accounts[settings.learners[0]]
    return shortfalls(settings.folder, learner, settings.memory, (*books, *shut), has_names=bool(settings.host))


def _erase(arguments: argparse.Namespace) -> int:
    """Erase a class whose folder's name was typed once more."""
    folder = ClassFolder(arguments.folder.absolute())
    if arguments.erase != folder.root.name:
        raise ValueError(
            _(
                "to erase the class in {folder} for good, with all marks, type its name: --erase {name}",
                folder=folder.root,
                name=folder.root.name,
            )
        )
    print(erase(folder))
    return 0


def _ids(roster: Roster, wanted: list[str]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    learners = tuple(one.id for one in roster)
    instructors = tuple(dict.fromkeys(plain_id(w) for w in wanted))
    if "" in instructors:
        names = ", ".join(wanted)
        raise ValueError(_("cannot make a sign-in name from {names}; use letters a-z and digits", names=names))
    if both := set(learners) & set(instructors):
        raise ValueError(
            _("{both} is learner and instructor at once; give --instructor another name", both=", ".join(sorted(both)))
        )
    return learners, instructors


def _proxy(given: str | None) -> str:
    found = shutil.which(given or "configurable-http-proxy")
    if not found or not shutil.which("node"):
        raise ValueError(
            _(
                "cannot find {proxy}, which JupyterHub needs; install Node.js and then 'npm install -g "
                "configurable-http-proxy', or give its path with --proxy",
                proxy=given or "configurable-http-proxy",
            )
        )
    return str(Path(found).absolute())


def _check_network(arguments: argparse.Namespace) -> None:
    """TLS is asked for wherever others can listen."""
    if bool(arguments.tls_cert) != bool(arguments.tls_key):
        raise ValueError(_("--tls-cert and --tls-key belong together; give both"))
    for path in filter(None, (arguments.tls_cert, arguments.tls_key)):
        if not path.is_file():
            raise ValueError(_("there is no file {path}; give the certificate and its key as PEM files", path=path))
    secure = arguments.tls_cert or arguments.self_signed
    if not secure and not ipaddress.ip_address(arguments.address).is_loopback:
        raise ValueError(
            _(
                "{address} can be reached from other machines, and passwords would cross the network in "
                "plain sight; give --tls-cert and --tls-key, or --self-signed for a certificate made here",
                address=arguments.address,
            )
        )


def _keep_certificate(folder: ClassFolder, arguments: argparse.Namespace) -> None:
    """The certificate and its key where the proxy's account can read them."""
    if arguments.tls_cert:
        texts = [arguments.tls_cert.read_text(), arguments.tls_key.read_text()]
    elif arguments.self_signed and not (folder.tls / "cert.pem").exists():
        from tapkit.classroom.certificate import self_signed

        texts = list(self_signed(arguments.address, arguments.host or ""))
    else:
        return
    for name, text in zip(("cert.pem", "key.pem"), texts, strict=True):
        write_safely(folder.tls / name, text, mode=0o640)
        os.chown(folder.tls / name, 0, linux.group_number(places.PROXY))


def _class_seed(folder: ClassFolder, given: str | None) -> str:
    """The class seed: the one given, else the one kept, else a new one; kept where instructors alone read it."""
    file = folder.key / SEED
    kept = file.read_text(encoding="utf-8").strip() if file.exists() else ""
    seed = given or kept or str(secrets.randbits(63))
    if seed != kept:
        _keep(file, f"{seed}\n".encode())
    return seed


def _keep(file: Path, data: bytes) -> None:
    """A file for instructors alone."""
    write_safely(file, data, mode=0o640)
    os.chown(file, 0, linux.group_number(places.TEACHERS))


def _become_hub(settings: HubSettings) -> int:
    """Put JupyterHub in the place of this process, so that a signal or a service manager reaches it itself."""
    os.chdir(settings.folder.hub)
    sys.stdout.flush()
    os.execv(sys.executable, [sys.executable, "-m", "jupyterhub", "-f", str(settings.folder.hub / CONFIG)])


def _address(text: str) -> str:
    try:
        return str(ipaddress.ip_address("127.0.0.1" if text == "localhost" else text))
    except ValueError:
        raise argparse.ArgumentTypeError(
            _("{text!r} is not an address such as 127.0.0.1 or 192.168.1.20", text=text)
        ) from None


def _host(text: str) -> str:
    label = r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?"
    name = text.strip().rstrip(".").lower()
    if not re.fullmatch(rf"({label}\.)*{label}", name) or re.fullmatch(r"[0-9.]+", name):
        raise argparse.ArgumentTypeError(
            _("{text!r} is not a name such as taps.school.example; an address has no names below it", text=text)
        )
    return name


def _port(text: str) -> int:
    if not text.isdigit() or not 1 <= int(text) <= 65533:
        raise argparse.ArgumentTypeError(_("port {text} is not a number from 1 to 65533", text=text))
    return int(text)


def _memory(text: str) -> int:
    """Bytes from "512 MB", "512M" or "1.5 GB", in powers of 1024 as memory is sold.

    >>> _memory("512 MB") == 512 * 2**20 == _memory("0.5G")
    True
    """
    found = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*([MG])i?B?\s*", text, re.IGNORECASE)
    size = float(found[1].replace(",", ".")) * 2 ** (30 if found[2].upper() == "G" else 20) if found else 0
    if not 200 * 2**20 <= size <= 2**40:
        raise argparse.ArgumentTypeError(_("{text!r} is not a memory size from 200 MB up, such as 512 MB", text=text))
    return int(size)
