"""Builds of any size, made by rule, for measuring: a bank, feeders in a tree with local ties, loads, switches, states."""

from __future__ import annotations

import random

__all__ = ["box", "radial", "yaml_of"]


def box(wires: int = 60, states: int = 10, seed: int = 1) -> str:
    """Return a box of about so many wires: every branch with fuse, switch and load; declared states switch them in turn."""
    choose = random.Random(seed)
    lines = [
        f'rig "Measured box {seed}", revision 1',
        "basis us-small-craft",
        "system 12 V",
        "site { ambient -10 degC to 35 degC; record low -20 degC; sun 4 h/day; portable }",
        "all wires { copper; 105 degC insulation; in free air }",
        "all terminals { 75 degC }",
        "battery house { LFP, 4 cells, 200 Ah; internal resistance 3 mohm; charge at most 100 A; lowest 11 V; own drain 2 mA }",
        "fuse main { 100 A bolt-down; breaks 10 kA at 32 V dc; 32 V; line on house.plus }",
        "wire feed from main.load to plusbar, 2 AWG, 0.3 m, red",
        "wire return from minusbar to house.minus, 2 AWG, 0.3 m, black",
        "bus plusbar 150 A",
        "bus minusbar 150 A",
        "array roof { Voc 22.6 V; Vmp 18.6 V; Isc 5.8 A; Imp 5.4 A; Voc -0.30 %/K; 2 in parallel }",
        "controller sun_charger { MPPT; 30 A; PV at most 60 V; absorption 14.2 V; float 13.6 V; for 12 V batteries; charges LFP; own drain 10 mA }",
        "connector sun_socket with sun_plug { 20 A; pin 1 plus; pin 2 minus }",
        "wire roof_out from roof.plus to sun_plug.1, 10 AWG, 3 m, red",
        "wire roof_back from sun_plug.2 to roof.minus, 10 AWG, 3 m, black",
        "wire sun_in from sun_socket.1 to sun_charger.pv_plus, 10 AWG, 0.4 m, red",
        "wire sun_back from sun_charger.pv_minus to sun_socket.2, 10 AWG, 0.4 m, black",
        "fuse sun_fuse { 40 A blade; breaks 1 kA at 32 V dc; 32 V; line on plusbar }",
        "wire charge from sun_charger.batt_plus to sun_fuse.load, 8 AWG, 0.4 m, red",
        "wire charge_back from minusbar to sun_charger.batt_minus, 8 AWG, 0.4 m, black",
    ]
    branches = max(1, (wires - 8) // 4)
    names: list[str] = []
    for number in range(1, branches + 1):
        name = f"lamp{number}"
        names.append(name)
        power = choose.choice((10, 18, 24, 36))
        length = choose.choice((0.8, 1.2, 2.0, 3.0))
        lines += [
            f"fuse {name}_fuse {{ 10 A blade; breaks 1 kA at 32 V dc; 32 V; line on plusbar }}",
            f"switch {name}_switch {{ 15 A; breaks 10 A at 14 V dc }}",
            f"load {name} {{ {power} W; works on 10.5 V to 15 V }}",
            f"wire {name}_a from {name}_fuse.load to {name}_switch.line, 14 AWG, 0.4 m, red",
            f"wire {name}_b from {name}_switch.load to {name}.plus, 14 AWG, {length} m, red",
            f"wire {name}_c from {name}.minus to {name}_bar, 14 AWG, {length} m, black",
            f"wire {name}_d from {name}_bar to minusbar, 14 AWG, 0.3 m, black",
            f"bus {name}_bar 30 A",
        ]
    for number in range(1, states + 1):
        on = names[(number - 1) % len(names) :: 2]
        switches = ", ".join(f"{name}_switch" for name in on)
        lines.append(
            f'state "case {number}" {{ {switches} closed; {", ".join(on)} on; sun {number * 90} W/m2; house at {30 + 6 * number} %; {10 + 2 * number} degC }}'
        )
    return "\n".join(lines) + "\n"


def radial(wires: int, states: int = 10, seed: int = 1) -> str:
    """Return a radial net of so many wires with local ties, one in ten, loads at the leaves, and declared states."""
    choose = random.Random(seed)
    lines = [
        f'rig "Measured net {wires}", revision 1',
        "basis us-small-craft",
        "system 12 V",
        "site { ambient 0 degC to 35 degC }",
        "all wires { copper; 105 degC insulation; in free air; 2 AWG; 0.05 m }",
        "battery house { LFP, 4 cells, 400 Ah; internal resistance 1 mohm }",
        "fuse main { 300 A bolt-down; breaks 20 kA at 32 V dc; 32 V; line on house.plus }",
        "bus n0 1000 A",
        "wire w0 from main.load to n0",
    ]
    loads: list[str] = []
    parents = [0]
    count = 1
    node = 0
    while count < wires - 1:
        node += 1
        parent = max(0, node - choose.randint(1, 8))
        parents.append(parent)
        lines.append(f"bus n{node} 1000 A")
        lines.append(f"wire w{count} from n{parent} to n{node}")
        count += 1
        if node % 10 == 0 and node > 12:
            lines.append(f"wire w{count} from n{node - choose.randint(1, 10)} to n{node}, 4 AWG")
            count += 1
        if node % 25 == 0:
            name = f"lamp{node}"
            loads.append(name)
            lines.append(f"load {name} {{ {max(0.05, 200 / wires):.4g} W }}")
            lines.append(f"{name}.plus on n{node}")
            lines.append(f"{name}.minus on house.minus")
    for number in range(1, states + 1):
        share = loads[number % 3 :: 3]
        lines.append(f'state "case {number}" {{ {", ".join(share)} on; house at {30 + 5 * number} % }}')
    return "\n".join(lines) + "\n"


def yaml_of(lines: int) -> str:
    """Return a YAML file of so many lines, nested as configuration files are."""
    text = ["---"]
    for number in range((lines - 1) // 4 + 1):
        text += [f"item_{number}:", f"  name: 'part {number}'", "  values: [1, 2, 3]", "  note: plain words"]
    return "\n".join(text[:lines]) + "\n"
