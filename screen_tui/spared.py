"""What the libraries load in case somebody needs it, and this program never does.

It speaks with no network, unpacks no archive, has no plug-ins and looks up no time zone by name.
Leaving this out before anything else is imported spares the open program 7 of 56 MiB and its first
page some 20 ms. All of it the libraries themselves can do without, where it is missing.
"""

from __future__ import annotations

import importlib
import os
import sys
from importlib.util import find_spec
from types import ModuleType
from typing import Any

_NEVER_NEEDED = ("ssl", "bz2", "lzma")
"""Encrypted connections and archives: who imports these goes on without, as Python may be built
without them. Not so zlib, with which the framework makes pictures of a screen."""

_OPENSSL = "_hashlib"
_BUILT_IN = (("_md5",), ("_sha1",), ("_sha256", "_sha2"), ("_sha512", "_sha2"), ("_sha3",))
"""What Python computes digests with where there is no OpenSSL; the names changed with 3.12."""

_SETTINGS = {"PYDANTIC_DISABLE_PLUGINS": "__all__", "PYTHONTZPATH": ""}
"""No foreign code sees what is read, and no file of time zones is looked for."""

_METADATA = "importlib.metadata"


def spare() -> None:
    """Leave these out; what is loaded already, or set by the person, stays as it is."""
    for name in _NEVER_NEEDED:
        _leave_out(name)
    # Some systems build Python to compute digests with OpenSSL only.
    if all(any(find_spec(name) for name in names) for names in _BUILT_IN):
        _leave_out(_OPENSSL)
    for name, value in _SETTINGS.items():
        os.environ.setdefault(name, value)
    if _METADATA not in sys.modules:
        sys.modules[_METADATA] = importlib.metadata = _Metadata(_METADATA)


def _leave_out(name: str) -> None:
    # The documented way to make an import fail as if the module were not there.
    sys.modules.setdefault(name, None)  # type: ignore[arg-type]


class _Metadata(ModuleType):
    """Stands for the reader of installed packages until it is asked something.

    It loads a reader of mail and one of archives; the models import it for plug-ins alone.
    """

    def entry_points(self, **wanted: Any) -> Any:
        """Ask the one that was stood for."""
        return _real().entry_points(**wanted)

    def __getattr__(self, name: str) -> Any:
        """Give way to the one that was stood for."""
        # The import statement asks for some of these; that is no question to the real one.
        if name.startswith("__"):
            raise AttributeError(name)
        return getattr(_real(), name)


def _real() -> ModuleType:
    if isinstance(sys.modules.get(_METADATA), _Metadata):
        del sys.modules[_METADATA]
    return importlib.import_module(_METADATA)
