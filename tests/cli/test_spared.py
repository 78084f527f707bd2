"""What is left out at the start stays out, and nobody who does need it goes without."""

from __future__ import annotations

import os
import subprocess
import sys
from importlib.util import find_spec

import pytest

from screen_tui.spared import _BUILT_IN

_OPENED = (
    "import screen_tui.cli, screen_tui.launch, screen_tui.tui.run, screen_tui.opening\n"
    "import screen_tui.tui.pages\n"
)
_LEFT_OUT = (
    "_hashlib",
    "_lzma",
    "_ssl",
    "bz2",
    "email",
    "zipfile",
)
_OPENED_SELDOM = (
    "html",
    "screen_tui.engine.progress",
    "screen_tui.report.note_change",
    "screen_tui.report.patient_sheet",
    "screen_tui.tui.screens.addendum",
    "screen_tui.tui.screens.jump",
    "screen_tui.tui.screens.practice",
    "screen_tui.tui.screens.preferences",
    "screen_tui.tui.screens.set_up",
    "screen_tui.tui.screens.trials",
    "screen_tui.tui.screens.type_in",
    "screen_tui.tui.screens.visits",
)


OWN_DIGESTS = all(any(find_spec(name) for name in names) for names in _BUILT_IN)


def printed(code: str, **variables: str) -> str:
    """What a fresh interpreter prints."""
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
        env={**os.environ, **variables},
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def spared(code: str, **variables: str) -> str:
    """What it prints after the start of the program."""
    return printed(f"import sys\nfrom screen_tui.spared import spare\nspare()\n{code}", **variables)


def test_an_open_program_has_loaded_nothing_it_does_not_use() -> None:
    openssl = () if OWN_DIGESTS else ("_hashlib",)
    names = sorted({*_LEFT_OUT, *_OPENED_SELDOM} - set(openssl))
    assert spared(f"{_OPENED}print([n for n in {names!r} if sys.modules.get(n)])") == "[]"


@pytest.mark.skipif(sys.version_info >= (3, 13), reason="libraries may load less by themselves")
def test_without_sparing_they_would_be_loaded() -> None:
    """Otherwise the test above would say nothing, and sparing could go."""
    there = [name for name in _LEFT_OUT if find_spec(name)]
    listed = printed(f"import sys\n{_OPENED}print([n for n in {there!r} if n in sys.modules])")
    assert listed == str(there)


@pytest.mark.skipif(not OWN_DIGESTS, reason="this Python computes digests with OpenSSL only")
def test_digests_are_right_without_openssl() -> None:
    """The digest of "abc": FIPS 180-4 (NIST, 2015) with its example values for SHA-256."""
    code = "import hashlib; print(hashlib.sha256(b'abc').hexdigest(), sys.modules['_hashlib'])"
    assert spared(code) == ("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad None")


@pytest.mark.parametrize("missing", ["_md5", "_sha3", "_sha2"])
def test_where_python_has_no_digests_of_its_own_openssl_stays(missing: str) -> None:
    code = (
        "import sys\n"
        "from screen_tui import spared\n"
        "real = spared.find_spec\n"
        f"spared.find_spec = lambda name: None if name.startswith({missing!r}) else real(name)\n"
        "spared.spare()\n"
        "import hashlib\n"
        "print(hashlib.sha256(b'').name, sys.modules.get('_hashlib') is not None)"
    )
    assert printed(code) == "sha256 True"


def test_what_is_loaded_already_stays() -> None:
    code = (
        "import bz2, ssl, importlib.metadata\n"
        "before = importlib.metadata\n"
        "from screen_tui.spared import spare\n"
        "spare()\n"
        "import sys\n"
        "kept = sys.modules['ssl'] is ssl, sys.modules['bz2'] is bz2\n"
        "print(*kept, importlib.metadata is before is sys.modules['importlib.metadata'])"
    )
    assert printed(code) == "True True True"


def test_what_a_person_set_stays() -> None:
    code = "import os; print(os.environ['PYTHONTZPATH'], os.environ['PYDANTIC_DISABLE_PLUGINS'])"
    given = {"PYTHONTZPATH": "/zones", "PYDANTIC_DISABLE_PLUGINS": "one"}
    assert spared(code, **given) == "/zones one"


@pytest.mark.parametrize(
    "code",
    [
        "from importlib.metadata import version; print(version('tomli-w'))",
        "import importlib.metadata; print(importlib.metadata.version('tomli-w'))",
        "import importlib.metadata as m; print(m.distribution('tomli-w').version)",
        (
            "from importlib.metadata import entry_points, version\n"
            "assert 'screen-tui' in entry_points(group='console_scripts').names\n"
            "print(version('tomli-w'))"
        ),
    ],
)
def test_who_asks_for_installed_packages_is_answered(code: str) -> None:
    asked = "from importlib.metadata import version; print(version('tomli-w'))"
    after = "import importlib, importlib.metadata\nassert 'email' in sys.modules"
    assert spared(f"{code}\n{after}") == printed(asked)


def test_a_foreign_plug_in_of_the_models_is_never_run() -> None:
    code = (
        "import importlib.metadata\n"
        "importlib.metadata.entry_points = lambda **wanted: 1 / 0\n"
        "from screen_tui.session.model import Client\n"
        "print(Client(label='K-7', age=67).label)"
    )
    assert spared(code) == "K-7"


def test_a_picture_of_a_screen_can_still_be_made() -> None:
    code = (
        "import asyncio\n"
        "from textual.app import App\n"
        "async def picture():\n"
        "    app = App()\n"
        "    async with app.run_test():\n"
        "        return app.export_screenshot()\n"
        "print(asyncio.run(picture())[:4])"
    )
    assert spared(code) == "<svg"
