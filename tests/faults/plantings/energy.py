"""Faults of energy: banks that are empty too early, promises that a build does not keep."""

from __future__ import annotations

from faults import Edit, Planting, add, also, replace_text, say, site, threefold


def _fence(power: str) -> tuple[Edit, ...]:
    """A fence unit of so much, for which nothing is promised, where the sun is enough for it."""
    return (
        say("fence", power),
        site(f"sun by month {', '.join(['5.6'] * 12)} h/day"),
        replace_text("require {\n  run fence for 24 h\n}\n", ""),
    )


PLANTINGS: tuple[Planting, ...] = (
    # 97.3 Wh of the fence in 24 h over 0.85 are 114.5 Wh; the sun brings 0.8 x 50 W x 3.4 h = 136 Wh a day in December: 0.842 days.
    *threefold(
        "broken-promise.cannot-do", "sheet", "fence_box",
        inside=add("require recharge by sun in 0.87 days"),
        over=add("require recharge by sun in 0.82 days"),
        far=add("require recharge by sun in 0.5 days"),
    ),
    # 325 Wh over 0.97 x 13.6 V are 24.6 Ah; the charger gives 15 A.
    *threefold(
        "broken-promise.cannot-do", "wall", "bench_supply",
        inside=add("require recharge by mains in 1.7 h"),
        over=add("require recharge by mains in 1.6 h"),
        far=add("require recharge by mains in 1 h"),
    ),
    # 700 W at 2.5 times.
    *threefold(
        "broken-promise.cannot-do", "saw", "workshop_cart",
        inside=say("mains", "peak 1800 W for 3 s"),
        over=say("mains", "peak 1700 W for 3 s"),
        far=say("mains", "peak 1300 W for 3 s"),
        companions=[also("weak-inverter.cannot-start", "saw", "the same sum, of any load that is promised")],
        coarse="where its peak is enough, what holds is told of the voltage left at it",
    ),
    *threefold(
        "broken-promise.over-limit", "box", "bench_supply",
        inside=add("require weigh at most 15 kg"), over=add("require weigh at most 14 kg"), far=add("require weigh at most 9 kg"),
    ),
    # 100 Ah x 12 V x 50 % x 0.85 at 0 degC x 0.8 of age x (5 A / 5.4 A)^0.25 are 401 Wh; 64.5 W leave the posts.
    *threefold(
        "run-time.under-promise", "house", "boat",
        inside=add("require run nav_lights, radio for 6.1 h"),
        over=add("require run nav_lights, radio for 6.4 h"),
        far=add("require run nav_lights, radio for 12 h"),
    ),
    # 35 Ah x 12 V x 50 % x 0.7 in the cold of -15 degC x 0.8 of age are 118 Wh; 24 h of the unit, and of the 4 mA of the controller.
    *threefold(
        "run-time.over-a-day", "house", "fence_box",
        inside=_fence("4.7 W"), over=_fence("5 W"), far=_fence("6.5 W"),
    ),
    # The longest side against the longest, 430 mm.
    *threefold(
        "broken-promise.cannot-do", "box", "portable_box",
        inside=(say("box", "outside 430 x 310 x 230 mm"), add("require fit 240 x 440 x 320 mm")),
        over=(say("box", "outside 430 x 310 x 230 mm"), add("require fit 240 x 420 x 320 mm")),
        far=(say("box", "outside 430 x 310 x 230 mm"), add("require fit 240 x 320 x 320 mm")),
    ),
    # 22.3 V x (1 + 0.0029 x 43) are 25.1 V at -18 degC.
    *threefold(
        "broken-promise.cannot-do", "sheet", "portable_box",
        inside=add("require nothing touchable above 26 V"),
        over=add("require nothing touchable above 24.5 V"),
        far=add("require nothing touchable above 18 V"),
    ),
    # Made for 3000 cycles.
    *threefold(
        "broken-promise.over-limit", "house", "portable_box",
        inside=add("require last 2900 cycles"), over=add("require last 3100 cycles"), far=add("require last 5000 cycles"),
    ),
)  # fmt: skip
