"""`tapkit hub`: a class on JupyterHub, on one classroom machine with Linux."""

import argparse
import contextlib
import ipaddress
import json
import os
import re
import secrets
import shutil
import socket
import sys
from pathlib import Path

from tapkit.classroom import accounts as linux
from tapkit.classroom import folder as places
from tapkit.classroom import members
from tapkit.classroom.classargs import told_roster
from tapkit.classroom.folder import ClassFolder, write_safely
from tapkit.classroom.hubsettings import GATE_KEY, HubSettings, config_text
from tapkit.classroom.leaving import erase, hub_runs, let_go
from tapkit.classroom.passwordfile import PasswordFile, PasswordSlip, slips_page
from tapkit.classroom.roster import Roster, plain_id
from tapkit.classroom.schoolclass import new_seed
from tapkit.classroom.seeds import class_code
from tapkit.classroom.shortfalls import shortfalls, shut_class_books
from tapkit.launch.workspace import originals
from tapkit.messages import Sentence, _, listed, ngettext

CONFIG = "jupyterhub_config.py"


KEPT = {"instructor": ["instructor"], "address": "127.0.0.1", "host": "", "port": 8000, "tls_cert": "", "tls_key": "",
        "self_signed": False, "memory": 512 * 2**20, "idle": 60, "proxy": ""}  # fmt: skip
"""Options that a class remembers, and what they are before anybody said."""
SETTINGS = "settings.json"


def configure(parser: argparse.ArgumentParser) -> None:
    """Options of `tapkit hub`; those not given are as they were at the start before."""
    add = parser.add_argument
    add("place", nargs="?", type=Path, metavar="CLASS-FOLDER", help=str(_("class folder (default: /srv/tapkit)")))
    add("--class", dest="folder", type=Path, help=str(_("the same")))
    add("--roster", type=Path, help=str(_("CSV file with the learners; else the class book takes them in")))
    who = _("sign-in name of an instructor (default: instructor)")
    add("--instructor", action="append", metavar="ID", help=str(who))
    add("--address", type=_address, help=str(_("address to listen on (default: this machine alone)")))
    port = _("port to listen on; the next two are used inside (default: 8000)")
    add("--port", type=_port, help=str(port))
    host = _("name of this machine, if *.NAME leads to it too: everyone's server gets a name of its own")
    add("--host", type=_host, metavar="NAME", help=str(host))
    add("--tls-cert", type=Path, metavar="FILE", help=str(_("certificate, for any address others can reach")))
    add("--tls-key", type=Path, metavar="FILE", help=str(_("private key of the certificate")))
    own = _("make a certificate here; browsers ask once whether to trust it")
    add("--self-signed", action="store_true", default=None, help=str(own))
    add("--memory", type=_memory, help=str(_("memory for each learner (default: 512 MB)")))
    idle = _("stop what nobody has used for so long (default: 60)")
    add("--idle", type=int, metavar="MINUTES", help=str(idle))
    add("--seed", help=str(_("class seed, any text; without it one is drawn and kept in the class folder")))
    add("--proxy", help=str(_("path of configurable-http-proxy (default: found on the PATH)")))
    add("--reset", metavar="ID", action="append", default=[], help=str(_("give this person a new first-use password")))
    erase = _("erase this class for good: accounts, folders, passwords, marks, copies; NAME is the class folder's name")
    add("--erase", metavar="NAME", help=str(erase))
    add("--write-only", action="store_true", help=str(_("write everything, start nothing")))


def run(arguments: argparse.Namespace) -> int:
    """Write the configuration and become the hub; returns only where the hub runs already, or nothing is to start."""
    linux.require_linux_root()
    folder = ClassFolder((arguments.place or arguments.folder or Path("/srv/tapkit")).absolute())
    if arguments.erase is not None:
        return _erase(folder, arguments.erase)
    arguments = remembered(arguments, folder)
    roster = told_roster(arguments.roster) if arguments.roster else folder.roster
    is_running = hub_runs(folder)
    settings = set_up(folder, roster, arguments, is_running=is_running)
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
    if is_running:
        print(_("The hub of this class runs at {address} and was not touched; learners are up to date. Other options "
                "count from its next start.", address=settings.url))  # fmt: skip
        return 0
    print(_("The class signs in at {address}   (Ctrl-C here stops the hub)", address=settings.url), flush=True)
    return _become_hub(settings)


def remembered(arguments: argparse.Namespace, folder: ClassFolder) -> argparse.Namespace:
    """The options with those of the start before, where they were not given again."""
    kept = dict(KEPT)
    with contextlib.suppress(FileNotFoundError, ValueError):
        kept |= json.loads((folder.hub / SETTINGS).read_text(encoding="utf-8"))
    given = {key: getattr(arguments, key) for key in KEPT}
    whole = {key: kept[key] if given[key] is None else given[key] for key in KEPT}
    for key in ("tls_cert", "tls_key"):
        whole[key] = Path(whole[key]).absolute() if str(whole[key]) not in ("", ".") else None
    return argparse.Namespace(**{**vars(arguments), **whole})


