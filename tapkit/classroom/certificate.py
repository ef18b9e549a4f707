"""A certificate made on the classroom machine by openssl, for classes without one from an authority."""

import socket
import subprocess
import tempfile
from pathlib import Path

from tapkit.messages import _

DAYS = 397
"""Browsers refuse server certificates that live longer (CA/Browser Forum, Baseline Requirements, 6.3.2) [memory]."""

CONFIG = """[req]
distinguished_name = name
x509_extensions = server
prompt = no
[name]
CN = tapkit class
[server]
subjectAltName = {names}
basicConstraints = critical, CA:FALSE
"""


def self_signed(address: str, host: str = "") -> tuple[str, str]:
    """Certificate and private key as PEM texts for an address, this machine's name, and a `host` with all names below
    it; ValueError without openssl."""
    names = [f"DNS:{name}" for name in ("localhost", socket.gethostname())]
    names += [f"DNS:{host}", f"DNS:*.{host}"] if host else []
    names += [f"IP:{a}" for a in ("127.0.0.1", address) if a not in ("0.0.0.0", "::")]
    with tempfile.TemporaryDirectory() as folder:
        config, key, certificate = (Path(folder) / name for name in ("config", "key.pem", "cert.pem"))
        config.write_text(CONFIG.format(names=", ".join(dict.fromkeys(names))), encoding="utf-8")
        command = ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes",
                   "-days", str(DAYS), "-config", config, "-keyout", key, "-out", certificate]  # fmt: skip
        try:
            subprocess.run(command, check=True, capture_output=True, timeout=60)
        except (OSError, subprocess.SubprocessError) as error:
            raise ValueError(
                _(
                    "openssl made no certificate ({why}); install openssl, or give --tls-cert and --tls-key",
                    why=str(error),
                )
            ) from None
        return certificate.read_text(encoding="ascii"), key.read_text(encoding="ascii")
