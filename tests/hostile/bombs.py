"""Builds that are made to take for ever or to fill the memory: each is a function that returns the texts of a repository by their paths.

The head of a build is always the same, so that what a bomb does is seen in what is added to it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from hostile.attacking import BUILD

__all__ = ["BOMBS", "EXTREMES", "TEXTS", "Bomb"]

Bomb = Callable[[], Mapping[str, str]]
BOMBS: dict[str, Bomb] = {}

NODES = 'rig "Bomb", revision 1\nbasis us-small-craft\nsite { ambient 5 degC to 30 degC }\nall wires { copper; 105 degC insulation; 6 AWG; 0.1 m; in free air }\n'


def bomb(name: str) -> Callable[[Callable[[], str | Mapping[str, str]]], Bomb]:
    """Keep a bomb by its name; a text alone is the build."""

    def keep(make: Callable[[], str | Mapping[str, str]]) -> Bomb:
        def texts() -> Mapping[str, str]:
            made = make()
            return {"box.rig": made} if isinstance(made, str) else made

        BOMBS[name] = texts
        return texts

    return keep


# assemblies and files --------------------------------------------------------------------------------------------------


@bomb("a row of a million packs")
def _row() -> str:
    pack = "assembly pack { battery cells { LFP; 4 cells; 10 Ah }; fuse own { 20 A; line on cells.plus }; port plus at own.load; port minus at cells.minus }\n"
    return BUILD + pack + "row bank of 1000000 pack { joined plus to minus }\n"


@bomb("a row of as many packs as a number can say")
def _long_row() -> str:
    return BUILD + "assembly pack { load lamp 1 A }\nrow bank of " + "9" * 5000 + " pack\n"


@bomb("ten times ten times ten, six deep")
def _tenfold() -> str:
    levels = ["assembly level0 { load lamp 1 A }\n"]
    for number in range(1, 7):
        inside = "; ".join(f"place p{place} of level{number - 1}" for place in range(10))
        levels.append(f"assembly level{number} {{ {inside} }}\n")
    return BUILD + "".join(levels) + "place top of level6\n"


@bomb("two times two, fifty deep")
def _twofold() -> str:
    levels = ["assembly level0 { load lamp 1 A }\n"]
    levels += [f"assembly level{n} {{ place a of level{n - 1}; place b of level{n - 1} }}\n" for n in range(1, 51)]
    return BUILD + "".join(levels) + "place top of level50\n"


@bomb("one in the other, fifty deep, nothing inside")
def _empty_twofold() -> str:
    levels = ["assembly level0 { }\n"]
    levels += [f"assembly level{n} {{ place a of level{n - 1}; place b of level{n - 1} }}\n" for n in range(1, 51)]
    return BUILD + "".join(levels) + "place top of level50\n"


@bomb("a chain of five thousand assemblies")
def _chain_of_assemblies() -> str:
    levels = ["assembly level0 { load lamp 1 A }\n"]
    levels += [f"assembly level{n} {{ place a of level{n - 1} }}\n" for n in range(1, 5000)]
    return BUILD + "".join(levels) + "place top of level4999\n"


@bomb("assemblies declared in each other, sixty deep")
def _declared_inside() -> str:
    return (
        BUILD
        + "".join(f"assembly a{n} {{ place b of a{n + 1}; " for n in range(60))
        + "load lamp 1 A"
        + " }" * 60
        + "\nplace top of a0\n"
    )


@bomb("an assembly of two hundred parameters, each with its own value a thousand times")
def _parameters() -> str:
    parameters = "; ".join(f"parameter p{n} {n + 1} m" for n in range(200))
    assembly = f"assembly lead {{ {parameters}; load lamp 1 A }}\n"
    places = "".join(f"place l{n} of lead with p{n % 200} {n + 1} m\n" for n in range(5000))
    return BUILD + assembly + places


@bomb("libraries that each read the next ten, thirty wide")
def _fan_of_files() -> Mapping[str, str]:
    texts = {"box.rig": BUILD + 'parts from "l0_0.rig"\n'}
    for level in range(30):
        named = ", ".join(f'"l{level + 1}_{n}.rig"' for n in range(10))
        more = f"parts from {named}\n" if level < 29 else ""
        texts.update({f"l{level}_{n}.rig": f"{more}fuse f{level}_{n} {{ 15 A blade }}\n" for n in range(10)})
    return texts


@bomb("a chain of a thousand libraries")
def _chain_of_files() -> Mapping[str, str]:
    texts = {f"l{n}.rig": f'parts from "l{n + 1}.rig"\nfuse f{n} 15 A blade\n' for n in range(1000)}
    return {**texts, "l1000.rig": "fuse last 15 A\n", "box.rig": BUILD + 'parts from "l0.rig"\n'}


@bomb("a thousand libraries in one statement")
def _many_files() -> Mapping[str, str]:
    texts = {f"l{n}.rig": f"fuse f{n} 15 A blade\n" for n in range(1000)}
    return {**texts, "box.rig": BUILD + "parts from " + ", ".join(f'"l{n}.rig"' for n in range(1000)) + "\n"}


@bomb("forty libraries of two megabytes")
def _heavy_files() -> Mapping[str, str]:
    texts = {f"l{n}.rig": "".join(f"fuse f{n}_{m} {{ 15 A blade }}\n" for m in range(65_000)) for n in range(40)}
    return {**texts, "box.rig": BUILD + "parts from " + ", ".join(f'"l{n}.rig"' for n in range(40)) + "\n"}


@bomb("a hundred builds that adapt each other in a row")
def _chain_of_bases() -> Mapping[str, str]:
    texts = {f"b{n}.rig": f'rig "B{n}"\nadapts "b{n + 1}.rig"\n' for n in range(100)}
    return {**texts, "b100.rig": BUILD, "box.rig": 'rig "Box"\nadapts "b0.rig"\n'}


@bomb("an adaptation that changes each of twenty thousand parts")
def _many_changes() -> Mapping[str, str]:
    base = BUILD + "".join(f"load l{n} 1 A\n" for n in range(20_000))
    return {
        "base.rig": base,
        "box.rig": 'rig "Box"\nadapts "base.rig"\n' + "".join(f"change l{n} {{ 2 A }}\n" for n in range(20_000)),
    }


@bomb("everything the same as the next, ten thousand long")
def _same_as() -> str:
    return BUILD + "\n".join(f"fuse f{n} same as f{n + 1}" for n in range(10_000)) + "\n"


# states ----------------------------------------------------------------------------------------------------------------


@bomb("a hundred thousand states")
def _states() -> str:
    return BUILD + "".join(f"state s{n} {{ lamp on }}\n" for n in range(100_000))


@bomb("four thousand states of sixty parts")
def _solved_states() -> str:
    loads = "".join(
        f"load l{n} 1 A\nwire a{n} from house.plus to l{n}.plus\nwire b{n} from l{n}.minus to house.minus\n" for n in range(60)
    )
    states = "".join(f"state s{n} {{ l{n % 60} on; l{n // 60 % 60} on; house at {n % 90 + 5} % }}\n" for n in range(4000))
    return BUILD.replace("in free air }", "in free air; 6 AWG; 0.6 m }") + loads + states


@bomb("states that are each the same as the one before, five thousand long")
def _states_in_a_row() -> str:
    return (
        BUILD
        + "state s0 { lamp on }\n"
        + "".join(f"state s{n} {{ same as s{n - 1} except {{ house at 50 % }} }}\n" for n in range(1, 5000))
    )


@bomb("a hundred switches, every combination")
def _switches() -> str:
    lines = [
        f"switch s{n} 20 A\nload l{n} 1 A\nwire a{n} from house.plus to s{n}.line\nwire b{n} from s{n}.load to l{n}.plus\nwire c{n} from l{n}.minus to house.minus\n"
        for n in range(100)
    ]
    return BUILD.replace("in free air }", "in free air; 6 AWG; 0.6 m }") + "".join(lines)


@bomb("one state that names twenty thousand loads")
def _wide_state() -> str:
    names = "; ".join(f"l{n} on" for n in range(20_000))
    return BUILD + "".join(f"load l{n} 1 A\n" for n in range(20_000)) + f"state all_on {{ {names} }}\n"


# circuits --------------------------------------------------------------------------------------------------------------


@bomb("a mesh of two hundred nodes, each joined with each")
def _mesh() -> str:
    buses = "".join(f"bus b{n} 100 A\n" for n in range(200))
    wires = "".join(f"wire w{a}_{b} from b{a} to b{b}\n" for a in range(200) for b in range(a))
    return (
        NODES
        + "battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm; plus on b0 }\nload lamp 5 A\nlamp.plus on b199\nlamp.minus on house.minus\n"
        + buses
        + wires
        + "state on { lamp on }\n"
    )


@bomb("twenty thousand wires between the same two ends")
def _parallel() -> str:
    return BUILD.replace("in free air }", "in free air; 6 AWG; 0.6 m }") + "".join(
        f"wire w{n} from house.plus to lamp.plus\n" for n in range(20_000)
    )


@bomb("a chain of twenty thousand wires")
def _chain_of_wires() -> str:
    buses = "".join(f"bus b{n} 100 A\n" for n in range(12_000))
    wires = "".join(f"wire w{n} from b{n} to b{n + 1}\n" for n in range(11_999))
    return (
        NODES
        + "battery house { LFP, 4 cells, 100 Ah; internal resistance 4 mohm }\nload lamp 5 A\nwire first from house.plus to b0\nwire last from b11999 to lamp.plus\nwire back from lamp.minus to house.minus\n"
        + buses
        + wires
        + "state on { lamp on }\n"
    )


@bomb("five hundred batteries and five hundred converters, each feeding the next")
def _converters() -> str:
    lines = ["bus minus 500 A\n"]
    for n in range(500):
        lines.append(
            f"battery house{n} {{ LFP, 4 cells, 100 Ah; internal resistance 4 mohm }}\nconverter c{n} {{ 12 V; 6 A; efficiency 90 % }}\n"
        )
        lines.append(
            f"wire a{n} from house{n}.plus to c{n}.in_plus\nwire b{n} from c{n}.out_plus to house{(n + 1) % 500}.plus\n"
        )
        lines.append(f"wire d{n} from house{n}.minus to minus\nwire e{n} from c{n}.in_minus to minus\n")
    return NODES + "".join(lines)


# texts -----------------------------------------------------------------------------------------------------------------

LONG = 1_900_000

TEXTS: dict[str, str] = {
    "a title of two megabytes": f'rig "{"x" * LONG}"\n',
    "a name of two megabytes": f"{BUILD}load {'x' * LONG} 5 A\n",
    "a quoted name of two megabytes": f'{BUILD}load "{"x y" * (LONG // 3)}" 5 A\n',
    "a state with a name of two megabytes": f'{BUILD}state "{"x" * LONG}" {{ lamp on }}\n',
    "a path of two megabytes": f'{BUILD}parts from "{"x/" * (LONG // 2)}"\n',
    "a path up two megabytes": f'{BUILD}parts from "{"../" * (LONG // 3)}x.rig"\n',
    "a word of two megabytes": "x" * LONG,
    "a comment of two megabytes": f"{BUILD}# {'x' * LONG}\n",
    "a number of two megabytes": f"{BUILD}load lamp2 {'9' * LONG} A\n",
    "a number of two megabytes after the point": f"{BUILD}load lamp2 0.{'0' * LONG}1 A\n",
    "a number with an exponent of two megabytes": f"{BUILD}load lamp2 1e{'9' * LONG} A\n",
    "a count of two megabytes": f"{BUILD}battery big {{ LFP, {'9' * LONG} cells, 100 Ah }}\n",
    "two megabytes of quotation marks": '"' * LONG,
    "two megabytes of number signs": "#" * LONG,
    "two megabytes of blanks": f"{BUILD}{' ' * LONG}x",
    "two megabytes of tabs and returns": f"{BUILD}{chr(9) + chr(13)}" * 900,
    "two megabytes of commas": f"{BUILD}load x {',' * LONG}",
    "two megabytes of commas at line ends": f"{BUILD}load x {(',' + chr(10)) * (LONG // 2)}",
    "two megabytes of commas and comments": f"{BUILD}load x {(', #' + chr(10)) * (LONG // 4)}",
    "two megabytes of semicolons": f"{BUILD}{';' * LONG}",
    "two megabytes of points": f"{BUILD}wire w from {'.' * LONG} to x\n",
    "two megabytes of brackets": f"{BUILD}wire w from a{'[1]' * (LONG // 3)} to x\n",
    "two megabytes of open brackets": f"{BUILD}wire w from {'a[' * (LONG // 2)} to x\n",
    "two megabytes of minus signs": f"{BUILD}load x {'-' * LONG} A\n",
    "two megabytes of crossed numbers": f"{BUILD}case x {{ inside {'1x' * (LONG // 2)}1 mm }}\n",
    "two megabytes of numbers in a row": f"{BUILD}load x {'1 ' * (LONG // 2)}\n",
    "two megabytes of numbers with decimal commas": f"{BUILD}load x 1{',1' * (LONG // 2)} A\n",
    "two megabytes of closing braces": f"{BUILD}{'}' * LONG}\n",
    "two megabytes of pairs of braces": f"{BUILD}{'{}' * (LONG // 2)}\n",
    "two megabytes of named pairs of braces": f"{BUILD}{'x{}' * (LONG // 3)}\n",
    "two megabytes of bytes that no text has": f"{BUILD}{chr(1) * LONG}\n",
    "two megabytes of replacement characters": f"{BUILD}{chr(0xFFFD) * (LONG // 3)}\n",
    "two megabytes of marks over one letter": f"{BUILD}load e{chr(0x301) * (LONG // 2)} 5 A\n",
    "two megabytes of turned text": f'rig "{chr(0x202E) * (LONG // 3)}"\n',
    "two megabytes of faces of several characters": f'rig "{(chr(0x1F468) + chr(0x200D)) * (LONG // 8)}"\n',
    "blocks nested fifty deep": BUILD + "zone z { " * 50 + "load x 1 A" + " }" * 50 + "\n",
    "blocks nested sixty-five deep": BUILD + "zone z { " * 65 + "load x 1 A" + " }" * 65 + "\n",
    "a hundred thousand open blocks": "x {" * 100_000,
    "a hundred thousand blocks that are opened and lines that close none": BUILD + "load x {\n" * 60_000,
}
BOMBS.update({name: (lambda text=text: {"box.rig": text}) for name, text in TEXTS.items()})  # type: ignore[misc]

# many of a thing -------------------------------------------------------------------------------------------------------

MANY: dict[str, str] = {
    "sixty thousand statements that nobody knows": BUILD + "".join(f"frobnicate thing{n} with {n}\n" for n in range(60_000)),
    "twenty thousand names that nobody declared": BUILD
    + "".join(f"wire w{n} from q{n}.plus to r{n}.minus\n" for n in range(20_000)),
    "ten thousand names that are nearly those of ten thousand others": BUILD
    + "".join(f"load lamp_number_{n}_of_many 1 A\n" for n in range(10_000))
    + "".join(f"wire w{n} from lamp_nubmer_{n}_of_mayn.plus to house.minus\n" for n in range(10_000)),
    "fifty thousand waivers": BUILD
    + "".join(f'waive voltage-drop on feed because "{n}" until 2027-01-01\n' for n in range(30_000)),
    "twenty thousand waivers with the same name": BUILD
    + "".join(f'waive loose-battery on house because "{n}" until 2027-01-01\n' for n in range(20_000)),
    "thirty thousand things of one name": BUILD + "load twin 1 A\n" * 30_000,
    "four thousand defaults over four thousand wires": BUILD
    + "".join(f"all wires {{ {n + 1} V }}\n" for n in range(4000))
    + "".join(f"wire w{n} from house.plus to lamp.plus\n" for n in range(4000)),
    "three thousand zones in each other's names": BUILD
    + "".join(f"zone z{n} {{ in z{n + 1}; 10 degC }}\n" for n in range(3000)),
    "a connector of a hundred thousand pins": BUILD
    + "connector c with d { "
    + "; ".join(f"pin {n}" for n in range(100_000))
    + " }\n",
    "a connector of pins up to a number without end": BUILD + "connector c with d { pins 1 to 999999999; 999999999 pins }\n",
    "a hundred thousand requirements": BUILD + "".join(f"require shelf life {n + 1} months\n" for n in range(60_000)),
    "a fuse block of a thousand million ways": BUILD
    + "fuse block ways { 1000000000 ways; 50 A total }\nfuse f { 10 A; in way 999999999 of ways }\n",
    "a battery of a thousand million cells": BUILD + "battery big { LFP; 1000000000 cells; 1000000000 in parallel; 100 Ah }\n",
    "a state with a thousand million packs": BUILD
    + "assembly pack { battery c { LFP; 4 cells; 9 Ah } }\nrow packs of 2 pack\nstate s { packs 1000000000 joined }\n",
    "a cable of fifty thousand cores": BUILD
    + "cable c { 14 AWG; 1 m; "
    + "; ".join(f"core k{n} from house.plus to lamp.plus" for n in range(30_000))
    + " }\n",
    "loads that never run together, a thousand groups of a hundred": BUILD
    + "".join(f"load l{n} 1 A\n" for n in range(100))
    + "".join("never together " + ", ".join(f"l{n}" for n in range(100)) + "\n" for _ in range(1000)),
    "a procedure of fifty thousand steps": BUILD
    + "procedure p { "
    + "; ".join(f'step "do {n}"' for n in range(50_000))
    + " }\n",
}
BOMBS.update({name: (lambda text=text: {"box.rig": text}) for name, text in MANY.items()})  # type: ignore[misc]

# numbers ---------------------------------------------------------------------------------------------------------------

ODD_NUMBERS = (
    "1e400", "-1e400", "1e308", "1e-308", "1e-400", "5e-324", "-0", "0", "+0.0", "1.7976931348623157e308", "1e999999999", "1e-999999999", "NaN", "inf",
    "-inf", "0x10", "1_000", "٣", "３", "½", "1e", "1e+", ".", "-.5", "−5", "0.1e-5", "00000000000000000000000005", "5" + "0" * 400, "²", "1/0", "1/3", "5%",
)  # fmt: skip
FIELDS = (
    "battery x {{ LFP, 4 cells, {0} Ah; internal resistance {0} mohm }}",
    "battery x {{ LFP, {0} cells, 100 Ah }}",
    "load x {{ {0} A; works on {0} V to {0} V; starts at {0} times for {0} s }}",
    "load x {{ {0} W }}",
    "wire x from house.plus to lamp.plus {{ {0} mm2; {0} m; bundle of {0} }}",
    "fuse x {{ {0} A; breaks {0} A at {0} V dc }}",
    "array x {{ Voc {0} V; Vmp {0} V; Isc {0} A; Imp {0} A; Voc {0} %/K; {0} in series }}",
    "inverter x {{ {0} W; efficiency {0} %; idle {0} W }}",
    "state x {{ house at {0} %; {0} degC; sun {0} % }}",
    "site {{ ambient {0} degC to {0} degC; sun {0} h/day }}",
    "require shelf life {0} months",
)


@bomb("numbers without sense in every field")
def _odd_numbers() -> str:
    return BUILD + "".join(
        field.format(number).replace(" x ", f" x{row}_{column} ") + "\n"
        for row, field in enumerate(FIELDS)
        for column, number in enumerate(ODD_NUMBERS)
    )


EXTREMES = {
    f"box{number}.rig": BUILD.replace("4 mohm", f"{ohms} mohm").replace("5 A", f"{amperes} A").replace("0.6 m", f"{metres} m")
    for number, (ohms, amperes, metres) in enumerate(
        (a, b, c)
        for a in ("1e-300", "1e-9", "1e9", "1e300")
        for b in ("1e-300", "1e9", "1e300")
        for c in ("1e-300", "1e9", "1e300")
    )
}
