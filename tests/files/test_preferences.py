"""Preferences: read whole or not at all, changed by the line, never written over when broken."""

from __future__ import annotations

import errno
import os
import stat
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.hostile import possible_letters

from screen_tui import preferences
from screen_tui.errors import FileRefusedError, SaveFailedError
from screen_tui.files.places import preferences_file
from screen_tui.files.toml import parse_toml, validate
from screen_tui.files.toml_write import written_value
from screen_tui.preferences import (
    NAMES,
    Preferences,
    load_preferences,
    new_file,
    next_value,
    preferred,
    protocol_folders,
    save_value,
    with_value,
)

OTHERS = {
    "bell": False,
    "flash": False,
    "count_in_s": 5,
    "layout": "narrow",
    "theme": "high-contrast",
    "protocol": "hip-screen",
    "last_values": True,
    "clipboard": True,
    "protocols": ("~/clinic", "/srv/knees # 1"),
}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "preferences.toml"


def read(text: str) -> Preferences:
    return validate(parse_toml(text.encode(), Path("preferences.toml")), Preferences)


def refused(path: Path, text: str) -> str:
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileRefusedError) as caught:
        load_preferences(path)
    return str(caught.value)


def test_a_missing_file_gives_the_usual_values(path: Path) -> None:
    usual = load_preferences(path)
    assert (usual.bell, usual.flash, usual.count_in_s) == (True, True, 0)
    assert (usual.layout, usual.theme) == ("auto", "auto")
    assert (usual.protocol, usual.protocols) == ("chairside-knee", ())
    assert not path.exists()


def test_every_value_is_read(path: Path) -> None:
    path.write_text(
        "bell = false\nflash = false\ncount_in_s = 5\nlayout = 'narrow'\n"
        'theme = "high-contrast"\nprotocol = "hip-screen"\n'
        'last_values = true\nclipboard = true\nprotocols = ["~/clinic", "/srv/knees # 1"]\n',
        encoding="utf-8",
    )
    assert load_preferences(path) == Preferences(**OTHERS)
    assert set(OTHERS) == set(NAMES)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("bell = true\nflash = \n", ":2: the value is missing"),
        ("\nbell = 1\n", ":2: bell: must be true or false"),
        ("belll = true\n", ":1: belll: is not a known field here"),
        ("count_in_s = 11\n", ":1: count_in_s: must be at most 10"),
        ("count_in_s = -1\n", ":1: count_in_s: must be at least 0"),
        ("count_in_s = 2.5\n", ":1: count_in_s: must be a whole number"),
        ("count_in_s = true\n", ":1: count_in_s: must be a whole number"),
        ('layout = "wide"\n', ':1: layout: must be one of "auto", "narrow"'),
        ('theme = "contrast"\n', ":1: theme: must be one of"),
        ('protocol = "../x"\n', ":1: protocol: must be lower-case letters"),
        ('protocols = [\n"a",\n""]\n', ":3: protocols[1]: must not be empty"),
        ('protocols = ["a\\u001b"]\n', ":1: protocols[0]: holds the control character"),
        ("format = 2\nsound = 1\n", ":1: format: is 2, and this program reads up to 1"),
        ("[bell]\n", ":1: bell: must be true or false"),
    ],
)
def test_what_is_wrong_is_shown_with_its_line_and_field(path: Path, text: str, told: str) -> None:
    assert refused(path, text).startswith(f"{path}{told}")


def test_a_broken_file_leaves_the_usual_values_and_says_why(path: Path) -> None:
    path.write_text('bell = false\ntheme = "pink"\n', encoding="utf-8")
    wished = preferred(path)
    assert wished.now == Preferences()
    (problem,) = wished.problems
    assert problem.startswith(f"{path}:2: theme: ")


