"""Networks as netlists of general circuit simulators, and the simulators that can be run here: ngspice (Debian) and neospice (a Python package)."""

from __future__ import annotations

import importlib.util
import math
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

from ohmwright.solver import (
    Array,
    Charger,
    Converter,
    CurrentLoad,
    CurrentSource,
    Diode,
    Element,
    Emf,
    Network,
    Operation,
    PowerLoad,
    Resistor,
    SeriesController,
    Tracker,
)

__all__ = ["OPTIONS", "SIMULATORS", "run_ngspice", "thermal_voltage", "write"]

OPTIONS = ".options reltol=1e-12 abstol=1e-14 vntol=1e-14 gmin=1e-20 numdgt=12 itl1=1000"
_BATCH = 200  # netlists of one process: after some thousands it stops
_NODE = re.compile(r"^\s*n\d+ = ", re.MULTILINE)
_VALUE = re.compile(r"^\s*(\S+) = (\S+)\s*$", re.MULTILINE)


class Sheet:
    """A netlist under way."""

    def __init__(self, answer: Operation, thermal: float) -> None:
        self.answer = answer
        self.thermal = thermal
        self.lines: list[str] = []
        self.extra: dict[str, float] = {}  # start values of nodes inside elements
        self.count = 0

    def add(self, *lines: str) -> None:
        self.lines += lines

    def inner(self, start: float) -> str:
        self.count += 1
        name = f"x{self.count}"
        self.extra[name] = start
        return name

    def volt(self, node: int) -> float:
        return self.answer.voltages[node] or 0.0


def write(network: Network, answer: Operation, thermal: float) -> str:
    """The network as a netlist, its two-sided elements in the modes that the solver found."""
    sheet = Sheet(answer, thermal)
    for number, element in enumerate(network.elements):
        _write(sheet, element, f"{number}")
    starts = [f"v(n{k})={v!r}" for k, v in enumerate(answer.voltages) if v is not None and k]
    starts += [f"v({name})={v!r}" for name, v in sheet.extra.items()]
    if not any(line.startswith(("B", "D")) for line in sheet.lines):
        starts = []  # a straight circuit has one point; ngspice once stopped short of it, on the way from the values given here
    text = "\n".join(["* a random box", *sheet.lines, OPTIONS, *[f".nodeset {s}" for s in starts]])
    return re.sub(r"\bn0\b", "0", text)


def _write(sheet: Sheet, e: Element, tag: str) -> None:
    answer = sheet.answer
    mode = answer.modes.get(e.name, "")
    match e:
        case Resistor():
            sheet.add(f"R{tag} n{e.a} n{e.b} {e.ohm!r}")
        case Emf():
            start = sheet.volt(e.minus) + e.volt
            name = sheet.inner(start)
            sheet.add(f"V{tag} {name} n{e.minus} DC {e.volt!r}", f"R{tag} {name} n{e.plus} {e.ohm!r}")
        case CurrentLoad() if not mode:
            sheet.add(f"I{tag} n{e.plus} n{e.minus} DC {e.ampere!r}")
        case PowerLoad() if not mode:
            sheet.add(f"B{tag} n{e.plus} n{e.minus} I = {e.watt!r}/V(n{e.plus},n{e.minus})")
        case CurrentSource():
            sheet.add(f"I{tag} n{e.minus} n{e.plus} DC {e.ampere!r}")
        case Diode():
            model = f"D(IS={e.saturation!r} N={e.slope / sheet.thermal!r} RS={e.ohm!r})"
            sheet.add(f"D{tag} n{e.anode} n{e.cathode} M{tag}", f".model M{tag} {model}")
        case Array():
            given = answer.currents[e.name]
            name = sheet.inner(sheet.volt(e.plus) + given * e.series)
            sheet.add(
                f"I{tag} n{e.minus} {name} DC {e.photo!r}",
                f"B{tag} {name} n{e.minus} I = {e.saturation!r}*(exp(V({name},n{e.minus})/{e.slope!r})-1)",
                f"Rp{tag} {name} n{e.minus} {e.shunt!r}",
                f"Rs{tag} {name} n{e.plus} {e.series!r}",
            )
        case Charger():
            if mode == "current":
                sheet.add(f"I{tag} n{e.minus} n{e.plus} DC {e.ampere!r}")
            elif mode == "voltage":
                sheet.add(f"V{tag} n{e.plus} n{e.minus} DC {e.volt!r}")
        case Converter():
            u_in = f"V(n{e.in_plus},n{e.in_minus})"
            if mode == "voltage":
                name = sheet.inner(sheet.volt(e.out_minus) + e.volt)
                sheet.add(
                    f"V{tag} {name} n{e.out_minus} DC {e.volt!r}",
                    f"R{tag} {name} n{e.out_plus} {e.ohm!r}" if e.ohm else f"VZ{tag} {name} n{e.out_plus} DC 0",
                    f"B{tag} n{e.in_plus} n{e.in_minus} I = (-I(V{tag})*{e.volt!r}/{e.efficiency!r}+{e.idle!r})/{u_in}",
                )
            elif mode == "current":
                given = f"{e.ampere!r}*(V(n{e.out_plus},n{e.out_minus})+{e.ohm * (e.ampere or 0.0)!r})"
                sheet.add(
                    f"I{tag} n{e.out_minus} n{e.out_plus} DC {e.ampere!r}",
                    f"B{tag} n{e.in_plus} n{e.in_minus} I = ({given}/{e.efficiency!r}+{e.idle!r})/{u_in}",
                )
            elif sheet.volt(e.in_plus) > sheet.volt(e.in_minus):
                sheet.add(f"B{tag} n{e.in_plus} n{e.in_minus} I = {e.idle!r}/{u_in}")
        case Tracker():
            u_in, u_out = f"V(n{e.in_plus},n{e.in_minus})", f"V(n{e.out_plus},n{e.out_minus})"
            if mode == "voltage":
                sheet.add(
                    f"V{tag} n{e.out_plus} n{e.out_minus} DC {e.volt!r}",
                    f"B{tag} n{e.in_plus} n{e.in_minus} I = -I(V{tag})*{e.volt!r}/{e.efficiency!r}/{u_in}",
                )
            elif mode == "current":
                sheet.add(
                    f"I{tag} n{e.out_minus} n{e.out_plus} DC {e.ampere!r}",
                    f"B{tag} n{e.in_plus} n{e.in_minus} I = {e.ampere!r}*{u_out}/{e.efficiency!r}/{u_in}",
                )
            elif mode == "sun":
                drawn = answer.currents[f"{e.name}.in"]
                sheet.add(
                    f"I{tag} n{e.in_plus} n{e.in_minus} DC {drawn!r}",
                    f"B{tag} n{e.out_minus} n{e.out_plus} I = {drawn * e.efficiency!r}*{u_in}/{u_out}",
                )
        case SeriesController():
            if mode == "sun":
                sheet.add(f"V{tag} n{e.in_plus} n{e.out_plus} DC 0")
            elif mode == "current":
                sheet.add(
                    f"I{tag} n{e.in_plus} n{e.in_minus} DC {e.ampere!r}",
                    f"IO{tag} n{e.out_minus} n{e.out_plus} DC {e.ampere!r}",
                )
            elif mode == "voltage":
                sheet.add(
                    f"V{tag} n{e.out_plus} n{e.out_minus} DC {e.volt!r}",
                    f"B{tag} n{e.in_plus} n{e.in_minus} I = -I(V{tag})",
                )


