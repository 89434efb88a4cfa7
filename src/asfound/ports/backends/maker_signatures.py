"""The three forms in which makers sign: bare Ed25519, minisign's files, X.509 certificates."""

from __future__ import annotations

from datetime import datetime

from asfound.model.firmware import Trust
from asfound.ports.backends.minisign_file import minisign_fault
from asfound.ports.backends.signatures_ed25519 import Ed25519
from asfound.ports.backends.x509_signature import x509_fault
from asfound.ports.maker_signatures import Signed


class Makers:
    """See ports.maker_signatures.MakerSignatures."""

    def fault(self, trust: Trust, signed: Signed, now: datetime) -> str:
        """See MakerSignatures."""
        if trust.minisign:
            return minisign_fault(trust.minisign, signed.content, signed.signature)
        if trust.ca:
            pair = (signed.content, signed.signature)
            return x509_fault(trust.ca, signed.certificate, pair, now)
        if Ed25519().verify(trust.key, signed.content, signed.signature):
            return ""
        return "its maker did not sign this file"