def test_where_the_file_lies(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SCREEN_TUI_HOME", str(tmp_path / "stick"))
    assert preferences_file() == tmp_path / "stick" / "preferences.toml"
    monkeypatch.delenv("SCREEN_TUI_HOME")
    monkeypatch.setattr("platformdirs.user_config_path", lambda *_a, **_k: tmp_path / "config")
    assert preferences_file() == tmp_path / "config" / "preferences.toml"
    assert not (tmp_path / "config").exists()


def test_a_clinics_folders_lie_at_home_or_beside_the_file(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOME", "/home/pt")
    wished = Preferences(protocols=("~/clinic", "mine", "/srv/knees", "~nobody-here/x"))
    assert protocol_folders(wished, path) == (
        Path("/home/pt/clinic"),
        path.parent / "mine",
        Path("/srv/knees"),
        path.parent / "~nobody-here/x",
    )


# Changing one line.


def test_a_new_file_explains_every_value_and_changes_nothing() -> None:
    text = new_file()
    assert read(text) == Preferences()
    assert set(tomllib.loads(text)) == {"format", *NAMES, "student"}
    for name in NAMES:
        before, _, _ = text.partition(f"\n{name} = ")
        assert before.splitlines()[-1].startswith("# ")
    assert all(len(line) <= 88 for line in text.splitlines())


@pytest.mark.parametrize("empty", ["", "\n \n"])
@pytest.mark.parametrize("name", NAMES)
def test_the_first_change_writes_a_file_that_explains_itself(empty: str, name: str) -> None:
    text = with_value(empty, name, OTHERS[name])
    assert read(text) == Preferences(**{name: OTHERS[name]})
    assert text.count("# ") >= len(NAMES)


@pytest.mark.parametrize(
    ("text", "name", "value", "after"),
    [
        ("bell = true # loud\n", "bell", False, "bell = false # loud\n"),
        ("  bell=true\r\nflash = true\r\n", "bell", False, "  bell=false\r\nflash = true\r\n"),
        ('"bell" = true', "bell", False, '"bell" = false'),
        ("# bell = true\n", "bell", False, "# bell = true\nbell = false\n"),
        ("flash = true", "bell", False, "flash = true\nbell = false\n"),
        ("flash = true\r\n", "bell", False, "flash = true\r\nbell = false\r\n"),
        ("theme = 'dark'#now\n", "theme", "light", 'theme = "light"#now\n'),
        ('theme = "a#b" # c # d\n', "theme", "light", 'theme = "light" # c # d\n'),
        ('theme = """dark"""\nbell = true\n', "theme", "light", 'theme = "light"\nbell = true\n'),
        (
            'protocols = [ # ours\n  "a]#",\n] # end\nbell = true\n',
            "protocols",
            ("b",),
            'protocols = ["b"] # end\nbell = true\n',
        ),
        (
            'protocols = [\n"""\nbell = true""",\n]\nbell = true\n',
            "bell",
            False,
            'protocols = [\n"""\nbell = true""",\n]\nbell = false\n',
        ),
    ],
)
def test_only_the_line_of_the_value_is_rewritten(
    text: str, name: str, value: object, after: str
) -> None:
    assert with_value(text, name, value) == after


_comment = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]) | st.just("\t"), max_size=20
).map(lambda text: f"#{text}")
_gap = st.sampled_from(["", " ", "\t", "   "])
_written = {
    "bell": st.sampled_from(["true", "false"]),
    "flash": st.sampled_from(["true", "false"]),
    "count_in_s": st.sampled_from(["0", "3", "1_0", "+5", "0x0A"]),
    "layout": st.sampled_from(['"auto"', "'narrow'", '"""auto"""']),
    "theme": st.sampled_from(['"auto"', "'high-contrast'", r'"d\u0061rk"']),
    "last_values": st.sampled_from(["true", "false"]),
    "clipboard": st.sampled_from(["true", "false"]),
    "protocol": st.sampled_from(['"chairside-knee"', "'hip'"]),
    "protocols": st.sampled_from(["[]", '["a # b", "]"]', "[ 'a', ]", '[\n  "a",\n\n  "b"\n]']),
}
_value = {
    "bell": st.booleans(),
    "flash": st.booleans(),
    "count_in_s": st.integers(0, 10),
    "layout": st.sampled_from(["auto", "narrow"]),
    "theme": st.sampled_from(["auto", "dark", "light", "high-contrast", "monochrome"]),
    "last_values": st.booleans(),
    "clipboard": st.booleans(),
    "protocol": st.from_regex(r"[a-z0-9]{1,9}(-[a-z0-9]{1,9}){0,2}", fullmatch=True),
    "protocols": st.lists(st.text(possible_letters(), min_size=1, max_size=12), max_size=3).map(
        tuple
    ),
}


@st.composite
def files(draw: st.DrawFn) -> list[tuple[str, str, str, str]]:
    """Statements: the preference or "", what stands before its value, the value, what follows."""
    statements: list[tuple[str, str, str, str]] = []
    for name in draw(st.lists(st.sampled_from(NAMES), unique=True)):
        for _ in range(draw(st.integers(0, 2))):
            statements.append(("", draw(_comment | _gap), "", ""))
        key = draw(st.sampled_from([name, f'"{name}"', f"'{name}'"]))
        head = f"{draw(_gap)}{key}{draw(_gap)}={draw(_gap)}"
        tail = draw(_gap) + draw(st.just("") | _comment)
        statements.append((name, head, draw(_written[name]), tail))
    return [*statements, *[("", draw(_comment), "", "") for _ in range(draw(st.integers(0, 2)))]]


def file_of(statements: list[tuple[str, str, str, str]], line_end: str, *, ended: bool) -> str:
    text = "\n".join("".join(parts) for _, *parts in statements) + "\n" * ended
    return text.replace("\n", line_end)


