"""Faults of voltages: outside of the window of a load, below the cut-off in a surge, collapsed, lost on the way."""

from __future__ import annotations

from faults import Edit, Planting, add, also, say, threefold, yes_no

# Such a battery warms the box by itself; thinner walls let it out.
_COOLER = say("box", "walls pass 10 W/m2K")


def _till(resistance: str, surge: str = "starts at 6 times for 1 s", peak: str = "360 W") -> tuple[Edit, ...]:
    """A till with a motor, which the requirement to run it promises; the battery has so much resistance."""
    return (
        say("till_unit", f"motor; {surge}"),
        say("mains", f"peak {peak} for 5 s"),
        say("house", f"internal resistance {resistance}"),
        _COOLER,
    )


def _peak(resistance: str, peak: str = "360 W") -> tuple[Edit, ...]:
    return say("mains", f"peak {peak} for 5 s"), say("house", f"internal resistance {resistance}"), _COOLER


def _lamp_leads(words: str) -> Edit:
    return say(("lamp_1", "lamp_2"), words)


_SMALL_BREAKER = say("pump_breaker", "7 A")

PLANTINGS: tuple[Planting, ...] = (
    # 14.4 V + 24 mV/K x 30 K at -5 degC: 15.12 V.
    *threefold(
        "load-voltage.over-maximum", "scale", "market_stall",
        inside=say("scale", "works on 10.5 V to 15.5 V"),
        over=say("scale", "works on 10.5 V to 14.8 V"),
        far=say("scale", "works on 5 V to 11 V"),
    ),
    # What the converter gives is lost on 0.5 m of 16 AWG by a few hundredths: 4.97 V.
    *threefold(
        "load-voltage.under-minimum", "phones", "portable_box",
        inside=say("phones", "works on 4.85 V to 5.5 V"),
        over=say("phones", "works on 5.1 V to 5.5 V"),
        far=say("phones", "works on 7.2 V to 9 V"),
    ),
    # 6 x 60 W over 88 % and 5 W are 414 W from 12.3 V, half full, beside 30 W: 38 A through 16 + 2 mohm leave 11.6 V,
    # 41 A through 28 mohm 11.2 V; it cuts off at 11.3 V. 2.73 kW are over (12.3 V)^2 / (4 x 26 mohm).
    *threefold(
        "surge-cut-off.below-cut-off", "mains", "market_stall",
        inside=_till("16 mohm"),
        over=_till("26 mohm"),
        far=_till("24 mohm", "starts at 40 times for 1 s", "2400 W"),
    ),
    # The same for its own peak, which no load needs.
    *threefold(
        "surge-cut-off.below-cut-off-unrequired", "mains", "market_stall",
        inside=_peak("16 mohm"),
        over=_peak("26 mohm"),
        far=_peak("24 mohm", "2400 W"),
    ),
    # 0.2 V above it, 11.5 V: 39.5 A through 18, 23 and 24 mohm.
    *threefold(
        "surge-cut-off.near-cut-off", "mains", "market_stall",
        inside=_peak("16 mohm"),
        over=_peak("21 mohm"),
        far=_peak("22 mohm"),
        coarse="below the cut-off it is another grade",
    ),
    # 70 m of 16 AWG (13.2 mohm/m) are 0.92 ohm: (13.2 V)^2 / (4 x 0.94 ohm) is 46 W for the pump of 48 W; 19 m lose 9 %.
    *yes_no(
        "voltage-collapse.collapse", "pump", "camper_van",
        wrong=(_SMALL_BREAKER, say(("pump_1", "pump_2"), "16 AWG; 35 m")),
        wrong_too=(_SMALL_BREAKER, say(("pump_1", "pump_2"), "measured 0.4 ohm"), say("pump", "60 W")),
        silent=(_SMALL_BREAKER, say(("pump_1", "pump_2"), "16 AWG; 9.4 m")),
        companions=[also("weak-fault.slow", "pump_breaker", "a short at the pump drives 12 to 16 A, less than three times 7 A")],
    ),
    # The same in all states that it can get into: a blown fuse beside it is not to blame.
    *yes_no(
        "voltage-collapse.collapse", "pump", "camper_van",
        wrong=(_SMALL_BREAKER, say(("pump_1", "pump_2"), "16 AWG; 35 m")),
        wrong_too=(_SMALL_BREAKER, say(("pump_1", "pump_2"), "measured 0.4 ohm"), say("pump", "60 W")),
        silent=(_SMALL_BREAKER, say(("pump_1", "pump_2"), "16 AWG; 9.4 m")),
        companions=[also("weak-fault.slow", "pump_breaker", "a short at the pump drives 12 to 16 A, less than three times 7 A")],
        reached=True, tag="reached",
    ),
    # 1500 W ask for more than (13.1 V)^2 / (4 x 43 mohm); 300 W through 160 mohm more likewise.
    *yes_no(
        "voltage-collapse.surge-collapse", "pump", "camper_van",
        wrong=add('state "pump starts" { pump on at 1500 W; lasts 1 s; back after 20 min }'),
        wrong_too=(add('state "pump starts" { pump on at 300 W; lasts 1 s; back after 20 min }'), say(("pump_1", "pump_2"), "measured 80 mohm")),
        silent=add('state "pump starts" { pump on at 300 W; lasts 1 s; back after 20 min }'),
    ),
    # 2 x 4.8 m of 6 AWG in 70 degC with 22 A: 0.37 V of 12 V for 3 % (ABYC E-11 as quoted, secondary).
    *threefold(
        "voltage-drop.over-class", "drive", "camper_van",
        inside=say(("drive_in", "drive_in_back"), "4.55 m"),
        over=say(("drive_in", "drive_in_back"), "4.8 m"),
        far=say(("drive_in", "drive_in_back"), "7 m"),
    ),
    # 2 x 25.6 m of 16 AWG with 1.64 A: 1.24 V of 12 V for 10 %; a fuse of 3 A, so that a short still opens it on 90 m.
    *threefold(
        "voltage-drop.over-class", "lamps", "two_packs",
        inside=_lamp_leads("16 AWG; 24 m"),
        over=_lamp_leads("16 AWG; 25.6 m"),
        far=(say("lamp_fuse", "same as cc_3"), _lamp_leads("16 AWG; 45 m")),
    ),
    # The same, for lamps that need more than the 11.9 V that are left.
    *threefold(
        "voltage-drop.below-minimum", "lamps", "two_packs",
        inside=(_lamp_leads("16 AWG; 25.6 m"), say("lamps", "works on 11.5 V to 32 V")),
        over=(_lamp_leads("16 AWG; 25.6 m"), say("lamps", "works on 12.1 V to 32 V")),
        far=(say("lamp_fuse", "same as cc_3"), _lamp_leads("16 AWG; 45 m"), say("lamps", "works on 12.1 V to 32 V")),
        inside_also=[also("voltage-drop.over-class", "lamps", "51 m of 16 AWG at 1.6 A: 10.3 %")],
    ),
)  # fmt: skip
