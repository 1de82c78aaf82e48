"""Faults of adaptations: a published build without its hash, with another content or revision, and waivers of it that do not carry over."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

from faults import Edit, Planting, also, beside, instead, yes_no

_FOLDER = Path(__file__).resolve().parents[3] / "examples" / "clean"
_LIBRARIES = ("batteries", "devices", "apparatus")
_WAIVER = 'waive crowded-stud.order on house because "both lie flat" until 2027-01-01\n'


def _text(name: str) -> str:
    return (_FOLDER / f"{name}.rig").read_text(encoding="utf-8")


def _adapted(line: str, more: str = "", published: str = "") -> tuple[Edit, Edit]:
    """The fence box as an adaptation of itself, which stands beside it as "published.rig"; HASH in the line is the right one."""
    base = _text("fence_box") + published
    whole = base + "".join(_text(name) for name in _LIBRARIES)
    words = line.replace("HASH", sha256(whole.encode()).hexdigest())
    return instead(
        f'# {more[-20:-1]} {words[:20]}\nrig "Fence box", revision 1\nadapts "published.rig" {words}\n{more}'
    ), beside("published.rig", base)


PLANTINGS: tuple[Planting, ...] = (
    *yes_no(
        "changed-base.no-hash", "examples/clean/published.rig", "fence_box",
        wrong=_adapted("revision 2"), wrong_too=_adapted(""), silent=_adapted('revision 2 hash "HASH"'),
    ),
    *yes_no(
        "changed-base.other-hash", "examples/clean/published.rig", "fence_box",
        wrong=_adapted(f'revision 2 hash "{"0" * 64}"'),
        wrong_too=_adapted(f'revision 2 hash "{sha256(_text("fence_box").encode()).hexdigest()}"'),
        silent=_adapted('revision 2 hash "HASH"'),
    ),
    *yes_no(
        "changed-base.other-revision", "examples/clean/published.rig", "fence_box",
        wrong=_adapted('revision 1 hash "HASH"'), wrong_too=_adapted('revision 20 hash "HASH"'), silent=_adapted('hash "HASH"'),
    ),
    *yes_no(
        "waiver-to-confirm.to-confirm", "crowded-stud.order", "fence_box",
        wrong=_adapted('revision 2 hash "HASH"', published=_WAIVER),
        wrong_too=_adapted('revision 2 hash "HASH"', _WAIVER.replace("house", "main"), published=_WAIVER.replace("house", "house, main")),
        silent=_adapted('revision 2 hash "HASH"', _WAIVER, published=_WAIVER),
        wrong_too_also=[also("unused-waiver.unused", "crowded-stud.order, main", "the box has nothing of it")],
        silent_also=[also("unused-waiver.unused", "crowded-stud.order, house", "the box has nothing of it")],
    ),
)  # fmt: skip
