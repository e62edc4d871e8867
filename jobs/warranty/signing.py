"""Signing a PDF, and examining one that somebody sent. No Django models here and no database.

The signature is a certifying one that forbids every later change (ISO 32000-1, 12.8.2.2), in the form of
PAdES baseline B (ETSI EN 319 142-1). Nobody stamps the time: the time of signing is the worker's own clock.
"""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from .keys import SigningKey

Result = TypeVar("Result")

ATTACHMENT = "warranty-record.json"
FIELD = "Company"
# Content of this size is not a record of ours; unpacked, a small file can be a very large one.
LARGEST_ATTACHMENT = 20_000_000


@dataclass(frozen=True)
class Examined:
    """What a file says about itself.

    Attributes:
        is_readable: it is a PDF that can be read.
        is_ours: it carries a signature by one of our keys, whatever became of the file since.
        is_whole: the signature is by one of our keys, covers every byte, and nothing was changed after it.
        content_sha256: hash of the record inside, "" where there is none.
        number, code: what the record inside calls itself; proven only by *is_whole*.
    """

    is_readable: bool = False
    is_ours: bool = False
    is_whole: bool = False
    content_sha256: str = ""
    number: str = ""
    code: str = ""

    def as_json(self) -> dict[str, Any]:
        return asdict(self)


def sign(pdf: bytes, key: SigningKey, *, reason: str, place: str) -> bytes:
    """Return *pdf* with the company's signature appended; the bytes before it stay as they are."""
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
    from pyhanko.sign import signers
    from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter

    signer = signers.SimpleSigner.load(str(key.key_file), str(key.certificate_file))  # type: ignore[no-untyped-call]
    if signer is None:
        raise OSError(f"the key {key.fingerprint} cannot be read")
    how = signers.PdfSignatureMetadata(
        field_name=FIELD,
        md_algorithm="sha256",
        subfilter=SigSeedSubFilter.PADES,
        certify=True,
        docmdp_permissions=MDPPerm.NO_CHANGES,
        reason=reason,
        location=place or None,
    )
    signed = io.BytesIO()
    _apart(
        partial(
            signers.sign_pdf, IncrementalPdfFileWriter(io.BytesIO(pdf)), how, signer=signer, output=signed
        )
    )
    return signed.getvalue()


def _apart(act: Callable[[], Result]) -> Result:
    """Return what *act* returns, done in a thread of its own.

    pyHanko runs an event loop inside, which Python refuses in a thread that runs one already.
    """
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(act).result()


def examine(pdf: bytes, certificates: Sequence[Path]) -> Examined:
    """Return what *pdf* says about itself, and whether it is as one of *certificates* signed it.

    A file from a stranger may be made to hurt its reader: the web gives such ones to a process of their own
    (:mod:`.examiner`).
    """
    from pyhanko.pdf_utils.reader import PdfFileReader

    try:
        reader = PdfFileReader(io.BytesIO(pdf))
        signatures = reader.embedded_regular_signatures
    # Whatever a broken or hostile file does to its reader, it is unreadable.
    except Exception:
        return Examined()
    content = _content(reader)
    told = _told(content)
    return Examined(
        is_readable=True,
        is_ours=any(_is_ours(one, certificates) for one in signatures),
        is_whole=len(signatures) == 1
        and _is_filled_out(pdf, signatures[0])
        and _is_whole(signatures[0], certificates),
        content_sha256=hashlib.sha256(content).hexdigest() if content else "",
        number=told.get("number", ""),
        code=told.get("code", ""),
    )


def _is_ours(signature: Any, certificates: Sequence[Path]) -> bool:
    """Whether the certificate that came with a signature is one of ours."""
    try:
        told = signature.signer_cert.dump()
        return any(told == one.dump() for one in _certificates(certificates))
    except Exception:
        return False


def _certificates(places: Sequence[Path]) -> list[Any]:
    from pyhanko.keys import load_certs_from_pemder

    return list(load_certs_from_pemder([str(place) for place in places]))  # type: ignore[no-untyped-call]


def _is_whole(signature: Any, certificates: Sequence[Path]) -> bool:
    """Whether one of our keys signed exactly this file.

    ``intact`` alone says only that the bytes that were signed are unchanged, and is true of a file to which
    something was added; ``bottom_line`` with the coverage of the whole file says it all.
    """
    from pyhanko.sign.validation import validate_pdf_signature
    from pyhanko.sign.validation.status import SignatureCoverageLevel
    from pyhanko_certvalidator import ValidationContext

    trusted = _certificates(certificates)
    if not trusted:
        return False
    try:
        context = ValidationContext(trust_roots=trusted, allow_fetching=False)
        status = _apart(partial(validate_pdf_signature, signature, context))
    # What cannot be validated is not valid.
    except Exception:
        return False
    return bool(status.bottom_line) and status.coverage is SignatureCoverageLevel.ENTIRE_FILE


def _is_filled_out(pdf: bytes, signature: Any) -> bool:
    """Whether the place of the signature, which no signature can cover, holds it and zeros as we write them.

    Readers pass over what stands there behind the signature, so a byte could be changed unseen.
    """
    from asn1crypto import parser

    try:
        _, before, after, _ = (int(number) for number in signature.byte_range)
        place = pdf[before:after]
        held = bytes.fromhex(place[1:-1].decode("ascii"))
        length = parser.peek(held)
    # What cannot be read is not as we wrote it.
    except Exception:
        return False
    return place == b"<" + held.hex().upper().encode() + b">" and not held[length:].strip(b"\0")


def _content(reader: Any) -> bytes:
    """Return the record inside the file, b"" where there is none."""
    try:
        names = reader.root["/Names"]["/EmbeddedFiles"]["/Names"]
        for at in range(1, len(names), 2):
            spec = names[at]
            if str(spec.get("/UF", spec.get("/F", ""))) == ATTACHMENT:
                data: bytes = spec["/EF"]["/F"].data
                return data if len(data) <= LARGEST_ATTACHMENT else b""
    except Exception:
        return b""
    return b""


def _told(content: bytes) -> dict[str, str]:
    try:
        record = json.loads(content)["record"]
        return {name: str(record[name])[:24] for name in ("number", "code")}
    except (ValueError, KeyError, TypeError, RecursionError):
        return {}
