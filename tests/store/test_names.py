"""Names that every system can keep, and keep apart."""

from __future__ import annotations

import pytest

from profilekeeper.errors import BadName
from profilekeeper.store import check_name, check_path, machine_of
from profilekeeper.store.names import collisions, folded


@pytest.mark.parametrize("name", ["saw-2", "quayside", "Säge_3", "пила-1", "鋸4", "a", "x" * 64, "st.ives", "नमस्ते"])
def test_good_names_of_any_script_pass(name: str) -> None:
    assert check_name(name) == name


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("", "empty"),
        ("x" * 65, "longer"),
        ("-saw", "dash or a dot"),
        (".saw", "dash or a dot"),
        ("saw 2", "' '"),
        ("saw/2", "'/'"),
        ("saw\t2", "is not a letter"),
        ("saw\u200b2", "is not a letter"),
        ("saw\u202e2", "is not a letter"),
        ("saw\\2", "is not a letter"),
        ("saw:2", "is not a letter"),
        ("saw.", "a dot"),
        ("con", "device"),
        ("Com1", "device"),
        ("LPT¹", "device"),
        ("nul.old", "device"),
        ("cafe\u0301", "NFC"),
        ("rules", "for itself"),
        ("Evidence", "for itself"),
        ("鋸" * 63 + "𠀀" * 3, "longer"),
        ("𠀀" * 60, "bytes"),
    ],
)
def test_bad_names_are_refused_with_the_reason(name: str, why: str) -> None:
    with pytest.raises(BadName) as caught:
        check_name(name)
    assert why in str(caught.value)


# Microsoft, "Naming Files, Paths, and Namespaces": the device names that may not be file names
DEVICES = ["CON", "PRN", "AUX", "NUL", *(f"{port}{n}" for port in ("COM", "LPT") for n in range(1, 10))]


@pytest.mark.parametrize("device", DEVICES)
def test_device_names_are_refused_anywhere_in_a_path(device: str) -> None:
    for path in (f"a/{device}", f"{device.lower()}/b", f"a/{device}.yaml", f"a/{device} .txt"):
        with pytest.raises(BadName):
            check_path(path)


@pytest.mark.parametrize(
    "path", ["auxiliary/console/profile.yaml", "a/b", "store.yaml", ".gitattributes", "a/com10x.yaml", "a b/c"]
)
def test_names_that_only_look_similar_pass(path: str) -> None:
    assert check_path(path) == path


@pytest.mark.parametrize(
    "path",
    ["", "/", "/a", "a/", "a//b", ".", "..", "a/..", "../a", "a/./b", "a\\b", "c:/a", "a\0b", "a\x7fb", "a\nb",
     "a\u0085b", ".git", ".GIT/config", "a/.git/x", ".git ", ".git.", "git~1/x", "GIT~2", ".gitmodules", ".g\u200cit/x",
     "a/b.", "a/b ", " a/b", "a/x?", "a/x*", 'a/"x"', "a/<x>", "a|b", "cafe\u0301/x", "x" * 201, "a/\ud800"],
)  # fmt: skip
def test_paths_that_lead_out_or_cannot_be_kept_are_refused(path: str) -> None:
    with pytest.raises(BadName):
        check_path(path)


def test_names_that_fold_together_are_grouped() -> None:
    assert collisions(["Saw", "saw", "mill", "SÄGE", "säge"]) == (("Saw", "saw"), ("SÄGE", "säge"))
    assert folded("STRASSE") == folded("straße")
    assert folded("cafe\u0301") == folded("café")


def test_a_path_belongs_to_a_machine_or_to_the_store() -> None:
    assert machine_of("quayside/saw-2/profile.yaml") == "quayside/saw-2"
    assert machine_of("quayside/saw-2/evidence/a.jpg") == "quayside/saw-2"
    for path in ("store.yaml", "rules/a/b.yaml", "reading_orders/x.yaml", "quayside/notes.txt"):
        assert machine_of(path) is None
