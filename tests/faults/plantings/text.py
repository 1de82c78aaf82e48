"""Faults of the text itself, each where nothing electrical hangs on it: the mass of a panel, a label, a price, a file beside the build."""

from __future__ import annotations

from pathlib import Path

from faults import Edit, Planting, add, also, beside, instead, replace_text, yes_no

_BASE = "fence_box"


def _mass(words: str) -> Edit:
    """The panel's mass, which is not carried with the box, in other words."""
    return replace_text("  weighs 3.5 kg\n", f"  {words}\n")


def _parts(more: str) -> Edit:
    """One more library."""
    return replace_text('"apparatus.rig"\n', f'"apparatus.rig", "{more}"\n')


_LIBRARY = 'parts from "batteries.rig"\nlabel own_label { states current }\n'


def _same(deep: int) -> str:
    """Labels that are the same as each other, so many."""
    return "".join(f"label order_{k} {{ same as order_{k + 1} }}\n" for k in range(deep)) + f"label order_{deep} {{ at box }}\n"


def _changed(words: str) -> tuple[Edit, Edit]:
    """The fence box as an adaptation of itself that changes something; which hash it has is not asked about here."""
    published = Path(__file__).resolve().parents[3] / "examples" / "clean" / f"{_BASE}.rig"
    text = published.read_text(encoding="utf-8")
    return instead(f'# {words}\nrig "Fence box", revision 1\nadapts "published.rig" revision 2\n{words}\n'), beside(
        "published.rig", text
    )


_NO_HASH = also("changed-base.no-hash", "examples/clean/published.rig", "it is named without one")

