"""Steady heat of closed cases: what is lost inside, through which walls it leaves, how warm the air becomes.

- `contents`: what lies in each case;
- `walls`: the area through which heat leaves, and how much passes it;
- `losses`: what a solved state loses in a case;
- `air`: the temperature at which as much leaves as is lost;
- `settling`: the states solved again at that temperature, to a fixed point.

A build without a case that has a size never imports any of it.
"""

from __future__ import annotations

__all__: list[str] = []
