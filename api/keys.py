"""The keys that requests bring: read once, kept as digests, compared as the bytes that they are."""

from __future__ import annotations

import hashlib
import hmac
import os
from pathlib import Path

from api.settings import BadSetting, Settings

_MARK = b"\xef\xbb\xbf"
"""What some editors put before a text in UTF-8."""


def read_keys(settings: Settings) -> tuple[bytes, ...]:
    """Digests of the keys that the settings name.

    Raises
    ------
    BadSetting
        When keys are asked for and there is none, or the file of keys cannot be read: nobody is let in by a slip.
    """
    keys = [key.strip() for key in os.fsencode(settings.keys).split(b",")]
    if settings.keys and not any(keys):
        raise BadSetting("SEQUENCER_KEYS holds no key")
    if settings.keys_file:
        try:
            lines = Path(settings.keys_file).read_bytes().removeprefix(_MARK).splitlines()
        except (OSError, ValueError):
            raise BadSetting("SEQUENCER_KEYS_FILE cannot be read") from None
        found = [line.strip() for line in lines if line.strip() and not line.lstrip().startswith(b"#")]
        if not found:
            raise BadSetting("SEQUENCER_KEYS_FILE holds no key")
        keys += found
    return tuple(_digest(key) for key in keys if key)


def is_known(authorization: bytes, keys: tuple[bytes, ...]) -> bool:
    """Whether an ``Authorization`` header brings one of the keys whose digests these are."""
    scheme, _, key = authorization.partition(b" ")
    digest = _digest(key.strip())
    # Every key is compared, each in constant time, so that the time taken says nothing about any.
    matches = [hmac.compare_digest(digest, each) for each in keys]
    return scheme.lower() == b"bearer" and any(matches)


def _digest(key: bytes) -> bytes:
    return hashlib.sha256(key).digest()