Answers = list[dict[str, float] | None]


def run_ngspice(netlists: list[str], folder: Path) -> Answers:
    """Solve every netlist, many in one batch run; None where the simulator found no operating point."""
    answers: Answers = []
    while len(answers) < len(netlists):
        answers += _ngspice_batch(netlists[len(answers) : len(answers) + _BATCH], folder)
    return answers


def _ngspice_batch(netlists: list[str], folder: Path) -> Answers:
    """Solve as many as one process comes to: it breaks down at some that it cannot solve, which then has no answer."""
    script = [".control", "set numdgt=12"]
    for k, netlist in enumerate(netlists):
        (folder / f"{k}.cir").write_text(netlist + "\n.end\n")
        script += [f"echo BOX {k}", f"source {k}.cir", "op", "print all", "destroy all", "remcirc"]
    (folder / "all.cir").write_text("* all boxes\n" + "\n".join([*script, "quit 0", ".endc", ".end"]) + "\n")
    done = subprocess.run(["ngspice", "-b", "all.cir"], cwd=folder, capture_output=True, text=True, timeout=300, check=False)
    found: dict[int, dict[str, float]] = {}
    for part in done.stdout.split("BOX ")[1:]:
        # without an operating point it prints its constants instead, one of them a complex number
        values = {name: float(value) for name, value in _VALUE.findall(part) if "," not in value}
        found[int(part.split()[0])] = values if _NODE.search(part) else {}
    return [found.get(k) or None for k in range(max(found, default=0) + 1)]


def run_neospice(netlists: list[str], folder: Path) -> Answers:
    """As `run_ngspice`; currents of batteries are not compared."""
    from neospice import Simulator

    answers: Answers = []
    for netlist in netlists:
        try:
            simulator = Simulator()
            result = simulator.run_dc(simulator.parse(netlist + "\n.op\n.end\n"))
        except RuntimeError:
            answers.append(None)
            continue
        if not result.status.converged:
            answers.append(None)
            continue
        names = sorted(set(re.findall(r"\bn\d+\b", netlist)))
        answers.append({name: result.voltage(name) for name in names})
    return answers


SIMULATORS = {
    "ngspice": (run_ngspice, lambda: shutil.which("ngspice") is not None),
    "neospice": (run_neospice, lambda: importlib.util.find_spec("neospice") is not None),
}


def thermal_voltage(run: Callable[[list[str], Path], Answers], folder: Path) -> float:
    """k T / q as the simulator takes it, measured on one diode: its constants are an edition older than ours."""
    saturation, ampere = 1e-12, 1.0
    lines = ["* one diode", f"I1 0 n1 DC {ampere}", "D1 n1 0 M", f".model M D(IS={saturation} N=1)"]
    lines += ["V2 n2 0 DC 1", "R2 n2 0 1", OPTIONS, ".nodeset v(n1)=0.7"]
    (values,) = run(["\n".join(lines)], folder)
    assert values is not None
    return values["n1"] / math.log1p(ampere / saturation)