def _remember(folder: ClassFolder, arguments: argparse.Namespace) -> None:
    told = {key: str(v) if isinstance(v := getattr(arguments, key), Path) else v for key in KEPT}
    told = {key: "" if value is None else value for key, value in told.items()}
    write_safely(folder.hub / SETTINGS, json.dumps(told, indent=1) + "\n", mode=0o600)


def set_up(folder: ClassFolder, roster: Roster, arguments: argparse.Namespace, *, is_running: bool) -> HubSettings:
    """Accounts, folders, workbooks and certificate of a class; what the configuration has to say.

    Everything is checked before the first account is made.
    """
    learners, instructors = _ids(roster, arguments.instructor)
    proxy = _proxy(arguments.proxy)
    _check_network(arguments)
    if not is_running:
        _check_ports(arguments)
    linux.check_proxy(proxy)
    members.check_machine(folder)
    linux.proxy_account()
    places.guard(folder, linux.group_number)
    if gone := let_go(folder, (*learners, *instructors)):
        _tell_gone(folder, gone)
    known = members.settle_members(folder, learners, instructors)
    places.copy_originals(folder)
    _keep_certificate(folder, arguments)
    if not (folder.tls / GATE_KEY).exists():
        _for_proxy(folder.tls / GATE_KEY, secrets.token_bytes(32))
    _remember(folder, arguments)
    if arguments.roster:
        members.keep_for_instructors(folder.roster_file, arguments.roster.read_bytes())
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
        memory=arguments.memory,
        idle=arguments.idle * 60,
    )


def _check_ports(arguments: argparse.Namespace) -> None:
    """Raise ValueError where another program listens on the ports of the hub."""
    wanted = [(arguments.address, arguments.port), ("127.0.0.1", arguments.port + 1), ("127.0.0.1", arguments.port + 2)]
    for address, port in wanted:
        with socket.socket(socket.AF_INET6 if ":" in address else socket.AF_INET) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((address, port))
            except OSError as error:
                why = (error.strerror or str(error)).lower()
                raise ValueError(
                    _("cannot listen at {address}, port {port} ({why}); choose another --port, nothing was changed",
                      address=address, port=port, why=why)
                ) from None  # fmt: skip


def issue(settings: HubSettings, roster: Roster, *, again: list[str] = ()) -> Path | None:
    """First-use passwords for whoever has none, and for those to be reset; the page of slips, if there are any."""
    everyone = [*settings.instructors, *settings.learners]
    wanted = [plain_id(id) for id in again]
    for id in wanted:
        if id not in everyone:
            raise ValueError(
                _("nobody in this class has the id {id!r}; the roster has {ids} …", id=id, ids=", ".join(everyone[:8]))
            )
    store = PasswordFile(settings.folder.passwords)
    made = store.issue(wanted, again=True) if wanted else store.issue(everyone)
    if not made:
        return None
    names = {one.id: one.name for one in roster}
    page = settings.folder.hub / ("slips-new.html" if wanted else "slips.html")
    for id in (id for id in settings.instructors if id in made and sys.stdout.isatty()):  # never into a log
        print(_("{id} signs in for the first time with {password}", id=id, password=made[id]))
    slips = [PasswordSlip(names.get(id, "Instructor"), id, password) for id, password in made.items()]
    write_safely(page, slips_page(slips, settings.url), mode=0o600)
    return page


def _tell_gone(folder: ClassFolder, gone: tuple[str, ...]) -> None:
    told = _(
        "No longer on the roster, so without account and password: {gone}. Their work lies in {place}; it comes back "
        "with them.",
        gone=listed(gone),
        place=folder.left,
    )
    print(told)


def _shortfalls(settings: HubSettings) -> Sentence | None:
    """What this machine does not give, in one sentence."""
    shut = shut_class_books(originals(), linux.group_number(places.TEACHERS))
    books = tuple(settings.folder.originals.rglob(f"{places.FOR_INSTRUCTORS}*"))
    account = next(iter(settings.accounts.values()))
    return shortfalls(settings.folder, account, settings.memory, (*books, *shut))


def _erase(folder: ClassFolder, name: str) -> int:
    """Erase a class whose folder's name was typed once more."""
    if name != folder.root.name:
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
        _for_proxy(folder.tls / name, text)


def _for_proxy(path: Path, content: str | bytes) -> None:
    """Write what root and the proxy's account alone may read."""
    write_safely(path, content, mode=0o640)
    os.chown(path, 0, linux.group_number(places.PROXY))


def _class_seed(folder: ClassFolder, given: str | None) -> str:
    """The class seed: the one given, else the one kept, else a new one; kept where instructors alone read it."""
    kept = folder.seed if folder.seed_file.exists() else ""
    seed = given or kept or new_seed()
    if seed != kept:
        members.keep_for_instructors(folder.seed_file, f"{seed}\n".encode())
    return seed


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
