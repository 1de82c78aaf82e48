"""Faults of contacts: links of a chain of packs, single and ganged contacts, and contacts with loaded neighbours."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from faults import Edit, Planting, add, also, say, threefold

_SUN = ("sun_socket", "sun_plug")


def _panel(words: str) -> Edit:
    """The panel of the portable box comes in at 5.48 A over such contacts; more than its 5.9 A it cannot give."""
    return say(_SUN, words)


def _ganged(rating: str) -> tuple[Edit, ...]:
    """The panel's plus comes in over two contacts of so much each, its return over one of 30 A."""
    return (
        say(_SUN, f'3 pins; pin 3 plus "panel"; ganged 1, 3; pins 1, 3 {{ {rating} }}'),
        say("sun_cord", "core sheet_more from sheet.plus to sun_plug.3, red"),
        say("sheet", "terminals { 2 wires }"),
        say("sun", "terminals { 2 wires }"),
        add("wire sun_more from sun_socket.3 to sun.pv_plus { 10 AWG; 0.3 m; red; in inside }"),
    )


def _switch(rating: str) -> tuple[Edit, ...]:
    """The further packs join the trolley over a switch of so much."""
    return (
        add(f"switch pack_switch {{ same as joining_switch except {{ {rating}; in inside }} }}"),
        say("pack_1", "from pack_fuse.load to pack_switch.line"),
        add("wire pack_3 from pack_switch.load to pack_socket.1 { 6 AWG; 0.2 m; red; in inside }"),
    )


def _chain(grade: str, part: str, **edits: Any) -> tuple[Planting, ...]:
    """A threefold of the link to both packs: where it holds, it is told of the packs."""
    inside, *broken = threefold(grade, part, "pump_trolley", **edits)
    return (replace(inside, subject="packs[1].cells, packs[2].cells"), *broken)


PLANTINGS: tuple[Planting, ...] = (
    # With the main battery out the pump's 4.55 A come from both packs, over the first link.
    *_chain(
        "chain-link.over-rating", "pack_switch",
        inside=_switch("4.7 A"), over=_switch("4.4 A"), far=_switch("3 A"),
        inside_also=[also("weak-part.user-load", "pack_switch", "50 A of the packs before a switch of 4.7 A, an open outlet behind it")],
    ),
    *_chain(
        "chain-link.over-fuse", "pack_fuse",
        inside=say("pack_fuse", "4.7 A"), over=say("pack_fuse", "4.4 A"), far=say("pack_fuse", "2 A"),
        far_also=[also("nuisance-fuse.over-loading", "pack_fuse", "2.06 A with the main battery there, over 0.8 x 2 A x 0.905")],
    ),
    *threefold(
        "overloaded-contact.over-rating", "sun_socket", "portable_box",
        inside=_panel("5.7 A; neighbour factor 1"), over=_panel("5.3 A"), far=_panel("4 A"),
        inside_also=[also("weak-part.fixed-load", "sun_socket", "1.25 x 5.9 A of the panel for contacts of 5.7 A, with no device")],
    ),
    # Both contacts carry more than half of their rating: 0.8 x 7 A = 5.6 A, 0.8 x 6.6 A = 5.28 A (makers' curves, from memory).
    *threefold(
        "overloaded-contact.neighbours-loaded", "sun_socket", "portable_box",
        inside=_panel("7 A"), over=_panel("6.6 A"), far=_panel("5.6 A"),
        inside_also=[also("weak-part.fixed-load", "sun_socket", "1.25 x 5.9 A of the panel for contacts of 7 A, with no device")],
        coarse="more than a quarter over it, it is over the rating itself; what holds is told of that",
    ),
    # 0.8 x 2 x 3.55 A = 5.68 A, 0.8 x 2 x 3.3 A = 5.28 A, 0.8 x 2 x 2.8 A = 4.48 A.
    *threefold(
        "overloaded-contact.ganged", "sun_socket", "portable_box",
        inside=_ganged("3.55 A"), over=_ganged("3.3 A"), far=_ganged("2.8 A"),
        inside_also=[also("weak-part.fixed-load", "sun_socket", "1.25 x 5.9 A of the panel for two contacts of 3.55 A, with no device")],
        coarse="more than a quarter over it, each contact is over its own rating",
    ),
)  # fmt: skip
