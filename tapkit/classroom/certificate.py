"""A certificate made on the classroom machine, for classes without one from an authority."""

from __future__ import annotations

import ipaddress
import socket
from datetime import UTC, datetime, timedelta

DAYS = 397
"""Browsers refuse server certificates that live longer (CA/Browser Forum, Baseline Requirements, 6.3.2) [memory]."""


def self_signed(address: str) -> tuple[str, str]:
    """Certificate and private key as PEM texts for an address and this machine's name.

    Needs the package cryptography, which the extra tapkit[hub] brings.
    """
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "tapkit class")])
    names: list[x509.GeneralName] = [x509.DNSName(n) for n in {"localhost", socket.gethostname()}]
    names += [x509.IPAddress(ipaddress.ip_address(a)) for a in {address, "127.0.0.1"} if a not in ("0.0.0.0", "::")]
    start = datetime.now(UTC) - timedelta(hours=1)
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(start)
        .not_valid_after(start + timedelta(days=DAYS))
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    secret = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    return certificate.public_bytes(serialization.Encoding.PEM).decode(), secret.decode()
