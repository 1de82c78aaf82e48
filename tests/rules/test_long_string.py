"""Rule long-string: the fault catalogue's example C10, the edges of count and voltage, what is asked for, switches."""

from __future__ import annotations

import pytest


def string(count: int, facts: str) -> str:
    """So many alike batteries in series, with a load across them."""
    lines = ['rig "String", revision 1']
    lines += [f"battery b{number} {{ LFP, 4 cells, 50 Ah; {facts} }}" for number in range(1, count + 1)]
    lines += [f"wire l{number} from b{number}.plus to b{number + 1}.minus" for number in range(1, count)]
    lines += ["load motor 5 A", f"wire feed from b{count}.plus to motor.plus", "wire back from motor.minus to b1.minus", ""]
    return "\n".join(lines)


def test_catalogue_c10(said) -> None:  # type: ignore[no-untyped-def]
    """Catalogue, C10, Ex: 5 in series, max 4 -> error."""
    found = said(string(5, "at most 4 in series; bms { cuts both }"), "long_string")
    assert found.grades == [("b1", "too-many", "error")]  # the same string, told once
    finding = found.finding("b1")
    assert (finding.measured.value, finding.limit.value) == (5.0, 4.0)
    assert finding.subject == ("b1", "b2", "b3", "b4", "b5")
    assert said(string(4, "at most 4 in series; bms { cuts both }"), "long_string").grades == []


@pytest.mark.parametrize(("blocks", "broken"), [("58.4 V", False), ("58.39 V", True), ("60 V", False)])
def test_blocking_voltage_at_its_edge(said, blocks: str, broken: bool) -> None:  # type: ignore[no-untyped-def]
    """Four packs charged to 14.6 V: 58.4 V; at equality it holds. Declared on both sides: no limit from memory."""
    found = said(string(4, f"charge voltage at most 14.6 V; bms {{ blocks {blocks} }}"), "long_string")
    assert bool(found.grades) == broken
    assert {severity for _, _, severity in found.grades} <= {"error"}


def test_charge_voltage_from_memory_is_a_warning(said) -> None:  # type: ignore[no-untyped-def]
    found = said(string(4, "bms { blocks 58 V }"), "long_string")
    assert {(grade, severity) for _, grade, severity in found.grades} == {("blocking", "warning")}


def test_missing_data(said) -> None:  # type: ignore[no-untyped-def]
    found = said(string(2, "bms { cuts both }"), "long_string")
    assert found.missing == [("b1", "too-many", "most packs in series"), ("b2", "too-many", "most packs in series")]
    plain = 'rig "S", revision 1\nbattery a { nominal 12 V; bms { blocks 30 V } }\nbattery b { nominal 12 V }\nwire l from a.plus to b.minus\n'
    assert said(plain, "long_string").missing == [("a", "blocking", "highest charge voltage of a")]


def test_what_does_not_apply(said) -> None:  # type: ignore[no-untyped-def]
    lead = string(2, "12.8 V").replace("LFP, 4 cells", "AGM, 6 cells")
    assert [item.condition for item in said(lead, "long_string").idle] == ["it has no management system that blocks"]
    assert [item.condition for item in said(string(1, "bms { cuts both }"), "long_string").idle] == [
        "it lies in series with no other"
    ]


def test_packs_beside_each_other_do_not_lengthen_a_string(said) -> None:  # type: ignore[no-untyped-def]
    """Two by two, middle points joined: strings of two."""
    text = (
        'rig "S", revision 1\n'
        + "".join(f"battery {name} {{ LFP, 4 cells, 50 Ah; at most 2 in series; bms {{ cuts both }} }}\n" for name in "abcd")
        + "wires { w1 from a.plus to c.minus; w2 from b.plus to d.minus; w3 from a.plus to b.plus; w4 from a.minus to b.minus; w5 from c.plus to d.plus }\n"
    )
    found = said(text, "long_string")
    assert found.grades == []
    assert {item.measured.value for item in found.passes} == {2.0}


def test_ring_of_batteries_ends(said) -> None:  # type: ignore[no-untyped-def]
    """A string closed on itself is a short circuit, told elsewhere; this rule only has to come to an end."""
    text = string(3, "at most 2 in series; bms { cuts both }") + "wire ring from b3.plus to b1.minus\n"
    assert {grade for _, grade, _ in said(text, "long_string").grades} <= {"too-many"}
