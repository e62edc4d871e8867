"""The company's signing keys: made on set-up, kept in a folder of their own, and rotated.

They lie in ``SIGNING_KEY_DIR``, outside the checkout, the database and its dumps. The folder holds, by the
fingerprint of its certificate: ``<fingerprint>.cert.pem`` of every key there ever was, since papers signed
with it are verified for decades; ``<fingerprint>.key.pem``, readable by its owner alone, of the key in use;
``current``, which names that one; and ``signed.log``, what was signed with them (see :mod:`.journal`).
"""

from __future__ import annotations

import datetime
import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.x509.oid import NameOID
from django.conf import settings
from django.utils.translation import gettext as _

from contracting.documents.errors import DocumentError

# NIST SP 800-57 part 1 rates 3072 bits at 128 bits of strength, beyond 2030 (from memory).
KEY_BITS = 3072
# A warranty is verified long after it was signed. Nobody but us vouches for the certificate, so a short
# life would protect nobody.
VALID_DAYS = 366 * 60
FINGERPRINT_LENGTH = 32


class KeyMissing(DocumentError):
    """There is no key to sign with on this machine."""


@dataclass(frozen=True)
class SigningKey:
    """The key in use, as the files that hold it."""

    fingerprint: str
    key_file: Path
    certificate_file: Path


def folder() -> Path:
    return Path(settings.SIGNING_KEY_DIR)


def current_key() -> SigningKey:
    """Return the key in use; in the demonstration it is made when it is first asked for.

    Raises:
        KeyMissing: there is none here.
    """
    found = _current()
    if found is None and settings.DEMO:
        with locked():
            found = _current() or _make("Demonstration")
    if found is None:
        raise KeyMissing(
            _("There is no signing key here. Run “manage.py make_signing_key” where PDFs are made.")
        )
    return found


def key_make(*, company: str, rotate: bool = False) -> tuple[SigningKey, bool]:
    """Make the company's key, and return it and whether it is new.

    Args:
        company: stands in the certificate.
        rotate: make a new one although there is one; the old private key is destroyed, its certificate kept.
    """
    with locked():
        old = _current()
        if old is not None and not rotate:
            return old, False
        made = _make(company)
        if old is not None:
            old.key_file.unlink()
        return made, True


def certificate_files() -> list[Path]:
    """Return the certificate of every key there ever was."""
    return sorted(folder().glob("*.cert.pem"))


@contextmanager
def locked() -> Iterator[None]:
    """Hold the folder, so that two processes neither make two keys nor tear a line of the journal."""
    folder().mkdir(mode=0o700, parents=True, exist_ok=True)
    handle = os.open(folder() / "lock", os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _current() -> SigningKey | None:
    try:
        fingerprint = (folder() / "current").read_text().strip()
    except FileNotFoundError:
        return None
    key = SigningKey(fingerprint, folder() / f"{fingerprint}.key.pem", folder() / f"{fingerprint}.cert.pem")
    return key if key.key_file.exists() and key.certificate_file.exists() else None


def _make(company: str) -> SigningKey:
    private = rsa.generate_private_key(public_exponent=65537, key_size=KEY_BITS)
    certificate = _certificate(private, company)
    fingerprint = certificate.fingerprint(hashes.SHA256()).hex()[:FINGERPRINT_LENGTH]
    made = SigningKey(fingerprint, folder() / f"{fingerprint}.key.pem", folder() / f"{fingerprint}.cert.pem")
    pem = private.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    _write(made.key_file, pem, 0o600)
    _write(made.certificate_file, certificate.public_bytes(serialization.Encoding.PEM), 0o644)
    # Last, and in one step: a key that was not finished is never the one in use.
    _write(folder() / "current.new", f"{fingerprint}\n".encode(), 0o644)
    (folder() / "current.new").replace(folder() / "current")
    return made


def _write(place: Path, content: bytes, mode: int) -> None:
    """Write a file that had its rights before it had its content."""
    place.unlink(missing_ok=True)
    handle = os.open(place, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
    with os.fdopen(handle, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _certificate(private: rsa.RSAPrivateKey, company: str) -> x509.Certificate:
    """Return a certificate that vouches for itself: the company is the only one who can say it is its own."""
    now = datetime.datetime.now(datetime.UTC)
    name = x509.Name(
        [
            x509.NameAttribute(NameOID.ORGANIZATION_NAME, company[:64]),
            x509.NameAttribute(NameOID.COMMON_NAME, f"{company[:40]}, warranty records"),
        ]
    )
    usage = x509.KeyUsage(
        digital_signature=True,
        # Called non-repudiation before: the signature stands for what is said in the document.
        content_commitment=True,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=False,
        crl_sign=False,
        encipher_only=False,
        decipher_only=False,
    )
    return (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(private.public_key())
        .serial_number(x509.random_serial_number())
        # A little back, for workers whose clocks differ.
        .not_valid_before(now - datetime.timedelta(hours=1))
        .not_valid_after(now + datetime.timedelta(days=VALID_DAYS))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .sign(private, hashes.SHA256())
    )