@given(files(), st.sampled_from(["\n", "\r\n"]), st.booleans(), st.data())
def test_comments_order_and_all_else_stay_whatever_is_changed(
    statements: list[tuple[str, str, str, str]], line_end: str, ended: bool, data: st.DataObject
) -> None:
    text = file_of(statements, line_end, ended=ended)
    name = data.draw(st.sampled_from(NAMES))
    value = data.draw(_value[name])
    after = with_value(text, name, value)
    assert read(after) == read(text).model_copy(update={name: value})
    if not text.strip():
        return
    if name in [one for one, *_ in statements]:
        changed = [
            (one, head, written_value(value) if one == name else old, tail)
            for one, head, old, tail in statements
        ]
        assert after == file_of(changed, line_end, ended=ended)
    else:
        assert after.startswith(text)
        assert after[len(text) :].strip() == f"{name} = {written_value(value)}"


# On disk.


def test_a_change_is_saved_and_the_folder_made(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "config" / "preferences.toml"
    save_value(path, "bell", False)
    assert load_preferences(path) == Preferences(bell=False)
    save_value(path, "theme", "light")
    assert load_preferences(path) == Preferences(bell=False, theme="light")
    assert list(path.parent.iterdir()) == [path]


@pytest.mark.skipif(os.name != "posix", reason="modes are a matter of POSIX")
def test_only_the_owner_may_read_the_file(path: Path) -> None:
    save_value(path, "bell", False)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_what_another_program_wrote_meanwhile_stays(path: Path) -> None:
    save_value(path, "bell", False)
    path.write_text(path.read_text().replace("count_in_s = 0", "count_in_s = 4 # slow"))
    save_value(path, "flash", False)
    assert "count_in_s = 4 # slow" in path.read_text()
    assert load_preferences(path) == Preferences(bell=False, flash=False, count_in_s=4)


@pytest.mark.parametrize("text", ["bell = maybe\n", "format = 2\nbell = true\n", "loud = true\n"])
def test_a_broken_or_newer_file_is_never_written_over(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileRefusedError):
        save_value(path, "bell", False)
    assert path.read_text(encoding="utf-8") == text
    assert list(path.parent.iterdir()) == [path]


def test_a_text_that_came_out_wrong_is_not_written(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    save_value(path, "bell", False)
    before = path.read_bytes()
    for wrong in ("bell = ", "bell = true\n", "bell = true\nflash = false\n"):
        monkeypatch.setattr(preferences, "with_value", lambda *_, wrong=wrong: wrong)
        with pytest.raises(SaveFailedError, match="by hand"):
            save_value(path, "theme", "light")
        assert path.read_bytes() == before


def test_a_disk_that_refuses_is_shown(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    save_value(path, "bell", False)

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(preferences, "write_whole", full)
    with pytest.raises(SaveFailedError, match="the disk is full"):
        save_value(path, "bell", True)
    assert load_preferences(path) == Preferences(bell=False)


def test_a_file_in_the_way_of_the_folder_is_shown(tmp_path: Path) -> None:
    (tmp_path / "config").write_text("not a folder")
    with pytest.raises(SaveFailedError, match="a file is where a folder is needed"):
        save_value(tmp_path / "config" / "preferences.toml", "bell", False)


@pytest.mark.skipif(os.name != "posix", reason="links are made differently elsewhere")
def test_a_link_stays_a_link(tmp_path: Path, path: Path) -> None:
    kept = tmp_path / "dotfiles" / "screen.toml"
    kept.parent.mkdir()
    kept.write_text("bell = true\n")
    path.symlink_to(kept)
    save_value(path, "bell", False)
    assert path.is_symlink()
    assert kept.read_text() == "bell = false\n"


# Choosing.


def test_values_go_round() -> None:
    now = Preferences(count_in_s=4)
    assert next_value(now, "count_in_s") == 5
    seen = []
    for _ in range(4):
        now = now.model_copy(update={"count_in_s": next_value(now, "count_in_s")})
        seen.append(now.count_in_s)
    assert seen == [5, 10, 0, 3]
    assert next_value(Preferences(), "bell") is False
    assert next_value(Preferences(bell=False), "bell") is True
    assert next_value(Preferences(theme="monochrome"), "theme") == "auto"
    assert next_value(Preferences(layout="narrow"), "layout") == "auto"


def test_a_protocol_can_be_chosen_where_there_is_another() -> None:
    assert next_value(Preferences(), "protocol", ["chairside-knee"]) is None
    assert next_value(Preferences(), "protocol", ["hip", "chairside-knee"]) == "hip"
    assert next_value(Preferences(protocol="gone"), "protocol", ["hip"]) == "hip"
    assert next_value(Preferences(), "protocols") is None