PLANTINGS: tuple[Planting, ...] = (
    *yes_no(
        "circle-of-files.unreadable", 'parts from "ring.rig"', _BASE,
        wrong=(_parts("ring.rig"), beside("ring.rig", 'parts from "round.rig"\n'), beside("round.rig", 'parts from "ring.rig"\n')),
        wrong_too=(_parts("ring.rig"), beside("ring.rig", 'parts from "ring.rig"\n' + _LIBRARY.partition("\n")[2])),
        silent=(_parts("left.rig"), beside("left.rig", 'parts from "right.rig"\n'), beside("right.rig", _LIBRARY)),
    ),
    *yes_no(
        "contradictory-state.unreadable", "grey morning", _BASE,
        wrong=replace_text("state \"grey morning\" {\n", "state \"grey morning\" {\n  minusbar open\n"),
        wrong_too=replace_text("state \"grey morning\" {\n", "state \"grey morning\" {\n  main open\n  main closed\n"),
        silent=replace_text("state \"grey morning\" {\n", "state \"grey morning\" {\n  main closed\n"),
    ),
    *yes_no(
        "defaults-differ.unreadable", "fuses", _BASE,
        wrong=add("all fuses { costs 3 EUR }; all fuses { costs 4 EUR }"),
        wrong_too=add("all fuses in inside { costs 3 EUR }; all class CC fuses { costs 4 EUR }"),
        silent=add("all fuses { costs 3 EUR }; all class CC fuses { costs 4 EUR }"),
        companions=[also("defaults-differ.unreadable", "fuses (2)", "told at both of them")],
    ),
    *yes_no(
        "duplicate-name.unreadable", "order", _BASE,
        wrong=replace_text("label battery_labels {", "label order {"),
        wrong_too=add("zone order { in box; -15 degC to 44 degC; no loose things }"),
        silent=add('state "order" { sun 100 W/m2; house at 70 %; for 1 h/day }'),
    ),
    *yes_no(
        "file-not-read.unreadable", "examples/clean/nowhere.rig", _BASE,
        wrong=_parts("nowhere.rig"),
        wrong_too=(_parts("nowhere.rig"), beside("nowhere.rig", "\0\1\0")),
        silent=(_parts("left.rig"), beside("left.rig", _LIBRARY)),
    ),
    *yes_no(
        "lost-property.unreadable", "main_fuse", _BASE,
        wrong=_changed("change main_fuse { costs 4 EUR }"),
        wrong_too=_changed("change wire main_fuse { 10 AWG }"),
        silent=_changed("change fuse main_fuse { same as cc_10 }"),
        companions=[_NO_HASH], silent_also=[_NO_HASH],
    ),
    *yes_no(
        "missing-unit.unreadable", "sheet", _BASE,
        wrong=_mass("weighs 3.5"), wrong_too=_mass("weighs 3.5 to 4"), silent=_mass("weighs 3.5 to 4 kg"),
    ),
    *yes_no(
        "no-statement.unreadable", "examples/clean/fence_box.rig", _BASE,
        wrong=instead(""), wrong_too=instead("# A fence box, to be written.\n"), silent=instead('rig "Fence box", revision 1\n'),
    ),
    *yes_no(
        "over-limit.unreadable", "order_51", _BASE,
        wrong=replace_text("label order {\n", "label order_51 { at " + ", ".join(["box"] * 10_001) + " }\nlabel order {\n"),
        wrong_too=replace_text("label order {\n", _same(52) + "label order {\n"),
        silent=replace_text("label order {\n", _same(51) + "label order {\n"),
    ),
    *yes_no(
        "said-twice.unreadable", "sheet", _BASE,
        wrong=_mass("weighs 3.5 kg; weighs 3.6 kg"), wrong_too=_mass("weighs 3.5 kg\n  mass 3.5 kg"), silent=_mass("weighs 3.5 kg; costs 60 EUR"),
    ),
    *yes_no(
        "senseless-value.unreadable", "sheet", _BASE,
        wrong=_mass("weighs -3.5 kg"), wrong_too=_mass("weighs 4 kg to 3 kg"), silent=_mass("weighs 3 kg to 4 kg"),
    ),
    *yes_no(
        "unclosed-block.unreadable", "label battery_labels {", _BASE,
        wrong=replace_text("label battery_labels {\n  same as battery_label\n  at house\n}\n", "label battery_labels {\n  same as battery_label\n  at house\n"),
        wrong_too=replace_text("label battery_labels {\n  same as battery_label\n  at house\n}\n", "label battery_labels { same as battery_label; at house\n"),
        silent=replace_text("label battery_labels {\n  same as battery_label\n  at house\n}\n", "label battery_labels { same as battery_label; at house }\n"),
    ),
    *yes_no(
        "unclosed-text.unreadable", "order", _BASE,
        wrong=replace_text('any plug is pulled."\n', "any plug is pulled.\n"),
        wrong_too=replace_text('any plug is pulled."\n', "any plug is pulled.”\n"),
        silent=replace_text('any plug is pulled."\n', "any plug } is; pulled {.\"\n"),
    ),
    *yes_no(
        "unknown-name.unreadable", "fuse_labels", _BASE,
        wrong=replace_text("  at main_fuse\n", "  at main_fus\n"),
        wrong_too=replace_text("  at main_fuse\n", "  at main_fuse, sun_fuse\n"),
        silent=replace_text("  at main_fuse\n", "  at main_fuse, sun\n"),
    ),
    *yes_no(
        "unknown-property.unreadable", "sheet", _BASE,
        wrong=_mass("wheighs 3.5 kg"), wrong_too=_mass("light and thin"), silent=_mass("mass 3.5 kg"),
    ),
    *yes_no(
        "unknown-unit.unreadable", "sheet", _BASE,
        wrong=_mass("weighs 3.5 kq"), wrong_too=_mass("weighs 0.55 stone"), silent=_mass("weighs 3500 g"),
    ),
    *yes_no(
        "unreadable-text.unreadable", "sheet", _BASE,
        wrong=_mass("weighs about kg"), wrong_too=_mass("weighs 3.5 kg, 3 kg"), silent=_mass("weighs at most 3.5 kg"),
    ),
    *yes_no(
        "wrong-unit.unreadable", "sheet", _BASE,
        wrong=_mass("weighs 3.5 A"), wrong_too=_mass("weighs 3.5 degC"), silent=_mass("weighs 7.7 lb"),
    ),
)  # fmt: skip
