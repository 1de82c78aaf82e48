"""What a change of settings does to the judgement, key by key: of the settings that hold for the builds of one folder before and after."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ohmwright.comparing.model import Effect, Judgement
from ohmwright.settings.model import OFF, Settings

__all__ = ["compared_settings"]

_BARS = {"note": 1, "warning": 2, "error": 3}
_GRADES = {OFF: 0, "note": 1, "warning": 2, "error": 3}


def compared_settings(path: str, old: Settings, new: Settings, usual: Callable[[str], str]) -> Iterator[Judgement]:
    """Yield everything that would be judged otherwise; `usual` returns the severity of a grade that no setting changes, "" where that is not known."""
    for key, value in _plain(path, old, new):
        yield value if value.span is not None else _placed(value, key, old, new)
    yield from _left_out(path, old, new)
    yield from _grades(path, old, new, usual)
    yield from _accepted(path, old, new)


def _placed(item: Judgement, key: str, old: Settings, new: Settings) -> Judgement:
    span = new.spans.get((key,)) or old.spans.get((key,))
    return Judgement(item.kind, item.effect, item.path, item.about, item.was, item.now, span)


def _plain(path: str, old: Settings, new: Settings) -> Iterator[tuple[str, Judgement]]:
    def told(key: str, was: str, now: str, effect: Effect) -> tuple[str, Judgement]:
        return key, Judgement("setting", effect, path, key, was, now)

    one, two = old.bar or "error", new.bar or "error"
    if one != two:
        yield told("bar", one, two, "looser" if _BARS[two] > _BARS[one] else "tighter")
    if bool(old.require_checked) != bool(new.require_checked):
        words = {True: "true", False: "false"}
        effect: Effect = "tighter" if new.require_checked else "looser"
        yield told("require-checked", words[bool(old.require_checked)], words[bool(new.require_checked)], effect)
    one, two = old.states or "declared", new.states or "declared"
    if one != two:
        yield told("states", one, two, "tighter" if two == "reached" else "looser")
    for key, was, now in (
        ("basis", old.basis, new.basis),
        ("site", " ".join(old.site.split()), " ".join(new.site.split())),
        ("builds", ", ".join(old.builds), ", ".join(new.builds)),
    ):
        if was != now:
            yield told(key, was, now, "changed")
    if old.baseline != new.baseline:
        yield told("baseline", old.baseline, new.baseline, "changed" if new.baseline else "tighter")


def _left_out(path: str, old: Settings, new: Settings) -> Iterator[Judgement]:
    before = {(item.what, item.name): item for item in old.left_out}
    after = {(item.what, item.name): item for item in new.left_out}
    for key, item in after.items():
        if key not in before:
            yield Judgement(
                "exclusion", "looser", path, f"{item.what} {item.name}", "", f"left out, because {item.because}", item.span
            )
    for key, item in before.items():
        if key not in after:
            yield Judgement(
                "exclusion", "tighter", path, f"{item.what} {item.name}", f"left out, because {item.because}", "", item.span
            )


def _grades(path: str, old: Settings, new: Settings, usual: Callable[[str], str]) -> Iterator[Judgement]:
    before = {item.grade: item for item in old.grades}
    after = {item.grade: item for item in new.grades}
    for name in (*after, *(name for name in before if name not in after)):
        was = before[name].severity if name in before else usual(name)
        now = after[name].severity if name in after else usual(name)
        if was == now:
            continue
        effect: Effect = "changed" if not (was and now) else "looser" if _GRADES[now] < _GRADES[was] else "tighter"
        because = f", because {after[name].because}" if name in after else ""
        span = (after.get(name) or before[name]).span
        yield Judgement("grade", effect, path, name, was, f"{now}{because}", span)


def _accepted(path: str, old: Settings, new: Settings) -> Iterator[Judgement]:
    before = {(item.build, item.waiver): item for item in old.accepted}
    after = {(item.build, item.waiver): item for item in new.accepted}
    for key, item in after.items():
        if key not in before:
            yield Judgement("accepted", "looser", path, f"waivers in {item.build}", "", item.waiver, item.span)
    for key, item in before.items():
        if key not in after:
            yield Judgement("accepted", "tighter", path, f"waivers in {item.build}", item.waiver, "", item.span)
